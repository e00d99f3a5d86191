"""A two-piece body with four bolts, and searches around them. Invented numbers."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from stiffcalc.study import load
from stiffcalc.study.schema import BoltSearch, Design, Study

STUDIES = Path(__file__).parents[2] / "studies"
STUDY = load(STUDIES / "four_or_six_bolts.toml")
BASE = STUDY.designs[0]
POCKETED = load(STUDIES / "hillclimb_front.toml").designs[0]
SMALL: dict[str, Any] = {
    "counts": (4,),
    "threads": ("M8x1.25", "M10x1.5"),
    "grades": ("10.9", "12.9"),
    "row_shift": (0.0, 2.0),
}


def search(**changes: Any) -> BoltSearch:
    """The defaults with changes."""
    plain: dict[str, Any] = {
        "counts": None,
        "threads": ("M8x1.25", "M10x1.5", "M12x1.75"),
        "grades": ("12.9",),
    }
    plain |= {"row_shift": (0.0,), "aim": "least mass", "bridges": None}
    return replace(STUDY.bolts, **{**plain, **changes})


def study(design: Design = BASE, **changes: Any) -> Study:
    """A study of one layout and a search."""
    return replace(STUDY, designs=(design,), bolts=replace(STUDY.bolts, **{**SMALL, **changes}))


def with_bolts(design: Design = BASE, **changes: Any) -> Design:
    """The layout with every bolt changed."""
    bolts = tuple(replace(b, **changes) for b in design.caliper.bolts)
    return replace(design, caliper=replace(design.caliper, bolts=bolts))
