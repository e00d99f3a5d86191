"""What is left open, what is left out of the solids, and what a screening cannot see: sentences for the brief."""

from __future__ import annotations

from collections.abc import Iterator

from stiffcalc.handover.job import Job

UNSEEN = (
    "peak stresses: notches, threads, bore edges, port drillings, fillets but for a handbook factor",
    "mounting and knuckle: the body floats free; reaction to drag and its twist are not in any opening",
    "yield, creep and slip: everything is elastic, joint faces are frictionless, losses are entered shares",
    "bending of bolts, waviness of faces, castings' defects and residual stresses",
    "temperature other than even in the body and even in the screws; seals, piston tilt, pad wear shape",
)


def open_questions(job: Job) -> tuple[str, ...]:
    """What somebody must decide before the solid model means the real part."""
    return tuple(_open(job))


def _open(job: Job) -> Iterator[str]:
    c, cases = job.design.caliper, job.design.load_cases
    others = " (from d on those of parts bolted on)" if "support_d" in job.model.nodes else ""
    stop = f"supports a, b, c{others} only stop rigid motion."
    if c.lugs:
        yield f"Lugs' bolts and the knuckle are not defined, bearing and bolt tension are not checked: {stop}"
    else:
        yield f"Mounting lugs are not defined: {stop}"
    if any(case.drag for case in cases) and not c.abutments:
        yield "Abutments are not defined: where the pads bear, and so how drag enters, is open."
    elif c.abutments:
        yield "Drag lies evenly on whole abutments; a plate bears on part of them. In reverse: on the leading ones."
    yield "Seal grooves are not defined: pressure acts on bore walls over their full depth, in reality up to the seal."
    if c.ports:
        yield "Drillings of ports and fluid passages are not built; the seal's ring is marked on the clamp faces."
    if any(f.name.startswith("relief_") for f in job.model.faces):
        yield "Reliefs are marked faces without a step: their depth is not defined; leave them out of contact."
    for i in sorted(job.model.a.separate):
        bridge = c.bridges[i]
        if bridge.pads is None:
            yield f"{bridge.name} has two clamp faces here; the screening counts one that parts, at z = 0."
        else:
            yield f"{bridge.name}: its slot has no clearance in the study; a real one has, and slips."
    if c.dowels:
        yield "Dowels are not built."
    if job.model.mesh.without_fillets:
        yield f"Not built: {job.model.mesh.without_fillets}."
    elif any(b.fillet > 0 for b in c.bridges):
        yield "Fillets under bridges are built; the expected openings and the study's mass leave them out."
    if job.model.a.screws:
        yield "Screws are cylinders without thread, socket or chamfer; match bolt_stiffness of preloads.csv."


def notes(job: Job) -> tuple[str, ...]:
    """Sentences of the screening that travel with its figures, each once."""
    said = [s for _, answer in job.cases for s in answer.validity]
    return tuple(dict.fromkeys((*job.results.notices, *said)))
