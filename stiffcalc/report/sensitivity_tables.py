"""Slopes as text: a table for the terminal, and CSV."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from stiffcalc.explore.sensitivity_results import Confirmed, Sensitivities, Slope
from stiffcalc.quantities import quantity
from stiffcalc.report.listing import aligned
from stiffcalc.report.sheets import Cell, csv_text

SHOWN = 16
FIGURES = ("spread", "tilt", "mass", "worst_margin", "grams_per_um")


def terminal(found: Sensitivities, width: int = 100) -> str:
    """The largest slopes, the front view's own, verdict and cautions; at most `width` (80 or more) columns.

    Raises ValueError for a width below 80.
    """
    if width < 80:
        raise ValueError(f"a table needs 80 columns, {width} were given")
    parts = [
        _wrap(f"{found.title}: slopes of '{found.layout}', {found.model}", width),
        aligned(
            [
                ["dimension", "per", "spread_µm", "tilt_mrad", "mass_g", "margin_points", "g/µm"],
                *(line(s) for s in found.slopes[:SHOWN]),
            ]
        ),
        _confirmed(found, width),
        _wrap(found.verdict, width),
        "\n".join(_wrap(f"Note: {n}", width) for n in (*marks(found), *found.notices)),
        "\n".join(_wrap(f"Caution: {c}", width) for c in found.cautions),
    ]
    return "\n\n".join(p for p in parts if p) + "\n"


def line(s: Slope) -> list[str]:
    """One slope in words."""
    cells = [quantity(f"slope.{k}").text(getattr(s, k)) for k in FIGURES]
    cells[3] += " ?" if s.kinked else ""
    return [s.words, s.per.replace("\u00a0", " "), *cells]


def marks(found: Sensitivities) -> Iterable[str]:
    """What signs of the table mean, where they stand."""
    if any(s.kinked for s in found.slopes):
        yield (
            "? the worst margin changes unlike upward and downward, or unlike at half the step: another place takes "
            "over, or cells of a relieved face come and go. Take it as a size, not as a slope."
        )
    free = [s.words for s in found.slopes if s.grams_per_um is not None and s.grams_per_um < 0]
    if free:
        yield "g/µm below zero: less mass and less spread go together."
    small = [s for s in found.slopes if s.step_change > 0.02]
    if small:
        named = ", ".join(s.words for s in small)
        most = max(abs(s.spread) for s in small)
        yield (
            f"at half the step the slope of the spread moves by more than 2 % for {named}: all below "
            f"{quantity('slope.spread').with_unit(most)} per unit."
        )


def _confirmed(found: Sensitivities, width: int) -> str:
    if not found.confirmed:
        return ""
    head = ["front view's own steps", "per", "frame_µm", "front_view_µm", "noise_µm", "apart_%"]
    rows = [head, *(confirmed_line(c) for c in found.confirmed)]
    return f"{aligned(rows)}\n{_wrap(noise(found), width)}"


def confirmed_line(c: Confirmed) -> list[str]:
    """One slope beside the front view's."""
    q = quantity("slope.spread")
    apart = quantity("moved").text(c.frame / c.front_view - 1.0)
    return [c.words, c.per, q.text(c.frame), q.text(c.front_view), f"±{q.text(c.noise)}", apart]


def noise(found: Sensitivities) -> str:
    """What remeshing does."""
    if found.remeshing is None:
        return ""
    return (
        f"Remeshing scatters the front view's spread by {100 * found.remeshing:.2f} % (1 s, bodies whose lengths all "
        f"move by chance within 0.05 mm, the frame's own answer taken off; seed {found.seed})."
    )


def csv_file(found: Sensitivities) -> str:
    """Every slope: stored units per unit of the dimension named."""
    head = ["path", "dimension", "carries", "value", "unit", "per", "spread_mm", "tilt_mrad", "mass_kg"]
    head += ["worst_margin", "margin_up", "margin_down", "kinked", "grams_per_um", "step", "step_change"]
    return csv_text([head, *(_row(s) for s in found.slopes)])


def _row(s: Slope) -> Sequence[Cell]:
    start: list[Cell] = [
        s.path,
        s.words,
        " ".join(s.carries),
        s.value,
        s.unit,
        s.per,
        s.spread,
        s.tilt,
        s.mass,
    ]
    margins: list[Cell] = [s.worst_margin, s.margin_up, s.margin_down, str(s.kinked).lower()]
    return [*start, *margins, s.grams_per_um, s.step, s.step_change]


def _wrap(text: str, width: int) -> str:
    return textwrap.fill(" ".join(text.split()), width, subsequent_indent="  ")
