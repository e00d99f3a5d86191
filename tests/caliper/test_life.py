"""Preload through life: losses that add up, heat and settling beside VDI 2230 by hand, plausibility, refusals."""

import dataclasses
import tomllib
from pathlib import Path

import numpy as np
import pytest

import stiffcalc
from stiffcalc import catalogue
from stiffcalc.caliper import assess, heat, response
from stiffcalc.caliper.build import build
from stiffcalc.caliper.heat import ROOM, Warmth
from stiffcalc.caliper.life import COLD, EXTREMES, HOT, SETTLED, SOAKED, TIGHTENED, life, settling_um
from stiffcalc.caliper.preloads import torque_shares
from stiffcalc.errors import InputError
from stiffcalc.mechanics import resilience, settling
from stiffcalc.study import parse

DEMO = Path(__file__).parents[2] / "studies/hillclimb_front.toml"


def edited(*, bolt=None, **tables):
    """The demo's two-piece base alone; `bolt` keys go to every bolt, other tables over the file's."""
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    for one in data["caliper"]["bolt"]:
        one.update(bolt or {})
    for name, keys in tables.items():
        data.setdefault(name, {}).update(keys)
    return parse(data).designs[0]


def lived(design, **asked):
    body = build(design)
    return life(design, body, response.frame_pair(body), **asked)


@pytest.fixture(scope="module")
def base():
    """The same, assessed by the frame."""
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    return stiffcalc.assess(parse(data), front_view=False).variants[0]


@pytest.fixture(scope="module")
def demo():
    return lived(edited())


def test_stages_in_order_with_their_temperatures(demo):
    assert [s.name for s in demo.stages] == [TIGHTENED, SETTLED, HOT, COLD, SOAKED]
    assert [s.warmth for s in demo.stages] == [
        ROOM,
        ROOM,
        Warmth(120.0, 110.0),
        Warmth(-20.0, -20.0),
        Warmth(-20.0, -20.0),
    ]


def test_the_extremes_alone_are_those_of_the_whole_interval(demo):
    found = lived(edited(), ends=EXTREMES)
    assert found.ends == ("min", "max") and len(found.stages) == len(demo.stages)
    for own, whole in zip(found.stages, demo.stages, strict=True):
        np.testing.assert_allclose(own.preload.min, whole.preload.min, rtol=1e-9, err_msg=own.name)
        np.testing.assert_allclose(own.preload.max, whole.preload.max, rtol=1e-9, err_msg=own.name)
        np.testing.assert_allclose(own.losses["scatter"], whole.losses["scatter"])
        unasked = own.name != TIGHTENED  # what a bolt is tightened to is known anyhow
        assert np.isnan(own.preload.nominal).all() == unasked
        assert own.tight is None or own.tight.response.bolt.shape[1] == 2


def test_losses_add_up_from_the_nominal_as_tightened_to_each_minimum(demo):
    for stage in demo.stages:
        lost = np.sum(list(stage.losses.values()), axis=0)
        assert stage.preload.min == pytest.approx(demo.stages[0].preload.nominal - lost, rel=1e-12)
        assert np.all(stage.preload.min <= stage.preload.nominal) and np.all(
            stage.preload.nominal <= stage.preload.max
        )


def test_the_maximum_keeps_what_settling_and_creep_take(demo):
    tight, settled = demo.stages[0].preload, demo.stages[1].preload
    assert settled.max == pytest.approx(tight.max, rel=1e-9)
    assert np.all(settled.min < tight.min) and np.all(settled.nominal < tight.nominal)


def test_trends_of_the_trade(demo):
    # Aluminium outgrows steel: hot tightens, cold loosens, a soak is never regained. common practice, no source
    low = {s.name: s.preload.min for s in demo.stages}
    assert np.all(low[HOT] > low[SETTLED]) and np.all(low[COLD] < low[SETTLED])
    assert np.all(low[SOAKED] < low[COLD])
    rougher = lived(edited(bolt={"roughness": "coarse"})).stages[1].preload.min
    assert np.all(rougher < low[SETTLED])
    longer = lived(edited(bolt={"creep_loss_percent": 6.0})).stages[1].preload.min
    assert longer == pytest.approx(low[SETTLED] * 0.94 / 0.98, rel=1e-9)


