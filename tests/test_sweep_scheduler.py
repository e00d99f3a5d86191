"""A sweep on a distributed scheduler: two worker processes, one of them killed on the way, nothing lost."""

import os
import signal
from pathlib import Path

import pytest

from stiffcalc.cli import main
from stiffcalc.exchange import chunks

distributed = pytest.importorskip(
    "distributed", reason="distributed is not installed (pip install 'stiffcalc[cluster]')"
)
STUDY = Path(__file__).parents[1] / "studies" / "sweep_two_piece.toml"
SAMPLES = 384  # three chunks


@pytest.fixture
def cluster():
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as found:
        yield found


def test_a_killed_worker_loses_nothing(cluster, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    words = ("sweep", str(STUDY), "--samples", str(SAMPLES), "--no-front-view", "--quiet")
    victim, keep = next(iter(cluster.workers.values())).pid, chunks.keep
    killed = []

    def kept(out, number, columns):
        if not killed:  # one chunk is done, the others are at the workers
            os.kill(victim, signal.SIGKILL)
            killed.append(number)
        keep(out, number, columns)

    with monkeypatch.context() as patched:
        patched.setattr(chunks, "keep", kept)
        assert main([*words, "--scheduler", cluster.scheduler_address, "--out", "far"]) == 0
    assert killed and victim not in [w.pid for w in cluster.workers.values()]
    assert chunks.done(tmp_path / "far") == {0, 1, 2}
    assert main([*words, "--out", "here"]) == 0
    for name in ("sweep.csv", "sweep.npz", "sweep.json"):
        assert (tmp_path / "far" / name).read_bytes() == (tmp_path / "here" / name).read_bytes()


def test_a_scheduler_that_is_not_there_is_one_line(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("stiffcalc.explore.workers.PATIENCE_S", 1.0)
    assert main(["sweep", str(STUDY), "--quiet", "--scheduler", "tcp://127.0.0.1:9"]) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1 and "no scheduler at tcp://127.0.0.1:9" in said[0]
    assert not list(tmp_path.iterdir())
