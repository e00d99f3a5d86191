"""Tables of the package as rows: materials, loads, preloads, steps, contact, supports, limits, sets, points."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.heat import ROOM_C
from stiffcalc.caliper.preloads import nominal_preload, torque_shares
from stiffcalc.handover import ports
from stiffcalc.handover.abutments import tractions
from stiffcalc.handover.expected import expected
from stiffcalc.handover.job import Cell, Job, Rows
from stiffcalc.handover.mesh_files import numbers
from stiffcalc.handover.steps import steps
from stiffcalc.mechanics import hydraulics, tightening
from stiffcalc.solid.elements import tet_volumes
from stiffcalc.solid.model import HELD, SLIDES, triangle_areas
from stiffcalc.solid.shapes import SIDES, ScrewShape, clamp_faces
from stiffcalc.study.schema import LoadCase, Screw

Row = tuple[Cell, ...]
SEAT_FRICTION = "the study states the friction of tightening; of the seat in service nothing is known"


def tables(job: Job) -> dict[str, Rows]:
    """Every table by its file's name."""
    return {
        "sets.csv": [*_sets(job)],
        "points.csv": [*_points(job)],
        "materials.csv": [*_materials(job)],
        "loads.csv": [*_loads(job)],
        "preloads.csv": [*_preloads(job)],
        "steps.csv": [*steps(job)],
        "contacts.csv": [*_contacts(job)],
        "supports.csv": [*_supports(job)],
        "expected.csv": expected(job),
        "limits.csv": [*_limits(job)],
    }


def _sets(job: Job) -> Iterator[Row]:
    yield "number", "name", "kind", "part", "count", "size", "unit", "what"
    mesh, number = job.model.mesh, numbers(job.model)
    volume = tet_volumes(mesh.nodes, mesh.tets)
    for k, part in enumerate(mesh.parts):
        own = mesh.part == k
        words = "screw as cylinders" if part.startswith("bolt_") else "body"
        yield number[part], part, "volume", part, int(own.sum()), float(volume[own].sum()), "mm3", words
    for s in job.model.faces:
        area = float(triangle_areas(mesh.nodes, mesh.triangles[s.triangles]).sum())
        yield number[s.name], s.name, "face", s.part, len(s.triangles), area, "mm2", s.what
    for name, rows in job.model.nodes.items():
        yield number[name], name, "node", "", len(rows), None, "", job.model.words(name)


def _points(job: Job) -> Iterator[Row]:
    yield "point", "x_mm", "y_mm", "z_mm", "what"
    body = job.answer.body
    for name in held(job):
        place = job.model.mesh.nodes[job.model.nodes[f"support_{name}"][0]]
        yield f"support {name}", *(float(v) for v in place), f"held in {HELD[name]}"
    for side, sign in SIDES:
        half = job.model.a.half(side)
        floor = sign * (body.half_gap + half.thickness - half.floor)
        for k, b in enumerate(half.bores, start=1):
            yield f"floor {side} {k}", b.x, b.y, floor, f"middle of the floor, {side} bore {k}"
        for k, g in enumerate(body.lugs if side == "inboard" else (), start=1):
            yield f"lug {k}", g.x, g.y, -g.z1, "middle of the lug's outer end"
        x, y = pad_centre(job)
        disc = sign * job.design.rotor.thickness / 2
        yield f"drag {side}", x, y, disc, "middle of the pistons' forces on the disc's face"


def held(job: Job) -> list[str]:
    """Letters of the supports there are."""
    return [name for name in HELD if f"support_{name}" in job.model.nodes]


def pad_centre(job: Job) -> tuple[float, float]:
    """Where the pistons' forces of one side have their middle, x and y."""
    bores = job.answer.body.inboard.bores
    weight = [b.diameter**2 for b in bores]
    x, y = (float(np.average([getattr(b, k) for b in bores], weights=weight)) for k in ("x", "y"))
    return x, y


