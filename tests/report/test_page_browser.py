"""The page as a browser shows it; and the check itself finds what it is meant to find."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from stiffcalc.caliper.results import Results

HERE = Path(__file__).parents[2] / ".ci" / "check_page.py"


def load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("check_page", HERE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


check_page = load()
pytestmark = pytest.mark.skipif(
    check_page.browser() is None, reason="Chromium is not installed (Debian package `chromium`)"
)


def test_page_is_in_order_at_every_width_and_in_print(rendered: tuple[Results, str], tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    target.write_text(rendered[1], encoding="utf-8")
    assert check_page.check(target) == []


BROKEN = """<!doctype html><html><head><meta charset="utf-8"><title>t</title>
<style>@page { size: A5; } @media print { p { min-width: 3000px; } }</style></head><body>
<p style="width:2000px">wide</p><img src="data:image/png;base64,AAAA">
<svg aria-label="empty" viewBox="0 0 10 10" width="100" height="100"></svg>
<svg aria-label="crowded" viewBox="0 0 100 100" width="300" height="300"><rect width="90" height="90"/>
<text x="10" y="50">one</text><text x="12" y="52">two</text><text x="95" y="20">outside</text></svg>
<svg aria-label="torn" viewBox="0 0 9 9" width="90" height="90">
<image width="9" height="9" href="data:image/png;base64,AA"/></svg>
<script src="http://example.invalid/x.js"></script><script>undefinedFunction();</script></body></html>"""


def test_the_check_finds_each_kind_of_fault(tmp_path: Path) -> None:
    target = tmp_path / "broken.html"
    target.write_text(BROKEN, encoding="utf-8")
    found = "\n".join(check_page.check(target))
    for fault in (
        "390 px: sideways: 2008 > 390",
        "1280 px: sideways: 2008 > 1280",
        "A4 print rules: sideways: 3008 > 703",
        "picture broken: <img",
        "picture empty: empty",
        "picture broken: torn",
        'labels overlap: "one" and "two"',
        'label leaves the picture: "outside"',
        "undefinedFunction is not defined",
        "console: ",
        "static: refers outside: http://example.invalid/x.js",
        "fetched: http://example.invalid/x.js",
        "not A4",
    ):
        assert fault in found, (fault, found)
