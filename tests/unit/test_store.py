"""Recorded runs: whole or not there, the same to the last bit, readable by others, never computed twice."""

import hashlib
import os
import pickle
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any, cast

import h5py
import numpy as np
import pytest
import xarray

from analysis.of_run import of_run
from models.loading import load
from models.mechanism import from_canonical
from models.resolve import mechanism
from sim import simulate as simulation
from sim.engines.base import Engine, EngineError, Freedom, Progress, Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.identity import FORMAT_VERSION
from sim.run import Run, RunFileError
from sim.scenarios import LetGo, Turn
from sim.scene import Scene
from sim.simulate import record, simulate
from sim.store import BLOCK, open_run, run_path, seal, write_run

ROOT = Path(str(files("models"))).parent
MOTH = load(ROOT / "models" / "moth.toml")
# Half a second of simulated time is enough for every kind of channel.
QUICK = Turn(50.0)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a whole run of the demo with two panels and chains, with its halving check."""
    manta = load(ROOT / "models" / "manta.toml")
    return record(manta, Turn(60.0), runs=tmp_path_factory.mktemp("runs"))


@pytest.fixture(scope="module")
def whole(path: Path) -> Run:
    return open_run(path)


def datasets(path: Path) -> dict[str, Any]:
    """Give every dataset and attribute of a file."""
    found: dict[str, Any] = {}

    def gather(name: str, item: h5py.Dataset | h5py.Group) -> None:
        found.update({f"{name}@{key}": str(value) for key, value in item.attrs.items() if not key.isupper()})
        if isinstance(item, h5py.Dataset):
            found[name] = item[()]

    with h5py.File(path) as file:
        gather("", file)
        file.visititems(gather)
    return found


# --- What is in a file ---


def test_every_dataset_says_what_it_is(path: Path) -> None:
    seen = 0

    def look(name: str, item: object) -> None:
        nonlocal seen
        if not isinstance(item, h5py.Dataset):
            return
        seen += 1
        assert item.attrs["units"], name
        assert item.attrs["long_name"], name
        if item.is_scale:
            return
        for k, dimension in enumerate(item.dims):
            (scale,) = dimension.values()
            assert len(scale) == item.shape[k], name

    with h5py.File(path) as file:
        file.visititems(look)
        assert file.attrs["format"] == "wingwright run"
        assert file.attrs["status"] == "finished"
    assert seen > 100


def test_channels_are_finite_and_framed(whole: Run) -> None:
    assert len(whole.time) > 50
    for name, channel in whole.channels.items():
        assert len(channel.values) == len(whole.time), name
        assert np.isfinite(channel.values).all(), name
        assert channel.frame == ("world" if channel.values.ndim == 2 else "1"), name
    assert {name.split("/")[0] for name in whole.channels} == {
        "bodies", "angles", "panels", "joints", "torques", "chains", "energy", "health",
    }  # fmt: skip


def test_others_can_read_it(path: Path, whole: Run) -> None:
    with xarray.open_datatree(path, engine="h5netcdf") as tree:
        force = tree["joints/left inner hinge/force"]
        assert force.dims == ("time", "axis")
        assert list(force.coords["axis"].values) == ["x", "y", "z"]
        np.testing.assert_array_equal(force.coords["time"].values, whole.time)
        np.testing.assert_array_equal(force.values, whole["joints/left inner hinge/force"])
        assert force.attrs["units"] == "N"
        turned = tree["bodies/wheel/rotation"]
        assert list(turned.coords["component"].values) == ["w", "x", "y", "z"]
        assert tree["extrema/value"].dims == ("extreme",)
        assert tree["peaks/value 0"].dims == ("peak",)


def test_extrema_are_those_of_the_channels(whole: Run) -> None:
    assert whole.extrema
    for e in whole.extrema:
        size = whole.channels[e.channel].size
        k = int(np.argmin(size) if e.kind == "min" else np.argmax(size))
        assert (e.value, e.time) == (size[k], whole.time[k])
        if e.kind == "largest":
            np.testing.assert_array_equal(e.vector, whole[e.channel][k])


def test_a_run_holds_its_description(path: Path, whole: Run) -> None:
    manta = load(ROOT / "models" / "manta.toml")
    assert from_canonical(whole.description) == replace(mechanism(manta), defaults=())
    assert whole.text == (ROOT / "models" / "manta.toml").read_text("utf-8")
    assert whole.scenario == {"case": "turn", "speed": 60.0, "start": 0.0, "friction": "nominal"}
    assert path.name == f"harbour-manta-turn-{whole.id}.h5"
    assert len(whole.id) == 12
    assert set(whole.versions) >= {"wingwright", "numpy", "h5py", "engine", "code", "commit"}
    assert whole.peaks
    assert of_run(whole)


def test_a_run_comes_back_as_it_was_written(tmp_path: Path, whole: Run) -> None:
    write_run(whole, tmp_path / "again.h5")
    again = open_run(tmp_path / "again.h5")
    plain = ("id", "sculpture", "case", "label", "scenario", "settings", "versions", "description", "text",
             "status", "reason", "rested", "extrema", "peaks")  # fmt: skip
    for name in plain:
        assert getattr(again, name) == getattr(whole, name), name
    np.testing.assert_array_equal(again.time, whole.time)
    assert list(again.channels) == sorted(whole.channels)
    for name, channel in whole.channels.items():
        np.testing.assert_array_equal(again[name], channel.values)


@pytest.mark.parametrize(
    ("sculpture", "name"),
    [("Harbour manta", "harbour-manta-turn-0.h5"), ("Ünïcode!", "n-code-turn-0.h5"), ("蛾", "sculpture-turn-0.h5"),
     ("../x", "x-turn-0.h5"), ("a" * 60, f"{'a' * 40}-turn-0.h5")],
)  # fmt: skip
def test_file_names_are_plain(sculpture: str, name: str) -> None:
    assert run_path(Path("runs"), sculpture, "turn", "0") == Path("runs") / name


# --- The same run is the same ---


def test_the_same_run_twice_is_the_same_to_the_last_bit(tmp_path: Path) -> None:
    one, two = (record(MOTH, QUICK, runs=tmp_path / folder) for folder in ("one", "two"))
    assert one.name == two.name
    first, second = datasets(one), datasets(two)
    assert first.keys() == second.keys()
    for name, value in first.items():
        np.testing.assert_array_equal(value, second[name], err_msg=name)


def test_spelling_and_written_defaults_find_the_same_run(tmp_path: Path) -> None:
    first = record(MOTH, QUICK, runs=tmp_path, check=False)
    same = load(
        ROOT / "models" / "moth.toml",
        {"wheel.height": "110 cm", "panel.wing.rod": "0.38 m", "crank.shaft": "1 in", "friction.bush": 0.12},
    )
    assert record(same, QUICK, runs=tmp_path, check=False) == first


@pytest.mark.parametrize(
    ("change", "scenario", "check"),
    [
        ({"panel.wing.rod": "381 mm"}, QUICK, False),
        ({"friction.bush": 0.13}, QUICK, False),
        ({}, Turn(50.001), False),
        ({}, Turn(50.0, 0.1), False),
        ({}, QUICK, True),
    ],
)
def test_whatever_decides_the_result_changes_the_id(
    tmp_path: Path, change: dict[str, object], scenario: Turn, check: bool
) -> None:
    first = record(MOTH, QUICK, runs=tmp_path, check=False)
    other = load(ROOT / "models" / "moth.toml", change)
    assert record(other, scenario, runs=tmp_path, check=check) != first
    assert len(list(tmp_path.iterdir())) == 2


def test_a_recorded_run_is_not_computed_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = record(MOTH, QUICK, runs=tmp_path, check=False)
    stamp = first.stat().st_mtime_ns
    monkeypatch.setattr(ExudynEngine, "simulate", lambda *_: pytest.fail("computed again"))
    assert record(MOTH, QUICK, runs=tmp_path, check=False) == first
    assert simulate(MOTH, QUICK, runs=tmp_path, check=False).status == "finished"
    assert first.stat().st_mtime_ns == stamp


def test_a_damaged_run_is_computed_again(tmp_path: Path) -> None:
    first = record(MOTH, QUICK, runs=tmp_path, check=False)
    content = first.read_bytes()
    first.write_bytes(content[: len(content) // 2])
    assert record(MOTH, QUICK, runs=tmp_path, check=False) == first
    assert open_run(first).status == "finished"


# --- Whole or not there ---


def test_it_is_written_under_another_name_first(
    tmp_path: Path, whole: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[list[str]] = []
    true_replace = os.replace

    def renamed(source: Path, target: Path) -> None:
        seen.append(sorted(p.name for p in tmp_path.iterdir()))
        with h5py.File(source) as file:
            assert file.attrs["status"] == "finished"
        true_replace(source, target)

    monkeypatch.setattr(os, "replace", renamed)
    write_run(whole, tmp_path / "run.h5")
    assert seen == [[f".run.h5.{os.getpid()}.part"]]
    assert [p.name for p in tmp_path.iterdir()] == ["run.h5"]


def test_a_write_that_fails_leaves_nothing(
    tmp_path: Path, whole: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OSError, match="No space left"):
        write_run(whole, tmp_path / "run.h5")
    assert list(tmp_path.iterdir()) == []


def test_what_an_earlier_try_left_is_removed(tmp_path: Path, whole: Run) -> None:
    for name in (".run.h5.123.part", ".run.h5.99999.part", ".other.h5.123.part"):
        (tmp_path / name).write_bytes(b"half a run")
    write_run(whole, tmp_path / "run.h5")
    assert sorted(p.name for p in tmp_path.iterdir()) == [".other.h5.123.part", "run.h5"]


def test_two_processes_may_finish_the_same_run(
    tmp_path: Path, whole: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    true_replace = os.replace

    def overtaken(source: Path, target: Path) -> None:
        # The other process renames its own and clears away what it takes for leftovers.
        Path(target).write_bytes(Path(source).read_bytes())
        Path(source).unlink()
        true_replace(source, target)

    monkeypatch.setattr(os, "replace", overtaken)
    write_run(whole, tmp_path / "run.h5")
    assert open_run(tmp_path / "run.h5").id == whole.id


SIMULATE = (
    "import sys; from models.loading import load; from sim.scenarios import LetGo; from sim.simulate import record; "
    "from pathlib import Path; record(load(sys.argv[1]), LetGo(6.0, 0.0), runs=Path('runs'), "
    "progress=lambda share: print(share, flush=True))"
)


@pytest.mark.slow
def test_a_killed_run_leaves_nothing_and_the_next_completes_it(tmp_path: Path) -> None:
    child = subprocess.Popen(
        [sys.executable, "-c", SIMULATE, str(ROOT / "models" / "moth.toml")],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )
    with child:
        assert child.stdout is not None
        for line in child.stdout:
            if float(line) > 0.02:
                break
        assert child.poll() is None
        child.send_signal(signal.SIGKILL)
    assert child.returncode == -signal.SIGKILL
    assert list(tmp_path.rglob("*.h5")) == []
    run = simulate(MOTH, LetGo(6.0, 0.0), runs=tmp_path / "runs", check=False)
    assert run.status == "finished"
    assert run.rested
    assert [p.suffix for p in (tmp_path / "runs").iterdir()] == [".h5"]


# --- A run that fails is kept ---


class Failing(Engine):
    """Fails at once, in the middle, or in the check with finer steps."""

    def __init__(self, fail: Callable[[int, Trace], None]) -> None:
        self.fail = fail
        self.calls = 0

    @property
    def version(self) -> str:
        return "failing 1"

    def freedom(self, scene: Scene) -> Freedom:
        return ExudynEngine().freedom(scene)

    def simulate(self, scene: Scene, stepping: Stepping, progress: Progress | None = None) -> Trace:
        self.calls += 1
        trace = ExudynEngine().simulate(scene, replace(stepping, end=stepping.end / 2), progress)
        self.fail(self.calls, trace)
        return trace


def failing(monkeypatch: pytest.MonkeyPatch, fail: Callable[[int, Trace], None]) -> None:
    monkeypatch.setitem(cast("dict[str, Any]", simulation.METHODS), "engine", lambda _: Failing(fail))


def test_a_failed_run_keeps_its_reason_and_what_it_has(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_: int, trace: Trace) -> None:
        raise EngineError("the engine could not go on at 0.3 s", trace)

    failing(monkeypatch, fail)
    run = simulate(MOTH, QUICK, runs=tmp_path)
    assert (run.status, run.reason) == ("failed", "the engine could not go on at 0.3 s")
    # Half of the turn, a degree a step, and the start.
    assert len(run.time) == 181
    assert run.peaks == ()
    assert np.isfinite(run["joints/left wing hinge/force"]).all()
    assert of_run(run)


def test_a_run_that_failed_at_once_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: int, trace: Trace) -> None:
        del trace
        raise EngineError("nothing worked")

    failing(monkeypatch, fail)
    run = simulate(MOTH, QUICK, runs=tmp_path)
    assert (run.status, run.reason, len(run.time), run.channels) == ("failed", "nothing worked", 0, {})
    assert of_run(run) == []
    (path,) = tmp_path.iterdir()
    with xarray.open_datatree(path, engine="h5netcdf") as tree:
        assert tree.sizes["time"] == 0


def test_a_check_that_fails_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(call: int, trace: Trace) -> None:
        if call > 1:
            raise EngineError("lost it", trace)

    failing(monkeypatch, fail)
    run = simulate(MOTH, QUICK, runs=tmp_path)
    assert run.status == "finished"
    assert run.reason.endswith("failed: lost it")
    assert run.peaks == ()


# --- Files that are no runs ---


@pytest.mark.parametrize("share", [0.0, 0.001, 0.01, 0.3, 0.9, 0.999])
def test_a_truncated_file_is_refused(tmp_path: Path, path: Path, share: float) -> None:
    content = path.read_bytes()
    (tmp_path / "cut.h5").write_bytes(content[: int(share * len(content))])
    with pytest.raises(
        RunFileError, match=r"^cut\.h5: it cannot be read as a run \(.*\); simulate it again$"
    ):
        open_run(tmp_path / "cut.h5")


def test_other_files_are_refused(tmp_path: Path) -> None:
    (tmp_path / "note.txt").write_text("hello")
    with h5py.File(tmp_path / "other.h5", "w") as file:
        file["x"] = 1
    with h5py.File(tmp_path / "newer.h5", "w") as file:
        file.attrs.update({"format": "wingwright run", "format_version": 99})
    with h5py.File(tmp_path / "hollow.h5", "w") as file:
        file.attrs.update({"format": "wingwright run", "format_version": FORMAT_VERSION})
    for name, words in {
        "note.txt": "it cannot be read as a run",
        "other.h5": "this is not a recorded run; name a file under runs/",
        "newer.h5": "recorded by another version; simulate it again",
        "hollow.h5": "it cannot be read as a run",
        "none.h5": "there is no such run",
        "": "this is a folder",
    }.items():
        with pytest.raises(RunFileError, match=words) as refusal:
            open_run(tmp_path / name)
        assert len(str(refusal.value).splitlines()) == 1


@pytest.mark.parametrize(
    "name", ["description", "time", "extrema/value", "peaks/kind", "scenario", "settings"]
)
@pytest.mark.parametrize("value", [None, 3.5, "rubbish"], ids=["gone", "number", "text"])
def test_a_file_with_something_else_inside_is_refused(
    tmp_path: Path, path: Path, name: str, value: object
) -> None:
    (tmp_path / "odd.h5").write_bytes(path.read_bytes())
    with h5py.File(tmp_path / "odd.h5", "a") as file:
        del file[name]
        if value is not None:
            file[name] = value
    seal(tmp_path / "odd.h5")
    with pytest.raises(RunFileError, match=r"^odd\.h5: it cannot be read as a run \("):
        open_run(tmp_path / "odd.h5")


@pytest.mark.parametrize("share", [0.1, 0.5, 0.999])
def test_a_damaged_file_is_refused_before_it_is_opened(tmp_path: Path, path: Path, share: float) -> None:
    """One changed byte anywhere: the library that reads such files may otherwise take the program down with it."""
    broken = bytearray(path.read_bytes())
    broken[BLOCK + int(share * (len(broken) - BLOCK))] ^= 0xFF
    (tmp_path / "flip.h5").write_bytes(broken)
    with pytest.raises(RunFileError, match=r"^flip\.h5: .*it is damaged: its digest does not match"):
        open_run(tmp_path / "flip.h5")


def test_other_readers_pass_over_the_block_in_front(path: Path) -> None:
    with h5py.File(path, "r") as file:
        assert file.userblock_size == BLOCK
    digest = hashlib.sha256(path.read_bytes()[BLOCK:]).hexdigest()
    assert digest.encode() in path.read_bytes()[:BLOCK]


def test_sculptures_can_be_sent_to_other_processes(tmp_path: Path) -> None:
    again = pickle.loads(pickle.dumps(MOTH))
    first, second = (
        record(s, QUICK, runs=tmp_path / name, check=False) for s, name in ((MOTH, "a"), (again, "b"))
    )
    assert first.name == second.name


def test_a_commit_of_somebody_elses_repository_is_not_ours(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from sim import identity

    own = identity._commit()
    head = subprocess.run(
        ["git", "-C", str(identity.ROOT), "rev-parse", "HEAD"], check=False, capture_output=True, text=True
    )
    assert own == head.stdout.strip() or head.returncode != 0
    say = ["git", "-C", str(tmp_path), "-c", "user.name=x", "-c", "user.email=x@example.org"]
    for words in (["init", "-q"], ["commit", "-q", "--allow-empty", "-m", "theirs"]):
        subprocess.run([*say, *words], check=True)
    monkeypatch.setattr(identity, "ROOT", tmp_path)
    assert identity._commit() == "unknown"
