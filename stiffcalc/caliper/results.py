"""What an assessment returns: frozen data only. `to_dict` gives the published results contract, format 1.

Units: mm, N, MPa, kg, mm3; rotations in mrad. Openings are of both halves together, at minimum preload unless a name
says otherwise. Drawing data (meshes, maps) stay out of the contract.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray

from stiffcalc.caliper.body import Body
from stiffcalc.caliper.heading import heading
from stiffcalc.caliper.joint_results import (
    BoltLife,
    FaceMap,
    FaceStep,
    JointState,
    PortState,
    bolt_life_dict,
    joint_dict,
    plain,
    port_dict,
)
from stiffcalc.caliper.measures import Masses
from stiffcalc.condensed import Array


def worst_first(margin: float) -> float:
    """Sorts margins: the worst first, equal ones in their order whatever rounding, one that is no number last.

    Last is not best: a margin that is no number is never met (`margin >= 0` is false), so its check counts as unmet.
    """
    return math.inf if math.isnan(margin) else round(margin, 9)


def counted(margin: float) -> float:
    """A margin as searches count it: minus infinity, so never met, where it is no number (`Checked.counted`)."""
    return -math.inf if math.isnan(margin) else margin


@dataclass(frozen=True)
class Check:
    """One requirement. margin = allowed / actual - 1 (actual / allowed - 1 where more is better); negative: not met."""

    id: str
    what: str
    actual: float
    allowed: float
    unit: str
    margin: float
    met: bool
    source: str
    formula: str  # with the numbers put in
    note: str = ""  # which end of the preload interval governs, validity of a factor, where

    @property
    def order(self) -> float:
        """Sorts the worst margin first, see `worst_first`."""
        return worst_first(self.margin)


@dataclass(frozen=True)
class ModelOpening:
    """One model's answer for one load case."""

    spread: float
    by_bore: tuple[float, ...]
    tilt_by_bore: tuple[float, ...] | None  # mrad; None for the frame, whose tilt is not published
    residual: float
    equilibrium: float
    energy: float


@dataclass(frozen=True)
class Fluid:
    """Fluid taken at pressure, mm3 a caliper."""

    floors: float
    bore_walls: float
    pads: float
    fluid: float

    @property
    def total(self) -> float:
        """Sum of the four."""
        return self.floors + self.bore_walls + self.pads + self.fluid


@dataclass(frozen=True)
class CaseResult:
    """One load case of one variant.

    Where nothing holds the halves together the model's figures do not exist: None, and empty containers.
    """

    name: str
    kind: str
    pressure: float
    clamp_force: float  # of one side
    model: str  # "front view" or "frame"
    models: Mapping[str, ModelOpening]  # keys "frame", "front view"
    spread: float | None
    opening_max: float | None
    by_bore: tuple[float, ...]
    middle: float | None
    bow: float | None
    tilt_by_bore: tuple[float, ...] | None
    tilt_middle: float | None
    yaw: float | None
    fluid: Fluid | None
    stiffness_kN_per_mm: float | None  # None without pressure
    stiffness_per_mass: float | None
    contributions: Mapping[str, float]  # mm, sum to the spread
    joints: tuple[JointState, ...]
    checks: tuple[Check, ...]
    validity: tuple[str, ...]
    ports: tuple[PortState, ...] = ()


@dataclass(frozen=True)
class Sweep:
    """Pressure sweep at 20 °C from 0 to the highest load case; NaN where nothing holds the halves together.

    Preload axis S = (minimum settled, nominal settled, maximum as tightened), S = 1 if no bolts.
    """

    pressure: Array  # (P,)
    spread: Array  # (S, P) headline model
    spread_frame: Array  # (S, P)
    bolt_force: Array  # (S, P, J)
    open_fraction: Array  # (S, P, N) per bridge, 0 for unjointed


@dataclass(frozen=True)
class Shape:
    """The deformed body at the highest load case that holds, for drawing; opening of both halves, mm.

    `cut_*` describe the straight line through the wall at stations x: opening at y_m and slope d(opening)/dy.
    The mesh is empty when only the frame ran.
    """

    pressure: float
    y_m: float
    cut_x: Array  # (K,)
    cut_opening: Array  # (K,)
    cut_slope: Array  # (K,) rad
    nodes: Array  # (n, 2)
    triangles: NDArray[np.int64]  # (t, 3)
    opening: Array  # (n,)


@dataclass(frozen=True)
class CentreBridge:
    """One form of one centre bridge at the service case of highest pressure, minimum preload; None: not held or known.

    mass_kg is the caliper's total; mass_per_bow what the bridge weighs over the bow it removes.
    """

    bridge: str
    form: str  # "none", "integral", "bolts along z", "bolts along y", "split, no bolts"
    given: bool  # the form the study has
    load_case: str
    mass_kg: float
    bow: float | None
    spread: float | None
    tilt_middle: float | None  # mrad; of the front view only
    mass_per_bow: float | None


@dataclass(frozen=True)
class SolidCase:
    """A load case by the 3-D solid and by the front view, both at 20 °C and the least settled preload."""

    name: str
    pressure: float
    onset: float  # first loss of contact of any face
    by_bore: tuple[float, ...]
    bolt_increment: tuple[float, ...]  # N beyond the preload
    touching: float  # share of the faces still in contact, of what touched when tightened
    plate_onset: float
    plate_by_bore: tuple[float, ...]
    plate_bolt_increment: tuple[float, ...]

    @property
    def bolts_differ(self) -> float:
        """Greatest difference between a bolt's two forces, N."""
        pairs = zip(self.bolt_increment, self.plate_bolt_increment, strict=True)
        return max(abs(solid - plate) for solid, plate in pairs)


