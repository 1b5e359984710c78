"""Figures and the film: that they show what they were given."""

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from examples import MANTA, MOTH
from PIL import Image
from wheeled import comparison, row

from analysis.figures import (
    joint_loads,
    joint_polar,
    let_go,
    panel_angles,
    wheel_comparison,
    wheel_torque,
)
from analysis.figures.animation import crank_angles, write_gif
from analysis.figures.motion import peak_rim_speed
from models.loading import load, loads
from models.resolve import mechanism
from sim.builders import linkage
from sim.identity import canonical
from sim.run import Channel, Run, extrema
from sim.whole import holding_torque

UNEQUAL = {"right.key_angle": "8 deg", "right.panel.outer.thickness": "5 mm"}


@pytest.fixture(scope="module")
def manta():
    return linkage(mechanism(load(MANTA)))


@pytest.fixture(scope="module")
def moth():
    return linkage(mechanism(loads(MOTH)))


def _run(closed, case, scenario, channels, time):
    crank = channels["angles/left crankshaft/angle"].values
    return Run(
        id="0123456789ab", sculpture=closed.mechanism.name, case=case, label=f"{case} made by hand",
        scenario=scenario, settings={}, versions={}, description=canonical(closed.mechanism), text="",
        status="finished", reason="", rested=case == "let-go", time=time, channels=channels,
        extrema=extrema(channels, time, crank), peaks=(),
    )  # fmt: skip


def _turn(closed, extra=0.4):
    """Give a turn as if the hand held the weights and a steady drag: no engine is needed for a figure."""
    time = np.linspace(0, 10, 401)
    crank = 2 * np.pi * time / time[-1]
    torque = holding_torque(closed, crank) + extra
    n = len(time)
    force = np.stack([30 * np.cos(crank), 5 * np.ones(n), -100 + 40 * np.sin(crank)], -1)
    channels = {
        "angles/left crankshaft/angle": Channel(crank, "rad", "crank"),
        "angles/wheel/speed": Channel(np.full(n, 0.6 * closed.mechanism.reduction), "rad/s", "wheel"),
        "torques/hand/torque": Channel(torque, "N m", "hand"),
        "joints/left locating bearing/force": Channel(force, "N", "force", "world"),
        "joints/left wing hinge/force": Channel(force, "N", "force", "world"),
    }
    return _run(closed, "turn", {"case": "turn", "speed": 0.6, "start": 0.0}, channels, time)


def _let_go(closed, release, speed, peak):
    time = np.linspace(0, 8, 321)
    wheel = speed + (peak - speed) * np.sin(np.pi * time / 8) - speed * time / 8
    wheel[160] = peak
    channels = {
        "angles/left crankshaft/angle": Channel(release + np.cumsum(wheel) * 0.025, "rad", "crank"),
        "angles/wheel/speed": Channel(wheel, "rad/s", "wheel"),
    }
    return _run(closed, "let-go", {"case": "let-go", "speed": speed, "release": release}, channels, time)


def _words(figure):
    figure.canvas.draw()
    found = [t.get_text() for t in figure.texts]
    for ax in figure.axes:
        found += [t.get_text() for t in ax.texts]
        found += [ax.get_title(loc="left"), ax.get_xlabel(), ax.get_ylabel()]
        found += [t.get_text() for t in (*ax.get_xticklabels(), *ax.get_yticklabels())]
        if ax.get_legend():
            found += [t.get_text() for t in ax.get_legend().get_texts()]
    return [w for w in found if w]


def _smallest(figure):
    texts = [*figure.texts]
    for ax in figure.axes:
        texts += [*ax.texts, ax.xaxis.label, ax.yaxis.label, *ax.get_xticklabels(), *ax.get_yticklabels()]
    return min(t.get_fontsize() for t in texts if t.get_text())


def _lines(ax):
    return [np.asarray(line.get_ydata()) for line in ax.lines if len(line.get_ydata()) > 10]


def test_panel_angles_of_sides_alike(manta):
    figure = panel_angles(manta)
    inner, outer = _lines(figure.axes[0])
    turn = np.linspace(0, 2 * np.pi, 721)
    courses = manta.sides[1].course(turn)
    # The right side's own closed form, to rounding.
    assert inner == pytest.approx(np.degrees(courses[0].angle.value), abs=1e-9)
    assert outer == pytest.approx(np.degrees(courses[1].angle.value), abs=1e-9)
    assert "Panel angles, both sides" in _words(figure)


