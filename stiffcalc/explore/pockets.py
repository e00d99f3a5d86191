"""Where the metal should be: the best depths of the outer faces, and a handful of rectangles that follow them.

From a blank thicker than the even wall of the same mass, the front view finds the depth over every triangle that gives
least spread at that mass (or least mass at a spread) over all load cases; rectangles follow; both models and every
check are then asked of the proposal as of any layout.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from stiffcalc.caliper.assess import Progress, silent, variant_result
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.condensed import Array
from stiffcalc.errors import InputError, MissingToolError
from stiffcalc.explore.pocket_answer import Drawn, Outcome, gathered
from stiffcalc.explore.pocket_field import Field, optimum
from stiffcalc.explore.pocket_propose import Costs, Proposal, Sets, Wanted, evaluated, propose
from stiffcalc.explore.pocket_raster import (
    Raster,
    averaging,
    covered,
    drawn,
    idle_beside,
    nearest,
    raster,
    with_volume,
)
from stiffcalc.explore.pocket_results import AS_DRAWN, EVEN, PROPOSED, Pockets
from stiffcalc.explore.pocket_room import depth_allowed, over_bores
from stiffcalc.explore.pocket_task import ELEMENTS, Task, prepare
from stiffcalc.explore.pocket_variant import changes, designed, even_changes
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.quantities import percent
from stiffcalc.study.geometry import depths_inside
from stiffcalc.study.lookup import design_named
from stiffcalc.study.schema import Study

LEAST_SKIN_MM = 1.0  # that is left of a triangle half of which lies over a bore
FREE = 0.05  # share of the depth allowed, off both ends, where a field counts as free to move


def pockets(study: Study, *, variant: str | None = None, progress: Progress = silent) -> Pockets:
    """Field and rectangles for one layout, `variant` or the base.

    Raises `InputError` for what cannot be milled, `MissingToolError` without the mesher, `JointError` where a joint's
    equilibrium is not found or nothing holds.
    """
    if faults := tuple(torque_faults(study)):
        raise InputError(faults)
    if missing := unavailable():
        raise MissingToolError(missing)
    assert study.pockets is not None
    plan, design = study.pockets, study.designs[0] if variant is None else design_named(study, variant)
    progress("blank and even wall")
    task = prepare(design, plan)
    progress("depth field")
    field = searched(task, progress)
    progress("rectangles")
    pictures = {side: _on_pixels(task, field, side) for side in task.blank.models}
    found = rectangles(task, field, pictures)
    own = changes(study, design.name, task.start, found.sets)
    even = even_changes(study, design.name, task.start)
    bodies = {
        AS_DRAWN: design,
        EVEN: designed(study, design.name, even),
        PROPOSED: designed(study, design.name, own),
    }
    answers = {}
    for name, body in bodies.items():
        progress(f"both models and every check: {name}")
        answers[name] = variant_result(body, with_front_view=True)
    made = milled_depth(task, pictures)
    expected = solid_like(task, {side: p.pixels for side, p in pictures.items()})(found.sets)
    outcome = Outcome(
        field=field,
        pictures=pictures,
        cut=made,
        cut_spread=task.solved(made).spread,
        expected=expected,
        proposal=found,
        answers=answers,
        changes={PROPOSED: own, EVEN: even},
    )
    return gathered(study, design, task, outcome)


def milled_depth(task: Task, pictures: Mapping[str, Drawn]) -> Array:
    """Depth (e,) that a cutter leaves over every triangle of every side."""
    centre = task.parts(task.place.centre)
    each = [averaging(p.pixels, centre[s]) @ p.cut.ravel() for s, p in pictures.items()]
    return np.asarray(np.minimum(np.concatenate(each), task.place.allowed))


def searched(task: Task, progress: Progress = silent) -> Field:
    """The best field."""
    count = 0

    def value(depth: Array) -> tuple[float, Array]:
        nonlocal count
        found = task.solved(depth)
        now = float(task.weight @ found.spread)
        count += 1
        if count % 5 == 0:
            progress(
                f"depth field: step {count}, {percent(1 - now, 2, signed=True)} spread less than the even wall"
            )
        return now, np.concatenate(list(found.slopes.values()))

    return optimum(value, task.place, task.blend, volume=task.volume, value=task.value)


def _on_pixels(task: Task, field: Field, side: str) -> Drawn:
    """The field on pixels, and what a cutter leaves of it."""
    room = task.rooms[side]
    outline = room.half.outline
    pixels = raster(outline, lambda p: depth_allowed(room, p), lambda p: depths_inside(p, outline) >= 0.0)
    centre, area, share, depth = (
        task.parts(v)[side] for v in (task.place.centre, task.place.area, field.share, field.depth)
    )
    smooth = drawn(pixels, centre, area, share, task.radius[side])
    rules = task.plan
    cut = with_volume(pixels, smooth, float(depth @ area), cutter=rules.cutter, rib=rules.room.rib)
    return Drawn(pixels, smooth, cut)


def rectangles(task: Task, field: Field, pictures: Mapping[str, Drawn]) -> Proposal:
    """The rectangles that cost least by the field's state, at its mass or at the spread asked for."""
    volume = task.volume if task.value is None else float(field.depth @ task.place.area)
    spread = solid_like(task, {side: p.pixels for side, p in pictures.items()})
    wanted = Wanted(
        start=task.start,
        plan=task.plan,
        volume=volume,
        value=task.value,
        solve=evaluated(task.held, task.weight),
        rank=lambda sets: float(task.weight @ spread(sets)),
        elements=ELEMENTS,
    )
    per_mm3 = np.concatenate(list(task.solved(field.depth).slopes.values())) / task.place.area
    free = (field.share > FREE) & (field.share < 1.0 - FREE) & (task.place.allowed > 0.0)
    free = free if free.any() else task.place.allowed > 0.0
    price = float(np.average(np.maximum(per_mm3[free], 0.0), weights=task.place.area[free]))
    K = np.maximum(per_mm3, 0.0) * (task.metal - field.depth) ** 4
    places = zip(*(task.parts(v).values() for v in (task.place.centre, K, task.metal)), strict=True)
    costs = {
        side: Costs(
            _beside_bores(task, side, p.pixels), nearest(p.pixels, at, k), nearest(p.pixels, at, metal), p.cut
        )
        for (side, p), (at, k, metal) in zip(pictures.items(), places, strict=True)
    }
    return propose(costs, price, wanted)


def _beside_bores(task: Task, side: str, pixels: Raster) -> Raster:
    """The pixels without those behind bores: a rectangle's step across a floor is a notch that no check knows."""
    behind = over_bores(task.rooms[side], pixels.centres).reshape(pixels.allowed.shape)
    return replace(pixels, allowed=np.where(behind, 0.0, pixels.allowed))


def solid_like(task: Task, pixels: Mapping[str, Raster]) -> Callable[[Sets], Array]:
    """Spread (cases,) of rectangles with what is idle beside their steps, on the search's own mesh."""
    centre = task.parts(task.place.centre)
    mean = {side: averaging(p, centre[side]) for side, p in pixels.items()}

    def spread(sets: Sets) -> Array:
        asked = []
        for side, own in sets.items():
            p = pixels[side]
            depth = sum((b.depth * covered(p, b.x, b.y) for b in own), np.zeros(p.allowed.shape))
            asked.append(mean[side] @ idle_beside(p, depth).ravel())
        return task.solved(np.minimum(np.concatenate(asked), task.metal - LEAST_SKIN_MM)).spread

    return spread
