"""Volume, mass and centre of mass of the defined body, its bolts and pistons; exact, in closed form.

A wall is its front outline times its thickness, less bores, pockets and bolt holes; a bolt hole in a pocket
takes only the metal the pocket left. Pads, slots and holes of a bar on pads are in `pad_metal`. The reader
guarantees what makes this exact: bores, holes and pockets inside the outline, no bore cut by a hole or by
another bore, no pocket over a bore as deep as the floor, pockets and bridges apart from each other, holes
inside their bridge. Fillets are left out: (1 - pi/4) r^2 of
metal a corner, 0.03 % of a usual body.

Of a batch of D bodies every solid has an axis (D,) in front, and every number of `Masses` is (D,).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.body import Body, BridgeShape, HalfShape, PadShape
from stiffcalc.caliper.idealise import bridges as bridge_batch
from stiffcalc.caliper.lug_metal import added_by_lugs
from stiffcalc.caliper.pad_metal import added_to_bar, cut_from_wall
from stiffcalc.condensed import Array
from stiffcalc.mechanics import shaped, solids
from stiffcalc.mechanics.bridges import Bridges
from stiffcalc.mechanics.trees import number, table
from stiffcalc.mechanics.walls import Walls
from stiffcalc.milling import Slabs, first, slabs
from stiffcalc.study.schema import Bolt, Design, Screw

KG_PER_MM3 = 1e-9  # of a density in kg/m3
OUTBOARD, INBOARD = np.ones(4), np.array([1.0, 1.0, 1.0, -1.0])  # the inboard half is built mirrored


@dataclass(frozen=True)
class Circles:
    """Cylinders along z seen from the front, mm; each array (..., K)."""

    x: Array
    y: Array
    diameter: Array

    def section(self) -> Array:
        """Section of all together, (..., 3)."""
        return solids.added(solids.disc(self.x, self.y, diameter=self.diameter))


@dataclass(frozen=True)
class Pit:
    """A pocket from the outer face: outline (..., N, 2) counter-clockwise, depth (...), mm; 0 = none."""

    outline: Array
    depth: Array


@dataclass(frozen=True)
class BoltMetal:
    """A cap screw with its washer, mm; threaded over 2 d + 12 (ISO 4762, from memory).

    Its head lies on the inboard outer face (convention of this package); a washer of no thickness is none.
    """

    diameter: float
    pitch_diameter: float
    head_diameter: float
    head_height: float
    socket: float  # across flats, half a diameter deep
    washer_diameter: float
    washer_thickness: float
    length: float  # under the head
    density_kg_m3: float

    @property
    def threaded(self) -> float:
        """Length of thread, mm."""
        return threaded(self.diameter, self.length)


def threaded(diameter: float, length: float) -> float:
    """Length of thread of a cap screw of that length under the head, mm: 2 d + 12 (ISO 4762, from memory)."""
    return number(np.minimum(2.0 * diameter + 12.0, length))


@dataclass(frozen=True)
class PistonMetal:
    """Cups as deep as their bores, crown toward the fluid, `fluid_depth` off the floor; mm."""

    wall: float
    crown: float
    fluid_depth: float
    density_kg_m3: float


@dataclass(frozen=True)
class Masses:
    """Masses in kg; centre of mass (x, y, z) in mm of all but the fittings; metal volume of the body alone."""

    body: float
    bolts: float
    pistons: float
    fittings: float  # what the study adds for what is not drawn
    total: float
    centre_of_mass: tuple[float, float, float]
    volume_mm3: float


def half_solid(
    outline: Array,
    *,
    inner_z: Array,
    thickness: Array,
    floor: Array,
    bores: Circles,
    holes: Circles,
    pits: Sequence[Pit],
    slabs: Slabs | None = None,
) -> Array:
    """Solid (..., 4) of one wall, outboard side; outline (..., N, 2) counter-clockwise, others (...), mm.

    slabs: of a shaped wall, whose outline is then given as the box round it.
    """
    outer_z = np.asarray(inner_z + thickness)
    solid = solids.extrude(solids.polygon(outline) - holes.section(), z0=inner_z, z1=outer_z)
    solid = solid - solids.extrude(bores.section(), z0=inner_z, z1=outer_z - floor)
    for pit in pits:
        drilled = solids.disc_in_polygon(
            holes.x, holes.y, diameter=holes.diameter, outline=pit.outline[..., None, :, :]
        )
        section = solids.polygon(pit.outline) - solids.added(drilled)
        solid = solid - solids.extrude(section, z0=outer_z - pit.depth, z1=outer_z)
    if slabs is not None:
        bolts = holes.x, holes.y, holes.diameter
        solid = solid - shaped.milled(slabs, thickness=thickness, outer_z=outer_z, holes=bolts)
    return solid


def walls_solid(walls: Walls, *, inner_z: Array) -> Array:
    """Solids (D, 4) of a batch of walls, outboard side; inner_z (D,) mm."""
    pockets = range(walls.pocket_depth.shape[-1])
    return half_solid(
        solids.box(walls.x, walls.y),
        inner_z=inner_z,
        thickness=walls.thickness,
        floor=walls.floor,
        bores=Circles(walls.bore_x, walls.bore_y, walls.bore_d),
        holes=Circles(walls.hole_x, walls.hole_y, walls.hole_d),
        pits=[
            Pit(solids.box(walls.pocket_x[:, i], walls.pocket_y[:, i]), walls.pocket_depth[:, i])
            for i in pockets
        ],
        slabs=None if walls.slabs is None else first(walls.slabs),
    )


def bridges_solid(bridges: Bridges) -> Array:
    """Solids (D, N, 4) of a batch of bridges, holes taken out, centred on the rotor's mid-plane."""
    holes = Circles(bridges.hole_x, bridges.hole_y, bridges.hole_d)
    section = solids.bridge(bridges.x, bridges.y, arch=bridges.arch) - holes.section()
    half = 0.5 * bridges.length
    return solids.extrude(section, z0=-half, z1=half)