def test_panel_angles_of_sides_that_differ():
    closed = linkage(mechanism(load(MANTA, UNEQUAL)))
    figure = panel_angles(closed)
    left, _, right, _ = _lines(figure.axes[0])
    # 8 deg of key angle is 16 samples of half a degree: the right side runs ahead by that.
    assert right[:-16] == pytest.approx(left[16:], abs=1e-6)
    assert any(w.startswith("right outer") for w in _words(figure))
    # Told apart without colour: the dashes of the four curves differ (matplotlib has no public way to ask).
    curves = [line for line in figure.axes[0].lines if len(line.get_ydata()) > 10]
    assert len({str(line._unscaled_dash_pattern) for line in curves}) == 4


def test_panel_angles_of_one_panel(moth):
    assert len(_lines(panel_angles(moth).axes[0])) == 1


def test_wheel_torque_shows_torque_and_force_on_one_scale(manta):
    run = _turn(manta)
    figure = wheel_torque(run, manta)
    left, right = figure.axes
    # N m at 380 mm (read): hand force is torque over radius, so both axes show the same curve.
    assert np.array(left.get_ylim()) / 0.38 == pytest.approx(right.get_ylim())
    curves = _lines(left)
    assert any(np.array_equal(c, run["torques/hand/torque"]) for c in curves)
    assert any(np.allclose(c + 0.4, run["torques/hand/torque"]) for c in curves)
    assert "hand force at 380 mm radius [N]" in _words(figure)
    peak = run["torques/hand/torque"].max() / 0.38
    assert f"{peak:.3g} N" in _words(figure)


def test_wheel_torque_with_low_and_high_friction(manta):
    run = _turn(manta)
    low, high = (
        replace(_turn(manta, extra), scenario={"case": "turn", "friction": level})
        for extra, level in ((0.1, "low"), (0.9, "high"))
    )
    figure = wheel_torque(run, manta, [low, high])
    curves = _lines(figure.axes[0])
    for other in (low, high):
        assert any(np.array_equal(c, other["torques/hand/torque"]) for c in curves)
    assert {"low friction", "high friction"} <= set(_words(figure))
    # Told apart without colour: every curve has a dash of its own.
    long = [line for line in figure.axes[0].lines if len(line.get_ydata()) > 10]
    assert len({str(line._unscaled_dash_pattern) for line in long}) == 4


def test_only_what_drives_the_hand_is_shaded(manta):
    run = _turn(manta)
    shade = wheel_torque(run, manta).axes[0].collections[0]
    corners = np.vstack([p.vertices for p in shade.get_paths()])
    assert corners[:, 1].max() <= 1e-9
    assert corners[:, 1].min() == pytest.approx(run["torques/hand/torque"].min())
    held = _turn(manta, extra=100.0)
    assert len(wheel_torque(held, manta).axes[0].collections[0].get_paths()) == 0


def test_weight_torque_does_no_work_over_a_turn(manta, moth):
    crank = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    torque = holding_torque(manta, crank)
    # A periodic mean: exact but for rounding and the counted harmonics.
    assert abs(torque.mean()) < 1e-9 * np.abs(torque).max()
    assert abs(holding_torque(moth, crank).mean()) < 1e-9


def test_weight_torque_counts_the_handles_own_weight(moth):
    m = moth.mechanism
    light = replace(moth, mechanism=replace(m, wheel=replace(m.wheel, grip_mass=0.0)))
    crank = np.array([np.pi / 2])
    # At 90 deg the 0.5 kg grip is level with the axis and falling: -0.5 * 9.81 * 0.15 N m (computed).
    assert holding_torque(moth, crank) - holding_torque(light, crank) == pytest.approx(-0.73575)


def test_a_run_without_a_hand_is_refused(manta):
    with pytest.raises(ValueError, match="no hand"):
        wheel_torque(_let_go(manta, 0.0, 3.0, 6.0), manta)


LOADS = [("left inner hinge", 63.0, "let go"), ("left inner rod end at yoke", 103.0, "turned"),
         ("left outer hinge", 71.0, "let go"), ("wheel bearings", 493.0, "turned at 10 rpm")]  # fmt: skip


def test_joint_loads_are_grouped_and_worst_first():
    figure = joint_loads(LOADS)
    ax = figure.axes[0]
    names = [t.get_text() for t in ax.get_yticklabels()]
    assert names == ["left outer hinge", "left inner hinge", "left inner rod end at yoke", "wheel bearings"]
    assert [bar.get_width() for bar in ax.patches] == [71.0, 63.0, 103.0, 493.0]
    words = _words(figure)
    assert {"hinges", "rod ends", "bearings", "493 N  turned at 10 rpm"} <= set(words)
    assert len({bar.get_hatch() for bar in ax.patches}) == 3  # groups told apart without colour


