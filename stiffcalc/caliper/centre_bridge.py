"""What a centre bridge is worth: the same body without it, with it in one piece, and as given.

One load case (the service case of highest pressure), the model that the figures come from, settled joints at minimum
preload. In one piece means bonded from half to half; of a two-piece body that is the most a bolted bridge can reach.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from stiffcalc.caliper import heat, response
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.build import build
from stiffcalc.caliper.cases import Layout, opening_figures, tilt_figures
from stiffcalc.caliper.life import life
from stiffcalc.caliper.measures import weigh
from stiffcalc.caliper.requirement import LOW
from stiffcalc.caliper.response import Answer
from stiffcalc.caliper.results import CentreBridge
from stiffcalc.caliper.stages import warmth_of
from stiffcalc.caliper.verdict import most_pressed
from stiffcalc.study.schema import Bridge, Design, LoadCase

NONE, INTEGRAL = "none", "integral"
GRAMS, MICROMETRES = 1e3, 1e3


@dataclass(frozen=True)
class Form:
    """One body to compare: without the bridge, or with it in one piece."""

    name: str
    design: Design
    body: Body


def centre_bridges(layout: Layout) -> tuple[CentreBridge, ...]:
    """Rows of every centre bridge: none, integral, and as given where that differs. Raises `JointError`."""
    case = most_pressed(layout.design.load_cases)
    rows: list[CentreBridge] = []
    for i in middle_bridges(layout.body):
        rows += _compared(layout, i, case)
    return tuple(rows)


def middle_bridges(body: Body) -> list[int]:
    """Bridges that are neither the first nor the last along x."""
    order = sorted(range(len(body.bridges)), key=lambda i: body.bridges[i].x0 + body.bridges[i].x1)
    return sorted(order[1:-1])


def form_of(body: Body, index: int) -> str:
    """How a bridge is held as given, in words."""
    if body.bridges[index].pads is not None:
        return "bolts along y"
    if not body.bridges[index].jointed:
        return INTEGRAL
    return "bolts along z" if any(b.bridge == index for b in body.bolts) else "split, no bolts"


def _compared(layout: Layout, index: int, case: LoadCase) -> list[CentreBridge]:
    forms = {f.name: f for f in _forms(layout, index)}
    solved = layout.stages.of(case)
    given = (solved.answers[layout.headline], solved.at(case.pressure))
    found = {name: (_answer(form, case, layout.headline), 0) for name, form in forms.items()}
    weight = {name: weigh(form.design, form.body).total for name, form in forms.items()}
    own = form_of(layout.body, index)
    found[own], weight[own] = given, layout.mass.total
    rows = [
        _row(layout, index, name, answer, at, case=case, mass=weight[name])
        for name, (answer, at) in found.items()
    ]
    return [_valued(row, rows[0]) for row in rows]


def _forms(layout: Layout, index: int) -> Iterator[Form]:
    """The bodies that are not as given; bolts, dowels and ports of the bridge go with it."""
    design = _without_fasteners(layout, index)
    others = tuple(b for i, b in enumerate(design.caliper.bridges) if i != index)
    bare = _with_bridges(design, others)
    yield Form(NONE, bare, build(bare))
    if form_of(layout.body, index) == INTEGRAL:
        return
    solid = list(design.caliper.bridges)
    solid[index] = replace(
        solid[index], kind="integral", pads=None, material=design.caliper.material, reliefs=(), land=None
    )
    whole = _with_bridges(design, tuple(solid))
    body = build(whole)
    shapes = list(body.bridges)
    shapes[index] = replace(shapes[index], jointed=False)
    yield Form(INTEGRAL, whole, replace(body, bridges=tuple(shapes)))


def _with_bridges(design: Design, bridges: tuple[Bridge, ...]) -> Design:
    return replace(design, caliper=replace(design.caliper, bridges=bridges))


def _without_fasteners(layout: Layout, index: int) -> Design:
    """The design without what holds or crosses the joint face of one bridge."""
    c, body = layout.design.caliper, layout.body
    shape = body.bridges[index]
    caliper = replace(
        c,
        bolts=tuple(b for b, s in zip(c.bolts, body.bolts, strict=True) if s.bridge != index),
        dowels=tuple(d for d in c.dowels if not shape.x0 <= d.x <= shape.x1),
        ports=tuple(p for p, s in zip(c.ports, body.ports, strict=True) if s.bridge != index),
        abutments=tuple(a for a in c.abutments if a.bridge != shape.name),
    )
    return replace(layout.design, caliper=caliper)


def _answer(form: Form, case: LoadCase, model: str) -> Answer:
    """One load case at minimum preload, settled, at its own temperature."""
    design, body = replace(form.design, load_cases=(case,)), form.body
    pair = response.frame_pair(body) if model == "frame" else response.front_view_pair(body)[0]
    warmth = warmth_of(case)
    preload = life(design, body, pair).own[warmth].preload
    return response.answer(
        heat.at_warmth(pair, design, body, warmth),
        body,
        preload=preload.min[:, None],
        pressure=np.array([case.pressure]),
    )


def _row(
    layout: Layout, index: int, form: str, answer: Answer, at: int, *, case: LoadCase, mass: float
) -> CentreBridge:
    held = bool(answer.held[0, LOW, at])
    figures = opening_figures(answer, at) if held else {}
    tilts = tilt_figures(answer, at) if held and layout.headline == "front view" else {}
    return CentreBridge(
        bridge=layout.body.bridges[index].name,
        form=form,
        given=form == form_of(layout.body, index),
        load_case=case.name,
        mass_kg=mass,
        bow=figures.get("bow"),
        spread=figures.get("spread"),
        tilt_middle=tilts.get("tilt_middle"),
        mass_per_bow=None,
    )


def _valued(row: CentreBridge, none: CentreBridge) -> CentreBridge:
    """The row with what it costs: mass beyond the body without the bridge, over the bow that it removes."""
    if row.bow is None or none.bow is None or row.bow >= none.bow:
        return row
    grams = GRAMS * (row.mass_kg - none.mass_kg)
    return replace(row, mass_per_bow=grams / (MICROMETRES * (none.bow - row.bow)))
