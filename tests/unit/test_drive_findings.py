"""What is found of the drive and at the wheel: from made-up courses whose answer is plain, and from short runs."""

from collections.abc import Mapping
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from analysis import bearing_loads, clocking, drive_line, handle, motion
from analysis.finding import Finding
from analysis.of_run import of_run
from models.loading import changed, load
from models.mechanism import Mechanism
from models.people import people
from models.resolve import mechanism
from models.sculpture import Sculpture
from sim import names
from sim.builders import linkage
from sim.identity import canonical
from sim.impact import impact, take_ups
from sim.run import Channel, Run, extrema
from sim.scenarios import (
    Blocked,
    Broken,
    Grab,
    Gust,
    GustLocked,
    HangFree,
    HangHeld,
    HoldOn,
    Jam,
    Lifted,
    Scenario,
    Stop,
    Turn,
)
from sim.simulate import simulate
from sim.statics import statics

MODELS = Path(str(files("models")))
RPM = np.pi / 30
MANTA = load(MODELS / "manta.toml")
IDEAL = changed(
    MANTA,
    {
        "stage.1.kind": "direct",
        "stage.2.kind": "direct",
        "crank.coupling": {"kind": "clamp", "mass": "0.6 kg", "diameter": "65 mm"},
    },
)
PIECE = mechanism(MANTA)
RADIUS = PIECE.wheel.radius


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("runs")


def made(
    case: str,
    channels: Mapping[str, np.ndarray],
    piece: Mechanism = PIECE,
    scenario: Mapping[str, object] | None = None,
    time: np.ndarray | None = None,
    rested: bool = False,
) -> Run:
    """Make a run of a second, or of given times, in which the crank turns once, from plain courses (n,)."""
    n = len(next(iter(channels.values())))
    when = np.linspace(0.0, 1.0, n) if time is None else time
    crank = 2 * np.pi * when / when[-1]
    plain = {f"angles/{names.crankshaft('left')}/angle": crank, **channels}
    found = {name: Channel(values, "", name) for name, values in plain.items()}
    return Run("0" * 12, piece.name, case, "made up", scenario or {}, {}, {}, canonical(piece), "", "finished",
               "", rested, when, found, extrema(found, when, crank), ())  # fmt: skip


def turning(**channels: np.ndarray) -> dict[str, np.ndarray]:
    """Give courses with the wheel's speed, which says that something moves, and torques by name."""
    n = len(next(iter(channels.values())))
    named = {f"torques/{name.replace('_', ' ')}/torque": values for name, values in channels.items()}
    return {handle.SPEED: np.ones(n), handle.ANGLE: np.linspace(0, 1, n), **named}


def one(found: list[Finding], what: str, where: str | None = None) -> Finding:
    (f,) = [f for f in found if f.what == what and where in (None, f.where)]
    return f


# --- Couplings ---


def coupled(torque: np.ndarray, sculpture: Sculpture = MANTA) -> list[Finding]:
    piece = mechanism(sculpture)
    courses = turning(left_coupling=torque, right_coupling=torque)
    sides = {
        f"panels/{s} {p}/angle": np.zeros(len(torque)) for s in ("left", "right") for p in ("inner", "outer")
    }
    return drive_line.findings(made("turn", {**courses, **sides}, piece))


def test_a_coupling_is_judged_by_its_peak_and_its_reversing_peak() -> None:
    turn = np.linspace(0, 2 * np.pi, 361)
    found = coupled(5 + 30 * np.sin(turn))
    peak = one(found, "peak torque", "left coupling")
    back = one(found, "peak reversing torque", "left coupling")
    insert = one(found, "peak reversing torque against the insert's rating", "left coupling")
    assert (peak.value, back.value, insert.value) == pytest.approx((35, 25, 25))
    assert (peak.crank_degrees, back.crank_degrees) == (90, 270)
    # 90 N m rated over a service factor of 5 (read from the description and its default).
    assert peak.limit is not None
    assert insert.limit is not None
    assert (peak.limit.value, insert.limit.value) == pytest.approx((24, 120))  # 120 N m over 5
    assert "no source" in insert.limit.source
    assert peak.beyond
    assert back.beyond
    assert not insert.beyond


