"""Sides against each other: what keyways say, what they do to the panels, and winding up, against runs and by hand."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from analysis import clocking, drive_line, motion
from analysis.clocking import behind, followed
from analysis.figures.clocking import clocking as figure_of
from analysis.finding import Finding
from analysis.style import SMALL
from models.loading import changed, load
from models.resolve import mechanism
from models.sculpture import Sculpture
from sim import names
from sim.builders import Linkage, linkage
from sim.scenarios import Turn
from sim.simulate import calculated

MODELS = Path(str(files("models")))
DEG = np.pi / 180
RPM = np.pi / 30
MANTA = load(MODELS / "manta.toml")
STAGES = {"stage.1.kind": "direct", "stage.2.kind": "direct"}
CLAMPED = {"crank.coupling": {"kind": "clamp", "mass": "0.6 kg", "diameter": "65 mm"}}
RIGID = changed(MANTA, {**STAGES, **CLAMPED})
KEYED = {"left": "12 deg", "right": "190 deg", "centre": ["3 deg", "186 deg"], "measured": "0.3 deg"}
"""The right side leads by 5 deg."""
UNEVEN = {**STAGES, "right.panel.outer.thickness": "5 mm", "crank.coupling.stiffness": "300 N m/rad"}
"""A right wing of more weight on couplings a third as stiff as the demo's."""


def closed(sculpture: Sculpture) -> Linkage:
    return linkage(mechanism(sculpture))


def one(found: list[Finding], what: str, where: str) -> Finding:
    (only,) = (f for f in found if f.what == what and f.where == where)
    return only


# --- What the keyways say ---


def test_the_phase_error_with_its_uncertainty() -> None:
    found = clocking.of_keyways(closed(changed(MANTA, {"keyways": KEYED})).mechanism)
    phase = one(found, clocking.PHASE, clocking.KEYS)
    assert phase.value == pytest.approx(5 * DEG)
    assert phase.note.startswith("the right side leads; within 0.6 deg")
    # Four readings of .3 deg: twice as root of the sum of squares, four times at worst.
    unsure = one(found, clocking.UNSURE, clocking.KEYS)
    assert unsure.value == pytest.approx(0.6 * DEG)
    assert unsure.note.endswith("all off the worst way 1.2 deg")
    cut = one(found, clocking.CUT, clocking.KEYS)
    assert cut.value == pytest.approx(178 * DEG)
    assert 'centre = ["3 deg", "181 deg"]' in cut.note
    assert "then both sides share their phase, within 0.424 deg" in cut.note


@pytest.mark.parametrize(
    ("second", "words"),
    [
        ("181 deg", "neither side leads"),
        ("180 deg", "the left side leads"),
        ("182 deg", "the right side leads"),
    ],
)
def test_who_leads_in_words(second: str, words: str) -> None:
    keyed = changed(MANTA, {"keyways": {**KEYED, "centre": ["3 deg", second]}})
    found = clocking.of_keyways(mechanism(keyed))
    phase = one(found, clocking.PHASE, clocking.KEYS)
    assert phase.note.startswith(words)
    assert phase.value == pytest.approx(0 if second == "181 deg" else DEG)


def test_a_shaft_to_cut_has_no_phase_error_yet() -> None:
    piece = changed(MANTA, {"keyways": {"left": "12 deg", "right": "190 deg"}, "right.key_angle": "-90 deg"})
    (cut,) = clocking.of_keyways(mechanism(piece))
    assert (cut.what, cut.value) == (clocking.CUT, pytest.approx(88 * DEG))
    assert "then the left side leads by 90 deg" in cut.note
    assert clocking.of_keyways(mechanism(MANTA)) == []


# --- What a keyway does ---


def test_the_rate_is_what_a_small_key_angle_does() -> None:
    """Against central differences of the closed loops with the key angle off by 1e-4 rad either way."""
    turn, off = motion.TURN, 1e-4
    found = clocking.clocking(closed(RIGID))
    for k in range(2):
        side = closed(RIGID).sides[k]
        more, less = (
            replace(side, side=replace(side.side, key_angle=side.side.key_angle + x)).course(turn)
            for x in (off, -off)
        )
        for j, (a, b) in enumerate(zip(more, less, strict=True)):
            np.testing.assert_allclose(
                found.rate[k, j], (a.angle.value - b.angle.value) / (2 * off), atol=1e-7
            )


