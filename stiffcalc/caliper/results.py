"""What an assessment returns: frozen data only. `to_dict` gives the published results contract, format 1.

Units: mm, N, MPa, kg, mm3; rotations in mrad. Openings are of both halves together, at minimum preload unless a name
says otherwise. Drawing data (meshes, maps) stay out of the contract.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

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
    amplitude: float  # half the swing between zero pressure and this pressure, the larger over the preload range


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
    """Pressure sweep from 0 to the highest load case; preload axis S = (minimum, nominal, maximum), S = 1 if no bolts."""

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
    triangles: Array  # (t, 3) int
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
        """The results contract, format 1: plain numbers, strings, lists; no NaN or inf (null instead)."""
        from stiffcalc.caliper.contract import contract

        return contract(self)