def test_a_coupling_driven_one_way_never_reverses() -> None:
    found = coupled(-5 - np.sin(np.linspace(0, 6.28, 100)) ** 2)
    peak = one(found, "peak torque", "right coupling")
    back = one(found, "peak reversing torque", "right coupling")
    assert peak.value == pytest.approx(6, abs=1e-3)  # the grid misses the top of the square by up to .03 rad
    assert peak.note == "holds the crank back"
    assert (back.value, back.crank, back.note) == (0, None, "it never reverses")


def test_without_a_rating_there_is_no_limit() -> None:
    found = coupled(np.array([1.0, -2.0]), IDEAL)
    assert {f.what for f in found if f.where == "left coupling"} == {"peak torque", "peak reversing torque"}
    assert all(f.limit is None for f in found)


def test_a_coupling_carries_what_its_side_needs(folder: Path) -> None:
    """Slowly turned forward: the weights' torque and the joints' friction, both ways."""
    closed = linkage(mechanism(IDEAL))
    m = closed.mechanism
    still = statics(closed.sides[0], np.linspace(0, 2 * np.pi, 3601), m.gravity, m.friction)
    torque = still.torque + still.friction
    found = drive_line.findings(simulate(IDEAL, Turn(10 * RPM), runs=folder, check=False))
    # Inertia is below 1e-4 at 10 rpm; the static excess of friction has fallen to 1.4 % of .7 N m.
    assert one(found, "peak torque", "left coupling").value == pytest.approx(torque.max(), rel=1e-3)
    assert one(found, "peak reversing torque", "left coupling").value == pytest.approx(
        -torque.min(), rel=1e-3
    )
    assert one(found, "peak torque", "left coupling").note == "drives the crank forward"


# --- Hubs and limiter ---


def test_hubs_carry_the_torque_of_their_stage() -> None:
    slips = changed(MANTA, {"wheel.slip": "5 N m", "stage.1.slips": ["8 N m", "40 N m"],
                            "stage.2.slips": {"driven": "50 N m"}})  # fmt: skip
    courses = turning(stage_1_chain=np.array([0.0, 19.0, -38.0]), stage_2_chain=np.array([10.0, 40.0, 20.0]))
    run = made("hang", courses, mechanism(slips))
    hubs = {f.where: f for f in drive_line._hubs(run, mechanism(slips))}
    # By hand: 13 of 38 teeth, so 38 N m on the driven side are 13 N m on the driver's.
    assert {name: f.value for name, f in hubs.items()} == pytest.approx(
        {"wheel hub": 13, "stage 1 driver hub": 13, "stage 1 driven hub": 38, "stage 2 driven hub": 40}
    )
    assert {name for name, f in hubs.items() if f.beyond} == {"wheel hub", "stage 1 driver hub"}
    assert hubs["wheel hub"].crank_degrees == 0  # the third of three entries, a whole turn on
    assert drive_line._hubs(run, PIECE) == []


def test_a_wheel_on_the_crankshafts_drives_both_couplings() -> None:
    moth = mechanism(load(MODELS / "moth.toml", {"wheel.slip": "10 N m"}))
    run = made("turn", turning(left_coupling=np.array([1.0, 4.0]), right_coupling=np.array([2.0, 7.0])), moth)
    (hub,) = drive_line._hubs(run, moth)
    assert (hub.where, hub.value, hub.beyond) == ("wheel hub", 11.0, True)


def test_what_a_limiter_slips_is_what_does_not_spring_back() -> None:
    limited = mechanism(changed(MANTA, {"limiter": {"at": "stage 1", "torque": "30 N m"}}))
    # Two turns of a thousandth of its give up to the slip torque; then half a radian at that torque.
    give = drive_line.LIMITER_GIVE
    torque, apart = np.array([0.0, 15, 30, 30, -30]), np.array([0.0, give / 2, give, give + 0.5, 0.5 - give])
    courses = turning(torque_limiter=torque)
    courses |= {"angles/stage 1 driven sprocket/angle": apart + 1, "angles/stage 1 shaft/angle": np.ones(5)}
    run = made("turn", courses, limited)
    np.testing.assert_allclose(drive_line.slipped(run, limited), [0, 0, 0, 0.5, 0.5], atol=1e-12)
    found = drive_line._limiter(run, limited)
    assert one(found, "largest torque through it over its slip torque").value == 1
    slipped = one(found, "largest angle by which it has slipped")
    assert slipped.value == pytest.approx(0.5)
    assert slipped.beyond
    # What happens in a jam is what it is there for.
    jammed = drive_line._limiter(replace(run, case="jam"), limited)
    assert one(jammed, "largest angle by which it has slipped").limit is None


