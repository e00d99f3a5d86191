"""What an assessment says of joint faces and bolts: frozen data, and its part of the results contract.

Units: mm, N, MPa; torques in N m.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass

import numpy as np

from stiffcalc.condensed import Array


@dataclass(frozen=True)
class BoltState:
    """One bolt in one load case; preloads settled and at the case's temperature. Forces in N."""

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
    open_2pct_MPa: (
        float | None
    )  # line pressure at which 2 % of what touched has lost contact; None: not in the sweep
    swing_MPa: float  # largest change of contact pressure over the face between no pressure and this case's
    swing_x: float
    swing_y: float
    opening_share: (
        float  # of what touches without pressure, lost at this pressure: opens and closes every time
    )


@dataclass(frozen=True)
class PortState:
    """The joint face round one port's seal in one load case, at the moment of life that presses it least."""

    index: int  # as in the study file
    bridge: str
    contact_MPa: float  # lowest contact pressure round the seal
    x: float  # where
    y: float
    open_share: float  # of the circle round the seal without contact
    moment: str  # preload and stage of life


@dataclass(frozen=True)
class FaceMap:
    """Contact pressure over one joint face, minimum preload, on a grid; NaN outside the metal. For drawing."""

    bridge: str
    x: Array  # (nx,)
    y: Array  # (ny,)
    pressure_MPa: Array  # (ny, nx)


@dataclass(frozen=True)
class FaceStep:
    """All joint faces tightened, or at one load case's pressure and temperature, minimum preload. For drawing."""

    name: str
    pressure: float
    faces: tuple[FaceMap, ...]


def bolt_life_dict(b: BoltLife) -> dict[str, object]:
    """One bolt's life of the contract."""
    return {
        "bolt": b.index,
        "bridge": b.bridge,
        "needed_N": plain(b.needed),
        "proof_load_N": b.proof_load,
        "torque_Nm": {**asdict(b.torque), "total": b.torque.total},
        "stages": [
            {
                "stage": s.name,
                "body_C": s.body_C,
                "bolt_C": s.bolt_C,
                "min_N": s.min,
                "nominal_N": s.nominal,
                "max_N": s.max,
                "losses_N": dict(s.losses),
            }
            for s in b.stages
        ],
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
        "open_2pct_MPa": j.open_2pct_MPa,
        "swing": {
            "pressure_MPa": j.swing_MPa,
            "at_mm": [plain(j.swing_x), plain(j.swing_y)],
            "opening_share": j.opening_share,
        },
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


def port_dict(p: PortState) -> dict[str, object]:
    """One port of the contract."""
    return {
        "port": p.index,
        "bridge": p.bridge,
        "contact_MPa": p.contact_MPa,
        "at_mm": [p.x, p.y],
        "open_share": p.open_share,
        "moment": p.moment,
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
