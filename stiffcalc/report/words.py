"""Words that page and terminal share: the glossary, and how a check, a margin or a model is put into words."""

from __future__ import annotations

import math

from stiffcalc.caliper.results import CaseResult, Check
from stiffcalc.quantities import quantity

GLOSSARY = {
    "half": "one side of the body: inboard (knuckle side) or outboard (wheel side)",
    "wall": "the block of a half that holds the bores; floor: what is left of it behind a bore",
    "bridge": "material that joins the halves over the rotor's edge: end bridges (leading, trailing), centre bridge; "
    "integral, or a separate part bolted in",
    "clamp plane": "where two halves meet (two-piece); joint face: one bridge's contact area in it",
    "opening": "relative axial movement apart of two facing points of the halves under pressure; for a preloaded "
    "joint, beyond the tightened state",
    "spread": "area-weighted mean opening of the bore floors",
    "tilt": "relative rotation of the halves about the tangential axis; tapers pads radially. Positive: the top opens "
    "more; usually negative, the pad side opening more",
    "yaw": "relative rotation about the radial axis; tapers pads tangentially. Positive: the trailing end opens more",
    "bow": "bending of a half between end bridges: opening at the middle beyond the line through the ends",
    "onset pressure": "line pressure at which the first point of a joint face loses contact; beside it stands where "
    "2 % of the face has, for a corner that lifts early may carry nothing",
    "port": "a passage for brake fluid across the clamp plane, a seal ring in a groove round it; relief: a shallow "
    "step that does not touch; land: what alone touches",
    "abutment": "a patch on the flank of a bridge that takes the pad's drag",
    "lug": "a boss on the inboard half that the caliper is mounted by",
    "margin": "allowed over actual, less one (actual over allowed where more is better); negative means not met",
    "frame": "the closed-form model: a grillage of wall and bridges; its tilt is low and is not published",
    "front view": "the plate model of the half seen from the front; the figures come from it where it ran",
}


def number(value: float, significant: int = 4) -> str:
    """Significant digits without a power of ten, for values that carry a unit of their own."""
    if not math.isfinite(value):
        return quantity("actual").text(value)
    digits = significant - 1 - (math.floor(math.log10(abs(value))) if value else 0)
    text = f"{value:,.{max(0, min(digits, 6))}f}".replace(",", "\u202f" if abs(value) >= 1e4 else "")
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", "−")


def measured(value: float, unit: str) -> str:
    """The value with its unit, "mm" and the like; a bare ratio has none."""
    return f"{number(value)}\u00a0{unit}" if unit not in ("", "1", "-") else number(value)


def margin(check: Check) -> str:
    """The margin in percent, signed."""
    text = quantity("margin").with_unit(check.margin)
    return text if text.startswith(("−", "–")) else f"+{text}"


def onset(value: float) -> str:
    """Onset pressure in words."""
    return "none in range" if math.isinf(value) else quantity("onset_MPa").with_unit(value)


def part_open(value: float | None) -> str:
    """Pressure at which 2 % of a face has lost contact, in words; it is looked for up to the highest load case."""
    return "none in range" if value is None else quantity("open_2pct_MPa").with_unit(value)


def first_part_open(case: CaseResult) -> str:
    """The same of the face that gets there first; a dash without joint faces."""
    found = [j.open_2pct_MPa for j in case.joints]
    return part_open(min((p for p in found if p is not None), default=None)) if found else "–"


def least_onset(case: CaseResult) -> str:
    """Least onset pressure of any face and stage of life that this kind of case may meet; a dash where not asked."""
    found = [c.actual for c in case.checks if c.id.startswith("onset")]
    return onset(min(found)) if found else "–"


def case_title(case: CaseResult) -> str:
    """Name, kind and pressure of a load case."""
    return f"{case.name} ({case.kind}, {quantity('pressure').with_unit(case.pressure)})"
