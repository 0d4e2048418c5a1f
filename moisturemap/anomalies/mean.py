"""Columns of the mean fitted together: what is embedded, and wet floor it must not be taken for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from moisturemap.anomalies.precision import Precision

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Mean:
    """Columns with their images under P.

    Attributes
    ----------
    precision : Precision
    scores : ndarray, shape (n,)
        P z with nothing taken out.
    columns, images : ndarray, shape (n, k)
        Columns l and P l.
    """

    precision: Precision
    scores: Array
    columns: Array
    images: Array

    @classmethod
    def of(cls, precision: Precision, scores: Array, columns: Array) -> Mean:
        """Build from columns (n, k)."""
        images = precision.times(columns) if columns.size else columns
        return cls(precision, scores, columns, images)

    def without(self, dropped: Sequence[int]) -> Mean:
        """Return the mean without some columns."""
        kept = np.setdiff1d(np.arange(self.columns.shape[1]), np.asarray(dropped, dtype=int))
        return Mean(self.precision, self.scores, self.columns[:, kept], self.images[:, kept])

    def beside(self, extra: Array) -> Mean:
        """Return the mean with more columns (n, j) at the end."""
        return Mean(
            self.precision,
            self.scores,
            np.column_stack([self.columns, extra]),
            np.column_stack([self.images, self.precision.times(extra)]),
        )

    def _inverse(self) -> Array:
        gram = self.columns.T @ self.images
        size = float(np.trace(gram)) if len(gram) else 0.0
        return np.asarray(np.linalg.pinv(gram + 1e-10 * size * np.eye(len(gram)), hermitian=True))

    def strengths(self) -> tuple[Array, Array]:
        """Strength of each column and its sd, all fitted together: each (k,)."""
        inverse = self._inverse()
        return inverse @ (self.columns.T @ self.scores), np.sqrt(
            np.maximum(np.diagonal(inverse), 0.0)
        )

    def partial(self, rows: Array) -> tuple[Array, Array]:
        """Score s and information matrix G of candidate rows (c, n) beside the columns.

        s_i / sqrt(G_ii) is the standardised score of candidate i alone.
        """
        thin = sparse.csr_matrix(rows)
        images = thin @ self.precision.whole
        gram = np.asarray(
            (images @ thin.T).todense() if sparse.issparse(images) else images @ rows.T
        )
        score = np.asarray(thin @ self.scores)
        if self.columns.shape[1]:
            cross = np.asarray(thin @ self.images)
            weight = cross @ self._inverse()
            gram = gram - weight @ cross.T
            score = score - weight @ (self.columns.T @ self.scores)
        return score, gram

    def standardised(self, rows: Array) -> Array:
        """Score of each candidate row (c, n) beside the columns, standardised: (c,)."""
        score, gram = self.partial(rows)
        norm = np.diagonal(gram)
        sound = norm > 1e-9 * float(np.abs(norm).max(initial=1e-300))
        return np.where(sound, score / np.sqrt(np.where(sound, norm, 1.0)), 0.0)