def volume(inboard: Walls, outboard: Walls, bridges: Bridges) -> Array:
    """Metal volume (D,) of a batch of bodies, mm3."""
    inner_z = 0.5 * bridges.length[:, 0]
    walls = walls_solid(inboard, inner_z=inner_z) + walls_solid(outboard, inner_z=inner_z)
    return np.asarray((walls + solids.added(bridges_solid(bridges)))[:, 0])


def body_solids(body: Body) -> Array:
    """Solids of a body, (..., 2 + bridges, 4): inboard wall, outboard wall, then each bridge."""
    solids_ = np.empty((body.count, 2 + len(body.bridges), 4))
    outboard = shape_solid(body.outboard, body=body)
    inboard = outboard if body.inboard is body.outboard else shape_solid(body.inboard, body=body)
    solids_[:, 0], solids_[:, 1] = INBOARD * (inboard + added_by_lugs(body)), OUTBOARD * outboard
    solids_[:, 2:] = bridges_solid(bridge_batch(body))
    for i, bridge in enumerate(body.bridges, start=2):
        if bridge.pads is not None:
            pad = added_to_bar(bridge, bridge.pads, half_gap=body.half_gap)
            solids_[:, i] += (INBOARD + OUTBOARD) * pad
    return solids_ if np.ndim(body.half_gap) else solids_[0]


def shape_solid(half: HalfShape, *, body: Body) -> Array:
    """Solid (..., 4) of one half of a body, outboard side, any outline."""
    cut = [cut_from_wall(b, b.pads, half, half_gap=body.half_gap) for b in body.bridges if b.pads is not None]
    cut_box, outline = None, half.outline
    if half.shape is not None:
        ends = np.stack([outline.min(axis=0), outline.max(axis=0)])
        cut_box, outline = slabs(half.shape), solids.box(ends[:, 0], ends[:, 1])
    whole = half_solid(
        outline,
        inner_z=np.asarray(body.half_gap),
        thickness=np.asarray(half.thickness),
        floor=np.asarray(half.floor),
        bores=_circles([(b.x, b.y, b.diameter) for b in half.bores], body),
        holes=_circles([(b.x, b.y, b.hole) for b in body.bolts], body),
        pits=[Pit(p.outline, np.asarray(p.depth)) for p in half.pockets],
        slabs=cut_box,
    )
    for slot in cut:
        whole = whole - slot
    return whole


