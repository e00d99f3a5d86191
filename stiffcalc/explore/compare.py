"""Layouts at equal mass: each given its least spread within a series of masses, under all checks of a study.

The search goes by the frame, every margin multiplied by rho = answer / frame as it lies between the designs asked
about; the designs it ends at are answered as an assessment answers them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from stiffcalc.caliper.assess import CAUTIONS, LEFT_OUT, catalogue_notes
from stiffcalc.caliper.preloads import torque_faults
from stiffcalc.caliper.verdict import most_pressed
from stiffcalc.errors import InputError
from stiffcalc.explore.compare_curve import curve
from stiffcalc.explore.compare_layouts import Field, field
from stiffcalc.explore.compare_lightest import TURNS, begins
from stiffcalc.explore.compare_masses import masses_for
from stiffcalc.explore.compare_points import confirmed
from stiffcalc.explore.compare_results import CompareResult, Curve
from stiffcalc.explore.compare_search import EFFORTS, Effort, begin, searched
from stiffcalc.explore.compare_verdict import crossings, gaps, limits_said, verdict
from stiffcalc.plane.mesh import available as unavailable
from stiffcalc.quantities import percent
from stiffcalc.study.schema import ExplorePlan, Study, Uncertainty
from stiffcalc.version import __version__

Tell = Callable[[int, int, str], None]  # steps done, of how many, a word
FRAME = (
    "The search goes by the frame, its joint faces moving as planes, margins multiplied by rho = {model} / frame at "
    "the designs asked about; last steps are judged by the {model} itself. The tilt's limit is not in the search; it "
    "is checked at the end."
)


def silent(done: int, total: int, word: str) -> None:
    """Progress that nobody hears."""


def compare(
    study: Study,
    *,
    seed: int | None = None,
    effort: str | None = None,
    front_view: bool = True,
    tell: Tell = silent,
) -> CompareResult:
    """The layouts of a study at equal mass; `seed` and `effort` in place of the study's.

    Raises InputError for free dimensions that no body has, ConvergenceError as the frame does.
    """
    if faults := tuple(torque_faults(study)):
        raise InputError(faults)
    assert study.explore is not None and study.uncertainty is not None  # the reader always gives them
    plan = asked_for(study.explore, seed, effort)
    there = field(study, plan)
    missing = unavailable() if front_view else LEFT_OUT
    compared, curves = _curves(there, plan, study, front_view=not missing, tell=tell)
    tell(1, 1, "done")
    return _gathered(study, there, plan, compared, curves, missing=missing)


@dataclass(frozen=True)
class Compared:
    """Masses, kg: those asked for or evenly chosen, and all at which layouts are compared."""

    asked: tuple[float, ...]
    all: tuple[float, ...]


def _curves(
    there: Field, plan: ExplorePlan, study: Study, *, front_view: bool, tell: Tell
) -> tuple[Compared, list[Curve]]:
    """The masses, and every layout's least spread within each of them."""
    assert study.uncertainty is not None
    much = EFFORTS[plan.effort]
    done = _counter(len(there.layouts), plan.points, much, tell)
    found = [
        begin(c, study.source, much, seed=plan.seed, number=i, done=done) for i, c in enumerate(there.layouts)
    ]
    asked = plan.masses or masses_for(found, plan.points, much)
    layouts = [
        confirmed(searched(s, asked, much, done=done), asked, much, front_view=front_view, done=done)
        for s in found
    ]
    begun = begins(layouts, asked, much, stated=bool(plan.masses), front_view=front_view, done=done)
    masses = tuple(sorted({*asked, *(b.mass for b in begun if b.mass is not None)}))
    model = _model(front_view)
    return Compared(asked, masses), [
        curve(b, asked, masses, model=model, what=study.uncertainty, seed=plan.seed) for b in begun
    ]


def _model(front_view: bool) -> str:
    return "front view" if front_view else "frame"


def _gathered(
    study: Study,
    there: Field,
    plan: ExplorePlan,
    compared: Compared,
    curves: Sequence[Curve],
    *,
    missing: str | None,
) -> CompareResult:
    """The answer in words and figures."""
    assert study.uncertainty is not None
    model, masses = _model(not missing), compared.all
    apart = gaps(curves, masses)
    crossed, case = crossings(apart), most_pressed(there.layouts[0].design.load_cases)
    return CompareResult(
        title=study.title,
        note=study.note,
        sha256=study.sha256,
        version=__version__,
        cautions=CAUTIONS,
        defaults_used=(*there.defaults_used, *study.defaults_used),
        notices=_notices(study, there, model, missing),
        assumptions=assumptions(study.uncertainty, model),
        verdict=verdict(curves, masses, apart, crossed),
        limited=tuple(limits_said(curves, masses)),
        model=model,
        case=case.name,
        case_pressure=case.pressure,
        spread_limit=study.designs[0].limits.spread,
        mass_limit=study.designs[0].limits.mass_kg,
        seed=plan.seed,
        effort=plan.effort,
        targets=compared.asked,
        masses=masses,
        curves=tuple(curves),
        gaps=apart,
        crossings=crossed,
        inputs=study.source,
    )


def _notices(study: Study, there: Field, model: str, missing: str | None) -> tuple[str, ...]:
    own = replace(study, designs=tuple(c.design for c in there.layouts))
    said = (FRAME.format(model=model), *((missing,) if missing else ()))
    return (*said, *there.notices, *catalogue_notes(own))


def asked_for(plan: ExplorePlan, seed: int | None, effort: str | None) -> ExplorePlan:
    """The plan with what the caller puts in its place."""
    return replace(
        plan, seed=plan.seed if seed is None else seed, effort=plan.effort if effort is None else effort
    )


def _counter(layouts: int, points: int, effort: Effort, tell: Tell) -> Callable[[str], None]:
    """What counts steps: evaluations of a batch, and designs asked about, each twice as a rule."""
    each = 2 + effort.early + effort.generations + effort.rounds + effort.shakes + effort.again + 2 * points
    each += TURNS + 1 + (layouts + 1) // 2  # towards the lightest, and last steps at the lightest of others
    total, count = layouts * each, 0

    def done(word: str) -> None:
        nonlocal count
        count += 1
        tell(min(count, total - 1), total, word)

    return done


def assumptions(what: Uncertainty, model: str) -> tuple[str, ...]:
    """What the uncertainty of a difference holds."""
    return (
        "Uncertainty of a difference: preload of each bolt anywhere in its tightening interval, friction and moduli as "
        f"in [uncertainty] (modulus {percent(what.modulus, 1)}, 1 s; one draw for a metal that both layouts share), "
        f"and the {model}'s scatter beside solids, independent for each layout. Lengths are as drawn: two bodies as "
        "made differ by their tolerances too, which stiffcalc uncertainty shows.",
        "Where an onset pressure limits a layout, the mass from which it holds is as uncertain as the onset (within "
        "10 % for two joints in three); that is not in the uncertainty of a difference.",
        "Told apart: the difference is more than twice its standard uncertainty (about 95 %).",
        "A limit is what is active: a margin below 2 %, the mass used to 0.3 %, a free dimension at an end of its "
        "range (envelope), a rule of the study file within 1 % of a range (room).",
    )
