"""Load cases on the command line: listed, simulated by name, chosen for a study."""

import json
import re
from pathlib import Path

import pytest
from refusal import Refusal
from saying import FAST, MOTH, said, valid_findings

from analysis.summary.shafts import FIGURES as SHAFTS


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


OWN = """
[[case]]
name = "lean"
kind = "blocked"
person = "child"

[[case]]
name = "flung"
kind = "let-go"
speed = "30 rpm"
angles = 2

[friction]
wheel_drag = "3 N m"
"""


@pytest.fixture
def own() -> str:
    """Give the file of a moth whose wheel is hard to turn, with load cases of its own."""
    Path("own.toml").write_text(Path(MOTH).read_text("utf-8") + OWN, "utf-8")
    return "own.toml"


def test_cases_are_listed_with_figures_sources_and_what_is_left_out(
    capsys: pytest.CaptureFixture[str], own: str
) -> None:
    out = said(capsys, "cases", own)
    assert re.search(
        r"^gust-locked +gust-locked +1 run +wind 40 m/s \(131 ft/s\), 16 directions, up and down by "
        r"10 deg, least share of it on the far side 0$",
        out,
        re.M,
    )
    assert re.search(r"^flung +let-go +2 runs +speed 30 rpm, 2 angles\n  from: the description$", out, re.M)
    kept, gone = out.split("LEFT OUT for this sculpture")
    assert "lifted: the description names no lift point; write [[lift]]" in gone
    assert "jammed: nothing elastic" in gone
    assert not re.search("^(lifted|jammed)", kept, re.M)
    found = json.loads(said(capsys, "cases", own, "--json"))
    by = {c["name"]: c for c in found["cases"]}
    assert by["gust"]["figures"]["wind"] == {"value": 25.0, "unit": "m/s"}
    assert by["gust"]["figures"]["directions"] == {"value": 8.0, "unit": "1"}
    assert len(by["gust"]["runs"]) == 8
    assert (by["lifted"]["runs"], found["lacking"]) == ([], [])


def test_cases_of_a_partial_description_say_what_is_lacking(capsys: pytest.CaptureFixture[str]) -> None:
    Path("part.toml").write_text('name = "Part"\n', "utf-8")
    out = said(capsys, "cases", "part.toml")
    assert "not known yet: it needs" in out
    assert "LEFT OUT" not in out
    found = json.loads(said(capsys, "cases", "part.toml", "--json"))
    assert {c["runs"] for c in found["cases"]} == {None}
    assert found["lacking"]


BAD_CASES = """
[[case]]
kind = "gust"
[[case]]
name = "storm"
kind = "gust"
wind = "30 m"
direction = 3
[[case]]
name = "adult"
kind = "turn"
"""


@pytest.mark.parametrize(
    "arguments", [("check",), ("cases",), ("simulate", "--case", "gust"), ("study",), ("wheels",)]
)
def test_wrong_cases_are_told_all_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    Path("bad.toml").write_text(Path(MOTH).read_text("utf-8") + BAD_CASES, "utf-8")
    name, *options = arguments
    assert Refusal(tmp_path, capsys, name, "bad.toml", *options).lines == [
        'bad.toml: case 1: it has no name; write name = "..."',
        "bad.toml: case 'storm': a case of kind 'gust' has no 'direction'; did you mean 'directions'?",
        "bad.toml: case 'storm': a case of kind 'gust' needs directions; write directions = ...",
        "bad.toml: case 'storm': wind: \"m\" is a unit of length, where a speed is asked for; write it in m/s, km/h, "
        "mph, ft/s or mm/s",
        "bad.toml: case 'adult': it is one of the project's own, of kind 'crank'; keep that kind, or give yours "
        "another name",
    ]