def _materials(job: Job) -> Iterator[Row]:
    """Of every part at room temperature and at every temperature of a load case."""
    yield (
        "part",
        "material",
        "temperature_C",
        "E_MPa",
        "nu",
        "density_kg_m3",
        "expansion_per_K",
        "yield_MPa",
        "ultimate_MPa",
        "strengths",
        "flags",
    )
    c = job.design.caliper
    own = {f"bridge_{n}": b.material for n, b in zip(job.model.a.names, c.bridges, strict=True)}
    for part in (p for p in job.model.mesh.parts if not p.startswith("bolt_")):
        metal = own.get(part, c.material)
        for degrees in sorted({ROOM_C, *(case.body_temperature_C for case in job.design.load_cases)}):
            now = metal.at(degrees)
            strengths = (now.yield_MPa, now.ultimate_MPa, metal.basis, "; ".join(now.flags))
            elastic = (now.E, now.nu, now.density_kg_m3, now.expansion_per_K)
            yield part, metal.name, degrees, *elastic, *strengths
    for shape, screw in screws(job):
        grade = catalogue.grade(screw.grade)
        for degrees in sorted({ROOM_C, *(case.bolt_temperature_C for case in job.design.load_cases)}):
            E, flag = grade.E_at(degrees)
            expansion, other = grade.expansion_at(degrees)
            factor, weak = grade.strength_factor(degrees)
            flags = "; ".join(f for f in (flag, other, weak) if f)
            strengths = (factor * grade.yield_MPa, factor * grade.ultimate_MPa, grade.basis, flags)
            yield shape.name, grade.name, degrees, E, 0.3, grade.density_kg_m3, expansion, *strengths


def screws(job: Job) -> list[tuple[ScrewShape, Screw]]:
    """Every screw as built and as the study has it."""
    c = job.design.caliper
    own: list[Screw] = list(c.bolts)
    for bridge in c.bridges:
        if bridge.pads is not None:
            own += [bridge.pads.screw] * (2 * bridge.pads.bolts_per_side)
    return list(zip(job.model.a.screws, own, strict=True))


def _loads(job: Job) -> Iterator[Row]:
    """Pressure on floors, over their full depth on bore walls, and within the seals of ports; drag on both pads."""
    yield "load_case", "kind", "step", "quantity", "set", "value", "unit", "fx_N", "fy_N", "fz_N", "note"
    for case in job.design.load_cases:
        for side, sign in SIDES:
            for k, b in enumerate(job.model.a.half(side).bores, start=1):
                head = (case.name, case.kind, "pressure", "pressure")
                force = sign * case.pressure * float(hydraulics.piston_area(b.diameter))
                yield *head, f"floor_{side}_{k}", case.pressure, "MPa", 0.0, 0.0, force, "all of the floor"
                note = "over the full depth: where the seal sits is not defined"
                yield *head, f"bore_{side}_{k}", case.pressure, "MPa", 0.0, 0.0, 0.0, note
        yield from ports.loads(job, case)
        if case.drag:
            yield from _drag(job, case)


def _drag(job: Job, case: LoadCase) -> Iterator[Row]:
    total = float(
        hydraulics.clamp_force(
            case.pressure, diameters=np.array([b.diameter for b in job.answer.body.inboard.bores])
        )
    )
    force = float(hydraulics.pad_drag(total, friction=job.design.pad.friction))
    low, high = job.design.pad.friction_range
    note = f"forward rotation; pad friction {job.design.pad.friction:g} ({low:g} to {high:g})"
    head = case.name, case.kind, "drag"
    if job.answer.body.abutments:
        yield from ((*head, *row, note) for side, _ in SIDES for row in tractions(job, side, force))
        return
    note += "; enters through the abutments, which are not defined"
    for side, _ in SIDES:
        yield *head, "force", f"drag {side}", force, "N", force, 0.0, 0.0, note