def test_a_limiter_too_weak_for_the_wings_slips(folder: Path) -> None:
    """3 N m at the wheel where 5.6 are needed: the wheel goes round, the wings do not."""
    weak = changed(IDEAL, {"limiter": {"at": "wheel", "torque": "3 N m"}})
    run = simulate(weak, Turn(60 * RPM), runs=folder, check=False)
    found = drive_line.findings(run)
    # What sticks has damping too, so the torque may pass the limit by a little as it begins to slip.
    ratio = one(found, "largest torque through it over its slip torque")
    assert ratio.value == pytest.approx(1, abs=0.05)
    assert ratio.note == "it slips"
    lost = run["angles/wheel/angle"] - run["angles/wheel shaft/angle"]
    slipped = one(found, "largest angle by which it has slipped")
    assert slipped.value == pytest.approx(np.abs(lost).max(), abs=2 * drive_line.LIMITER_GIVE)
    assert slipped.value > 2 * np.pi


# --- Chains that fall slack ---


def test_a_take_up_lasts_until_the_strand_is_slack_or_a_while_has_passed() -> None:
    time = np.arange(8) / 10
    tension = np.array([0.0, 3, 5, 0, 0, 2, 9, 20])
    short = take_ups(time, tension, 0.15)
    assert [(t.start, t.peak, t.pull) for t in short] == [(1, 2, 5), (5, 6, 9)]
    assert [t.pull for t in take_ups(time, tension, 5.0)] == [5, 20]
    # A strand that has always been taut was not taken up.
    assert take_ups(time, tension + 1) == []


def test_a_reversal_passes_the_threshold_the_other_way() -> None:
    net = np.array([5.0, 0.1, -0.1, 5, -5, 0, -5, 5])
    assert drive_line.reversals(net, 1.0).tolist() == [4, 7]
    assert drive_line.reversals(net, 0.0).tolist() == [2, 3, 4, 7]
    assert len(drive_line.reversals(np.zeros(5), 0.0)) == 0


def test_slack_events_of_a_chain() -> None:
    """A torque that swings with slack between: two reversals a turn, each strand taken up once."""
    turn = np.linspace(0, 2 * np.pi, 3601)
    swing = 100 * np.cos(turn)
    a, b = np.maximum(swing - 50, 0), np.maximum(-swing - 50, 0)
    courses = {"chains/stage 2 chain/tension a": a, "chains/stage 2 chain/tension b": b}
    for s, tension in (("a", a), ("b", b)):
        courses[f"chains/stage 2 chain/impact {s}"] = impact(10 * turn, tension)
    found = drive_line._slack(
        made("turn", {**courses, **turning(hand=turn)}, time=10 * turn), "stage 2 chain"
    )
    often = one(found, "reversals of its torque per turn of the crank")
    assert often.value == pytest.approx(2)
    # Both are loose from 60 to 120 and from 240 to 300 deg: a third of the turn.
    assert "both strands loose for 33.3 % of the time" in often.note
    taken = one(found, "largest pull just after a slack strand is taken up")
    # A tenth of a second is a hundredth of a radian of this turn: 100 sin(60 deg) times it.
    assert taken.value == pytest.approx(100 * np.sin(np.pi / 3) * 0.01, rel=0.2)
    assert taken.note.startswith("strand ")
    assert "not checked with finer steps" in taken.note


# --- Keyways ---


