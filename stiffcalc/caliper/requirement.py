"""What checks look at: one load case of D layouts of one topology, each number an array over them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stiffcalc.caliper import clamp_plane
from stiffcalc.caliper.batch import Mask, differ, row
from stiffcalc.caliper.body import Body
from stiffcalc.caliper.heat import Warmth
from stiffcalc.caliper.measures import Masses
from stiffcalc.caliper.metal import Metal
from stiffcalc.caliper.response import Answer
from stiffcalc.catalogue import Material
from stiffcalc.condensed import Array
from stiffcalc.mechanics import hydraulics
from stiffcalc.mechanics.joint_state import Response, picked
from stiffcalc.study.schema import Design, Limits, LoadCase

PRACTICE = "common practice, no source"
LOW, HIGH = 0, -1  # preload states: minimum governs opening, slip, seal; maximum governs bolt, thread, head


@dataclass(frozen=True)
class View:
    """One end of the preload interval at one stage of life, answered at the case's pressure. D designs."""

    stage: str
    end: int  # LOW or HIGH
    warmth: Warmth
    preload: Array  # (D, J) N without pressure
    answer: Answer
    at: int

    @cached_property
    def held(self) -> Mask:
        """Whether something holds the halves together, (D,)."""
        return np.asarray(np.isfinite(self.answer.loaded.rigid[:, self.end, self.at]).all(axis=-1))

    @property
    def words(self) -> str:
        """Such as "minimum preload, cold after hot soak"."""
        return f"{'minimum' if self.end == LOW else 'maximum'} preload, {self.stage}"

    def note(self, bolts: Iterable[int], design: int) -> str:
        """`words` with the preload of the bolts meant, the least at the low end, the most at the high one."""
        own = self.preload[design, list(bolts)]
        if not own.size:
            return self.words
        return f"{self.words} ({(own.min() if self.end == LOW else own.max()) / 1e3:.1f} kN)"

    @property
    def state(self) -> Response:
        """Forces and movements, (D,) before the items' own axes."""
        return picked(self.answer.loaded, (slice(None), self.end, self.at))

    @property
    def tension(self) -> Array:
        """N, Mx, My of the bridges (D, N, 3)."""
        found: Array = self.answer.loaded.tension[:, self.end, self.at]
        return found

    @property
    def contact(self) -> Array:
        """N, Mx, My that contact puts on the bridges (D, N, 3): `tension` less the fluid's push in ports."""
        loaded = self.answer.loaded.pressure[:, self.end, self.at]
        return clamp_plane.contact(self.answer.pair, tension=self.tension, pressure=loaded)

    @property
    def bolt(self) -> Array:
        """Bolt forces (D, J), N."""
        found: Array = self.answer.loaded.bolt[:, self.end, self.at]
        return found


def allowed_stress(material: Material, case: LoadCase, limits: Limits) -> tuple[float, str]:
    """Yield (ultimate for burst) at the body's temperature over the factor of the case's kind, MPa, and in words."""
    name, factor = "yield" if case.kind != "burst" else "ultimate", limits.factors[case.kind]
    strength, _ = material.value_at(f"{name}_MPa", case.body_temperature_C)
    return strength / factor, f"{name} {strength:.0f} at {case.body_temperature_C:g} °C / {factor:g}"


@dataclass(frozen=True)
class Context:
    """One load case of D layouts of one topology, solved at its own temperature, and other stages that may govern.

    Numbers of design, body and mass are arrays (D,), or plain where they are the same in all (`mechanics.trees`).
    """

    design: Design
    body: Body
    metal: Metal
    case: LoadCase
    answer: Answer
    at: int  # index of the case's pressure
    mass: Masses
    fluid: Array  # (D,) mm3; NaN where nothing holds the halves together
    tilt_mrad: Array | None  # (D, B); None: no front view
    low: tuple[View, ...]  # least preloads: settled, cold, cold after hot soak, the case's own temperature
    high: tuple[View, ...]  # greatest preloads: tightened, hot, the case's own temperature

    @property
    def count(self) -> int:
        """Designs."""
        return len(self.answer.pair.bore_area)

    @cached_property
    def held(self) -> Mask:
        """Whether something holds the halves together in this case, at its own temperature and any preload, (D,)."""
        return np.asarray(np.isfinite(self.answer.loaded.rigid[:, :, self.at]).all(axis=(1, 2)))

    @cached_property
    def unequal(self) -> Mask:
        """Designs whose halves differ, (D,) or ()."""
        return differ(self.body.inboard, self.body.outboard)

    def bolts_of(self, bridge: int) -> tuple[int, ...]:
        """Bolts through one bridge."""
        return tuple(j for j, b in enumerate(self.body.bolts) if b.bridge == bridge)

    @property
    def allowed_stress(self) -> tuple[float, str]:
        """Allowed stress of the body's material in this case, MPa, and how it was got."""
        return allowed_stress(self.design.caliper.material, self.case, self.design.limits)

    @cached_property
    def clamp_force(self) -> Array:
        """Force of one side's pistons, N, (D,) or ()."""
        bores = row(b.diameter for b in self.body.inboard.bores)
        return hydraulics.clamp_force(self.case.pressure, diameters=bores)
