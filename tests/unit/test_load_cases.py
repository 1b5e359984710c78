"""Load cases against closed forms and against the engine: what stands, what is stopped, blown, hung on or broken."""

from dataclasses import replace

import numpy as np
import pytest
from examples import MANTA, MOTH

from models.cases import cases
from models.loading import changed, load, loads
from models.mechanism import LiftPoint, PointMass
from models.people import people
from models.resolve import mechanism
from sim import names
from sim.arrays import matrices
from sim.builders import Linkage, linkage, scene
from sim.builders.drive import drive_inertia
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.expanding import expanded
from sim.recording import channels
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
    Stop,
)
from sim.scenarios.base import Moving
from sim.scenarios.broken import highest, parts
from sim.scenarios.hang import OutOfReach, lowest, tip, tip_height
from sim.scenarios.jam import NothingGives
from sim.scenarios.lifted import Unstable
from sim.scene import Motion
from sim.statics import statics

ENGINE = ExudynEngine()
IDEAL = {
    "stage.1.kind": "direct",
    "stage.2.kind": "direct",
}
STAND = MANTA.with_name("manta_stand.toml")
WIND = 20.0


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return linkage(mechanism(load(MANTA)))


@pytest.fixture(scope="module")
def moth() -> Linkage:
    return linkage(mechanism(loads(MOTH)))


def followed(scenario: Moving, closed: Linkage, end: float | None = None, step: float | None = None) -> Trace:
    stepping = Stepping(step or scenario.step(closed), end or scenario.end(closed))
    return ENGINE.simulate(scenario.scene(closed), stepping)


def standing(closed: Linkage, crank: float, **scene_parts: object) -> Trace:
    """Let the engine hold a rigid, frictionless piece still: its first record has the forces at rest."""
    held = Motion(names.HAND, names.WHEEL, 0.0)
    made = scene(closed, crank, 0.0, motions=(held,), friction=False, ideal=True)
    return ENGINE.simulate(replace(made, **scene_parts), Stepping(1e-3, 2e-3))


def agree(found: dict[str, object], trace: Trace, entry: int, share: float) -> None:
    """Compare an entry's joint forces with the engine's at rest, within a share of the largest."""
    largest = max(float(np.linalg.norm(load.force[0])) for load in trace.joints.values())
    for joint, load_ in trace.joints.items():
        if joint == names.WHEEL_BEARINGS:
            continue
        ours = found[f"joints/{joint}/force"].values[entry]
        np.testing.assert_allclose(ours, load_.force[0], atol=share * largest, err_msg=joint)


def test_wind_on_a_locked_piece_agrees_with_the_engine(manta: Linkage) -> None:
    case = GustLocked(WIND, 8, np.radians(15), 0.3)
    found = case.channels(manta)
    crank, toward = found["angles/left crankshaft/angle"].values, found["wind/all/direction"].values
    slope, lee = found["wind/all/slope"].values, found["wind/all/lee"].values
    assert len(crank) == 72 * 8 * 2 * 2
    for entry in (5, 72 * 3 + 40, 72 * 14 + 11, 72 * 31 + 60):
        way, rise, share = (float(x[entry]) for x in (toward, slope, lee))
        gust = Gust(WIND, way, float(crank[entry]), slope=rise, lee=share)
        blown = standing(manta, float(crank[entry]), pushes=gust.scene(manta).pushes)
        # The wind's force counts at the area's centroid in closed form, cell by cell in the engine: on a flat plate
        # in uniform air that is the same.
        agree(found, blown, entry, 1e-5)


def test_a_hung_piece_agrees_with_the_engine_under_leaning_gravity(manta: Linkage) -> None:
    case = Lifted(LiftPoint("hook", 0.2, 0.1, 0.6))
    found = case.channels(manta)
    crank = found["angles/left crankshaft/angle"].values
    for entry in (0, 31):
        up = case.up(manta, crank)[entry]
        agree(found, standing(manta, float(crank[entry]), gravity=-9.81 * up), entry, 1e-5)
    lean = found["attitude/whole piece/lean"].values
    assert float(lean.max()) > np.radians(2)


