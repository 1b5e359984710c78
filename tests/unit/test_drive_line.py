"""The drive of a sculpture: its chains against exact ratios, its start, what its bearings carry, how it repeats."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
import sympy
from sympy.physics.continuum_mechanics.beam import Beam

from models.loading import load
from models.resolve import mechanism
from sim import names
from sim.arrays import Array, rotation
from sim.builders import Linkage, linkage, scene
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.identity import canonical
from sim.layout import chain_run
from sim.mass import crank_mass, sprocket_mass, wheel_mass
from sim.recording import channels
from sim.scenarios import Crank, LetGo, Turn
from sim.scene import Motion, Scene
from sim.whole import holding_torque

MODELS = Path(str(files("models")))
RPM = np.pi / 30
G = 9.81
ENGINE = ExudynEngine()
STEP = 4e-3


def made(changes: dict[str, object] | None = None) -> Linkage:
    return linkage(mechanism(load(MODELS / "manta.toml", changes or {})))


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return made()


def held(speed: float) -> tuple[Motion, ...]:
    return (Motion(names.HAND, names.WHEEL, speed),)


# Against exact ratios


def taut(closed: Linkage, times: float) -> Linkage:
    """Give a sculpture whose chains are set tight with 50 N and are so many times as stiff, its couplings clamps."""
    m = closed.mechanism
    stages = tuple(
        replace(s, rigidity=s.rigidity * times, tight=50.0, slack=None, links=None, sideways=None)
        for s in m.stages
    )
    sides = tuple(
        replace(s, crank=replace(s.crank, coupling=replace(s.crank.coupling, kind="clamp", stiffness=None)))
        for s in m.sides
    )
    return linkage(replace(m, stages=stages, sides=sides))


@pytest.mark.parametrize(("times", "share"), [(10, 1e-3), (1, 3e-3)])
def test_stiff_chains_without_slack_ask_the_torque_of_exact_ratios(
    manta: Linkage, times: float, share: float
) -> None:
    """Over a turn at 20 rpm, at the same crank angles: .07 % of the peak ten times as stiff, .23 % as stiff as it is.

    What is left is the swing with which cranks at an even speed begin on chains that wind up and down: .02 and
    .08 % after three seconds.
    """
    closed = taut(manta, times)
    end = 3.0 * closed.mechanism.reduction
    found: list[tuple[Array, Array]] = []
    for ideal in (False, True):
        built = scene(closed, 0.0, 20 * RPM, motions=held(20 * RPM), friction=False, ideal=ideal)
        trace = ENGINE.simulate(built, Stepping(STEP, end))
        found.append((trace.spins[names.crankshaft("left")].angle, trace.torques[names.HAND]))
    (crank, torque), (exact_crank, exact) = found
    assert np.ptp(crank) == pytest.approx(2 * np.pi, abs=1e-3)
    peak = np.abs(exact).max()
    assert peak == pytest.approx(
        np.abs(holding_torque(closed, np.linspace(0, 2 * np.pi, 720))).max(), rel=0.02
    )
    off = np.abs(torque - np.interp(crank, exact_crank, exact)) / peak
    assert off.max() < share


@pytest.mark.parametrize("times", [10, 1])
def test_stiff_chains_without_slack_fall_as_exact_ratios_do(manta: Linkage, times: float) -> None:
    """Greatest wheel speed after letting go: 3e-5 off when ten times as stiff, 3e-4 as stiff as it is."""
    closed = taut(manta, times)
    fastest = []
    for ideal in (False, True):
        built = scene(closed, np.radians(300), 60 * RPM, friction=False, ideal=ideal)
        trace = ENGINE.simulate(built, Stepping(STEP, 8.0))
        fastest.append(np.abs(trace.spins[names.WHEEL].speed).max())
    assert fastest[1] > 1.1 * 60 * RPM
    assert fastest[0] == pytest.approx(fastest[1], rel=1e-3)


def test_the_real_drive_comes_near_the_exact_ratios_where_it_does_not_reverse(manta: Linkage) -> None:
    """Slack, give and friction leave the greatest torque of a turn within 3 % of exact ratios with the same friction.

    The drive's own bearings and chains rub too, which the exact ratios leave out.
    """
    peaks = []
    for ideal in (False, True):
        built = scene(manta, 0.0, 10 * RPM, motions=held(10 * RPM), ideal=ideal)
        trace = ENGINE.simulate(built, Stepping(STEP, 12.0))  # a quarter turn of the crank: forward all along
        peaks.append(trace.torques[names.HAND].max())
    extra = peaks[0] - peaks[1]
    assert 0 < extra < 0.1 * peaks[1]


def test_a_strand_carries_the_torque_over_its_travel_radius(manta: Linkage) -> None:
    """Turned slowly and forward, strand a of each chain carries what its shaft needs and strand b nothing."""
    m = manta.mechanism
    built = scene(manta, 0.0, 10 * RPM, motions=held(10 * RPM))
    trace = ENGINE.simulate(built, Stepping(STEP, 3.0))
    late = trace.time > 1.5
    # From the wheel's end: the hand's torque less the wheel shaft's friction.
    torque = (trace.torques[names.HAND] + trace.torques[names.WHEEL_DRAG])[late]
    for k, stage in enumerate(m.stages, 1):
        a, b = (t[late] for t in trace.tensions[names.stage(k)])
        np.testing.assert_array_equal(b, 0)
        # N p / 2 pi of the driver; shafts of 3e-3 kg m2 hardly count at this speed.
        np.testing.assert_allclose(a, torque / (stage.driver * stage.pitch / (2 * np.pi)), rtol=2e-3)
        shaft = names.shaft_friction(k, len(m.stages))
        torque = torque * stage.driven / stage.driver + trace.torques[shaft][late]
    couplings = sum(trace.torques[names.coupling(s.side.name)] for s in manta.sides)[late]
    np.testing.assert_allclose(couplings, torque, rtol=2e-3)


@pytest.mark.parametrize("backlash", [0.0, 0.01])
def test_lost_motion_at_the_wheel_is_slack_and_give(manta: Linkage, backlash: float) -> None:
    """Cranks blocked, the wheel pushed to and fro with 5 N m, without friction.

    Slack over the first driver's travel radius; the second's counts by the first ratio, backlash by both; then
    the strands' and couplings' give.
    """
    m = manta.mechanism
    turned = tuple(
        replace(s, crank=replace(s.crank, coupling=replace(s.crank.coupling, backlash=backlash)))
        for s in m.sides
    )
    closed = linkage(replace(m, sides=turned))
    first, second = chain_run(m, 1), chain_run(m, 2)
    one, both = m.stages[0].driven / m.stages[0].driver, m.reduction
    free = first.excess / first.travel[0] + one * second.excess / second.travel[0] + both * backlash
    torque = 5.0
    give = torque / (first.travel[0] ** 2 * first.stiffness)
    give += one**2 * torque / (second.travel[0] ** 2 * second.stiffness)
    give += both**2 * torque / (2 * m.sides[0].crank.coupling.stiffness)
    places = {}
    for way in (1, -1):
        blocks = tuple(
            Motion(f"block {s.side.name}", names.crankshaft(s.side.name), 0.0) for s in closed.sides
        )
        push = Motion(names.HAND, names.WHEEL, 0.1 * way)
        built = scene(closed, 1.0, 0.0, motions=(*blocks, push), friction=False)
        wheel = next(b for b in built.bodies if b.name == names.WHEEL)
        started = replace(wheel, angular_velocity=0.1 * way * np.array([0.0, 1, 0]))
        built = replace(
            built,
            bodies=tuple(started if b is wheel else b for b in built.bodies),
            strands=tuple(replace(s, start=0.0) for s in built.strands),
            twists=tuple(replace(t, start=0.0) for t in built.twists),
        )
        trace = ENGINE.simulate(built, Stepping(STEP, (free / 2 + give) / 0.1 + 0.6))
        angle = trace.spins[names.WHEEL].angle - trace.spins[names.WHEEL].angle[0]
        # The light shafts rattle as they touch; the static curve is a straight line through the last part.
        late = way * angle > free / 2 + 0.7 * give
        slope, across = np.polyfit(trace.torques[names.HAND][late], angle[late], 1)
        places[way] = across + slope * torque * way
    assert places[1] - places[-1] == pytest.approx(free + 2 * give, rel=0.01)  # .01: what still rattles
    assert free > 0.2


# The start


def test_the_start_is_wound_up_as_it_will_be_needed(manta: Linkage) -> None:
    """No shock owns the peaks: after letting go the tensions stay within what the motion itself asks."""
    trace = ENGINE.simulate(LetGo(60 * RPM, np.radians(300)).scene(manta), Stepping(1e-3, 1.0))
    for name, (a, b) in trace.tensions.items():
        pull = a - b
        # The force at the start is of the size that it has over the first second, not a spike above it.
        assert abs(pull[0]) <= np.abs(pull[5:]).max() * 1.001, name
        assert np.abs(pull[:50] - pull[0]).max() < 0.25 * np.abs(pull).max(), name
    for side in manta.sides:
        torque = trace.torques[names.coupling(side.side.name)]
        assert np.abs(np.diff(torque[:20])).max() < 0.05 * np.abs(torque).max()


def test_without_friction_no_friction_winds_up_the_start(manta: Linkage) -> None:
    """At a steady speed the wheel's torque is then that of exact ratios from the first record on."""
    found = [
        ENGINE.simulate(
            scene(taut(manta, 1), 0.3, 20 * RPM, motions=held(20 * RPM), friction=False, ideal=ideal),
            Stepping(STEP, 0.02),
        ).torques[names.HAND][0]
        for ideal in (False, True)
    ]
    assert found[0] == pytest.approx(found[1], rel=1e-3)  # beside 2.5 N m: the driven shafts' own inertia
    rubbed = scene(taut(manta, 1), 0.3, 20 * RPM, motions=held(20 * RPM))
    assert ENGINE.simulate(rubbed, Stepping(STEP, 0.02)).torques[names.HAND][0] > found[0] + 0.1


