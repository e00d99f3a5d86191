"""Preload of a bolt through its life: an interval a stage, with what its face needs and the proof load."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes

from stiffcalc.caliper.joint_results import BoltLife, LifeStage
from stiffcalc.caliper.results import Results
from stiffcalc.quantities import quantity
from stiffcalc.report import canvas, choose
from stiffcalc.report.canvas import INK, SOFT, Picture

FORCE, WARM = quantity("stage.min"), quantity("stage.body_C")
ROW = 0.47  # inches a stage
NEED_DASH, PROOF_DASH = (0, (6, 2)), (0, (6, 2, 1.5, 2))


@canvas.drawn
def waterfall(results: Results, variant: int) -> Picture | None:
    """Stages of the bolt that ends lowest over what it needs, first on top; None without bolts."""
    life = choose.weakest_bolt(results.variants[variant])
    if life is None:
        return None
    count = len(life.stages)
    fig = canvas.figure(canvas.NARROW, 0.42 + 0.62 + ROW * count)
    ax = canvas.axes(fig, 0.1, 0.45, 0.2, 0.55)
    ax.set_xlim(*_range(results))
    ax.set_ylim(count, 0)
    for i, stage in enumerate(life.stages):
        _stage(ax, i, stage, before=_before(life.stages, i))
    _line(ax, life.needed, f"needed {FORCE.text(life.needed)}", dash=NEED_DASH, up=0.22)
    _line(ax, life.proof_load, f"proof load {FORCE.text(life.proof_load)}", dash=PROOF_DASH, up=0.04)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.grid(True, axis="x")
    ax.xaxis.set_major_locator(canvas.ticks())
    ax.set_xlabel(f"preload of bolt {life.index}, no pressure, {FORCE.shown}")
    return canvas.picture(
        fig,
        f"waterfall-{variant + 1}",
        title="Preload through life",
        alt=f"Preload of bolt {life.index} of variant {variant + 1}, minimum to maximum, stage by stage: "
        f"{'; '.join(map(_in_words, life.stages))}. {_limits_in_words(life)}",
        variant=variant,
    )


def _stage(ax: Axes, row: int, stage: LifeStage, *, before: LifeStage | None) -> None:
    """Bar from minimum to maximum, a tick at the nominal, a thread down from the minimum before; words above."""
    low, mid, high = (v * FORCE.factor for v in (stage.min, stage.nominal, stage.max))
    bar = row + 0.7
    ax.barh(bar, high - low, left=low, height=0.26, color=canvas.OK, alpha=0.35, linewidth=0)
    ax.plot([mid, mid], [bar - 0.13, bar + 0.13], color=INK, linewidth=1.6)
    if before is not None:
        old = before.min * FORCE.factor
        ax.plot([old, old, low], [row - 0.0, bar, bar], color=SOFT, linewidth=0.8, linestyle=(0, (1.2, 1.5)))
    for x, side, gap in ((low, "right", -4), (high, "left", 4)):
        canvas.tag(ax, x, bar, FORCE.text(x / FORCE.factor), xytext=(gap, 0), ha=side, annotation_clip=False)
    place: dict[str, Any] = {"xycoords": ("axes fraction", "data"), "ha": "left", "annotation_clip": False}
    canvas.tag(ax, 0, row + 0.3, _title(stage, before), xytext=(1, 0), **place)


def _before(stages: Sequence[LifeStage], i: int) -> LifeStage | None:
    """The stage from which stage i was reached: one as warm, else the last one as warm as when tightened."""
    earlier = stages[:i]
    for warmth in (stages[i], stages[0]):
        alike = [s for s in earlier if (s.body_C, s.bolt_C) == (warmth.body_C, warmth.bolt_C)]
        if alike:
            return alike[-1]
    return None


def _title(stage: LifeStage, before: LifeStage | None) -> str:
    """Name, temperatures, and what changed the minimum since the stage before."""
    old = before.losses if before is not None else {}
    steps = [(cause, old.get(cause, 0.0) - lost) for cause, lost in stage.losses.items()]
    moved = ", ".join(f"{cause} {_signed(step)}" for cause, step in steps if round(step) != 0)
    return f"{stage.name}, {temperatures(stage)}" + (f": {moved}" if moved and len(moved) < 44 else "")


def _signed(newton: float) -> str:
    text = FORCE.text(newton)
    return text if text.startswith("−") else f"+{text}"


def temperatures(stage: LifeStage) -> str:
    """One temperature, or body and bolts."""
    if stage.body_C == stage.bolt_C:
        return WARM.with_unit(stage.body_C)
    return f"{WARM.text(stage.body_C)}/{WARM.with_unit(stage.bolt_C)}"


def _line(ax: Axes, force: float | None, text: str, *, dash: canvas.Dash, up: float) -> None:
    """A limit across all stages, named above the frame; left out where it lies outside the axis."""
    low, high = ax.get_xlim()
    if force is None or not low <= force * FORCE.factor <= high:
        return
    x = force * FORCE.factor
    ax.axvline(x, color=canvas.BAD, linewidth=1.3, linestyle=dash)
    right = x < 0.5 * (low + high)
    ax.annotate(
        text,
        (x, 1),
        xycoords=("data", "axes fraction"),
        xytext=(-4 if right else 4, 72 * up),
        textcoords="offset points",
        fontsize=8,
        color=canvas.BAD,
        ha="left" if right else "right",
        va="bottom",
        annotation_clip=False,
    )


def _range(results: Results) -> tuple[float, float]:
    """The same axis for every variant."""
    lives = [b for v in results.variants for b in v.preload_life]
    stages = [s for b in lives for s in b.stages]
    low = min([s.min for s in stages] + [b.needed for b in lives if b.needed is not None])
    high = max([s.max for s in stages] + [b.proof_load for b in lives])
    pad = 0.13 * (high - low) + 300.0
    return max(0.0, low - pad) * FORCE.factor, (high + pad) * FORCE.factor


def _in_words(stage: LifeStage) -> str:
    return f"{stage.name} {FORCE.text(stage.min)} to {FORCE.with_unit(stage.max)}"


def _limits_in_words(life: BoltLife) -> str:
    needed = (
        "" if life.needed is None else f"Needed to stay closed in service {FORCE.with_unit(life.needed)}. "
    )
    return f"{needed}Proof load {FORCE.with_unit(life.proof_load)}."
