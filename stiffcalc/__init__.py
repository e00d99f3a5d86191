"""Structural pre-design of fixed (opposed-piston) disc-brake calipers. Screening estimates only.

from stiffcalc import assess, load
results = assess(load("studies/hillclimb_front.toml"))
results.verdict, results.variants[0].load_cases[0].spread
"""

from importlib import import_module
from typing import TYPE_CHECKING

from stiffcalc.version import __version__

if TYPE_CHECKING:
    from stiffcalc.caliper.assess import assess
    from stiffcalc.study import load

__all__ = ["__version__", "assess", "load"]
HOMES = {"assess": "stiffcalc.caliper.assess", "load": "stiffcalc.study"}


def __getattr__(name: str) -> object:
    """Imported when first asked for: the command line starts at once, and nothing precedes its care of Ctrl-C."""
    if name not in HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(HOMES[name]), name)