# Bearings of the drive's shafts


@pytest.fixture(scope="module")
def turned(manta: Linkage) -> tuple[Scene, Trace]:
    built = Turn(30 * RPM).scene(manta)
    return built, ENGINE.simulate(built, Stepping(STEP, 8.0))


def test_bearings_of_the_wheels_shaft_by_hand(manta: Linkage, turned: tuple[Scene, Trace]) -> None:
    """They carry the wheel, its sprocket and the pull of the chain, and moments about either balance."""
    built, trace = turned
    m = manta.mechanism
    found = channels(m, built, trace)
    right, left = (found[f"joints/wheel shaft {s} bearing/force"].values for s in ("right", "left"))
    run, (a, b) = chain_run(m, 1), trace.tensions[names.stage(1)]
    pull = a[:, None] * run.directions[0] + b[:, None] * run.directions[1]
    wheel = wheel_mass(m.wheel).mass * G
    sprocket = sprocket_mass(m.stages[0].driver, m.stages[0]).mass * G
    down = np.array([0.0, 0.0, -1.0])
    # The chain's own weight, .06 N here: it runs up steeply and hangs from the shaft between.
    np.testing.assert_allclose(right + left, pull + (wheel + sprocket) * down, atol=0.1)
    near, far = m.wheel.shaft.bearings
    plane = m.stages[0].out
    about = left * (far - near) - pull * (plane - near) - (wheel * (m.wheel.out - near)) * down
    about = about - sprocket * (plane - near) * down
    # N m, of 60 that the overhung wheel makes: the program has the little sprocket's .12 kg in the wheel's plane.
    assert np.abs(about).max() < sprocket * abs(plane - m.wheel.out) * 1.1 + 0.01
    assert np.linalg.norm(pull, axis=1).max() > 100
    # The overhung wheel lifts the far bearing.
    assert left[:, 2].max() > 0 > right[:, 2].max()


