"""The matrix of bolts of one layout: every combination by the frame, ranked by an aim, the best by front view too."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from stiffcalc.caliper.assess import CAUTIONS, Progress, catalogue_notes, silent
from stiffcalc.caliper.joint_checks import HOLDING
from stiffcalc.caliper.preloads import nominal_preload, torque_faults
from stiffcalc.errors import ConvergenceError, InputError
from stiffcalc.explore.answers import Solved
from stiffcalc.explore.batches import solve
from stiffcalc.explore.bolt_layouts import Candidate, Combination, Sharing, candidates, pattern_bolt
from stiffcalc.explore.bolt_places import AS_DRAWN, groups_of
from stiffcalc.explore.bolt_results import BoltMatrix, Figures, Row
from stiffcalc.explore.bolt_rules import RULES, Refusal
from stiffcalc.explore.bolt_sizes import in_words, torque
from stiffcalc.explore.bolt_solve import figures, solve_one
from stiffcalc.explore.bolt_verdict import name, verdict
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.study.lookup import design_named
from stiffcalc.study.schema import BoltSearch, Design, Study
from stiffcalc.version import __version__

LEFT_OUT = "front view left out on request: all figures are the frame's, which gives no tilt"
CONFIRMED = 10  # best combinations that the front view is asked about
SAME_ONSET = 0.01  # relative, between faces that move as planes and faces that give way
SAME_MASS = 4  # decimals of a kilogram within which masses are equal

AIMS: dict[str, Callable[[Row, Figures], float]] = {  # less is better
    "least mass": lambda row, _: round(row.mass.total, SAME_MASS) if row.mass else math.inf,
    "least spread": lambda _, found: math.inf if found.spread is None else found.spread,
    "highest onset": lambda _, found: -found.onset_MPa,
    "best worst margin": lambda _, found: -found.worst_margin,
}


def bolt_matrix(
    study: Study,
    *,
    variant: str | None = None,
    aim: str | None = None,
    front_view: bool = True,
    progress: Progress = silent,
) -> BoltMatrix:
    """Try the study's [bolts] on one layout: `variant`, or the first that has bolts; `aim` stands in for the study's.

    Combinations that meet every check come first, by the aim; then the others, largest worst margin first. The front
    view is asked about the best ten and the study's own, unless `front_view` is False or gmsh is missing. Raises
    `InputError` where the layout has no bolts, the name is unknown or torque and preload contradict each other.
    """
    contradictions = tuple(torque_faults(study))
    if contradictions:
        raise InputError(contradictions)
    design, aim = chosen(study, variant), aim or study.bolts.aim
    missing = unavailable() if front_view else LEFT_OUT
    rows = by_frame(candidates(design, study.bolts), progress)
    drawn = next((r for r in rows if r.own), None) or own_row(design, study.bolts)
    ranked = in_order([r for r in rows if r.frame], aim)
    ranked = [replace(r, rank_frame=i) for i, r in enumerate(ranked, start=1)]
    if not missing:
        ranked, drawn = best_confirmed(ranked, drawn, design, aim, progress)
    ranked = [
        replace(drawn if r.own else r, rank=i, rank_frame=r.rank_frame) for i, r in enumerate(ranked, start=1)
    ]
    own = next((r for r in ranked if r.own), drawn)
    refused = [r for r in rows if not r.frame]
    return BoltMatrix(
        title=study.title,
        layout=design.name,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        cautions=CAUTIONS,
        defaults_used=(*study.bolts.defaults_used, *study.defaults_used),
        notices=(*((missing,) if missing else ()), *plane_notes(own, design), *grade_notes(study, design)),
        aim=aim,
        verdict=verdict(ranked, refused=refused, own=own, aim=aim),
        tightening=in_words(pattern_bolt(design, study.bolts)),
        bridges=tuple(g.name for g in groups_of(design, study.bolts)),
        hold_MPa=max((c.pressure for c in design.load_cases if c.kind in HOLDING), default=math.nan),
        inputs=study.source,
        own=own,
        rows=(*ranked, *refused),
    )


def best_confirmed(
    ranked: Sequence[Row], drawn: Row, design: Design, aim: str, progress: Progress
) -> tuple[list[Row], Row]:
    """The rows with the first of them asked of the front view and put in its order; the study's own bolts too."""
    best = in_order([confirmed(r, design, progress) for r in ranked[:CONFIRMED]], aim)
    every = [*best, *ranked[CONFIRMED:]]
    own = next((r for r in every if r.own and r.front_view), None)
    return every, own or confirmed(drawn, design, progress)


