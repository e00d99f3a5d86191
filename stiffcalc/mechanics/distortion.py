"""Distortion of the wall's cross-section: what a beam's rigid sections leave out.

A wall 1.5 to 4 times as tall as thick also bends across its height, between the bores and the bridges above
them. With w = psi(eta) phi(x), eta from -1 at the bottom to 1 at the top, psi the Legendre polynomials P2 and P3
(orthogonal to the beam's own movements) and phi = cos(n pi x / L), x from the wall's end, a plate's energy is
diagonal, and the flexibility is a plain sum over modes

    F_ij = sum (b + c)_i (b + c)_j / K_bending + b_i b_j / K_shear - c_i c_j / K_free

with b_i the movement of point i in the mode, and c_i = -(12 nu / H^2) int m_i phi dx for P2: a beam's bending
moment m bows the section across (anticlastic bending), and what restrains the bow stiffens the beam. K_free holds
only the bow's own bending, so that a bow that nothing restrains adds nothing to the beam's 1 / EI. Bending and
transverse shear are added as if each carried the whole load.

Axes: D designs; modes = P2 and P3 times W waves. Source: derived (Ritz, with the beam's curvature eliminated at given
m); plate energies of Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import j1

from stiffcalc.condensed import Array
from stiffcalc.mechanics import shaped
from stiffcalc.mechanics.beam import Beam
from stiffcalc.mechanics.places import Feet, Places, centres
from stiffcalc.mechanics.plates import SHEAR
from stiffcalc.mechanics.walls import Walls

WAVES = 8

# P2 and P3 and their derivatives by eta, by order: factors of 1, eta, eta^2, eta^3.
_SHAPES = np.array(
    [
        [[-0.5, 0.0], [0.0, -1.5], [1.5, 0.0], [0.0, 2.5]],
        [[0.0, -1.5], [3.0, 0.0], [0.0, 7.5], [0.0, 0.0]],
        [[3.0, 0.0], [0.0, 15.0], [0.0, 0.0], [0.0, 0.0]],
        [[0.0, 15.0], [0.0, 0.0], [0.0, 0.0], [0.0, 0.0]],
        np.zeros((4, 2)),
    ]
)
# Integrals over -1..1 of psi^2, psi'^2, psi''^2.
_SQUARE, _SLOPE, _CURVATURE = np.array([[0.4, 2.0 / 7.0], [6.0, 12.0], [18.0, 150.0]])


@dataclass(frozen=True)
class Modes:
    """F = sum over terms of movement_i movement_j yield; terms: 2 W of bending, 2 W of shear, W of the free bow."""

    movement: Array  # (D, points and outputs, 5 W), see `condensed`
    load: Array  # (D, B, 2 W) of pressure on each bore's cylinder wall in the bending terms, per MPa
    yields: Array  # (D, 5 W) 1 / K, negative for the free bow


def modes(walls: Walls, feet: Feet, place: Places, line: Beam, *, bored: float) -> Modes:
    """Modes of walls with bridges at `feet`, `line` the same walls as beams.

    `bored`: a bored wall is (1 - share of bores in the front area) ** bored times as stiff as a solid one.
    """
    k = np.arange(WAVES) * (np.pi / np.diff(walls.x, axis=1))
    moved = _movements(walls, feet, place, k)
    bow = _bow(walls, line, k)
    movement = np.concatenate([moved, moved, bow], axis=2)
    movement[:, :, :WAVES] += bow
    return Modes(
        movement=movement,
        load=_loads(walls, k),
        yields=_yields(walls, k, bored),
    )


def _yields(walls: Walls, k: Array, bored: float) -> Array:
    """1 / K of each term, (D, 5 W): bending (with its twist), transverse shear, and minus the free bow's."""
    H, L = (np.diff(v, axis=1)[:, :, None] for v in (walls.y, walls.x))
    E, nu, t = (v[:, None, None] for v in (walls.E, walls.nu, walls.thickness))
    share = 0.25 * np.pi * (walls.bore_d**2).sum(axis=1)[:, None, None] / (H * L)
    along = np.where(np.arange(WAVES) == 0, 1.0, 0.5) * L * (1.0 - share) ** bored
    bending_left, shear_left = (1.0 - _milled(walls, power) / (H * L) for power in (3, 1))
    square, slope, curvature = (
        c[:, None] * (2.0 / H) ** (2 * i - 1) for i, c in enumerate((_SQUARE, _SLOPE, _CURVATURE))
    )
    # At a given moment the beam's curvature gives way to the bow (P2): its D becomes E t^3 / 12.
    curvature = curvature * np.concatenate([1.0 - nu**2, np.ones_like(nu)], axis=1)
    k2 = (k * k)[:, None]
    plate = E * t**3 / (12.0 * (1.0 - nu**2)) * along * bending_left
    bending = plate * ((square * k2 + 2.0 * (1.0 - nu) * slope) * k2 + curvature)
    shear = SHEAR * E * t / (2.0 * (1.0 + nu)) * along * shear_left * (square * k2 + slope)
    free = -plate * curvature[:, :1]
    return (1.0 / np.concatenate([bending, shear, free], axis=1)).reshape(len(k), -1)


