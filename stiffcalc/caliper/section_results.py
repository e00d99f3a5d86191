"""What the sections through bridges return: frozen data; `to_dict` gives their contract, format 1.

Units: mm, N, N mm, MPa, kg, °C; rotations in mrad. N and Mx act about mid height of the bridge in the plane (0, y_r);
places are (z, y). Drawing data (mesh, fields) stay out of the contract; a mesh viewer reads them from the .vtu files.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass

from stiffcalc.caliper.joint_results import plain
from stiffcalc.condensed import Array
from stiffcalc.plane.section.outline import Part
from stiffcalc.plane.section.peak import Peak
from stiffcalc.plane.section.solve import Solution
from stiffcalc.plane.section.stress import Stress


@dataclass(frozen=True)
class Surface:
    """Stress at a fillet or at the edge of a bolt hole in one load case, at the end of the preload that is worse."""

    stress: float  # largest von Mises, MPa
    section_stress: float  # of the section alone, without what My and the arch add
    rest: float  # largest von Mises before the pressure, tightened and at the case's temperature
    z: float
    y: float
    error: float  # estimated, share of the stress
    preload: str  # "minimum preload", "maximum preload", ""
    yield_MPa: float  # at the body's temperature
    yield_margin: float  # of the greater of `stress` and `rest`
    judged: bool  # False: this kind of load case lets a notch yield
    amplitude: float  # von Mises stress of half the change under pressure
    mean: float  # sum of the normal stresses half way
    endurance: float | None  # amplitude allowed at that mean; None: no fatigue value known
    fatigue_margin: float | None


@dataclass(frozen=True)
class Face:
    """Contact pressure over the height of a joint face."""

    y: Array  # (n,) rising
    pressure: Array  # (n,) MPa
    force: float  # N
    moment: float  # N mm about y_r, positive where the pressure's centre lies above
    open_fraction: float


@dataclass(frozen=True)
class EndState:
    """One load case at one end of the preload."""

    preload: str
    N: float  # of bridge and bolts together
    Mx: float
    bridge_N: float  # of the bridge alone, by the joint
    bridge_Mx: float
    bridge_My: float  # not in the section
    bolts: float  # N, by the joint
    bolts_section: float  # N, by the section
    balance: float  # error of the section's cut against N and Mx, relative
    rotation: float  # mrad of the wall behind the bridge, one half, beyond the state without pressure
    rotation_closed: float  # mrad by closed form
    face: Face | None


@dataclass(frozen=True)
class SectionCase:
    """One load case of one section."""

    name: str
    kind: str
    pressure: float
    body_C: float
    ends: tuple[EndState, ...]
    fillet: Surface | None
    hole: Surface | None
    corner_stress: float | None  # of a sharp corner, at the distance of `Trust`


@dataclass(frozen=True)
class Trust:
    """What the fillet's figure rests on, or that there is none."""

    sentence: str
    exists: bool  # False: a sharp corner, where no peak exists
    met: bool
    asked: float
    value: float | None  # MPa, governing case, section alone
    estimate: float  # share
    order: float | None
    extrapolated: float | None
    unknowns: int
    distance: float | None  # mm from a sharp corner at which stress is given instead


@dataclass(frozen=True)
class Onset:
    """First loss of contact at 20 °C and minimum preload, MPa; inf: none."""

    section: float
    joint: float  # by the joint, both moments
    joint_without_My: float
    open_when_tightened: float  # share of the section's face


@dataclass(frozen=True)
class Flexibility:
    """One half, face closed, at 20 °C: the wall behind the bridge against the mid-plane."""

    w_per_N: float  # mm/N at y_r
    turn_per_Mx: float  # rad/(N mm)
    closed_w_per_N: float  # half the bridge and its root by closed form
    closed_turn_per_Mx: float


@dataclass(frozen=True)
class Idle:
    """Metal below a share of the allowed stress in every load case, as far as this section sees."""

    below: float  # share of the allowed
    volume_share: float  # of the section
    mass_kg: float  # of the strip, one half