def test_joint_loads_show_what_comes_up_in_use():
    figure = joint_loads(
        LOADS, {"left inner hinge": 20.0, "wheel bearings": 480.0}, "; blocked panels left out"
    )
    marks = [line.get_xdata()[0] for line in figure.axes[0].lines]
    assert marks == [20.0, 480.0]
    assert {"in use: turned, cranked, let go", "force [N]; blocked panels left out"} <= set(_words(figure))


def test_joint_loads_of_nothing():
    with pytest.raises(ValueError, match="no joint loads"):
        joint_loads([])


def test_let_go_shows_the_worst_and_the_peaks(manta):
    given = [_let_go(manta, math.radians(a), 3.0, p) for a, p in ((0, 5.0), (90, 8.0), (200, 4.0))]
    assert [peak_rim_speed(r) for r in given] == pytest.approx([1.9, 3.04, 1.52])  # times 0.38 m (computed)
    figure = let_go(given)
    upper, lower = figure.axes
    worst = max(upper.lines, key=lambda line: line.get_linewidth())
    assert np.max(worst.get_ydata()) == pytest.approx(3.04)
    assert any("peak 3.04 m/s" in w for w in _words(figure))
    points = next(np.column_stack(line.get_data()) for line in lower.lines if line.get_marker() == "o")
    assert points == pytest.approx(np.array([(0, 1.9), (90, 3.04), (200, 1.52)]))
    level = [line.get_ydata() for line in lower.lines if line.get_label() == "speed at release"]
    assert level[0] == pytest.approx([1.14, 1.14])  # 3 rad/s times 0.38 m


def test_let_go_with_low_and_high_friction(manta):
    given = _let_go(manta, 0.0, 3.0, 8.0)
    others = [
        replace(_let_go(manta, 0.0, 3.0, peak), scenario={"case": "let-go", "friction": level, "speed": 3.0})
        for peak, level in ((9.0, "low"), (6.0, "high"))
    ]
    figure = let_go([given], others)
    tops = sorted(
        float(np.max(line.get_ydata())) for line in figure.axes[0].lines if len(line.get_ydata()) > 10
    )
    assert tops == pytest.approx([2.28, 3.04, 3.42])  # times 0.38 m (computed)
    assert {"low friction", "high friction"} <= set(_words(figure))


def test_let_go_at_different_speeds(moth):
    figure = let_go([_let_go(moth, 0.0, 0.0, 5.0), _let_go(moth, 1.0, 2.0, 4.0)])
    marks = [line.get_ydata() for line in figure.axes[1].lines if line.get_label() == "speed at release"]
    assert marks[0] == pytest.approx([0.0, 0.3])  # times 0.15 m (computed)


def test_let_go_without_runs(manta):
    with pytest.raises(ValueError, match="no run of letting go"):
        let_go([_turn(manta)])


def test_joint_polar_is_the_path_of_the_force(manta):
    run = _turn(manta)
    figure = joint_polar(run, "left locating bearing")
    path = max(figure.axes[0].lines, key=lambda line: len(line.get_xdata()))
    way, size = path.get_data()
    force = run["joints/left locating bearing/force"]
    assert size * np.cos(way) == pytest.approx(force[:, 0])
    assert size * np.sin(way) == pytest.approx(force[:, 2])
    words = _words(figure)
    assert {"forward", "up"} <= set(words)
    assert any("along the shaft up to 5 N" in w for w in words)


def test_joint_polar_of_a_hinge_is_seen_from_the_front(manta):
    run = _turn(manta)
    figure = joint_polar(run, "left wing hinge")
    path = max(figure.axes[0].lines, key=lambda line: len(line.get_xdata()))
    way, size = path.get_data()
    assert size * np.cos(way) == pytest.approx(run["joints/left wing hinge/force"][:, 1])
    assert "left" in _words(figure)


def test_joint_polar_of_an_unknown_joint(manta):
    with pytest.raises(KeyError, match="it has: left locating bearing"):
        joint_polar(_turn(manta), "left elbow")


