"""Many runs in processes of their own: what happens to them when something goes wrong."""

import os
import pickle
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest

from analysis import commands
from models.loading import DescriptionError, load
from models.resolve import Lacking
from sim.many import LOST, Job, each, record_many, together
from sim.scenarios import LetGo, Turn

MODELS = Path(str(files("models")))
ROOT = MODELS.parent
MOTH = MODELS / "moth.toml"


def test_files_come_in_the_order_of_the_jobs(tmp_path: Path) -> None:
    moth = load(MOTH)
    jobs = [Job(moth, Turn(speed), tmp_path, check=False) for speed in (40.0, 30.0, 50.0)]
    counted: list[int] = []
    found = record_many(jobs, counted.append)
    again = [record_many([job])[0] for job in jobs]
    assert found == again
    assert counted == [1, 2, 3]


def test_the_first_fault_of_a_job_is_raised(tmp_path: Path) -> None:
    short = load(MOTH, {"panel.wing.rod": "100 mm"})
    with pytest.raises(DescriptionError, match="cannot reach"):
        record_many([Job(short, Turn(40.0), tmp_path), Job(short, Turn(50.0), tmp_path)])


def test_a_worker_ended_from_outside_is_said_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def lost(*_: object) -> Iterator[tuple[int, ChildProcessError]]:
        yield 0, ChildProcessError(LOST)

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sim.many.each", lost)
    assert commands.run(["wheels", str(MOTH), "--diameter", "400 mm, 500 mm", "--angles", "1"]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("a worker process was ended from outside, perhaps for lack of memory; ")


def _square(number: int) -> int:
    """Square a number; the process that gets a 2 is ended, as the system does where memory is short."""
    if number == 2:
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.05)
    return number**2


def test_a_worker_that_is_ended_takes_only_its_own_task_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sim.many.workers", lambda: 2)
    found = dict(each(_square, [0, 1, 2, 3, 4, 5, 2, 7]))
    lost = {n for n, result in found.items() if isinstance(result, ChildProcessError)}
    assert lost == {2, 6}
    assert {n: r for n, r in found.items() if n not in lost} == {0: 0, 1: 1, 3: 9, 4: 16, 5: 25, 7: 49}


def test_a_lost_task_of_several_is_raised(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sim.many.workers", lambda: 2)
    with pytest.raises(ChildProcessError, match="ended from outside"):
        together(_square, [0, 2, 1])


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for processes under /proc")
def test_workers_do_not_outlive_their_parent(tmp_path: Path) -> None:
    words = "from analysis.commands import main; main()"
    command = [sys.executable, "-c", words, "study", str(MOTH), "--angles", "12"]
    child = subprocess.Popen(
        command, cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL
    )
    workers = _wait_for(lambda: _children(child.pid), lambda found: len(found) >= 2)
    os.kill(child.pid, signal.SIGKILL)
    child.wait()
    assert _wait_for(lambda: [p for p in workers if _alive(p)], lambda left: not left) == []


def _children(parent: int) -> list[int]:
    """Give the processes that run a pool's worker, children of a process."""
    found: list[int] = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                state = (entry / "stat").read_text().rsplit(")", 1)[1].split()
                line = (entry / "cmdline").read_bytes()
            except OSError:
                continue
            if int(state[1]) == parent and b"spawn_main" in line:
                found.append(int(entry.name))
    return found


def _alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def _wait_for(look, enough) -> list[int]:
    found: list[int] = []
    for _ in range(300):
        found = look()
        if enough(found):
            break
        time.sleep(0.1)
    return found


def test_a_letting_go_is_recorded_too(tmp_path: Path) -> None:
    (path,) = record_many([Job(load(MOTH), LetGo(0.0, 2.5), tmp_path, check=False)])
    assert path.is_file()


def test_errors_travel_whole() -> None:
    lacking = Lacking("x.toml", "the motion", ["crank.height"])
    again = pickle.loads(pickle.dumps(lacking))
    assert type(again) is Lacking
    assert (again.lines, again.fields, str(again)) == (lacking.lines, lacking.fields, str(lacking))
