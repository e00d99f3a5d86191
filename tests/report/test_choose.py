"""Which results come first."""

from dataclasses import replace

import report_sample as sample

from stiffcalc.caliper.results import Results
from stiffcalc.report import choose


def test_headline_is_the_highest_service_case(ugly: Results) -> None:
    assert choose.headline(ugly.variants[0]).name == "hard stop, worst friction"
    assert choose.highest(ugly.variants[0]).pressure == 22.5


def test_headline_without_service_cases_is_the_highest(good: Results) -> None:
    proof = tuple(c for c in good.variants[0].load_cases if c.kind == "proof")
    assert choose.headline(replace(good.variants[0], load_cases=proof)).pressure == 15.0


def test_a_margin_that_is_no_number_comes_last(good: Results) -> None:
    v = good.variants[0]
    odd = replace(v.load_cases[0].checks[0], margin=float("nan"), met=False)
    case = replace(v.load_cases[0], checks=(odd, *v.load_cases[0].checks[1:]))
    found = choose.findings(sample.of((replace(v, load_cases=(case,)),)))
    assert found[0].check.margin == min(f.check.margin for f in found[:-1])
    assert found[-1].check is odd


def test_first_to_open(good: Results) -> None:
    joint = choose.first_to_open(choose.highest(good.variants[1]))
    assert joint is not None
    assert joint.bridge != "centre"
    assert choose.first_to_open(choose.highest(good.variants[2])) is None
