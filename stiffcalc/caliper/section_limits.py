"""Stress of a surface in one load case against yield and endurance at temperature."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.body_checks import NO_YIELD
from stiffcalc.caliper.section_results import Surface
from stiffcalc.caliper.stages import LIVED
from stiffcalc.catalogue import Material
from stiffcalc.condensed import Array
from stiffcalc.plane.section.stress import von_mises
from stiffcalc.study.schema import LoadCase


@dataclass(frozen=True)
class Field:
    """Stress (e, k, 3) of k places at the ends of the preload, under a load case and before it, MPa."""

    now: Array
    before: Array
    alone: Array  # (e, k) von Mises stress of the section alone under the case
    error: Array | None  # (e, k) MPa; None: not asked
    places: Array  # (k, 2) z, y
    ends: tuple[str, ...]


@dataclass(frozen=True)
class Fatigue:
    """Swing of stress (e, k) at every place under one load case, MPa."""

    amplitude: Array  # von Mises stress of half the change
    mean: Array  # sum of the normal stresses half way
    allowed: Array  # amplitude allowed at that mean


def fatigue(field: Field, *, case: LoadCase, material: Material) -> Fatigue | None:
    """Goodman at every place; None where `endurance` knows none.

    Amplitude = von Mises stress of half the change, mean = sum of the normal stresses half way, allowed
    S_e (1 - mean / S_u), no more than S_e; S_e at 5e8 cycles scaled with the ultimate strength at temperature.
    """
    smooth, ultimate = endurance(material, case), material.at(case.body_temperature_C).ultimate_MPa
    if smooth is None:
        return None
    mean = 0.5 * (field.now + field.before)[..., :2].sum(axis=-1)
    allowed = smooth * (1.0 - np.clip(mean, 0.0, ultimate) / ultimate)
    return Fatigue(0.5 * von_mises(field.now - field.before), mean, allowed)


def surface(field: Field, *, case: LoadCase, material: Material) -> Surface:
    """The worst place and end against yield, with and without pressure; fatigue at its own worst place and end."""
    stress, now = von_mises(field.now), material.at(case.body_temperature_C)
    end, k = (int(i) for i in np.unravel_index(int(np.argmax(stress)), stress.shape))
    rest = float(von_mises(field.before).max())
    worst, error = float(stress[end, k]), 0.0 if field.error is None else float(field.error[end, k])
    swing = fatigue(field, case=case, material=material)
    amplitude = 0.5 * von_mises(field.now - field.before) if swing is None else swing.amplitude
    used = amplitude if swing is None else amplitude / np.maximum(swing.allowed, 1e-9)
    at = np.unravel_index(int(np.argmax(used)), used.shape)
    allowed = None if swing is None else float(swing.allowed[at])
    return Surface(
        stress=worst,
        section_stress=float(field.alone[end, k]),
        rest=rest,
        z=float(field.places[k, 0]),
        y=float(field.places[k, 1]),
        error=error / float(field.alone[end, k]) if field.alone[end, k] > 0 else 0.0,
        preload=field.ends[end],
        yield_MPa=now.yield_MPa,
        yield_margin=_margin(now.yield_MPa, max(worst, rest)),
        judged=case.kind in NO_YIELD,
        amplitude=float(amplitude[at]),
        mean=float(0.5 * (field.now + field.before)[..., :2].sum(axis=-1)[at]),
        endurance=allowed,
        fatigue_margin=None if allowed is None else _margin(allowed, float(amplitude[at])),
    )


def endurance(material: Material, case: LoadCase) -> float | None:
    """Smooth-bar amplitude at 5e8 cycles and at the body's temperature, MPa.

    None where the material has none, and for kinds of load case that do not come often.
    """
    if material.fatigue_5e8_MPa is None or case.kind not in LIVED:
        return None
    return (
        material.fatigue_5e8_MPa * material.at(case.body_temperature_C).ultimate_MPa / material.ultimate_MPa
    )


def _margin(allowed: float, amplitude: float) -> float:
    return allowed / amplitude - 1 if amplitude > 0 else float("inf")
