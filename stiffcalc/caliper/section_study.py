"""The job: the sections through the bridges of one layout of a study. No files, no printing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from stiffcalc.caliper.assess import CAUTIONS, LEFT_OUT, Progress, catalogue_notes, silent, solved
from stiffcalc.caliper.cases import Layout
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.caliper.section_corners import sharp
from stiffcalc.caliper.section_model import LOOSE, SectionModel, section_model
from stiffcalc.caliper.section_own import own_section
from stiffcalc.caliper.section_read import Reading
from stiffcalc.caliper.section_results import OwnResult, SectionResult, SectionResults, trust
from stiffcalc.caliper.section_solve import solve_section
from stiffcalc.caliper.section_states import CutState, probe, states
from stiffcalc.caliper.section_whole import drawing, first_opening, flexibility, hole_change, idle
from stiffcalc.catalogue.rows import nearest
from stiffcalc.errors import Fault, InputError
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.plane.section.curves import Outline
from stiffcalc.plane.section.peak import ACCURACY
from stiffcalc.study.lookup import design_named
from stiffcalc.study.schema import Design, OwnSection, Study
from stiffcalc.version import __version__

NOTES = (
    "The section carries N and Mx of this bridge only. My and the arch are added to the fillet's stress by beam "
    "theory; bending and twist of the wall in plan and the pressure in the bores are not in it, so metal that idles "
    "here may work there.",
    "Fatigue: von Mises stress of half the change under pressure against the smooth-bar value at 5e8 cycles, scaled "
    "with the ultimate strength at temperature and lowered in proportion to the mean. Surface, size, corrosion and "
    "casting are not in it.",
)
LEFT_OUT_HERE = (
    "Not in any section: drillings and seal grooves of ports, reliefs and lands of joint faces, dowels, and whatever "
    "lies beside the strip. Halves mirror each other at z = 0 only: an inclined joint face or plane of symmetry is not "
    "modelled."
)


def sections(
    study: Study,
    *,
    bridge: str | None = None,
    variant: str | None = None,
    outlines: Mapping[str, Outline] | None = None,
    accuracy: float = ACCURACY,
    front_view: bool = True,
    progress: Progress = silent,
) -> SectionResults:
    """The sections through the bridges of one layout (by default the first), each half that differs, and own ones.

    bridge: name of a bridge or of a [section.NAME], None for all; outlines: of the own sections by name. Bridges that
    have no section are named in the notices, unless `bridge` asks for one of them. Raises InputError for unknown names
    and sections that cannot be, MissingToolError without gmsh, ConvergenceError where contact or a joint's equilibrium
    is not found.
    """
    contradictions = tuple(torque_faults(study))
    if contradictions:
        raise InputError(contradictions)
    design = design_named(study, variant) if variant else study.designs[0]
    wanted, owns = named(study, design, bridge)
    own = _owned(owns, outlines or {}, design, accuracy=accuracy, progress=progress)
    found, left_out, model = through(
        design,
        wanted=wanted,
        accuracy=accuracy,
        front_view=front_view,
        strict=bridge is not None,
        progress=progress,
    )
    if not found and not own:
        raise InputError([Fault("sections", "; ".join(left_out), "a bridge that has a section", "see above")])
    return SectionResults(
        title=study.title,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        layout=design.name,
        cautions=CAUTIONS,
        notes=NOTES,
        notices=(*(() if front_view else (LEFT_OUT,)), *left_out, LEFT_OUT_HERE, *catalogue_notes(study)),
        inputs=study.source,
        model=model,
        sections=found,
        own=own,
    )


def _owned(
    owns: Sequence[OwnSection],
    outlines: Mapping[str, Outline],
    design: Design,
    *,
    accuracy: float,
    progress: Progress,
) -> tuple[OwnResult, ...]:
    """The study's own sections."""
    found = []
    for o in owns:
        progress(f"own section {o.name}")
        found.append(own_section(o, outlines[o.name], design, accuracy=accuracy))
    return tuple(found)


def through(
    design: Design,
    *,
    wanted: Sequence[int],
    accuracy: float,
    front_view: bool,
    strict: bool,
    progress: Progress = silent,
) -> tuple[tuple[SectionResult, ...], list[str], str]:
    """Sections through bridges, what has none, and the model that gave the forces; `strict`: having none is a fault."""
    if not wanted:
        return (), [], ""
    layout, _ = solved(design, with_front_view=front_view and not unavailable())
    found: list[SectionResult] = []
    left_out: list[str] = []
    for i in wanted:
        for side in ("inboard",) if layout.body.symmetric else ("inboard", "outboard"):
            progress(f"{design.caliper.bridges[i].name}, {side}")
            try:
                found.append(section(layout, i, side=side, accuracy=accuracy))
            except InputError as error:
                if strict:
                    raise
                left_out += [f"no section: {fault}" for fault in error.faults]
    return tuple(found), left_out, layout.headline


