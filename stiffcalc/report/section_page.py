"""The page of sections: self-contained, pictures first, every figure with what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources

from stiffcalc.caliper.section_results import OwnResult, SectionCase, SectionResult, SectionResults, Surface
from stiffcalc.quantities import quantity
from stiffcalc.report import blocks, section_plots, section_tables, words
from stiffcalc.report.blocks import Html, element, text
from stiffcalc.report.frame import frame

WORDS = ("wall", "bridge", "clamp plane", "onset pressure", "margin", "frame", "front view")
SUMMARY_HINT = (
    "Worst end of the preload. The fillet's stress contains what My and the arch add; 'section alone' is the plane "
    "figure. At rest: the largest as tightened, without pressure; yield, at temperature, is asked of the greater "
    "stress. A dash: this kind of load case lets a notch yield, or no fatigue value is known."
)
PICTURES_HINT = (
    "Stress: the state that uses the metal most; the ring marks the fillet's worst place. Use: over all load cases. "
    "Red: where heads press; dash-dotted: bolts."
)
HOW = (
    "The plane is radial-axial through the bridge's mid x; the section is a strip as wide as the bridge, thinner where "
    "bores, pockets and bolt holes take their part of it. One half is modelled: at the mid-plane an integral bridge "
    "does not move along z, a joint face presses on it without friction, and a separate bridge presses on the wall.",
    "Loads: the bridge's own N and Mx from the response, taken up by the wall's metal, even force and a moment in "
    "proportion to the distance from its centroid, so that the cut carries exactly N and Mx. Bolts are bars from the "
    "head to the mid-plane at the preload of the case's own temperature.",
    "Six-node triangles in plane stress, refined where the estimated error is largest until the fillet's peak holds to "
    "the asked accuracy; then three meshes of like grading give the observed order. Stress at nodes is recovered from "
    "patches of elements, zones of different thickness apart.",
    "Against 3-D solids of whole bodies under their own N, Mx and My (studies/solid_check/section_fillets.py): fillet "
    "stress 1.02 ± 0.01 of the solid's under centre bridges, 1.04 ± 0.08 (0.98 to 1.23) under end bridges, 4 mm and "
    "more from the bridge's side edges. A comparison with computed solids, not with measured stress.",
    "Edge of a bolt hole: stress along the bolt as in the strip, across it times the factor of a hole in a plate of "
    "finite width, shear along it twice; not within a head's radius of the head.",
)


def render(results: SectionResults) -> str:
    """The page as HTML text."""
    here = resources.files("stiffcalc.report")
    names = [section_tables.title(s) for s in results.sections] + [o.name for o in results.own]
    anchors = [element("a", n, href=f"#section-{i}") for i, n in enumerate(names, start=1)]
    bodies = [_section(s, i) for i, s in enumerate(results.sections, start=1)]
    bodies += [_own(o, i) for i, o in enumerate(results.own, start=len(bodies) + 1)]
    model = f" · forces from the {results.model}" if results.model else ""
    return frame("section.html").substitute(
        title=text(f"{results.title}: sections of '{results.layout}'"),
        css=(here / "page.css").read_text(encoding="utf-8"),
        note=text(results.note),
        meta=text(f"stiffcalc {results.version} · study {results.sha256[:12]}{model}"),
        cautions=Html("".join(element("p", c) for c in results.cautions)),
        verdict=text(section_tables.verdict(results)),
        notices=blocks.bullets(results.notices, class_="notices") if results.notices else "",
        summary=_summary(results),
        summary_hint=text(SUMMARY_HINT),
        nav=Html(" ".join(anchors)),
        sections=Html("".join(bodies)),
        how=blocks.bullets([*HOW, *results.notes]),
        inputs=text("\n".join(blocks.lines_of(results.inputs))),
        glossary=element("dl", *(Html(element("dt", w) + element("dd", words.GLOSSARY[w])) for w in WORDS)),
    )


def _summary(results: SectionResults) -> Html:
    """A row a surface and load case."""
    keys = tuple(f"surface.{k}" for k in ("stress", "section_stress", "error", "rest", "yield_MPa"))
    head = ["section", "surface", "load case", *(quantity(k).label for k in keys), "margin, yield"]
    head += [quantity(f"surface.{k}").label for k in ("amplitude", "endurance")] + ["margin, fatigue"]
    rows: list[list[str | Html]] = []
    for where, kind, case, s in section_tables.surfaces(results):
        stress = [quantity(k).text(getattr(s, k.partition(".")[2])) for k in keys]
        fatigue = [quantity(f"surface.{k}").text(getattr(s, k)) for k in ("amplitude", "endurance")]
        yields = _margin(s.yield_margin if s.judged else None)
        rows.append(
            [
                where,
                section_tables.SURFACES[kind],
                case.name,
                *stress,
                yields,
                *fatigue,
                _margin(s.fatigue_margin),
            ]
        )
    return blocks.table("Fillets and bolt holes against their limits", head, rows, class_="numbers")


def _margin(value: float | None) -> str | Html:
    shown = quantity("margin").with_unit(value)
    if value is not None and value < 0:
        return element("span", f"✕ {shown} not met", class_="margin missed")
    return shown


def _section(s: SectionResult, number: int) -> Html:
    """One section through a bridge."""
    what, id = f"the section through {section_tables.title(s)}", str(number)
    peak = _worst_place(s)
    pictures = [
        section_plots.stress(s.drawing, what=what, id=id, peak=peak),
        section_plots.use(s.drawing, s.idle, what=what, id=id),
        section_plots.face(s, id=id),
        section_plots.mesh(s.drawing, what=what, id=id),
    ]
    figures = [blocks.figure(p, p.title) for p in pictures if p is not None]
    return element(
        "section",
        element("h2", section_tables.title(s).capitalize(), id=f"section-{number}"),
        element("p", f"{s.kind.capitalize()}; plane x = {s.x:g} mm, strip {s.width:g} mm wide."),
        blocks.bullets([*s.cuts, *_findings(s)]),
        element("p", PICTURES_HINT, class_="hint"),
        element("div", *figures, class_="row"),
        _forces(s),
        blocks.bullets(s.notes, class_="notices") if s.notes else "",
        aria_labelledby=f"section-{number}",
    )


def _worst_place(s: SectionResult) -> tuple[float, float] | None:
    found = [c.fillet for c in s.load_cases if c.fillet is not None]
    worst = max(found, key=lambda f: f.section_stress, default=None)
    return None if worst is None else (worst.z, worst.y)


def _findings(s: SectionResult) -> list[str]:
    """What a section says besides its load cases."""
    said = [f"Fillet, section alone: {s.trust.sentence}."] if s.trust else []
    for case in s.load_cases:
        if case.corner_stress is not None and s.trust is not None:
            at = quantity("section.corner_stress").with_unit(case.corner_stress)
            said.append(f"{case.name}: von Mises {at} at {s.trust.distance:g} mm from the sharp corner.")
    if s.hole_change is not None:
        change = quantity("section.hole_change").with_unit(s.hole_change)
        said.append(f"Bolt holes: largest stress moved by {change} from a mesh of twice the sides.")
    if s.sharp_corners:
        told = section_tables.corners(s)
        said.append(f"{told[0].upper()}{told[1:]}.")
    if s.onset is not None:
        first, share = section_tables.opening, quantity("onset.open_when_tightened")
        said.append(
            f"First loss of contact, 20 °C, minimum preload: section {first(s.onset.section)}, joint "
            f"{first(s.onset.joint)}, joint without My {first(s.onset.joint_without_My)}; open when "
            f"tightened: {share.with_unit(s.onset.open_when_tightened)}. The section smears bolts over the width and "
            "knows no corners of the arch, so it opens later."
        )
    if s.flexibility is not None:
        turn, lift = quantity("flexibility.turn_per_Mx"), quantity("flexibility.w_per_N")
        f = s.flexibility
        said.append(
            f"Wall behind the bridge, face closed: {turn.with_unit(f.turn_per_Mx)} (bridge and root by closed form "
            f"{turn.text(f.closed_turn_per_Mx)}), {lift.with_unit(f.w_per_N)} ({lift.text(f.closed_w_per_N)})."
        )
    share, mass = quantity("idle.volume_share"), quantity("idle.mass_kg")
    said.append(
        f"Idle: {share.with_unit(s.idle.volume_share)} of the section's metal, {mass.with_unit(s.idle.mass_kg)} of the "
        f"strip, stays below {quantity('idle.below').with_unit(s.idle.below)} of the allowed stress in every load case."
    )
    return said


def _forces(s: SectionResult) -> Html:
    """What passes through the cut, and how the wall turns."""
    keys = ("N", "Mx", "bridge_My", "bolts", "bolts_section", "rotation", "rotation_closed", "balance")
    head = ["load case", "preload", *(quantity(f"cut.{k}").label for k in keys)]
    rows: list[Sequence[str | Html]] = [
        [_case(c), e.preload or "–", *(quantity(f"cut.{k}").text(getattr(e, k)) for k in keys)]
        for c in s.load_cases
        for e in c.ends
    ]
    return blocks.table("Through the cut, one half", head, rows, class_="numbers")


def _case(case: SectionCase) -> str:
    return f"{case.name} ({case.kind}, {quantity('section.pressure').with_unit(case.pressure)})"


def _own(o: OwnResult, number: int) -> Html:
    """One section with its own outline."""
    what, id = f"the own section {o.name}", str(number)
    worst: Surface = max((c.worst for c in o.load_cases), key=lambda w: w.stress)
    pictures = [
        section_plots.stress(o.drawing, what=what, id=id, peak=(worst.z, worst.y)),
        section_plots.use(o.drawing, o.idle, what=what, id=id),
        section_plots.mesh(o.drawing, what=what, id=id),
    ]
    idle, below = (
        quantity("idle.volume_share").with_unit(o.idle.volume_share),
        quantity("idle.below").with_unit(o.idle.below),
    )
    said = [
        f"Outline from {o.outline}, {o.thickness:g} mm thick, {o.material}.",
        f"{o.trust.sentence}.",
        f"Idle: {idle} of the metal stays below {below} of the allowed stress in every load case.",
        *o.notes,
    ]
    return element(
        "section",
        element("h2", f"Own section: {o.name}", id=f"section-{number}"),
        blocks.bullets(said),
        element("p", PICTURES_HINT, class_="hint"),
        element("div", *(blocks.figure(p, p.title) for p in pictures), class_="row"),
        aria_labelledby=f"section-{number}",
    )
