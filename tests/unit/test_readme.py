"""What the README shows is true: its notebook lines run, its commands exist, its pictures are there."""

import re
from pathlib import Path

import pytest

from analysis.commands import run
from models.cases import KINDS, cases, standard
from models.loading import loads

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.S | re.M)


def test_two_commands_set_everything_up() -> None:
    commands = [line for block in blocks("sh") for line in block.splitlines() if line]
    assert len(commands) == 2
    assert "wingwright study models/manta.toml" in commands[0]
    assert "pytest" in commands[1]
    assert all("python3 -m venv" in c for c in commands)


def test_the_notebook_lines_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "models").symlink_to(ROOT / "models")
    monkeypatch.chdir(tmp_path)
    (code,) = blocks("python")
    exec(compile(code, "README.md", "exec"), {})
    assert (tmp_path / "torque.png").stat().st_size > 10_000
    assert "largest hand force" in capsys.readouterr().out


def test_every_command_of_the_table_exists(capsys: pytest.CaptureFixture[str]) -> None:
    named = set(re.findall(r"^\| `wingwright ([a-z-]+)", README, re.M))
    assert named == {
        "new",
        "check",
        "cases",
        "simulate",
        "wheels",
        "balance",
        "compare",
        "fit",
        "release-map",
        "shafts",
        "parts",
        "catalogue",
        "sheets",
        "tolerance",
        "study",
        "findings",
    }
    for name in named:
        assert run([name, "--help"]) == 0
        assert name in capsys.readouterr().out


def test_pictures_are_there() -> None:
    for name in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README):
        assert (ROOT / name).is_file()


def test_the_description_shown_is_a_part_of_the_demo() -> None:
    text = blocks("toml")[0]
    shown = loads(f'name = "shown"\n{text}')
    demo = loads((ROOT / "models" / "manta.toml").read_text("utf-8"))
    assert shown.panel[0] == demo.panel[0]


def test_the_load_cases_shown_can_be_read() -> None:
    (_, text) = blocks("toml")
    found = cases(loads(f'name = "shown"\n{text}'))
    assert (
        found["storm"].words
        == "wind 45 m/s (148 ft/s), 16 directions, up and down by 10 deg, least share of it on the far side 0"
    )
    assert found["let-go"].count("angles") == 36
    assert set(found) == {*standard(), "storm"}


def test_options_of_the_table_are_known(capsys: pytest.CaptureFixture[str]) -> None:
    for name, options in re.findall(r"^\| `wingwright ([a-z-]+) [^`]*?(--[^`]+)`", README, re.M):
        assert run([name, "--help"]) == 0
        said = capsys.readouterr().out
        for option in re.findall(r"--[a-z]+", options):
            assert option in said, f"{name} {option}"


def test_load_cases_named_in_the_table_exist() -> None:
    named = re.findall(r"--(?:case|only) ([a-z,-]+)", README)
    known = {*standard(), *KINDS, "none"}
    assert {n for names in named for n in names.split(",")} <= known
