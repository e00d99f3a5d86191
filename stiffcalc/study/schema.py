"""What a study holds once it has been read and validated: frozen data, no logic. Lengths mm, pressure MPa."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stiffcalc.catalogue import Material
from stiffcalc.milling import WallShape

Range = tuple[float, float]
Outline = tuple[tuple[float, float], ...]  # corners (x, y) of a closed polygon


@dataclass(frozen=True)
class Rotor:
    """The disc: a circle of `outer_radius` about the origin of the x-y plane, mid-plane z = 0."""

    outer_radius: float
    thickness: float
    edge_clearance: float


@dataclass(frozen=True)
class Pad:
    """One friction pad, with its backing plate; `thickness` new, `worn_thickness` at the end of its life."""

    thickness: float
    backing: float
    worn_thickness: float
    height: float
    length: float
    running_clearance: float
    friction: float
    friction_range: Range
    compressibility_um_per_MPa: float


@dataclass(frozen=True)
class Pocket:
    """A rectangular pocket milled from a wall's outer face."""

    x: Range
    y: Range
    depth: float


@dataclass(frozen=True)
class Wall:
    """The block of one half that holds the bores."""

    length: float
    bottom_y: float
    top_y: float
    thickness: float
    floor: float
    pockets: tuple[Pocket, ...]  # empty where there is a `shape`
    shape: WallShape | None = (
        None  # outline, pockets and ribs of a wall that is more than a box with boxes cut out
    )


@dataclass(frozen=True)
class Bore:
    """One cylinder bore (the same on both sides)."""

    x: float
    y: float
    diameter: float


@dataclass(frozen=True)
class Bridge:
    """Material that joins the halves over the rotor's edge."""

    name: str
    x: Range
    y: Range | None  # None: underside follows the rotor circle, top is the wall's top
    kind: str  # "integral" | "bolted-in"
    fillet: float
    material: Material  # the body's for an integral bridge
    pads: Pads | None  # of a bolted-in bridge held by bolts along y; None: by bolts along z, or integral
    reliefs: tuple[Outline, ...]  # shallow steps of the joint face, which do not touch
    land: Outline | None  # what alone touches, reliefs out; None: the whole face


@dataclass(frozen=True)
class Screw:
    """What a bolt is, wherever it stands; torque, preload or both were given, or the preload was defaulted."""

    thread: str
    grade: str
    torque_Nm: float | None
    preload_N: float | None
    friction_thread: float
    friction_head: float
    scatter: float  # tightening factor, largest over smallest preload
    washer_diameter: float | None
    washer_thickness: float
    engagement: float
    hole: float
    roughness: str  # fine | medium | coarse: of threads, head faces and clamp plane
    creep_loss: float  # share of the preload lost at room temperature after settling
    rolled: str  # before | after: thread rolled before or after heat treatment
    insert: bool  # a wire thread insert in the tapped half
    tapped_depth: float | None  # usable thread of the tapped half; None: through the wall


@dataclass(frozen=True)
class Bolt(Screw):
    """One bolt along z through both halves."""

    x: float
    y: float


@dataclass(frozen=True)
class Pads:
    """Ends of a bar that lies across the opening, each in a slot of a wall, on a seat as high as the bar's underside.

    On each wall one row of bolts along y, evenly about the bar's middle.
    """

    length: float  # along z, from the wall's inner face outward
    bolts_per_side: int
    pitch: float  # between bolts along x
    setback: float  # of the bolts from the wall's inner face
    friction: Range  # of the seats, lowest and highest
    screw: Screw  # all alike


@dataclass(frozen=True)
class Dowel:
    """A pin or spigot along z across the clamp plane, which carries what friction cannot."""

    x: float
    y: float
    diameter: float
    bore: float  # of a hollow one; 0 = solid
    depth: float  # in each half
    material: Material


@dataclass(frozen=True)
class Port:
    """A passage along z that takes brake fluid across the clamp plane, with a seal ring in a groove round it."""

    x: float
    y: float
    diameter: float
    seal_diameter: float  # outer diameter of the groove


@dataclass(frozen=True)
class Abutment:
    """A patch on the flank of a bridge that faces the pad, where the pad's drag is taken."""

    bridge: str  # its name
    half: str  # "both" | "inboard" | "outboard"
    y: Range
    z: Range  # distance from the mid-plane


@dataclass(frozen=True)
class Lug:
    """A boss on the inboard half that the caliper is mounted by: a cylinder along z with a hole through it."""

    x: float
    y: float
    diameter: float
    hole: float
    height: float  # along z
    stands: str  # "from inner face" | "up to outer face": beside the wall | "on outer face": on top of it
    thread: str | None  # tapped in the hole