def test_the_right_side_keyed_off_shows_in_run_and_closed_form(folder: Path) -> None:
    keyed = changed(IDEAL, {"right.key_angle": "5 deg"})
    piece = linkage(mechanism(keyed))
    geometry = [*motion.of_linkage(piece), *clocking.of_linkage(piece)]
    run = drive_line.findings(simulate(keyed, Turn(30 * RPM), runs=folder, check=False))
    for panel in ("inner", "outer"):
        closed, seen = (one(found, motion.APART, panel) for found in (geometry, run))
        # Steps of a degree of the crank, near a flat top: far below a thousandth.
        assert seen.value == pytest.approx(closed.value, rel=1e-3)
        rate = one(geometry, clocking.RATE, panel)
        # Nearly five degrees for each per degree; the linkage's curvature makes a few per cent.
        assert closed.value == pytest.approx(np.radians(5) * rate.value, rel=0.05)


def test_sides_that_mirror_are_together() -> None:
    assert not [f for f in motion.of_linkage(linkage(PIECE)) if f.what == motion.APART]
    keyed = clocking.clocking(linkage(PIECE)).keyed
    np.testing.assert_allclose(keyed, 0, atol=1e-12)
    assert clocking.of_linkage(replace(linkage(PIECE), sides=linkage(PIECE).sides[:1])) == []


# --- At the wheel ---


def test_stopping_takes_the_largest_force_against_the_motion() -> None:
    time = np.linspace(0, 2, 2001)
    speed = np.where(time < 1, -4 * (1 - time), 0.0)
    angle = np.where(time < 1, -4 * time + 2 * time**2, -2.0)
    torque = np.where(time <= 1, 30 * RADIUS * np.sin(np.pi * time), -7 * RADIUS)
    courses = {handle.SPEED: speed, handle.ANGLE: angle, handle.TORQUE: torque, handle.KINETIC: speed**2}
    run = made("stop", courses, scenario={"speed": -4.0, "within": 1.0}, time=time)
    found = handle.findings(run)
    force = one(found, "largest force of the hand that stops the wheel")
    assert (force.value, force.time) == pytest.approx((30, 0.5))
    assert f"youngest whose grip is enough: {people()['child3'].label}" in force.note
    assert one(found, "angle of the wheel until it stands").value == pytest.approx(2)
    assert one(found, "time in which the wheel is stopped").value == 1
    assert one(found, "largest force that then holds it").value == pytest.approx(7)


def test_a_grab_is_timed_from_the_hand_on_the_rim() -> None:
    time = np.linspace(0, 3, 3001)
    speed = np.clip(6 - 4 * np.maximum(time - 1, 0), 0, None)
    angle = np.cumsum(speed) * 1e-3
    torque = np.where((time > 1) & (speed > 0), -50 * RADIUS, 0.0)
    courses = {handle.SPEED: speed, handle.ANGLE: angle, handle.TORQUE: torque, handle.KINETIC: speed**2}
    scenario = {"person": "man", "speed": 6.0, "release": 0.0, "after": 1.0}
    found = handle.findings(made("grab", courses, scenario=scenario, time=time))
    # By hand: 6 rad/s at -4 rad/s2 take 1.5 s and 4.5 rad; the wheel counts as stopped at .01 rad/s, 2.5 ms before.
    assert one(found, "time from the grab until the wheel stands").value == pytest.approx(1.5, abs=4e-3)
    assert one(found, "angle of the wheel from the grab until it stands").value == pytest.approx(
        4.5, abs=0.01
    )
    assert one(found, "largest force on the hand").value == pytest.approx(50)
    held = {**courses, handle.SPEED: np.full(3001, 6.0)}
    still = handle.findings(made("grab", held, scenario=scenario, time=time))
    assert one(still, "still turning after the grab").value == pytest.approx(2)


def test_a_hand_that_slips_off_saw_no_more_than_until_then() -> None:
    speed = np.array([1.0, 2, 4, 6, 8, 5])
    torque = np.array([-1.0, -2, -4, -6, 0, 0]) * RADIUS
    courses = {handle.SPEED: speed, handle.ANGLE: np.cumsum(speed), handle.TORQUE: torque,
               handle.KINETIC: speed**2}  # fmt: skip
    scenario = {"person": "child6", "speed": 1.0, "release": 0.0}
    found = handle.findings(made("hold-on", courses, scenario=scenario))
    peak = one(found, "peak rim or grip speed with the hand on it")
    # The torque of a step follows the speed at its beginning: at 6 rad/s, where the fifth begins, the hand goes.
    assert peak.value == pytest.approx(6 * RADIUS)
    assert "slips off after 0.6 s" in peak.note
    assert one(found, "largest force on the hand").value == pytest.approx(6)
    assert one(found, "peak wheel speed after the push ends").value == 8
    stays = handle.findings(made("hold-on", {**courses, handle.TORQUE: -speed}, scenario=scenario))
    assert "stays on to the end" in one(stays, "peak rim or grip speed with the hand on it").note


