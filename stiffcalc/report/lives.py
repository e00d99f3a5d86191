"""Preload through life in words and tables: for the page, the terminal and other tools."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from stiffcalc.caliper.joint_results import BoltLife, LifeStage
from stiffcalc.caliper.results import Results, VariantResult
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, choose
from stiffcalc.report.blocks import Html, element
from stiffcalc.report.sheets import Cell
from stiffcalc.report.waterfall import temperatures

END_KEYS = ("stage.min", "stage.nominal", "stage.max")
TORQUE_KEYS = ("torque.total", "torque.pitch", "torque.thread", "torque.head")
HINT = (
    "No pressure on. Minimum and nominal have taken every loss so far, the maximum none. Losses add up from the "
    "nominal as tightened to the minimum; negative is a gain. Needed: keeps the bolt's face closed at the highest "
    "service pressure, 20 °C."
)


def section(results: Results) -> Html:
    """Every bolt of every variant, a folded table a variant."""
    found = [_variant(results, i) for i, v in enumerate(results.variants) if v.preload_life]
    if not found:
        return Html("")
    return element(
        "section",
        element("h2", "Preload through life", id="life"),
        element("p", HINT, class_="hint"),
        *found,
        aria_labelledby="life",
    )


def _variant(results: Results, index: int) -> Html:
    v = results.variants[index]
    return element(
        "details",
        element("summary", blocks.named(results, index), " ", element("span", _tally(v), class_="tally")),
        blocks.table("Stages, kN", _head(v), _rows(v)),
        blocks.table(
            "Tightening at the nominal preload", ["bolt", *_labels()], map(_torque_row, v.preload_life)
        ),
        class_="case",
    )


def _tally(v: VariantResult) -> str:
    life = choose.weakest_bolt(v)
    return "" if life is None else f"bolt {life.index} ends lowest: {_kN(min(s.min for s in life.stages))} kN"


def _kN(value: float | None) -> str:
    return quantity("stage.min").text(value)


def _labels() -> list[str]:
    return [quantity(k).label for k in (*TORQUE_KEYS, "proof_load", "needed")]


def _head(v: VariantResult) -> list[str | Html]:
    return ["bolt, stage", "temperature", "minimum", "nominal", "maximum", *causes(v.preload_life)]


def causes(lives: Iterable[BoltLife]) -> list[str]:
    """Causes of loss in the order they first appear."""
    return list(dict.fromkeys(c for b in lives for s in b.stages for c in s.losses))


def _rows(v: VariantResult) -> Iterator[list[str | Html]]:
    known = causes(v.preload_life)
    for b in v.preload_life:
        for s in b.stages:
            ends = (_kN(x) for x in (s.min, s.nominal, s.max))
            lost = (_kN(s.losses[c]) if c in s.losses else "–" for c in known)
            yield [f"{b.index}, {s.name}", temperatures(s), *ends, *lost]


def _torque_row(b: BoltLife) -> list[str | Html]:
    t = b.torque
    shares = [(quantity("torque.total"), t.total), *((quantity(f"torque.{k}"), getattr(t, k)) for k in PARTS)]
    return [f"{b.index}, {b.bridge}", *(q.text(x) for q, x in shares), _kN(b.proof_load), _kN(b.needed)]


PARTS = ("pitch", "thread", "head")


def terminal(results: Results) -> list[str]:
    """One line a variant with bolts: the weakest bolt, stage by stage, minimum to maximum."""
    lines = []
    for i, v in enumerate(results.variants):
        life = choose.weakest_bolt(v)
        if life is not None:
            stages = ", ".join(f"{s.name} {_kN(s.min)} to {_kN(s.max)}" for s in life.stages)
            needed = "" if life.needed is None else f"; needed in service {_kN(life.needed)}"
            lines.append(f"[{i + 1}] bolt {life.index}: {stages}{needed}; proof load {_kN(life.proof_load)}")
    return lines


def rows(results: Results) -> Iterator[Sequence[Cell]]:
    """Every stage of every bolt for other tools, stored units."""
    known = causes(b for v in results.variants for b in v.preload_life)
    keys = ("stage.body_C", "stage.bolt_C", *END_KEYS)
    yield [
        *("variant", "bridge", "bolt", "stage", *(quantity(k).column for k in keys)),
        *(f"lost_to_{c.replace(' ', '_')}_N" for c in known),
        *(quantity(k).column for k in ("needed", "proof_load", *TORQUE_KEYS)),
    ]
    for v in results.variants:
        for b in v.preload_life:
            t = b.torque
            for s in b.stages:
                lost = (s.losses.get(c) for c in known)
                yield [*_place(v, b, s), *lost, b.needed, b.proof_load, t.total, t.pitch, t.thread, t.head]


def _place(v: VariantResult, b: BoltLife, s: LifeStage) -> list[Cell]:
    return [v.name, b.bridge, b.index, s.name, s.body_C, s.bolt_C, s.min, s.nominal, s.max]