def named(study: Study, design: Design, name: str | None) -> tuple[list[int], list[OwnSection]]:
    """Bridges (index) and own sections of that name, or all of them. Raises InputError for an unknown name."""
    bridges = [b.name for b in design.caliper.bridges]
    if name is None:
        return list(range(len(bridges))), list(study.sections)
    own = [s for s in study.sections if s.name == name]
    if name not in bridges and not own:
        known = [*bridges, *(s.name for s in study.sections)]
        close = nearest(name, known)
        mend = f'write "{close}"' if close else "take one of these"
        raise InputError([Fault("--bridge", f'"{name}"', ", ".join(known), mend)])
    return [i for i, b in enumerate(bridges) if b == name], own


def section(layout: Layout, bridge: int, *, side: str, accuracy: float = ACCURACY) -> SectionResult:
    """The section through one bridge of one half, all load cases; errors as `reading`."""
    return described(reading(layout, bridge, side=side, accuracy=accuracy))


def reading(layout: Layout, bridge: int, *, side: str, accuracy: float = ACCURACY) -> Reading:
    """One section solved in every load case, its fillet's peak known to `accuracy`.

    Raises InputError for a bridge that has none (a bar on pads, a face without bolts) and where no load case is held.
    """
    model, found = cut(layout, bridge, side=side)
    probes = probe(layout, model, bridge) if model.jointed else ()
    every = tuple({s.name: s for s in (*found, *probes)}.values())
    return Reading(layout, model, bridge, every, solve_section(model, every, accuracy=accuracy))


def cut(layout: Layout, bridge: int, *, side: str) -> tuple[SectionModel, tuple[CutState, ...]]:
    """The model of one section and the states it is asked for; errors as `reading`."""
    loose = layout.design.caliper.bridges[bridge].kind == "bolted-in"
    model = section_model(layout.body, bridge, side=side, loose=loose)
    found = states(layout, model, bridge)
    _refuse(model, found)
    return model, found


def described(r: Reading) -> SectionResult:
    """Everything a solved section is asked for."""
    model, done, drawn = r.model, r.solved, drawing(r)
    return SectionResult(
        bridge=model.bridge,
        side=model.side,
        kind=model.kind,
        x=model.x,
        width=model.width,
        height=model.height,
        y_r=model.y_r,
        fillet_mm=model.fillet,
        cuts=model.cuts,
        trust=trust(done.peak) if done.peak else None,
        hole_change=hole_change(r),
        flexibility=flexibility(r),
        onset=first_opening(r) if model.jointed else None,
        idle=idle(r, drawn.used),
        sharp_corners=_sharp(model),
        load_cases=r.cases(),
        notes=tuple(_notes(r.layout, model, r.bridge)),
        drawing=drawn,
    )


def _sharp(model: SectionModel) -> tuple[tuple[float, float], ...]:
    """Sharp corners but those by the bridge's underside and top, which have words of their own."""
    crown = (model.gap, model.y_r + model.height / 2)
    return sharp(model.parts, but=[crown, *([model.corner] if model.corner else [])])


def _refuse(model: SectionModel, found: Sequence[CutState]) -> None:
    where = f"bridge {model.bridge!r}"
    if model.jointed and not model.clamps:
        told = "a joint face without bolts"
        raise InputError(
            [Fault(where, told, "bolts that clamp it", "add [[caliper.bolt]] or make it integral")]
        )
    if not any(s.case for s in found):
        told = "no load case in which the halves hold together"
        raise InputError([Fault(where, told, "a joint that holds", "see: stiffcalc assess")])


def _notes(layout: Layout, model: SectionModel, bridge: int) -> list[str]:
    shape, notes = layout.body.bridges[bridge], []
    if shape.reliefs or shape.land:
        notes.append("Reliefs and lands of the joint face are left out: the whole height may touch.")
    if any(p.bridge == bridge for p in layout.body.ports):
        notes.append(
            "The port's seal groove and its fluid's push are left out here; the frame's forces know the push."
        )
    if model.kind == LOOSE:
        notes.append(
            "The bridge's end is a flat punch on the wall: pressure at an edge that stays closed grows as the mesh is "
            "refined; resultants and onset do not hang on it."
        )
    if model.jointed:
        notes.append(
            "Bolts and metal keep their ratio of moduli at 20 °C; movements at temperature are scaled with the body's."
        )
    return notes
