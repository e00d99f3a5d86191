"""Structural pre-design of fixed (opposed-piston) disc-brake calipers. Screening estimates only.

from stiffcalc import assess, load
results = assess(load("studies/hillclimb_front.toml"))
results.verdict, results.variants[0].load_cases[0].spread
"""

from stiffcalc.caliper.assess import assess
from stiffcalc.study import load
from stiffcalc.version import __version__

__all__ = ["__version__", "assess", "load"]