def test_the_largest_rates_and_where() -> None:
    found = clocking.of_linkage(closed(RIGID))
    inner, outer = closed(RIGID).sides[0].course(motion.TURN)
    for panel, what, rate in (
        ("inner", clocking.RATE, inner.angle.first),
        ("outer", clocking.RATE, outer.angle.first),
        ("outer", clocking.RATE_INNER, outer.angle.first - inner.angle.first),
    ):
        f = one(found, what, panel)
        k = int(np.argmax(np.abs(rate)))
        assert (f.value, f.crank) == (pytest.approx(abs(rate[k])), pytest.approx(motion.TURN[k]))
    assert not any(f.what == clocking.RATE_INNER and f.where == "inner" for f in found)
    # The outer panel swings against the inner one: to it it moves more than to level.
    assert one(found, clocking.RATE_INNER, "outer").value > one(found, clocking.RATE, "outer").value > 0.5


@pytest.mark.parametrize("method", ["engine", "reduced"])
def test_the_wing_error_is_that_of_a_run(method: str) -> None:
    keyed = changed(RIGID, {"keyways": KEYED})
    run = calculated(keyed, Turn(30 * RPM), method=method)
    seen, geometry = drive_line.findings(run), motion.of_linkage(closed(keyed))
    for panel in ("inner", "outer"):
        expected = one(geometry, motion.APART, panel)
        found = one(seen, motion.APART, panel)
        # Steps of a degree of the crank, near a flat top.
        assert found.value == pytest.approx(expected.value, rel=1e-3)
        assert expected.value > 1.4 * DEG
        left, right = (run[f"panels/{side} {panel}/angle"] for side in ("left", "right"))
        crank = run[f"angles/{names.crankshaft('left')}/angle"]
        sign = np.interp(
            crank, motion.TURN, clocking.clocking(closed(keyed)).keyed[("inner", "outer").index(panel)]
        )
        np.testing.assert_allclose((left - right)[crank < 6.2], sign[crank < 6.2], atol=1e-4)


# --- Winding up ---


def test_behind_by_hand() -> None:
    """30 N m over 300 N m/rad are .1 rad, and half of 2 deg of backlash beside; the centre shaft by G J / l."""
    piece = closed(changed(MANTA, {**UNEVEN, "crank.coupling.backlash": "2 deg"}))
    side, m = piece.sides[0], piece.mechanism
    found = behind(piece, side, motion.TURN)
    k = int(np.argmin(np.abs(found.torque - 30)))
    assert found.coupling[k] == pytest.approx(found.torque[k] / 300 + DEG)
    down = int(np.argmin(found.torque))
    assert found.torque[down] < 0
    assert found.coupling[down] == pytest.approx(found.torque[down] / 300 - DEG)
    # From the chain at y = 20 mm to the left end at 190 mm and to the right one at -190 mm, of one inch of stainless.
    assert (m.stages[-1].out, side.side.crank.ends[0]) == pytest.approx((0.02, 0.19))
    turning = 200e9 / 2.6 * np.pi * 0.0254**4 / 32
    for s, length in zip(piece.sides, (0.17, 0.21), strict=True):
        assert clocking.shaft_stiffness(m, s) == pytest.approx(turning / length)
        wound = behind(piece, s, motion.TURN)
        np.testing.assert_allclose(wound.shaft, wound.torque * length / turning)
        assert wound.stiffness == pytest.approx(1 / (1 / 300 + length / turning))


def test_a_wheel_on_the_crankshafts_winds_what_reaches_to_its_couplings() -> None:
    moth = closed(load(MODELS / "moth.toml", {"wheel.out": "30 mm"}))
    (left, right), m = moth.sides, moth.mechanism
    ratio = clocking.shaft_stiffness(m, right) / clocking.shaft_stiffness(m, left)
    inner = left.side.crank.ends[0]
    assert ratio == pytest.approx((inner - 0.03) / (inner + 0.03))


STARTED = 2.0
"""Crank angle, rad, at which the slow run starts: there it is wound up and its angles are equal."""


@pytest.fixture(scope="module")
def slow() -> tuple[Linkage, dict[str, np.ndarray]]:
    """Give a turn at 1 rpm of the wheel on exact stages, after its first seconds, with the angles it recorded."""
    # Damped, since what the start sets swinging would take minutes to come to rest.
    piece = changed(MANTA, {**UNEVEN, "keyways": KEYED, "crank.coupling.damping": "10 N m s/rad"})
    run = calculated(piece, Turn(1 * RPM, start=STARTED), method="reduced")
    kept = run.time > 2.0
    found = {n: run[f"angles/{n}/angle"][kept] for n in run.names("angles")}
    found |= {f"{s} outer": run[f"panels/{s} outer/angle"][kept] for s in ("left", "right")}
    return closed(piece), found


def begun(piece: Linkage) -> list[float]:
    """Give what each coupling is wound up at the start, where a run counts drive and cranks as equal, rad."""
    return [float(behind(piece, s, np.array([STARTED])).coupling[0]) for s in piece.sides]