def by_hand(design, *, index=0):
    """Bolt and plate resilience of one bolt by VDI 2230 Part 1: the cone of a tapped joint through its layers."""
    bolt, body = design.caliper.bolts[index], build(design)
    size = catalogue.thread(bolt.thread)
    steel = body.bolts[index].flexibility
    metal = design.caliper.material.E
    thickness = np.array(
        [body.inboard.thickness, 2 * body.half_gap, body.outboard.thickness - bolt.engagement]
    )
    outer = bolt.washer_diameter or catalogue.head(size.d).diameter
    limit = 32.0  # the bridge is that wide; two bolts share its height of about 45 mm
    tangent = resilience.cone_tangent(thickness.sum(), outer=outer, limit=limit, tapped=True)
    plates = resilience.plates(
        thickness, E=np.full(3, metal), outer=outer, hole=bolt.hole, limit=limit, tangent=tangent, tapped=True
    )
    return steel, float(plates.sum())


def test_settling_beside_vdi_2230_by_hand(demo):
    # VDI 2230 Part 1, F_Z = f_Z / (delta_S + delta_P). The solved joint has plates instead of a cone: 15 %.
    steel, plates = by_hand(demo.design)
    f_Z = settling_um(demo.design.caliper.bolts[0], demo.design)
    expected = settling.embedding_loss(f_Z, bolt=steel, plates=plates)
    assert demo.stages[1].losses["settling"] == pytest.approx(np.full((1, 4), expected), rel=0.15)


def test_heat_beside_vdi_2230_by_hand(demo):
    # VDI 2230 Part 1, preload at temperature, from the settled nominal; the same grip and expansions.
    steel, plates = by_hand(demo.design)
    settled, hot = demo.stages[1].preload, demo.stages[2]
    u = heat.bolt_lengthening(demo.design, demo.body, hot.warmth, 0)
    grade = catalogue.grade("12.9")
    expected = settling.preload_at_temperature(
        settled.nominal[0, 0],
        bolt=steel,
        plates=plates,
        lengthening=u,
        bolt_E_ratio=grade.E_at(110.0)[0] / grade.E,
        plates_E_ratio=heat.modulus_ratio(demo.design.caliper.material, 120.0),
    )
    gain = hot.preload.nominal[0, 0] - settled.nominal[0, 0]
    assert gain == pytest.approx(expected - settled.nominal[0, 0], rel=0.15)


def test_plausible_figures_of_an_m10_in_aluminium(demo):
    # From memory, M10 12.9 with a grip of 60 mm: 10 um of embedding take 1.0 to 1.4 kN; here the grip is 102 mm.
    # -60 K take 9 to 12 % off there; a longer grip has the same strain but less of it in the plates: up to half more.
    f_Z = settling_um(demo.design.caliper.bolts[0], demo.design)
    per_ten = 10.0 * demo.stages[1].losses["settling"] / f_Z / 1e3
    assert np.all((per_ten > 0.8) & (per_ten < 1.4))
    colder = lived(edited(life={"cold_C": -40.0}))
    settled, cold = colder.stages[1].preload.nominal, colder.stages[3].preload.nominal
    assert np.all((1 - cold / settled > 0.09) & (1 - cold / settled < 0.18))


def test_a_body_of_the_bolts_own_steel_keeps_its_preload():
    grade = catalogue.grade("12.9")
    steel = {
        "E_MPa": [[t, grade.E_at(t)[0]] for t in (-40.0, 20.0, 150.0)],
        "expansion_per_K": [[t, grade.expansion_at(t)[0]] for t in (-40.0, 20.0, 150.0)],
        "nu": 0.3,
        "density_kg_m3": 7850.0,
        "yield_MPa": 1000.0,
        "ultimate_MPa": 1100.0,
    }
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    data["material"] = {"bolt steel": steel}
    data["caliper"]["material"] = "bolt steel"
    data["load_case"][1]["bolt_temperature_C"] = 120.0
    data["life"] = {"soak_loss_percent": 0.0}
    found = lived(parse(data).designs[0])
    settled = found.stages[1].preload
    for stage in found.stages[2:]:
        # only the modulus changes, the same in bolt and body: force goes with it
        ratio = grade.E_at(stage.warmth.bolt_C)[0] / grade.E
        assert stage.preload.max == pytest.approx(ratio * settled.max, rel=2e-3)


def test_temperatures_outside_the_data_are_flagged_never_silent(base):
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    data["life"] = {"cold_C": -60.0}
    case = stiffcalc.assess(parse(data), front_view=False).variants[0].load_cases[0]
    said = " ".join(case.validity)
    assert "2014-T6: E at -60 °C is outside its data" in said and "grade 12.9: -60 °C is outside" in said
    assert not any("outside its data" in s for s in base.load_cases[0].validity)


