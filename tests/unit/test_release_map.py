"""Letting go at every angle and speed: peaks without records, the map, its table, figure and command."""

import csv
import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from examples import MANTA
from saying import said

from analysis import commands
from analysis.figures.releases import release_map
from analysis.release_map import release_maps, table
from models.loading import DescriptionError, changed, load
from models.resolve import mechanism
from sim import names
from sim.builders import Linkage, linkage, scene
from sim.engines.base import Stepping
from sim.reduced.method import Reduced
from sim.reduced.quick import kick, let_go
from sim.scenarios import LetGo
from sim.scene import Motion

RPM = np.pi / 30
MOTH = MANTA.with_name("moth.toml")


@cache
def closed(name: str) -> Linkage:
    return linkage(mechanism(load(MANTA.with_name(f"{name}.toml"))))


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_peaks_without_records_are_those_of_the_records(name: str) -> None:
    piece, doing = closed(name), LetGo(30 * RPM, 1.0)
    trace = Reduced(piece).simulate(doing.scene(piece), Stepping(doing.step(piece), doing.end(piece)))
    gone = let_go(piece, 30 * RPM, 1.0, doing.step(piece))
    speed = trace.spins[names.WHEEL].speed
    assert gone.peak == pytest.approx(speed.max(), rel=1e-12)
    assert gone.back == pytest.approx(-speed.min(), rel=1e-12)
    assert gone.rest == pytest.approx(trace.time[-1], rel=1e-12)
    for joint, force in gone.joints.items():
        # From tables of half a degree, straight between: they cut a corner by 1e-4.
        assert force == pytest.approx(np.linalg.norm(trace.joints[joint].force, axis=1).max(), rel=1e-3), (
            joint
        )
    assert gone.chains == pytest.approx(
        {c: max(a.max(), b.max()) for c, (a, b) in trace.tensions.items()}, rel=1e-9
    )
    for name_, torque in gone.couplings.items():
        assert torque == pytest.approx(np.abs(trace.torques[name_]).max(), rel=1e-9)


@pytest.mark.parametrize("name", ["manta", "manta_stand", "moth"])
@pytest.mark.parametrize("release", [0.5, 1.0, 5.0])
def test_a_quarter_of_its_step_moves_nothing_that_a_map_shows(name: str, release: float) -> None:
    """Rods of the shop stand, whose short chains rattle, by 1.3 %; a wheel's speed by .4 %; all else within 1 %."""
    piece, doing = closed(name), LetGo(61 * RPM, release)
    fine, own = let_go(piece, 61 * RPM, release, doing.step(piece) / 4), let_go(piece, 61 * RPM, release)
    assert own.peak == pytest.approx(fine.peak, rel=4e-3)
    assert own.back == pytest.approx(fine.back, rel=4e-3)
    assert own.rest == pytest.approx(fine.rest, rel=4e-3)
    assert own.joints == pytest.approx(fine.joints, rel=0.015 if name == "manta_stand" else 0.01)
    assert own.chains == pytest.approx(fine.chains, rel=0.01)
    assert own.couplings == pytest.approx(fine.couplings, rel=0.01)


@pytest.mark.parametrize("name", ["manta", "moth"])
@pytest.mark.parametrize("release", [0.7, 2.0, 5.0])
def test_a_kick_is_what_holds_a_steady_wheel_back(name: str, release: float) -> None:
    """The hand's torque of a turn at that speed, without friction and with exact ratios, where it is negative."""
    piece, speed = closed(name), 60 * RPM
    held = (Motion(names.HAND, names.WHEEL, speed),)
    built = scene(piece, release, speed, motions=held, friction=False, ideal=True)
    torque = Reduced(piece).simulate(built, Stepping(1e-3, 0.01)).torques[names.HAND][0]
    assert kick(piece, speed, release) == pytest.approx(max(0.0, -torque), abs=1e-3 * abs(torque))


