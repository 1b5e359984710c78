"""Everything of a sculpture's shafts, by its command and in the study; crankshafts that bend in a campaign."""

import json
from pathlib import Path

import numpy as np
import pytest

from analysis import shaft_whip
from analysis.commands import run as command
from analysis.finding import Finding, Limit, worst
from analysis.of_run import of_run
from analysis.questions import ready
from analysis.shafts import Shafts, after_letting_go, once, shafts
from analysis.summary import shafts as summary
from models.cases import cases
from models.loading import changed, load
from models.resolve import mechanism
from models.sculpture import Sculpture
from sim.builders import linkage, scene, stiff
from sim.campaign import flexible, rigid
from sim.reduced.quick import let_go

MODELS = Path(__file__).parents[2] / "models"
MOTH = MODELS / "moth.toml"


def piece(name: str, **values: object) -> Sculpture:
    return changed(load(MODELS / f"{name}.toml"), {k.replace("__", "."): v for k, v in values.items()})


def looked_at(sculpture: Sculpture, **options: float) -> Shafts:
    return shafts(linkage(mechanism(sculpture)), ready(sculpture), **options)


@pytest.fixture(scope="module")
def moth() -> Shafts:
    return looked_at(piece("moth"), fastest=10.0)


def test_every_question_about_shafts_is_answered(moth: Shafts) -> None:
    titles = {title for title, found in moth.parts if found}
    assert titles == {"WHIP", "STRENGTH", "STOCK", "COUPLINGS", "WINGS", "KEYWAYS", "RESONANCE"}
    assert {f.case for f in moth.strength} == {"standing still"}
    assert all(f.source for f in moth.findings)


def test_a_bow_is_looked_at_only_where_there_is_one(moth: Shafts) -> None:
    assert moth.bow == ()
    bowed = looked_at(piece("moth"), fastest=10.0, runout=1e-3)
    assert {f.where for f in bowed.bow} >= {"left coupling", "left wing panel"}
    assert bowed.whip == moth.whip  # a runout measured is not the description's


def test_alike_sides_are_told_once_and_others_twice(moth: Shafts) -> None:
    told = once(moth.whip, moth.linkage)
    assert not any(where.startswith(("left", "right")) for where, _ in told)
    keyed = looked_at(piece("moth", right__key_angle="20 deg"), fastest=10.0)
    assert any(where.startswith("right") for where, _ in once(keyed.whip, keyed.linkage))


def test_the_highest_speed_after_letting_go_is_sought_by_angles() -> None:
    sculpture = piece("moth")
    made = linkage(mechanism(sculpture))
    found = after_letting_go(made, cases(sculpture))
    assert found is not None
    # The moth kicks: far beyond the hand's own speed.
    assert found > 30
    assert after_letting_go(made, {}) is None


def test_the_screen_names_what_needs_change_and_where_all_of_it_lies(moth: Shafts, tmp_path: Path) -> None:
    lines = "\n".join(summary.screen(moth, tmp_path))
    assert "Wall moth: shafts" in lines
    assert str(tmp_path / "shafts.md") in lines
    assert "NEEDS CHANGE - locating bearing: largest slope" in lines
    tables = dict(summary.tables(moth))
    assert len(tables["Whip of the shafts, standing still"]) == len(moth.whip) + 1
    assert summary.figures(moth) == set(summary.FIGURES)


@pytest.mark.slow
def test_the_command_writes_figures_and_tables(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command(["shafts", str(MOTH), "--runs", str(tmp_path), "--fastest", "200 rpm", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    folder = tmp_path / "moth-shafts"
    assert told["folder"] == str(folder)
    assert {p.stem for p in folder.glob("*.png")} == set(summary.FIGURES)
    text = (folder / "shafts.md").read_text("utf-8")
    assert "standing still" in text
    assert all(f"({name}.png)" in text for name in summary.FIGURES)
    assert command(["shafts", str(MOTH), "--runs", str(tmp_path), "--fastest", "200 rpm", "--strict"]) == 1


@pytest.mark.parametrize(
    ("option", "words"),
    [
        (("--runout", "2"), "--runout: "),
        (("--runout", "3 m"), "--runout: '3 m' is out of range; write a reading from 0 mm to 100 mm"),
        (("--toward", "3 mm"), "--toward: "),
        (("--fastest", "5000 rpm"), "--fastest: '5000 rpm' is out of range"),
    ],
)
def test_a_wrong_option_is_one_line(
    option: tuple[str, str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command(["shafts", str(MOTH), "--runs", str(tmp_path), *option]) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1
    assert said[0].startswith(words)


def test_the_worst_of_a_safety_factor_is_the_least() -> None:
    wanted = Limit(1.5, "least", "wanted")
    found = [Finding("factor", v, "ratio", "pin", f"case {v}", limit=wanted) for v in (2.0, 1.2, 3.0)]
    found += [Finding("force", v, "force", "pin", f"case {v}") for v in (2.0, 1.2, 3.0)]
    assert [f.value for f in worst(found)] == [1.2, 3.0]


def test_angles_alone_take_bending_shafts_for_rigid() -> None:
    bending = piece("moth", crank__flexible=True)
    assert flexible(bending)
    assert not flexible(rigid(bending))
    assert rigid(piece("moth")).source.document == piece("moth").source.document
    made = linkage(mechanism(bending))
    assert scene(made, 0.0, 0.0).flexibles
    assert not scene(stiff(made), 0.0, 0.0).flexibles
    plain = let_go(linkage(mechanism(piece("moth"))), 2.0, 1.0)
    same = let_go(made, 2.0, 1.0)
    assert same.peak == plain.peak
    assert np.isfinite(same.peak)


@pytest.mark.slow
def test_a_study_bends_the_shafts_in_its_slow_turn_and_worst_let_go(tmp_path: Path) -> None:
    from analysis.study import study

    made = study(piece("moth", crank__flexible=True), runs=tmp_path, only=[], angles=2, speed=1.0)
    assert {r.case for r in made.campaign.bent} == {"turn", "let-go"}
    assert all(r.label.endswith("crankshafts bending") for r in made.campaign.bent)
    for run in made.campaign.bent:
        assert run.names("shafts")
    assert not any(run.names("shafts") for run in made.campaign.runs)
    slow = next(r for r in made.campaign.bent if r.case == "turn")
    own = {(f.where, f.what): f.value for f in of_run(slow)}
    pin = "left crankshaft, throw of panel 'wing'"
    # The engine's, and the frame's under the same rods: each is the other's check.
    assert own[pin, shaft_whip.ENGINE] == pytest.approx(own[pin, shaft_whip.DEFLECTION], rel=0.05)
    assert made.shafts is not None
    assert any("crankshafts bending" in f.case for f in (*made.whip, *made.strength))
