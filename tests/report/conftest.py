import pytest
import report_sample as sample

from stiffcalc.caliper.results import Results


@pytest.fixture(scope="package")
def good() -> Results:
    return sample.results()


@pytest.fixture(scope="package")
def ugly() -> Results:
    return sample.ugly()