@dataclass(frozen=True)
class VariantResult:
    """One layout."""

    name: str
    layout: str
    mass: Masses
    body: Body
    load_cases: tuple[CaseResult, ...]
    sweep: Sweep
    faces: tuple[FaceMap, ...]  # at the highest load case; empty where that does not hold
    shape: Shape  # without stations where no load case holds
    preload_life: tuple[BoltLife, ...] = ()
    face_steps: tuple[FaceStep, ...] = ()  # tightened, then every load case that holds; empty without a joint
    centre_bridges: tuple[CentreBridge, ...] = ()
    solid: tuple[SolidCase, ...] = ()  # where it was asked for; of bolted layouts


@dataclass(frozen=True)
class Results:
    """The answer to one study."""

    title: str
    note: str
    sha256: str
    version: str
    cautions: tuple[str, ...]
    defaults_used: tuple[str, ...]
    verdict: str
    notices: tuple[str, ...]  # e.g. why the front view did not run
    inputs: Mapping[str, object]  # the study as read
    variants: tuple[VariantResult, ...]

    def to_dict(self) -> dict[str, object]:
        """The results contract, format 1: plain numbers, strings and lists; null where a figure does not exist."""
        return results_dict(self)


MASSES = ("body", "bolts", "pistons", "fittings", "total")
UNITS = {
    "length": "mm",
    "force": "N",
    "pressure": "MPa",
    "torque": "N m",
    "stress": "MPa",
    "mass": "kg",
    "volume": "mm3",
    "rotation": "mrad",
    "temperature": "°C",
}


def results_dict(r: Results) -> dict[str, object]:
    """The whole contract."""
    return {
        **heading(r),
        "units": dict(UNITS),
        "variants": [variant_dict(v) for v in r.variants],
    }


def variant_dict(v: VariantResult) -> dict[str, object]:
    """One variant of the contract."""
    m = v.mass
    return {
        "name": v.name,
        "layout": v.layout,
        "mass_kg": {k: getattr(m, k) for k in MASSES},
        "centre_of_mass_mm": plain(m.centre_of_mass),
        "load_cases": [case_dict(c) for c in v.load_cases],
        "preload_life": [bolt_life_dict(b) for b in v.preload_life],
        "centre_bridge": [centre_bridge_dict(b) for b in v.centre_bridges],
        "solid": [solid_dict(c) for c in v.solid],
        "sweep": {
            "preload": ["minimum", "nominal", "maximum"][: len(v.sweep.spread)] if v.body.bolts else ["none"],
            "pressure_MPa": plain(v.sweep.pressure),
            "spread_mm": plain(v.sweep.spread),
            "spread_frame_mm": plain(v.sweep.spread_frame),
            "bolt_force_N": plain(v.sweep.bolt_force),
            "open_fraction": plain(v.sweep.open_fraction),
        },
    }


def centre_bridge_dict(b: CentreBridge) -> dict[str, object]:
    """One form of one centre bridge of the contract."""
    return {
        "bridge": b.bridge,
        "form": b.form,
        "given": b.given,
        "load_case": b.load_case,
        "mass_kg": b.mass_kg,
        "bow_mm": b.bow,
        "spread_mm": b.spread,
        "tilt_mrad": b.tilt_middle,
        "grams_per_um_bow": b.mass_per_bow,
    }


def solid_dict(c: SolidCase) -> dict[str, object]:
    """One load case by the 3-D solid of the contract."""
    return {
        "load_case": c.name,
        "pressure_MPa": c.pressure,
        "onset_MPa": {"solid": plain(c.onset), "front_view": plain(c.plate_onset)},
        "opening_by_bore_mm": {"solid": plain(c.by_bore), "front_view": plain(c.plate_by_bore)},
        "bolt_force_beyond_preload_N": {
            "solid": plain(c.bolt_increment),
            "front_view": plain(c.plate_bolt_increment),
        },
        "touching": c.touching,
    }


def case_dict(c: CaseResult) -> dict[str, object]:
    """One load case of the contract."""
    return {
        "name": c.name,
        "kind": c.kind,
        "pressure_MPa": c.pressure,
        "clamp_force_N": c.clamp_force,
        "model": c.model,
        "models": {k.replace(" ", "_"): model_dict(m) for k, m in c.models.items()},
        "opening_mm": {
            "spread": c.spread,
            "max": c.opening_max,
            "by_bore": plain(c.by_bore),
            "middle": c.middle,
            "bow": c.bow,
        },
        "tilt_mrad": {"by_bore": plain(c.tilt_by_bore), "middle": c.tilt_middle},
        "yaw_mrad": c.yaw,
        "fluid_mm3": fluid_dict(c.fluid),
        "stiffness_kN_per_mm": plain(c.stiffness_kN_per_mm),
        "stiffness_per_mass": plain(c.stiffness_per_mass),
        "contributions_mm": dict(c.contributions),
        "joints": [joint_dict(j) for j in c.joints],
        "ports": [port_dict(p) for p in c.ports],
        "checks": [{k: plain(x) for k, x in asdict(check).items()} for check in c.checks],
        "validity": list(c.validity),
    }


def fluid_dict(fluid: Fluid | None) -> dict[str, object] | None:
    """Fluid taken, or null."""
    return None if fluid is None else {**asdict(fluid), "total": fluid.total}


def model_dict(m: ModelOpening) -> dict[str, object]:
    """One model's figures of the contract."""
    return {
        "spread_mm": m.spread,
        "by_bore_mm": plain(m.by_bore),
        "tilt_mrad": plain(m.tilt_by_bore),
        "solve": {"residual": m.residual, "equilibrium_error": m.equilibrium, "energy_error": m.energy},
    }
