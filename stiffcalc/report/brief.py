"""The analyst's brief: one page of A4 that says what the package holds, what to expect and what is open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from importlib import resources
from string import Template

import numpy as np

from stiffcalc.caliper.accuracy import WORST
from stiffcalc.caliper.results import CaseResult
from stiffcalc.handover.expected import fillet_share, onset_share
from stiffcalc.handover.job import Job
from stiffcalc.handover.package import WHAT
from stiffcalc.handover.questions import UNSEEN, notes, open_questions
from stiffcalc.handover.tables import tables
from stiffcalc.quantities import quantity
from stiffcalc.report import words
from stiffcalc.report.blocks import Html, bullets, element, text
from stiffcalc.report.brief_plots import axes_and_points
from stiffcalc.study.schema import LoadCase

HINT = "Changes over the step of pressure; opening: mean of two facing floors; tilt: its slope over y on the mouths."
MOST = 5  # limits and notes shown; the tables have all


def render(job: Job) -> str:
    """The brief as HTML text."""
    here = resources.files("stiffcalc.report")
    r = job.results
    return Template((here / "brief.html").read_text(encoding="utf-8")).substitute(
        title=text(f"Hand-over to solid FE: {job.design.name}"),
        meta=text(f"{r.title} · study {r.sha256[:12]} · stiffcalc {r.version} · mm, N, MPa, °C"),
        caution=text(" ".join(r.cautions)),
        drawing=Html(axes_and_points(job).svg),
        expected=_expected(job),
        sections=Html("".join(_sections(job))),
    )


def _expected(job: Job) -> Html:
    head = [
        "load case",
        "body / screws" if job.model.a.screws else "body",
        quantity("pressure").label,
        quantity("clamp_force").label,
        "drag",
        f"{quantity('spread').label} (band)",
        f"{quantity('opening').words} by bore, µm",
        f"{quantity('tilt_by_bore').words}, mrad",
        "onset, MPa",
    ]
    rows = [[*_case(job, case), *_answer(job, a)] for case, a in job.cases]
    section = [element("h2", "Expected"), _table(head, rows), element("p", f"{HINT} {_bands(job)}")]
    return element("section", *section, class_="wide")


def _case(job: Job, case: LoadCase) -> list[str]:
    screws = f" / {case.bolt_temperature_C:g}" if job.model.a.screws else ""
    return [
        f"{case.name} ({case.kind})",
        f"{case.body_temperature_C:g}{screws} °C".replace("-", "−"),
        quantity("pressure").text(case.pressure),
    ]


def _answer(job: Job, a: CaseResult) -> list[str]:
    spread, share = quantity("spread"), WORST.get((a.model, "opening", job.bolted), 0.0)
    drag = next(c.drag for c, other in job.cases if other is a)
    band = ""
    if a.spread is not None:
        low, high = a.spread * (1 - share - fillet_share(job)), a.spread * (1 + share)
        band = f" ({spread.text(low)} to {spread.text(high)})"
    onsets = [j.onset_MPa for j in a.joints if np.isfinite(j.onset_MPa)]
    return [
        quantity("clamp_force").text(a.clamp_force),
        "both pads" if drag else "no",
        f"{spread.text(a.spread)}{band}",
        ", ".join(quantity("opening").text(v) for v in a.by_bore) or "not held",
        ", ".join(quantity("tilt_by_bore").text(v) for v in a.tilt_by_bore or ()) or "–",
        ", ".join(quantity("onset_MPa").text(v) for v in onsets) or "–",
    ]


def _bands(job: Job) -> str:
    """Bands in words."""
    model = job.answer.load_cases[0].model
    parts = [f"opening ±{100 * WORST[(model, 'opening', job.bolted)]:.1f} %"]
    if (model, "tilt", job.bolted) in WORST:
        parts.append(f"tilt ±{100 * WORST[(model, 'tilt', job.bolted)]:.1f} %")
    if job.bolted:
        share, known = onset_share(job, job.answer.load_cases[0])
        parts.append(f"onset ±{100 * share:.0f} % ({known})")
    less = fillet_share(job)
    fillets = f"; fillets, not in the screening, may stiffen by {100 * less:.1f} % more" if less else ""
    worst = f"the {model}'s worst difference from solids of the same idealised bodies"
    return f"Bands: {worst}: {', '.join(parts)}{fillets}."


def _sections(job: Job) -> Iterator[Html]:
    yield _section("Open questions", bullets(open_questions(job)))
    yield _section("What the screening cannot see", bullets(UNSEEN))
    if job.model.a.screws:
        yield _section("Preload", _preload(job))
    yield _section("Order of loading", element("p", _order(job)))
    yield _section("Mesh", element("p", _mesh(job)))
    yield _section(
        "Acceptance: least margins of the screening", _limits(job), element("p", "All: limits.csv.")
    )
    if said := notes(job):
        more = [f"{len(said) - MOST} more in manifest.json."] if len(said) > MOST else []
        yield _section("Notes", bullets([*said[:MOST], *more]))
    yield _section("Files", element("p", _files(job)))


def _section(title: str, *content: Html) -> Html:
    return element("section", element("h2", title), *content)


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> Html:
    top = element("thead", element("tr", *(element("th", h, scope="col") for h in head)))
    lines = (
        element("tr", element("th", r[0], scope="row"), *(element("td", c) for c in r[1:])) for r in rows
    )
    return element("table", top, element("tbody", *lines))


def _preload(job: Job) -> Html:
    """Stages over all screws along z; equal ends in one line."""
    lives = job.answer.preload_life
    if not lives:
        return element("p", "Screws of bars as tightened: preloads.csv.")
    q = quantity("preload_min")
    rows = []
    for k, stage in enumerate(lives[0].stages):
        own = [b.stages[k] for b in lives]
        low, high = min(s.min for s in own), max(s.max for s in own)
        nominal = sum(s.nominal for s in own) / len(own)
        warm = f"{stage.body_C:g} / {stage.bolt_C:g}".replace("-", "−")
        rows.append([stage.name, warm, q.text(low), q.text(nominal), q.text(high)])
    torque = sorted({quantity("torque_Nm").text(b.torque.total) for b in lives})
    unit = quantity("torque_Nm").shown
    found = _table(["stage", "body / screws, °C", f"min, {q.shown}", "nominal", "max"], rows)
    return Html(
        found + element("p", f"Over all screws; torque {', '.join(torque)} {unit}; each: preloads.csv.")
    )


def _order(job: Job) -> str:
    first = "Tighten (20 °C), settle, " if job.model.a.screws else ""
    friction = f"{job.design.caliper.joint_friction:g}"
    if job.design.caliper.joint_friction_high != job.design.caliper.joint_friction:
        friction += f" to {job.design.caliper.joint_friction_high:g}"
    contact = f" Clamp faces: contact, friction {friction}; heads: contact; threads: tied." if first else ""
    return f"{first}temperature, pressure, drag, unload; by load case in steps.csv.{contact} {_shown(job)}"


def _shown(job: Job) -> str:
    """Which steps have expected figures, and why the others have none."""
    drag = any(case.drag for case in job.design.load_cases)
    have = ["pressure", *(["drag (reactions)"] if drag else [])]
    none = ["what stays after unloading (all is elastic here)", *(["openings under drag"] if drag else [])]
    if job.model.a.screws:
        have.insert(0, "temperature (bolt forces)")
        none.insert(0, "tightening and settling (preloads are inputs)")
    return f"Expected figures: {', '.join(have)}. None for {', '.join(none)}: reasons in expected.csv."


def _mesh(job: Job) -> str:
    mesh, q = job.model.mesh, job.model.mesh.quality
    return (
        f"{q.elements} ten-node tetrahedra, {len(mesh.nodes)} nodes, general size {job.size:g} mm. Scaled Jacobian: "
        f"worst {q.worst:.3f}, 1 % below {q.one_percent:.2f}, median {q.median:.2f}; elements below 0.1: {q.poor}; "
        f"folded over: {q.folded}. Where faces run out at no angle, or a web is thinner than its arcs are high, "
        f"{q.unbent} middle nodes lie up to {q.unbent_mm:.2g} mm nearer to their chord. "
        "Numbers and names of sets: sets.csv."
    )


def _limits(job: Job) -> Html:
    found = [(c, a) for a in job.answer.load_cases for c in a.checks if np.isfinite(c.margin)]
    found.sort(key=lambda pair: pair[0].margin)
    seen: set[str] = set()
    rows: list[list[str]] = []
    for c, a in found:
        if c.id not in seen and len(rows) < MOST:
            seen.add(c.id)
            rows.append([c.what, a.name, words.measured(c.allowed, c.unit), words.margin(c)])
    return _table(["check", "load case", "limit", "margin"], rows)


def _files(job: Job) -> str:
    """Every file that says something: tables of screws and contacts are empty for a body in one piece."""
    left_out = {"brief.html", *(name for name, rows in tables(job).items() if len(rows) == 1)}
    listed = [f"{name} ({what})" for name, what in WHAT.items() if name not in left_out]
    return "; ".join((*listed, "mesh.* (ten-node tetrahedra); manifest.json (hashes, self-check)")) + "."