def _milled(walls: Walls, power: int) -> Array:
    """Front area that pockets and the outline cost the wall, counted by thickness ** power: (D, 1, 1), mm2."""
    area = np.diff(walls.pocket_x, axis=2)[:, :, 0] * np.diff(walls.pocket_y, axis=2)[:, :, 0]
    left = (1.0 - walls.pocket_depth / walls.thickness[:, None]) ** power
    lost = (area * (1.0 - left)).sum(axis=1) + shaped.lost_area(walls, power)
    milled: Array = lost[:, None, None]
    return milled


def _bow(walls: Walls, line: Beam, k: Array) -> Array:
    """c of each unit load in the waves of P2, (D, rows, W)."""
    factor = line.weight * (-12.0 * walls.nu / np.diff(walls.y, axis=1)[:, 0] ** 2)[:, None]
    waves = _cosines(k[:, 1:2] * (line.x - walls.x[:, :1]), factor)
    bow: Array = line.bending @ waves.swapaxes(1, 2)
    return bow


def _cosines(angle: Array, factor: Array) -> Array:
    """factor * cos(n angle), n = 0 .. W - 1, (D, W, Q), by recurrence: a cosine costs as much as ten products."""
    waves = np.empty((len(angle), WAVES, angle.shape[1]))
    first = np.cos(angle)
    waves[:, 0], waves[:, 1] = factor, factor * first
    first *= 2.0
    for n in range(2, WAVES):
        np.multiply(first, waves[:, n - 1], out=waves[:, n])
        waves[:, n] -= waves[:, n - 2]
    return waves


def _movements(walls: Walls, feet: Feet, place: Places, k: Array) -> Array:
    """Movements of points and outputs, (D, rows, modes): means over footprints, bores' and holes' circles."""
    x, y = centres(walls, feet)
    n, p = place.points.bridges, len(place.force) - place.cuts
    bores = np.arange(p - place.points.bores, p)
    held, turned = np.r_[:n, bores], np.r_[:n, bores, p : len(place.force)]
    eta, spread = _heights(walls, feet, y)
    flat, tilted = _filters(walls, feet, k)
    turns = _turns(k[:, 1:2] * (x - walls.x[:, :1]))
    level = turns.real.copy()
    level[:, :p] *= flat
    slope = k[:, None] * turns.imag[:, held] * tilted
    steep = spread[:, turned]
    steep[:, :n] *= 0.6  # a footprint's mean slope weighs its ends more: h^2 / 20 where its mean has h^2 / 12
    per_mm = (2.0 / np.diff(walls.y, axis=1))[:, :, None]
    rows = np.zeros((len(k), place.size, 2, len(k[0])))
    rows[:, place.force] = _psi(eta, spread) * level[:, :, None]
    rows[:, place.about_x] = _psi(eta[:, turned], steep, order=1) * (per_mm * level[:, turned])[:, :, None]
    rows[:, place.about_y] = _psi(eta[:, held], spread[:, held]) * slope[:, :, None]
    return rows.reshape(len(k), place.size, -1)


