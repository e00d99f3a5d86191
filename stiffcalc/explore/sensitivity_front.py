"""The largest slopes of the spread beside finite steps of the front view, and how far remeshing moves its figures."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stiffcalc.caliper.assess import Progress
from stiffcalc.errors import ConvergenceError
from stiffcalc.explore.batches import together
from stiffcalc.explore.dimensions import PER, Dimension, changed, dimensions
from stiffcalc.explore.nearby import Nearby, by_front_view, read
from stiffcalc.explore.sensitivity_results import Confirmed, Slope
from stiffcalc.study.schema import Design

CONFIRMED = 5
SAME = 1e-3  # relative
STEP_MM, STEP_SHARE = 1.0, 0.05  # mm, and at most that share of the dimension
JITTERS, JITTER_MM = 8, 0.05


def confirm(
    design: Design, ranked: Sequence[tuple[Dimension, Slope]], rho: float, seed: int, progress: Progress
) -> tuple[tuple[Confirmed, ...], float]:
    """The largest slopes, and the relative scatter of the spread by remeshing alone (1 s)."""
    noise = remeshing(design, seed=seed, progress=progress)
    here = by_front_view(design).spread
    found = []
    for d, s in _unlike(ranked)[:CONFIRMED]:
        progress(f"front view: {d.words}")
        found.append(_confirmed(design, d, s, rho=rho, noise=noise * here))
    return tuple(found), noise


def _unlike(ranked: Sequence[tuple[Dimension, Slope]]) -> list[tuple[Dimension, Slope]]:
    """Without those that do the same as the one before (rotor radius and its clearance)."""
    pairs = zip(ranked, [None, *ranked], strict=False)
    return [
        r
        for r, before in pairs
        if before is None or abs(r[1].spread - before[1].spread) > SAME * abs(r[1].spread)
    ]


def _confirmed(design: Design, d: Dimension, s: Slope, *, rho: float, noise: float) -> Confirmed:
    """One slope: central steps of both models over the same distance, so that curvature is no difference."""
    step = STEP_SHARE * abs(d.value)
    step = min(step, STEP_MM) if d.kind == "length" else step
    per = PER[d.kind][0]
    ends = [changed(design, {d: by}) for by in (step, -step)]
    frame = [_sound(found) for found in together(ends, read)]
    front = [by_front_view(end).spread for end in ends]
    return Confirmed(
        path=d.path,
        words=d.words,
        per=s.per,
        frame=rho * (frame[0] - frame[1]) / (2.0 * step) * per,
        front_view=(front[0] - front[1]) / (2.0 * step) * per,
        noise=float(noise / (np.sqrt(2.0) * step) * per),
        step=step,
    )


def remeshing(design: Design, *, seed: int, progress: Progress) -> float:
    """Scatter of front view / frame over bodies whose lengths all move by chance, up to `JITTER_MM`: the mesh's."""
    progress(f"front view: remeshing noise, {JITTERS} bodies")
    draw = np.random.default_rng(seed)
    lengths = [d for d in dimensions(design) if d.kind == "length"]
    near = [
        changed(design, {d: draw.uniform(-JITTER_MM, JITTER_MM) for d in lengths}) for _ in range(JITTERS)
    ]
    frame = np.array([_sound(found) for found in together(near, read)])
    front = np.array([by_front_view(n).spread for n in near])
    return float(np.std(front / frame, ddof=1) / np.mean(front / frame))


def _sound(found: Nearby | ConvergenceError) -> float:
    if isinstance(found, ConvergenceError):
        raise found
    return found.spread
