"""What a sizing is about: dimensions of one layout by their paths, and the sections whose limits count."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.caliper.build import build
from stiffcalc.caliper.section_model import LOOSE, SectionModel, section_model
from stiffcalc.condensed import Array
from stiffcalc.errors import Fault, InputError, MissingToolError
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.study.lookup import design_named
from stiffcalc.study.reader import layout_changes, read_design
from stiffcalc.study.schema import Design, SizeDimension, SizePlan, Study
from stiffcalc.study.variants import steps_of

SIDES = ("inboard", "outboard")
PROBE = 0.01  # of a range: the step by which it is seen whether a dimension moves a section
Cut = tuple[int, str]  # bridge and side of a section


@dataclass(frozen=True)
class Job:
    """One sizing. Points x (n,) are the dimensions in the order of the plan, mm."""

    source: Mapping[str, object]
    layout: str
    own: Mapping[str, object]  # paths that the layout sets itself
    plan: SizePlan
    drawn: Array  # (n,) as the study has them
    cuts: tuple[Cut, ...]
    front_view: bool
    accuracy: float

    @property
    def low(self) -> Array:
        """Lower ends (n,), mm."""
        return np.array([d.low for d in self.plan.dimensions])

    @property
    def high(self) -> Array:
        """Upper ends (n,), mm."""
        return np.array([d.high for d in self.plan.dimensions])

    @property
    def start(self) -> Array:
        """Where it starts (n,): as drawn, or the nearest end of the range, which the results say."""
        return np.clip(self.drawn, self.low, self.high)

    def changes(self, x: Array) -> dict[str, object]:
        """Paths that the layout and the dimensions set; the dimensions last, so that they count."""
        sized = {p: float(v) for d, v in zip(self.plan.dimensions, x, strict=True) for p in d.paths}
        return {p: v for p, v in self.own.items() if p not in sized} | sized

    def read(self, x: Array) -> tuple[Design, tuple[Fault, ...]]:
        """The layout with those dimensions, and what the rules of the study file say against it."""
        return read_design(self.source, self.layout, self.changes(x))

    def models(self, design: Design) -> dict[Cut, SectionModel]:
        """Its sections. Raises InputError for bridges that have none."""
        body, bridges = build(design), design.caliper.bridges
        return {
            (i, side): section_model(body, i, side=side, loose=bridges[i].kind == "bolted-in")
            for i, side in self.cuts
        }


def job_of(
    study: Study, *, bridge: str | None, variant: str | None, front_view: bool, accuracy: float
) -> Job:
    """The question of a study's [size]; InputError with every fault of it, MissingToolError without gmsh.

    bridge: in place of the study's `bridges`; variant: another layout than the base.
    """
    if missing := unavailable():
        raise MissingToolError(missing)
    plan = study.size
    if plan is None:
        mend = "add it, with a [[size.dimension]] for each dimension"
        raise InputError([Fault("size", "nothing", "a table [size] with [[size.dimension]] tables", mend)])
    plan = plan if bridge is None else replace(plan, bridges=(bridge,))
    design = design_named(study, variant) if variant else study.designs[0]
    values = [_drawn(design, d, i) for i, d in enumerate(plan.dimensions, start=1)]
    faults = [v for v in values if isinstance(v, Fault)] + list(_bridge_faults(plan, design, bridge))
    if faults:
        raise InputError(faults)
    drawn = np.array([v for v in values if not isinstance(v, Fault)])
    own = layout_changes(study.source, design.name) if variant else {}
    job = Job(study.source, design.name, own, plan, drawn, (), front_view, accuracy)
    if faults := list(_range_faults(job)):
        raise InputError(faults)
    job = replace(job, cuts=_cuts(job))
    if faults := [*_corner_faults(job), *_idle_faults(job)]:
        raise InputError(faults)
    return job


def _drawn(design: Design, dimension: SizeDimension, number: int) -> float | Fault:
    """The value that the first path has in a layout, mm."""
    where = f"size.dimension[{number}].path"
    found = [_value(design, path) for path in dimension.paths]
    for path, value in zip(dimension.paths, found, strict=True):
        if value is None:
            allowed = "something the layout has; y_mm only of bridges that state it"
            return Fault(where, f'"{path}", which is not there', allowed, "correct the number, or state y_mm")
    values = [v for v in found if v is not None]
    if max(values) - min(values) > 1e-9:
        said = ", ".join(f"{v:g}" for v in values)
        return Fault(where, f"values {said} mm", "paths that start from one value", "make two entries")
    return values[0]


def _value(design: Design, path: str) -> float | None:
    """A dimension of a layout by its path; None where it is not there."""
    c = design.caliper
    _, table, *rest = steps_of(path) or [""]
    if table == "bridge":
        index, key, *end = rest
        bridge = c.bridges[int(index)] if int(index) < len(c.bridges) else None
        if bridge is None or key == "fillet_mm":
            return None if bridge is None else bridge.fillet
        return None if bridge.y is None else bridge.y[int(end[0])]
    wall = c.outboard if table == "outboard" else c.inboard
    if rest[0] == "pockets":
        index = int(rest[1])
        return wall.pockets[index].depth if index < len(wall.pockets) else None
    return float(getattr(wall, str(rest[0]).removesuffix("_mm")))


def _bridge_faults(plan: SizePlan, design: Design, asked: str | None) -> Iterator[Fault]:
    names = [b.name for b in design.caliper.bridges]
    where = "size.bridges" if asked is None else "--bridge"
    for name in plan.bridges or ():
        if name not in names:
            yield Fault(where, f'"{name}"', ", ".join(names), "take one of these")
            continue
        if design.caliper.bridges[names.index(name)].pads is not None:
            found = f'"{name}", a bar bolted down on the walls'
            yield Fault(where, found, "bridges between inner faces", "name another")


def _range_faults(job: Job) -> Iterator[Fault]:
    """Ends of ranges at which there is no body: each range alone, the others where they start."""
    _, faults = job.read(job.start)
    for fault in faults[:1]:
        found = f"a start that cannot be: {fault.where}: {fault.found}"
        yield Fault("size.dimension", found, fault.allowed, fault.mend)
    if faults:
        return
    for i, d in enumerate(job.plan.dimensions):
        for word, value in (("low", d.low), ("high", d.high)):
            x = job.start.copy()
            x[i] = value
            for fault in job.read(x)[1][:1]:
                found = f"{word} end {value:g}, with which {fault.where} is refused ({fault.found})"
                where = f"size.dimension[{i + 1}].range"
                yield Fault(where, found, f"a body at both ends: {fault.allowed}", "narrow the range")


def _cuts(job: Job) -> tuple[Cut, ...]:
    """Bridges that count and have a section; both sides where the halves differ or can."""
    design, _ = job.read(job.start)
    own = [p for d in job.plan.dimensions for p in d.paths]
    alike = build(design).symmetric and not any(p.split(".")[1] in SIDES for p in own)
    wanted = job.plan.bridges or tuple(b.name for b in design.caliper.bridges)
    found = tuple(
        (i, side)
        for i, b in enumerate(design.caliper.bridges)
        if b.name in wanted and b.pads is None
        for side in (SIDES[:1] if alike else SIDES)
    )
    if not found:
        raise InputError(
            [Fault("size", "no bridge that has a section", "one or more", "see stiffcalc section")]
        )
    return found


def _corner_faults(job: Job) -> Iterator[Fault]:
    """Sharp corners have no peak stress to hold."""
    design, _ = job.read(job.start)
    for (i, _), model in job.models(design).items():
        if model.kind != LOOSE and model.corner and not model.fillets:
            where, found = f"caliper.bridge[{i + 1}].fillet_mm", "a sharp corner, where no peak stress exists"
            yield Fault(where, found, "a fillet", "give it one")


def _idle_faults(job: Job) -> Iterator[Fault]:
    """Dimensions that no section knows would run to an end of their range, held by nothing."""
    design, _ = job.read(job.start)
    before = job.models(design)
    for i, d in enumerate(job.plan.dimensions):
        x = job.start.copy()
        x[i] += PROBE * (d.high - d.low) * (1 if x[i] < d.high else -1)
        design, faults = job.read(x)
        if not faults and all(_same(m, before[cut]) for cut, m in job.models(design).items()):
            where, found = f"size.dimension[{i + 1}].path", f'"{d.paths[0]}", which no section here contains'
            yield Fault(where, found, "dimensions that a section is cut through", "take it out")


def _same(a: SectionModel, b: SectionModel) -> bool:
    return a.parts == b.parts