def test_a_bridge_that_expands_unlike_the_body_is_flagged():
    data = tomllib.loads(DEMO.read_text())
    data["variant"] = data["variant"][:1]
    data["variant"][0]["set"]["caliper.bridge[3]"]["material"] = "Ti-6Al-4V"
    six = parse(data).designs[1]
    hot = dataclasses.replace(six, load_cases=six.load_cases[1:2])
    (case,) = assess.variant_result(hot, with_front_view=False).load_cases
    assert any("of Ti-6Al-4V, it grows" in s for s in case.validity)


def test_hot_load_cases_are_softer(base):
    # P11: opening goes with 1/E; closed joint, so the preload plays next to no part.
    v = base
    cold, hot = v.load_cases[0], v.load_cases[1]
    E = heat.modulus_ratio(edited().caliper.material, 120.0)
    assert hot.spread / hot.pressure == pytest.approx(cold.spread / cold.pressure / E, rel=0.01)


def test_every_check_says_which_end_and_stage_governs(base):
    v = base
    service = {c.id: c.note for c in v.load_cases[0].checks}
    for name in ("onset 1", "residual clamp 1", "slip", "clamp plane holds"):
        assert service[name].startswith(f"minimum preload, {SOAKED} ("), name
    for name in ("bolt service", "head pressure", "face pressure 1"):
        assert service[name].startswith(f"maximum preload, {HOT} ("), name
    proof = {c.id: c.note for c in v.load_cases[2].checks}
    assert proof["onset 1"].startswith(f"minimum preload, {SETTLED} (")
    assert proof["bolt service"].startswith(f"maximum preload, {TIGHTENED} (")


def test_results_hold_the_life_and_what_is_needed(base):
    v = base
    contract = stiffcalc.caliper.results.variant_dict(v)["preload_life"]
    assert [b["bolt"] for b in contract] == [1, 2, 3, 4]
    first = contract[0]
    assert [s["stage"] for s in first["stages"]] == [TIGHTENED, SETTLED, HOT, COLD, SOAKED]
    assert first["stages"][-1].keys() >= {"body_C", "bolt_C", "min_N", "nominal_N", "max_N", "losses_N"}
    # needed preload: onset falls in proportion, so at it the face just opens at the highest service pressure
    face = next(j for j in v.load_cases[0].joints if j.bridge == first["bridge"])
    settled = first["stages"][1]["min_N"]
    assert first["needed_N"] == pytest.approx(settled * 12.0 / face.onset_MPa, rel=1e-9)
    shares = first["torque_Nm"]
    assert shares["total"] == pytest.approx(shares["pitch"] + shares["thread"] + shares["head"])


def test_torque_and_preload_that_agree_are_one_thing():
    bolt = edited().caliper.bolts[0]
    torque = torque_shares(bolt, 44000.0).total
    both = edited(bolt={"torque_Nm": round(torque, 1)})
    assert lived(both).stages[0].preload.nominal == pytest.approx(44000.0)
    alone = dataclasses.replace(bolt, preload_N=None, torque_Nm=torque)
    one = dataclasses.replace(both, caliper=dataclasses.replace(both.caliper, bolts=(alone,) * 4))
    assert stiffcalc.caliper.preloads.preloads(one).nominal == pytest.approx(44000.0)


def test_torque_and_preload_that_contradict_are_refused_with_the_mend():
    data = tomllib.loads(DEMO.read_text())
    data["caliper"]["bolt"][1]["torque_Nm"] = 40.0
    with pytest.raises(InputError) as error:
        stiffcalc.assess(parse(data), front_view=False)
    fault = error.value.faults[0]
    assert fault.where == "caliper.bolt[2]" and "torque_Nm = 40" in fault.found
    assert "within 2\u00a0% of" in fault.allowed and "remove one of the two" in fault.mend


def test_dowels_carry_what_friction_cannot(base):
    plain = next(c for c in base.load_cases[1].checks if c.id == "slip")
    assert not plain.met
    data = tomllib.loads(DEMO.read_text())
    data.pop("variant")
    data["caliper"]["dowel"] = [
        {"x_mm": x, "y_mm": 153.5, "diameter_mm": 8.0, "material": "S355"} for x in (-86.0, 86.0)
    ]
    checks = {
        c.id: c for c in stiffcalc.assess(parse(data), front_view=False).variants[0].load_cases[1].checks
    }
    pinned = checks["slip"]
    # two pins, shear area of each, von Mises, S355 at room temperature: by hand
    steel = catalogue.material("S355").yield_MPa
    assert pinned.actual == pytest.approx(2 * np.pi / 4 * 8.0**2 * steel / np.sqrt(3.0), rel=1e-6)
    assert "dowels carry" in pinned.note and checks["dowel shear"].met
    assert checks["dowel bearing"].actual == pytest.approx(pinned.allowed / 2 / 8.0 / 8.0, rel=1e-9)