def test_a_piece_is_not_hung_below_its_centre_of_gravity(manta: Linkage) -> None:
    with pytest.raises(Unstable, match="put it higher"):
        Lifted(LiftPoint("foot", 0, 0, -2.9)).channels(manta)


def test_people_on_a_locked_wing_are_a_mass_on_its_tip() -> None:
    closed = linkage(mechanism(load(STAND)))
    mass, reach = 150.0, 2.2
    found = HangHeld(mass, reach, "left", "outer").channels(closed)
    crank = found["angles/left crankshaft/angle"].values
    assert 0 < len(crank) < 360
    assert float(tip_height(closed, "left", "outer", crank).max()) <= reach
    side = closed.sides[0].side
    heavy = replace(
        side,
        panels=tuple(
            replace(p, plate=replace(p.plate, lumps=(PointMass(mass, *tip(p), 0.0),)))
            if p.name == "outer"
            else p
            for p in side.panels
        ),
    )
    other = linkage(replace(closed.mechanism, sides=(heavy,)))
    expected = statics(other.sides[0], crank, 9.81, closed.mechanism.friction)
    for joint, force in expected.forces.items():
        np.testing.assert_allclose(found[f"joints/{joint}/force"].values, force, rtol=1e-9, atol=1e-6)


def test_a_held_wheel_slips_before_more_than_its_grip_is_needed() -> None:
    closed = linkage(mechanism(load(STAND)))
    locked = HangHeld(300.0, 2.2, "left", "outer").channels(closed)["torques/hand/torque"].values
    held = HangHeld(300.0, 2.2, "left", "outer", "adult").channels(closed)["torques/hand/torque"].values
    m = closed.mechanism
    grip = people()["adult"].grip * m.wheel.radius
    assert float(np.abs(locked).max()) > 2 * grip
    # Beyond the grip only friction helps, at most static friction at the crank over the reduction and the drag.
    assert float(np.abs(held).max()) < grip + 2.0
    free = np.abs(locked) < grip
    np.testing.assert_allclose(held[free], locked[free], rtol=1e-9)


def test_a_tip_out_of_reach_is_told(manta: Linkage) -> None:
    with pytest.raises(OutOfReach, match="above a reach of"):
        HangHeld(100.0, 1.0, "left", "outer").channels(manta)


def test_people_on_a_free_wing_fall_with_it() -> None:
    closed = linkage(mechanism(changed(load(STAND), IDEAL)))
    case = HangFree(150.0, "left", "outer", lowest(closed, "left", "outer") - 0.6)
    trace = followed(case, closed, end=1.0)
    built = case.scene(closed)
    energy = channels(closed.mechanism, built, trace)
    whole = sum(energy[f"energy/{k}/energy"].values for k in ("kinetic", "potential", "strain", "lost"))
    given = float(np.ptp(energy["energy/potential/energy"].values))
    assert given > 50  # J; they do come down
    # Energy is kept to a thousandth of what falls at the scenario's own step.
    np.testing.assert_allclose(whole, whole[0], atol=1e-3 * given)


@pytest.mark.parametrize("name", ["manta_stand", "moth"])
def test_people_who_get_hold_of_a_wing_bring_it_down_until_they_lose_hold(name: str) -> None:
    sculpture = load(MANTA.with_name(f"{name}.toml"))
    closed = linkage(mechanism(sculpture))
    (case,) = expanded(cases(sculpture)["hanging-free"], closed).scenarios
    assert isinstance(case, HangFree)
    high = tip_height(
        closed, case.side, case.panel, np.array([case.start, lowest(closed, case.side, case.panel)])
    )
    assert high[1] + 0.3 < high[0] <= 2.3  # m, the reach of the load case
    trace = followed(case, closed, end=10.0)
    assert trace.time[-1] < 5
    assert not trace.rested
    up = trace.poses[names.panel(case.side, case.panel)].acceleration[:, 2]
    # Twice their weight is one g upwards; the last two records are beyond it and no two before.
    borne = closed.mechanism.gravity
    beyond = up > borne
    assert beyond[-2:].all()
    assert not (beyond[1:-1] & beyond[:-2]).any()
    rim = np.abs(trace.spins[names.WHEEL].speed).max() * closed.mechanism.wheel.radius
    assert rim > 3.0


