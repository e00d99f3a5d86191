"""Frame and front view beside stored solids: differences bore by bore and pressure by pressure, and their statistics.

Opening and tilt are compared. Two-piece bodies are compared over their sweep (loaded minus tightened, at the stored
preload scale), onset by the first loss of contact anywhere on the joint.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from bodies import body_of_row

from stiffcalc.caliper import response
from stiffcalc.caliper.body import Body
from stiffcalc.condensed import Array
from stiffcalc.mechanics.joint_state import Pair
from stiffcalc.mechanics.opening import onset

Row = Mapping[str, str]
MODELS = ("frame", "front view")


@dataclass(frozen=True)
class Comparison:
    """One body. (P, B) = pressures and bores; P = 1 for a one-piece body. Openings um/MPa, tilts mrad/MPa."""

    name: str
    group: str
    kind: str
    pressure: Array  # (P,)
    solid_opening: Array  # (P, B)
    opening: Mapping[str, Array]  # model -> (P, B)
    solid_tilt: Array  # (P, B)
    tilt: Mapping[str, Array]
    solid_onset: float  # MPa, NaN for one-piece
    onset: Mapping[str, float]
    seconds: Mapping[str, float]  # of the solid and of the models

    def difference(self, model: str) -> Array:
        """Relative error of opening (P, B)."""
        return self.opening[model] / self.solid_opening - 1.0

    def tilt_difference(self, model: str) -> Array:
        """Relative error of tilt (P, B)."""
        return self.tilt[model] / self.solid_tilt - 1.0


def compare(row: Row, results: Iterable[Row]) -> Comparison:
    """Run both models on the body of `row` and set them beside its stored results."""
    body, preload = body_of_row(row)
    wanted = "sweep" if body.bolts else "glued"
    stored = [r for r in results if r["body"] == row["body"] and r["state"] == wanted]
    bores = len(body.outboard.bores)
    pressure = np.array([float(r["pressure_MPa"] or 1.0) for r in stored[::bores]])
    scale = float(stored[0]["preload_scale"] or 0.0)
    answers = {m: _answer(m, body, scale * preload, pressure) for m in MODELS}
    return Comparison(
        name=row["body"],
        group=row["group"],
        kind=row["kind"],
        pressure=pressure,
        solid_opening=_column(stored, "opening_um_per_MPa", bores),
        opening={m: a[0] for m, a in answers.items()},
        solid_tilt=_column(stored, "tilt_mrad_per_MPa", bores),
        tilt={m: a[1] for m, a in answers.items()},
        solid_onset=float(stored[0]["onset_MPa"] or "nan"),
        onset={m: a[2] for m, a in answers.items()},
        seconds={"solid": float(row["seconds"])} | {m: a[3] for m, a in answers.items()},
    )


def _column(rows: Sequence[Row], key: str, bores: int) -> Array:
    return np.array([float(r[key]) for r in rows]).reshape(-1, bores)


def _answer(model: str, body: Body, preload: Array, pressure: Array) -> tuple[Array, Array, float, float]:
    """Opening um/MPa (P, B), one half's tilt mrad/MPa (P, B), onset MPa, seconds."""
    began = time.perf_counter()
    pair: Pair = response.frame_pair([body]) if model == "frame" else response.front_view_pair(body)[0]
    found = response.answer(pair, [body], preload=preload[None, None], pressure=pressure)
    seconds = time.perf_counter() - began
    first = np.nan if found.tightened is None else float(onset(pair, found.tightened).pressure.min())
    per_MPa = 1e3 / pressure[:, None]
    opening, tilt = found.openings.by_bore[0, 0], found.openings.tilt[0, 0]
    return per_MPa * opening, 0.5 * per_MPa * tilt, first, seconds


def text(item: Comparison) -> str:
    """A table of one body: a line a pressure and bore."""
    lines = [
        f"{item.name} ({item.kind}, group {item.group}); seconds "
        + ", ".join(f"{k} {v:.2f}" for k, v in item.seconds.items()),
        f"{'MPa':>6} {'bore':>4} | {'solid':>8} {'frame':>8} {'diff':>7} {'front v.':>8} {'diff':>7} um/MPa"
        f" | tilt {'solid':>8} {'front v.':>8} {'diff':>7} mrad/MPa",
    ]
    frame, view = (item.difference(m) for m in MODELS)
    tilt = item.tilt_difference("front view")
    for p, b in np.ndindex(item.solid_opening.shape):
        lines.append(
            f"{item.pressure[p]:6.1f} {b:4d} | {item.solid_opening[p, b]:8.3f}"
            f" {item.opening['frame'][p, b]:8.3f} {frame[p, b]:+7.1%}"
            f" {item.opening['front view'][p, b]:8.3f} {view[p, b]:+7.1%}       "
            f" |      {item.solid_tilt[p, b]:8.4f} {item.tilt['front view'][p, b]:8.4f} {tilt[p, b]:+7.1%}"
        )
    if item.kind == "two-piece":
        lines.append(
            f"onset MPa: solid {item.solid_onset:.2f}, "
            + ", ".join(f"{m} {v:.2f}" for m, v in item.onset.items())
        )
    return "\n".join(lines)


def statistics(differences: Sequence[Array]) -> str:
    """Bias, scatter (1 s), worst and count of relative errors pooled over bodies."""
    pooled = np.concatenate([d.ravel() for d in differences])
    worst = pooled[np.abs(pooled).argmax()]
    return f"bias {pooled.mean():+6.1%}  scatter {pooled.std(ddof=1):5.1%}  worst {worst:+6.1%}  ({pooled.size} values)"


def summary(items: Sequence[Comparison]) -> str:
    """Statistics by family of bodies, kind and group."""
    lines = []
    families = dict.fromkeys((i.name.rsplit("_", 1)[0], i.kind, i.group) for i in items)
    for family, kind, group in families:
        chosen = [i for i in items if (i.name.rsplit("_", 1)[0], i.kind, i.group) == (family, kind, group)]
        lines.append(f"{family} ({kind}), {group}: {len(chosen)} bodies")
        lines += [f"  opening, {m:10s} {statistics([i.difference(m) for i in chosen])}" for m in MODELS]
        lines.append(f"  tilt,    front view {statistics([i.tilt_difference('front view') for i in chosen])}")
    return "\n".join(lines)
