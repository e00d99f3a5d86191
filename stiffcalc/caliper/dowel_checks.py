"""Checks of the dowels of the clamp plane, where the drag of the pad is theirs."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from stiffcalc.caliper.batch import Index, Mask, column, most, of, row
from stiffcalc.caliper.checked import Checked, Subject, Words, at_most
from stiffcalc.caliper.requirement import Context
from stiffcalc.condensed import Array
from stiffcalc.mechanics import dowels

PIN_SHEAR = 1.0 / np.sqrt(3.0)  # shear over tensile yield, von Mises


def pin_capacity(c: Context) -> Array:
    """Transverse force that all dowels bear, each an equal share, N, (D,) or ()."""
    pins, (body, _) = c.design.caliper.dowels, bearing_allowed(c)
    yields = row(d.material.yield_MPa for d in pins)
    each = dowels.pin_capacity(
        diameter=row(d.diameter for d in pins),
        bore=row(d.bore for d in pins),
        depth=row(d.depth for d in pins),
        shear_MPa=PIN_SHEAR * yields,
        bearing_MPa=np.minimum(body, yields),
    )
    return np.asarray(len(pins) * each.min(axis=-1))


def bearing_allowed(c: Context) -> tuple[float, str]:
    """Yield of the body at the case's temperature, MPa, and how it was got."""
    now = c.design.caliper.material.at(c.case.body_temperature_C)
    return now.yield_MPa, f"yield {now.yield_MPa:.0f} at {c.case.body_temperature_C:g} °C"


def pin_checks(c: Context, drag: Array, carried: Mask) -> Iterator[Checked]:
    """Shear and bearing of the dowels when the drag (D,) is theirs."""
    pins, (body, how) = c.design.caliper.dowels, bearing_allowed(c)
    share = drag / len(pins)
    diameter, depth = row(d.diameter for d in pins), row(d.depth for d in pins)
    shear = dowels.pin_shear(column(share), diameter=diameter, bore=row(d.bore for d in pins))
    strength = PIN_SHEAR * row(d.material.yield_MPa for d in pins)
    worst = most(shear / strength)

    def sheared(d: int, k: int) -> str:
        return f"{share[d]:.0f} N / (pi/4 (d^2 - d_i^2)), d = {of(pins[k].diameter, d):g} mm; allowed yield / sqrt 3"

    def pressed(d: int, k: int) -> str:
        size = of(pins[k].diameter, d), of(pins[k].depth, d)
        return f"{share[d]:.0f} N / (d s), d = {size[0]:g}, s = {size[1]:g} mm; allowed {how}"

    subject = _subject("shear", len(pins), worst.flat, sheared)
    yield at_most(subject, worst.of(shear), worst.of(strength), applies=carried)
    bearing = dowels.pin_bearing(column(share), diameter=diameter, depth=depth)
    worst = most(bearing)
    subject = _subject("bearing", len(pins), worst.flat, pressed)
    yield at_most(subject, worst.of(bearing), body, applies=carried)


def _subject(what: str, count: int, at: Index, formula: Callable[[int, int], str]) -> Subject:
    source = "Kent's Mechanical Engineers' Handbook, 12th ed.; von Mises"
    names = tuple(f"{what} of dowel {k + 1}" for k in range(count))
    return Subject(f"dowel {what}", "MPa", names, lambda d: Words(formula(d, int(at[d])), source), at)
