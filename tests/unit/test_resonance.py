"""What can resonate: how meetings are judged and told, and the figures of them."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from examples import MANTA, MOTH

from analysis import resonance
from analysis.excitation import CRANK, GUST_MOST, GUSTS, WHEEL, Excitation, beats, excitations, tooth
from analysis.figures.modes import mode_shapes, speeds_and_frequencies
from analysis.finding import Finding
from analysis.natural import Natural, hertz, naturals
from analysis.resonance import FREQUENCY, MET, PASSED, SEPARATION, Range, meeting, meetings, working_range
from models.cases import cases
from models.loading import load, loads
from models.resolve import mechanism
from sim.builders import Linkage, linkage
from sim.closed_form import moving_parts, reduced_inertia
from sim.whole import holding_torque

HZ = 2 * np.pi
RPM = np.pi / 30
SPEEDS = Range(10 * RPM, 100 * RPM, 150 * RPM)


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return linkage(mechanism(load(MANTA)))


@pytest.fixture(scope="module")
def moth() -> Linkage:
    return linkage(mechanism(loads(MOTH)))


def swings(least: float, greatest: float | None = None, kind: str = "torsion") -> Natural:
    top = least if greatest is None else greatest
    return Natural("thing", kind, least, (least + top) / 2, top, ("comes round",), "made by hand", "")


def comes(order: float) -> Excitation:
    return Excitation("comes round", order)


# Where they meet


def test_a_meeting_in_use_beside_it_and_beyond() -> None:
    """13 times a turn of the wheel, 10 to 100 rpm in use and 150 after letting go."""
    inside = meeting(swings(13 * 60 * RPM), comes(13), SPEEDS)
    assert (inside.where, inside.separation) == ("in use", 0.0)
    assert inside.first == pytest.approx(60 * RPM)
    faster = meeting(swings(13 * 120 * RPM), comes(13), SPEEDS)
    assert faster.where == "running down"
    assert faster.separation == pytest.approx(0.2)
    never = meeting(swings(13 * 200 * RPM), comes(13), SPEEDS)
    assert never.where == "not reached"
    assert never.separation == pytest.approx(1.0)
    slower = meeting(swings(13 * 8 * RPM), comes(13), SPEEDS)
    assert slower.where == "not reached"
    assert slower.separation == pytest.approx(0.2)


def test_a_range_meets_where_any_of_it_does() -> None:
    swept = swings(13 * 90 * RPM, 13 * 300 * RPM)
    found = meeting(swept, comes(13), SPEEDS)
    assert (found.where, found.separation) == ("in use", 0.0)
    assert found.last == pytest.approx(300 * RPM)
    assert swept.swept
    assert not swings(100.0, 115.0).swept
    assert not swings(100.0, 300.0, "lateral").swept


def test_gusts_come_at_any_speed() -> None:
    slow, fast = (meeting(swings(f * HZ), Excitation(GUSTS, 0.0), SPEEDS) for f in (0.8, 1.5))
    assert (slow.where, slow.separation) == ("in use", 0.0)
    assert fast.where == "not reached"
    assert fast.separation == pytest.approx(0.5)


def test_the_working_range_is_that_of_turning_and_cranking(manta: Linkage) -> None:
    named = cases(load(MANTA))
    found = working_range(manta, named, fastest=16.0)
    assert found.slowest == pytest.approx(10 * RPM)  # the slow turn
    assert found.quickest == pytest.approx(4.0 / 0.38)  # 4 m/s at the rim
    assert found.fastest == 16.0
    assert working_range(manta, named).fastest == found.quickest
    with pytest.raises(ValueError, match="no load case in which the wheel is turned"):
        working_range(manta, {n: c for n, c in named.items() if c.kind == "let-go"})


# What excites


def test_orders_of_what_excites_the_demo(manta: Linkage) -> None:
    found = {e.name: e.order for e in excitations(manta, 5.0)}
    first, crank = 13 / 38, 13 / 38 * 15 / 40
    assert found[WHEEL] == 1.0
    assert found[tooth(1)] == 13.0
    assert found[tooth(2)] == pytest.approx(15 * first)
    for n, name in enumerate(CRANK, 1):
        assert found[name] == pytest.approx(n * crank)


def test_a_handle_on_the_crankshaft_turns_once_a_turn(moth: Linkage) -> None:
    found = {e.name: e.order for e in excitations(moth, 5.0)}
    assert WHEEL not in found  # it is the crank's
    assert found[CRANK[0]] == 1.0
    assert not [n for n in found if n.startswith("tooth")]


def test_the_harmonics_of_the_wings_torque(moth: Linkage) -> None:
    """The three of them by sums with sine and cosine, the slope of the inertia by differences."""
    m = moth.mechanism
    turn = np.linspace(0, 2 * np.pi, 3600, endpoint=False)
    inertia = np.sum([reduced_inertia(moving_parts(s, turn)) for s in moth.sides], axis=0)
    slope = (np.roll(inertia, -1) - np.roll(inertia, 1)) / (turn[2] - turn[0])
    speed = 12.0
    torque = holding_torque(moth, turn) * m.reduction + slope * (speed / m.reduction) ** 2 / 2
    by_hand = [2 * abs(np.mean(torque * np.exp(-1j * n * turn))) for n in (1, 2, 3)]
    np.testing.assert_allclose(beats(moth, speed), by_hand, rtol=1e-4)
    assert beats(moth, 30.0)[1] > 1.5 * beats(moth, 0.0)[1]  # the inertia's own, with the square of the speed


# Findings


def told(closed: Linkage, speeds: Range = SPEEDS) -> list[Finding]:
    return resonance.of_linkage(closed, speeds)


def test_findings_have_units_and_can_be_said(manta: Linkage, moth: Linkage) -> None:
    units = {FREQUENCY: "rad/s", SEPARATION: "1", MET: "rad/s", PASSED: "rad/s"}
    for closed in (manta, moth):
        found = told(closed)
        for f in found:
            start = next(s for s in units if f.what.startswith(s))
            assert f.table()["unit"] == units[start], f.what
            assert np.isfinite(f.value)
            assert f.source
            assert f.line()
        assert {f.where for f in found} == {n.name for n in naturals(closed)}


def test_a_sharp_frequency_is_limited_and_a_swept_one_told(manta: Linkage) -> None:
    by_name = {n.name: n for n in naturals(manta)}
    for f in told(manta):
        if f.what.startswith(SEPARATION):
            assert (f.limit is None) == by_name[f.where].swept
        elif f.what.startswith((MET, PASSED)):
            assert f.limit is None
    swept = by_name["drive line, mode 1"]
    assert swept.swept
    met = [f for f in told(manta) if f.where == swept.name and f.what.startswith(MET)]
    assert {f.what.removeprefix(MET) for f in met} == {tooth(1), tooth(2)}
    first = next(f for f in met if f.what.endswith(tooth(1)))
    assert first.value == pytest.approx(swept.least / 13)
    assert "no speed stays with it" in first.note


def test_the_overhung_wheel_meets_the_teeth_of_its_sprocket(manta: Linkage) -> None:
    """At 15.2 Hz, 13 teeth a turn: 70 rpm, which a vigorous adult's wish of 100 rpm reaches and 50 does not."""
    at = next(n for n in naturals(manta) if n.name == "wheel shaft, sideways").mean / 13
    for quickest, beyond in ((1.05 * at, True), (0.95 * at, True), (0.8 * at, False)):
        found = told(manta, Range(10 * RPM, quickest, quickest))
        (f,) = (x for x in found if x.where == "wheel shaft, sideways" and x.what.startswith(SEPARATION))
        assert f.what == SEPARATION + tooth(1)
        assert f.beyond is beyond
        assert f.value == pytest.approx(max(0.0, at / quickest - 1))


