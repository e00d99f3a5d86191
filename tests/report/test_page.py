"""The page: complete, escaped, self-contained, well formed."""

import re
from dataclasses import replace
from html import escape, unescape
from html.parser import HTMLParser

import pytest

from stiffcalc.caliper.results import Results
from stiffcalc.quantities import quantity
from stiffcalc.report import choose, page, words
from stiffcalc.report.blocks import lines_of

ACCURACY = "Checked <against> solids & nothing else."  # as in conftest.py

VOID = {"meta", "link", "img", "br", "path", "use", "image"}


class Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.headings: list[int] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.pictures = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        self.ids += [v for v in [named.get("id")] if v]
        self.links += [v for k, v in attrs if k in ("href", "src", "aria-labelledby") and v]
        self.pictures += tag == "svg"
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.ids += [v for k, v in attrs if k == "id" and v]

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    assert not reader.open
    return reader


def test_markup_is_sound(rendered: tuple[Results, str]) -> None:
    results, text = rendered
    reader = read(text)
    assert len(set(reader.ids)) == len(reader.ids)
    assert reader.headings[0] == 1
    assert reader.headings.count(1) == 1
    assert all(b - a <= 1 for a, b in zip(reader.headings, reader.headings[1:], strict=False))
    jointed = sum(bool(v.faces) for v in results.variants)
    steps = 2 if jointed > 1 else jointed
    assert reader.pictures == 4 + 3 * len(results.variants) + 3 * jointed + steps + 1


def test_nothing_is_fetched(rendered: tuple[Results, str]) -> None:
    reader = read(rendered[1])
    for link in reader.links:
        assert link.startswith(("data:", "#")) or link in reader.ids, link
    assert not re.search(r"url\((?!#)", rendered[1])
    assert "@import" not in rendered[1]


def test_nothing_of_the_results_is_left_out(rendered: tuple[Results, str]) -> None:
    results, text = rendered
    said = unescape(text)
    for caution in results.cautions:
        assert text.count(escape(caution)) == 2
    for sentence in (
        results.title,
        results.note,
        results.verdict,
        *results.notices,
        *results.defaults_used,
        ACCURACY,
    ):
        assert sentence in said
    for line in lines_of(results.inputs):
        assert line in said
    for v in results.variants:
        assert v.name in said
        for c in v.load_cases:
            assert c.name in said
            assert all(s in said for s in c.validity)
            for k in c.checks:
                assert k.what in said
                assert k.formula in said
                assert k.source in said
                assert k.note in said
    assert all(w in said and m in said for w, m in words.GLOSSARY.items())


def test_markup_in_names_stays_text(rendered: tuple[Results, str]) -> None:
    results, text = rendered
    assert "<img" not in text
    assert "<b>rev. 7</b>" not in text
    assert text.count("<script") == 1
    assert text.count("&lt;script&gt;") == 2 * ("<script>" in results.title)


def test_worst_margin_comes_first(rendered: tuple[Results, str]) -> None:
    results, text = rendered
    worst = text[text.index("Worst margins first") : text.index("each at its worst load case")]
    shown = [
        float(m.replace("−", "-")) for m in re.findall(r'class="margin[^>]*>[^−+0-9]*([−+]?[\d.]+)', worst)
    ]
    worst_of_all = min(k.margin for v in results.variants for c in v.load_cases for k in c.checks)
    assert shown[0] == round(100 * worst_of_all, 1)
    assert len(shown) >= 15
    assert shown == sorted(shown)


def test_both_models_stand_beside_each_other(rendered: tuple[Results, str]) -> None:
    results, text = rendered
    rows = dict(re.findall(r'<tr><th scope="row">(spread, [^<]*)</th>(.*?)</tr>', text)[:2])
    for v in results.variants:
        case = choose.headline(v)
        for name, answer in case.models.items():
            shown = quantity("spread").text(answer.spread)
            cell = f"<td><b>{shown}</b></td>" if name == case.model else f"<td>{shown}</td>"
            assert cell in rows[f"spread, {name}, µm"]


def test_the_solid_stands_beside_the_front_view(good: Results, good_page: str) -> None:
    table = good_page.split('<h2 id="solid">')[1].split("</section>")[0]
    cases = [c for v in good.variants for c in v.solid]
    assert len(cases) > 2
    assert table.count("<tr>") == 1 + len(cases)
    for c in cases:
        for value, digits in ((c.onset, 1), (c.plate_onset, 1), (1e3 * max(c.by_bore), 0)):
            assert f"<td>{value:.{digits}f}</td>" in table
        assert f"<td>{1e-3 * max(c.bolt_increment):.2f}</td>" in table


def test_bare_results_make_a_page(good: Results) -> None:
    case = replace(good.variants[2].load_cases[0], checks=(), validity=())
    bare = replace(good.variants[2], load_cases=(case,))
    text = page.render(replace(good, variants=(bare,), defaults_used=(), notices=(), inputs={}), ACCURACY)
    assert "no checks" in text
    assert "None: the study states everything." in text


def test_page_is_small(rendered: tuple[Results, str]) -> None:
    assert len(rendered[1].encode()) < 2_000_000


def test_same_results_same_bytes_pictures_and_all(good: Results, good_page: str) -> None:
    assert page.render(good, ACCURACY) == good_page


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.30957, "mm", "0.3096\u00a0mm"),
        (50500.0, "N", "50\u202f500\u00a0N"),
        (1.5, "", "1.5"),
        (0.0, "N", "0\u00a0N"),
        (1234.5, "N", "1234\u00a0N"),
        (-0.000123456, "mm", "−0.000123\u00a0mm"),
        (float("inf"), "MPa", "∞\u00a0MPa"),
    ],
)
def test_measured(value: float, unit: str, text: str) -> None:
    assert words.measured(value, unit) == text
