"""Results of `report_sample`, their pictures and pages: drawn once in a whole run, whichever processes ask for them."""

import os
import pickle

import pytest
import report_sample as sample

from stiffcalc.caliper.results import Results
from stiffcalc.exchange.files import write_bytes_atomic
from stiffcalc.report import page, plots
from stiffcalc.report.plots import Pictures

ACCURACY = "Checked <against> solids & nothing else."


@pytest.fixture(scope="package")
def good() -> Results:
    return sample.results()


@pytest.fixture(scope="package")
def ugly() -> Results:
    return sample.ugly()


def once(factory: pytest.TempPathFactory, name: str, results: Results) -> Pictures:
    """The pictures of some results; a process that comes later reads what an earlier one of this run has drawn."""
    own = factory.getbasetemp()
    path = (own.parent if os.environ.get("PYTEST_XDIST_WORKER") else own) / f"pictures-{name}.pickle"
    if not path.exists():
        write_bytes_atomic(path, pickle.dumps(plots.draw(results)))
    found = pickle.loads(path.read_bytes())
    assert isinstance(found, Pictures)
    return found


@pytest.fixture(scope="package")
def good_pictures(good: Results, tmp_path_factory: pytest.TempPathFactory) -> Pictures:
    return once(tmp_path_factory, "good", good)


@pytest.fixture(scope="package")
def ugly_pictures(ugly: Results, tmp_path_factory: pytest.TempPathFactory) -> Pictures:
    return once(tmp_path_factory, "ugly", ugly)


def rendered_with(pictures: Pictures, results: Results) -> str:
    """The page with pictures that were drawn before."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plots, "draw", lambda _: pictures)
        return page.render(results, ACCURACY)


@pytest.fixture(scope="package")
def good_page(good: Results, good_pictures: Pictures) -> str:
    return rendered_with(good_pictures, good)


@pytest.fixture(scope="package")
def ugly_page(ugly: Results, ugly_pictures: Pictures) -> str:
    return rendered_with(ugly_pictures, ugly)


@pytest.fixture(scope="package", params=["good", "ugly"])
def rendered(request: pytest.FixtureRequest) -> tuple[Results, str]:
    """Results and the page made from them."""
    return request.getfixturevalue(request.param), request.getfixturevalue(f"{request.param}_page")
