"""Every value that a study file may leave out, with the reason. The report lists those that were used."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from stiffcalc.catalogue import Grade, Thread, clearance_hole
from stiffcalc.study.numbers import least, rounded
from stiffcalc.study.schema import LoadCase

T = TypeVar("T", covariant=True)


@dataclass(frozen=True)
class Default(Generic[T]):
    """A value and why it stands in where the file is silent."""

    value: T
    why: str


PRACTICE = "common practice, no source"

EDGE_CLEARANCE_MM = Default(3.0, f"room for rotor growth and bearing play; {PRACTICE}")

RUNNING_CLEARANCE_MM = Default(0.5, f"design room a side, pads free running; {PRACTICE}")
PAD_FRICTION = Default(0.40, f"middle of what pads for fast road and competition use give; {PRACTICE}")
PAD_BACKING_MM = Default(5.0, f"steel backing plate; {PRACTICE}")
PAD_COMPRESSIBILITY = Default(10.0, f"100 µm at 10 MPa, middle of 60 to 200 µm; {PRACTICE}, test by ISO 6310")

LAYOUT_MATERIAL = Default("2014-T6", f"forged or plate aluminium of high strength; {PRACTICE}")
FILLET_MM = Default(4.0, f"ball-end cutter of 8 mm; {PRACTICE}")
BRIDGE_KIND = Default("integral", "one piece with the halves")
JOINT_FRICTION = Default(
    0.10, f"lowest friction of a clean or lightly oiled aluminium clamp plane; {PRACTICE}"
)

PISTON_MATERIAL = Default("2014-T6", f"hard-anodised aluminium cup; {PRACTICE}")
PISTON_WALL_MM = Default(3.5, f"cup wall; {PRACTICE}")
PISTON_CROWN_MM = Default(5.0, f"cup crown; {PRACTICE}")
FITTINGS_G = Default(0.0, "plugs, seals, bleed screws and pipes are in no mass until stated")
FLUID_DEPTH_MM = Default(3.0, f"fluid behind each piston with new pads; {PRACTICE}")

BOLT_FRICTION = Default(0.12, "lightly oiled; VDI 2230 friction class B; from memory")
BOLT_SCATTER = Default(1.6, "torque wrench; VDI 2230 part 1 gives 1.6 to 2.0; from memory")

BOLT_ROUGHNESS = Default("medium", f"Rz 10 to 40 µm, turned and milled faces; {PRACTICE}")
BOLT_CREEP_PERCENT = Default(2.0, f"relaxation of a bolted aluminium joint at room temperature; {PRACTICE}")
BOLT_ROLLED = Default("before", "threads rolled before heat treatment, the lower endurance; VDI 2230")
BOLT_INSERT = Default(False, "thread cut in the body itself")
PAD_BOLTS = Default(2.0, f"two bolts on each wall; {PRACTICE}")
SEAT_FRICTION = Default((0.10, 0.20), f"lightly oiled to clean aluminium seats; {PRACTICE}")
DOWEL_BORE_MM = Default(0.0, "solid")
DOWEL_MATERIAL = Default("S355", f"a soft steel; hardened pins bear more; {PRACTICE}")

LUG_STANDS = Default("up to outer face", "beside the wall, its end flush with the wall's outer face")
ABUTMENT_HALF = Default("both", "pads alike on both sides")
PORT_DIAMETER_MM = Default(5.0, f"drilled passage; {PRACTICE}")

CASE_KIND = Default("service", "a load of normal use")
BODY_TEMPERATURE_C = Default(20.0, "room temperature")
DRAG = Default(False, "pressure alone, rotor at rest")
FATIGUE_CYCLES = Default(1.0e6, f"life in hard stops; {PRACTICE}")
ASSEMBLY_PRESSURE_MPA = Default(0.0, "tightened, no pressure")

SEARCH_COUNTS = Default(None, "every number that puts one to three bolts into each bridge, both ends alike")
SEARCH_THREADS = Default(("M8x1.25", "M10x1.5", "M12x1.75"), f"coarse threads of the usual sizes; {PRACTICE}")
SEARCH_GRADES = Default(("8.8", "10.9", "12.9"), "property classes of ISO 898-1")
SEARCH_SHIFTS_MM = Default((-4.0, -2.0, 0.0, 2.0, 4.0), "rows as drawn, and a little in and out")
SEARCH_AIM = Default("least mass", "among the combinations that meet every check")
SEARCH_BRIDGES = Default(None, "every bridge that is bolted")
HEAD_GAP_MM = Default(1.0, f"between heads or washers: tolerance of places and washers; {PRACTICE}")
EDGE_METAL_DIAMETERS = Default(0.4, f"metal round a hole, in bolt diameters: a boss of about 2 d; {PRACTICE}")

SWEEP_SAMPLING = Default("sobol", "fills the ranges more evenly than chance")
SWEEP_SAMPLES = Default(1024.0, "a power of two, which a low-discrepancy sequence likes")
SWEEP_SEED = Default(1.0, "any whole number; the same one gives the same designs")
SWEEP_AIM = Default("least mass", "among the designs that meet every check")
SWEEP_BEST = Default(5.0, "designs confirmed by the front view and written as study files")

EXPLORE_POINTS = Default(6.0, "masses, evenly over what the layouts can weigh")
EXPLORE_SEED = Default(1.0, "any whole number; the same one gives the same designs")
EXPLORE_EFFORT = Default("usual", "no random design out of 20 000 beat it by 1 % on the demo")

POCKET_AIM = Default("least spread", "at the layout's mass")
POCKET_HELD = Default(None, "the layout's own")
POCKET_HALVES = Default("both", "each half from its own outer face; equal halves stay equal")
POCKET_BLANK_MM = Default(6.0, "thicker than the even wall of the layout's mass")
POCKET_THICKNESS = Default(None, "0.4 of the blank; pockets deeper than 0.55 of a wall are flagged")
POCKET_FLOOR = Default(None, "the layout's own floor_mm")
POCKET_CUTTER_MM = Default(12.0, f"end mill that reaches 20 to 25 mm deep; {PRACTICE}")
POCKET_RIB_MM = Default(4.0, f"thin metal chatters under the cutter; {PRACTICE}")
POCKET_BORE_MM = Default(8.0, "solids of pockets 4 mm beside a bore saved a third less than said")
POCKET_SEAT_MM = Default(2.0, f"head and washer may stand off their places; {PRACTICE}")
POCKET_BRIDGES = Default(False, "the foot's back stays whole, for heads, dowels, ports and lugs")
POCKET_COUNT = Default(8.0, "a handful, which somebody will set up and mill")

DRAWN_SAMPLES = Default(1000.0, "a probability of a half is then known within 3 points")
DRAWN_SEED = Default(1.0, "any whole number; the same one gives the same bodies")
DRAWN_TOLERANCES = Default("medium", "ISO 2768-1, lengths without a tolerance of their own; from memory")
DRAWN_MODULUS_PERCENT = Default(2.0, f"standard deviation of a metal's modulus; {PRACTICE}")
DRAWN_BOLT_FRICTION_PERCENT = Default(33.0, "0.08 to 0.16 about 0.12, class B of VDI 2230; from memory")
DRAWN_JOINT_FRICTION_PERCENT = Default(
    20.0, f"about the friction where the study gives one number; {PRACTICE}"
)
DRAWN_ONSET_PERCENT = Default(10.0, "standard deviation: beside solids two joints in three within 10 %")

FACTORS = {
    "service": Default(1.5, f"on yield; {PRACTICE}"),
    "proof": Default(1.1, f"on yield, no lasting set; {PRACTICE}"),
    "burst": Default(1.0, f"on ultimate strength; {PRACTICE}"),
    "fatigue": Default(1.5, f"on yield, no check of fatigue; {PRACTICE}"),
    "assembly": Default(1.1, f"on yield; {PRACTICE}"),
}

_WINTER_C = -20.0
_WARM_C = 60.0
_SOAK_PERCENT = 5.0
_FLOOR_SHARE = 0.22
_PROOF_SHARE = 0.75
_ENGAGEMENT_DIAMETERS = 2.0
_FRICTION_BAND = 0.20
_WORN_LINING_MM = 2.0
_SEAL_MM = 7.0


def cold(coldest_C: float) -> Default[float]:
    """Coldest the joint gets; never warmer than the coldest load case."""
    if coldest_C < _WINTER_C:
        return Default(coldest_C, "the coldest load case")
    return Default(_WINTER_C, f"a winter night; {PRACTICE}")


def hot_body(hottest_C: float) -> Default[float]:
    """Hottest the body gets."""
    return Default(hottest_C, "the hottest load case")


def hot_bolt(hot_body_C: float, hottest: LoadCase | None) -> Default[float]:
    """Temperature of the bolts when the body is hottest."""
    if hottest is not None and hottest.body_temperature_C == hot_body_C:
        return Default(hottest.bolt_temperature_C, "the hottest load case")
    return Default(hot_body_C, "as warm as the body")


def soak_loss(hot_body_C: float) -> Default[float]:
    """Share of the preload lost in a hot soak, percent."""
    if hot_body_C > _WARM_C:
        return Default(_SOAK_PERCENT, f"relaxation of a bolted aluminium joint kept hot; {PRACTICE}")
    return Default(0.0, f"the body is not hotter than {_WARM_C:g} °C")


def pad_pitch(width_mm: float, bolts: int) -> Default[float]:
    """Pitch of the bolts on a pad, along x."""
    return Default(width_mm / bolts, "spread evenly over the bar's width")


def pad_setback(length_mm: float) -> Default[float]:
    """Bolts on a pad from the wall's inner face."""
    return Default(0.5 * length_mm, "middle of the pad")


