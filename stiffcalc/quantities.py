"""The one table of quantities: key, symbol, units, words, digits. Files, columns, pictures and pages are fed from it.

A key is the field's name in `stiffcalc.caliper.results`; where one name means two things it is preceded by its owner
("mass.total", "fluid.total", "face.x"). Values are stored and written to files in `unit`,
and shown to people in `shown`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

CAUTION = (
    "Screening estimate only: validated FEA, proof, burst and fatigue tests, local codes and licensed practice "
    "decide."
)  # on every output
PLAIN = str.maketrans({"/": "_per_", " ": None, "(": None, ")": None})  # a unit in the name of a column: Nmm


@dataclass(frozen=True)
class Quantity:
    """What one number of the results is. shown value = stored value * `factor`, with `digits` decimals.

    `digits` None: a small relative number, shown as a power of ten.
    """

    key: str
    symbol: str
    unit: str
    words: str
    digits: int | None
    shown: str
    factor: float

    @property
    def column(self) -> str:
        """Name of a file column: the key with its unit, once."""
        stem = self.key.replace(".", "_")
        unit = self.unit.translate(PLAIN)
        return stem if not unit or stem.endswith(unit) else f"{stem}_{unit}"

    @property
    def label(self) -> str:
        """Words with the shown unit, for an axis or a table row."""
        return f"{self.words}, {self.shown}" if self.shown else self.words

    def text(self, value: float | None) -> str:
        """The shown value without its unit; a dash where there is none, ∞ where it is unbounded.

        Values from 10 000 on get a thin gap between thousands, as ISO 80000-1 prints them.
        """
        if value is None or math.isnan(value):
            return "–"
        if math.isinf(value):
            return "∞" if value > 0 else "−∞"
        shown = value * self.factor
        if self.digits is None:
            return f"{shown:.0e}".replace("-", "−")
        text = f"{shown:.{self.digits}f}"
        text = f"{0.0:.{self.digits}f}" if float(text) == 0 else text
        if abs(shown) >= 10000:
            text = f"{shown:,.{self.digits}f}".replace(",", "\u202f")
        return text.replace("-", "−")

    def with_unit(self, value: float | None) -> str:
        """The shown value, a space that does not break, and its unit."""
        text = self.text(value)
        return f"{text}\u00a0{self.shown}" if self.shown and text not in ("–", "∞", "−∞") else text


def _q(
    key: str,
    symbol: str,
    unit: str,
    words: str,
    digits: int | None,
    shown: str | None = None,
    factor: float = 1.0,
) -> Quantity:
    return Quantity(key, symbol, unit, words, digits, unit if shown is None else shown, factor)


def _um(key: str, symbol: str, words: str) -> Quantity:
    return _q(key, symbol, "mm", words, 0, "µm", 1e3)


def _kN(key: str, symbol: str, words: str) -> Quantity:
    return _q(key, symbol, "N", words, 1, "kN", 1e-3)


_ALL = (
    # loads
    _q("pressure", "p", "MPa", "line pressure", 1),
    _kN("clamp_force", "F", "clamp force of one side"),
    # opening
    _um("spread", "s", "spread"),
    _um("spread_frame", "s", "spread, frame model"),
    _um("opening", "s", "opening"),
    _um("opening_max", "s_max", "largest opening of a bore"),
    _um("by_bore", "s_i", "opening of bore"),
    _um("middle", "s_m", "opening at the middle"),
    _um("bow", "s_b", "bow"),
    _um("cut_opening", "s", "opening along the cut"),
    _q("cut_slope", "θ", "rad", "slope of the opening along the cut", 2, "mrad", 1e3),
    _q("tilt_by_bore", "θ_i", "mrad", "tilt of bore", 2),
    _q("tilt_middle", "θ", "mrad", "tilt at the middle", 2),
    _q("yaw", "ψ", "mrad", "yaw", 2),
    _um("contributions", "s_k", "contribution to the spread"),
    # fluid
    _q("fluid.floors", "V_f", "mm3", "fluid taken by the bore floors", 0, "mm³"),
    _q("fluid.bore_walls", "V_w", "mm3", "fluid taken by bore growth", 0, "mm³"),
    _q("fluid.pads", "V_p", "mm3", "fluid taken by the pads", 0, "mm³"),
    _q("fluid.fluid", "V_h", "mm3", "fluid taken by its own compression", 0, "mm³"),
    _q("fluid.total", "V", "mm3", "total fluid taken", 0, "mm³"),
    # stiffness and mass
    _q("stiffness_kN_per_mm", "k", "kN/mm", "stiffness, clamp force over spread", 0),
    _q("stiffness_per_mass", "k/m", "kN/mm/kg", "stiffness per mass", 0, "(kN/mm)/kg"),
    _q("mass.body", "m", "kg", "mass of the body", 3),
    _q("mass.bolts", "m", "kg", "mass of the bolts", 3),
    _q("mass.pistons", "m", "kg", "mass of the pistons", 3),
    _q("mass.fittings", "m", "kg", "mass of the fittings", 3),
    _q("mass.total", "m", "kg", "total mass", 3),
    _q("mass_kg", "m", "kg", "total mass with this form", 3),
    _q("mass_per_bow", "", "g/um", "mass per bow removed", 1, "g/µm"),
    _q("mass.centre_of_mass", "", "mm", "centre of mass (x, y, z)", 1),
    _q("mass.volume_mm3", "", "mm3", "metal volume of the body", 0, "cm³", 1e-3),
    # joint
    _q("onset_MPa", "p_0", "MPa", "onset pressure", 1),
    _q("onset_x", "x", "mm", "place of first loss of contact, x", 1),
    _q("onset_y", "y", "mm", "place of first loss of contact, y", 1),
    _q("open_fraction", "a", "", "share of the joint face without contact", 0, "%", 100.0),
    _q("face_pressure_max_MPa", "p_c", "MPa", "largest contact pressure, maximum preload", 0),
    _q("face_pressure_min_MPa", "p_c", "MPa", "least contact pressure, minimum preload", 0),
    _q("face.pressure_MPa", "p_c", "MPa", "contact pressure, minimum preload", 0),
    _q("open_2pct_MPa", "p_2", "MPa", "pressure at which 2 % of the face has lost contact", 1),
    _q("swing_MPa", "Δp_c", "MPa", "largest change of contact pressure with line pressure", 0),
    _q("swing_x", "x", "mm", "place of the largest change of contact pressure, x", 1),
    _q("swing_y", "y", "mm", "place of the largest change of contact pressure, y", 1),
    _q("opening_share", "a_c", "", "share of the joint face that opens at every stop", 0, "%", 100.0),
    # joint as a 3-D solid, beside the front view
    _q("solid.pressure", "p", "MPa", "line pressure", 1),
    _q("solid.onset", "p_0", "MPa", "onset pressure, solid", 1),
    _q("solid.plate_onset", "p_0", "MPa", "onset pressure, front view", 1),
    _um("solid.by_bore", "s_i", "opening of bore, solid"),
    _um("solid.plate_by_bore", "s_i", "opening of bore, front view"),
    _q("solid.bolt_increment", "ΔF_b", "N", "bolt force beyond preload, solid", 2, "kN", 1e-3),
    _q("solid.plate_bolt_increment", "ΔF_b", "N", "bolt force beyond preload, front view", 2, "kN", 1e-3),
    _q("solid.touching", "a_c", "", "share of the joint still in contact, solid", 0, "%", 100.0),
    # ports
    _q("port.index", "", "", "port", 0),
    _q("port.contact_MPa", "p_c", "MPa", "lowest contact pressure round the seal", 1),
    _q("port.x", "x", "mm", "place of the lowest contact pressure round the seal, x", 1),
    _q("port.y", "y", "mm", "place of the lowest contact pressure round the seal, y", 1),
    _q("port.open_share", "a_s", "", "share of the circle round the seal without contact", 0, "%", 100.0),
    # bolts
    _q("index", "", "", "bolt", 0),
    _kN("preload_min", "F_0", "preload, minimum"),
    _kN("preload_nominal", "F_0", "preload, nominal"),
    _kN("preload_max", "F_0", "preload, maximum"),
    _kN("force", "F_b", "bolt force, minimum preload"),
    _kN("force_max", "F_b", "bolt force, maximum preload"),
    _kN("bolt_force", "F_b", "bolt force"),
    _kN("amplitude", "F_a", "half the swing of the bolt force"),
    # life of a bolt
    _q("stage.body_C", "T", "C", "body temperature", 0, "°C"),
    _q("stage.bolt_C", "T", "C", "bolt temperature", 0, "°C"),
    _kN("stage.min", "F_V", "preload, minimum"),
    _kN("stage.nominal", "F_V", "preload, nominal"),
    _kN("stage.max", "F_V", "preload, maximum"),
    _kN("stage.losses", "F_Z", "preload lost"),
    _kN("needed", "F_V", "preload needed to stay closed in service"),
    _kN("proof_load", "F_p", "proof load"),
    _q("torque.pitch", "M", "Nm", "torque into stretch", 1, "N·m"),
    _q("torque.thread", "M", "Nm", "torque into friction of the thread", 1, "N·m"),
    _q("torque.head", "M", "Nm", "torque into friction under the head", 1, "N·m"),
    _q("torque.total", "M_A", "Nm", "tightening torque", 1, "N·m"),
    # checks: actual and allowed carry the check's own unit
    _q("actual", "", "", "actual", 3),
    _q("allowed", "", "", "allowed", 3),
    _q("margin", "", "", "margin", 1, "%", 100.0),
    # matrix of bolts
    _q("rank", "", "", "rank", 0),
    _q("rank_frame", "", "", "rank by the frame alone", 0),
    _q("count", "n", "", "bolts", 0),
    _q("pattern", "n_i", "", "bolts in each bridge", 0),
    _q("row_shift", "Δy", "mm", "row shift, outward positive", 1),
    _q("torque_Nm", "M_A", "Nm", "tightening torque, nominal", 0, "N·m"),
    _q("worst_margin", "", "", "worst margin", 1, "%", 100.0),
    _q("fatigue_margin", "", "", "fatigue margin of the bolts", 0, "%", 100.0),
    _q("unmet", "", "", "checks not met", 0),
    _q("checks", "", "", "checks", 0),
    _q("hold_MPa", "p", "MPa", "highest pressure at which the joint must stay closed", 1),
    # sweeps
    _q("sweep.designs", "", "", "designs", 0),
    _q("sweep.evaluated", "", "", "designs evaluated", 0),
    _q("sweep.feasible", "", "", "designs that meet every check", 0),
    _q("sweep.refused", "", "", "designs refused by the rules of the study file", 0),
    _q("sweep.no_equilibrium", "", "", "designs without equilibrium", 0),
    _q("sweep.rank", "", "", "rank", 0),
    _q("sweep.rank_frame", "", "", "rank by the frame alone", 0),
    _q("sweep.design", "", "", "number of the design", 0),
    _q("sweep.mass_kg", "m", "kg", "total mass", 3),
    _q("sweep.reasons", "", "", "designs refused for it", 0),
    _q("sweep.governs", "", "", "designs whose worst margin it is", 0),
    _q("sweep.columns", "", "", "columns of all designs, their units in their names", 0),
    # readings; slopes and loops carry the unit of what was read
    _q("temperature", "T", "C", "temperature", 0, "°C"),
    _q("take_up", "p_t", "MPa", "take-up ends", 2),
    _q("knee", "p_k", "MPa", "knee", 1),
    _q("slope", "k", "", "slope per MPa", 4),
    _q("scatter", "", "", "scatter of the readings", 4),
    _q("ratio", "r", "", "measured over predicted", 3),
    _q("ratio_error", "u_r", "", "standard error of the ratio", 3),
    _q("degrees", "ν", "", "degrees of freedom", 0),
    _q("loop_area", "", "", "hysteresis, area of the loop", 4),
    _q("loop_share", "", "", "hysteresis, share of the rectangle round the loop", 1, "%", 100.0),
    _q("cycles", "", "", "whole cycles", 0),
    # what changed
    _q("moved", "", "", "change", 1, "%", 100.0),
    # sections through bridges
    _q("size.end", "", "mm", "sized", 2),
    _q("size.mass", "m", "kg", "mass with fillets", 4),
    _q("size.use", "", "", "worst use", 1, "%", 100.0),
    _q("section.x", "x", "mm", "x of the plane", 1),
    _q("section.thickness", "t", "mm", "thickness of the section", 1),
    _q("section.width", "b", "mm", "width of the strip", 1),
    _q("section.height", "h", "mm", "height of the bridge in the plane", 1),
    _q("section.y_r", "y_r", "mm", "mid height of the bridge in the plane", 1),
    _q("section.fillet_mm", "r", "mm", "fillet", 1),
    _q("section.hole_change", "", "", "change of the hole's stress from twice the sides", 1, "%", 100.0),
    _q("section.pressure", "p", "MPa", "line pressure of the section's case", 1),
    _q("section.body_C", "T", "C", "body temperature of the section's case", 0, "°C"),
    _q("section.corner_stress", "σ", "MPa", "von Mises stress beside the sharp corner", 0),
    _q("section.stress", "σ", "MPa", "von Mises stress", 0),
    _q("section.used", "", "", "largest share of the allowed stress", 0, "%", 100.0),
    _q("surface.stress", "σ", "MPa", "largest von Mises stress", 0),
    _q("surface.section_stress", "σ", "MPa", "the same, section alone", 0),
    _q("surface.rest", "σ", "MPa", "at rest", 0),
    _q("surface.z", "z", "mm", "place, z", 1),
    _q("surface.y", "y", "mm", "place, y", 1),
    _q("surface.error", "", "", "estimated error", 1, "%", 100.0),
    _q("surface.yield_MPa", "R_p", "MPa", "yield", 0),
    _q("surface.yield_margin", "", "", "margin against yield", 0, "%", 100.0),
    _q("surface.amplitude", "σ_a", "MPa", "amplitude", 0),
    _q("surface.mean", "σ_m", "MPa", "mean", 0),
    _q("surface.endurance", "S", "MPa", "amplitude allowed at that mean", 0),
    _q("surface.fatigue_margin", "", "", "margin against fatigue", 0, "%", 100.0),
    _kN("cut.N", "N", "force through bridge and bolts"),
    _q("cut.Mx", "M_x", "N mm", "moment through bridge and bolts", 0, "N·m", 1e-3),
    _kN("cut.bridge_N", "N", "force of the bridge alone, by the joint"),
    _q("cut.bridge_Mx", "M_x", "N mm", "moment of the bridge alone, by the joint", 0, "N·m", 1e-3),
    _q("cut.bridge_My", "M_y", "N mm", "moment about y, not in the section", 0, "N·m", 1e-3),
    _kN("cut.bolts", "F_b", "bolts, by the joint"),
    _kN("cut.bolts_section", "F_b", "bolts, by the section"),
    _q("cut.balance", "", "", "cut against N and Mx, relative", None),
    _q("cut.rotation", "θ", "mrad", "rotation of the wall behind the bridge", 3),
    _q("cut.rotation_closed", "θ", "mrad", "the same by closed form", 3),
    _q("contact.y", "y", "mm", "height on the joint face", 1),
    _q("contact.pressure", "p_c", "MPa", "contact pressure over the height", 0),
    _kN("contact.force", "F", "force on the joint face"),
    _q("contact.moment", "M", "N mm", "moment of the pressure on the joint face", 0, "N·m", 1e-3),
    _q("contact.open_fraction", "a", "", "open share of the joint face in the section", 0, "%", 100.0),
    _q("trust.asked", "", "", "accuracy asked", 1, "%", 100.0),
    _q("trust.value", "σ", "MPa", "peak of the governing case, section alone", 1),
    _q("trust.estimate", "", "", "estimated error of the peak", 1, "%", 100.0),
    _q("trust.order", "", "", "observed order", 1),
    _q("trust.extrapolated", "σ", "MPa", "extrapolated peak", 1),
    _q("trust.unknowns", "", "", "unknowns of the finest mesh", 0),
    _q("trust.distance", "", "mm", "distance from the sharp corner", 1),
    _q("onset.section", "p_0", "MPa", "onset pressure by the section", 1),
    _q("onset.joint", "p_0", "MPa", "onset pressure by the joint, 20 °C", 1),
    _q("onset.joint_without_My", "p_0", "MPa", "the same without My", 1),
    _q("onset.open_when_tightened", "a", "", "open share when tightened", 0, "%", 100.0),
    _q("flexibility.w_per_N", "", "mm/N", "movement per N, section", 3, "µm/kN", 1e6),
    _q("flexibility.turn_per_Mx", "", "rad/(N mm)", "rotation per N mm, section", 2, "µrad/(N·m)", 1e9),
    _q("flexibility.closed_w_per_N", "", "mm/N", "movement per N, closed form", 3, "µm/kN", 1e6),
    _q(
        "flexibility.closed_turn_per_Mx",
        "",
        "rad/(N mm)",
        "rotation per N mm, closed form",
        2,
        "µrad/(N·m)",
        1e9,
    ),
    _q("idle.below", "", "", "share of the allowed stress below which metal idles", 0, "%", 100.0),
    _q("idle.volume_share", "", "", "idle share of the section's metal", 0, "%", 100.0),
    _q("idle.mass_kg", "m", "kg", "idle metal of the strip, one half", 3),
    # slopes, per unit of a dimension
    _q("slope.spread", "", "mm", "change of the spread", 2, "µm", 1e3),
    _q("slope.tilt", "", "mrad", "change of the largest tilt", 3),
    _q("slope.mass", "", "kg", "change of the mass", 1, "g", 1e3),
    _q("slope.worst_margin", "", "", "change of the worst margin", 2, "points", 100.0),
    _q("slope.grams_per_um", "", "g/um", "mass paid per spread taken away", 1, "g/µm"),
    _q("slope.step_change", "", "", "change of the slope at half the step", 2, "%", 100.0),
    _q("slope.value", "", "", "value of the dimension", 3),
    _q("slope.step", "", "", "step of the dimension", 3),
    _q("slope.margin_up", "", "", "change of the worst margin upward", 2, "points", 100.0),
    _q("slope.margin_down", "", "", "change of the worst margin downward", 2, "points", 100.0),
    _q("slope.margin_half_step", "", "", "change of the worst margin at half the step", 2, "points", 100.0),
    _q("confirmed.frame", "", "mm", "slope of the spread, frame", 2, "µm", 1e3),
    _q("confirmed.front_view", "", "mm", "slope of the spread, front view", 2, "µm", 1e3),
    _q("confirmed.noise", "", "mm", "remeshing noise of the slope", 2, "µm", 1e3),
    _q("confirmed.step", "", "", "step of the front view", 3),
    _q("formula.portal", "s", "mm/MPa", "spread per MPa, closed form", 2, "µm/MPa", 1e3),
    _q("formula.frame", "s", "mm/MPa", "spread per MPa, frame", 2, "µm/MPa", 1e3),
    _q("formula.bores", "", "", "bores a side", 0),
    _q(
        "formula.slopes",
        "",
        "mm/MPa",
        "change of the spread per MPa, symbol doubled in first order",
        3,
        "µm/MPa",
        1e3,
    ),
    _q("formula.values", "", "", "value of the symbol", 3),
    _q("here.pressure", "p", "MPa", "line pressure", 1),
    _um("here.spread", "s", "spread"),
    _q("here.tilt", "θ", "mrad", "largest tilt of a bore", 2),
    _q("here.mass", "m", "kg", "total mass", 3),
    _q("here.worst_margin", "", "", "worst margin", 1, "%", 100.0),
    _q("here.remeshing", "", "", "scatter by remeshing", 2, "%", 100.0),
    _q("here.seed", "", "", "seed", 0),
    # bodies drawn by chance
    _q("drawn.samples", "n", "", "bodies drawn", 0),
    _q("drawn.seed", "", "", "seed", 0),
    _q("drawn.loose", "", "", "bodies that do not hold", 0),
    _q("drawn.case_pressure", "p", "MPa", "line pressure of the case", 1),
    _um("drawn.limit", "s", "limit of the spread"),
    _q("drawn.pressure", "p", "MPa", "line pressure", 1),
    _um("drawn.curve", "s", "spread of the layout itself"),
    _um("drawn.curve_band", "s", "spread below which 5, 50, 95 % of the bodies lie"),
    _q("drawn.unexplained", "", "", "share of the variance that no linear fit explains", 1, "%", 100.0),
    _q("band.here", "", "", "of the layout itself", 3),
    _q("band.low", "", "", "5 % of the bodies below", 3),
    _q("band.median", "", "", "half of the bodies below", 3),
    _q("band.high", "", "", "95 % of the bodies below", 3),
    _q("band.mean", "", "", "mean of the bodies", 3),
    _q("band.deviation", "", "", "standard deviation", 4),
    _q("chance.margin", "", "", "margin of the layout itself", 1, "%", 100.0),
    _q("chance.met", "", "", "bodies that meet the check", 0),
    _q("chance.bodies", "", "", "bodies", 0),
    _q("chance.probability", "P", "", "probability of being met", 1, "%", 100.0),
    _q("chance.low", "", "", "probability, low end", 1, "%", 100.0),
    _q("chance.high", "", "", "probability, high end", 1, "%", 100.0),
    _q("cause.variance_share", "", "", "share of the spread's variance", 1, "%", 100.0),
    # pockets
    _q("pocket.depth", "d", "mm", "pocket depth", 2),
    _q("pocket.mass", "m", "kg", "total mass", 3),
    _q("pocket.less", "", "", "spread less than the even wall's", 1, "%", 100.0),
    # layouts at equal mass
    _q("compare.case_pressure", "p", "MPa", "line pressure of the case", 1),
    _um("compare.spread_limit", "s", "limit of the spread"),
    _q("compare.mass_limit", "m", "kg", "limit of the mass", 3),
    _q("compare.seed", "", "", "seed", 0),
    _q("compare.targets", "m", "kg", "masses asked", 2),
    _q("compare.masses", "m", "kg", "masses compared", 3),
    _q("compare.extra", "m", "kg", "mass added by the study", 3),
    _q("compare.evaluated", "", "", "designs evaluated", 0),
    _q("compare.refused", "", "", "designs that cannot be had", 0),
    _q("compare.asked", "", "", "designs answered by the model that counts", 0),
    _q("compare.lightest", "m", "kg", "lightest design that meets every check", 3),
    _q("compare.lightest_frame", "m", "kg", "lightest design that meets every check by the frame", 3),
    _q("point.budget", "m", "kg", "mass allowed", 2),
    _q("point.mass", "m", "kg", "total mass", 3),
    _um("point.spread", "s", "spread"),
    _um("point.spread_frame", "s", "spread by the frame"),
    _um("point.spread_searched", "s", "spread by the frame, faces moving as planes"),
    _q("point.stiffness_kN_per_mm", "k", "kN/mm", "stiffness, clamp force over spread", 0),
    _q("point.stiffness_per_mass", "k/m", "kN/mm/kg", "stiffness per mass", 0, "(kN/mm)/kg"),
    _q("limit.margin", "", "", "margin of what limits", 1, "%", 100.0),
    _q("scatter.model", "u", "mm", "standard uncertainty from the model", 1, "µm", 1e3),
    _q("scatter.preload", "u", "mm", "standard uncertainty from preload and friction", 1, "µm", 1e3),
    _q("scatter.modulus", "u", "mm", "standard uncertainty from the moduli", 1, "µm", 1e3),
    _q("scatter.shares", "u", "mm", "change of the spread per deviation of a modulus", 1, "µm", 1e3),
    _q("gap.budget", "m", "kg", "mass allowed to both", 2),
    _q("gap.difference", "Δs", "mm", "difference of the spreads", 1, "µm", 1e3),
    _q("gap.uncertainty", "u", "mm", "standard uncertainty of the difference", 1, "µm", 1e3),
    _q("gap.crossing_mass", "m", "kg", "mass at the crossing", 2),
    _q("gap.between", "m", "kg", "masses beside the crossing", 2),
    # quality of the solution, relative
    _q("residual", "", "", "residual of the solve, relative", None),
    _q("equilibrium", "", "", "reactions against loads, relative", None),
    _q("energy", "", "", "work against strain energy, relative", None),
    # places and drawing data
    _q("face.x", "x", "mm", "x, tangential", 1),
    _q("face.y", "y", "mm", "y, radial", 1),
    _q("y_m", "y", "mm", "y of the bores' centre", 1),
    _q("cut_x", "x", "mm", "x of the cut", 1),
    _q("nodes", "x, y", "mm", "places of the mesh", 1),
    _q("triangles", "", "", "corners of the mesh's triangles", 0),
)

QUANTITIES = {q.key: q for q in _ALL}


def quantity(key: str) -> Quantity:
    """The quantity of that key. Raises KeyError for one that is not in the table."""
    return QUANTITIES[key]


def percent(share: float, digits: int = 0, *, signed: bool = False) -> str:
    """A share in words as a quantity shown in % is: 0.125 as 12.5 %, the space one that does not break."""
    return f"{100.0 * share:{'+' if signed else ''}.{digits}f}\u00a0%".replace("-", "−")
