"""Guide values of assembling a bolted joint: embedding by roughness, scatter by method, torque factors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from stiffcalc.catalogue.rows import rows
from stiffcalc.errors import Fault, InputError

LOADS = ("axial", "transverse")  # what works on the joint besides the preload


@dataclass(frozen=True)
class Embedding:
    """How much each place of a joint settles, micrometres, for one range of roughness."""

    thread_um: float  # all engaged threads together
    face_um: float  # under each head, nut or washer
    interface_um: float  # each inner interface of the clamped parts
    source: str
    status: str


@dataclass(frozen=True)
class Scatter:
    """Usual range of the tightening factor alpha_A, largest over smallest preload, of one method."""

    method: str
    least: float
    most: float
    source: str
    status: str


@cache
def embedding(rz_um: float, *, load: str = "axial") -> Embedding:
    """Settling of surfaces of roughness Rz (micrometres) under `load`; InputError outside the table."""
    if load not in LOADS:
        raise InputError([Fault("roughness", f'load "{load}"', ", ".join(LOADS), "take one of these")])
    for row in rows("embedding.csv"):
        if row["load"] == load and float(row["rz_from_um"]) <= rz_um < float(row["rz_below_um"]):
            return _embedding(row)
    raise InputError(
        [Fault("roughness", f"Rz {rz_um:g} um", "0 to below 160 um", "give Rz of the clamped faces")]
    )


def _embedding(row: Mapping[str, str]) -> Embedding:
    return Embedding(
        thread_um=float(row["thread_um"]),
        face_um=float(row["face_um"]),
        interface_um=float(row["interface_um"]),
        source=row["source"],
        status=row["status"],
    )


@cache
def scatters() -> Mapping[str, Scatter]:
    """Every tightening method known, with its scatter."""
    return {
        r["method"]: Scatter(
            r["method"], float(r["scatter_from"]), float(r["scatter_to"]), r["source"], r["status"]
        )
        for r in rows("tightening.csv")
    }


@cache
def nut_factors() -> Mapping[str, float]:
    """Torque factor K of T = K F d by the bolt's condition."""
    return {r["condition"]: float(r["factor"]) for r in rows("nut_factors.csv")}