def test_wrong_cases_and_a_loop_that_does_not_close_come_together(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = Path(MOTH).read_text("utf-8").replace('rod = "380 mm"', 'rod = "200 mm"')
    Path("bad.toml").write_text(text + '[[case]]\nname = "x"\n', "utf-8")
    for command in ("check", "cases", "simulate", "study"):
        lines = Refusal(tmp_path, capsys, command, "bad.toml").lines
        assert any("it has no kind" in line for line in lines), command
        assert any("cannot reach" in line for line in lines), command


def test_a_case_is_simulated_by_its_name_and_by_its_kind(
    capsys: pytest.CaptureFixture[str], own: str
) -> None:
    lean = json.loads(said(capsys, "simulate", own, "--case", "lean", "--json"))
    assert lean["case"] == "a panel or crank blocked, child of 5 or 6 pushes the wheel"
    # A kind stands for the adult's case of it.
    push = json.loads(said(capsys, "simulate", own, "--case", "blocked", "--json"))
    assert push["case"] == "a panel or crank blocked, adult pushes the wheel"
    other = json.loads(said(capsys, "simulate", own, "--case", "lean", "--person", "vigorous", "--json"))
    assert other["case"] == "a panel or crank blocked, vigorous adult pushes the wheel"


def test_all_scenarios_of_a_case_are_run_or_the_one_asked_for(
    capsys: pytest.CaptureFixture[str], own: str
) -> None:
    both = json.loads(said(capsys, "simulate", own, "--case", "flung", "--json"))
    assert [run["case"] for run in both] == ["let go at 0 deg, 30 rpm", "let go at 180 deg, 30 rpm"]
    assert [run["peaks"] for run in both] == [[], []]
    one = json.loads(said(capsys, "simulate", own, "--case", "flung", "--release", "180 deg", "--json"))
    assert one["case"] == "let go at 180 deg, 30 rpm"
    assert one["peaks"]  # a single run is checked with finer steps
    text = said(capsys, "simulate", own, "--case", "flung", "--speed", "-20 rpm", "--friction", "high")
    assert "let go at 0 deg, -20 rpm, high friction: runs/" in text
    assert "let go at 180 deg, -20 rpm, high friction: runs/" in text


def test_a_start_and_a_friction_are_those_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    nominal = json.loads(said(capsys, "simulate", MOTH, *FAST, "--release", "90 deg", "--json"))
    low = json.loads(
        said(capsys, "simulate", MOTH, *FAST, "--release", "90 deg", "--friction", "low", "--json")
    )
    assert low["case"] == nominal["case"] + ", low friction"
    power = [
        next(f["value"] for f in run["findings"] if f["what"] == "mean power of the hand")
        for run in (low, nominal)
    ]
    assert power[0] < power[1]


@pytest.mark.slow
def test_a_study_of_chosen_cases(capsys: pytest.CaptureFixture[str], own: str) -> None:
    options = ("--only", "lean,gust-locked", "--angles", "1")
    Path(own).write_text(Path(own).read_text("utf-8").replace("flung", "slow-turn").replace(
        'kind = "let-go"\nspeed = "30 rpm"\nangles = 2', 'speed = "60 rpm"'), "utf-8")  # fmt: skip
    found = json.loads(said(capsys, "study", own, *options, "--json"))
    assert [c["name"] for c in found["cases"]] == ["slow-turn", "let-go", "gust-locked", "lean"]
    assert [len(c["runs"]) for c in found["cases"]] == [1, 1, 1, 1]
    assert set(found["envelope"]) == {"slow-turn", "let-go", "gust-locked", "lean"}
    assert found["impact"] == []
    (force,) = [r for r in found["ranges"] if r["what"] == "largest hand force"]
    assert force["unit"] == "N"
    assert force["low"] < force["nominal"] < force["high"]
    valid_findings(found["findings"])
    folder = Path(found["folder"])
    assert {p.name for p in folder.glob("*.png")} == {
        "drawing.png", "panel-angles.png", "wheel-torque.png", "let-go.png", "loads.png",
        *(f"{name}.png" for name in SHAFTS),
    }  # fmt: skip
    assert "## Load cases" in (folder / "summary.md").read_text("utf-8")
    # The runs are there now: the same study as a screen, and by --strict its verdict.
    out = said(capsys, "study", own, *options, "--strict", code=1)
    assert "Compare first: runs/own-study/drawing.png" in out
    assert "BEYOND" in out
