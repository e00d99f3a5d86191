"""The study's own bolt in another size and grade: what carries over as a ratio, and how it is tightened."""

from __future__ import annotations

from dataclasses import replace

from stiffcalc import catalogue
from stiffcalc.caliper.preloads import nominal_preload, torque_shares
from stiffcalc.mechanics import fasteners
from stiffcalc.quantities import percent
from stiffcalc.study.schema import Bolt

SERIES = ("fine", "medium", "coarse")


def utilisation(bolt: Bolt) -> float:
    """Nominal preload over the proof load of ISO 898-1."""
    return nominal_preload(bolt) / proof_load(bolt.thread, bolt.grade)


def proof_load(thread: str, grade: str) -> float:
    """N."""
    size, steel = catalogue.thread(thread), catalogue.grade(grade)
    return float(fasteners.proof_load(steel.proof_MPa, thread=size))


def resized(own: Bolt, *, thread: str, grade: str) -> Bolt:
    """`own` with another thread and grade, at its place.

    Nominal preload: the same share of the proof load, given as preload or torque as `own` gives it. Friction and
    scatter stay; washer, engagement and tapped depth keep their ratio to the thread's diameter, the hole
    its series.
    """
    if (thread, grade) == (own.thread, own.grade):
        return own
    ratio = catalogue.thread(thread).d / catalogue.thread(own.thread).d
    new = replace(
        own,
        thread=thread,
        grade=grade,
        washer_diameter=None if own.washer_diameter is None else own.washer_diameter * ratio,
        washer_thickness=own.washer_thickness * ratio,
        engagement=own.engagement * ratio,
        tapped_depth=None if own.tapped_depth is None else own.tapped_depth * ratio,
        hole=hole(own, thread=thread),
    )
    preload = utilisation(own) * proof_load(thread, grade)
    turned = replace(new, preload_N=preload, torque_Nm=None)
    return replace(
        turned,
        preload_N=None if own.preload_N is None else preload,
        torque_Nm=None if own.torque_Nm is None else torque(turned),
    )


def hole(own: Bolt, *, thread: str) -> float:
    """Hole of the same ISO 273 series as `own` has, else in the same ratio to the thread's diameter, mm."""
    before, after = catalogue.thread(own.thread).d, catalogue.thread(thread).d
    for series in SERIES:
        if catalogue.clearance_hole(before, series=series) == own.hole:
            return catalogue.clearance_hole(after, series=series)
    return own.hole * after / before


def bearing(bolt: Bolt) -> float:
    """Outer diameter of what presses on the wall, washer or head, mm."""
    return bolt.washer_diameter or catalogue.head(catalogue.thread(bolt.thread).d).diameter


def torque(bolt: Bolt) -> float:
    """Tightening torque of the nominal preload, N m."""
    if bolt.torque_Nm is not None:
        return bolt.torque_Nm
    return torque_shares(bolt, nominal_preload(bolt)).total


def in_words(own: Bolt) -> str:
    """How every bolt of the matrix is made and tightened."""
    washer = "no washer" if own.washer_diameter is None else f"washer {_ratio(own.washer_diameter, own)} d"
    return (
        f"Each bolt as the study's first ({own.thread}, {own.grade}), in ratio: nominal preload "
        f"{percent(utilisation(own), 1)} of the proof load, scatter {own.scatter:g}, friction {own.friction_thread:g} "
        f"in the thread and {own.friction_head:g} under the head, {washer}, engagement {_ratio(own.engagement, own)} d."
    )


def _ratio(length: float, own: Bolt) -> str:
    return f"{length / catalogue.thread(own.thread).d:.3g}"
