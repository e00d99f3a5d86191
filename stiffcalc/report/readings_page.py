"""The page of readings beside a prediction: self-contained, ratios first, then pictures, fits, knees and loops."""

from __future__ import annotations

from importlib import resources

from stiffcalc.quantities import quantity
from stiffcalc.readings.compare import SeriesFit
from stiffcalc.readings.kinds import title
from stiffcalc.readings.knee import Found
from stiffcalc.readings.results import Correlation
from stiffcalc.report import blocks, readings_plots, readings_tables, words
from stiffcalc.report.blocks import Html, element, text
from stiffcalc.report.frame import frame

WORDS = ("clamp plane", "opening", "spread", "tilt", "yaw", "bow", "onset pressure", "frame", "front view")
RATIOS_HINT = (
    "Slope over pressure, measured over predicted, with the interval of the mean at 95 %. It holds from the end of the "
    "take-up to the low end of the first knee, 10 K round the temperatures read, for this layout and model."
)
PICTURES_HINT = (
    "Each cycle is drawn from the start of its fitted line, so that take-up and the gauge's zero are left out. Bars: "
    "two standard uncertainties. Dashed: fitted; diamond: knee with its interval at 95 %. Solid: predicted at minimum "
    "preload; shaded: up to maximum preload."
)
KNEES_HINT = (
    "A knee is where the slope rises by 5 % or more and the best bent line beats the straight one by both criteria "
    "(both gains above 0). The prediction is bent by the same rule at the same pressures; first contact is lost "
    "before, at the onset."
)
LOOPS_HINT = (
    "Area between the way down and the way up, positive where the way down lags; share of the rectangle round the "
    "loop. The area of fluid volume is work lost, mm³·MPa = N·mm."
)
HOW = (
    "Lines: weighted least squares over the ways up (weights 1/u², or all alike where no uncertainty is stated), one "
    "slope, a start of its own for each cycle. Intervals: Student's t on the scatter about the line, never less than "
    "the stated uncertainties explain.",
    "Take-up: readings below a break in the lowest quarter of the pressures are dropped where a line with that break "
    "is called for; --take-up states it instead.",
    "Knee: two lines that meet, against one straight line, by AICc and by BIC; both must agree, and BIC charges the "
    "place of the break twice, because the best of many places always fits somewhat better. On straight readings with "
    "noise this finds a knee in fewer than 3 of 100 sets. A series whose own scatter hides a knee is fitted up to the "
    "first knee of its case.",
    "Prediction: the same layout at the mean temperature of each case (body and bolts alike), minimum, nominal and "
    "maximum settled preload, fitted at the readings' pressures by the same rules. The ratio is to the nominal "
    "preload; half the range over preload, as a rectangle, adds to its error.",
    "Cases are averaged by their errors, which grow where cases differ by more than they explain.",
)


def render(c: Correlation, accuracy: str) -> str:
    """The page as HTML text; `accuracy` is the project's statement of what its models were checked against."""
    here = resources.files("stiffcalc.report")
    without = [
        f"{title(q.quantity, q.point)}: no ratio: {q.why_not}." for q in c.comparisons if q.ratio is None
    ]
    remarks = readings_tables.remarks(c)
    return frame("readings.html").substitute(
        title=text(f"{c.title}: readings of '{c.layout}'"),
        css=(here / "page.css").read_text(encoding="utf-8"),
        meta=text(
            f"stiffcalc {c.version} · study {c.sha256[:12]} · layout {c.layout_sha256[:12]} · {c.readings} "
            f"{c.readings_sha256[:12]} · {c.model}"
        ),
        cautions=Html("".join(element("p", n) for n in c.cautions)),
        verdict=text(c.verdict),
        notices=blocks.bullets(c.notices, class_="notices") if c.notices else "",
        ratios=_ratios(c),
        ratios_hint=text(RATIOS_HINT),
        without=blocks.bullets(without) if without else "",
        pictures_hint=text(PICTURES_HINT),
        pictures=_pictures(c),
        fits=_fits(c),
        remarks=blocks.bullets(remarks, class_="notices") if remarks else "",
        knees_hint=text(KNEES_HINT),
        knees=_knees(c),
        loops_hint=text(LOOPS_HINT),
        loops=_loops(c),
        how=blocks.bullets(HOW),
        accuracy=text(accuracy),
        glossary=element("dl", *(Html(element("dt", w) + element("dd", words.GLOSSARY[w])) for w in WORDS)),
    )