def masses(
    body: Body,
    *,
    density_kg_m3: float,
    bridge_densities_kg_m3: Sequence[float] | None = None,
    bolts: Sequence[BoltMetal] = (),
    pad_bolts: Mapping[int, BoltMetal] | None = None,
    piston: PistonMetal | None = None,
    fittings: float = 0.0,
) -> Masses:
    """Masses of a body: densities of the walls and, where they differ, of each bridge; bolts in its order.

    pad_bolts: one screw for each bridge (by index) that stands on pads; fittings: kg of what is not drawn.

    Raises ValueError where bolts are given and their number is not the body's.
    """
    metal = body_solids(body)
    bridges = bridge_densities_kg_m3 or [density_kg_m3] * len(body.bridges)
    rho = table([density_kg_m3, density_kg_m3, *bridges], body.count)
    heavy = np.einsum("...i,...ik->...k", rho if metal.ndim > 2 else rho[0], metal)
    screws = _bolts_weight(body, bolts) + _pad_bolts_weight(body, pad_bolts or {})
    parts = [KG_PER_MM3 * v for v in (heavy, screws, _pistons_weight(body, piston))]
    total = parts[0] + parts[1] + parts[2]
    x, y, z = (number(total[..., k] / total[..., 0]) for k in (1, 2, 3))
    own, bolted, filled = (number(v[..., 0]) for v in parts)
    return Masses(
        body=own,
        bolts=bolted,
        pistons=filled,
        fittings=fittings,
        total=number(total[..., 0] + fittings),
        centre_of_mass=(x, y, z),
        volume_mm3=number(metal[..., 0].sum(axis=-1)),
    )


def weigh(design: Design, body: Body) -> Masses:
    """Masses of a design with its bolts (catalogue heads, washers), pistons and fittings; `body` is its built body."""
    caliper = design.caliper
    piston = PistonMetal(
        wall=caliper.piston.wall,
        crown=caliper.piston.crown,
        fluid_depth=caliper.fluid_depth,
        density_kg_m3=caliper.piston.material.density_kg_m3,
    )
    return masses(
        body,
        density_kg_m3=caliper.material.density_kg_m3,
        bridge_densities_kg_m3=[b.material.density_kg_m3 for b in caliper.bridges],
        bolts=[bolt_metal(b, body) for b in caliper.bolts],
        pad_bolts={
            i: pad_screw(b.pads.screw, body.bridges[i])
            for i, b in enumerate(caliper.bridges)
            if b.pads is not None
        },
        piston=piston,
        fittings=caliper.fittings,
    )


def bolt_metal(bolt: Bolt, body: Body) -> BoltMetal:
    """The screw of one bolt of a study: from the inboard outer face to the outboard one, plus its washer."""
    return screw_metal(bolt, through=body.inboard.thickness + 2.0 * body.half_gap + body.outboard.thickness)


def pad_screw(screw: Screw, bridge: BridgeShape) -> BoltMetal:
    """The screw of a bar's pad: through the pad, as deep into the wall as it engages, plus its washer."""
    assert bridge.pads is not None
    return screw_metal(screw, through=bridge.y1 - bridge.pads.seat + screw.engagement)


def screw_metal(screw: Screw, *, through: float) -> BoltMetal:
    """A cap screw of the catalogue that ends `through` mm below its (or its washer's) seat."""
    thread, grade = catalogue.thread(screw.thread), catalogue.grade(screw.grade)
    head = catalogue.head(thread.d)
    washer = 0.0 if screw.washer_diameter is None else screw.washer_diameter
    thickness = 0.0 if screw.washer_diameter is None else screw.washer_thickness
    return BoltMetal(
        diameter=thread.d,
        pitch_diameter=thread.d2,
        head_diameter=head.diameter,
        head_height=head.height,
        socket=head.key,
        washer_diameter=washer,
        washer_thickness=thickness,
        length=through + thickness,
        density_kg_m3=grade.density_kg_m3,
    )