def test_bearings_of_a_shaft_between_by_hand(manta: Linkage, turned: tuple[Scene, Trace]) -> None:
    """One chain pulls down at it and the next one away: forces and moments of the first shaft after the wheel."""
    built, trace = turned
    m = manta.mechanism
    found = channels(m, built, trace)
    right, left = (found[f"joints/stage 1 shaft {s} bearing/force"].values for s in ("right", "left"))
    lower, upper = m.stages
    loads = []
    for k, way, stage in ((1, -1.0, lower), (2, 1.0, upper)):
        run, (a, b) = chain_run(m, k), trace.tensions[names.stage(k)]
        pull = way * (a[:, None] * run.directions[0] + b[:, None] * run.directions[1])
        teeth = stage.driven if way < 0 else stage.driver
        # The strands rise to this shaft from the wheel, and sink from it to the crank's: mean slope of both.
        rise = float(np.mean(run.directions[:, 2])) * way
        chain = 2 * run.weight * (1 - rise) / 2
        weight = (sprocket_mass(teeth, stage).mass + chain) * G
        loads.append((pull + weight * np.array([0.0, 0.0, -1.0]), stage.out))
    np.testing.assert_allclose(right + left, loads[0][0] + loads[1][0], atol=1e-6)
    near, far = lower.shaft.bearings
    about = left * (far - near) - sum(force * (out - near) for force, out in loads)
    np.testing.assert_allclose(about, 0, atol=1e-6)
    assert np.linalg.norm(right, axis=1).max() > 100


