"""Units and sizes that the checks of bolted joints share."""

from dataclasses import dataclass

LBF, INCH, KPSI = 4.4482216, 25.4, 6.894757  # N, mm, MPa
MLBF_PER_INCH = 175126.8  # N/mm
WASHER_FACE = {6: 8.88, 8: 11.63, 10: 14.63, 12: 16.63}  # least d_W, ISO 4014, from memory; the tables' head
MEDIUM = {6: 6.6, 8: 9.0, 10: 11.0, 12: 13.5}  # ISO 273 medium hole (looked up)
YIELD = {"8.8": 640.0, "10.9": 940.0, "12.9": 1100.0}  # least Rp0.2, ISO 898-1
ULTIMATE = {"8.8": 800.0, "10.9": 1040.0, "12.9": 1220.0}


@dataclass(frozen=True)
class Screw:
    """A thread that the catalogue does not hold; areas and diameters in mm."""

    d: float
    P: float
    d2: float
    D1: float
    A_s: float