@dataclass(frozen=True)
class LoadCase:
    """One thing that happens to the caliper."""

    name: str
    kind: str  # service | proof | burst | fatigue | assembly
    pressure: float
    body_temperature_C: float
    bolt_temperature_C: float
    drag: bool
    cycles: float | None


@dataclass(frozen=True)
class Life:
    """Temperatures the joint meets between tightening (20 °C) and the end of its life."""

    cold_C: float  # body and bolts
    hot_body_C: float
    hot_bolt_C: float
    soak_loss: float  # share of the preload lost while hot


@dataclass(frozen=True)
class Piston:
    """All pistons alike: a cup as deep as the bore."""

    material: Material
    wall: float
    crown: float


@dataclass(frozen=True)
class Caliper:
    """The body's definition. `inboard` and `outboard` are the wall of each half after overrides."""

    layout: str  # "monoblock" | "two-piece"
    material: Material
    inboard: Wall
    outboard: Wall
    bores: tuple[Bore, ...]
    bridges: tuple[Bridge, ...]
    bolts: tuple[Bolt, ...]
    piston: Piston
    fluid_depth: float  # fluid behind each piston with new pads
    joint_friction: float  # lowest friction of the clamp plane
    joint_friction_high: float  # highest; equal to the lowest where the study gives one number
    dowels: tuple[Dowel, ...]
    ports: tuple[Port, ...]
    abutments: tuple[Abutment, ...] = ()
    lugs: tuple[Lug, ...] = ()
    fittings: float = 0.0  # kg of what is not drawn: plugs, seals, bleed screws, pipes


@dataclass(frozen=True)
class Limits:
    """What the user asks of the design; None is not asked. Factors by kind of load case."""

    spread: float | None
    tilt_mrad: float | None
    fluid_mm3: float | None
    mass_kg: float | None
    clamp_force_N: float | None
    factors: Mapping[str, float]  # kind of load case -> factor on yield


@dataclass(frozen=True)
class Design:
    """One layout: the base of the study or one of its variants."""

    name: str
    rotor: Rotor
    pad: Pad
    caliper: Caliper
    load_cases: tuple[LoadCase, ...]
    limits: Limits
    life: Life


@dataclass(frozen=True)
class BoltSearch:
    """What a matrix of bolts tries around a layout's own bolts."""

    counts: tuple[int, ...] | None  # bolts in all varied bridges; None: one to three in each
    threads: tuple[str, ...]
    grades: tuple[str, ...]
    row_shift: tuple[float, ...]  # of each bridge's mean bolt in y, outward positive
    aim: str
    bridges: tuple[str, ...] | None  # whose bolts are varied; None: all that are bolted
    head_gap: float  # least, between heads or washers
    edge_metal: float  # least metal round a hole, in bolt diameters
    stated: bool  # the file has a [bolts] table
    defaults_used: tuple[str, ...]


@dataclass(frozen=True)
class EdgeLoad:
    """What acts on the edges of an own section that pass through some points; mm, MPa, N, N mm."""

    at: tuple[tuple[float, float], ...]
    pressure: float | None  # into the metal
    force: tuple[float, float]
    moment: float  # counter-clockwise, about the edges' centroid


@dataclass(frozen=True)
class EdgeSupport:
    """Edges of an own section that do not move along x, y or both."""

    at: tuple[tuple[float, float], ...]
    x: bool
    y: bool


@dataclass(frozen=True)
class OwnSection:
    """A section whose outline is the user's own, in a file."""

    name: str
    outline: str  # path as in the study file
    thickness: float
    material: Material
    supports: tuple[EdgeSupport, ...]
    loads: tuple[EdgeLoad, ...]
    at_pressure: float | None  # line pressure that the loads belong to; None: they are as given, for one case


@dataclass(frozen=True)
class Level:
    """One entry of a sweep's list: what it is called, the number it is (NaN: none) and the paths it sets."""

    label: str
    value: float
    changes: Mapping[str, object]


@dataclass(frozen=True)
class SweepKey:
    """What a sweep varies as one: a range of numbers, or the entries of a list.

    A range sets `paths` to the number and `minus` to minus the number; it has no `levels`, a list has no range.
    """

    name: str  # of its column
    paths: tuple[str, ...]
    minus: tuple[str, ...]
    low: float
    high: float
    levels: tuple[Level, ...]


