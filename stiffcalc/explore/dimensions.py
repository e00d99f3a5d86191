"""The dimensions of a layout, one by one: where they stand, and the layout with some of them changed.

What is flush with a wall's edge (the end of a bridge, the side of a pocket) moves with that edge and is no dimension of
its own: a body stays a body under small changes. Nothing is validated again, so changes must be small.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from stiffcalc.catalogue import Material
from stiffcalc.study.schema import Caliper, Design, Wall

Steps = tuple[str | int, ...]
FLUSH_MM = 1e-6
SIDES = ("inboard", "outboard")
ENDS = ("low", "high")
PER = {  # kind -> how much of the stored unit, that unit, and the words
    "length": (1.0, "mm", "1 mm"),
    "preload": (1e3, "N", "1 kN"),
    "torque": (1.0, "N·m", "1 N·m"),
    "modulus": (1e3, "MPa", "1 GPa"),
}


@dataclass(frozen=True)
class Place:
    """A number of a layout and how far it moves with its dimension."""

    steps: Steps
    share: float = 1.0


@dataclass(frozen=True)
class Dimension:
    """One number of the study file that a layout depends on."""

    path: str  # as in the study file
    words: str
    kind: str  # a key of `PER`
    value: float
    places: tuple[Place, ...]
    carries: tuple[str, ...] = ()  # what is flush and moves with it


@dataclass(frozen=True)
class _Edge:
    """A dimension that is the low (0) or high (1) end of something along x or y, on the walls of `sides`."""

    dimension: Dimension
    axis: str
    end: int
    sides: tuple[str, ...]


def dimensions(design: Design) -> tuple[Dimension, ...]:
    """Every dimension of a layout, in the order of the study file."""
    c = design.caliper
    edges = (*_pocket_edges(c), *_bridge_edges(c))
    walls = tuple(_carrying(d, sides, key, edges, c) for d, sides, key in _walls(c))
    carried = {path for d in walls for path in d.carries}
    parts = (*_around(design), *walls, *(e.dimension for e in edges), *_depths(c), *_rest(c))
    return tuple(d for d in parts if d.path not in carried)


def changed(design: Design, changes: Mapping[Dimension, float]) -> Design:
    """The layout with dimensions moved by so much, in their units."""
    for dimension, by in changes.items():
        for place in dimension.places:
            design = _moved(design, place.steps, place.share * by)
    return design


def with_modulus(material: Material, E: float) -> Material:
    """The material with another modulus, its curve over temperature in proportion."""
    curve, ratio = material.curves.get("E"), E / material.E
    if curve is None:
        return replace(material, E=E)
    scaled = replace(curve, value=tuple(v * ratio for v in curve.value))
    return replace(material, E=E, curves={**material.curves, "E": scaled})


def _moved(whole: Any, steps: Steps, by: float) -> Any:
    """A copy of nested frozen data with one number moved."""
    if not steps:
        return whole + by
    step, rest = steps[0], steps[1:]
    if isinstance(step, int):
        return (*whole[:step], _moved(whole[step], rest, by), *whole[step + 1 :])
    if isinstance(whole, Material) and step == "E":
        return with_modulus(whole, whole.E + by)
    return replace(whole, **{step: _moved(getattr(whole, step), rest, by)})


def _length(path: str, words: str, value: float, *steps: Steps) -> Dimension:
    return Dimension(path, words, "length", value, tuple(Place(s) for s in steps))


def _around(design: Design) -> Iterator[Dimension]:
    """Rotor and pad: what the gap between the halves and the arches are made of."""
    for part, key, words in (
        ("rotor", "outer_radius", "rotor radius"),
        ("rotor", "thickness", "rotor thickness"),
        ("rotor", "edge_clearance", "rotor edge clearance"),
        ("pad", "thickness", "pad thickness"),
        ("pad", "running_clearance", "pad running clearance"),
    ):
        yield _length(f"{part}.{key}_mm", words, getattr(getattr(design, part), key), (part, key))


BOX = ("length", "bottom_y", "top_y")


def _walls(c: Caliper) -> Iterator[tuple[Dimension, tuple[str, ...], str]]:
    """Numbers of the walls, of each side alone where the halves differ; with the sides and the key."""
    for key, words in (
        ("length", "wall length"),
        ("bottom_y", "wall bottom"),
        ("top_y", "wall top"),
        ("thickness", "wall thickness"),
        ("floor", "floor"),
    ):
        if key in BOX and (c.inboard.shape or c.outboard.shape):
            continue  # an outline's box is no dimension of its own
        same = getattr(c.inboard, key) == getattr(c.outboard, key)
        for sides in (SIDES,) if same else (("inboard",), ("outboard",)):
            table, named = ("wall", words) if same else (sides[0], f"{words}, {sides[0]}")
            value = getattr(getattr(c, sides[0]), key)
            places = (("caliper", side, key) for side in sides)
            yield _length(f"caliper.{table}.{key}_mm", named, value, *places), sides, key


def _carrying(
    d: Dimension, sides: tuple[str, ...], key: str, edges: tuple[_Edge, ...], c: Caliper
) -> Dimension:
    """A wall's dimension with what is flush with its edges."""
    ends = {
        "length": (("x", 0, -0.5), ("x", 1, 0.5)),
        "bottom_y": (("y", 0, 1.0),),
        "top_y": (("y", 1, 1.0),),
    }
    flush = [
        (e.dimension, share)
        for axis, end, share in ends.get(key, ())
        for e in edges
        if (e.axis, e.end) == (axis, end)
        and any(
            abs(e.dimension.value - _edge_of(getattr(c, s), axis, end)) < FLUSH_MM
            for s in sides
            if s in e.sides
        )
    ]
    places = [Place(p.steps, share) for e, share in flush for p in e.places]
    return replace(d, places=(*d.places, *places), carries=tuple(e.path for e, _ in flush))


