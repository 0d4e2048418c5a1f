"""The score scan against closed forms and an independently computed power table.

Sources
-------
Dubrule, Math. Geol. 15 (1983) 687: closed form of leave-one-out kriging residuals.
Rao's score test with generalised least squares: T = l'Pz / sqrt(l'Pl) is standard normal without an
anomaly (Cox & Hinkley, Theoretical Statistics, 1974, section 9.3).
Power table: computed separately, with dense matrices and one set of chords, for a floor of 8 x 6 m,
Matern-3/2 field (range 1.2 m, sd 8), noise 2, known covariance; not published, so its tolerance is
that of its own Monte Carlo (0.1 on thresholds, 0.05 on powers, some 150 runs) plus ours.
Aliases: sampling theorem; a wave of pitch p read at spacing h folds to 1/|1/p - k/h|.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.distance import cdist

from moisturemap.anomalies import alias_wavelength, ridge_fraction
from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.pattern import gls_metric
from moisturemap.geostat import Covariance, Kriging

TABLE_FLOOR = CalmFloor(64.0, 1.2, 4.0, np.zeros(0))


def covariance_of(points):
    return TABLE_FLOOR.between(cdist(points, points)) + TABLE_FLOOR.noise * np.eye(len(points))


def table_grid(spacing: float):
    x, y = np.meshgrid(np.arange(spacing / 2, 8, spacing), np.arange(spacing / 2, 6, spacing))
    return np.column_stack([x.ravel(), y.ravel()])


def chords(points, width: float, spacing: float):
    """Straight chords right across the floor: 24 angles, half a spacing apart, 2 m and longer."""
    rows = []
    for angle in np.pi * np.arange(24) / 24:
        normal = np.array([-np.sin(angle), np.cos(angle)])
        across = points @ normal
        along = points @ (np.cos(angle), np.sin(angle))
        for offset in np.arange(across.min(), across.max() + 1e-9, spacing / 2):
            near = np.abs(across - offset) < spacing
            if near.any() and np.ptp(along[near]) >= 2.0:
                rows.append(np.exp(-0.5 * ((across - offset) / width) ** 2))
    return np.array(rows)


def scan(spacing: float, width: float):
    points = table_grid(spacing)
    p = gls_metric(covariance_of(points))
    rows = chords(points, width, spacing)
    return points, p, rows, np.sqrt(np.einsum("ij,jk,ik->i", rows, p, rows, optimize=True))


def null_scores(points, p, rows, norms, runs: int, seed: int):
    root = np.linalg.cholesky(covariance_of(points))
    image = p @ (root @ np.random.default_rng(seed).standard_normal((len(points), runs)))
    lines = np.abs((rows @ image) / norms[:, None]).max(axis=0)
    alone = np.abs(image / np.sqrt(np.diagonal(p))[:, None]).max(axis=0)
    return image, lines, alone


@pytest.mark.slow
@pytest.mark.parametrize(("spacing", "line", "point"), [(0.25, 3.99, 3.95), (0.5, 3.69, 3.70)])
def test_the_familywise_thresholds_are_those_of_the_table(spacing, line, point):
    """95% quantiles of the greatest line score and the greatest leave-one-out residual."""
    points, p, rows, norms = scan(spacing, 0.08 if spacing < 0.4 else 0.2)
    _, lines, alone = null_scores(points, p, rows, norms, 2000, 1)
    assert np.quantile(lines, 0.95) == pytest.approx(line, abs=0.25)
    assert np.quantile(alone, 0.95) == pytest.approx(point, abs=0.2)


def random_pipes(points, width: float, runs: int, *, whole: bool):
    """Ridges of random place and direction: right across the floor, or a part of 2 m and more."""
    rng = np.random.default_rng(3)
    profiles = []
    while len(profiles) < runs:
        angle, place = rng.uniform(0, np.pi), rng.uniform((0, 0), (8, 6))
        across = (points - place) @ (-np.sin(angle), np.cos(angle))
        along = (points - place) @ (np.cos(angle), np.sin(angle))
        near = np.abs(across) < 0.3
        chord = np.ptp(along[near])
        if chord >= 2.0:
            length = chord if whole else rng.uniform(2.0, chord)
            start = along[near].min() + rng.uniform(0, chord - length)
            past = np.maximum(np.maximum(start - along, along - start - length), 0.0)
            profiles.append(np.exp(-0.5 * (across**2 + past**2) / width**2))
    return np.array(profiles).T


@pytest.mark.slow
@pytest.mark.parametrize(
    ("width", "amplitude", "by_line", "by_point"),
    [
        (0.20, 2.0, 0.20, 0.09),
        (0.20, 3.0, 0.57, 0.07),
        (0.20, 4.0, 0.89, 0.11),
        (0.20, 6.0, 1.00, 0.16),
        (0.08, 2.0, 0.37, 0.08),
        (0.08, 3.0, 0.73, 0.21),
        (0.08, 4.0, 0.89, 0.52),
        (0.08, 6.0, 0.97, 0.99),
    ],
)
def test_the_power_of_line_and_point_scans_is_that_of_the_table(
    width, amplitude, by_line, by_point
):
    """A line scan finds what single residuals mask: 0.89 against 0.11 for a 0.2 m ridge.

    The table does not say how long its lines are beyond 2 m, so its power must lie between that for
    parts of chords and that for whole chords, give or take the Monte Carlo error of both.
    """
    runs, slack = 600, 0.08
    points, p, rows, norms = scan(0.25, width)
    image, lines, alone = null_scores(points, p, rows, norms, runs, 2)
    power = []
    for whole in (False, True):
        pipes = random_pipes(points, width, runs, whole=whole)
        lifted = image + amplitude * 2.0 * (p @ pipes)
        found = np.abs((rows @ lifted) / norms[:, None]).max(axis=0)
        single = np.abs(lifted / np.sqrt(np.diagonal(p))[:, None]).max(axis=0)
        power.append(
            ((found > np.quantile(lines, 0.95)).mean(), (single > np.quantile(alone, 0.95)).mean())
        )
    (line_low, point_low), (line_high, point_high) = power
    assert line_low - slack <= by_line <= line_high + slack
    assert point_low - slack <= by_point <= point_high + slack


def test_the_score_of_a_single_reading_is_its_standardised_leave_one_out_residual():
    """Dubrule (1983): (Pz)_i / P_ii is the residual, 1 / P_ii its variance."""
    points = table_grid(0.8)
    values = np.random.default_rng(4).normal(40, 5, len(points))
    p = gls_metric(covariance_of(points))
    residual, sd = Kriging(points, values, Covariance("matern32", 64.0, 1.2, 4.0)).leave_one_out()
    assert (p @ values) / np.diagonal(p) == pytest.approx(residual, rel=1e-4, abs=1e-6)
    assert 1 / np.sqrt(np.diagonal(p)) == pytest.approx(sd, rel=1e-4)


def test_a_bump_on_several_readings_masks_itself_from_single_residuals():
    """A rise of 5 noise sd on 1, 2 and 4 neighbours gives ever smaller residuals."""
    points = table_grid(0.25)
    p = gls_metric(covariance_of(points))
    order = np.argsort(cdist([[4.0, 3.0]], points)[0])
    seen = []
    for count in (1, 2, 4):
        rise = np.zeros(len(points))
        rise[order[:count]] = 10.0
        scores = (p @ rise) / np.sqrt(np.diagonal(p))
        seen.append(float(scores.max()))
    assert seen == pytest.approx([4.22, 3.43, 2.24], abs=0.25)


@pytest.mark.parametrize(
    ("width", "spacing", "share"),
    [
        (0.08, 0.10, 0.823),
        (0.08, 0.25, 0.295),
        (0.08, 0.5, 0.008),
        (0.15, 0.25, 0.707),
        (0.15, 0.5, 0.249),
        (0.20, 0.5, 0.458),
    ],
)
def test_the_least_sampled_share_of_a_ridge(width, spacing, share):
    """exp(-(h/2)^2 / 2 w^2)."""
    assert ridge_fraction(width, spacing) == pytest.approx(
        np.exp(-((spacing / 2) ** 2) / (2 * width**2))
    )
    assert ridge_fraction(width, spacing) == pytest.approx(share, abs=0.002)


@pytest.mark.parametrize(
    ("pitch", "spacing", "wave"),
    [(0.2, 0.25, 1.0), (0.15, 0.25, 0.75), (0.1, 0.25, 0.5), (0.2, 0.3, 0.6)],
)
def test_mesh_shows_at_its_alias(pitch, spacing, wave):
    """Folding about the sampling frequency, checked against the nearest fold by brute force."""
    folds = [abs(1 / pitch - k / spacing) for k in range(12)]
    assert alias_wavelength(pitch, spacing) == pytest.approx(wave)
    assert alias_wavelength(pitch, spacing) == pytest.approx(1 / min(folds))
