"""The body as a symbolic portal: spread of a simple body in closed form, derived in the open (Castigliano, sympy).

Simple: equal halves without pockets or bolts, mirrored about x = 0, one to three bores a side on a beam-like wall. One
half is a beam from the middle x = 0 to its end bridge at x = a; what bridges carry is constant along them. Forces on
the half per MPa, in equilibrium by themselves, are F = F_p + M F_1 + N_c F_2 + M_c F_3: the pressure's with the end
bridges alone and free of My, then the redundants: the end bridge's moment My, the centre bridge's N and Mx. With

    delta_ij = sum of int (m_i m_j / E I + v_i v_j / kappa G A + t_i t_j / G J) dx + bridges and roots + floors
    kappa_i = int m_i k dx,  k: curvature by pressure on the bores' cylinder walls

the energy is least at X = -delta_XX^-1 (delta_Xp + kappa_X), and the spread of both halves per MPa is

    s = (2 / A) [delta_pp + kappa_p + delta_pX X],  A = sum of the bores' areas of one side.

Changes of delta and kappa alone change s: X and its companion X' = -delta_XX^-1 delta_Xp are stationary, so
ds/dq = (2 / A) (1, X') (d delta/dq (1, X) + d kappa/dq) at given A. Levels are heights above the wall's mid-height. A
bore's stiffness and load are those of the rectangle with the circle's second moment about its middle; bridges spread
N evenly and My linearly over their width; a centre bridge acts on a line. The distortion of the wall's section, no
matter of a beam, may be added to delta as numbers. Source: derived here; Castigliano's theorem, any text.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import sympy as sp

from stiffcalc.condensed import Array

BORE = 3**0.5 / 2  # width of the rectangle with a circle's second moment about its own middle, in diameters
GLOSSARY = {
    "a": "end bridge from the middle, mm",
    "B": "width of an end bridge, mm",
    "b": "outer bore from the middle, mm",
    "w": "width of the outer bore's rectangle, mm",
    "w_0": "width of the middle bore's rectangle, mm",
    "y_e": "level of the end bridges, mm",
    "y_c": "level of the centre bridge, mm",
    "y_b": "level of the outer bores, mm",
    "y_0": "level of the middle bore, mm",
    "s_b": "level of the shear centre at an outer bore, mm",
    "s_0": "level of the shear centre at the middle bore, mm",
    "f": "1 / E I of the solid wall",
    "f_b": "1 / E I at an outer bore",
    "f_0": "1 / E I at the middle bore",
    "g": "1 / kappa G A of the solid wall",
    "g_b": "1 / kappa G A at an outer bore",
    "g_0": "1 / kappa G A at the middle bore",
    "h": "1 / G J of the solid wall",
    "h_b": "1 / G J at an outer bore",
    "h_0": "1 / G J at the middle bore",
    "A_b": "area of an outer bore, mm2",
    "A_0": "area of the middle bore, mm2",
    "phi_b": "floor of an outer bore, mm/N",
    "phi_0": "floor of the middle bore, mm/N",
    "k_b": "curvature at an outer bore by pressure on its wall, 1/mm per MPa",
    "k_0": "curvature at the middle bore by pressure on its wall, 1/mm per MPa",
    "e_11": "half an end bridge and its root, w by N",
    "e_12": "w by Mx",
    "e_13": "w by My",
    "e_22": "theta_x by Mx",
    "e_23": "theta_x by My",
    "e_33": "theta_y by My",
    "c_11": "half the centre bridge and its root, w by N",
    "c_12": "w by Mx",
    "c_22": "theta_x by Mx",
} | {f"d_{i}{j}": "distortion of the wall's section, added to delta" for i in range(4) for j in range(i, 4)}


def symbol(name: str) -> sp.Symbol:
    """The symbol of that name (see `GLOSSARY`); x is the place along the wall."""
    return sp.Symbol(name, real=True)


# Only the order of places along x is read from it.
_SAMPLE = {symbol(k): v for k, v in {"a": 80, "B": 30, "b": 45, "w": 30, "w_0": 20}.items()}


@dataclass(frozen=True)
class Portal:
    """One arrangement. `delta` (n, n) and `kappa` (n,) over p and the redundants, `redundants` their names.

    forces (7, n): on the half, of each system: N, Mx, My at the end bridge beyond x > 0 (mirrored: My changes
    sign), the outer and the middle bore's, then the centre bridge's tension N and Mx.
    """

    redundants: tuple[str, ...]
    forces: sp.ImmutableMatrix
    delta: sp.ImmutableMatrix
    kappa: sp.ImmutableMatrix
    area: sp.Expr
    symbols: tuple[sp.Symbol, ...]

    @property
    def spread(self) -> sp.Expr:
        """Spread of both halves, mm per MPa, as one expression of the symbols."""
        n = len(self.redundants)
        total = self.delta[0, 0] + self.kappa[0]
        if n:
            names = sp.Matrix(
                n, n, lambda i, j: sp.Symbol(f"D_{min(i, j)}{max(i, j)}")
            )  # short while inverted
            own = {names[i, j]: self.delta[i + 1, j + 1] for i in range(n) for j in range(n)}
            rest = self.delta[1:, 0] + self.kappa[1:, 0]
            shared = (self.delta[0, 1:] * names.adjugate().xreplace(own) * rest)[0]
            total -= shared / names.det().xreplace(own)
        return 2 * total / self.area


@cache
def portal(*, bores: int, centre: bool = False, ends: int = 2, on_lines: bool = False) -> Portal:
    """Derive the portal of 1 to 3 bores, with or without a centre bridge.

    ends 1: one end bridge alone and one bore at x = 0, an open frame. on_lines: bores and bridges act on lines (the
    bored stretches stay as wide as they are). Raises ValueError for an arrangement that is not one of these.
    """
    if bores not in (1, 2, 3) or ends not in (1, 2) or (ends == 1 and (bores > 1 or centre)):
        raise ValueError(f"no portal of {bores} bores, {ends} end bridges, centre bridge: {centre}")
    systems = _systems(bores, centre=centre, ends=ends)
    n = len(systems)
    delta, kappa = sp.zeros(n, n), sp.zeros(n, 1)
    stretches = _stretches(bores, on_lines=on_lines)
    inner = [[_internal(s, stretch, on_lines=on_lines) for s in systems] for stretch in stretches]
    for i in range(n):
        for j in range(i, n):
            along = sum(_work(x[i], x[j], stretch) for x, stretch in zip(inner, stretches, strict=True))
            bridges = ends * _bridge(systems[i], systems[j]) + _middle(systems[i], systems[j])
            delta[i, j] = delta[j, i] = ends * along + bridges + symbol(f"d_{i}{j}")
        kappa[i] = ends * sum(
            _integral(x[i][0] * stretch.k, stretch) for x, stretch in zip(inner, stretches, strict=True)
        )
    delta[0, 0] += _floors(bores)
    used = sorted(delta.free_symbols | kappa.free_symbols | _area(bores).free_symbols, key=str)
    names = ("My", "N_c", "M_c")[: n - 1]
    forces = sp.ImmutableMatrix([[_vector(s)[k] for s in systems] for k in range(7)])
    return Portal(
        names, forces, sp.ImmutableMatrix(delta), sp.ImmutableMatrix(kappa), _area(bores), tuple(used)
    )


@cache
def evaluator(of: Portal) -> Callable[..., Any]:
    """Spread per MPa as a function of arrays, one keyword a symbol; broadcasts."""
    act: Callable[..., Any] = sp.lambdify(of.symbols, of.spread, cse=True)
    return act


def at(of: Portal, values: Mapping[str, Array]) -> Array:
    """Spread per MPa of D bodies, mm; values by symbol, (D,) each. What is not named of the distortion is zero."""
    found: Array = np.asarray(evaluator(of)(**numbers(of, values)), dtype=float)
    return found


def numbers(of: Portal, values: Mapping[str, Array]) -> dict[str, Array | float]:
    """The values of the arrangement's symbols alone, by name."""
    names = [str(s) for s in of.symbols]
    return {n: values.get(n, 0.0) if n.startswith("d_") else values[n] for n in names}


