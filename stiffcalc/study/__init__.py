"""A study: one question in one file. `load` reads and validates it; `schema` says what comes out."""

from stiffcalc.study.reader import load, parse

__all__ = ["load", "parse"]
