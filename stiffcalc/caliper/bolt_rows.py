"""Bolts side by side with their catalogue rows, and their forces at stages of life: D designs, J bolts, V stages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stiffcalc import catalogue
from stiffcalc.caliper.batch import Mask, Pick, column, least, row
from stiffcalc.caliper.joint_checks import held_views
from stiffcalc.caliper.requirement import View
from stiffcalc.condensed import Array
from stiffcalc.mechanics import bearing
from stiffcalc.mechanics.tightening import tightening_shear
from stiffcalc.mechanics.values import Num
from stiffcalc.study.schema import Screw


@dataclass(frozen=True)
class Sizes:
    """Threads of a row of bolts, (J,) mm and mm2; see `fasteners.Thread`."""

    d: Array
    P: Array
    d2: Array
    D1: Array
    A_s: Array

    @property
    def column(self) -> Sizes:
        """The same as (J, 1), to meet stages of life."""
        return Sizes(*(column(v) for v in vars(self).values()))


@dataclass(frozen=True)
class Seen:
    """A row of bolts with their catalogue rows; figures (J,) where they come from names, else (D, J)."""

    screws: tuple[Screw, ...]
    names: tuple[str, ...]
    size: Sizes
    yield_MPa: Array
    ultimate_MPa: Array
    tight: Array  # largest preload, N
    shear: Array  # torsion at tightening, MPa

    def grade(self, index: int) -> catalogue.Grade:
        """One bolt's grade."""
        return catalogue.grade(self.screws[index].grade)

    def strength_factors(self, temperatures_C: Sequence[float]) -> Array:
        """Factors on the strengths of each bolt at temperatures, (J, V)."""
        grades = [self.grade(j) for j in range(len(self.screws))]
        return np.array([[g.strength_factor(t)[0] for t in temperatures_C] for g in grades])

    def outer(self) -> Array:
        """Bearing diameter of heads or washers, mm."""
        own = (catalogue.head(float(d)).diameter for d in self.size.d)
        return row(_outer(b, head) for b, head in zip(self.screws, own, strict=True))


def seen(screws: Sequence[Screw], names: Sequence[str], tight: Array) -> Seen:
    """A row of bolts with their largest preloads as tightened (D, J), N."""
    sizes = [catalogue.thread(b.thread) for b in screws]
    grades = [catalogue.grade(b.grade) for b in screws]
    size = Sizes(*(np.array([getattr(s, k) for s in sizes]) for k in ("d", "P", "d2", "D1", "A_s")))
    friction = row(b.friction_thread for b in screws)
    return Seen(
        screws=tuple(screws),
        names=tuple(f"{name} ({b.thread}, {b.grade})" for name, b in zip(names, screws, strict=True)),
        size=size,
        yield_MPa=np.array([g.yield_MPa for g in grades]),
        ultimate_MPa=np.array([g.ultimate_MPa for g in grades]),
        tight=tight,
        shear=tightening_shear(tight, thread=size, friction_thread=friction),
    )


def _outer(bolt: Screw, head: float) -> Num:
    if bolt.washer_diameter is None:
        return head
    return bearing.washer_face(head, thickness=bolt.washer_thickness, washer=bolt.washer_diameter)


@dataclass(frozen=True)
class Stages:
    """Stages of life at which something holds, and the bolt forces there."""

    views: tuple[View, ...]
    held: Mask  # (D, V)
    force: Array  # (D, J, V) N

    @classmethod
    def of(cls, views: Sequence[View]) -> Stages:
        """Of all stages those that hold in some design."""
        found, held = held_views(views)
        force = np.stack([v.bolt for v in found], axis=-1) if found else np.zeros((0, 0, 0))
        return cls(tuple(found), held, force)

    def least(self, margin: Array) -> Pick:
        """Bolt and stage of least margin (D, J, V)."""
        return least(margin, self.held[:, None])

    @property
    def applies(self) -> Mask:
        """Designs that hold at some stage, (D,)."""
        return np.asarray(self.held.any(axis=1))