def bolt_solid(bolt: BoltMetal, *, x: float, y: float, hole: float, face_z: float) -> Array:
    """Solid (..., 4) of one cap screw with washer, its bearing face at face_z and its shank along +z."""
    seat = face_z - bolt.washer_thickness
    shoulder, tip = seat + bolt.length - bolt.threaded, seat + bolt.length
    pieces = (
        (bolt.head_diameter, seat - bolt.head_height, seat),
        (bolt.diameter, seat, shoulder),
        (bolt.pitch_diameter, shoulder, tip),
        (bolt.washer_diameter, seat, face_z),
        (hole, face_z, seat),  # the washer's hole: backwards, so negative
    )
    diameter, z0, z1 = (solids.together(*v) for v in zip(*pieces, strict=True))
    circles = solids.disc(np.asarray(x)[..., None], np.asarray(y)[..., None], diameter=diameter)
    solid = solids.added(solids.extrude(circles, z0=z0, z1=z1))
    hexagon = 0.5 * np.sqrt(3.0) * bolt.socket**2 * solids.together(1.0, x, y)
    top = np.asarray(seat - bolt.head_height)
    return np.asarray(solid - solids.extrude(hexagon, z0=top, z1=top + 0.5 * bolt.diameter))


def pistons_solid(body: Body, piston: PistonMetal) -> Array:
    """Solid (..., 4) of all pistons of a body."""
    return np.asarray(
        INBOARD * _cups(body.inboard, piston, body) + OUTBOARD * _cups(body.outboard, piston, body)
    )


def _bolts_weight(body: Body, bolts: Sequence[BoltMetal]) -> Array:
    """Density times solid of all bolts, (..., 4)."""
    face_z = -(body.half_gap + body.inboard.thickness)
    weight = np.zeros(4)
    if not bolts:
        return weight
    for place, bolt in zip(body.bolts, bolts, strict=True):
        own = bolt_solid(bolt, x=place.x, y=place.y, hole=place.hole, face_z=face_z)
        weight = weight + bolt.density_kg_m3 * own
    return weight


def pad_bolts_solid(bridge: BridgeShape, pads: PadShape, bolt: BoltMetal, *, half_gap: float) -> Array:
    """Solid (..., 4) of the screws of both pads of a bar: along y, heads on its top."""
    z = half_gap + pads.setback
    # laid along z first: its z is -y here, its y is z
    laid = [bolt_solid(bolt, x=x, y=z, hole=pads.hole, face_z=-bridge.y1) for x in pads.x]
    volume, x, z_, minus_y = np.moveaxis(np.sum(np.broadcast_arrays(*laid), axis=0), -1, 0)
    return np.asarray((INBOARD + OUTBOARD) * np.stack([volume, x, -minus_y, z_], axis=-1))


def _pad_bolts_weight(body: Body, screws: Mapping[int, BoltMetal]) -> Array:
    """Density times solid of all screws on pads, (..., 4)."""
    weight = np.zeros(4)
    for i, screw in screws.items():
        bridge = body.bridges[i]
        if bridge.pads is not None:
            solid = pad_bolts_solid(bridge, bridge.pads, screw, half_gap=body.half_gap)
            weight = weight + screw.density_kg_m3 * solid
    return weight


def _pistons_weight(body: Body, piston: PistonMetal | None) -> Array:
    """Density times solid of all pistons, (..., 4)."""
    if piston is None:
        return np.zeros(4)
    return np.asarray(piston.density_kg_m3)[..., None] * pistons_solid(body, piston)


def _cups(half: HalfShape, piston: PistonMetal, body: Body) -> Array:
    """Solid (..., 4) of the pistons of one half, outboard side."""
    bores = _circles([(b.x, b.y, b.diameter) for b in half.bores], body)
    inside = Circles(bores.x, bores.y, bores.diameter - 2.0 * np.asarray(piston.wall)[..., None])
    depth = half.thickness - half.floor
    bottom = body.half_gap + depth - piston.fluid_depth
    mouth, crown = np.asarray(bottom - depth), np.asarray(bottom - piston.crown)
    full = solids.extrude(bores.section(), z0=mouth, z1=np.asarray(bottom))
    return np.asarray(full - solids.extrude(inside.section(), z0=mouth, z1=crown))


def _circles(rows: Sequence[tuple[float, float, float]], body: Body) -> Circles:
    """Circles (..., K) of each body."""
    x, y, diameter = (table([row[k] for row in rows], body.count) for k in range(3))
    return Circles(x, y, diameter) if np.ndim(body.half_gap) else Circles(x[0], y[0], diameter[0])
