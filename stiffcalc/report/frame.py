"""The frame every page stands in: head, styles, what printing asks for, cautions at the end; and parts pages share."""

from __future__ import annotations

import re
from importlib import resources
from string import Template

HERE = resources.files("stiffcalc.report")
PART = re.compile(r"@(\w+\.html)@\n")  # a part in a page: its file's name in a line of its own


def frame(name: str) -> Template:
    """The page template `name` in its frame, with the parts it names."""
    body = PART.sub(lambda m: _text(m[1]), _text(name)).rstrip("\n")
    return Template(_text("frame.html").replace("@BODY@", body))


def _text(name: str) -> str:
    return (HERE / name).read_text(encoding="utf-8")
