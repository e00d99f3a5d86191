"""The main job: a study in, results out. No files, no printing; progress goes to the caller's function."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper import response
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import Layout, case_result
from stiffcalc.caliper.idealise import bores_mean_y, bridges, cut_stations
from stiffcalc.caliper.measures import weigh
from stiffcalc.caliper.results import FaceMap, Results, Shape, Sweep, VariantResult
from stiffcalc.caliper.verdict import verdict
from stiffcalc.catalogue import Grade, Material, grade, head, thread
from stiffcalc.condensed import Array
from stiffcalc.mechanics import faces, tightening
from stiffcalc.mechanics.fasteners import Preload
from stiffcalc.mechanics.joint_state import forces
from stiffcalc.plane.front_view import FrontView
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.study.schema import Bolt, Design, Study
from stiffcalc.version import __version__

Progress = Callable[[str], None]

CAUTIONS = (
    "Screening estimate only: validated FEA, proof, burst and fatigue tests, local codes and licensed practice "
    "decide.",
    "Verified against 3-D solid FE of the same idealised bodies; no measured caliper stands behind it.",
    "Brakes can hurt people: nothing here releases a part for use.",
)
SWEEP_STEPS = 24
LEFT_OUT = "front view left out on request: openings are the frame's, tilt is not given"


def silent(text: str) -> None:
    """No progress."""


def assess(study: Study, *, front_view: bool = True, progress: Progress = silent) -> Results:
    """Answer a study: every layout, load case and check.

    The front view runs unless `front_view` is False or gmsh is missing; a notice in the results says so.
    Raises `ConvergenceError` where a joint finds no equilibrium.
    """
    missing = (
        unavailable()
        if front_view
        else "front view left out on request: openings are the frame's, tilt is not given"
    )
    notices = (*((missing,) if missing else ()), *catalogue_notes(study))
    variants: list[VariantResult] = []
    for i, design in enumerate(study.designs):
        progress(f"{i + 1} of {len(study.designs)}: {design.name}")
        variants.append(variant_result(design, with_front_view=not missing))
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
    notes = []
    for item in used:
        memory = f"; from memory: {', '.join(item.from_memory)}" if item.from_memory else ""
        notes.append(f"{item.name}: strengths are {item.basis}{memory}.")
    return tuple(dict.fromkeys(notes))


def variant_result(design: Design, *, with_front_view: bool) -> VariantResult:
    """One layout, assessed."""
    body = build(design)
    preload = preloads(design)
    pressure = pressures(design)
    pairs = {"frame": response.frame_pair([body])}
    views: tuple[FrontView, ...] = ()
    if with_front_view:
        pairs["front view"], views = response.front_view_pair(body)
    states = np.stack([preload.min, preload.nominal, preload.max])[None]
    answers = {
        name: response.answer(pair, [body], preload=states, pressure=pressure) for name, pair in pairs.items()
    }
    layout = Layout(design, body, weigh(design, body), preload, pressure, answers)
    return VariantResult(
        name=design.name,
        layout=design.caliper.layout,
        mass=layout.mass,
        body=body,
        load_cases=tuple(case_result(layout, case) for case in design.load_cases),
        sweep=sweep(layout),
        faces=face_maps(layout),
        shape=shape(layout, views),
    )


def preloads(design: Design) -> Preload:
    """Preload interval of every bolt (J,), from its torque or nominal preload, and the scatter."""
    nominal = np.array([nominal_preload(b) for b in design.caliper.bolts])
    return tightening.preload_interval(nominal, scatter=np.array([b.scatter for b in design.caliper.bolts]))


def nominal_preload(bolt: Bolt) -> float:
    """Nominal preload of one bolt, N."""
    if bolt.preload_N is not None:
        return bolt.preload_N
    assert bolt.torque_Nm is not None  # the reader leaves exactly one of the two
    size = thread(bolt.thread)
    mean = tightening.bearing_mean(outer=bolt.washer_diameter or head(size.d).diameter, hole=bolt.hole)
    return float(
        tightening.preload(
            bolt.torque_Nm * 1e3,
            thread=size,
            friction_thread=bolt.friction_thread,
            friction_head=bolt.friction_head,
            head_mean=mean,
        )
    )


def pressures(design: Design) -> Array:
    """Pressures to solve at: an even sweep from 0 to the highest load case, and every load case."""
    cases = [c.pressure for c in design.load_cases]
    return np.unique(np.concatenate([np.linspace(0.0, max(cases), SWEEP_STEPS + 1), cases]))


def sweep(layout: Layout) -> Sweep:
    """The pressure sweep for drawing and for the contract."""
    answer = layout.answer
    return Sweep(
        pressure=layout.pressure,
        spread=answer.openings.spread[0],
        spread_frame=layout.answers["frame"].openings.spread[0],
        bolt_force=answer.loaded.bolt[0],
        open_fraction=open_fractions(layout),
    )


def open_fractions(layout: Layout) -> Array:
    """Share of each face that has lost contact (S, P, N); zero where there is no joint."""
    answer = layout.answer
    part = faces.open_fraction(answer.pair.faces, answer.loaded.separation)[0]
    jointed = np.isin(np.arange(part.shape[-1]), answer.pair.jointed)
    return np.where(jointed, part, 0.0)


def face_maps(layout: Layout) -> tuple[FaceMap, ...]:
    """Contact pressure over every joint face at the highest load case, minimum preload."""
    answer, batch = layout.answer, bridges([layout.body])
    s = answer.loaded.separation[:, 0, -1]
    maps = []
    for i in answer.pair.jointed:
        found = faces.pressure_map(batch, answer.pair.faces, s, bridge=i)
        metal = np.where(found.metal, found.pressure, np.nan)
        maps.append(FaceMap(layout.body.bridges[i].name, found.x, found.y, metal))
    return tuple(maps)


def shape(layout: Layout, views: tuple[FrontView, ...]) -> Shape:
    """The deformed body at the highest load case, minimum preload."""
    answer = layout.answer
    nodes, triangles, field = front_field(layout, views)
    return Shape(
        pressure=float(layout.pressure[-1]),
        y_m=bores_mean_y(layout.body),
        cut_x=cut_stations(layout.body),
        cut_opening=answer.openings.cut_opening[0, 0, -1],
        cut_slope=answer.openings.cut_slope[0, 0, -1],
        nodes=nodes,
        triangles=triangles,
        opening=field,
    )


def front_field(layout: Layout, views: tuple[FrontView, ...]) -> tuple[Array, NDArray[np.int64], Array]:
    """Nodes, corner triangles and opening on the outboard half's mesh; empty without the front view.

    Unequal halves have unequal meshes, so the opening drawn is then twice the outboard half's movement.
    """
    if not views:
        return np.empty((0, 2)), np.empty((0, 3), dtype=np.int64), np.empty(0)
    view, answer = views[1], layout.answer
    moved = answer.change
    points = forces(answer.pair, moved)[0, 0, -1]
    own = view.fields @ np.append(points, moved.pressure[0, 0, -1])
    field = 2 * own + view.rigid @ moved.rigid[0, 0, -1]
    corners = view.mesh.triangles[:, :3]
    used, renumbered = np.unique(corners, return_inverse=True)
    return view.mesh.nodes[used], renumbered.reshape(corners.shape).astype(np.int64), field[used]
