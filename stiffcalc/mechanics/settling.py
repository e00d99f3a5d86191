"""What a joint loses or gains after tightening: embedding, creep, heat; N, mm, MPa, °C.

Every argument may be a number or an array; arrays broadcast. Resiliences in mm/N (`mechanics.resilience`).
Source: VDI 2230 Part 1 (seen in public engineering code and textbook transcriptions, not opened).
"""

from __future__ import annotations

import numpy as np

from stiffcalc.condensed import Array
from stiffcalc.mechanics.refusals import refuse_unless
from stiffcalc.mechanics.values import Num


def embedding_amount(
    *, thread_um: Num, face_um: Num, interface_um: Num, faces: Num = 1.0, interfaces: Num = 1.0
) -> Array:
    """Settling f_Z of a joint, micrometres: one engaged thread, `faces` under head, nut or washers, `interfaces`.

    The amounts per place come from the roughness (`catalogue.embedding`). A through bolt has two bearing faces
    (head and nut), a screw in a tapped part one; each washer adds an interface. Source: VDI 2230 Part 1.
    """
    found = np.asarray(thread_um + faces * face_um + interfaces * interface_um)
    refuse_unless(found >= 0.0, "embedding, micrometres", found=found, allowed="0 or more")
    return found


def embedding_loss(settling_um: Num, *, bolt: Num, plates: Num) -> Array:
    """Preload lost as the surfaces settle, N: F_Z = f_Z / (delta_S + delta_P), f_Z in micrometres.

    Source: VDI 2230 Part 1.
    """
    return np.asarray(1e-3 * settling_um / (bolt + plates))


def creep_loss(preload: Num, *, share: Num) -> Array:
    """Preload lost by creep and relaxation, N: an entered share of it, 0 to 1; ValueError outside that.

    No law of creep is in it: the share comes from a test or the material's supplier.
    """
    part = np.asarray(share, dtype=float)
    refuse_unless(
        (part >= 0.0) & (part <= 1.0), "creep", found=part, allowed="0 to 1, a share of the preload"
    )
    return np.asarray(part * preload)


def preload_at_temperature(
    preload: Num,
    *,
    bolt: Num,
    plates: Num,
    lengthening: Num,
    bolt_E_ratio: Num = 1.0,
    plates_E_ratio: Num = 1.0,
) -> Array:
    """Preload at temperature, N, from that at 20 °C.

    F_T = [F_20 (delta_S + delta_P) + L] / (delta_S / r_S + delta_P / r_P), r = E(T)/E(20 °C) of bolt and
    plates: the overlap of the parts stays, free expansion adds to it, the softer parts answer with less force.
    lengthening L, mm: by how much the grip grows more than the bolt when both are free (`warming.lengthening`).
    Elastic: whether bolt or thread yields is another check. A joint that falls loose gives 0. Raises ValueError
    where a ratio or resilience is not positive. Source: VDI 2230 Part 1, F_VT.
    """
    for name, ratio in (("bolt", bolt_E_ratio), ("plates", plates_E_ratio)):
        refuse_unless(np.asarray(ratio) > 0.0, f"E(T)/E(20 °C) of {name}", found=ratio, allowed="above 0")
    warm = np.asarray(bolt / bolt_E_ratio + plates / plates_E_ratio)
    refuse_unless(warm > 0.0, "resilience of bolt and plates", found=warm, allowed="above 0 mm/N")
    return np.asarray(np.maximum((preload * (bolt + plates) + lengthening) / warm, 0.0))