def slopes(of: Portal, values: Mapping[str, Array]) -> dict[str, Array]:
    """d(spread)/d(symbol) of D bodies for every symbol, (D,) each: exact, from changes of delta, kappa and A alone."""
    given = numbers(of, values)
    delta, kappa, area = _assembled(of, "")(given)
    inner, rest = delta[:, 1:, 1:], np.stack([delta[:, 1:, 0], delta[:, 1:, 0] + kappa[:, 1:]], axis=-1)
    free = np.linalg.solve(inner, -rest)
    virtual, real = (np.concatenate([np.ones((len(area), 1)), free[..., k]], axis=1) for k in (0, 1))
    spread = 2.0 / area * _form(virtual, delta, kappa, real)
    found = {}
    for name in given:
        by_delta, by_kappa, by_area = _assembled(of, name)(given)
        found[name] = 2.0 / area * _form(virtual, by_delta, by_kappa, real) - spread * by_area / area
    return found


def _form(virtual: Array, delta: Array, kappa: Array, real: Array) -> Array:
    product: Array = np.einsum("di,dij,dj->d", virtual, delta, real) + (virtual * kappa).sum(axis=1)
    return product


@cache
def _assembled(of: Portal, by: str) -> Callable[..., tuple[Array, Array, Array]]:
    """delta (D, n, n), kappa (D, n) and A (D,) as a function of the numbers, or their derivatives by a symbol."""
    n = len(of.redundants) + 1
    entries = [*of.delta, *of.kappa, sp.sympify(of.area)]
    entries = [sp.diff(e, symbol(by)) for e in entries] if by else entries
    act = sp.lambdify(of.symbols, entries, cse=not by)

    def assemble(given: Mapping[str, Array | float]) -> tuple[Array, Array, Array]:
        shape = np.broadcast_shapes((1,), *(np.shape(v) for v in given.values()))
        flat = np.array([np.broadcast_to(np.asarray(v, dtype=float), shape) for v in act(**given)])
        return np.moveaxis(flat[: n * n].reshape(n, n, -1), -1, 0), flat[n * n : -1].T, flat[-1]

    return assemble