def test_a_map_has_a_place_for_every_release() -> None:
    moth = load(MOTH)
    wheels = [("small", changed(moth, {"wheel.radius": "150 mm"})), ("as is", moth)]
    told: list[tuple[int, int]] = []
    maps = release_maps(wheels, [20 * RPM, 40 * RPM], 4, done=lambda n, of: told.append((n, of)))
    assert [m.label for m in maps] == ["small", "as is"]
    assert [m.radius for m in maps] == pytest.approx([0.15, 0.22])
    assert told[-1] == (4, 4)
    for m, (_, sculpture) in zip(maps, wheels, strict=True):
        assert m.rim.shape == m.kick.shape == m.rest.shape == (2, 4)
        one = let_go(linkage(mechanism(sculpture)), 40 * RPM, np.pi / 2)
        assert m.rim[1, 1] == max(one.peak, one.back) * m.radius
        assert m.kick[1, 1] == one.kick / m.radius
        worst, where = m.joints()["left wing hinge"]
        assert worst == max(g.joints["left wing hinge"] for g in m.gone if not isinstance(g, str))
        assert where.joints["left wing hinge"] == worst
    rows = table(maps)
    assert len(rows) == 1 + 2 * 2 * 4
    assert {len(r) for r in rows} == {len(rows[0])}


def test_what_all_but_stalls_at_the_top_is_named() -> None:
    """The moth hangs at its top, 0 deg, when let go there slowly, and is far from it when let go below."""
    (m,) = release_maps([("wheel", load(MOTH))], [10 * RPM], 4)
    (one,) = m.near
    assert one.release == 0
    assert abs(m.nearest[0, 0]) < 0.01 * m.swing
    assert m.nearest[0, 2] < -0.2 * m.swing
    rows = table([m])
    assert rows[0][-2] == "nearest to stalling [J]"
    assert float(rows[1][-2]) == pytest.approx(one.nearest, rel=1e-5)


def test_one_that_cannot_be_run_is_a_row_with_the_reason_and_the_rest_stay() -> None:
    (m,) = release_maps([("wheel", load(MOTH))], [30 * RPM], 3)
    broken = replace(m, gone=(m.gone[0], "it could not go on", m.gone[2]))
    assert np.isnan(broken.rim[0]).tolist() == [False, True, False]
    assert [r[-1] for r in table([broken])[1:]] == ["", "it could not go on", ""]
    figure = release_map([broken])
    figure.canvas.draw()


def test_a_figure_of_no_map_is_refused() -> None:
    with pytest.raises(ValueError, match="give at least one"):
        release_map([])


def test_texts_of_the_figure_stay_on_the_sheet() -> None:
    maps = release_maps([("300 mm", load(MOTH)), ("440 mm", load(MOTH))], [20 * RPM, 60 * RPM], 6)
    figure = release_map(maps)
    figure.canvas.draw()
    drawer = figure.canvas.get_renderer()
    width, height = figure.canvas.get_width_height()
    for ax in figure.axes:
        for text in (
            ax._left_title,
            ax.xaxis.label,
            ax.yaxis.label,
            *ax.get_xticklabels(),
            *ax.get_yticklabels(),
        ):
            if text.get_text() and text.get_visible():
                box = text.get_window_extent(drawer)
                assert box.x0 >= 0, text.get_text()
                assert box.x1 <= width, text.get_text()
                assert box.y0 >= 0, text.get_text()
                assert box.y1 <= height, text.get_text()


def test_chordal_action_is_refused_in_one_line() -> None:
    stage = {"teeth": [15, 40], "centres": "406.4 mm", "chordal": True}
    with pytest.raises(DescriptionError) as refused:
        release_maps([("wheel", load(MANTA, {"stage.2": stage}))], [3.0], 1)
    assert "knows nothing of chordal action" in refused.value.lines[0]


def test_the_command_writes_table_and_figure(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    out = said(capsys, "release-map", str(MOTH), "--speeds", "10 rpm, 40 rpm", "--angles", "4")
    assert "rim up to" in out
    assert "2 of 8 all but stall at a top" in out
    assert Path("runs/moth-releases.png").stat().st_size > 1000
    with Path("runs/moth-releases.csv").open(encoding="utf-8") as file:
        rows = list(csv.reader(file))
    assert len(rows) == 9
    found = json.loads(
        said(capsys, "release-map", str(MOTH), "--speeds", "20 rpm", "--angles", "2", "--json")
    )
    assert len(found["rows"]) == 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--speeds", ","), "--speeds: no speed is given"),
        (("--speeds", "3 mm"), "--speed: "),
        (("--angles", "0"), "--angles: 0 is out of range"),
        (("--diameter", "x"), "--diameter: "),
    ],
)
def test_a_bad_option_is_one_line(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], words: str
) -> None:
    assert commands.run(["release-map", str(MOTH), *arguments]) == 2
    err = capsys.readouterr().err
    assert words in err
    assert len(err.strip().splitlines()) == 1
