"""How many threads linear algebra gets: one, unless the user has said or solids are asked for."""

import os

import pytest

from stiffcalc.cli import main

BLAS, ANY = "OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"


@pytest.mark.parametrize(
    ("words", "before", "after"),
    [
        ([], {}, {BLAS: "1"}),
        ([], {ANY: "4"}, {ANY: "4"}),
        ([], {BLAS: "4"}, {BLAS: "4"}),
        (["--solid"], {}, {}),  # solids' matrices are large
    ],
)
def test_one_thread_unless_the_user_has_said(monkeypatch, tmp_path, capsys, words, before, after):
    known = {k: v for k, v in os.environ.items() if k not in (BLAS, ANY)}
    monkeypatch.setattr(os, "environ", known | before)
    assert main(["assess", str(tmp_path / "none.toml"), *words]) == 2
    capsys.readouterr()
    assert os.environ == known | after
