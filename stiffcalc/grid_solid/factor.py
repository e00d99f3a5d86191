"""A stiffness matrix whose unknowns meet only their neighbours along x, factorised block by block."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import scipy.linalg as la
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.splines import Index


@dataclass(frozen=True)
class Factor:
    """Cholesky factor of a block-tridiagonal matrix: diagonal blocks, and those below them transposed."""

    starts: Index  # (blocks + 1,)
    diagonal: tuple[Array, ...]
    beside: tuple[Array, ...]

    def forward(self, loads: Array) -> Array:
        """Y (n, r) with K = L L^T and L Y = loads, so that loads^T K^-1 loads = Y^T Y."""
        found = np.array(loads, dtype=float)
        parts = [found[a:b] for a, b in zip(self.starts, self.starts[1:], strict=False)]
        for i, L in enumerate(self.diagonal):
            if i:
                parts[i] -= self.beside[i - 1].T @ parts[i - 1]
            parts[i][:] = la.solve_triangular(L, parts[i], lower=True, check_finite=False)
        return found


def factorise(matrix: sp.csr_matrix, sizes: Index) -> Factor:
    """Of a symmetric positive definite matrix whose blocks of `sizes` unknowns meet only the next ones."""
    starts = np.concatenate([[0], np.cumsum(sizes)])
    diagonal: list[Array] = []
    beside: list[Array] = []
    for i, (a, b) in enumerate(itertools.pairwise(starts)):
        own = matrix[a:b, a:b].toarray()
        if beside:
            own -= beside[-1].T @ beside[-1]
        diagonal.append(la.cholesky(own, lower=True, overwrite_a=True, check_finite=False))
        if i + 2 < len(starts):
            next_to = matrix[a:b, b : starts[i + 2]].toarray()
            beside.append(
                la.solve_triangular(diagonal[-1], next_to, lower=True, overwrite_b=True, check_finite=False)
            )
    return Factor(starts, tuple(diagonal), tuple(beside))