def test_a_wheel_is_stopped_in_its_time_by_its_own_work(manta: Linkage) -> None:
    case = Stop(2.6, 0.3, 1.0)
    trace = followed(case, manta)
    speed = trace.spins[names.WHEEL].speed
    stopped = trace.time > 0.3 + 1e-9
    assert np.abs(speed[stopped]).max() < 1e-9
    at = trace.time < 0.3
    np.testing.assert_allclose(speed[at], 2.6 * (1 - trace.time[at] / 0.3), atol=1e-9)
    found = channels(manta.mechanism, case.scene(manta), trace)
    whole = sum(found[f"energy/{k}/energy"].values for k in ("kinetic", "potential", "strain", "lost"))
    power = trace.torques[names.HAND] * speed
    work = float(np.sum(np.diff(trace.time) * (power[1:] + power[:-1]) / 2))
    # The recorded torque is the mean over each step: the work is right to a step's share, some thousandths.
    assert float(whole[-1] - whole[0]) == pytest.approx(work, rel=0.02)
    assert work < -5


def test_a_grabbing_hand_stops_the_wheel_with_its_grip(moth: Linkage) -> None:
    trace = followed(Grab("adult", 5.0, 0.5, 0.2), moth)
    torque = trace.torques[names.HAND]
    assert np.all(torque[trace.time < 0.2] == 0)
    assert np.abs(torque).max() <= people()["adult"].grip * moth.mechanism.wheel.radius * (1 + 1e-9)
    assert abs(trace.spins[names.WHEEL].speed[-1]) < 0.05


def test_a_hand_that_holds_on_slows_the_wheel(manta: Linkage) -> None:
    speed, release = 2.6, highest(manta)
    held = followed(HoldOn("adult", speed, release), manta, end=4.0)
    free = followed(Gust(1e-9, 0.0, release), manta, end=0.1)  # still air: the same scene without a hand
    assert np.abs(held.spins[names.WHEEL].speed).max() <= speed * 1.0001
    # The hand's torque is that of the step's beginning: where the wheel turns back it lags by a step, at no speed.
    assert np.max(held.torques[names.HAND] * held.spins[names.WHEEL].speed) < 1e-3
    assert names.HAND not in free.torques


def test_a_jam_winds_the_coupling_up_by_the_wheels_energy() -> None:
    """T = w sqrt(J k): an undamped rotor of inertia J runs into a spring of stiffness k at speed w."""
    stiffness = 500.0
    one = changed(
        load(MANTA),
        {
            **IDEAL,
            "sides": 1,
            "crank.coupling.stiffness": f"{stiffness} N m/rad",
            "crank.coupling.damping": "0.000001 N m s/rad",
            "friction.wheel_drag": "0 N m",
            "friction.bearing": 0,
        },
    )
    closed = linkage(mechanism(one))
    speed = 4.0
    case = Jam(speed, "left", "crank", 2.0)
    trace = followed(case, closed)
    own = speed / closed.mechanism.reduction
    inertia = drive_inertia(closed.mechanism)
    preload = trace.torques[names.coupling("left")][0]
    # The coupling starts with what the weights need; energy: k x^2 / 2 grows by J w^2 / 2.
    expected = np.sqrt(preload**2 + inertia * stiffness * own**2)
    assert np.abs(trace.torques[names.coupling("left")]).max() == pytest.approx(expected, rel=2e-3)


def test_a_jam_needs_something_that_gives(moth: Linkage) -> None:
    with pytest.raises(NothingGives, match="elastic coupling"):
        Jam(4.0, "left", "crank", 0.0).scene(replace(moth))