@dataclass(frozen=True)
class SweepPlan:
    """What `stiffcalc sweep` tries around one layout."""

    sampling: str  # "grid" | "random" | "sobol" | "halton"
    samples: int  # designs; of a grid the number of its places
    seed: int
    aim: str
    best: int  # designs that the front view is asked about and that are written as study files
    layout: str  # whose keys are varied: the base's or a variant's name
    keys: tuple[SweepKey, ...]
    defaults_used: tuple[str, ...]
    alone: bool = False  # hardly two designs differ in numbers only: most are read one by one, slowly


@dataclass(frozen=True)
class ExploreKey:
    """A free dimension of a comparison at equal mass."""

    key: SweepKey
    layouts: tuple[str, ...]  # that it is free in; empty: every one that has what its paths name


@dataclass(frozen=True)
class ExplorePlan:
    """What `stiffcalc compare` may change of every layout, and at which masses it compares them."""

    layouts: tuple[str, ...]  # compared; empty: all
    masses: tuple[float, ...]  # kg, rising; empty: as many as `points`, over what the layouts can weigh
    points: int
    seed: int
    effort: str  # "quick" | "usual" | "thorough"
    extra: Mapping[str, float]  # layout -> kg of parts that the study file does not know
    keys: tuple[ExploreKey, ...]  # empty: the usual dimensions about each layout as drawn
    defaults_used: tuple[str, ...]


@dataclass(frozen=True)
class PocketRoom:
    """Where pockets may be milled."""

    rib: float  # least metal between pockets and from a pocket to an edge
    bore: float  # beside a bore no deeper than behind it, so that its floor stays tied to the wall
    seat: float  # flat metal beyond heads and washers
    behind_bridges: bool  # also on the outer face behind a bridge's foot
    keep: tuple[tuple[Range, Range], ...]  # further rectangles (x, y) that stay as they are


@dataclass(frozen=True)
class PocketPlan:
    """What `stiffcalc pockets` mills from the outer faces of a thicker blank, and what for."""

    aim: str  # "least spread" at a mass | "least mass" at a spread
    mass: float | None  # kg, total; None: the layout's own
    spread: float | None  # mm, in the governing load case; None: the layout's own
    halves: str  # "both" | "inboard" | "outboard"
    blank: float  # by how much the blank is thicker than the wall of even thickness with the layout's mass
    least_thickness: float | None  # of wall left; None: 0.4 of the blank
    least_floor: float | None  # left behind a bore; None: the layout's own
    cutter: float  # diameter
    room: PocketRoom
    count: int  # pockets a half, at most
    defaults_used: tuple[str, ...]


@dataclass(frozen=True)
class Uncertainty:
    """What `stiffcalc uncertainty` draws. Shares: standard deviations of modulus and models, else half widths."""

    samples: int
    seed: int
    tolerances: str  # class of general tolerances, or none
    modulus: float
    bolt_friction: float
    joint_friction: float
    opening_model: float | None  # None: as the model that answers was off beside solids
    onset_model: float
    defaults_used: tuple[str, ...]


@dataclass(frozen=True)
class SizeDimension:
    """A dimension that `stiffcalc size` moves: paths set to one number between `low` and `high`, mm."""

    paths: tuple[str, ...]
    low: float
    high: float


@dataclass(frozen=True)
class SizePlan:
    """What `stiffcalc size` moves and what limits it: yield, endurance, a section's rotation, checks."""

    dimensions: tuple[SizeDimension, ...]
    yield_factor: float
    fatigue_factor: float
    rotation_mrad: float | None  # of one half's wall behind the bridge; None: not asked
    bridges: tuple[str, ...] | None  # whose sections count; None: all that have one
    rounds: int  # most, each with fresh meshes and forces
    hold_checks: bool  # checks of an assessment that the start meets stay met
    defaults_used: tuple[str, ...]


@dataclass(frozen=True)
class Study:
    """One question: a base design and its variants, in file order; the base comes first."""

    title: str
    note: str
    sha256: str
    designs: tuple[Design, ...]
    defaults_used: tuple[str, ...]  # "caliper.wall.floor_mm = 9.0 (why)" one line each
    source: Mapping[str, object]  # the file as read, for echoing
    bolts: BoltSearch
    sections: tuple[OwnSection, ...] = ()
    sweep: SweepPlan | None = None  # where the file has [sweep]
    uncertainty: Uncertainty | None = None  # None only where a study is put together by hand
    explore: ExplorePlan | None = None  # None only where a study is put together by hand
    pockets: PocketPlan | None = None  # None only where a study is put together by hand
    size: SizePlan | None = None  # where the file has [size]
