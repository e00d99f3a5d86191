"""Frame and front view beside stored solids: differences bore by bore and pressure by pressure, and their statistics.

Opening and tilt are compared. Two-piece bodies are compared over their sweep (loaded minus tightened, at the stored
preload scale), with the bolts' forces beyond their preload, the share of the joint in contact, and onset: the first
loss of contact anywhere on the joint.
"""

from __future__ import annotations

import json
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from bodies import body_of_row

from stiffcalc.caliper import idealise, response
from stiffcalc.caliper.body import Body
from stiffcalc.condensed import Array
from stiffcalc.mechanics.clamp_plane import open_fraction
from stiffcalc.mechanics.faces import closed_stiffness, make_faces
from stiffcalc.mechanics.joint_state import Pair
from stiffcalc.mechanics.opening import onset

Row = Mapping[str, str]
MODELS = ("frame", "front view")
REAL_ONSET_MPa = 1.0  # below, the solid's face is all but open when tightened
WHOLE = 0.999  # share of the face in contact


@dataclass(frozen=True)
class Clamped:
    """What only a two-piece body shows: over P pressures with J bolts. N, MPa."""

    increment: Array  # (P, J) bolt forces beyond the preload
    contact: Array  # (P,) share of the joint's area
    onset: float


@dataclass(frozen=True)
class Answered:
    """One model's answer: opening um/MPa and one half's tilt mrad/MPa (P, B); seconds it took."""

    opening: Array
    tilt: Array
    clamped: Clamped | None
    seconds: float


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
    solid_clamped: Clamped | None  # None for one-piece
    clamped: Mapping[str, Clamped]  # model -> , empty for one-piece
    seconds: Mapping[str, float]  # of the solid and of the models

    def difference(self, model: str) -> Array:
        """Relative error of opening (P, B)."""
        return self.opening[model] / self.solid_opening - 1.0

    def tilt_difference(self, model: str) -> Array:
        """Relative error of tilt (P, B)."""
        return self.tilt[model] / self.solid_tilt - 1.0

    def increment_difference(self, model: str) -> Array:
        """Error of bolt forces beyond the preload (P, J), N."""
        assert self.solid_clamped is not None
        return self.clamped[model].increment - self.solid_clamped.increment

    def onset_difference(self, model: str) -> float:
        """Relative error of onset."""
        assert self.solid_clamped is not None
        return self.clamped[model].onset / self.solid_clamped.onset - 1.0


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
        solid_opening=stored_openings(stored, bores),
        opening={m: a.opening for m, a in answers.items()},
        solid_tilt=_column(stored, "tilt_mrad_per_MPa", bores),
        tilt={m: a.tilt for m, a in answers.items()},
        solid_clamped=stored_clamped(stored[::bores]) if body.bolts else None,
        clamped={m: a.clamped for m, a in answers.items() if a.clamped is not None},
        seconds={"solid": float(row["seconds"])} | {m: a.seconds for m, a in answers.items()},
    )


def stored_clamped(rows: Sequence[Row]) -> Clamped:
    """Onset is stored for the bonded face; where the real one gapes when tightened it has none above zero."""
    gapes = float(rows[0]["tightened_contact"]) < WHOLE
    return Clamped(
        increment=np.array([json.loads(r["bolt_increment_N"]) for r in rows]),
        contact=np.array([float(r["contact_fraction"]) for r in rows]),
        onset=0.0 if gapes else float(rows[0]["onset_MPa"]),
    )


def stored_openings(rows: Sequence[Row], bores: int) -> Array:
    """um/MPa (P, B)."""
    return _column(rows, "opening_um_per_MPa", bores)


def _column(rows: Sequence[Row], key: str, bores: int) -> Array:
    return np.array([float(r[key]) for r in rows]).reshape(-1, bores)