def test_cranks_are_behind_as_a_slow_run_records(slow: tuple[Linkage, dict[str, np.ndarray]]) -> None:
    piece, run = slow
    for side, start in zip(piece.sides, begun(piece), strict=True):
        crank = run[names.crankshaft(side.side.name)]
        wound = start + run[names.CENTRE] - crank
        expected = behind(piece, side, crank).coupling
        assert np.ptp(wound) > 6 * DEG
        # What the damping carries at this speed is all that a standing piece lacks: measured .4 % of the swing.
        np.testing.assert_allclose(wound, expected, atol=5e-3 * np.ptp(wound))


def test_the_lead_is_that_of_a_slow_run(slow: tuple[Linkage, dict[str, np.ndarray]]) -> None:
    """Both sides where the drive is; a run has no twist of the centre shaft, so that is made stiff here."""
    piece, run = slow
    stiff = thick(piece)
    crank, panel = [], []
    for side, start in zip(stiff.sides, begun(piece), strict=True):
        # Each coupling starts wound up: its end of the drive is that far ahead of the recorded angle.
        turns, drive = np.divmod(run[names.CENTRE] + start, 2 * np.pi)
        at = followed(stiff, side, drive) + turns * 2 * np.pi
        crank.append(at)
        panel.append(side.course(at)[1].angle.value)
    lead = run[names.crankshaft("right")] - run[names.crankshaft("left")]
    assert np.ptp(lead) > 2 * DEG
    np.testing.assert_allclose(lead, crank[1] - crank[0], atol=5e-3 * np.ptp(lead))
    apart = run["left outer"] - run["right outer"]
    np.testing.assert_allclose(apart, panel[0] - panel[1], atol=5e-3 * np.ptp(apart))


def thick(piece: Linkage) -> Linkage:
    """Give a piece whose centre shaft does not twist."""
    m = piece.mechanism
    stages = tuple(replace(s, shaft=replace(s.shaft, diameter=1.0)) for s in m.stages)
    return replace(piece, mechanism=replace(m, stages=stages))


def test_the_course_of_the_sides_is_where_each_stands() -> None:
    piece = closed(changed(MANTA, {**UNEVEN, "keyways": KEYED}))
    found, (left, right) = clocking.clocking(piece), piece.sides
    at = [followed(piece, s, motion.TURN) for s in (left, right)]
    np.testing.assert_array_equal(found.lead, at[1] - at[0])
    for j, (a, b) in enumerate(zip(left.course(at[0]), right.course(at[1]), strict=True)):
        np.testing.assert_array_equal(found.wound[j], a.angle.value - b.angle.value)
    # Winding up is worth telling here: its part is not small beside that of 5 deg of keyway.
    assert np.abs(found.wound - found.keyed).max() > 0.3 * np.abs(found.keyed).max()


def test_the_heavier_side_is_behind_while_it_is_lifted() -> None:
    """The right wing weighs more: where both are lifted the left one leads, where both fall the right one."""
    found = clocking.clocking(closed(changed(MANTA, UNEVEN)))
    left, right = (b.torque for b in found.behind)
    up, down = int(np.argmax(right - left)), int(np.argmin(right - left))
    assert left[up] > 0 > left[down]
    assert found.lead[up] < 0 < found.lead[down]
    said = one(clocking.of_linkage(closed(changed(MANTA, UNEVEN))), clocking.BEHIND, clocking.COUPLINGS)
    assert said.value == pytest.approx(np.abs(found.lead).max())
    assert said.note.startswith(clocking.leads(float(found.lead[np.argmax(np.abs(found.lead))])))


def test_a_coupling_half_as_stiff_parts_the_sides_twice_as_far() -> None:
    """In the limit of stiff ones, where what winds up does not change the load."""
    stiff = [{**UNEVEN, "crank.coupling.stiffness": f"{k} kN m/rad"} for k in (100, 50)]
    once, twice = (np.abs(clocking.clocking(thick(closed(changed(MANTA, c)))).lead).max() for c in stiff)
    assert twice / once == pytest.approx(2, rel=2e-3)


def test_under_load_a_key_angle_does_what_the_rate_says() -> None:
    """Against central differences of where the crank stands: .01 deg of key angle on either side."""
    piece = closed(changed(MANTA, {**UNEVEN, "crank.coupling.stiffness": "100 N m/rad"}))
    found = clocking.clocking(piece)
    side, off, course = piece.sides[0], 0.01 * DEG, []
    for e in (off, -off):
        keyed = replace(side, side=replace(side.side, key_angle=e))
        course.append(keyed.course(followed(piece, keyed, motion.TURN))[1].angle.value)
    rate = (course[0] - course[1]) / (2 * off)
    # What is found is said at the crank's own angle, the differences at the drive's.
    at = followed(piece, side, motion.TURN)
    own = np.interp(at, np.append(motion.TURN, 2 * np.pi), np.append(found.loaded[0, 1], found.loaded[0, 1, 0]),
                    period=2 * np.pi)  # fmt: skip
    np.testing.assert_allclose(rate, own, atol=2e-3)
    assert np.abs(found.loaded[0, 1] - found.rate[0, 1]).max() > 0.1


