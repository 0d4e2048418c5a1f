"""Templates, P and the search on bare arrays."""

from __future__ import annotations

import numpy as np
import pytest

from moisturemap.anomalies import precision as precision_module
from moisturemap.anomalies.background import Background, Sample, fit_background
from moisturemap.anomalies.mean import Mean
from moisturemap.anomalies.precision import build_precision, null_maxima, template_norms
from moisturemap.anomalies.pursuit import Search, pursue
from moisturemap.anomalies.ridge import Ridge, refine
from moisturemap.anomalies.templates import POINT, SEGMENT, build_templates, segment_weights

FLOOR = Background(9.0, 1.2, 4.0, 2.0, 4.0)


def grid(nx: int, ny: int, spacing: float = 0.25):
    x, y = np.meshgrid(np.arange(nx) * spacing, np.arange(ny) * spacing)
    return np.column_stack([x.ravel(), y.ravel()])


def draw(points, seed):
    covariance = FLOOR.between(points, points) + FLOOR.nugget * np.eye(len(points))
    return 40 + np.linalg.cholesky(covariance) @ np.random.default_rng(seed).standard_normal(
        len(points)
    )


def test_segments_of_the_bank_are_the_straight_ridges_they_claim():
    """Weights against the closed form at their centre, angle, width and length."""
    points = grid(14, 10)
    bank = build_templates(points, 0.25)
    chosen = np.flatnonzero(bank.family == SEGMENT)[::97]
    for index in chosen:
        row = bank.weights[index].toarray().ravel()
        plain = segment_weights(
            points, bank.centre[index], bank.angle[index], bank.width[index], bank.length[index]
        )
        both = (row > 0) & (plain > 0)
        assert np.allclose(row[both], plain[both])
        assert both.sum() >= 0.6 * (plain > 0).sum()


def test_p_takes_out_a_constant_and_its_diagonal_is_one_over_the_leave_one_out_variance():
    """P 1 = 0 and Dubrule's identity, by brute force."""
    points = grid(6, 5)
    noise = np.full(30, FLOOR.nugget)
    metric = build_precision(points, noise, FLOOR, 0.25)
    assert np.abs(metric.times(np.ones(30))).max() < 1e-9
    values = draw(points, 1)
    keep = np.arange(30) != 11
    matrix = FLOOR.between(points, points) + np.diag(noise)
    bordered = np.block(
        [[matrix[np.ix_(keep, keep)], np.ones((29, 1))], [np.ones((1, 29)), np.zeros((1, 1))]]
    )
    right = np.append(matrix[keep, 11], 1.0)
    weights = np.linalg.solve(bordered, right)
    variance = matrix[11, 11] - weights @ right
    residual = values[11] - weights[:29] @ values[keep]
    assert metric.diagonal[11] == pytest.approx(1 / variance, rel=1e-6)
    assert metric.times(values)[11] == pytest.approx(residual / variance, rel=1e-6)


def test_tiles_agree_with_the_whole(monkeypatch):
    """Scores of 700 readings in tiles against one dense P."""
    points = grid(28, 25)
    noise = np.full(len(points), FLOOR.nugget)
    bank = build_templates(points, 0.25)
    values = draw(points, 2)
    whole = build_precision(points, noise, FLOOR, 0.25)
    monkeypatch.setattr(precision_module, "WHOLE", 100)
    tiled = build_precision(points, noise, FLOOR, 0.25)
    assert len(tiled.tiles) > 2
    one = bank.weights @ whole.scores(values) / np.sqrt(template_norms(whole, bank))
    other = bank.weights @ tiled.scores(values) / np.sqrt(template_norms(tiled, bank))
    assert np.abs(one - other).max() < 0.25
    assert np.corrcoef(one, other)[0, 1] > 0.999


def test_norms_are_those_of_the_dense_quadratic_form():
    """Gathered l'Pl against l'Pl by matrix product."""
    points = grid(10, 9)
    metric = build_precision(points, np.full(90, FLOOR.nugget), FLOOR, 0.25)
    bank = build_templates(points, 0.25)
    dense = bank.weights.toarray()
    direct = np.einsum("mi,ij,mj->m", dense, metric.tiles[0].matrix, dense)
    assert template_norms(metric, bank) == pytest.approx(direct)