def test_driving_forward_strand_a_turns_the_driven_forward(manta: Linkage) -> None:
    """The pulls' directions and the torque agree: T times radius about the driven shaft, from cross products."""
    for k, stage in enumerate(manta.mechanism.stages, 1):
        run = chain_run(manta.mechanism, k)
        a, b = run.ends[:, 1]  # where both strands leave the driven
        centre = (a + b) / 2
        turning = [float(np.cross(p - centre, -d)[1]) for p, d in zip((a, b), run.directions, strict=True)]
        assert turning[0] > 0 > turning[1], stage


# A third bearing of the crankshaft


THIRD = ("590 mm", 0.59)


def third_share(at: float, bearings: tuple[float, float], give: float) -> float:
    """Give the share of a unit load that a third bearing takes, by sympy's beam on two supports.

    The third's push brings the deflection there back to its own give: w_load + R w_unit = -R give.
    """
    ei = sympy.Symbol("EI", positive=True)
    ends = (min(0.0, at, *bearings), max(1.2, at, *bearings))

    def deflection(load_at: float) -> sympy.Expr:
        beam = Beam(ends[1] - ends[0], ei, 1)
        r1, r2 = sympy.symbols("R1 R2")
        first, second = (sympy.nsimplify(x - ends[0]) for x in bearings)
        beam.apply_load(r1, first, -1)
        beam.apply_load(r2, second, -1)
        beam.apply_load(-1, sympy.nsimplify(load_at - ends[0]), -1)
        beam.bc_deflection = [(first, 0), (second, 0)]
        beam.solve_for_reaction_loads(r1, r2)
        return beam.deflection().subs(beam.variable, sympy.nsimplify(THIRD[1] - ends[0])).doit() * ei

    stiffness = 2e11 * np.pi * 0.0254**4 / 64  # the demo's 25.4 mm of steel; the test asserts this modulus
    by_load, by_unit = float(deflection(at)), float(deflection(THIRD[1]))
    return by_load / (by_unit + (-1 if by_unit < 0 else 1) * give * stiffness)