def _edge_of(wall: Wall, axis: str, end: int) -> float:
    if axis == "x":
        return (end - 0.5) * wall.length
    return (wall.bottom_y, wall.top_y)[end]


def _pocket_tables(c: Caliper) -> tuple[tuple[str, tuple[str, ...]], ...]:
    if c.inboard.pockets == c.outboard.pockets:
        return (("wall", SIDES),)
    return tuple((side, (side,)) for side in SIDES)


def _pockets(c: Caliper) -> Iterator[tuple[str, str, list[Steps], Any, tuple[str, ...]]]:
    """Path, words, places, pocket and sides of each pocket."""
    for table, sides in _pocket_tables(c):
        for i, pocket in enumerate(getattr(c, sides[0]).pockets):
            words = f"pocket {i + 1}" if table == "wall" else f"pocket {i + 1} {table}"
            own: list[Steps] = [("caliper", side, "pockets", i) for side in sides]
            yield f"caliper.{table}.pockets[{i + 1}]", words, own, pocket, sides


def _pocket_edges(c: Caliper) -> Iterator[_Edge]:
    for path, words, own, pocket, sides in _pockets(c):
        for axis in ("x", "y"):
            for end, value in enumerate(getattr(pocket, axis)):
                places = ((*s, axis, end) for s in own)
                d = _length(f"{path}.{axis}_mm[{end + 1}]", f"{words}, {ENDS[end]} {axis}", value, *places)
                yield _Edge(d, axis, end, sides)


def _bridge_edges(c: Caliper) -> Iterator[_Edge]:
    for i, b in enumerate(c.bridges):
        for axis in ("x", "y"):
            for end, value in enumerate(getattr(b, axis) or ()):
                path = f"caliper.bridge[{i + 1}].{axis}_mm[{end + 1}]"
                d = _length(
                    path, f"{b.name}, {ENDS[end]} {axis}", value, ("caliper", "bridges", i, axis, end)
                )
                yield _Edge(d, axis, end, SIDES)


def _depths(c: Caliper) -> Iterator[Dimension]:
    for path, words, own, pocket, _ in _pockets(c):
        yield _length(f"{path}.depth_mm", f"{words} depth", pocket.depth, *((*s, "depth") for s in own))


def _rest(c: Caliper) -> Iterator[Dimension]:
    """Bores, fillets, bolts, moduli."""
    for i, bore in enumerate(c.bores):
        for key in ("x", "y", "diameter"):
            words = f"bore {i + 1} {key}"
            yield _length(
                f"caliper.bore[{i + 1}].{key}_mm", words, getattr(bore, key), ("caliper", "bores", i, key)
            )
    for i, bridge in enumerate(c.bridges):
        path = f"caliper.bridge[{i + 1}].fillet_mm"
        yield _length(path, f"{bridge.name}, fillet", bridge.fillet, ("caliper", "bridges", i, "fillet"))
    for i, bolt in enumerate(c.bolts):
        for key in ("x", "y"):
            words = f"bolt {i + 1} {key}"
            yield _length(
                f"caliper.bolt[{i + 1}].{key}_mm", words, getattr(bolt, key), ("caliper", "bolts", i, key)
            )
    yield from _preloads(c)
    yield from _moduli(c)


def _preloads(c: Caliper) -> Iterator[Dimension]:
    """Preloads as given, each bolt's; of bolts tightened by torque alone that is the dimension."""
    for i, bolt in enumerate(c.bolts):
        key = "torque_Nm" if bolt.preload_N is None else "preload_N"
        kind = "torque" if bolt.preload_N is None else "preload"
        place = Place(("caliper", "bolts", i, key))
        yield Dimension(
            f"caliper.bolt[{i + 1}].{key}", f"bolt {i + 1} {kind}", kind, getattr(bolt, key), (place,)
        )


def _moduli(c: Caliper) -> Iterator[Dimension]:
    """The modulus of each material of body and bridges."""
    places: dict[str, list[Place]] = {c.material.name: [Place(("caliper", "material", "E"))]}
    metal = {c.material.name: c.material}
    for i, bridge in enumerate(c.bridges):
        metal[bridge.material.name] = bridge.material
        places.setdefault(bridge.material.name, []).append(Place(("caliper", "bridges", i, "material", "E")))
    for name, where in places.items():
        path = f'material."{name}".E_MPa'
        yield Dimension(path, f"modulus of {name}", "modulus", metal[name].E, tuple(where))
