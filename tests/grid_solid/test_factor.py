"""Blockwise Cholesky factor against scipy's of the whole matrix."""

import numpy as np
import pytest
import scipy.linalg as la
import scipy.sparse as sp

from stiffcalc.condensed import Array
from stiffcalc.grid_solid.factor import factorise
from stiffcalc.grid_solid.splines import Index


def block_tridiagonal(sizes: Index) -> Array:
    """Random and positive definite: of a lower bidiagonal factor."""
    rng = np.random.default_rng(5)
    block = np.repeat(np.arange(len(sizes)), sizes)
    apart = block[:, None] - block
    lower = np.tril(rng.normal(size=apart.shape)) * ((apart == 0) | (apart == 1))
    return np.asarray(lower @ lower.T + np.eye(len(block)))


@pytest.mark.parametrize("sizes", [[7, 4, 9, 1, 6], [12], [3, 3]])
def test_factor_is_scipy_s(sizes: list[int]) -> None:
    matrix = block_tridiagonal(np.array(sizes))
    loads = np.random.default_rng(6).normal(size=(len(matrix), 3))
    found = factorise(sp.csr_matrix(matrix), np.array(sizes)).forward(loads)
    wanted = la.solve_triangular(la.cholesky(matrix, lower=True), loads, lower=True)
    assert found == pytest.approx(wanted, rel=1e-9, abs=1e-12)
    assert found.T @ found == pytest.approx(loads.T @ la.solve(matrix, loads, assume_a="pos"), rel=1e-9)


def test_loads_are_left_as_they_are() -> None:
    matrix = block_tridiagonal(np.array([3, 3]))
    loads = np.ones((6, 1))
    factorise(sp.csr_matrix(matrix), np.array([3, 3])).forward(loads)
    assert (loads == 1.0).all()