@pytest.mark.parametrize(("rim", "beyond"), [(3.9, []), (4.0, ["13 ft/s"]), (5.1, ["13 ft/s", "5 m/s"])])
def test_rim_speeds_are_held_against_rotating_play_equipment(rim: float, beyond: list[str]) -> None:
    """13 ft/s are 3.96 m/s (CPSC and ASTM, read in part); 5 m/s EN 1176-5 (read second hand)."""
    speed = np.array([1.0, -rim / RADIUS, 0.5])
    courses = {handle.SPEED: speed, handle.ANGLE: np.cumsum(speed), handle.KINETIC: speed**2}
    found = handle.findings(made("let-go", courses, scenario={"speed": 1.0, "release": 0.0}, rested=True))
    judged = [f for f in found if f.limit is not None]
    assert [f.what.split("against ")[1] for f in judged if f.beyond] == beyond
    assert all(
        "rotating play equipment; whether it applies is for the local authority" in f.note for f in judged
    )
    energy = one(found, "largest kinetic energy")
    assert energy.limit is None
    assert "1.69 J" in energy.note
    assert one(found, "time to rest").note == "nominal friction"


def test_a_case_without_words_of_its_own_counts_as_free_motion() -> None:
    speed = np.array([0.0, 1.0, 2.0])
    courses = {handle.SPEED: speed, handle.ANGLE: np.cumsum(speed), handle.KINETIC: speed**2}
    found = handle.findings(made("earthquake", courses))
    assert one(found, "peak wheel speed with nobody at the wheel").value == 2
    assert not any("rest" in f.what or "release" in f.what for f in found)


# --- Runs of every case ---

CASES: dict[str, tuple[Sculpture, Scenario]] = {
    "stop": (IDEAL, Stop(60 * RPM, 0.5)),
    "grab": (IDEAL, Grab("man", 60 * RPM, np.radians(300), 0.3)),
    "hold-on": (IDEAL, HoldOn("child6", 30 * RPM, np.radians(300))),
    "gust": (IDEAL, Gust(20.0, 0.3, lasts=2.0)),
    "hang": (IDEAL, HangFree(40.0, "left", "outer", 1.0)),
    "jam": (MANTA, Jam(60 * RPM, "left", "outer", 1.0)),
    "broken": (IDEAL, Broken("left outer rod", 1.0)),
    "gust-locked": (MANTA, GustLocked(20.0, 4)),
    "hang-held": (MANTA, HangHeld(40.0, 3.5, "left", "outer", "man")),
    "blocked": (MANTA, Blocked("man")),
    "lifted": (MANTA, Lifted(PIECE.lifts[0])),
}


@pytest.mark.parametrize("case", CASES)
def test_every_case_has_its_findings(case: str, folder: Path) -> None:
    sculpture, scenario = CASES[case]
    run = simulate(sculpture, scenario, runs=folder, check=False)
    assert run.case == case
    found = of_run(run)
    assert {f.where for f in found} >= {"wheel", "left coupling"}
    for f in found:
        assert f.where
        assert f.source
        assert np.isfinite(f.value), f.what
        # Where nothing moves, entries are poses and loads, and a time would mean nothing.
        assert f.time is None or not handle.stands(run)
    assert handle.stands(run) == (case in {"gust-locked", "hang-held", "blocked", "lifted"})


def test_an_envelope_leaves_out_what_belongs_to_one_run(folder: Path) -> None:
    runs = [simulate(*CASES[case], runs=folder, check=False) for case in ("jam", "lifted")]
    found = bearing_loads.envelope(runs)
    assert not any(f.what in bearing_loads.ONCE for f in found)
    assert one(found, bearing_loads.PULL, "stage 2 chain").case == runs[0].label
