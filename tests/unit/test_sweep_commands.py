"""The commands of sweeps, as typed: what they print and write, what they refuse, and going on after an interrupt."""

import csv
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from examples import MANTA, MOTH

from analysis import commands

ROOT = MANTA.parents[1]


@pytest.fixture
def moth(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.chdir(tmp_path)
    Path("moth.toml").write_text(MOTH, "utf-8")
    return "moth.toml"


def test_compare_prints_a_table_and_writes_it(moth: str, capsys: pytest.CaptureFixture[str]) -> None:
    radii = "wheel.radius=120 mm to 180 mm by 30 mm"
    assert commands.run(["compare", moth, "--set", radii, "--only", "none", "--angles", "2"]) == 0
    said = capsys.readouterr().out
    assert "3 of 3 builds run" in said
    for name in ("moth-compare.csv", "moth-compare.h5", "moth-compare.png", "moth-compare.svg"):
        assert Path("runs", name).is_file()
    assert "can crush and shear" in said
    rows = [line.split() for line in said.splitlines() if line[:1].isdigit()]
    assert [row[1:3] for row in rows] == [["120", "mm"], ["150", "mm"], ["180", "mm"]]
    hands = [float(row[3]) for row in rows]
    assert hands == sorted(hands, reverse=True)


def test_compare_says_which_builds_cannot_be(moth: str, capsys: pytest.CaptureFixture[str]) -> None:
    call = [
        "compare",
        moth,
        "--set",
        "panel.wing.rod=230 mm, 30 mm, 235 mm",
        "--only",
        "none",
        "--angles",
        "1",
    ]
    assert commands.run([*call, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert ["cannot reach" in b["reason"] for b in found["builds"]] == [False, True, False]
    assert commands.run(call) == 0
    said = capsys.readouterr().out
    assert "2 of 3 builds run" in said
    (line,) = (line for line in said.splitlines() if line.startswith("not run: "))
    assert line.startswith("not run: build 2: moth.toml: ")
    assert "cannot reach" in line


def test_compare_of_samples(moth: str, capsys: pytest.CaptureFixture[str]) -> None:
    spans = ["--set", "wheel.radius=120 mm to 180 mm", "--set", "friction.bush=0.05 to 0.2",
             "--set", "panel.wing.thickness=2 mm to 3 mm"]  # fmt: skip
    assert commands.run(["compare", moth, *spans, "--samples", "6", "--only", "none", "--angles", "1"]) == 0
    assert "6 of 6 builds run" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ([], "--set: no field is given"),
        (["--set", "wheel.radius="], "no value is given"),
        (["--set", "wheel.diametre=1 mm, 2 mm"], "there is no 'diametre' here"),
        (["--set", "wheel.radius=1 mm to 2 mm"], "add a step"),
        (["--set", "wheel.radius=150 mm", "--set", "wheel.radius=140 mm"], "it is given twice"),
        (
            ["--set", "wheel.radius=140 mm to 150 mm", "--samples", "0"],
            "--samples: 0 is out of range; write 1 to 100000",
        ),
        (
            ["--set", "wheel.radius=140 mm to 150 mm", "--samples", "many"],
            "--samples: 'many' is not a whole number",
        ),
        (["--set", "wheel.radius=150 mm", "--seed", "-1"], "--seed: -1 is out of range"),
        (["--set", "wheel.radius=150 mm", "--only", "gusts"], "there is no 'gusts'"),
        (["--set", "wheel.radius=150 mm", "--angles", "0"], "--angles: 0 is out of range"),
    ],
)
def test_what_compare_refuses(
    moth: str, options: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert commands.run(["compare", moth, *options]) == 2
    told = capsys.readouterr()
    assert words in told.err
    assert told.out == ""
    assert not Path("runs").exists()


def test_tolerance_prints_who_moves_what_and_how_many_pass(
    moth: str, capsys: pytest.CaptureFixture[str]
) -> None:
    call = ["tolerance", moth, "--builds", "24", "--angles", "1", "--no-usual", "--off", "friction.bush=60 %",
            "--off", "panel.wing.rod=0.5 mm"]  # fmt: skip
    assert commands.run(call) == 0
    said = capsys.readouterr().out
    assert "24 builds drawn within 2 tolerances, seed 1" in said
    (start,) = (line for line in said.splitlines() if line.startswith("to start"))
    assert "friction.bush (+" in start
    assert "Builds that pass every limit: " in said
    assert Path("runs", "moth-tolerance.png").is_file()
    head, nominal, *drawn = csv.reader(Path("runs", "moth-tolerance.csv").read_text("utf-8").splitlines())
    assert head[1:3] == ["friction.bush", "left.panel.wing.rod [m]"]
    assert nominal[1:3] == ["0.12", "0.23"]
    assert all(0.048 <= float(row[1]) <= 0.192 and 0.2295 <= float(row[2]) <= 0.2305 for row in drawn)
    assert len({row[2] for row in drawn}) == 24
    assert commands.run([*call, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert {t["field"] for t in found["tolerances"]} == {"friction.bush", "left.panel.wing.rod"}
    assert 0 <= found["pass"]["low"] <= found["pass"]["value"] <= found["pass"]["high"] <= 1


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--builds", "1"], "--builds: 1 is out of range; write 2 to 20000"),
        (["--builds", "2.5"], "--builds: '2.5' is not a whole number"),
        (["--seed", "-3"], "--seed: -3 is out of range"),
        (["--off", "panel.wing.rod"], "says not what is off by how much"),
        (["--off", "panel.wing.rdo=1 mm"], "the description has no such number"),
        (["--no-usual"], "nothing is off by anything"),
        (["--cluster", "nonsense"], "no scheduler answers at 'nonsense'"),
    ],
)
def test_what_tolerance_refuses(
    moth: str,
    options: list[str],
    words: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("sim.cluster.PATIENCE", 0.5)
    assert commands.run(["tolerance", moth, *options]) == 2
    told = capsys.readouterr()
    assert words in told.err
    assert "Traceback" not in told.err


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="sends a signal")
def test_an_interrupted_sweep_goes_on_where_it_was(moth: str) -> None:
    words = "from analysis.commands import main; main()"
    radii = "wheel.radius=100 mm to 160 mm by 2 mm"
    command = [
        sys.executable,
        "-c",
        words,
        "compare",
        moth,
        "--set",
        radii,
        "--only",
        "none",
        "--angles",
        "2",
    ]
    place = {**os.environ, "PYTHONPATH": str(ROOT)}
    kept = Path("runs", "moth-compare.jsonl")
    child = subprocess.Popen(command, env=place, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    for _ in range(900):
        if kept.is_file() and len(kept.read_text().splitlines()) > 3:
            break
        time.sleep(0.1)
    child.send_signal(signal.SIGINT)
    _, told = child.communicate(timeout=60)
    assert child.returncode == 130
    assert told.strip().endswith("interrupted; finished runs are kept, call again to go on")
    before = [json.loads(line)[0] for line in kept.read_text().splitlines() if line]
    assert 3 <= len(before) < 31
    again = subprocess.run(command, env=place, capture_output=True, text=True, check=True)
    assert "31 of 31 builds run" in again.stdout
    after = [json.loads(line)[0] for line in kept.read_text().splitlines() if line]
    assert after[: len(before)] == before
    assert len(set(after)) == len(after) == 31