def test_what_is_passed_running_down_is_told_without_a_limit(manta: Linkage) -> None:
    at = next(n for n in naturals(manta) if n.name == "wheel shaft, sideways").mean / 13
    found = told(manta, Range(10 * RPM, 0.7 * at, 1.1 * at))
    (f,) = (x for x in found if x.where == "wheel shaft, sideways" and x.what == PASSED + tooth(1))
    assert f.value == pytest.approx(at)
    assert f.limit is None
    assert not [
        x for x in told(manta, Range(10 * RPM, 0.7 * at, 0.9 * at)) if x.what == f.what and x.where == f.where
    ]


def test_a_thin_post_feels_gusts() -> None:
    stout, thin = (
        linkage(mechanism(load(MANTA, {"post.outside": d, "post.wall": w})))
        for d, w in (("219.1 mm", "6.3 mm"), ("60 mm", "1.5 mm"))
    )
    limits = [next(f for f in told(c) if f.where == "post" and f.what == FREQUENCY) for c in (stout, thin)]
    assert [f.beyond for f in limits] == [False, True]
    assert limits[0].limit is not None
    assert limits[0].limit.value == pytest.approx(GUST_MOST)


def test_strands_take_the_runs_tensions(manta: Linkage) -> None:
    usual, given = (
        next(n for n in naturals(manta, t) if n.name == "strands of the stage 1 chain")
        for t in (None, {1: (50.0, 400.0)})
    )
    assert given.greatest / given.least == pytest.approx(np.sqrt(8))
    assert given.least > usual.least


