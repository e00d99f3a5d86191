"""The main job: a study in, results out. No files, no printing; progress goes to the caller's function."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper import response
from stiffcalc.caliper.bolt_lives import bolt_lives
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import Layout, case_result
from stiffcalc.caliper.centre_bridge import centre_bridges
from stiffcalc.caliper.clamp_plane import open_share
from stiffcalc.caliper.face_maps import drawn, face_maps, face_steps
from stiffcalc.caliper.heat import modulus_ratio
from stiffcalc.caliper.idealise import bores_mean_y, cut_stations
from stiffcalc.caliper.life import life
from stiffcalc.caliper.measures import weigh
from stiffcalc.caliper.metal import metals
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.caliper.requirement import LOW
from stiffcalc.caliper.response import Answer
from stiffcalc.caliper.results import Results, Shape, SolidCase, Sweep, VariantResult
from stiffcalc.caliper.solid_cases import judged, solid_cases, why_not
from stiffcalc.caliper.solid_faces import joined_solid
from stiffcalc.caliper.stages import solve
from stiffcalc.caliper.verdict import verdict
from stiffcalc.catalogue import Grade, Material, grade
from stiffcalc.condensed import Array
from stiffcalc.errors import InputError
from stiffcalc.mechanics.joint_state import forces
from stiffcalc.plane.front_view import FrontView
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.quantities import CAUTION
from stiffcalc.study.schema import Design, Study
from stiffcalc.version import __version__

Progress = Callable[[str], None]

CAUTIONS = (
    CAUTION,
    "Verified against 3-D solid FE of the same idealised bodies; no measured caliper stands behind it.",
    "Brakes can hurt people: nothing here releases a part for use.",
)
NO_FIELD = (np.empty((0, 2)), np.empty((0, 3), dtype=np.int64), np.empty(0))
LEFT_OUT = "front view left out on request: openings are the frame's, tilt is not given"


def silent(text: str) -> None:
    """No progress."""


def assess(
    study: Study, *, front_view: bool = True, solid: bool = False, progress: Progress = silent
) -> Results:
    """Answer a study: every layout, load case and check.

    The front view runs unless `front_view` is False or gmsh is missing; a notice in the results says so. With `solid`
    every bolted layout is solved as a 3-D solid too, whose onset pressure then is the one that is judged.
    Raises `InputError` where torque and preload contradict each other, `ConvergenceError` where a joint's equilibrium
    is not found. A joint that nothing holds is no error: its load cases have failing checks and no figures.
    """
    contradictions = tuple(torque_faults(study))
    if contradictions:
        raise InputError(contradictions)
    missing = unavailable() if front_view else LEFT_OUT
    left_out = tuple(_without_solid(study, front_view=not missing)) if solid else ()
    notices = (*((missing,) if missing else ()), *left_out, *catalogue_notes(study))
    variants: list[VariantResult] = []
    for i, design in enumerate(study.designs):
        progress(f"{i + 1} of {len(study.designs)}: {design.name}")
        variants.append(variant_result(design, with_front_view=not missing, with_solid=solid))
    return Results(
        title=study.title,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        cautions=CAUTIONS,
        defaults_used=study.defaults_used,
        verdict=verdict(tuple(variants)),
        notices=notices,
        inputs=study.source,
        variants=tuple(variants),
    )


def catalogue_notes(study: Study) -> tuple[str, ...]:
    """What must be known of the catalogue values used: whether strengths are guaranteed, what is from memory."""
    calipers = [d.caliper for d in study.designs]
    used: list[Material | Grade] = [
        m for c in calipers for m in (c.material, *(b.material for b in c.bridges))
    ]
    used += [grade(b.grade) for c in calipers for b in c.bolts]
    used += [grade(b.pads.screw.grade) for c in calipers for b in c.bridges if b.pads is not None]
    notes = []
    for item in used:
        memory = f"; from memory: {', '.join(item.from_memory)}" if item.from_memory else ""
        notes.append(f"{item.name}: strengths are {item.basis}{memory}.")
    return tuple(dict.fromkeys(notes))


def _without_solid(study: Study, *, front_view: bool) -> Iterator[str]:
    """Why layouts have no 3-D solid."""
    for design in study.designs:
        reason = (
            why_not(build(design)) if front_view else "it stands beside the front view, which is left out"
        )
        if reason:
            yield f"no 3-D solid of {design.name}: {reason}"


def solved(design: Design, *, with_front_view: bool) -> tuple[Layout, tuple[FrontView, ...]]:
    """One layout, solved at every stage of its life, and the front views of its halves (none without them).

    What is judged comes from faces cut as fine as they need; the frame that stands beside a front view has the usual
    cells.
    """
    body = build(design)
    pairs = {"frame": response.frame_pair(body, fine=not with_front_view)}
    views: tuple[FrontView, ...] = ()
    if with_front_view:
        pairs["front view"], views = response.front_view_pair(body)
    known = life(design, body, pairs["front view" if with_front_view else "frame"])
    stages = solve(design, body, pairs, known)
    return Layout(design, body, metals(body), weigh(design, body), known, stages), views


def variant_result(design: Design, *, with_front_view: bool, with_solid: bool = False) -> VariantResult:
    """One layout, assessed."""
    layout, views = solved(design, with_front_view=with_front_view)
    by_solid: tuple[SolidCase, ...] = ()
    if with_solid and with_front_view and not why_not(layout.body):
        solid, plate = joined_solid(layout.body), layout
        layout = judged(plate, solid)
        by_solid = solid_cases(plate, layout, solid)
    return VariantResult(
        name=design.name,
        layout=design.caliper.layout,
        mass=layout.mass,
        body=layout.body,
        load_cases=tuple(case_result(layout, case) for case in design.load_cases),
        sweep=sweep(layout),
        faces=face_maps(layout),
        shape=shape(layout, views),
        preload_life=bolt_lives(layout.life, layout.stages),
        centre_bridges=centre_bridges(layout),
        face_steps=face_steps(layout),
        solid=by_solid,
    )


def sweep(layout: Layout) -> Sweep:
    """The pressure sweep for drawing and for the contract."""
    room = layout.stages.room
    answer = room.answers[layout.headline]
    return Sweep(
        pressure=room.pressure,
        spread=answer.openings.spread[0],
        spread_frame=room.answers["frame"].openings.spread[0],
        bolt_force=answer.loaded.bolt[0],
        open_fraction=open_share(answer)[0],
    )


def shape(layout: Layout, views: tuple[FrontView, ...]) -> Shape:
    """The deformed body at the highest load case that holds, minimum preload; without stations where none does."""
    shown, none = drawn(layout), np.empty(0)
    if shown is None:
        return Shape(0.0, bores_mean_y(layout.body), none, none, none, *NO_FIELD)
    answer, at, pressure, body_C = shown
    softer = 1.0 / modulus_ratio(layout.design.caliper.material, body_C)
    nodes, triangles, field = front_field(answer, at, views, softer=softer)
    return Shape(
        pressure=pressure,
        y_m=bores_mean_y(layout.body),
        cut_x=cut_stations(layout.body),
        cut_opening=answer.openings.cut_opening[0, LOW, at],
        cut_slope=answer.openings.cut_slope[0, LOW, at],
        nodes=nodes,
        triangles=triangles,
        opening=field,
    )


def front_field(
    answer: Answer, at: int, views: tuple[FrontView, ...], *, softer: float
) -> tuple[Array, NDArray[np.int64], Array]:
    """Nodes, corner triangles and opening on the outboard half's mesh; empty without the front view.

    softer: E at 20 °C over E at the answer's temperature. Unequal halves have unequal meshes, so the opening drawn is
    then twice the outboard half's movement.
    """
    if not views:
        return NO_FIELD
    view, moved = views[1], answer.change
    points = forces(answer.pair, moved)[0, LOW, at]
    own = softer * (view.fields @ np.append(points, moved.pressure[0, LOW, at]))
    field = 2 * own + view.rigid @ moved.rigid[0, LOW, at]
    corners = view.mesh.triangles[:, :3]
    used, renumbered = np.unique(corners, return_inverse=True)
    return view.mesh.nodes[used], renumbered.reshape(corners.shape).astype(np.int64), field[used]
