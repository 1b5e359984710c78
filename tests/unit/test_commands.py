"""The command line: what it prints, its exit codes, and how it stops."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from refusal import Refusal
from saying import FAST, MANTA, MOTH, ROOT, said, valid_findings
from wheeled import comparison, row

from analysis import commands, wheels
from models.loading import load
from sim.scenarios import Turn
from sim.simulate import record

ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}
MAIN = "from analysis.commands import main; main()"


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def turned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a slow turn of the moth, in which it asks more of a hand than anybody has."""
    return record(load(MOTH), Turn(1.0), runs=tmp_path_factory.mktemp("runs"))


@pytest.fixture(scope="module")
def chained(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a turn of the manta, which has chains."""
    return record(load(MANTA), Turn(60.0), runs=tmp_path_factory.mktemp("runs"), check=False)


def started(*arguments: str, **options: object) -> subprocess.Popen[str]:
    """Start the command line in a process, and process group, of its own."""
    return subprocess.Popen(
        [sys.executable, "-c", MAIN, *arguments],
        env=ENVIRONMENT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        process_group=0,
        **options,  # pyright: ignore[reportArgumentType]
    )


# --- new and check ---


def test_new_writes_a_description_that_check_accepts(capsys: pytest.CaptureFixture[str]) -> None:
    assert "piece.toml written" in said(capsys, "new", "piece.toml")
    out = said(capsys, "check", "piece.toml")
    assert "My piece" in out
    assert "ready: wingwright study FILE" in out
    assert "not yet" not in out


def test_new_leaves_what_is_there_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("piece.toml").write_text("mine")
    Path("link.toml").symlink_to("elsewhere.toml")
    Path("sub").mkdir()
    for name in ("piece.toml", "link.toml", "sub"):
        assert Refusal(tmp_path, capsys, "new", name).line == (
            f"{name}: there is such a file already; choose another name"
        )
    assert Path("piece.toml").read_text() == "mine"
    assert "nowhere/piece.toml: No such file" in Refusal(tmp_path, capsys, "new", "nowhere/piece.toml").line


def test_check_draws_under_runs_and_shows_defaults(capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, "check", MOTH)
    (picture,) = re.findall(r"Compare first: (\S+)", out)
    assert Path(picture).is_file()
    assert Path(picture).parent == Path("runs")
    assert re.search(r"friction.bush +0.12 +assumption", out)


def test_check_writes_its_drawing_where_told(capsys: pytest.CaptureFixture[str]) -> None:
    said(capsys, "check", MOTH, "--out", "there/moth")
    assert Path("there/moth.svg").is_file()
    assert not Path("runs").exists()


# --- JSON and --strict ---


def test_check_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    found = json.loads(said(capsys, "check", MANTA, "--json"))
    assert found["sculpture"] == "Harbour manta"
    assert Path(found["drawing"]).is_file()
    valid_findings([f for a in found["answers"] for f in a["findings"]])
    assert all(a["lacking"] == [] for a in found["answers"])
    assert {"field": "friction.bush", "value": 0.12, "dimension": "ratio", "source": "assumption"} in found[
        "defaults"
    ]


def test_simulate_and_findings_as_json_agree(capsys: pytest.CaptureFixture[str]) -> None:
    made = json.loads(said(capsys, "simulate", MOTH, *FAST, "--json"))
    valid_findings(made["findings"])
    assert made["status"] == "finished"
    assert made["peaks"]
    assert made["id"] in made["run"]
    (again,) = json.loads(said(capsys, "findings", made["run"], "--json"))
    assert again == made


def test_wheels_as_json_has_nothing_that_is_no_number(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # One still moving after five minutes has no time to rest; simulating that would take as long again.
    made = row(0.4, 1.0)
    odd = replace(made, gone=replace(made.gone, time_to_rest=float("nan")), thickness=float("nan"))
    monkeypatch.setattr(wheels, "compare", lambda *_, **__: comparison(odd))
    found = json.loads(said(capsys, "wheels", MOTH, "--json"))
    assert found["wheels"][0]["diameter"] == 0.4
    assert found["wheels"][0]["thickness"] is None
    assert found["wheels"][0]["gone"]["time_to_rest"] is None
    assert found["knees"]["hand force at working speed"]["at"] is None
    assert Path(found["figure"]).is_file()
    assert "still moving" in said(capsys, "wheels", MOTH)


def test_all_that_is_wrong_with_the_options_of_wheels_is_said_at_once(
    capsys: pytest.CaptureFixture[str],
) -> None:
    arguments = ("--diameter", "500", "--thickness", "8 mm", "--speed", "fast")
    assert commands.run(["wheels", MOTH, *arguments]) == 2
    told = capsys.readouterr().err.splitlines()
    assert [line.split(":")[0] for line in told] == ["--thickness", "--diameter", "--speed"]


def test_wheels_that_could_not_be_run_leave_no_figure(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = wheels.LeftOut(wheels.Size(0.4), "turned at 10 rpm: it could not go on")
    monkeypatch.setattr(wheels, "compare", lambda *_, **__: comparison(left_out=(out,)))
    assert "400 mm: turned at 10 rpm: it could not go on" in said(capsys, "wheels", MOTH)
    assert json.loads(said(capsys, "wheels", MOTH, "--json"))["figure"] is None
    assert not Path("runs").exists()


def test_strict_tells_by_its_code(capsys: pytest.CaptureFixture[str], turned: Path, chained: Path) -> None:
    # The demo's chains cross the post's wall; the moth's shaft leans in its bushes, which its motion does not tell.
    assert "BEYOND" in said(capsys, "findings", str(chained))
    said(capsys, "findings", str(chained), "--strict", code=1)
    assert json.loads(said(capsys, "findings", str(chained), "--strict", "--json", code=1))
    assert "largest slope of the shaft" in said(capsys, "findings", str(turned), "--strict", code=1)
    assert "BEYOND" not in said(capsys, "check", MOTH, "--strict")
    said(capsys, "check", MANTA, "--strict", "--set", "rod_ends.swivel=1 deg", code=1)
    said(capsys, "check", MANTA, "--set", "rod_ends.swivel=1 deg")
    both = json.loads(said(capsys, "findings", str(turned), str(chained), "--json"))
    assert [run["sculpture"] for run in both] == ["Wall moth", "Harbour manta"]


def test_a_second_call_finds_the_run(capsys: pytest.CaptureFixture[str]) -> None:
    first = said(capsys, "simulate", MOTH, *FAST)
    (path,) = Path("runs").iterdir()
    stamp = path.stat().st_mtime_ns
    assert said(capsys, "simulate", MOTH, *FAST) == first
    assert path.stat().st_mtime_ns == stamp


def test_a_negative_angle_and_speed_need_no_equals_sign(capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, "simulate", MOTH, "--case", "turn", "--speed", "-470 rpm", "--release", "-30 deg")
    assert "turned at -470 rpm" in out


# --- Wrong options ---

WRONG = {
    "case": (("simulate", MOTH, "--case", "foo"), "--case: there is no 'foo'; write one of: slow-turn, child"),
    "near case": (("simulate", MOTH, "--case", "gusts"), "--case: there is no 'gusts'; did you mean 'gust'?"),
    "left out": (("simulate", MOTH, "--case", "lifted"), "--case: 'lifted' is left out for this sculpture: the descr"),
    "friction": (("simulate", MOTH, "--friction", "some"), "--friction: there is no 'some'; write one of: low,"),
    "no speed": (("simulate", MOTH, "--case", "gust", "--speed", "3 rpm"), "--speed: the case 'gust' has none; leave"),
    "nobody": (("simulate", MOTH, "--case", "gust", "--person", "child"), "--person: the case 'gust' has none; leave"),
    "no start": (("simulate", MOTH, "--case", "broken", "--release", "3 deg"), "--release: the case 'broken' has none"),
    "unknown only": (("study", MOTH, "--only", "gust,stoped"), "--only: there is no 'stoped'; did you mean 'stopped'?"),
    "empty only": (("study", MOTH, "--only", ","), "--only: no name is given; write --only gust,blocked"),
    "person": (("simulate", MOTH, "--person", "nobody"), "--person: there is no 'nobody'; write one of: child, "),
    "bare speed": (("simulate", MOTH, "--speed", "60"), '--speed: an angular speed needs its unit; write "60 rpm"'),
    "nan speed": (("simulate", MOTH, "--speed", "nan rpm"), "--speed: 'nan rpm' is not a finite number"),
    "too fast": (("simulate", MOTH, "--speed", "1e9 rpm"), "--speed: nobody turns a wheel that fast"),
    "too fast to compare": (("wheels", MOTH, "--speed", "1e9 rpm"), "--speed: nobody turns a wheel that fast"),
    "too fast to study": (("study", MOTH, "--speed", "1e9 rpm"), "--speed: nobody turns a wheel that fast"),
    "standing turn": (("simulate", MOTH, "--case", "turn", "--speed", "0 rpm"), "--speed: turning needs at least 0.1"),
    "standing crank": (("simulate", MOTH, "--case", "crank", "--speed", "0.01 rpm"), "--speed: turning needs at least"),
    "release": (("simulate", MOTH, "--release", "3 m"), '--release: "m" is a unit of length, where an angle is asked'),
    "far release": (("simulate", MOTH, "--release", "1e200 deg"), "--release: '1e200 deg' is out of range"),
    "no angles": (("study", MOTH, "--angles", "0"), "--angles: 0 is out of range; write 1 to 360"),
    "negative angles": (("wheels", MOTH, "--angles", "-3"), "--angles"),
    "many angles": (("wheels", MOTH, "--angles", "361"), "--angles: 361 is out of range; write 1 to 360"),
    "broken angles": (("study", MOTH, "--angles", "1.5"), "--angles: '1.5' is not a whole number; write 1 to 360"),
    "no size": (("wheels", MOTH, "--diameter", ","), '--diameter: no size is given; write "500 mm, 600 mm"'),
    "no thickness": (("wheels", MANTA, "--thickness", ","), '--thickness: no size is given; write "500 mm, 600 mm"'),
    "thin handle": (
        ("wheels", MOTH, "--thickness", "8 mm"),
        '--thickness: a handle has no disc; leave it out, or describe a wheel of kind = "disc"',
    ),
    "no disc": (("wheels", MANTA, "--thickness", "0 mm"), "manta.toml: wheel.thickness: '0 m' is out of range"),
    "bare size": (("wheels", MOTH, "--diameter", "500"), "--diameter: a length needs its unit"),
    "no wheel": (("wheels", MOTH, "--diameter", "0 mm"), "moth.toml: wheel.radius: '0 m' is out of range"),
    "set": (("simulate", MOTH, "--set", "foo"), '"foo": not a setting; write wheel.diameter="600 mm"'),
    "unknown set": (("check", MOTH, "--set", "foo=3"), "moth.toml: foo: there is no 'foo' here; known are: name,"),
    "place": (("simulate", MOTH, "--runs", "note.txt"), "--runs: 'note.txt' is a file; name a folder"),
    "place in place": (("study", MOTH, "--runs", "note.txt/x"), "--runs: 'note.txt' is a file; name a folder"),
    "place of wheels": (("wheels", MOTH, "--runs", "note.txt"), "--runs: 'note.txt' is a file; name a folder"),
    "place of drawing": (("check", MOTH, "--out", "note.txt/x"), "note.txt"),
    "no run": (("findings",), "findings: no run is named; write wingwright findings runs/NAME.h5"),
    "missing run": (("findings", "x.h5"), "x.h5: there is no such run; simulate first, or check the name"),
    "text for a run": (("findings", "note.txt"), "note.txt: it cannot be read as a run"),
    "folder for a run": (("findings", "."), ".: this is a folder; name a run in it"),
    "description for a run": (("findings", MOTH), "moth.toml: it cannot be read as a run"),
}  # fmt: skip


@pytest.mark.parametrize(("arguments", "words"), WRONG.values(), ids=WRONG)
def test_a_wrong_option_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], words: str
) -> None:
    Path("note.txt").write_text("hello")
    assert words in Refusal(tmp_path, capsys, *arguments).line


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("simulate", MOTH, "--bogus"), "--bogus"),
        (("simulate",), "FILE"),
        (("bogus",), "bogus"),
        (("check", MOTH, "extra"), "extra"),
        (("simulate", MOTH, "--case"), "--case"),
    ],
)
def test_a_command_line_that_cannot_be_read_points_to_help(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], words: str
) -> None:
    assert commands.run(arguments) == 2
    found = capsys.readouterr()
    assert found.out == ""
    (line,) = found.err.splitlines()
    assert words in line
    assert line.endswith("See wingwright --help.")


def test_all_wrong_options_come_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = Refusal(
        tmp_path,
        capsys,
        "simulate",
        MOTH,
        "--case",
        "foo",
        "--person",
        "nobody",
        "--speed",
        "60",
        "--release",
        "3 m",
    )
    assert [line.split(":")[0] for line in found.lines] == ["--case", "--person", "--release", "--speed"]


def test_a_truncated_run_among_whole_ones_prints_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], turned: Path
) -> None:
    content = turned.read_bytes()
    Path("cut.h5").write_bytes(content[: len(content) // 3])
    line = Refusal(tmp_path, capsys, "findings", str(turned), "cut.h5").line
    assert line.startswith("cut.h5: it cannot be read as a run (")


# --- Analyses as scripts ---


def script(name: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", f"analysis.{name}", *arguments],
        env=ENVIRONMENT,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("name", ["motion", "bearing_loads", "handle", "shaft_whip", "chain_fit", "masses"])
def test_an_analysis_is_a_script(name: str, turned: Path, chained: Path) -> None:
    found = script(name, str(turned), str(chained))
    assert (found.returncode, found.stderr) == (0, "")
    lines = found.stdout.splitlines()
    assert lines[0] == "Wall moth, turned at 9.549 rpm:"
    at = lines.index("Harbour manta, turned at 573 rpm:")
    assert all(line.startswith("  ") for line in (*lines[1:at], *lines[at + 1 :]))
    assert len(lines) > at + 1
    assert len(lines[1:at]) > 0 or name == "chain_fit"  # the moth has no chain
    Path("note.txt").write_text("hello")
    bad = script(name, "note.txt")
    assert (bad.returncode, bad.stdout) == (2, "")
    assert bad.stderr.startswith("note.txt: it cannot be read as a run (")
    assert len(bad.stderr.splitlines()) == 1


def test_a_script_says_how_it_is_used() -> None:
    asked = script("handle", "--help")
    assert asked.returncode == 0
    assert "Usage: python -m analysis.handle RUN..." in asked.stdout
    assert script("handle").returncode == 2


# --- Whole processes ---


def test_nothing_but_results_is_printed_where_there_is_no_terminal() -> None:
    child = started("simulate", MOTH, *FAST)
    out, err = child.communicate(timeout=60)
    assert (child.returncode, err) == (0, "")
    assert out.startswith("Wall moth, turned at 470 rpm: runs/wall-moth-turn-")
    assert "\x1b" not in out


def test_bad_input_leaves_with_2_and_a_line() -> None:
    child = started("check", "missing.toml")
    out, err = child.communicate(timeout=60)
    assert (child.returncode, out) == (2, "")
    assert err == "missing.toml: there is no such file; check the name and the folder\n"


def test_a_terminal_of_few_letters_shows_the_others_as_escapes() -> None:
    text = Path(MOTH).read_text("utf-8").replace("Wall moth", "Mott\N{LATIN SMALL LETTER E WITH ACUTE}")
    Path("piece.toml").write_text(text, "utf-8")
    child = subprocess.run(
        [sys.executable, "-c", MAIN, "check", "piece.toml"],
        env={**ENVIRONMENT, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        check=False,
    )
    assert (child.returncode, child.stderr) == (0, b"")
    assert child.stdout.startswith(b"Mott\\xe9\n")


@pytest.mark.parametrize("what", ["findings", "script"])
def test_a_reader_that_leaves_is_no_error(what: str, turned: Path) -> None:
    call = {
        "findings": [sys.executable, "-c", MAIN, "findings", str(turned)],
        "script": [sys.executable, "-m", "analysis.handle", str(turned)],
    }[what]
    reading, writing = os.pipe()
    os.close(reading)
    child = subprocess.run(call, env=ENVIRONMENT, stdout=writing, stderr=subprocess.PIPE, check=False)
    os.close(writing)
    assert (child.returncode, child.stderr) == (0, b"")


def running(group: int) -> list[int]:
    """Give the processes of a group that have not ended."""
    found: list[int] = []
    for place in Path("/proc").glob("[0-9]*"):
        try:
            state, _, its_group = (place / "stat").read_text().rsplit(")", 1)[1].split()[:3]
        except OSError:
            continue
        if int(its_group) == group and state not in "ZX":
            found.append(int(place.name))
    return found


def interrupted(child: subprocess.Popen[str]) -> None:
    """Interrupt a process group as a terminal does, and see it end at once with one line."""
    assert child.poll() is None
    sent = time.monotonic()
    os.killpg(child.pid, signal.SIGINT)
    out, err = child.communicate(timeout=30)
    # It takes some hundredths of a second; the rest is for machines under load.
    assert time.monotonic() - sent < 5
    assert (child.returncode, out) == (130, "")
    assert err == "interrupted; finished runs are kept, call again to go on\n"
    for _ in range(50):
        if not running(child.pid):
            break
        time.sleep(0.1)
    assert running(child.pid) == []


def listening(child: subprocess.Popen[str]) -> None:
    """Wait until a process has got so far that it takes interrupts in its own way."""
    for _ in range(600):
        status = Path(f"/proc/{child.pid}/status").read_text()
        ((threads, blocked),) = re.findall(r"Threads:\s*(\d+).*SigBlk:\s*(\w+)", status, re.DOTALL)
        # Signals are also held back for a moment as the keeper of semaphores is started, before anybody listens.
        if int(blocked, 16) & 1 << (signal.SIGINT - 1) and int(threads) > 1:
            return
        time.sleep(0.05)
    pytest.fail("it never started")


posix = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="reads /proc")


@posix
@pytest.mark.slow
@pytest.mark.parametrize("wait", [0.0, 0.5, 1.5])
def test_an_interrupt_ends_a_simulation(wait: float, capsys: pytest.CaptureFixture[str]) -> None:
    child = started("simulate", MANTA)
    listening(child)
    time.sleep(wait)
    interrupted(child)
    assert list(Path().rglob("*.h5")) == []
    said(capsys, "simulate", MANTA, "--case", "turn", "--speed", "470 rpm")


@posix
@pytest.mark.slow
@pytest.mark.parametrize("command", ["study", "wheels"])
@pytest.mark.parametrize("when", ["starting", "running"])
def test_an_interrupt_ends_many_runs_and_the_next_call_goes_on(command: str, when: str) -> None:
    options = ("--diameter", "400 mm, 500 mm") if command == "wheels" else ()
    child = started(command, MOTH, "--angles", "2", "--speed", "0.5 rpm", *options)
    if when == "starting":
        listening(child)
        time.sleep(0.5)
    else:
        until = time.monotonic() + 60
        while not list(Path("runs").glob("*.h5")) and time.monotonic() < until:
            time.sleep(0.05)
    interrupted(child)
    kept = {path: path.stat().st_mtime_ns for path in Path("runs").glob("*.h5")}
    assert bool(kept) is (when == "running")
    if not kept or command == "study":  # both go on in the same way; a whole study takes its time
        return
    again = started(command, MOTH, "--angles", "2", "--speed", "0.5 rpm", *options)
    out, err = again.communicate(timeout=300)
    assert (again.returncode, err) == (0, "")
    assert "Wall moth" in out
    assert all(path.stat().st_mtime_ns == stamp for path, stamp in kept.items())
    assert len(list(Path("runs").glob("*.h5"))) > len(kept)
    assert list(Path("runs").glob(".*.part")) == []