def test_a_blocked_panel_locks_all_of_its_side(manta: Linkage) -> None:
    trace = followed(Jam(2.6, "left", "outer", 0.7), manta, end=0.3)
    for panel in ("inner", "outer"):
        assert np.abs(trace.poses[names.panel("left", panel)].angular_velocity).max() < 1e-6
    assert np.abs(trace.poses[names.panel("right", "outer")].angular_velocity).max() > 0.05


def test_blocked_entries_name_each_panel_of_each_side(manta: Linkage) -> None:
    found = Blocked("adult").channels(manta)
    rods = [np.linalg.norm(found[f"joints/{names.crank_eye(s, p)}/force"].values, axis=1)
            for s in ("left", "right") for p in ("inner", "outer")]  # fmt: skip
    assert rods[0].shape == (4,)
    np.testing.assert_allclose(rods[0][:2], rods[2][2:], rtol=1e-9)  # mirror images
    weaker = Blocked("child").channels(manta)
    first = np.linalg.norm(weaker[f"joints/{names.crank_eye('left', 'inner')}/force"].values[0])
    # The greatest force in passing a dead centre grows as the torque's power 2/3.
    ratio = (people()["child"].push / people()["adult"].push) ** (2 / 3)
    assert first == pytest.approx(rods[0][0] * ratio, rel=0.02)


def test_every_part_that_breaks_sets_something_free(manta: Linkage) -> None:
    names_ = parts(manta)
    assert len(names_) == 2 + 4 + 2
    held = Motion(names.HAND, names.WHEEL, 0.0)
    start = highest(manta)
    whole = ENGINE.simulate(scene(manta, start, 0.0, motions=(held,)), Stepping(1e-3, 0.5))
    assert fastest(whole) < 1e-3
    for part in names_:
        at = highest(manta, part.split()[0]) if part.endswith("coupling") else start
        assert fastest(followed(Broken(part, at), manta, end=0.5)) > 0.05, part


def fastest(trace: Trace) -> float:
    return max(float(np.linalg.norm(p.velocity, axis=1).max()) for p in trace.poses.values())


def test_a_freed_panel_swings_about_its_hinge(moth: Linkage) -> None:
    """With its rod gone a wing is a pendulum: its speed follows from the height its centre has fallen."""
    start = 0.4
    trace = followed(Broken(names.rod("left", "wing"), start), moth, end=0.4)
    body = next(
        b for b in Broken(names.rod("left", "wing"), start).scene(moth).bodies if b.name == "left wing panel"
    )
    rod = next(
        b for b in Broken(names.rod("left", "wing"), start).scene(moth).bodies if b.name == "left wing rod"
    )
    kinetic = potential = 0.0
    for b in (body, rod):
        pose = trace.poses[b.name]
        fall = pose.position[-1, 2] - pose.position[0, 2]
        potential += b.mass * 9.81 * fall
        turned = pose.angular_velocity[-1]
        kinetic += 0.5 * b.mass * float(pose.velocity[-1] @ pose.velocity[-1])
        own = matrices(pose.quaternion)[-1].T @ turned
        kinetic += 0.5 * float(own @ b.inertia @ own)
    assert kinetic > 0.5
    assert kinetic == pytest.approx(-potential, rel=1e-3)  # the trapezoidal rule at the scenario's step


def test_wind_turns_a_lone_wing_and_not_a_pair() -> None:
    """Level wind across a mirrored pair lifts one wing and presses the other: at the cranks they cancel."""
    turned: dict[int, float] = {}
    for sides in (1, 2):
        closed = linkage(mechanism(changed(load(MANTA), {**IDEAL, "sides": sides})))
        blown = followed(Gust(25.0, np.pi / 2, 1.0), closed, end=0.5)
        still = followed(Gust(1e-6, np.pi / 2, 1.0), closed, end=0.5)
        turned[sides] = blown.spins[names.WHEEL].speed[-1] - still.spins[names.WHEEL].speed[-1]
    assert abs(turned[1]) > 0.05
    # What is left of a pair is the air that its own movement meets, and its wings' own winding up against each other.
    assert abs(turned[2]) < 0.1 * abs(turned[1])