def _answer(model: str, body: Body, preload: Array, pressure: Array) -> Answered:
    began = time.perf_counter()
    pair: Pair = response.frame_pair(body) if model == "frame" else response.front_view_pair(body)[0]
    found = response.answer(pair, body, preload=preload[None, None], pressure=pressure)
    seconds = time.perf_counter() - began
    per_MPa = 1e3 / pressure[:, None]
    opening, tilt = found.openings.by_bore[0, 0], found.openings.tilt[0, 0]
    return Answered(per_MPa * opening, 0.5 * per_MPa * tilt, _clamped(pair, body, found), seconds)


def _clamped(pair: Pair, body: Body, found: response.Answer) -> Clamped | None:
    if found.tightened is None:
        return None
    shapes = idealise.bridges(body)
    area = closed_stiffness(make_faces(shapes, layer=shapes.E))[0, :, 0, 0]  # a foundation of 1
    jointed = list(pair.jointed)
    opened = open_fraction(pair, found.loaded)[0, 0][:, jointed] @ area[jointed] / area[jointed].sum()
    first = float(onset(pair, found.tightened).pressure.min())
    return Clamped(increment=found.change.bolt[0, 0], contact=1.0 - opened, onset=first)


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
    return "\n".join(lines + _clamped_text(item))


def _clamped_text(item: Comparison) -> list[str]:
    """A line a pressure: share of the joint in contact, and each bolt's force beyond its preload; then onset."""
    solid = item.solid_clamped
    if solid is None:
        return []
    lines = [
        f"{'MPa':>6} contact: solid frame front v. | bolts' increments kN: solid; frame; front view | worst error kN"
    ]
    for p, pressure in enumerate(item.pressure):
        all_of = [solid, *(item.clamped[m] for m in MODELS)]
        contact = " ".join(f"{c.contact[p]:8.3f}" for c in all_of)
        bolts = "; ".join(" ".join(f"{1e-3 * v:+6.2f}" for v in c.increment[p]) for c in all_of)
        worst = " ".join(f"{1e-3 * np.abs(item.increment_difference(m)[p]).max():5.2f}" for m in MODELS)
        lines.append(f"{pressure:6.1f} {contact} | {bolts} | {worst}")
    found = ", ".join(f"{m} {c.onset:.2f}" for m, c in item.clamped.items())
    return [*lines, f"onset MPa: solid {solid.onset:.2f}, {found}"]


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
        if kind == "two-piece":
            lines += [f"  {line}" for m in MODELS for line in _clamped_summary(chosen, m)]
    return "\n".join(lines)


def _clamped_summary(items: Sequence[Comparison], model: str) -> list[str]:
    """How far bolt forces, contact and onset are off."""
    force = 1e-3 * np.abs(np.concatenate([i.increment_difference(model).ravel() for i in items]))
    touch = np.concatenate(
        [np.repeat(i.solid_clamped.contact > 0.5, i.solid_clamped.increment.shape[1]) for i in items]
    )
    contact = np.concatenate([i.clamped[model].contact - i.solid_clamped.contact for i in items])
    real = [i for i in items if i.solid_clamped.onset > REAL_ONSET_MPa]
    error = np.abs([i.onset_difference(model) for i in real])
    return [
        f"bolts,   {model:10s} 95 % within {np.quantile(force, 0.95):.2f} kN  worst {force.max():.2f} kN"
        f"  within 0.4 kN {np.mean(force <= 0.4):.1%}; while half of the joint touches"
        f" {np.mean(force[touch] <= 0.4):.1%}, worst {force[touch].max(initial=0.0):.2f} kN  ({force.size} values)",
        f"contact, {model:10s} bias {contact.mean():+.3f}  scatter {contact.std(ddof=1):.3f}"
        f"  worst {contact[np.abs(contact).argmax()]:+.3f}",
        f"onset,   {model:10s} within 10 %: {(error <= 0.1).sum()}, within 20 %: {(error <= 0.2).sum()}"
        f" of {len(real)} bodies with a solid's onset above {REAL_ONSET_MPa:g} MPa",
    ]
