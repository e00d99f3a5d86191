"""The frame of the pages about one layout's neighbourhood: slopes, and what scatter does."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib import resources
from typing import Protocol

from stiffcalc.caliper.heading import Headed
from stiffcalc.report import blocks, words
from stiffcalc.report.blocks import Html, element, text
from stiffcalc.report.frame import frame

WORDS = ("bridge", "clamp plane", "spread", "tilt", "onset pressure", "margin", "frame", "front view")


class Answer(Headed, Protocol):
    """What both answers carry."""

    @property
    def layout(self) -> str:
        """Whose neighbourhood it is."""

    @property
    def inputs(self) -> Mapping[str, object]:
        """The study as read."""


def render(
    answer: Answer,
    sections: Sequence[Html],
    *,
    overline: str,
    about: str,
    meta: str,
    trust: str,
    accuracy: str,
) -> str:
    """The page as HTML text."""
    here = resources.files("stiffcalc.report")
    return frame("near.html").substitute(
        title=text(f"{answer.title}: {about} '{answer.layout}'"),
        css=(here / "page.css").read_text(encoding="utf-8"),
        overline=text(overline),
        note=text(answer.note),
        meta=text(f"stiffcalc {answer.version} · study {answer.sha256[:12]} · {meta}"),
        cautions=Html("".join(element("p", c) for c in answer.cautions)),
        verdict=text(answer.verdict),
        notices=blocks.bullets(answer.notices, class_="notices") if answer.notices else "",
        sections=Html("".join(sections)),
        trust=text(trust),
        accuracy=text(accuracy),
        defaults=blocks.bullets([element("code", d) for d in answer.defaults_used], class_="plain"),
        inputs=text("\n".join(blocks.lines_of(answer.inputs))),
        glossary=element("dl", *(Html(element("dt", w) + element("dd", words.GLOSSARY[w])) for w in WORDS)),
    )


def section(id: str, title: str, *content: Html) -> Html:
    """A section with its heading."""
    return Html(f'<section aria-labelledby="{id}">{element("h2", title, id=id)}{"".join(content)}</section>')
