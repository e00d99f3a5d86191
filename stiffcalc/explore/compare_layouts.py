"""Which layouts are compared at equal mass: those of the study file, or the obvious ones about a base alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from stiffcalc.errors import Fault, InputError
from stiffcalc.explore.compare_keys import default_keys, stated_keys
from stiffcalc.study.fields import shown
from stiffcalc.study.fit_bolts import bearing_diameter
from stiffcalc.study.lookup import design_named
from stiffcalc.study.reader import layout_changes, read_design
from stiffcalc.study.schema import Bridge, Caliper, Design, ExplorePlan, Study, SweepKey

CENTRE_WIDTH = 0.15  # of the wall's length: width of a centre bridge that the file does not draw
HEAD_GAP_MM = 1.0  # between the heads of two bolts in a row

Changes = Mapping[str, object]


@dataclass(frozen=True)
class Candidate:
    """A layout with its free dimensions."""

    design: Design  # as drawn
    changes: Changes  # paths that it sets in the base
    keys: tuple[SweepKey, ...]
    extra: float  # kg of parts that the study file does not know

    @property
    def name(self) -> str:
        """Of the layout."""
        return self.design.name


@dataclass(frozen=True)
class Field:
    """All layouts compared, and what has to be said about the choice."""

    layouts: tuple[Candidate, ...]
    notices: tuple[str, ...]
    defaults_used: tuple[str, ...]


def field(study: Study, plan: ExplorePlan) -> Field:
    """The layouts and their free dimensions. Raises InputError with every fault of the plan's keys and names."""
    drawn, notices = _layouts(study, plan)
    faults = list(_extra_faults(plan, [d.name for d, _ in drawn]))
    used: tuple[str, ...] = ()
    if plan.keys:
        keys, found = stated_keys(study.source, plan, drawn)
        faults += found
    else:
        keys, used = default_keys(study.source, drawn)
    if faults:
        raise InputError(dict.fromkeys(faults))
    layouts = tuple(
        Candidate(design, changes, own, plan.extra.get(design.name, 0.0))
        for (design, changes), own in zip(drawn, keys, strict=True)
    )
    return Field(layouts, (*notices, *_plugs(layouts)), (*plan.defaults_used, *used))


def _extra_faults(plan: ExplorePlan, names: list[str]) -> Iterator[Fault]:
    for name in plan.extra:
        if name not in names:
            allowed = ", ".join(shown(n) for n in names)
            yield Fault("explore.extra_g", f"unknown layout {shown(name)}", allowed, "name a compared layout")


def _plugs(layouts: tuple[Candidate, ...]) -> Iterator[str]:
    """What the masses hold, and what they do not."""
    own = {c.name: c.extra + c.design.caliper.fittings for c in layouts}
    listed = [f"{name} {1e3 * extra:g} g" for name, extra in own.items() if extra]
    more = f" Added by the study, counted in every total: {', '.join(listed)}." if listed else ""
    yield (
        "Masses hold body, bolts with heads and washers, and pistons. Seals, bleed screws, pipes and the plugs that "
        "bores of a one-piece body may need to be machined are not drawn: state them as caliper.fittings_g, by "
        f"variant where they differ (of layouts without a variant in [explore.extra_g]).{more}"
    )


def _layouts(study: Study, plan: ExplorePlan) -> tuple[list[tuple[Design, Changes]], list[str]]:
    """Each with the paths it sets in the base."""
    if len(study.designs) > 1:
        names = plan.layouts or tuple(d.name for d in study.designs)
        chosen = [design_named(study, n) for n in names]
        return [(d, layout_changes(study.source, d.name)) for d in chosen], []
    base, notices = study.designs[0], []
    found: list[tuple[Design, Changes]] = [(base, {})]
    for name, changes in obvious(base, study.source):
        design, faults = read_design(study.source, name, changes)
        if faults:
            notices.append(f"Left out: '{name}', which the base's measures do not allow: {faults[0]}.")
        else:
            found.append((design, changes))
    if base.caliper.layout == "monoblock":
        notices.append("A two-piece layout is compared only where the study states its bolts, as a variant.")
    return found, notices


def obvious(base: Design, source: Mapping[str, Any]) -> Iterator[tuple[str, Changes]]:
    """Layouts that a base without variants suggests: in one piece; with or without a bridge in the middle."""
    c = base.caliper
    middle = middle_bridges(c)
    one_piece: Changes = {"caliper.layout": "monoblock"}
    bridge = f"caliper.bridge[{len(c.bridges) + 1}]"
    two = c.layout == "two-piece"
    if middle:
        if two and not any(b.kind == "bolted-in" for b in middle):
            yield "one piece", one_piece
        yield "without centre bridge", _without(source, c, middle)
        return
    width = _centre_width(c)
    integral = {bridge: {"name": "centre", "x_mm": [-width / 2, width / 2]}}
    if two:
        yield "one piece", one_piece
        yield "one piece, centre bridge", {**one_piece, **integral}
        yield "bolted centre bridge", _bolted_centre(c, source, bridge)
    else:
        yield "centre bridge", integral


def middle_bridges(c: Caliper) -> list[Bridge]:
    """Bridges between the first and the last along x."""
    return sorted(c.bridges, key=lambda b: b.x)[1:-1]


def _centre_width(c: Caliper) -> float:
    return float(round(CENTRE_WIDTH * c.inboard.length))


def _without(source: Mapping[str, Any], c: Caliper, middle: list[Bridge]) -> Changes:
    """Without those bridges and the bolts in them."""
    names = {b.name for b in middle}
    raw = source["caliper"]
    found: dict[str, object] = {"caliper.bridge": [b for b in raw["bridge"] if b.get("name") not in names]}
    inside = [any(b.x[0] <= bolt.x <= b.x[1] for b in middle) for bolt in c.bolts]
    if any(inside):
        found["caliper.bolt"] = [b for b, gone in zip(raw["bolt"], inside, strict=True) if not gone]
    return found


def _bolted_centre(c: Caliper, source: Mapping[str, Any], bridge: str) -> Changes:
    """A separate bridge under two bolts along z, made as the first bolt, in the outermost row."""
    first, apart = source["caliper"]["bolt"][0], bearing_diameter(c.bolts[0]) + HEAD_GAP_MM
    width = max(_centre_width(c), 2.0 * apart)
    row = max(b.y for b in c.bolts)
    bolts = {
        f"caliper.bolt[{len(c.bolts) + i}]": {**first, "x_mm": x, "y_mm": row}
        for i, x in ((1, -apart / 2), (2, apart / 2))
    }
    own = {"name": "centre", "x_mm": [-width / 2, width / 2], "kind": "bolted-in"}
    return {bridge: own, **bolts}
