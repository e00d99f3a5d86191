"""Open report pages in headless Chromium and fail on what a reader would trip over.

    python .ci/check_page.py PAGE.html [PAGE.html ...]

Each page is opened 390 and 1280 pixels wide and with its print rules at the width of A4, and printed to PDF. Findings:
script and console errors, pictures that are missing, broken or empty, labels in pictures that overlap or leave the
picture, the page moving sideways, anything fetched from outside, a print that is not A4. Exit status 1 with findings.

Needs Chromium (Debian package `chromium`). A window narrower than 500 pixels is not to be had from it, so the page
stands in a frame of each wanted width, and an injected script posts what it finds to the page around the frames: one
start of the browser sees every width.
"""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

NAMES = ("chromium", "chromium-browser")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--enable-logging=stderr",
    "--host-resolver-rules=MAP * ~NOTFOUND",
)
A4_PRINTED_PX = 703  # 210 mm less two margins of 12 mm, at 96 pixels an inch
VIEWS = {"390 px": 390, "1280 px": 1280, "A4 print rules": A4_PRINTED_PX}

PROBE = """
<script>
(() => {
  const found = [];
  const named = e => (e && e.outerHTML || "").slice(0, 120);
  addEventListener("error", e => found.push("error: " + (e.message || named(e.target))), true);
  addEventListener("unhandledrejection", e => found.push("rejected: " + e.reason));
  const sound = href => new Promise(done => {
    const i = new Image(); i.onload = () => done(i.naturalWidth > 0); i.onerror = () => done(false); i.src = href; });
  const words = t => '"' + t.textContent.trim().slice(0, 40) + '"';
  const labels = (svg, name) => {
    const box = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll("text")].map(t => [t, t.getBoundingClientRect()]);
    const seen = texts.filter(([, r]) => r.width > 0);
    seen.forEach(([t, r], k) => {
      if (r.left < box.left - 2 || r.right > box.right + 2 || r.top < box.top - 2 || r.bottom > box.bottom + 2)
        found.push(name + ": label leaves the picture: " + words(t));
      for (const [u, q] of seen.slice(k + 1)) {
        const w = Math.min(r.right, q.right) - Math.max(r.left, q.left);
        const h = Math.min(r.bottom, q.bottom) - Math.max(r.top, q.top);
        if (w > 1.5 && h > 0.3 * Math.min(r.height, q.height))
          found.push(name + ": labels overlap: " + words(t) + " and " + words(u));
      }
    });
  };
  addEventListener("load", async () => {
    document.querySelectorAll("details").forEach(d => { d.open = true; });
    for (const i of document.images)
      if (!i.complete || !i.naturalWidth) found.push("picture broken: " + named(i));
    const pictures = document.querySelectorAll("svg");
    if (!pictures.length) found.push("no pictures");
    for (const svg of pictures) {
      const name = (svg.getAttribute("aria-label") || "").slice(0, 50) || "picture without words";
      if (!svg.getAttribute("aria-label")) found.push("picture without aria-label");
      const b = svg.getBBox(), r = svg.getBoundingClientRect();
      if (!(b.width && b.height && r.width > 50 && r.height > 50)) { found.push("picture empty: " + name); continue; }
      for (const i of svg.querySelectorAll("image"))
        if (!await sound(i.getAttribute("href") || i.getAttribute("xlink:href"))) found.push("picture broken: " + name);
      labels(svg, name);
    }
    const root = document.documentElement;
    if (root.scrollWidth > root.clientWidth) {
      const wide = [...document.body.querySelectorAll("*")].filter(e =>
        e.getBoundingClientRect().right > root.clientWidth + 1
        && !e.closest("svg") && !(e.parentElement.closest(".scroll, pre")));
      found.push("sideways: " + root.scrollWidth + " > " + root.clientWidth + " px; " + wide.slice(0, 3).map(e =>
        e.tagName + "." + e.className).join(", "));
    }
    for (const e of performance.getEntriesByType("resource"))
      if (!e.name.startsWith("data:")) found.push("fetched: " + e.name);
    parent.postMessage(found, "*");
  });
})();
</script>
"""

