"""One bridge of the defined body cut by the radial-axial plane at its mid x: what `plane.section` is given.

Plane coordinates are (z, y): z axial from the rotor's mid-plane outward, y radial. The section is a strip as wide as
the bridge, in the wall too, and as thick at each place as metal is left of that width: bores, pockets and bolt holes
take away what they take of it. A bolt hole is a strip along z, as high as its diameter, that lacks pi/4 of it.

The width in the wall is the bridge's because that is what 3-D solids ask for: tests/caliper/test_section_solids.py.
One half is modelled. At the mid-plane an integral bridge does not move along z, a joint face presses on z = 0 and a
separate bridge presses on the wall's inner face. What passes through the cut is taken up by the wall's metal, even
force and a moment in proportion to the distance from its centroid (`VolumeResultant`): the cut then carries exactly
the bridge's N and Mx, whatever the mesh.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from stiffcalc.caliper.body import Body, BoltShape, BoreShape, BridgeShape, HalfShape
from stiffcalc.caliper.section_bolts import Clamp, clamps_of
from stiffcalc.caliper.section_cells import Box, Cell, Grid, Levels, cells, outline, profile
from stiffcalc.caliper.section_shapes import reach, shape_boxes
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.section.outline import Loop, Material, Part, Region, polygon
from stiffcalc.plane.section.problem import Bar, Contact, Load, RigidLine, Support, VolumeResultant
from stiffcalc.plane.section.sizing import Sizing

BANDS = 4  # heights into which a bore is cut where the strip holds only part of it
FACE = "joint face"
CUT = "mid-plane"
SEAT = "seat"
WALL_SEAT = "wall's seat"
FILLET = "fillet "
GROWTH = (
    0.35  # of sides per mm away from fillets and faces: a quarter less work than 0.25, the same peak to 0.1 %
)


@dataclass(frozen=True)
class SectionModel:
    """Everything `plane.section` needs of one bridge, and where to read it. mm, MPa."""

    bridge: str
    side: str
    kind: str  # "integral", "joint face at the mid-plane", "separate bridge"
    x: float  # of the plane
    width: float
    height: float  # of the bridge in the plane
    y_r: float  # about which N and Mx act
    gap: float
    wall: tuple[float, float, float]  # inner face z, outer face z, thickness
    fillet: float
    parts: tuple[Part, ...]
    wall_zones: tuple[str, ...]  # take up the reaction
    root_zones: tuple[str, ...]  # the wall behind the bridge, whose motion is read
    hole_zones: tuple[str, ...]
    fillets: tuple[str, ...]  # edges
    corner: tuple[float, float] | None  # of underside and wall, where it is re-entrant
    clamps: tuple[Clamp, ...]
    cuts: tuple[str, ...]  # what the plane and its strip cut, in words

    @property
    def jointed(self) -> bool:
        """Whether a face presses."""
        return self.kind != INTEGRAL

    @property
    def face(self) -> str:
        """Edge on which contact pressure is read."""
        return FACE if self.kind == SPLIT else SEAT

    def loads(self) -> Mapping[str, tuple[Load, ...]]:
        """Unit N, N, and unit Mx, N mm, of the whole cut about (0, y_r)."""
        about = (0.0, self.y_r)
        return {
            "N": (VolumeResultant(self.wall_zones, about, x=1.0),),
            "Mx": (VolumeResultant(self.wall_zones, about, moment=-1.0),),
        }

    def supports(self, *, closed: bool = False) -> tuple[Support, ...]:
        """What holds the section besides contact; `closed`: the face joined for good."""
        tops = [Support((0.0, self.y_r + self.height / 2), y=True)]
        if self.kind == LOOSE and not closed:
            tops.append(Support(next(e.start for e in self.parts[-1].outline if e.name == "top"), y=True))
        held = () if self.kind == SPLIT and not closed else (Support(self.mid_plane, x=True),)
        return (*held, *tops)

    @property
    def mid_plane(self) -> str:
        """Edge at z = 0."""
        return FACE if self.kind == SPLIT else CUT

    def contacts(self) -> tuple[Contact, ...]:
        """The joint face."""
        if self.kind == SPLIT:
            return (Contact("face", FACE, RigidLine((0.0, 0.0), (1.0, 0.0))),)
        return (Contact("face", SEAT, WALL_SEAT),) if self.kind == LOOSE else ()

    def bars(self, preload: Sequence[float]) -> tuple[Bar, ...]:
        """Bolts from head to mid-plane, tightened to preload[k], N, of all bolts of clamp k."""
        return tuple(
            Bar(c.edge, c.edge, None, (-1.0, 0.0), 1 / c.flexibility, float(p))
            for c, p in zip(self.clamps, preload, strict=True)
        )

    def sizing(self) -> Sizing:
        """First mesh: a quarter of the smaller of wall and bridge, finer at faces and fillets."""
        size = min(min(self.wall[2], self.height) / 4, 6.0)
        pressed = {SPLIT: (FACE,), LOOSE: (SEAT, WALL_SEAT)}.get(self.kind, ())
        face = {edge: max(self.height / 20, 0.5) for edge in pressed}
        return Sizing(size, edges=face, growth=GROWTH, per_circle=32)


INTEGRAL, SPLIT, LOOSE = "integral", "joint face at the mid-plane", "separate bridge"


def section_model(body: Body, bridge: int, *, side: str, loose: bool) -> SectionModel:
    """The section through bridge `bridge` of one side; `loose`: the bridge is a separate part.

    Raises InputError for a bar on pads, and where the plane meets no metal.
    """
    shape, half = body.bridges[bridge], getattr(body, side)
    if shape.pads is not None:
        found = "a bar bolted down on the walls"
        raise InputError(
            [Fault(f"bridge {shape.name!r}", found, "bridges between inner faces", "name another")]
        )
    kind = LOOSE if loose else SPLIT if shape.jointed else INTEGRAL
    levels, said = _levels(body, shape, half, rounded=kind != LOOSE)
    clamps = clamps_of(body, bridge) if kind != INTEGRAL else ()
    boxes, more = _boxes(body, bridge, half, levels)
    grid = Grid(levels, (shape.x0, shape.x1), boxes, tuple((c.edge, c.y, c.half_width) for c in clamps))
    thin = cells(grid)
    metal = Material(body.E, body.nu)
    parts = _loose(grid, thin, shape, metal) if kind == LOOSE else (_one(grid, thin, shape, metal, kind),)
    fillet = levels.fillet
    return SectionModel(
        bridge=shape.name,
        side=side,
        kind=kind,
        x=(shape.x0 + shape.x1) / 2,
        width=grid.width,
        height=levels.crown - levels.under,
        y_r=(levels.crown + levels.under) / 2,
        gap=levels.gap,
        wall=(levels.gap, levels.outer, half.thickness),
        fillet=fillet,
        parts=parts,
        wall_zones=_zones(parts, ("wall", "root")),
        root_zones=_zones(parts, ("root",)),
        hole_zones=_zones(parts, ("hole",)),
        fillets=tuple(e.name for p in parts for e in p.outline if e.name.startswith(FILLET)),
        corner=(levels.gap, levels.under) if kind != LOOSE and levels.under > levels.bottom else None,
        clamps=clamps,
        cuts=(*said, *more),
    )


def _levels(body: Body, shape: BridgeShape, half: HalfShape, *, rounded: bool) -> tuple[Levels, list[str]]:
    """The heights and depths of a section, and what had to give."""
    x = (shape.x0 + shape.x1) / 2
    low = shape.y0 if shape.arch is None else max(shape.y0, float(np.sqrt(max(shape.arch**2 - x**2, 0.0))))
    bottom, top = reach(half, (shape.x0, shape.x1))
    fillet, said = shape.fillet if rounded else 0.0, []
    room = min(body.half_gap, low - bottom)
    if fillet > room > 0:
        said.append(f"fillet {fillet:g} mm drawn as {room:.3g} mm: the edges beside it are no longer")
        fillet = room
    if shape.y1 < top - 1e-9 and rounded:
        said.append("the corner between the bridge's top and the wall is drawn sharp; its stress is not read")
    levels = Levels(
        gap=body.half_gap,
        outer=body.half_gap + half.thickness,
        bottom=bottom,
        top=top,
        under=low,
        crown=shape.y1,
        fillet=fillet if low > bottom else 0.0,
    )
    return levels, said


def _boxes(body: Body, bridge: int, half: HalfShape, levels: Levels) -> tuple[tuple[Box, ...], list[str]]:
    """What is missing of the strip, and the same in words."""
    shape = body.bridges[bridge]
    strip, x = (shape.x0, shape.x1), (shape.x0 + shape.x1) / 2
    boxes: list[Box] = []
    said: list[str] = []
    for k, bore in enumerate(half.bores, start=1):
        boxes += (own := list(_bore(k, bore, half, levels, strip)))
        chord = 2 * float(np.sqrt(max((bore.diameter / 2) ** 2 - (x - bore.x) ** 2, 0.0)))
        said += [f"the plane cuts bore {k} over {chord:.3g} mm of its {bore.diameter:g} mm"] if chord else []
        said += [f"bore {k} reaches into the strip beside the plane"] if own and not chord else []
        if own and bore.y + bore.diameter / 2 > levels.under - levels.fillet:
            said.append(
                f"bore {k} is left out above the fillet's end, y = {levels.under - levels.fillet:.4g} mm"
            )
    if not boxes:
        said.insert(0, "no bore in the strip: a bore-free plane")
    for k, pocket in enumerate(half.pockets, start=1):
        (x0, y0), (x1, y1) = pocket.outline.min(axis=0), pocket.outline.max(axis=0)
        box = Box(f"pocket {k}", (x0, x1), (y0, y1), (levels.outer - pocket.depth, levels.outer))
        if box.across(strip):
            boxes.append(box)
            said.append(
                f"pocket {k} takes {box.across(strip):.3g} of the strip's {strip[1] - strip[0]:.3g} mm"
            )
    shaped, more = shape_boxes(half, levels, strip)
    boxes, said = boxes + shaped, said + more
    for j, bolt in enumerate(body.bolts):
        if bolt.bridge == bridge:
            boxes.append(_hole(j, bolt, levels))
            said.append(f"bolt {j + 1}: hole {bolt.hole:g} mm at y = {bolt.y:g} mm as a thinner strip")
    return tuple(boxes), said


def _bore(
    k: int, bore: BoreShape, half: HalfShape, levels: Levels, strip: tuple[float, float]
) -> Iterator[Box]:
    """A bore in bands of its mean chord inside the strip, below the fillet."""
    r, depth = bore.diameter / 2, half.thickness - half.floor
    ends = np.linspace(bore.y - r, min(bore.y + r, levels.under - levels.fillet), BANDS + 1)
    if ends[-1] <= ends[0]:
        return
    for y0, y1 in pairwise(ends):
        y = y0 + (y1 - y0) * (np.arange(16) + 0.5) / 16
        c = np.sqrt(np.maximum(r**2 - (y - bore.y) ** 2, 0.0))
        low, high = np.maximum(bore.x - c, strip[0]), np.minimum(bore.x + c, strip[1])
        chord = float(np.maximum(high - low, 0.0).mean())
        if chord > 0:
            # Where in the strip the chord lies matters only where a pocket overlaps it.
            start = float(np.clip(bore.x - chord / 2, strip[0], strip[1] - chord))
            yield Box(
                f"bore {k}", (start, start + chord), (float(y0), float(y1)), (levels.gap, levels.gap + depth)
            )


def _hole(j: int, bolt: BoltShape, levels: Levels) -> Box:
    """A through hole along z as a box of the same area."""
    half = np.pi / 8 * bolt.hole
    low = max(bolt.y - bolt.hole / 2, levels.under)
    return Box(
        f"hole {j + 1}", (bolt.x - half, bolt.x + half), (low, bolt.y + bolt.hole / 2), (0.0, levels.outer)
    )


def _one(grid: Grid, found: Sequence[Cell], shape: BridgeShape, metal: Material, kind: str) -> Part:
    """Bridge and wall as one part."""
    bridge = Material(shape.E, shape.nu)
    names = FACE if kind == SPLIT else CUT
    regions = [Region(name, loop, grid.width, metal) for name, loop in _bases(grid.levels)]
    regions += _thinner(found, {"bridge": bridge, "wall": metal, "root": metal})
    return Part(
        "bridge", outline(grid, mid_plane=names, fillet=FILLET), grid.width, bridge, regions=tuple(regions)
    )


def _bases(levels: Levels) -> Iterator[tuple[str, Loop]]:
    """Wall and root. The border to the bridge stands back by the fillet, whose end it may not touch smoothly."""
    g, o = levels.gap, levels.outer
    r = min(levels.fillet, (o - g) / 2)  # where the wall is thinner than the fillet
    low = max(levels.under - levels.fillet, levels.bottom)
    if low > levels.bottom:
        yield "wall", _box(g, o, levels.bottom, low)
    foot = [(g, low), (o, low)]
    yield (
        "root",
        polygon([*foot, (o, levels.crown), (g + r, levels.crown), *([(g + r, levels.under)] if r else [])]),
    )
    if levels.top > levels.crown:
        yield "wall above", _box(g, o, levels.crown, levels.top)


def _box(z0: float, z1: float, y0: float, y1: float) -> Loop:
    return polygon([(z0, y0), (z1, y0), (z1, y1), (z0, y1)])


def _loose(grid: Grid, found: Sequence[Cell], shape: BridgeShape, metal: Material) -> tuple[Part, Part]:
    """A separate bridge and the wall it presses on."""
    v, own = grid.levels, Material(shape.E, shape.nu)
    box = polygon(
        [(0.0, v.under), (v.gap, v.under), (v.gap, v.crown), (0.0, v.crown)],
        names=["underside", SEAT, "bridge top", CUT],
    )
    bridge = Part("bridge", box, grid.width, own, regions=tuple(_thinner(found, {"bridge": own})))
    regions = [Region("root", _box(v.gap, v.outer, v.under, v.crown), grid.width, metal)]
    regions += _thinner(found, {"wall": metal, "root": metal})
    return bridge, Part("wall", profile(grid, seat=WALL_SEAT), grid.width, metal, regions=tuple(regions))


def _thinner(found: Sequence[Cell], metals: Mapping[str, Material]) -> list[Region]:
    """Regions of what is thinner than the strip is wide."""
    return [
        Region(cell.name, _box(*cell.z, *cell.y), cell.thickness, metals[cell.kind])
        for cell in found
        if cell.kind in metals
    ]


def _zones(parts: Sequence[Part], kinds: Sequence[str]) -> tuple[str, ...]:
    """Names of zones of some kinds: a name starts with its kind, thinner ones of bolt holes have " hole" in it."""
    names = [n for p in parts for n in (p.name, *(r.name for r in p.regions))]
    return tuple(n for n in names if n.split()[0] in kinds or ("hole" in kinds and " hole" in n))
