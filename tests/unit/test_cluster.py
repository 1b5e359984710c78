"""The same sweep on a cluster of workers: same results, lost workers, and what is refused."""

import os
import signal
import time
from collections.abc import Generator
from pathlib import Path

import pytest
from distributed import LocalCluster
from examples import MOTH

from analysis.sweep.builds import Asked, builds
from models.loading import DescriptionError, loads
from sim.cluster import cluster
from sim.many import each

CHANGES = [{"wheel.radius": f"{r} mm"} for r in (120, 150, 180)]


@pytest.fixture(scope="module")
def address() -> Generator[str]:
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=":0") as workers:
        yield str(workers.scheduler_address)


@pytest.mark.slow
def test_a_cluster_finds_what_this_machine_finds(address: str, tmp_path: Path) -> None:
    moth, asked = loads(MOTH), Asked(only=(), angles=4)
    here = builds(moth, CHANGES, asked, kept=tmp_path / "here")
    with cluster(address) as pool:
        there = builds(moth, CHANGES, asked, kept=tmp_path / "there", pool=pool)
    assert [b.reason for b in here] == ["", "", ""]
    assert there == here


def _square(given: tuple[int, str]) -> int:
    """Square a number; for a 2, end the process, the first time only where it is told so."""
    number, mark = given
    if number == 2 and not Path(mark, "ended").exists():
        Path(mark, "ended").touch()
        os.kill(os.getpid(), signal.SIGKILL)
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.05)
    return number**2


@pytest.mark.slow
def test_a_worker_that_is_ended_loses_nothing_but_its_own_member(address: str, tmp_path: Path) -> None:
    numbers = [0, 1, 2, 3, 4, 5]
    with cluster(address) as pool:
        found = dict(each(_square, [(n, str(tmp_path)) for n in numbers], pool))
    # The 2 ended its worker once and went to another; the 3 ended every worker that took it.
    assert isinstance(found.pop(3), ChildProcessError)
    assert found == {n: n**2 for n in numbers if n != 3}


def test_an_address_where_nothing_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sim.cluster.PATIENCE", 1.0)
    with (
        pytest.raises(DescriptionError, match=r"no scheduler answers at 'tcp://127.0.0.1:9'"),
        cluster("tcp://127.0.0.1:9"),
    ):
        pass


@pytest.mark.slow
def test_workers_with_several_threads_or_another_version_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    with LocalCluster(n_workers=1, threads_per_worker=2, dashboard_address=":0") as workers:
        monkeypatch.setattr("sim.cluster.code", _other)
        with pytest.raises(DescriptionError) as told, cluster(str(workers.scheduler_address)):
            pass
    threads, version = told.value.lines
    assert "runs 2 threads" in threads
    assert "another version" in version


def _other(further: str) -> str:
    """Give a stamp that differs from process to process."""
    return f"{further} {os.getpid()}"
