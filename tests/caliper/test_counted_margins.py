"""Margins of many designs as searches count them: without the requirement none, without a number never met."""

import numpy as np

from stiffcalc.caliper.checked import Subject, Words, at_most

SUBJECT = Subject("bolt", "N", ("bolt 1",), lambda d: Words("F", "derived"))


def test_a_margin_that_is_no_number_counts_as_not_met():
    row = at_most(SUBJECT, [1.0, np.nan, np.nan, 3.0], 2.0, applies=[True, True, False, True])
    np.testing.assert_array_equal(row.counted, [1.0, -np.inf, np.nan, 2.0 / 3.0 - 1.0])
