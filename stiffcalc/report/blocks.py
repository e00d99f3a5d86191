"""Small pieces of HTML: tables, checks, figures, lists. Text is escaped here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape

from stiffcalc.caliper.results import CaseResult, Results
from stiffcalc.report import words
from stiffcalc.report.canvas import SERIES, Picture
from stiffcalc.report.choose import Finding


class Html(str):
    """Text that is markup already."""


def text(value: str | Html) -> Html:
    """Escaped, unless it is markup already."""
    return value if isinstance(value, Html) else Html(escape(value))


def element(tag: str, *content: str | Html, **attributes: str) -> Html:
    """One element; `class_` for class, other underscores become hyphens."""
    names = {k: k.rstrip("_").replace("_", "-") for k in attributes}
    inside = "".join(f' {names[k]}="{escape(v)}"' for k, v in attributes.items())
    return Html(f"<{tag}{inside}>{''.join(text(c) for c in content)}</{tag}>")


def badge(variant: int) -> Html:
    """The number of a variant on its colour, as in the pictures."""
    return element(
        "span", str(variant + 1), class_="badge", style=f"--c: var(--series-{variant % len(SERIES) + 1})"
    )


def named(results: Results, variant: int) -> Html:
    """Badge and name of a variant."""
    return Html(f"{badge(variant)} {text(results.variants[variant].name)}")


def bullets(items: Iterable[str | Html], **attributes: str) -> Html:
    """An unordered list."""
    return element("ul", *(element("li", i) for i in items), **attributes)


def scroll(table: Html, caption: str) -> Html:
    """A wide table moves sideways in a box of its own, never the page."""
    return element("div", table, class_="scroll", tabindex="0", role="region", aria_label=caption)


def table(
    caption: str, head: Sequence[str | Html], rows: Iterable[Sequence[str | Html]], *, class_: str = "numbers"
) -> Html:
    """Rows with their first cell as heading; the caption is shown above."""
    top = element("thead", element("tr", *(element("th", h, scope="col") for h in head)))
    body = element(
        "tbody",
        *(element("tr", element("th", r[0], scope="row"), *(element("td", c) for c in r[1:])) for r in rows),
    )
    return scroll(element("table", element("caption", caption), top, body, class_=class_), caption)


def margin(finding: Finding) -> Html:
    """The margin, marked by shape and word where it is not met."""
    c = finding.check
    if c.met:
        return element("span", words.margin(c), class_="margin")
    return element("span", f"✕ {words.margin(c)} not met", class_="margin missed")


def checks(results: Results, found: Sequence[Finding], *, caption: str, one_case: bool = False) -> Html:
    """Checks with margin, actual and allowed, and under each its formula, source and note."""
    head = ["margin", "check", "variant", *([] if one_case else ["load case"]), "actual", "allowed"]
    top = element("thead", element("tr", *(element("th", h, scope="col") for h in head)))
    bodies = [_check(results, f, one_case=one_case, columns=len(head)) for f in found]
    return scroll(element("table", element("caption", caption), top, *bodies, class_="checks"), caption)


def _check(results: Results, f: Finding, *, one_case: bool, columns: int) -> Html:
    c = f.check
    first = element(
        "tr",
        element("td", margin(f)),
        element("th", c.what, scope="row"),
        element("td", named(results, f.variant), class_="who"),
        *([] if one_case else [element("td", f.case.name)]),
        element("td", words.measured(c.actual, c.unit), data_label="actual"),
        element("td", words.measured(c.allowed, c.unit), data_label="allowed"),
    )
    how = [element("span", c.formula, class_="formula"), element("span", f"Source: {c.source}")]
    how += [element("span", c.note)] if c.note else []
    second = element("tr", element("td", *how, colspan=str(columns)), class_="how")
    return element("tbody", first, second, class_="" if c.met else "missed")


def figure(picture: Picture, caption: str | Html) -> Html:
    """A picture on its card."""
    return element("figure", element("figcaption", caption), Html(picture.svg))


def lines_of(inputs: object, path: str = "") -> list[str]:
    """Nested inputs as `dotted.path = value` lines, in their order."""
    if isinstance(inputs, Mapping):
        return [line for k, v in inputs.items() for line in lines_of(v, f"{path}.{k}" if path else str(k))]
    if isinstance(inputs, list | tuple) and any(isinstance(v, Mapping) for v in inputs):
        return [line for i, v in enumerate(inputs) for line in lines_of(v, f"{path}[{i + 1}]")]
    return [f"{path} = {_value(inputs)}"]


def _value(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    return str(value)


def case_key(letters: Mapping[str, str], cases: Mapping[str, CaseResult]) -> Html:
    """Which letter on a pressure axis is which load case."""
    items = [element("li", element("b", letters[n]), " ", words.case_title(c)) for n, c in cases.items()]
    return element("ul", *items, class_="key")
