"""The frame every page stands in: head, styles and what printing asks for; a page brings what lies between."""

from __future__ import annotations

from importlib import resources
from string import Template


def frame(name: str) -> Template:
    """The page template `name` in its frame."""
    here = resources.files("stiffcalc.report")
    body = (here / name).read_text(encoding="utf-8").rstrip("\n")
    return Template((here / "frame.html").read_text(encoding="utf-8").replace("@BODY@", body))
