"""[[caliper.bolt]] and [[caliper.dowel]] of a study file, and the clamp plane's friction."""

from __future__ import annotations

from collections.abc import Mapping

from stiffcalc import catalogue
from stiffcalc.catalogue import Grade, Material, Thread
from stiffcalc.errors import InputError
from stiffcalc.study import defaults
from stiffcalc.study.breach import said
from stiffcalc.study.defaults import Default
from stiffcalc.study.fields import Bounds, Table, choice, flag, number, optional, pair, subtable, text
from stiffcalc.study.numbers import NAN, least
from stiffcalc.study.schema import Bolt, Dowel, Screw
from stiffcalc.study.sections import LENGTH, X, Y, find_material

ROUGHNESS = ("fine", "medium", "coarse")  # Rz below 10, 10 to 40, 40 to 160 um
ROLLED = ("before", "after")
_FRICTION = Bounds(0.0, 1.0)
_SMALL = Bounds(0.0, 100.0, "mm")
_PERCENT = Bounds(0.0, 100.0, "%", low_open=False, high_open=True)


def read_joint_friction(table: Table) -> tuple[float, float]:
    """Lowest and highest friction of the clamp plane: one number, or a pair."""
    if isinstance(table.raw.get("joint_friction"), list):
        return pair(table, "joint_friction", _FRICTION)
    one = number(table, "joint_friction", _FRICTION, defaults.JOINT_FRICTION)
    return one, one


def read_dowel(table: Table, own: Mapping[str, Material]) -> Dowel:
    """One dowel or spigot."""
    diameter = number(table, "diameter_mm", _SMALL)
    bore = number(table, "bore_mm", Bounds(0.0, 100.0, "mm", low_open=False), defaults.DOWEL_BORE_MM)
    below = said("below diameter_mm = {:g}", diameter)
    table.log.wrong_if(bore >= diameter, table.path("bore_mm"), bore, below, "leave a wall")
    dowel = Dowel(
        x=number(table, "x_mm", X),
        y=number(table, "y_mm", Y),
        diameter=diameter,
        bore=bore,
        depth=number(table, "depth_mm", LENGTH, defaults.dowel_depth(diameter)),
        material=find_material(table, "material", own, defaults.DOWEL_MATERIAL),
    )
    table.finish()
    return dowel


def read_bolt(table: Table, wall_thickness: float) -> Bolt:
    """One [[caliper.bolt]]."""
    screw = read_screw(table, wall_thickness)
    bolt = Bolt(**vars(screw), x=number(table, "x_mm", X), y=number(table, "y_mm", Y))
    table.finish()
    return bolt


def read_screw(table: Table, wall_thickness: float) -> Screw:
    """A bolt but for its place; what depends on an unknown thread or grade is left as a placeholder.

    wall_thickness: the most that can be tapped. Other keys of the table are the caller's.
    """
    thread, grade = _thread(table), _grade(table)
    torque, preload = _tightening(table, thread, grade)
    washer_diameter, washer_thickness = _washer(table)
    tapped = optional(table, "tapped_depth_mm", _SMALL)
    hole, engagement = _sizes(
        table, thread, wall_thickness if tapped is None else least(tapped, wall_thickness)
    )
    friction = number(table, "friction", _FRICTION, defaults.BOLT_FRICTION)
    return Screw(
        thread=thread.name if thread else "",
        grade=grade.name if grade else "",
        torque_Nm=torque,
        preload_N=preload,
        friction_thread=friction,
        friction_head=number(table, "friction_head", _FRICTION, Default(friction, "as in the thread")),
        scatter=number(table, "scatter", Bounds(1.0, 10.0, low_open=False), defaults.BOLT_SCATTER),
        washer_diameter=washer_diameter,
        washer_thickness=washer_thickness,
        engagement=engagement,
        hole=hole,
        roughness=choice(table, "roughness", ROUGHNESS, defaults.BOLT_ROUGHNESS),
        creep_loss=number(table, "creep_loss_percent", _PERCENT, defaults.BOLT_CREEP_PERCENT) / 100.0,
        rolled=choice(table, "thread_rolled", ROLLED, defaults.BOLT_ROLLED),
        insert=flag(table, "insert", defaults.BOLT_INSERT),
        tapped_depth=tapped,
    )


def _thread(table: Table) -> Thread | None:
    name = text(table, "thread")
    try:
        return catalogue.thread(name, where=table.path("thread")) if name else None
    except InputError as error:
        table.log.faults.extend(error.faults)
        return None


def _grade(table: Table) -> Grade | None:
    name = text(table, "grade")
    try:
        return catalogue.grade(name, where=table.path("grade")) if name else None
    except InputError as error:
        table.log.faults.extend(error.faults)
        return None


def _washer(table: Table) -> tuple[float | None, float]:
    """Outer diameter and thickness; None and 0 without a washer."""
    table.asked.add("washer")
    if not table.has("washer"):
        return None, 0.0
    washer = subtable(table, "washer")
    found = number(washer, "diameter_mm", _SMALL), number(washer, "thickness_mm", _SMALL)
    washer.finish()
    return found


def _sizes(table: Table, thread: Thread | None, depth: float) -> tuple[float, float]:
    """Hole diameter and thread engagement; depth: of the tapped thread or the wall."""
    if thread is None:
        hole, engagement = optional(table, "hole_mm", _SMALL), optional(table, "engagement_mm", _SMALL)
        return NAN if hole is None else hole, NAN if engagement is None else engagement
    hole = number(table, "hole_mm", _SMALL, defaults.hole(thread))
    return hole, number(table, "engagement_mm", _SMALL, defaults.engagement(thread, depth))


def _tightening(
    table: Table, thread: Thread | None, grade: Grade | None
) -> tuple[float | None, float | None]:
    """Torque and preload as given; the default preload where neither is. Whether both agree is seen later."""
    torque = optional(table, "torque_Nm", Bounds(0.0, 1000.0, "N·m"))
    preload = optional(table, "preload_N", Bounds(0.0, 1.0e6, "N"))
    if thread is None or grade is None:
        return torque, preload
    limit = grade.ultimate_MPa * thread.A_s
    if preload is not None:
        allowed = f"below {limit:.0f}, where {thread.name} of grade {grade.name} breaks"
        mend = "lower the preload or take a larger bolt"
        table.log.wrong_if(preload >= limit, table.path("preload_N"), preload, allowed, mend)
    if torque is not None or preload is not None:
        return torque, preload
    usual = defaults.preload(thread, grade)
    table.default("preload_N", usual)
    return None, usual.value
