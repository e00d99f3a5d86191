"""Bolts of a section: heads by height, and half a bolt as a bar."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stiffcalc.caliper.body import Body, BoltShape

MERGED = 0.25  # of the head's diameter: bolts nearer in y than this press as one


@dataclass(frozen=True)
class Clamp:
    """Bolts of one bridge at one height and the edge their heads press on."""

    edge: str
    y: float
    half_width: float  # of that edge
    bolts: tuple[int, ...]  # in the body
    flexibility: float  # mm/N of all of them together, half their length


def clamps_of(body: Body, bridge: int) -> tuple[Clamp, ...]:
    """Bolts by height; neighbours nearer than a share of the head are put together at their mean."""
    groups: list[list[int]] = []
    for j in sorted(
        (j for j, q in enumerate(body.bolts) if q.bridge == bridge), key=lambda j: body.bolts[j].y
    ):
        near = groups and body.bolts[j].y - body.bolts[groups[-1][-1]].y < MERGED * body.bolts[j].bearing
        groups = [*groups[:-1], [*groups[-1], j]] if near else [*groups, [j]]
    places = [float(np.mean([body.bolts[j].y for j in g])) for g in groups]
    found = []
    for k, (group, y) in enumerate(zip(groups, places, strict=True)):
        own = [body.bolts[j] for j in group]
        apart = [abs(y - p) / 2 for p in places[:k] + places[k + 1 :]]
        width = min([max(q.bearing for q in own) / 2, *apart])
        stiffness = sum(2.0 / bolt_flexibility(body, q) for q in own)
        found.append(Clamp(f"head {k + 1}", y, width, tuple(group), 1 / stiffness))
    return tuple(found)


def bolt_flexibility(body: Body, bolt: BoltShape) -> float:
    """mm/N of a whole bolt from anchor to anchor; what the walls give way by is in the section."""
    if bolt.flexibility is not None:
        return bolt.flexibility
    length = 2 * body.half_gap + body.inboard.thickness + body.outboard.thickness
    return float(length / (bolt.E * np.pi * bolt.diameter**2 / 4))
