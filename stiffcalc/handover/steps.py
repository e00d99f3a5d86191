"""The order of loading, and what each step but that of pressure should show, or why nothing is expected of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stiffcalc.caliper.abutments import of_half
from stiffcalc.caliper.heat import ROOM_C
from stiffcalc.caliper.results import CaseResult
from stiffcalc.condensed import Array
from stiffcalc.handover.abutments import drag_forces
from stiffcalc.handover.job import Cell, Job
from stiffcalc.mechanics import hydraulics
from stiffcalc.solid.model import HELD, support_corners
from stiffcalc.solid.shapes import SIDES, half_part
from stiffcalc.study.schema import LoadCase

Row = tuple[Cell, ...]
COLD = ("tighten", "settle")  # steps at room temperature
STATICS = 1e-3  # share of the force: rounding of loads on faces of elements
WARM_SHARE = 0.08  # of what warming adds to a bolt's force: twice what a solid of one body was off
NOTHING = (None, None, None)
INPUT = "an input, no result: stage {} of preloads.csv"
FREE = "even, of one metal, free to grow: no stress, no opening; expansion in materials.csv"
UNLIKE = "a bridge of another metal pushes at its neighbours, which the screening does not compute: no band"
OPEN = "abutments are not defined: where drag enters is open"
TIED = "; bars on pads hold the halves too: not by statics alone"
UNKNOWN = "drag is in no opening of the screening: nothing is expected"
ELASTIC = "everything is elastic here: what stays is slip or yield, of which nothing is known"


def steps(job: Job) -> Iterator[Row]:
    """Rows of `steps.csv`."""
    yield "load_case", "step", "order", "what", "pressure_MPa", "body_C", "bolt_C"
    for case in job.design.load_cases:
        warm = (case.body_temperature_C, case.bolt_temperature_C)
        for order, (step, what) in enumerate(_told(job, case), start=1):
            pressure = case.pressure if step in ("pressure", "drag") else 0.0
            yield case.name, step, order, what, pressure, *((ROOM_C,) * 2 if step in COLD else warm)


def _told(job: Job, case: LoadCase) -> Iterator[tuple[str, str]]:
    """Each step of a load case, and what is done in it."""
    if job.model.a.screws:
        yield "tighten", f"all screws at {ROOM_C:g} °C, stage tightened; once each with min and max"
    if _settles(job, case):
        yield "settle", "to stage settled: settling and creep shorten the grips"
    warm = (case.body_temperature_C, case.bolt_temperature_C)
    screws = f", screws {warm[1]:g} °C" if job.model.a.screws else ""
    yield "temperature", f"even: body {warm[0]:g} °C{screws}; moduli of materials.csv"
    yield "pressure", f"0 to {case.pressure:g} MPa; openings are changes over this step"
    if case.drag:
        needs = "mounting" if job.answer.body.abutments else "abutments and mounting"
        yield "drag", f"with the pressure held; needs {needs}"
    first = "drag, then pressure" if case.drag else "pressure"
    yield "unload", f"{first} back to 0: what stays is slip or yield"


def _settles(job: Job, case: LoadCase) -> bool:
    """A test of a new part is not told to settle."""
    stages = [s.name for s in job.answer.preload_life[0].stages] if job.answer.preload_life else []
    return "settled" in stages and case.kind not in ("proof", "burst")


def before_pressure(job: Job, case: LoadCase, answer: CaseResult) -> Iterator[Row]:
    """Rows of `expected.csv` for what comes before pressure."""
    head = (case.name, "tighten", "bolt forces", "", "", "N", *NOTHING)
    if job.model.a.screws:
        yield *head, INPUT.format("tightened")
    if _settles(job, case):
        yield head[0], "settle", *head[2:], INPUT.format("settled")
    found = [*_warming(job, case, answer)]
    yield from found or [(case.name, "temperature", "stress and openings", "", "", "", *NOTHING, FREE)]


def _warming(job: Job, case: LoadCase, answer: CaseResult) -> Iterator[Row]:
    """Bolt forces at the load case's temperature, pressure still off."""
    warm = (case.body_temperature_C, case.bolt_temperature_C) != (ROOM_C, ROOM_C)
    for joint in answer.joints if warm else ():
        for bolt in joint.bolts:
            settled = next(s for s in job.answer.preload_life[bolt.index - 1].stages if s.name == "settled")
            ends = (settled.min, bolt.preload_min), (settled.max, bolt.preload_max)
            for words, (cold, force) in zip(("minimum", "maximum"), ends, strict=True):
                what = f"bolt force after warming, {words} preload"
                slack = WARM_SHARE * abs(force - cold)
                band = NOTHING[:2] if _unlike(job) else (force - slack, force + slack)
                basis = (
                    UNLIKE
                    if _unlike(job)
                    else f"from {cold:.0f} N settled, ±{100 * WARM_SHARE:.0f} % of the change"
                )
                yield case.name, "temperature", what, "", f"bolt_{bolt.index}_cut", "N", force, *band, basis