@dataclass(frozen=True)
class _Stretch:
    """A stretch of the half beam from x0 to x1 with its flexibilities and shear centre."""

    x0: sp.Expr
    x1: sp.Expr
    f: sp.Expr
    g: sp.Expr
    h: sp.Expr
    shear_centre: sp.Expr
    k: sp.Expr

    @property
    def middle(self) -> float:
        """Where it lies in the sample."""
        return float((0.5 * (self.x0 + self.x1)).subs(_SAMPLE))


@dataclass(frozen=True)
class _System:
    """Forces on the half right of the middle (n, mx, my at the end bridge, q on the outer bore), centre's tension."""

    n: sp.Expr
    mx: sp.Expr
    my: sp.Expr
    loaded: bool  # the bores carry their pressure
    outer: bool
    mid: bool
    N_c: int = 0
    M_c: int = 0


def _vector(s: _System) -> tuple[sp.Expr, ...]:
    outer, mid = _s("A_b", "A_0")
    bores = (outer if s.loaded and s.outer else 0, mid if s.loaded and s.mid else 0)
    return s.n, s.mx, s.my, *bores, s.N_c, s.M_c


def _s(*names: str) -> tuple[sp.Symbol, ...]:
    return tuple(symbol(n) for n in names)


def _area(bores: int) -> sp.Expr:
    outer, mid = _s("A_b", "A_0")
    return (2 * outer if bores > 1 else 0) + (mid if bores != 2 else 0)


def _systems(bores: int, *, centre: bool, ends: int) -> list[_System]:
    """F_p and the redundants' systems; n and mx of the end bridge from equilibrium along z and about x."""
    y_e, y_c, y_b, y_0, outer, mid, a = _s("y_e", "y_c", "y_b", "y_0", "A_b", "A_0", "a")
    has = {"outer": bores > 1, "mid": bores != 2}
    moment = (2 * outer * y_b if bores > 1 else 0) + (mid * y_0 if bores != 2 else 0)
    n = -_area(bores) / ends
    mx = -moment / ends - n * y_e
    none = sp.Integer(0)
    if ends == 1:  # an open frame: the bridge's moment from equilibrium about y
        return [_System(n, mx, n * a, True, **has)]
    found = [_System(n, mx, none, True, **has), _System(none, none, sp.Integer(1), False, **has)]
    if centre:
        half = sp.Rational(1, 2)
        found.append(_System(half, half * (y_c - y_e), none, False, **has, N_c=1))
        found.append(_System(none, half, none, False, **has, M_c=1))
    return found