AROUND = """<!doctype html><meta charset="utf-8"><body style="margin:0">{frames}<pre id="findings">{{}}</pre><script>
addEventListener("message", e => {{
  const out = document.getElementById("findings"), all = JSON.parse(out.textContent);
  const heard = [...document.querySelectorAll("iframe")].find(f => f.contentWindow === e.source);
  all[heard.title] = e.data;
  out.textContent = JSON.stringify(all);
}});</script>"""
FRAME = '<iframe title="{view}" src="{file}" style="display:block;width:{width}px;height:2000px;border:0"></iframe>'


def browser() -> str | None:
    """Path of Chromium, None where there is none."""
    return next((path for path in map(shutil.which, NAMES) if path), None)


def check(page: Path) -> list[str]:
    """Findings about one page, each with the view it was seen in. Raises FileNotFoundError without a browser."""
    chromium = browser()
    if chromium is None:
        raise FileNotFoundError("Chromium is not installed (Debian package `chromium`)")
    text = page.read_text(encoding="utf-8")
    out = [f"static: refers outside: {ref}" for ref in _outside(text)]
    out += _look(chromium, text)
    return out + [f"PDF: {f}" for f in _print(chromium, page)]


def _outside(text: str) -> list[str]:
    refs = re.findall(
        r"""(?:src|href|action|data)\s*=\s*["']([^"'#][^"']*)["']|url\(["']?([^)"'#][^)"']*)""", text
    )
    return [a or b for a, b in refs if not (a or b).startswith("data:")]


def _print_rules(text: str) -> str:
    """The page as its print rules lay it out, on screen."""
    return text.replace("@media print", "@media all").replace("@media screen", "@media not all")


def _look(chromium: str, text: str) -> list[str]:
    with tempfile.TemporaryDirectory() as folder:
        here, frames = Path(folder), []
        for i, (view, width) in enumerate(VIEWS.items()):
            shown = _print_rules(text) if "print" in view else text
            file = here / f"page{i}.html"
            file.write_text(shown.replace("<head>", "<head>" + PROBE, 1), encoding="utf-8")
            frames.append(FRAME.format(view=view, file=file.name, width=width))
        (here / "around.html").write_text(AROUND.format(frames="".join(frames)), encoding="utf-8")
        size = f"--window-size={max(VIEWS.values()) + 40},{2000 * len(VIEWS) + 100}"
        done = _run(
            chromium, here, size, "--virtual-time-budget=8000", "--dump-dom", (here / "around.html").as_uri()
        )
    console = [f"console: {c}" for c in re.findall(r'CONSOLE[:(]\d+\)?\] "(.*)"', done.stderr)]
    said = re.search(r'<pre id="findings">(.*?)</pre>', done.stdout, re.S)
    heard = json.loads(html.unescape(said.group(1))) if said else {}
    unheard = [f"{view}: the page did not finish loading" for view in VIEWS if view not in heard]
    seen = [f"{view}: {finding}" for view, findings in heard.items() for finding in findings]
    return [*dict.fromkeys(console), *seen, *unheard, *([done.stderr[-300:]] if unheard else [])]


def _print(chromium: str, page: Path) -> list[str]:
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "page.pdf"
        _run(
            chromium, Path(folder), f"--print-to-pdf={pdf}", "--no-pdf-header-footer", page.resolve().as_uri()
        )
        data = pdf.read_bytes() if pdf.exists() else b""
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", data)
    if not boxes:
        return ["nothing was printed"]
    return sorted(
        {
            f"a page of {float(w):.0f} x {float(h):.0f} points, not A4"
            for w, h in boxes
            if abs(float(w) - 595.3) > 1.5 or abs(float(h) - 841.9) > 1.5
        }
    )


def _run(chromium: str, folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    profile = folder / "profile"
    return subprocess.run(
        [chromium, *FLAGS, f"--user-data-dir={profile}", *arguments],
        capture_output=True,
        text=True,
        timeout=180,
        check=False,
    )


def main(pages: list[str]) -> int:
    """Check each page; 0 without findings, 1 with, 2 when there is nothing to check with or to check."""
    if not pages or browser() is None:
        print(
            "usage: check_page.py PAGE.html ...; needs Chromium (Debian package `chromium`)", file=sys.stderr
        )
        return 2
    found = {page: check(Path(page)) for page in pages}
    for page, items in found.items():
        print(f"{page}: " + ("in order" if not items else f"{len(items)} findings"))
        for item in items:
            print(f"  {item}")
    return 1 if any(found.values()) else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