@pytest.mark.parametrize("support", [None, "2 kN/mm"])
def test_a_centre_bearing_takes_what_a_beam_on_three_supports_gives_it(support: str | None) -> None:
    place: dict[str, object] = {"out": THIRD[0], "on": "arm"}
    place |= {} if support is None else {"stiffness": support}
    closed = made({"crank.bearings": ["250 mm", place, "930 mm"]})
    side = closed.sides[0].side
    assert side.crank.material.modulus == pytest.approx(2e11)
    built = Turn(60 * RPM).scene(closed)
    trace = ENGINE.simulate(built, Stepping(STEP, 2.0))
    found = channels(closed.mechanism, built, trace)
    third = found[f"joints/{names.further('left', 3)}/force"].values
    give = 0.0 if support is None else 1 / 2e6
    piece = crank_mass(side)
    expected = np.zeros_like(third)
    for panel in side.panels:
        eye = trace.joints[names.crank_eye("left", panel.name)].force
        expected += third_share(panel.throw_out, side.crank.bearings, give) * eye
    own = piece.mass * (np.array([0, 0, -G]) - trace.poses[names.crankshaft("left")].acceleration)
    expected += third_share(float(piece.com[1]), side.crank.bearings, give) * own
    # Both are exact solutions of the same beam; the engine's own load of the crank by Newton, to its step.
    np.testing.assert_allclose(third, expected, atol=1e-4 * np.abs(expected).max())
    assert np.abs(third).max() > 20
    # What it takes the main two are relieved of: three carry what two did, in force and in moment.
    main = [found[f"joints/{n('left')}/force"].values for n in (names.locating, names.radial)]
    raw = [trace.joints[n("left")].force for n in (names.locating, names.radial)]
    np.testing.assert_allclose(main[0] + main[1] + third, raw[0] + raw[1], atol=1e-9)
    near, far = side.crank.bearings
    np.testing.assert_allclose(
        main[0] * near + main[1] * far + third * THIRD[1], raw[0] * near + raw[1] * far, atol=1e-9
    )


# Repetition and symmetry


def test_mirrored_sides_carry_mirrored_loads(turned: tuple[Scene, Trace]) -> None:
    _, trace = turned
    largest = max(np.linalg.norm(x.force, axis=1).max() for x in trace.joints.values())
    for name, found in trace.joints.items():
        if name.startswith("left"):
            other = trace.joints[name.replace("left", "right")].force
            # Newton's tolerance leaves both sides equal to a share of 1e-5 of the largest load.
            np.testing.assert_allclose(found.force * [1, -1, 1], other, atol=1e-5 * largest)
    np.testing.assert_allclose(trace.torques["left coupling"], trace.torques["right coupling"], atol=1e-4)


def test_turning_the_scene_turns_its_forces(manta: Linkage) -> None:
    """Every bearing's too that the engine does not have; tensions and torques stay."""
    turn = rotation([0, 0, 1], 2.2)
    built = Crank("adult", start=1.0).scene(manta)
    here, there = (ENGINE.simulate(s, Stepping(STEP, 0.6)) for s in (built, built.rotated(turn)))
    loads = channels(manta.mechanism, built, here)
    turned_loads = channels(manta.mechanism, built.rotated(turn), there)
    # The rule steps Euler parameters, so its error depends on direction; going with the square of the step.
    for name, found in loads.items():
        other = turned_loads[name].values
        if name.endswith("/force"):
            np.testing.assert_allclose(found.values @ turn.T, other, atol=0.05, err_msg=name)
        elif name.startswith(("torques/", "chains/", "energy/")):
            np.testing.assert_allclose(found.values, other, atol=0.02, err_msg=name)


def test_the_same_run_twice_is_the_same_to_the_bit(manta: Linkage) -> None:
    built = Crank("child").scene(manta)
    once, again = (
        channels(manta.mechanism, built, ENGINE.simulate(built, Stepping(STEP, 0.5))) for _ in range(2)
    )
    for name, channel in once.items():
        assert channel.values.tobytes() == again[name].values.tobytes(), name


def test_the_same_drive_in_other_units_is_the_same_to_the_bit() -> None:
    """12.7 mm is half an inch and 2450 mm 2.45 m: the same mechanism, the same run."""
    lower = {"teeth": [13, 38], "pitch": "12.7 mm", "centres": "2450 mm"}
    upper = {"teeth": [15, 40], "pitch": "12.7 mm", "centres": "406.4 mm"}
    said = {"stage": [lower, upper], "crank.coupling.stiffness": "900 N m/rad"}
    other = {
        "stage": [{**lower, "pitch": "1/2 in", "centres": "2.45 m"}, {**upper, "pitch": "0.5 in", "centres": "16 in"}],
        "crank.coupling.stiffness": "0.9 kN m/rad",
    }  # fmt: skip
    one, two = made(said), made(other)
    assert canonical(one.mechanism) == canonical(two.mechanism)
    angles = [
        ENGINE.simulate(LetGo(3.0, 1.0).scene(c), Stepping(STEP, 0.3)).spins[names.WHEEL].angle.tobytes()
        for c in (one, two)
    ]
    assert angles[0] == angles[1]