def _stretches(bores: int, *, on_lines: bool) -> list[_Stretch]:
    """From the middle outward: middle bore, solid, outer bore, solid, the width of the end bridge."""
    a, B, b, w, w_0 = _s("a", "B", "b", "w", "w_0")
    solid = (*_s("f", "g", "h"), sp.Integer(0), sp.Integer(0))
    ends: list[tuple[sp.Expr, tuple[Any, ...]]] = []
    if bores != 2:
        ends.append((w_0 / 2, _s("f_0", "g_0", "h_0", "s_0", "k_0")))
    if bores > 1:
        ends.append((b - w / 2, solid))
        bored = _s("f_b", "g_b", "h_b", "s_b", "k_b")
        ends += [(b, bored), (b + w / 2, bored)] if on_lines else [(b + w / 2, bored)]
    ends += [(a, solid)] if on_lines else [(a - B / 2, solid), (a + B / 2, solid)]
    starts = [sp.Integer(0), *(x for x, _ in ends[:-1])]
    return [_Stretch(x0, x1, *how) for x0, (x1, how) in zip(starts, ends, strict=True)]


def _internal(s: _System, stretch: _Stretch, *, on_lines: bool) -> tuple[sp.Expr, sp.Expr, sp.Expr]:
    """m, v and t along a stretch: what acts beyond x."""
    a, B, b, w, w_0 = _s("a", "B", "b", "w", "w_0")
    y_e, y_b, y_0, outer, mid = _s("y_e", "y_b", "y_0", "A_b", "A_0")
    here, level = stretch.middle, stretch.shear_centre
    width = sp.Integer(0) if on_lines else B
    share, arm = _beyond(a, width, here)
    couple = (0, 1) if share == 1 else (6 * share * (1 - share) / B, share**2 * (3 - 2 * share))
    v = s.n * share - s.my * couple[0]
    m, t = s.n * arm - s.my * couple[1], v * (y_e - level) + s.mx * share
    if s.loaded and s.outer:
        share, arm = _beyond(b, sp.Integer(0) if on_lines else w, here)
        m, v, t = m + outer * arm, v + outer * share, t + outer * share * (y_b - level)
    if s.loaded and s.mid:
        share, arm = _beyond(sp.Integer(0), sp.Integer(0) if on_lines else w_0, here)
        m, v, t = m + mid * arm, v + mid * share, t + mid * share * (y_0 - level)
    return sp.sympify(m), sp.sympify(v), sp.sympify(t)


def _beyond(place: sp.Expr, width: sp.Expr, here: float) -> tuple[Any, Any]:
    """Share of a unit force, spread evenly over `width` about `place`, that lies beyond x, and its moment about x."""
    x = symbol("x")
    low, high = (float((place + k * width / 2).subs(_SAMPLE)) for k in (-1, 1))
    if here > high:
        return 0, 0
    if here < low:
        return 1, place - x
    share = (place + width / 2 - x) / width
    return share, width * share**2 / 2


def _integral(integrand: sp.Expr, stretch: _Stretch) -> sp.Expr:
    """Of a polynomial in x over the stretch, measured from its start: shorter terms."""
    x, u = _s("x", "u")
    length = sp.expand(stretch.x1 - stretch.x0)
    along = sp.expand(integrand.subs(x, stretch.x0 + u))
    return sp.integrate(along, (u, 0, length))


def _work(
    i: tuple[sp.Expr, sp.Expr, sp.Expr], j: tuple[sp.Expr, sp.Expr, sp.Expr], stretch: _Stretch
) -> sp.Expr:
    flexibilities = (stretch.f, stretch.g, stretch.h)
    return sum(c * _integral(p * q, stretch) for c, p, q in zip(flexibilities, i, j, strict=True))


def _bridge(i: _System, j: _System) -> sp.Expr:
    """Work of one end bridge and its root."""
    e = sp.Matrix(3, 3, lambda p, q: symbol(f"e_{min(p, q) + 1}{max(p, q) + 1}"))
    left, right = (sp.Matrix([s.n, s.mx, s.my]) for s in (i, j))
    return (left.T * e * right)[0]


def _middle(i: _System, j: _System) -> sp.Expr:
    """Work of the centre bridge and its root."""
    c11, c12, c22 = _s("c_11", "c_12", "c_22")
    return i.N_c * j.N_c * c11 + (i.N_c * j.M_c + i.M_c * j.N_c) * c12 + i.M_c * j.M_c * c22


def _floors(bores: int) -> sp.Expr:
    outer, mid, phi_b, phi_0 = _s("A_b", "A_0", "phi_b", "phi_0")
    return (2 * outer**2 * phi_b if bores > 1 else 0) + (mid**2 * phi_0 if bores != 2 else 0)