def seal_diameter(port_mm: float) -> Default[float]:
    """Outer diameter of the groove of a port's seal ring."""
    return Default(
        port_mm + _SEAL_MM, f"1 mm of metal and a groove of 2.5 mm a side, for a ring of 1.8 mm; {PRACTICE}"
    )


def dowel_depth(diameter_mm: float) -> Default[float]:
    """Depth of a dowel in each half."""
    return Default(diameter_mm, f"one diameter; {PRACTICE}")


def friction_range(friction: float) -> Default[tuple[float, float]]:
    """Band of pad friction about its nominal value."""
    low, high = friction * (1.0 - _FRICTION_BAND), friction * (1.0 + _FRICTION_BAND)
    return Default((rounded(low, 4), rounded(high, 4)), f"20 % about the nominal friction; {PRACTICE}")


def worn_thickness(backing_mm: float) -> Default[float]:
    """Thickness of a pad worn to the end."""
    return Default(backing_mm + _WORN_LINING_MM, "2 mm of lining left, the worn pad of QC/T 592")


def floor(largest_bore_mm: float) -> Default[float]:
    """Floor behind the bores."""
    return Default(rounded(_FLOOR_SHARE * largest_bore_mm, 1), f"0.22 of the largest bore; {PRACTICE}")


def preload(thread: Thread, grade: Grade) -> Default[float]:
    """Nominal preload: three quarters of the proof load."""
    load = _PROOF_SHARE * grade.proof_MPa * thread.A_s
    return Default(round(load, -2), "0.75 of the proof load (Shigley, for joints that are taken apart again)")


def engagement(thread: Thread, depth_mm: float) -> Default[float]:
    """Thread engagement in the tapped half; depth: of the tapped thread or of the wall."""
    length = least(_ENGAGEMENT_DIAMETERS * thread.d, depth_mm)
    return Default(
        length, f"twice the thread diameter in aluminium, at most the wall or tapped depth; {PRACTICE}"
    )


def tapped_hole(thread: Thread) -> Default[float]:
    """Hole of a tapped lug, as the solids have it."""
    return Default(thread.d2, "the thread's pitch diameter: threads are not built")


def hole(thread: Thread) -> Default[float]:
    """Bolt hole through both halves."""
    return Default(clearance_hole(thread.d), "ISO 273 medium series")
