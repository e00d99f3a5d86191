"""The verdict on a search for pockets, in words."""

from __future__ import annotations

from dataclasses import replace

from stiffcalc.explore.pocket_results import AS_DRAWN, EVEN, FIELD, PROPOSED, Checked, Pockets, Stage
from stiffcalc.quantities import percent, quantity


def in_words(found: Pockets) -> Pockets:
    """The answer with its verdict."""
    return replace(found, verdict=" ".join((_lead(found), _followed(found), _tilt(found), _checks(found))))


def _lead(found: Pockets) -> str:
    drawn, even, proposed = (found.stage(n) for n in (AS_DRAWN, EVEN, PROPOSED))
    count = sum(len(h.boxes) for h in found.halves)
    what = f"{count} rectangular pocket{'s' if count != 1 else ''}" + (
        " in each half" if found.halves[0].side == "both" else ""
    )
    spread = quantity("spread").with_unit(proposed.spread[found.case])
    text = (
        f"{what}, milled from a blank of {_thickness(found)}, open by {spread} in '{found.case}' at "
        f"{proposed.mass:.3f} kg"
    )
    return (
        f"{text}: {_against(proposed, even, found.case)} than the even wall ({even.mass:.3f} kg), "
        f"{_against(proposed, drawn, found.case)} than the layout as drawn ({drawn.mass:.3f} kg)."
    )


def _thickness(found: Pockets) -> str:
    each = [f"{h.thickness:g} mm{'' if h.side == 'both' else f' ({h.side})'}" for h in found.halves]
    return " and ".join(each)


def _against(one: Stage, other: Stage, case: str) -> str:
    by = one.spread[case] / other.spread[case] - 1.0
    return f"{percent(abs(by), 1)} {'less' if by < 0 else 'more'}"


def _followed(found: Pockets) -> str:
    free, proposed = found.stage(FIELD), found.stage(PROPOSED)
    if found.aim == "least mass":
        even = found.stage(EVEN)
        saved = [1e3 * (even.mass - s.mass) for s in (free, proposed)]
        return f"The free field saves {saved[0]:.0f} g at that spread, the rectangles {saved[1]:.0f} g."
    free_less, less, left = (percent(v, 1) for v in (free.less, proposed.less, found.expected_less))
    text = f"Over all load cases the free field takes {free_less} off the spread, the rectangles {less}"
    return f"{text}; with what is idle beside their steps, about {left} may be expected of a solid."


def _tilt(found: Pockets) -> str:
    drawn, proposed = found.stage(AS_DRAWN).tilt, found.stage(PROPOSED).tilt
    if drawn is None or proposed is None:
        return ""
    q = quantity("here.tilt")
    return f"The largest tilt goes from {q.text(drawn)} to {q.with_unit(proposed)}."


def _checks(found: Pockets) -> str:
    if found.worst is None:
        return ""
    if not found.unmet:
        return f"Every check is met; the tightest is {_named(found.worst)}."
    new = [c for c in found.unmet if c.before is None or c.before >= 0.0]
    text = f"{len(found.unmet)} check{'s are' if len(found.unmet) > 1 else ' is'} not met"
    text += f", {len(new)} of which the layout as drawn meets" if new else ", as of the layout as drawn"
    return f"{text}; the worst is {_named(found.worst)}."


def _named(check: Checked) -> str:
    return f"{check.what} in '{check.case}', margin {percent(check.margin, 1)}"
