"""Parts and catalogues on the command line: chosen, shown, refused."""

import csv
import json
from dataclasses import replace
from pathlib import Path

import pytest

from analysis import study
from analysis.commands import run as command
from analysis.parts.basis import Basis
from analysis.schedule import schedule
from analysis.shafts import shafts
from models.cases import cases
from models.parts.catalogue import read
from models.parts.families import FAMILIES
from models.parts.families import makers as read_makers
from models.parts.rod_ends import ROD_ENDS
from models.sculpture import Sculpture

KIND = ("metric", "standard", "lined")
MODELS = Path(__file__).parents[2] / "models"


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    """Give the project's own rod ends as a maker's table."""
    own = MODELS / "parts" / "rod-ends.csv"
    path = tmp_path / "mine.csv"
    path.write_text(own.read_text("utf-8"), "utf-8")
    return path


@pytest.mark.parametrize("name", FAMILIES)
def test_a_catalogue_that_is_printed_reads_back(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["catalogue", name]) == 0
    printed = capsys.readouterr().out
    rows = read(FAMILIES[name], printed, "printed.csv")
    assert len(rows) > 5
    assert all(row.source for row in rows)
    assert {row.system for row in rows} == {"metric", "inch"}


def test_an_unknown_catalogue_is_refused_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["catalogue", "rod-end"]) == 2
    assert "there is no catalogue 'rod-end'; did you mean 'rod-ends'?" in capsys.readouterr().err


def test_a_bad_catalogue_is_refused_before_anything_runs(
    mine: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = mine.read_text("utf-8").splitlines()
    row = next(csv.DictReader(lines))
    lines[1] = lines[1].replace(row["static"], "-1 kN", 1)
    del lines[5]
    lines.append(lines[2])
    mine.write_text("\n".join(lines), "utf-8")
    given = [
        "parts",
        str(MODELS / "moth.toml"),
        "--catalogue",
        f"rod-ends={mine}",
        "--runs",
        str(mine.parent / "runs"),
    ]
    assert command(given) == 2
    said = capsys.readouterr()
    assert f"mine.csv: row 2, size '{row['size']}', column static: -1 kN is not above 0" in said.err
    assert said.out == ""
    assert not (mine.parent / "runs").exists()
    mine.write_text("\n".join([lines[0], *lines[2:]]), "utf-8")
    assert command(given) == 2
    assert "column size: this size is there already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("option", "words"),
    [
        ("rod-ends", "--catalogue: 'rod-ends' names no file; write rod-ends=mine.csv"),
        ("cogs=mine.csv", "--catalogue: there is no catalogue 'cogs'"),
        ("rod-ends=none.csv", "none.csv: there is no such file"),
    ],
)
def test_a_bad_option_is_refused(option: str, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["parts", str(MODELS / "moth.toml"), "--catalogue", option]) == 2
    assert words in capsys.readouterr().err


def test_a_bad_catalogue_is_told_with_all_else_that_is_wrong(
    mine: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (MODELS / "moth.toml").read_text("utf-8")
    text += '\n[catalogues]\ncogs = "mine.csv"\n[[case]]\nname = "odd"\nkind = "flood"\n'
    (mine.parent / "moth.toml").write_text(text, "utf-8")
    assert command(["study", str(mine.parent / "moth.toml"), "--runs", str(mine.parent / "runs")]) == 2
    said = capsys.readouterr().err
    assert "moth.toml: catalogues.cogs: there is no catalogue 'cogs'" in said
    assert "case 'odd'" in said


def test_parts_are_shown_and_written_with_a_makers_table(
    mine: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # A maker who has one size alone, that carries anything: it must be what is chosen.
    lines = mine.read_text("utf-8").splitlines()
    rows = [r for r in csv.DictReader(lines) if (r["system"], r["series"], r["kind"]) == KIND]
    row = rows[-1] | {"size": "our largest", "static": "900 kN"}
    mine.write_text("\n".join([lines[0], ",".join(f'"{row[c]}"' for c in ROD_ENDS.all)]), "utf-8")
    text = (MODELS / "moth.toml").read_text("utf-8") + '\n[catalogues]\nrod-ends = "mine.csv"\n'
    (mine.parent / "moth.toml").write_text(text, "utf-8")

    # A study of few cases stands in for the whole one, which takes minutes; all else is the command's own.
    def few(sculpture: Sculpture, *, makers: dict[str, Path], **_: object) -> study.Study:
        made = study.brief_study(sculpture, only=["gust-locked"], angles=1)
        still = shafts(made.linkage, cases(sculpture), fastest=10.0)
        basis = Basis(made.loads, still, made.whip, made.strength, read_makers(sculpture, makers))
        return replace(made, schedule=schedule(basis))

    monkeypatch.setattr(study, "study", few)
    folder = mine.parent / "runs"
    assert command(["parts", str(mine.parent / "moth.toml"), "--runs", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "NEEDS CHANGE" in said
    assert "our largest" in said
    assert max(len(line) for line in said.splitlines() if "rod end" in line) < 170
    written = list(csv.DictReader((folder / "moth-parts" / "parts.csv").open(encoding="utf-8")))
    chosen = {r["size"] for r in written if r["part"] == "rod end" and r["system"] == "metric"}
    assert chosen <= {"our largest", "none"}
    assert "our largest" in (folder / "moth-parts" / "checks.csv").read_text("utf-8")
    assert "## Every check" in (folder / "moth-parts" / "parts.md").read_text("utf-8")
    assert (
        command(["parts", str(mine.parent / "moth.toml"), "--runs", str(folder), "--json", "--strict"]) == 1
    )
    data = json.loads(capsys.readouterr().out)
    assert {p["family"] for p in data["parts"]} >= {"rod end", "rod", "hinge pin", "key"}
    assert any(f["beyond"] for f in data["findings"])