def test_a_crank_goes_on_at_once_where_it_cannot_stand() -> None:
    """Through 2 deg of backlash as the wing begins to fall, and back through it while the crank waits."""
    piece = closed(changed(MANTA, {**STAGES, "crank.coupling.backlash": "2 deg"}))
    side = piece.sides[0]
    turn = np.linspace(0, 2 * np.pi, 7201)
    at = followed(piece, side, turn)
    assert np.all(np.diff(at) >= -1e-12)
    jumps = np.diff(at) > 1.5 * DEG
    # Found on a grid of a quarter of a degree, which the crank goes while the drive goes 2 deg more.
    stands = np.diff(at) < 0.3 * np.diff(turn)
    assert jumps.sum() == 1
    assert stands.sum() * 0.05 == pytest.approx(2.25, abs=0.1)
    torque = behind(piece, side, at).torque
    k = int(np.flatnonzero(jumps)[0])
    assert torque[k - 1] > 0 > torque[k + 2]
    away = np.ones(len(at), dtype=bool)
    away[np.flatnonzero(jumps | stands)[:, None] + np.arange(-10, 11)] = False
    np.testing.assert_allclose((at + behind(piece, side, at).angle)[away], turn[away], atol=1e-5)


def test_a_coupling_too_soft_lets_the_crank_jump_and_says_so() -> None:
    piece = closed(changed(MANTA, {**STAGES, "crank.coupling.stiffness": "15 N m/rad"}))
    found = clocking.clocking(piece)
    assert np.isnan(found.loaded).any()
    assert np.isfinite(found.wound).all()
    said = one(clocking.of_linkage(piece), clocking.RATE, "outer")
    assert np.isfinite(said.value)
    assert said.note.endswith("the crank jumps at some angles")


# --- Both together ---


def test_mirrored_sides_under_the_same_load_move_as_one() -> None:
    """With the last chain in the middle of the centre shaft."""
    even = changed(MANTA, {"stage.2.out": "0 mm"})
    found = clocking.of_linkage(closed(even))
    for what in (clocking.UNDER_LOAD, clocking.FROM_LOAD):
        assert [f.value for f in found if f.what == what] == pytest.approx([0, 0], abs=1e-12)
    assert "neither side leads" in one(found, clocking.BEHIND, clocking.COUPLINGS).note
    assert {f.note.split(";")[0] for f in found if f.what == clocking.UNDER_LOAD} == {"they move as one"}


def test_no_finding_twice() -> None:
    piece = closed(changed(MANTA, {"keyways": KEYED}))
    found = [*motion.of_linkage(piece), *clocking.of_linkage(piece)]
    assert len({(f.what, f.where) for f in found}) == len(found)


def test_one_side_has_no_phase() -> None:
    alone = closed(changed(MANTA, {"sides": 1}))
    assert clocking.of_linkage(alone) == []
    with pytest.raises(ValueError, match="one side"):
        clocking.clocking(alone)
    with pytest.raises(ValueError, match="one side"):
        figure_of(alone)


# --- The figure ---


@pytest.mark.parametrize("changes", [{"keyways": KEYED}, {}], ids=["keyed", "mirrored"])
def test_the_figure_draws_what_was_found(changes: dict[str, object]) -> None:
    piece = closed(changed(MANTA, changes))
    found, figure = clocking.clocking(piece), figure_of(piece)
    upper, lower = figure.axes
    drawn = {line.get_label(): line.get_ydata() for line in upper.lines}
    np.testing.assert_allclose(drawn["outer, under load"][:-1], found.loaded[0, 1])
    np.testing.assert_allclose(drawn["outer to inner"][:-1], found.rate[0, 1] - found.rate[0, 0])
    below = {line.get_label(): line.get_ydata() for line in lower.lines}
    np.testing.assert_allclose(below["inner, under load"][:-1], np.degrees(found.wound[0]))
    np.testing.assert_allclose(below["outer, nothing wound up"][:-1], np.degrees(found.keyed[1]))
    assert lower.get_ylim()[1] >= 0.1
    said = [t.get_text() for t in figure.texts]
    assert ("the right side leads" in said) == bool(changes)
    figure.canvas.draw()
    for text in (*figure.texts, *upper.get_legend().get_texts(), upper.title, lower.yaxis.label):
        assert text.get_fontsize() >= SMALL
        box = text.get_window_extent()
        assert box.x0 >= 0
        assert box.x1 <= figure.bbox.width, text.get_text()
