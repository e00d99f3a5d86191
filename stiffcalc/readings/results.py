"""What comparing readings with a prediction returns: frozen data; `to_dict` gives it as plain numbers and text.

Units as in the results contract: mm, mrad, mm3, N, MPa, °C; slopes per MPa.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stiffcalc.caliper.joint_results import plain
from stiffcalc.readings.compare import Comparison, Ratio, SeriesFit
from stiffcalc.readings.lines import Line
from stiffcalc.readings.loops import Hysteresis
from stiffcalc.readings.predict import Curves


@dataclass(frozen=True)
class Correlation:
    """Readings of one layout beside its prediction."""

    title: str
    sha256: str  # of the study
    version: str
    cautions: tuple[str, ...]
    layout: str  # name of the variant
    layout_sha256: str
    model: str  # "front view" | "frame"
    readings: str  # file name
    readings_sha256: str
    fits: tuple[SeriesFit, ...]
    comparisons: tuple[Comparison, ...]
    curves: Mapping[str, Curves]  # case -> prediction at its temperature
    temperature: Mapping[str, float]  # case -> °C
    verdict: str
    notices: tuple[str, ...]

    def to_dict(self) -> dict[str, object]:
        """Plain numbers, strings and lists; null where a figure does not exist."""
        return {
            "format": 1,
            "tool": {"name": "stiffcalc", "version": self.version},
            "study": {"title": self.title, "sha256": self.sha256},
            "layout": {"name": self.layout, "sha256": self.layout_sha256},
            "model": self.model,
            "readings": {"file": self.readings, "sha256": self.readings_sha256},
            "cautions": list(self.cautions),
            "notices": list(self.notices),
            "verdict": self.verdict,
            "ratios": [_comparison(c) for c in self.comparisons],
            "fits": [_fit(f) for f in self.fits],
        }


def ratio_dict(r: Ratio) -> dict[str, object]:
    """A ratio with where it holds, as results and corrections state it."""
    return {
        "ratio": r.value,
        "standard_error": r.error,
        "degrees_of_freedom": r.degrees,
        "interval_95": [r.low, r.high],
        "pressure_MPa": list(r.pressure),
        "temperature_C": list(r.temperature),
        "cases": list(r.cases),
    }


def _comparison(c: Comparison) -> dict[str, object]:
    found = {"ratio": None} if c.ratio is None else ratio_dict(c.ratio)
    return {"quantity": c.quantity, "point": c.point, **found, "why_not": c.why_not}


def _fit(f: SeriesFit) -> dict[str, object]:
    s = f.series
    return {
        "case": s.case,
        "quantity": s.quantity,
        "point": s.point,
        "unit": s.kind.quantity.unit,
        "readings": len(s.value),
        "fitted": 0 if f.found is None else int(f.found.kept.sum()),
        "direction": "up" if f.rising else "down",
        "take_up_MPa": None if f.found is None else f.found.take_up,
        "take_up_found": None if f.found is None else f.found.found,
        "knee_gain": None if f.found is None or f.found.gain is None else _gain(f.found.gain),
        "measured": None if f.found is None else _line(f.found.line),
        "predicted": [_line(line) for line in f.expected],
        "hysteresis": _loop(f.loop, f"{s.kind.quantity.unit} MPa"),
        "ratio": None if f.ratio is None else ratio_dict(f.ratio),
        "why_not": f.why_not,
        "remarks": list(f.remarks),
    }


def _line(line: Line) -> dict[str, object]:
    bend = line.bend
    return {
        "slope_per_MPa": line.slope,
        "half_width_95": plain(line.half_width),
        "degrees_of_freedom": line.degrees,
        "starts": plain(line.starts),
        "scatter": line.scatter,
        "scatter_over_stated": plain(line.inflation),
        "knee": None
        if bend is None
        else {"MPa": bend.at, "interval_95": [bend.low, bend.high], "slope_beyond_per_MPa": bend.slope},
    }


def _gain(gain: tuple[float, float]) -> dict[str, object]:
    """By how much the best bent line beats the straight one; null where the set is too small for it."""
    return {"AICc": plain(gain[0]), "BIC": plain(gain[1])}


def _loop(loop: Hysteresis | None, unit: str) -> dict[str, object] | None:
    if loop is None:
        return None
    return {
        "area": loop.area,
        "unit": unit,
        "half_width_95": plain(loop.half_width),
        "share": loop.share,
        "cycles": loop.cycles,
        "pressure_MPa": [loop.low, loop.high],
    }