def _unlike(job: Job) -> bool:
    c = job.design.caliper
    return any(b.material.name != c.material.name for b in c.bridges)


def after_pressure(job: Job, case: LoadCase) -> Iterator[Row]:
    """Rows of `expected.csv` for drag and unloading."""
    if case.drag:
        yield from _drag(job, case)
    words = "openings and bolt forces less those before the pressure"
    yield case.name, "unload", words, "", "", "", 0.0, None, None, ELASTIC


def _drag(job: Job, case: LoadCase) -> Iterator[Row]:
    bores = job.answer.body.inboard.bores
    total = float(hydraulics.clamp_force(case.pressure, diameters=np.array([b.diameter for b in bores])))
    force = 2.0 * float(hydraulics.pad_drag(total, friction=job.design.pad.friction))
    low, high = (2.0 * total * mu for mu in job.design.pad.friction_range)
    head = (case.name, "drag")
    words = "sum of the mounting's reactions along x to the drag of both pads"
    yield *head, words, "", "", "N", -force, -high, -low, "2 mu F, friction as stated"
    yield *head, "openings", "", "", "mm", *NOTHING, UNKNOWN
    if not job.answer.body.abutments:
        yield *head, "reactions at the supports", "", "", "N", *NOTHING, OPEN
    elif job.model.a.split and any(b.pads is not None for b in job.answer.body.bridges):
        yield *head, "reactions at the supports", "", "", "N", *NOTHING, UNKNOWN + TIED
    else:
        basis, slack = f"statics, friction {job.design.pad.friction:g}, frictionless faces", STATICS * force
        for (name, axis), value in drag_reactions(job, force / 2.0).items():
            where = f"support {name}", f"support_{name}"
            yield (
                *head,
                f"reaction along {axis} to drag",
                *where,
                "N",
                value,
                value - slack,
                value + slack,
                basis,
            )


def drag_reactions(job: Job, force: float) -> dict[tuple[str, str], float]:
    """Reaction of each support and direction to forward drag, N, of `force` on each pad, by statics alone.

    The whole must balance in all six; a part that lies between planes along z, without friction, in x, y and about z.
    """
    held = [
        (part, name, axis, job.model.mesh.nodes[job.model.nodes[f"support_{name}"][0]])
        for part, names in support_corners(job.model.a)
        for name in names
        for axis in HELD[name].split(", ")
    ]
    loose = dict.fromkeys(part for part, *_ in held if part != half_part("inboard"))
    columns = [_wrench(at, np.eye(3)["xyz".index(axis)]) for _, _, axis, at in held]
    rows, loads = [*np.transpose(columns)], [*_drag_wrench(job, force, [side for side, _ in SIDES])]
    for part in loose:
        own = [side for side, _ in SIDES if half_part(side) == part]
        mask = np.array([p == part for p, *_ in held])
        rows += [np.where(mask, rows[k], 0.0) for k in (0, 1, 5)]
        loads += [_drag_wrench(job, force, own)[k] for k in (0, 1, 5)]
    found = np.linalg.solve(np.array(rows), -np.array(loads))
    return {(name, axis): float(v) for (_, name, axis, _), v in zip(held, found, strict=True)}


def _drag_wrench(job: Job, force: float, sides: list[str]) -> Array:
    """Force and moment about the origin of the drag on the abutments of these halves."""
    total = np.zeros(6)
    for side in sides:
        push = drag_forces(job, side, force)
        for a in of_half(job.answer.body, side):
            middle = np.array([a.x, (a.y0 + a.y1) / 2, dict(SIDES)[side] * (a.z0 + a.z1) / 2])
            total += _wrench(middle, np.array([push.get(a.name, 0.0), 0.0, 0.0]))
    return total


def _wrench(at: Array, force: Array) -> Array:
    return np.concatenate([force, np.cross(at, force)])