def test_wheel_comparison():
    rows = [
        row(0.6, 31.0, force=25.0, rim=3.4),
        row(0.7, 40.0, force=18.0, rim=3.0),
        row(0.8, 50.1, rim=2.95),
    ]
    stalls = replace(rows[2].free, clearing=(9.0, math.inf, math.inf))
    rows[2] = replace(rows[2], free=stalls, gone=replace(rows[2].gone, rest_longest=math.nan))
    figure = wheel_comparison(comparison(*rows))
    force, clearing, rim, rest, rims, forces = figure.axes
    assert [b.get_width() for b in force.patches] == [25, 18, 20]
    assert [b.get_width() for b in rim.patches] == [3.4, 3.0, 2.95]
    rpm = 30 / math.pi
    assert [b.get_x() for b in clearing.patches] == pytest.approx([3.3 * rpm] * 2)
    assert [b.get_width() for b in clearing.patches] == pytest.approx([0.9 * rpm] * 2)
    assert [t.get_text() for t in clearing.texts] == ["32–40", "32–40", "from 86"]
    assert [t.get_text() for t in rest.texts] == ["44–66", "44–66", "from 44"]
    assert "800 x 12 mm, 50.1 kg   3" in _words(figure)
    # The heaviest takes no force off: two that do have no knee, and three that take speed off have one.
    assert forces.get_title(loc="left").endswith("; no knee")
    assert [t.get_text() for t in rims.texts] == ["1", "2", "3"]
    assert rims.get_title(loc="left").endswith("; knee: 700 x 12 mm")
    with pytest.raises(ValueError, match="no wheels"):
        wheel_comparison(comparison())


def test_one_wheel_is_compared_with_none():
    figure = wheel_comparison(comparison(row(0.6, 31.0)))
    assert all(ax.get_title(loc="left").endswith("; no knee") for ax in figure.axes[-2:])


def test_type_is_legible_in_every_figure(manta):
    run = _turn(manta)
    figures = (
        panel_angles(manta), wheel_torque(run, manta), joint_loads(LOADS), joint_polar(run, "left wing hinge"),
        let_go([_let_go(manta, 0.0, 3.0, 6.0)]),
        wheel_comparison(comparison(row(0.5, 24.0), row(0.6, 31.0))),
    )  # fmt: skip
    assert [_smallest(f) >= 8.0 for f in figures] == [True] * 6


@pytest.fixture(scope="module")
def film(manta, tmp_path_factory):
    return write_gif(manta, tmp_path_factory.mktemp("film") / "manta.gif", 24)


def _frames(path: Path) -> list[np.ndarray]:
    with Image.open(path) as picture:
        found = []
        for k in range(picture.n_frames):
            picture.seek(k)
            found.append(np.asarray(picture.convert("L"), dtype=float))
        return found


def _apart(a, b):
    return int(np.count_nonzero(np.abs(a - b) > 40))


def test_the_film_has_its_frames_and_loops(film):
    with Image.open(film) as picture:
        assert picture.n_frames == 24
        assert picture.info["loop"] == 0  # for ever
    assert film.stat().st_size < 1.5e6


def test_first_and_last_frame_are_one_step_apart(film):
    frames = _frames(film)
    steps = [_apart(a, b) for a, b in pairwise(frames)]
    seam = _apart(frames[-1], frames[0])
    # The seam is a step like any other: within the range of the steps inside the film, and a step indeed.
    assert min(steps) > 0
    assert min(steps) <= seam <= max(steps)
    # Half a turn away the picture is further off than one step.
    assert _apart(frames[0], frames[12]) > seam


def test_the_ground_and_the_margin_stand_still(film):
    frames = _frames(film)
    still = np.ptp(np.stack(frames), axis=0) == 0
    # Most of the picture never changes; axes that moved would touch all of it.
    assert still.mean() > 0.7
    assert still[:8].all()
    assert frames[0][0, 0] == 255


def test_crank_angles_stop_one_step_before_the_turn():
    assert crank_angles(4) == pytest.approx([0, np.pi / 2, np.pi, 3 * np.pi / 2])


def test_film_of_a_handle_and_of_unequal_sides(moth, tmp_path):
    assert len(_frames(write_gif(moth, tmp_path / "moth.gif", 6))) == 6
    closed = linkage(mechanism(load(MANTA, UNEQUAL)))
    assert len(_frames(write_gif(closed, tmp_path / "new" / "unequal.gif", 5))) == 5


def test_one_frame_is_no_film(moth, tmp_path):
    with pytest.raises(ValueError, match="ask for two or more"):
        write_gif(moth, tmp_path / "x.gif", 1)