def _heights(walls: Walls, feet: Feet, y: Array) -> tuple[Array, Array]:
    """eta of each force along z and the mean square of eta over what it acts on, (D, loads) each."""
    half = 0.5 * np.diff(walls.y, axis=1)
    tall = feet.height**2 / 12.0
    round_ = 0.0625 * np.concatenate([walls.hole_d, walls.bore_d], axis=1) ** 2
    square = np.concatenate([tall, round_, np.zeros_like(walls.cut_x)], axis=1) / half**2
    return (y - walls.y.mean(axis=1, keepdims=True)) / half, square


def _psi(eta: Array, spread: Array, *, order: int = 0) -> Array:
    """Mean of both psi, or of a derivative by eta, about eta with mean square `spread`: (D, n, 2, 1)."""
    e = eta[:, :, None]
    here, bend = (((c[3] * e + c[2]) * e + c[1]) * e + c[0] for c in (_SHAPES[order], _SHAPES[order + 2]))
    mean: Array = here + 0.5 * spread[:, :, None] * bend
    return mean[..., None]


def _filters(walls: Walls, feet: Feet, k: Array) -> tuple[Array, Array]:
    """What is left of a wave's value in means (bridges, bolts, bores) and of its slope (bridges, bores)."""
    half = 0.5 * k[:, 1:2] * feet.width
    z, turns = np.arange(WAVES) * half[:, :, None], _turns(half)
    d = np.concatenate([walls.hole_d, walls.bore_d], axis=1)
    discs = _disc_mean(0.5 * k[:, None] * d[:, :, None])
    flat = np.concatenate([_strip_mean(z, turns), discs], axis=1)
    return flat, np.concatenate([_strip_slope(z, turns), discs[:, walls.hole_d.shape[1] :]], axis=1)


def _turns(angle: Array) -> NDArray[np.complex128]:
    """exp(i n angle), n = 0 .. W - 1, (..., W), each from the one before: a cosine costs as much as ten products."""
    turns = np.ones((*angle.shape, WAVES), dtype=complex)
    turns[..., 1:] = np.exp(1j * angle)[..., None]
    return np.multiply.accumulate(turns, axis=-1)


def _disc_mean(z: Array) -> Array:
    """Mean of cos(k x) over a disc of radius z / k: 2 J1(z) / z."""
    safe = np.maximum(z, 1e-6)
    mean: Array = 2.0 * j1(safe) / safe
    return mean


def _strip_mean(z: Array, turns: NDArray[np.complex128]) -> Array:
    """Mean of cos(k x) over a strip: sin z / z, half width z / k; turns: exp(i z)."""
    return np.where(z > 0.0, turns.imag / np.where(z > 0.0, z, 1.0), 1.0)


def _strip_slope(z: Array, turns: NDArray[np.complex128]) -> Array:
    """Mean slope of sin(k x) over a strip, weighed as My is: 3 (sin z - z cos z) / z^3, as in `_strip_mean`."""
    safe = np.maximum(z, 1e-2)
    exact: Array = 3.0 * (turns.imag - safe * turns.real) / (safe * safe * safe)
    return np.where(z > 1e-2, exact, 1.0 - 0.1 * z * z)


def _loads(walls: Walls, k: Array) -> Array:
    """Work of a unit pressure on each bore's cylinder wall in every mode, (D, B, modes).

    -depth * e * integral over the bore's circle of the Laplacian of w, with e = -floor / 2 the pressure's
    eccentricity from the wall's mid-plane. Source: derived.
    """
    half = (0.5 * np.diff(walls.y, axis=1))[:, :, None, None]
    eta = (walls.bore_y - walls.y.mean(axis=1, keepdims=True)) * 2.0 / np.diff(walls.y, axis=1)
    spread = (0.5 * walls.bore_d / np.diff(walls.y, axis=1)) ** 2
    wave = _turns(k[:, 1:2] * (walls.bore_x - walls.x[:, :1])).real.copy()
    wave *= _disc_mean(0.5 * k[:, None] * walls.bore_d[:, :, None])
    laplacian = _psi(eta, 0.0 * eta, order=2) / half**2 - _psi(eta, spread) * (k * k)[:, None, None]
    volume = 0.25 * np.pi * walls.bore_d**2 * ((walls.thickness - walls.floor) * 0.5 * walls.floor)[:, None]
    loads: Array = volume[:, :, None, None] * laplacian * wave[:, :, None]
    return loads.reshape(*volume.shape, -1)