def test_frequencies_in_words() -> None:
    assert hertz(5.62 * HZ) == "5.62"
    assert hertz(1912.4 * HZ) == "1912"
    assert swings(2 * HZ).hertz == "2 Hz"
    assert swings(2 * HZ, 4 * HZ).hertz == "3 Hz, 2 to 4"


# Figures


def words(figure) -> list:
    figure.canvas.draw()
    found = [*figure.texts]
    for ax in figure.axes:
        found += [*ax.texts, ax.title, ax._left_title, ax.xaxis.label, ax.yaxis.label]
        if (
            ax.axison and ax.get_xscale() == "linear"
        ):  # logarithmic axes have labels beyond their ends as well
            found += [*ax.get_xticklabels(), *ax.get_yticklabels()]
        if ax.get_legend():
            found += ax.get_legend().get_texts()
    return [t for t in found if t.get_text().strip()]


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_all_texts_lie_on_the_sheet(name: str, request: pytest.FixtureRequest) -> None:
    closed = request.getfixturevalue(name)
    for figure in (mode_shapes(closed), speeds_and_frequencies(closed, SPEEDS)):
        wide, tall = figure.canvas.get_width_height()
        for text in words(figure):
            box = text.get_window_extent()
            assert box.x0 >= 0, text.get_text()
            assert box.y0 >= 0, text.get_text()
            assert box.x1 <= wide, text.get_text()
            assert box.y1 <= tall, text.get_text()
            assert text.get_fontsize() >= 8


def test_names_beside_the_axes_do_not_touch(manta: Linkage) -> None:
    figure = speeds_and_frequencies(manta, SPEEDS)
    figure.canvas.draw()
    boxes = sorted((t.get_window_extent() for t in figure.axes[-1].texts), key=lambda b: b.y0)
    assert len(boxes) > 8
    assert all(b.y0 >= a.y1 - 1 for a, b in pairwise(boxes))


def test_the_figure_shows_what_the_meetings_say(manta: Linkage) -> None:
    """Its dots are the means met in use; its lines have the frequencies."""
    figure = speeds_and_frequencies(manta, SPEEDS)
    (dots,) = (line for line in figure.axes[0].lines if line.get_label() == "met in use")
    expected = sorted(
        m.natural.mean / m.excitation.order / RPM
        for m in meetings(manta, SPEEDS)
        if m.excitation.order > 0 and SPEEDS.slowest <= m.natural.mean / m.excitation.order <= SPEEDS.quickest
    )
    np.testing.assert_allclose(np.sort(dots.get_xdata()), expected, rtol=1e-9)


def test_mode_shapes_are_those_of_the_line(manta: Linkage) -> None:
    figure = mode_shapes(manta)
    assert len(figure.axes) == 4
    for ax in figure.axes:
        left, right = (np.asarray(line.get_ydata()) for line in ax.lines[:2])
        assert max(np.abs(left).max(), np.abs(right).max()) == pytest.approx(1.0)
        np.testing.assert_allclose(left[:5], right[:5])  # one way as far as the last sprocket


def test_a_piece_on_one_side_has_one_line(moth: Linkage) -> None:
    figure = mode_shapes(moth)
    assert [len(ax.lines) for ax in figure.axes] == [2]  # the shape, and zero
    assert replace(SPEEDS, fastest=SPEEDS.quickest).fastest == SPEEDS.quickest
    assert "fastest after letting go" not in {
        line.get_label()
        for line in speeds_and_frequencies(moth, replace(SPEEDS, fastest=SPEEDS.quickest)).axes[0].lines
    }