def _ratios(c: Correlation) -> Html:
    rows = [[*readings_tables.comparison_row(q), ", ".join(q.ratio.cases)] for q in c.comparisons if q.ratio]
    if not rows:
        return element("p", "No ratio can be used.")
    return blocks.table(
        "Measured over predicted", [*readings_tables.HEAD, "cases"], rows, class_="numbers matrix"
    )


def _pictures(c: Correlation) -> Html:
    pictures = [
        readings_plots.parity(c),
        *(readings_plots.overlay(c, q.quantity, q.point) for q in c.comparisons),
    ]
    return Html("".join(blocks.figure(p, p.title) for p in pictures))


def _who(f: SeriesFit) -> str:
    return f"{f.series.title}, {f.series.case}"


def _fits(c: Correlation) -> Html:
    head = [
        "series",
        "readings fitted",
        "slope per MPa",
        "± 95 %",
        "scatter",
        "scatter / stated",
        "predicted slope",
        "ratio",
    ]
    return blocks.table("Lines", head, [[_who(f), *_fit(f)] for f in c.fits])


def _fit(f: SeriesFit) -> list[str]:
    if f.found is None:
        return [f.why_not, *["–"] * 6]
    line, shown = f.found.line, f.series.kind.quantity
    return [
        f"{int(f.kept.sum())} of {len(f.series.value)}",
        f"{readings_tables.slope(f, line.slope)}\u00a0{shown.shown}",
        readings_tables.doubt(f, line.half_width),
        readings_tables.doubt(f, line.scatter),
        "–" if line.inflation != line.inflation else f"{line.inflation:.2f}",
        readings_tables.slope(f, f.expected[len(f.expected) // 2].slope) if f.expected else "–",
        quantity("ratio").text(f.ratio.value if f.ratio else None),
    ]


def _knees(c: Correlation) -> Html:
    head = [
        "series",
        readings_tables.SAID[0],
        "slope beyond / before",
        "gain, AICc / BIC",
        "predicted knee, MPa",
        "predicted onset, min. to max. preload, MPa",
    ]
    rows = [[_who(f), *_knee(c, f, f.found)] for f in c.fits if f.found]
    return blocks.table("Knees measured and predicted", head, rows)


def _knee(c: Correlation, f: SeriesFit, found: Found) -> list[str]:
    bend, first = found.line.bend, f.expected[0].bend if f.expected else None
    onset = c.curves[f.series.case].onset
    ends = [words.onset(float(p)).replace("\u00a0MPa", "") for p in (onset[0], onset[-1])]
    return [
        readings_tables.knee(f),
        f"{bend.slope / found.line.slope:.2f}" if bend else "–",
        " / ".join(f"{g:.0f}".replace("-", "−") for g in found.gain) if found.gain else "–",
        quantity("knee").text(first.at) if first else "none",
        " to ".join(dict.fromkeys(ends)),
    ]


def _loops(c: Correlation) -> Html:
    head = ["series", readings_tables.SAID[1], "loop area", "± 95 %", "share", "whole cycles"]
    return blocks.table(
        "Take-up and loops", head, [[_who(f), readings_tables.take_up(f), *_loop(f)] for f in c.fits]
    )


def _loop(f: SeriesFit) -> list[str]:
    if f.loop is None:
        return ["–", "–", "–", "0"]
    shown = f.series.kind.quantity
    return [
        f"{words.number(f.loop.area * shown.factor)}\u00a0{shown.shown}·MPa",
        readings_tables.doubt(f, f.loop.half_width),
        quantity("loop_share").with_unit(f.loop.share),
        str(f.loop.cycles),
    ]
