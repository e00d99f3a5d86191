"""Where a bolt may stand: rules as data, each with its source, and the room that places have by each of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from stiffcalc import catalogue
from stiffcalc.condensed import Array
from stiffcalc.explore.bolt_sizes import bearing
from stiffcalc.study.fit_shapes import milled_depth, pocket_edges
from stiffcalc.study.geometry import depths_inside, footprint, wall_outline
from stiffcalc.study.schema import Bolt, BoltSearch, Design, Wall

PRACTICE = "common practice, no source"
TOUCH = 1e-6  # mm; places that just meet a rule meet it


@dataclass(frozen=True)
class Rule:
    """One rule of the places: a letter for pictures, what is wrong where it is broken, what it asks, and whence."""

    letter: str
    broken: str
    asks: str
    source: str


RULES: Mapping[str, Rule] = {
    "heads": Rule(
        "A",
        "heads touch",
        "between centres: head or washer and head_gap_mm; the tool of a hexagon socket turns within its head",
        f"head diameters ISO 4762; gap {PRACTICE}",
    ),
    "edge": Rule(
        "B",
        "too little metal to the bridge's edge",
        "metal between hole and side, top or arch of the bridge: edge_metal_diameters times the thread's diameter",
        PRACTICE,
    ),
    "bore": Rule(
        "C",
        "too little metal to a bore, dowel or port",
        "metal between hole and bore, dowel or port's seal groove as to the bridge's edge",
        PRACTICE,
    ),
    "seat": Rule("D", "head over the wall's edge", "head or washer wholly on either wall", "geometry"),
    "pocket": Rule(
        "E", "head across a pocket's edge", "head or washer wholly in a pocket or beside it", "geometry"
    ),
    "thread": Rule(
        "F",
        "too little wall for the thread",
        "the study's engagement and tapped depth, in diameters, within the outboard wall (less a pocket there)",
        "the study's first bolt; head inboard as in the mass",
    ),
    "washer": Rule(
        "G",
        "washer smaller than the head",
        "washer, in the study's ratio to the thread, at least as wide as the head",
        "ISO 4762",
    ),
    "split": Rule(
        "H",
        "cannot be shared out",
        "both end bridges alike, middle ones alike, at least one bolt and at most three (or as many as drawn) each",
        f"equal ends for equal faces; {PRACTICE}",
    ),
    "equilibrium": Rule("N", "no equilibrium found", "a joint that holds together", "mechanics of the joint"),
}


@dataclass(frozen=True)
class Refusal:
    """Why a combination was not evaluated."""

    rule: str  # key of RULES
    text: str

    @property
    def letter(self) -> str:
        """The rule's letter."""
        return RULES[self.rule].letter


def refusal(rule: str, *, found: float, needed: float, where: str) -> Refusal:
    """A length that is too short, in words."""
    return Refusal(rule, f"{RULES[rule].broken}: {found:.1f} < {needed:.1f} mm ({where})")


@dataclass(frozen=True)
class Room:
    """What places have by one rule (C, n), and what they need, mm."""

    found: Array
    needed: float

    @property
    def short(self) -> Array:
        """Shortfall of each group of places (C,); negative where there is more than needed."""
        worst: Array = self.needed - self.found.min(axis=-1)
        return worst


@dataclass(frozen=True)
class Site:
    """A body's metal as bolts see it."""

    footprints: tuple[Array, ...]  # of every bridge, (N, 2)
    walls: tuple[Wall, Wall]  # inboard, outboard
    circles: Array  # (B, 3) x, y, diameter of bores, dowels and seal grooves
    head_gap: float
    edge_metal: float  # in diameters


def site(design: Design, search: BoltSearch) -> Site:
    """The metal of a design."""
    c = design.caliper
    return Site(
        footprints=tuple(footprint(b, c, design.rotor) for b in c.bridges),
        walls=(c.inboard, c.outboard),
        circles=np.array(
            [(b.x, b.y, b.diameter) for b in c.bores]
            + [(d.x, d.y, d.diameter) for d in c.dowels]
            + [(p.x, p.y, p.seal_diameter) for p in c.ports]
        ),
        head_gap=search.head_gap,
        edge_metal=search.edge_metal,
    )


def rooms(places: Array, *, bolt: Bolt, bridge: int, site: Site) -> dict[str, Room]:
    """Room of C groups of n places (C, n, 2) for `bolt` in one bridge, by each rule that depends on place."""
    metal = site.edge_metal * catalogue.thread(bolt.thread).d
    away = np.linalg.norm(places[..., None, :] - site.circles[:, :2], axis=-1) - site.circles[:, 2] / 2
    seat = bearing(bolt) / 2
    found = {
        "edge": Room(depths_inside(places, site.footprints[bridge]) - bolt.hole / 2, metal),
        "bore": Room(away.min(axis=-1) - bolt.hole / 2, metal),
        "seat": Room(np.minimum(*(depths_inside(places, wall_outline(w)) for w in site.walls)), seat),
        "pocket": Room(_to_pocket(places, site), seat),
        "thread": Room(_tapped(places, site.walls[1]), max(bolt.engagement, bolt.tapped_depth or 0.0)),
    }
    if places.shape[1] > 1:
        found["heads"] = Room(_apart(places), 2 * seat + site.head_gap)
    return found


def _apart(places: Array) -> Array:
    """Least distance between centres of each group, (C, 1)."""
    pairs = combinations(range(places.shape[1]), 2)
    gaps = [np.linalg.norm(places[:, a] - places[:, b], axis=-1) for a, b in pairs]
    return np.asarray(np.min(gaps, axis=0)[:, None])


def _to_pocket(places: Array, site: Site) -> Array:
    """Distance to the nearest edge of a pocket, inside or out."""
    outlines = [outline for wall in site.walls for outline in pocket_edges(wall)]
    depth = [np.abs(depths_inside(places, o)) for o in outlines]
    return np.asarray(np.min([np.full(places.shape[:-1], np.inf), *depth], axis=0))


def _tapped(places: Array, wall: Wall) -> Array:
    """Thickness of the tapped wall at the places."""
    return np.asarray(wall.thickness - milled_depth(wall, places))


def crowding(bolts: Sequence[Bolt], *, head_gap: float) -> Refusal | None:
    """Heads of different bridges that touch, the worst pair."""
    worst: tuple[float, float, float] = (TOUCH, 0.0, 0.0)
    for a, b in combinations(bolts, 2):
        needed = (bearing(a) + bearing(b)) / 2 + head_gap
        found = float(np.hypot(a.x - b.x, a.y - b.y))
        worst = max(worst, (needed - found, found, needed))
    if worst[2] == 0.0:
        return None
    return refusal("heads", found=worst[1], needed=worst[2], where="bolts of neighbouring bridges")
