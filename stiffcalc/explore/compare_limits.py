"""What keeps the best design of a layout within a mass from being better, by name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stiffcalc.caliper.results import CaseResult, Check
from stiffcalc.explore import sampling
from stiffcalc.explore.compare_front import Asked
from stiffcalc.explore.compare_results import Limit, kg
from stiffcalc.explore.sampling import Choice
from stiffcalc.study.schema import SweepKey

ACTIVE = 0.02  # margin below which a check counts as a limit
FULL = 0.003  # share of the mass allowed that may be left
AT_END = 0.005  # share of a range that counts as its end

# The id of a check begins with ...: what it is called among limits.
KINDS = (
    ("onset", "onset"),
    ("residual clamp", "residual clamp"),
    ("clamp plane holds", "preload"),
    ("bolt", "bolt"),
    ("engagement", "thread"),
    ("head pressure", "head pressure"),
    ("face pressure", "face pressure"),
    ("port", "port seal"),
    ("slip", "slip"),
    ("seat friction", "slip"),
    ("seat pressure", "face pressure"),
    ("dowel", "dowel"),
    *((part, "stress") for part in ("bridge", "wall", "floor", "fillet")),
)


def kind_of(check: str) -> str:
    """What a check's id is called among limits."""
    named = check.removeprefix("bar ")
    return next((kind for start, kind in KINDS if named.startswith(start)), named.rstrip(" 0123456789"))


def limits(
    asked: Asked, keys: Sequence[SweepKey], *, choice: Choice, mass: float, budget: float, room: Sequence[str]
) -> tuple[Limit, ...]:
    """All that is active, missed checks first; `room`: rules of the study file that are about to be broken."""
    found = [*_checks(asked.checks)]
    if mass >= (1.0 - FULL) * budget:
        found.append(Limit("mass", f"{kg(budget)} kg", None))
    found += _ends(keys, choice)
    found += [Limit("room", said, None) for said in room]
    return tuple(found)


def _checks(checks: Sequence[tuple[CaseResult, Check]]) -> Iterator[Limit]:
    """The worst of each check, where it is active or missed."""
    worst: dict[str, tuple[CaseResult, Check]] = {}
    for case, check in checks:
        if check.id not in worst or _rank(check) < _rank(worst[check.id][1]):
            worst[check.id] = case, check
    for case, check in sorted(worst.values(), key=lambda pair: pair[1].order):
        if not check.met or (check.margin < ACTIVE and check.id != "mass"):
            missed = "" if check.met else ", not met"
            yield Limit(kind_of(check.id), f"{check.what} ({case.name}){missed}", check.margin)


def _rank(check: Check) -> tuple[bool, float]:
    return check.met, check.order


def _ends(keys: Sequence[SweepKey], choice: Choice) -> Iterator[Limit]:
    """Free dimensions at an end of their range."""
    for key, taken in zip(keys, choice, strict=True):
        if key.levels:
            continue
        share = (taken - key.low) / (key.high - key.low)
        if share <= AT_END or share >= 1.0 - AT_END:
            end = "least" if share <= AT_END else "most"
            yield Limit("envelope", f"{key.name} at its {end}, {sampling.label(key, taken)}", None)


def missed(found: Sequence[Limit]) -> tuple[Limit, ...]:
    """Limits that are checks not met, the worst first."""
    return tuple(limit for limit in found if limit.margin is not None and not limit.margin >= 0.0)


def beyond(
    *, spread: float, mass: float, spread_limit: float | None, mass_limit: float | None
) -> tuple[str, ...]:
    """Which of the study's own limits, "spread" and "mass", a design passes; what the study adds counts as mass."""
    pairs = ("spread", spread, spread_limit), ("mass", mass, mass_limit)
    return tuple(name for name, value, limit in pairs if limit is not None and value > limit)


def kinds(found: Sequence[Limit]) -> tuple[str, ...]:
    """Names of the limits, each once."""
    return tuple(dict.fromkeys(limit.kind for limit in found))
