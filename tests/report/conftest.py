import pytest
import report_sample as sample

from stiffcalc.caliper.results import Results
from stiffcalc.report import page


@pytest.fixture(scope="package")
def good() -> Results:
    return sample.results()


@pytest.fixture(scope="package")
def ugly() -> Results:
    return sample.ugly()


ACCURACY = "Checked <against> solids & nothing else."


@pytest.fixture(scope="package")
def good_page(good: Results) -> str:
    return page.render(good, ACCURACY)


@pytest.fixture(scope="package")
def ugly_page(ugly: Results) -> str:
    return page.render(ugly, ACCURACY)


@pytest.fixture(scope="package", params=["good", "ugly"])
def rendered(request: pytest.FixtureRequest) -> tuple[Results, str]:
    """Results and the page made from them."""
    return request.getfixturevalue(request.param), request.getfixturevalue(f"{request.param}_page")