@dataclass(frozen=True)
class Drawing:
    """For pictures and mesh files, outside the contract."""

    axes: tuple[str, str]  # what stands on the two axes
    parts: tuple[Part, ...]
    heads: tuple[Head, ...]
    solution: Solution
    stress: Stress
    used: Array  # (k,) largest share of the allowed stress at each place over the load cases
    shown: str  # state that governs, a case of the solution
    cases: tuple[str, ...]  # cases of the solution that are load cases
    level: Array  # (k,) von Mises stress of that state, MPa
    top: float  # level below which nearly all of the metal stays, MPa


@dataclass(frozen=True)
class Head:
    """A bolt's head in a picture, mm."""

    z: float
    y: float
    half_width: float


@dataclass(frozen=True)
class SectionResult:
    """The section through one bridge of one half."""

    bridge: str
    side: str
    kind: str
    x: float
    width: float
    height: float
    y_r: float
    fillet_mm: float
    cuts: tuple[str, ...]
    trust: Trust | None  # None: no fillet to look at
    hole_change: float | None  # of the hole's stress when all sides are halved, share
    flexibility: Flexibility | None
    onset: Onset | None
    idle: Idle
    sharp_corners: tuple[tuple[float, float], ...]  # (z, y) of pockets and bores, where no peak exists
    load_cases: tuple[SectionCase, ...]
    notes: tuple[str, ...]
    drawing: Drawing

    def to_dict(self) -> dict[str, object]:
        """This section of the contract."""
        return _plain({f.name: getattr(self, f.name) for f in fields(self) if f.name != "drawing"})


@dataclass(frozen=True)
class OwnCase:
    """One load case of an own section."""

    name: str
    kind: str
    pressure: float
    body_C: float
    worst: Surface


@dataclass(frozen=True)
class OwnResult:
    """A section with the user's own outline and loads."""

    name: str
    outline: str
    thickness: float
    material: str
    trust: Trust
    idle: Idle
    load_cases: tuple[OwnCase, ...]
    notes: tuple[str, ...]
    drawing: Drawing

    def to_dict(self) -> dict[str, object]:
        """This section of the contract."""
        return _plain({f.name: getattr(self, f.name) for f in fields(self) if f.name != "drawing"})


@dataclass(frozen=True)
class SectionResults:
    """All sections of one layout, and the study's own ones."""

    title: str
    note: str
    sha256: str
    version: str
    layout: str
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    notes: tuple[str, ...]  # what holds for every section through a bridge
    inputs: Mapping[str, object]
    model: str  # response that gave the forces
    sections: tuple[SectionResult, ...]
    own: tuple[OwnResult, ...] = ()

    def to_dict(self) -> dict[str, object]:
        """The contract of sections, format 1: plain numbers, strings and lists; null where a figure does not exist."""
        return {
            "format": 1,
            "tool": {"name": "stiffcalc", "version": self.version},
            "study": {"title": self.title, "note": self.note, "sha256": self.sha256},
            "units": dict(UNITS),
            "cautions": list(self.cautions),
            "notices": list(self.notices),
            "notes": list(self.notes),
            "layout": self.layout,
            "forces_from": self.model,
            "sections": [s.to_dict() for s in self.sections],
            "own_sections": [s.to_dict() for s in self.own],
        }


UNITS = {
    "length": "mm",
    "force": "N",
    "moment": "N mm",
    "stress": "MPa",
    "mass": "kg",
    "rotation": "mrad",
    "temperature": "°C",
    "flexibility": "mm/N, rad/(N mm)",
}


def trust(peak: Peak) -> Trust:
    """The figures of a traced peak."""
    said = peak.sentence()
    return Trust(
        sentence=f"{said}, in '{peak.case}'" if peak.exists else said,
        exists=peak.exists,
        met=peak.met,
        asked=peak.asked,
        value=peak.value if peak.exists else None,
        estimate=peak.estimate,
        order=peak.order,
        extrapolated=peak.extrapolated,
        unknowns=(peak.study or peak.passes)[-1].unknowns,
        distance=peak.distance,
    )


def _plain(values: Mapping[str, object]) -> dict[str, object]:
    """Dataclasses as dictionaries, arrays and tuples as lists, infinity as null (as in the main contract)."""
    return {k: _value(v) for k, v in values.items()}


def _value(value: object) -> object:
    if is_dataclass(value):
        return _plain({f.name: getattr(value, f.name) for f in fields(value)})
    return [_value(v) for v in value] if isinstance(value, tuple) else plain(value)