def chosen(study: Study, variant: str | None) -> Design:
    """The layout of that name; without a name the first that has bolts, else the first."""
    if variant is None:
        return next((d for d in study.designs if d.caliper.bolts), study.designs[0])
    return design_named(study, variant)


def by_frame(tried: Sequence[Candidate], progress: Progress) -> list[Row]:
    """Every combination with the frame's figures, in the order of the matrix."""
    fitting = [c.design for c in tried if c.design]
    progress(f"frame: {len(fitting)} combinations; {len(tried) - len(fitting)} do not fit")
    answers = iter(solve(fitting))
    return [row(c, next(answers) if c.design else None) for c in tried]


def row(c: Candidate, answer: Solved | ConvergenceError | None) -> Row:
    """One combination with its answer; None where it was refused."""
    failed = isinstance(answer, ConvergenceError)
    solved = None if isinstance(answer, ConvergenceError) else answer
    bolts = c.design.caliper.bolts if c.design else ()
    return Row(
        rank=None,
        rank_frame=None,
        count=c.at.sharing.count,
        pattern=c.at.sharing.pattern,
        drawn=c.at.sharing.drawn,
        thread=c.at.thread,
        grade=c.at.grade,
        row_shift=c.at.row_shift,
        arrangement=c.arrangement,
        bolts=bolts,
        preload_nominal=nominal_preload(bolts[0]) if bolts else math.nan,
        torque_Nm=torque(bolts[0]) if bolts else math.nan,
        mass=solved.mass if solved else None,
        frame=figures(solved) if solved else None,
        front_view=None,
        own=c.own,
        refused=Refusal("equilibrium", f"{RULES['equilibrium'].broken}: {answer}") if failed else c.refused,
        notes=c.notes,
    )


def own_row(design: Design, search: BoltSearch) -> Row:
    """The layout's own bolts where no combination of the matrix is like them."""
    bolts = design.caliper.bolts
    pattern = tuple(len(g.bolts) for g in groups_of(design, search))
    shared = Sharing(sum(pattern), pattern, drawn=True)
    at = Combination(shared, _one(b.thread for b in bolts), _one(b.grade for b in bolts), 0.0)
    found = Candidate(at, (AS_DRAWN,), design, None, own=True, notes=("not a combination of the matrix",))
    return row(found, solve([design])[0])


def _one(names: Iterable[str]) -> str:
    """The names without repeats."""
    return " and ".join(dict.fromkeys(names))


def confirmed(found: Row, design: Design, progress: Progress) -> Row:
    """The row with the front view's figures too."""
    progress(f"front view: {name(found)}")
    answer = solve_one(replace(design, caliper=replace(design.caliper, bolts=found.bolts)))
    if isinstance(answer, ConvergenceError):
        return replace(found, notes=(*found.notes, f"front view: {answer}"))
    return replace(found, front_view=figures(answer))


def in_order(rows: Iterable[Row], aim: str) -> list[Row]:
    """Best first: those that meet every check by the aim, then the others, largest worst margin first.

    Equals are told apart by the worst margin, then by their place in the matrix.
    """

    def key(found: Row) -> tuple[bool, float, float]:
        figures = found.figures
        assert figures is not None  # only rows with figures are ranked
        first = AIMS[aim](found, figures) if figures.unmet == 0 else -figures.worst_margin
        return figures.unmet > 0, first, -figures.worst_margin

    return sorted(rows, key=key)


def plane_notes(own: Row, design: Design) -> tuple[str, ...]:
    """Where faces that move as planes do not give what an assessment's frame gives for the study's own bolts."""
    answer = solve_one(design, front_view=False)
    if own.frame is None or isinstance(answer, ConvergenceError):
        return ()
    full, here = figures(answer), own.frame
    alike = math.isclose(full.onset_MPa, here.onset_MPa, rel_tol=SAME_ONSET) and full.unmet == here.unmet
    if alike:
        return ()
    return (
        "Joint faces move as planes in the matrix. For the study's own bolts that gives onset "
        f"{here.onset_MPa:.1f} MPa and {here.unmet} checks not met, where an assessment's frame, whose faces give way, "
        f"gives {full.onset_MPa:.1f} MPa and {full.unmet}. The front view's figures are of faces that give way.",
    )


def grade_notes(study: Study, design: Design) -> tuple[str, ...]:
    """What must be known of the catalogue's values for body and grades tried."""
    tried = (replace(b, grade=g) for g in study.bolts.grades for b in design.caliper.bolts[:1])
    bolts = (*design.caliper.bolts, *tried)
    return catalogue_notes(
        replace(study, designs=(replace(design, caliper=replace(design.caliper, bolts=bolts)),))
    )
