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
from stiffcalc.caliper.measures import Masses
from stiffcalc.condensed import Array


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


@dataclass(frozen=True)
class BoltState:
    """One bolt in one load case. Forces in N."""

    index: int
    preload_min: float
    preload_nominal: float
    preload_max: float
    force: float  # at minimum preload
    force_max: float  # at maximum preload
    amplitude: (
        float  # half the swing between zero pressure and this pressure, the larger over the preload range
    )


@dataclass(frozen=True)
class TorqueShares:
    """Tightening torque at the nominal preload by where it goes, N m."""

    pitch: float  # stretches the bolt
    thread: float  # friction of the thread
    head: float  # friction under the head

    @property
    def total(self) -> float:
        """Torque at the wrench."""
        return self.pitch + self.thread + self.head


@dataclass(frozen=True)
class LifeStage:
    """Preload of one bolt at one moment of its life, no pressure on; N.

    Minimum and nominal have taken every loss so far, the maximum none. `losses` add up from the nominal as tightened
    to this minimum; negative: a gain.
    """

    name: str
    body_C: float
    bolt_C: float
    min: float
    nominal: float
    max: float
    losses: Mapping[str, float]  # cause -> N


@dataclass(frozen=True)
class BoltLife:
    """One bolt from tightening to the end of its life."""

    index: int
    bridge: str
    needed: (
        float | None
    )  # N at 20 °C to keep its face closed at the highest service pressure; None: not asked
    proof_load: float  # N
    torque: TorqueShares
    stages: tuple[LifeStage, ...]


@dataclass(frozen=True)
class JointState:
    """One joint face in one load case, at minimum preload unless the name says otherwise."""

    bridge: str
    onset_MPa: float  # inf: never within the linear range
    onset_x: float
    onset_y: float
    open_fraction: float
    face_pressure_max_MPa: float  # at maximum preload
    face_pressure_min_MPa: float
    bolts: tuple[BoltState, ...]


@dataclass(frozen=True)
class FaceMap:
    """Contact pressure over one joint face, minimum preload, on a grid; NaN outside the metal. For drawing."""

    bridge: str
    x: Array  # (nx,)
    y: Array  # (ny,)
    pressure_MPa: Array  # (ny, nx)


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
    """One load case of one variant."""

    name: str
    kind: str
    pressure: float
    clamp_force: float  # of one side
    model: str  # "front view" or "frame"
    models: Mapping[str, ModelOpening]  # keys "frame", "front view"
    spread: float
    opening_max: float
    by_bore: tuple[float, ...]
    middle: float
    bow: float
    tilt_by_bore: tuple[float, ...] | None
    tilt_middle: float | None
    yaw: float
    fluid: Fluid
    stiffness_kN_per_mm: float
    stiffness_per_mass: float
    contributions: Mapping[str, float]  # mm, sum to the spread
    joints: tuple[JointState, ...]
    checks: tuple[Check, ...]
    validity: tuple[str, ...]


@dataclass(frozen=True)
class Sweep:
    """Pressure sweep from 0 to the highest load case; preload axis S = (min, nominal, max), S = 1 if no bolts."""

    pressure: Array  # (P,)
    spread: Array  # (S, P) headline model
    spread_frame: Array  # (S, P)
    bolt_force: Array  # (S, P, J)
    open_fraction: Array  # (S, P, N) per bridge, 0 for unjointed


@dataclass(frozen=True)
class Shape:
    """The deformed body at the highest load case, for drawing; opening of both halves, mm.

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
class VariantResult:
    """One layout."""

    name: str
    layout: str
    mass: Masses
    body: Body
    load_cases: tuple[CaseResult, ...]
    sweep: Sweep
    faces: tuple[FaceMap, ...]  # at the highest load case
    shape: Shape


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
        return {
            "format": 1,
            "tool": {"name": "stiffcalc", "version": self.version},
            "study": {"title": self.title, "note": self.note, "sha256": self.sha256},
            "units": dict(UNITS),
            "cautions": list(self.cautions),
            "defaults_used": list(self.defaults_used),
            "notices": list(self.notices),
            "verdict": self.verdict,
            "variants": [variant_dict(v) for v in self.variants],
        }


UNITS = {
    "length": "mm",
    "force": "N",
    "pressure": "MPa",
    "stress": "MPa",
    "mass": "kg",
    "volume": "mm3",
    "rotation": "mrad",
    "temperature": "°C",
}


def variant_dict(v: VariantResult) -> dict[str, object]:
    """One variant of the contract."""
    m = v.mass
    return {
        "name": v.name,
        "layout": v.layout,
        "mass_kg": {"body": m.body, "bolts": m.bolts, "pistons": m.pistons, "total": m.total},
        "centre_of_mass_mm": plain(m.centre_of_mass),
        "load_cases": [case_dict(c) for c in v.load_cases],
        "sweep": {
            "preload": ["minimum", "nominal", "maximum"][: len(v.sweep.spread)] if v.body.bolts else ["none"],
            "pressure_MPa": plain(v.sweep.pressure),
            "spread_mm": plain(v.sweep.spread),
            "spread_frame_mm": plain(v.sweep.spread_frame),
            "bolt_force_N": plain(v.sweep.bolt_force),
            "open_fraction": plain(v.sweep.open_fraction),
        },
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
        "fluid_mm3": {**asdict(c.fluid), "total": c.fluid.total},
        "stiffness_kN_per_mm": plain(c.stiffness_kN_per_mm),
        "stiffness_per_mass": plain(c.stiffness_per_mass),
        "contributions_mm": dict(c.contributions),
        "joints": [joint_dict(j) for j in c.joints],
        "checks": [{k: plain(x) for k, x in asdict(check).items()} for check in c.checks],
        "validity": list(c.validity),
    }


def model_dict(m: ModelOpening) -> dict[str, object]:
    """One model's figures of the contract."""
    return {
        "spread_mm": m.spread,
        "by_bore_mm": plain(m.by_bore),
        "tilt_mrad": plain(m.tilt_by_bore),
        "solve": {"residual": m.residual, "equilibrium_error": m.equilibrium, "energy_error": m.energy},
    }


def joint_dict(j: JointState) -> dict[str, object]:
    """One joint face of the contract."""
    return {
        "bridge": j.bridge,
        "onset_MPa": plain(j.onset_MPa),
        "onset_at_mm": [plain(j.onset_x), plain(j.onset_y)],
        "open_fraction": j.open_fraction,
        "face_pressure_max_MPa": j.face_pressure_max_MPa,
        "face_pressure_min_MPa": j.face_pressure_min_MPa,
        "bolts": [
            {
                "index": b.index,
                "preload_N": {"min": b.preload_min, "nominal": b.preload_nominal, "max": b.preload_max},
                "force_N": b.force,
                "force_max_N": b.force_max,
                "amplitude_N": b.amplitude,
            }
            for b in j.bolts
        ],
    }


def plain(value: object) -> object:
    """Arrays and tuples as lists, numpy scalars as Python ones, NaN and infinity as None."""
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