def _preloads(job: Job) -> Iterator[Row]:
    """Minimum, nominal and maximum of every screw at every stage and at every load case's own temperature."""
    yield (
        "screw",
        "set",
        "thread",
        "grade",
        "stage",
        "body_C",
        "bolt_C",
        "min_N",
        "nominal_N",
        "max_N",
        "torque_Nm",
        "friction_thread",
        "friction_head",
        "bolt_stiffness_N_per_mm",
    )
    for k, (shape, screw) in enumerate(screws(job)):
        head = (shape.name, f"{shape.name}_cut", screw.thread, screw.grade)
        friction = (screw.friction_thread, screw.friction_head)
        nominal = nominal_preload(screw)
        torque = torque_shares(screw, nominal).total
        if k >= len(job.answer.preload_life):
            first = tightening.preload_interval(np.array([nominal]), scatter=np.array([screw.scatter]))
            ends = (float(first.min[0]), nominal, float(first.max[0]))
            yield *head, "tightened", ROOM_C, ROOM_C, *ends, torque, *friction, None
            continue
        give = job.answer.body.bolts[k].flexibility
        stiffness = None if give is None else 1.0 / give
        for s in job.answer.preload_life[k].stages:
            ends = (s.min, s.nominal, s.max)
            wrench = torque if s.name == "tightened" else None
            yield *head, s.name, s.body_C, s.bolt_C, *ends, wrench, *friction, stiffness
        yield from (_own(head, case, name, k, friction, stiffness, job) for case, name in _warm(job))


def _warm(job: Job) -> list[tuple[LoadCase, str]]:
    """Load cases that hold, at their own temperatures."""
    return [(case, f"settled, at {case.name}") for case, answer in job.cases if answer.joints]


def _own(
    head: Row, case: LoadCase, name: str, k: int, friction: Row, stiffness: float | None, job: Job
) -> Row:
    answer = next(a for c, a in job.cases if c is case)
    state = next(b for j in answer.joints for b in j.bolts if b.index == k + 1)
    ends = (state.preload_min, state.preload_nominal, state.preload_max)
    warmth = (case.body_temperature_C, case.bolt_temperature_C)
    return *head, name, *warmth, *ends, None, *friction, stiffness


def _contacts(job: Job) -> Iterator[Row]:
    """Pairs that touch; what is tied; what never touches is not listed."""
    yield "pair", "face_a", "face_b", "kind", "friction_low", "friction_high", "gap_mm", "note"
    c, a = job.design.caliper, job.model.a
    names = {s.name for s in job.model.faces}
    friction = (c.joint_friction, c.joint_friction_high)
    for face in clamp_faces(a):
        pair = (face.lower[1], face.upper[1])
        if set(pair) <= names:
            name = f"clamp plane, {a.body.bridges[face.bridge].name}, z = {face.z:g}"
            note = "may part; expected openings are frictionless"
            yield name, *pair, "contact", *friction, 0.0, note
    for name, bridge in zip(a.names, c.bridges, strict=True):
        for side, _ in SIDES if bridge.pads is not None else ():
            assert bridge.pads is not None
            pair = (f"pad_seat_{side}_{name}", f"pad_{name}_{side}")
            note = "0 mm of clearance in the slot; only the seat bears in the screening"
            yield f"seat, {bridge.name}, {side}", *pair, "contact", *bridge.pads.friction, 0.0, note
    for shape, screw in screws(job):
        number = shape.name.removeprefix("bolt_")
        pair = (f"head_seat_{number}", f"{shape.name}_seat")
        mu = screw.friction_head
        yield f"head, {shape.name}", *pair, "contact", mu, mu, 0.0, SEAT_FRICTION
        hole = shape.hole if shape.thread == shape.diameter else shape.thread
        pair, gap = (f"thread_{number}", f"{shape.name}_thread"), (hole - shape.thread) / 2
        note = "threads are not built: tie over the radial gap"
        yield f"thread, {shape.name}", *pair, "tied", None, None, gap, note


def _supports(job: Job) -> Iterator[Row]:
    yield "set", "held", "note"
    for name in held(job):
        note = "removes rigid motion only; the mounting is not defined"
        if name in SLIDES:
            note = "stops the part from sliding while its faces are frictionless"
        yield f"support_{name}", HELD[name].replace(", ", " "), note


def _limits(job: Job) -> Iterator[Row]:
    """What the screening asks, with what it found."""
    yield "load_case", "check", "what", "allowed", "unit", "screening_found", "margin", "source", "note"
    for _, answer in job.cases:
        for c in answer.checks:
            found = (
                c.actual if math.isfinite(c.actual) else None,
                c.margin if math.isfinite(c.margin) else None,
            )
            yield answer.name, c.id, c.what, c.allowed, c.unit, *found, c.source, c.note
