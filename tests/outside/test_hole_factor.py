"""The factor at the edge of a hole against other published fits of the same plate.

Net-section factor of a central hole of diameter d in a strip W wide under tension: Peterson after Howland, 2 + 0.284
(1 - x) - 0.600 (1 - x)^2 + 1.32 (1 - x)^3, and Roark, 3 - 3.13 x + 3.66 x^2 - 1.53 x^3, x = d/W (both from memory).
"""

import numpy as np
import pytest

from stiffcalc.mechanics.holes import hole_factor


def peterson(x):
    return 2 + 0.284 * (1 - x) - 0.600 * (1 - x) ** 2 + 1.32 * (1 - x) ** 3


def roark(x):
    return 3 - 3.13 * x + 3.66 * x**2 - 1.53 * x**3


@pytest.mark.parametrize("published", [peterson, roark])
def test_published_fits(published):
    """Within 1.5 % to d/W = 0.45."""
    x = np.linspace(0.02, 0.45, 25)
    assert hole_factor(x, width=1.0) == pytest.approx(published(x), rel=0.015)


def test_ends_of_the_range():
    """A hole in a very wide plate: 3 (Kirsch); one as wide as the strip: 2."""
    assert hole_factor(np.array([0.0, 1.0]), width=1.0) == pytest.approx([3.0, 2.0])