def test_entering_a_column_keeps_every_score_exact():
    """Updated scores against a fit with that column as drift."""
    points = grid(10, 9)
    metric = build_precision(points, np.full(90, FLOOR.nugget), FLOOR, 0.25)
    bank = build_templates(points, 0.25)
    values = draw(points, 3)
    scores = metric.times(values)
    search = Search(
        metric,
        bank,
        points,
        0.25,
        scores,
        metric.diagonal.copy(),
        bank.weights @ scores,
        template_norms(metric, bank),
        np.ones(90),
    )
    columns = bank.weights[[200, 900]].toarray()
    for column in columns:
        search.enter(column)
    mean = Mean.of(metric, scores, columns.T)
    some = np.arange(0, len(bank), 131)
    expected, gram = mean.partial(bank.weights[some].toarray())
    assert search.scores[some] == pytest.approx(expected, abs=1e-7)
    assert search.norms[some] == pytest.approx(np.maximum(np.diagonal(gram), 0), abs=1e-7)


def test_the_null_maxima_are_exceeded_about_as_often_as_they_should():
    """The 95 % quantile of simulated fields holds on fresh fields."""
    points = grid(14, 12)
    metric = build_precision(points, np.full(len(points), FLOOR.nugget), FLOOR, 0.25)
    bank = build_templates(points, 0.25)
    norms = template_norms(metric, bank)
    threshold = np.quantile(null_maxima(metric, bank, norms, 300, 1), 0.95)
    fresh = null_maxima(metric, bank, norms, 300, 2)
    assert (fresh > threshold).mean() == pytest.approx(0.05, abs=0.035)


def test_the_strongest_shape_is_taken_first_and_explains_its_neighbours():
    """One pipe, one accepted family of segments, nothing left beside it."""
    points = grid(20, 14)
    values = draw(points, 4) + 14.0 * np.exp(-0.5 * ((points[:, 1] - 1.6) / 0.12) ** 2)
    metric = build_precision(points, np.full(len(points), FLOOR.nugget), FLOOR, 0.25)
    bank = build_templates(points, 0.25)
    scores = metric.times(values)
    search = Search(
        metric,
        bank,
        points,
        0.25,
        scores,
        metric.diagonal.copy(),
        bank.weights @ scores,
        template_norms(metric, bank),
        np.ones(len(points)),
    )
    accepted, columns, _ = pursue(search, 4.7, 40)
    assert bank.family[accepted[0]] == SEGMENT
    assert columns.shape == (len(points), len(accepted))
    assert np.abs(bank.centre[accepted][:, 1] - 1.6).max() < 0.3


def test_a_ridge_settles_on_the_pipe_and_ends_where_it_ends():
    """From a crooked start to within a tenth of a spacing in offset."""
    points = grid(26, 16)
    true = Ridge((3.0, 1.9), 0.1, 4.0, 0.14)
    values = draw(points, 5) + 18.0 * true.weights(points)
    metric = build_precision(points, np.full(len(points), FLOOR.nugget), FLOOR, 0.25)
    mean = Mean.of(metric, metric.times(values), np.zeros((len(points), 0)))
    found = refine(Ridge((2.5, 1.95), 0.2, 1.5, 0.1), mean, points, 0.25)
    assert np.abs(found.ends - true.ends).max() < 0.35
    assert found.width == pytest.approx(true.width, rel=0.3)


def test_the_background_keeps_zones_and_texture_apart():
    """Fitted scales near those drawn; the noise within a fifth."""
    points = grid(30, 24)
    truth = Background(9.0, 1.0, 150.0, 1.8, 4.0)
    covariance = truth.between(points, points) + 4.0 * np.eye(len(points))
    values = np.linalg.cholesky(covariance) @ np.random.default_rng(6).standard_normal(len(points))
    fitted = fit_background(Sample(points, values, np.ones(len(points)), 0.25, 0.08))
    assert np.sqrt(fitted.nugget) == pytest.approx(2.0, rel=0.2)
    assert fitted.texture < fitted.zones
    assert fitted.zone_length == pytest.approx(1.8, rel=0.4)


def test_every_reading_is_a_template_of_its_own():
    """Points come first and are the identity."""
    points = grid(5, 4)
    bank = build_templates(points, 0.25)
    first = bank.weights[bank.family == POINT].toarray()
    assert np.array_equal(first, np.eye(20))
