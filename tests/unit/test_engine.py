"""The engine's file against Newton, Euler and closed forms. Its numbers are worked out here."""

from dataclasses import replace

import numpy as np
import pytest

from sim.arrays import Array, frame_along, matrices, rotation, vector
from sim.engines.base import EngineError, Freedom, Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.scene import (
    BALL,
    BALL_NO_SPIN,
    GROUND,
    HINGE_Z,
    Body,
    Constant,
    Drag,
    Joint,
    Load,
    Motion,
    Push,
    Ratio,
    Rotor,
    Scene,
    Spring,
)

G = 9.81
ENGINE = ExudynEngine()
TIGHT = {"relative": 1e-10, "absolute": 1e-12}
"""Of the Newton iteration, so that only the time step's own error is left."""
X, Y, Z = np.eye(3)
SLANT = np.array([2.0, -3.0, 6.0]) / 7


def run(scene: Scene, step: float, end: float) -> Trace:
    return ENGINE.simulate(scene, Stepping(step, end, **TIGHT))


def swinging(locks: tuple[int, ...], turn: Array, axes: Array) -> tuple[Scene, Body, Joint]:
    """Give a heavy body on a hinge, a second body on it by a joint with some locks, all at odd angles."""
    first = Body("first", 10.0, np.diag([1.0, 2, 3]), vector(0.3, 0.5, 0.2), rotation([1, 0, 0], 0.4))
    second = Body("second", 3.0, np.diag([0.1, 0.2, 0.3]), vector(0.1, 0.9, 0.8), rotation([1, 0.4, 0], 0.4))
    hinge = Joint("hinge", GROUND, "first", vector(0, 0, 0), HINGE_Z, frame_along(X, Y))
    joint = Joint("joint", "first", "second", vector(0.1, 0.9, 0.5), tuple(map(bool, locks)), axes)
    scene = Scene(bodies=(first, second), joints=(hinge, joint)).rotated(turn)
    return scene, scene.bodies[1], scene.joints[1]


def needed(trace: Trace, body: Body, joint: Joint, gravity: Array) -> tuple[Array, Array]:
    """Give the force (n, 3) and the moment (n, 3) about the joint's point that `body` must be getting.

    Newton: m (a - g). Euler: the rate of the angular momentum about the centre of mass, by central
    differences, less the moment of the force.
    """
    pose = trace.poses[body.name]
    force = body.mass * (pose.acceleration - gravity)
    turned = matrices(pose.quaternion)
    inertia = turned @ body.inertia @ np.swapaxes(turned, 1, 2)
    momentum = np.einsum("nij,nj->ni", inertia, pose.angular_velocity)
    arm = turned @ (body.rotation.T @ (joint.point - body.com))
    return force, np.gradient(momentum, trace.time, axis=0) - np.cross(arm, force)


PATTERNS = [
    BALL, HINGE_Z, BALL_NO_SPIN, (1, 1, 1, 1, 1, 1), (1, 0, 1, 0, 0, 0), (0, 0, 1, 0, 0, 0),
    (0, 1, 1, 0, 0, 1), (1, 0, 1, 1, 1, 0), (1, 1, 0, 1, 1, 1), (0, 0, 1, 1, 1, 0), (0, 0, 0, 1, 1, 1),
]  # fmt: skip
AXES = [np.eye(3), rotation([0.3, 1, 0.2], 0.7), rotation([1, -1, 0.5], 2.5)]


@pytest.mark.parametrize("locks", PATTERNS, ids=lambda p: "".join(str(int(x)) for x in p))
@pytest.mark.parametrize("k", range(len(AXES)))
def test_recorded_loads_obey_newton_and_euler(locks: tuple[int, ...], k: int) -> None:
    scene, body, joint = swinging(locks, rotation([1, 2, 3], 0.8 * k), AXES[k])
    trace = run(scene, 5e-4, 0.2)
    force, moment = needed(trace, body, joint, scene.gravity)
    found = trace.joints["joint"]
    # The recorded force is what b, the second body, puts on a: the reverse of what it gets itself. A joint with
    # free movement slides off its point, and then the force's place on the second body moves; so only the
    # start is compared there.
    upto = slice(1, -1) if all(locks[:3]) else slice(1, 6)
    weight = body.mass * G
    # The engine's equation at each step but for the drift of the joint, a share of 1e-5 here.
    np.testing.assert_allclose(found.force[upto], -force[upto], atol=1e-5 * weight)
    # N m, the weight on a metre: the differences in time of a body that turns at some rad/s.
    np.testing.assert_allclose(found.moment[upto], -moment[upto], atol=1e-4 * weight)


def test_the_record_starts_at_zero_with_the_loads_of_the_start_pose() -> None:
    hanging = Body("bob", 2.0, 0.01 * np.eye(3), vector(0, 0, -1), velocity=3 * Y, angular_velocity=-3 * X)
    pivot = Joint("pivot", "bob", GROUND, vector(0, 0, 0), HINGE_Z, frame_along(X, Y))
    trace = run(Scene(bodies=(hanging,), joints=(pivot,)), 1e-3, 0.01)
    assert trace.time[0] == 0
    # On the bob: weight and v^2 / r, upwards; solved for, not stepped to.
    np.testing.assert_allclose(trace.joints["pivot"].force[0], [0, 0, 2 * (G + 9)], atol=1e-9)


# Angles


def spun(axis: Array, speed: float, inertia: float = 0.5) -> tuple[Body, Joint]:
    """Give a disc that turns about an axis through its centre, on its hinge."""
    body = Body("disc", 4.0, inertia * np.eye(3), vector(0.1, 0.2, 0.3), rotation([3, 1, 2], 0.9),
                angular_velocity=speed * axis, spin=axis, angle=0.25)  # fmt: skip
    hint = Y if abs(axis @ Y) < 0.9 else Z
    return body, Joint("hinge", GROUND, "disc", body.com, HINGE_Z, frame_along(axis, hint))


@pytest.mark.parametrize("axis", [X, -X, Y, -Y, Z, -Z, SLANT, -SLANT], ids=str)
def test_an_angle_counts_full_turns_about_any_axis(axis: Array) -> None:
    body, hinge = spun(axis, 30.0)
    trace = run(Scene(bodies=(body,), joints=(hinge,)), 1e-3, 1.0)
    assert trace.spins["disc"].angle[-1] == pytest.approx(30.25, abs=1e-9)  # 4.8 turns; nothing slows it
    assert trace.spins["disc"].speed[-1] == pytest.approx(30.0, abs=1e-9)
    pose = trace.poses["disc"]
    np.testing.assert_allclose(pose.angular_velocity[-1], 30 * axis, atol=1e-9)
    turned = rotation(axis, trace.spins["disc"].angle[-1] - 0.25) @ body.rotation
    np.testing.assert_allclose(matrices(pose.quaternion[-1:])[0], turned, atol=1e-9)
    np.testing.assert_allclose(pose.position[-1], body.com, atol=1e-9)


def test_a_rotor_counts_full_turns() -> None:
    trace = run(Scene(rotors=(Rotor("shaft", 0.1, 0.5, -40.0),)), 1e-3, 1.0)
    assert trace.spins["shaft"].angle[-1] == pytest.approx(-39.5, abs=1e-9)


@pytest.mark.parametrize("axis", [X, -X, Y, SLANT], ids=str)
def test_two_stages_of_14_to_42_stay_9_to_1(axis: Array) -> None:
    disc, hinge = spun(axis, 40.0 / 9, inertia=2.0)
    scene = Scene(
        bodies=(disc,),
        rotors=(Rotor("wheel", 0.3, 0.0, 40.0), Rotor("between", 0.01, 0.0, 40.0 / 3)),
        joints=(hinge,),
        ratios=(Ratio("lower", "wheel", "between", 42 / 14), Ratio("upper", "between", "disc", 42 / 14)),
    )
    trace = ENGINE.simulate(scene, Stepping(5e-3, 10.0))
    wheel, turned = trace.spins["wheel"].angle, trace.spins["disc"].angle - 0.25
    assert wheel[-1] / (2 * np.pi) > 50
    np.testing.assert_allclose(turned, wheel / 9, atol=1e-9)
    np.testing.assert_allclose(trace.spins["disc"].speed, trace.spins["wheel"].speed / 9, atol=1e-9)


# Torques


@pytest.mark.parametrize("axis", [X, -X, Y, -Y, SLANT], ids=str)
def test_torque_of_a_motion_holds_up_a_weight(axis: Array) -> None:
    """An arm turned steadily: the motion's torque about the axis is the reverse of the weight's."""
    disc, hinge = spun(axis, 2.0)
    off = np.cross(axis, Z if abs(axis @ Z) < 0.9 else X)
    com = disc.com + 0.4 * off / np.linalg.norm(off)
    arm = replace(disc, com=com, velocity=np.cross(2.0 * axis, com - disc.com))
    scene = Scene(bodies=(arm,), joints=(hinge,), motions=(Motion("hand", "disc", 2.0),))
    trace = run(scene, 1e-3, 2.0)
    np.testing.assert_allclose(trace.spins["disc"].speed, 2.0, atol=1e-9)
    weight = np.cross(trace.poses["disc"].position - hinge.point, 4.0 * scene.gravity) @ axis
    assert np.ptp(weight) > 4  # N m; it swings
    np.testing.assert_allclose(
        trace.torques["hand"], -weight, atol=1e-4
    )  # step 1 ms at 2 rad/s: (w h)^2 / 12


def test_torque_of_a_motion_takes_on_a_load() -> None:
    """Held at its speed against 1.5 N m backwards, the motion gives 1.5 N m forwards."""
    scene = Scene(rotors=(Rotor("shaft", 0.2, 0.0, 3.0),), motions=(Motion("hand", "shaft", 3.0),),
                  loads=(Load("brake", "shaft", Constant(-1.5)),))  # fmt: skip
    trace = run(scene, 1e-3, 0.1)
    np.testing.assert_allclose(trace.torques["hand"][1:], 1.5, atol=1e-9)
    np.testing.assert_allclose(trace.torques["brake"][1:], -1.5, atol=0)


@pytest.mark.parametrize("axis", [Y, X, -X, SLANT], ids=str)
@pytest.mark.parametrize("push", [6.0, -6.0])
def test_torque_of_a_ratio_is_what_it_puts_on_the_driven_shaft(axis: Array, push: float) -> None:
    disc, hinge = spun(axis, 0.0, inertia=2.0)
    scene = Scene(bodies=(disc,), rotors=(Rotor("wheel", 0.3),), joints=(hinge,),
                  ratios=(Ratio("chain", "wheel", "disc", 3.0),),
                  loads=(Load("hand", "wheel", Constant(push)),))  # fmt: skip
    trace = run(scene, 1e-3, 0.5)
    faster = 3 * push / (0.3 * 9 + 2.0)  # rad/s2 of the driven disc: the wheel counts ninefold there
    np.testing.assert_allclose(trace.spins["disc"].acceleration[1:], faster, rtol=1e-9)
    np.testing.assert_allclose(trace.torques["chain"][1:], 2.0 * faster, rtol=1e-9)  # its own inertia only
    # On the driver it puts a third, the other way.
    on_wheel = push - trace.torques["chain"][1:] / 3
    np.testing.assert_allclose(on_wheel, 0.3 * trace.spins["wheel"].acceleration[1:], rtol=1e-9)


def test_a_push_and_a_spring_act_as_told() -> None:
    free = Body("free", 2.0, np.diag([0.1, 0.2, 0.3]), vector(0, 0, 0))
    pushed = Scene(bodies=(free,), pushes=(Push("push", "free", vector(4, 0, 0), vector(0, 0, 0.6)),),
                   gravity=np.zeros(3))  # fmt: skip
    pose = run(pushed, 1e-3, 0.5).poses["free"]
    np.testing.assert_allclose(pose.velocity[-1], [1, 0, 0], atol=1e-9)
    np.testing.assert_allclose(pose.angular_velocity[-1], [0, 0, 1], atol=1e-6)  # step 1 ms
    wire = Spring("wire", GROUND, "free", vector(0, 0, 1.2), free.com, 98.1, 1.0)
    hung = Scene(bodies=(free,), springs=(wire,))
    # 0.2 m too long: 19.62 N, the weight.
    np.testing.assert_allclose(run(hung, 1e-3, 0.5).poses["free"].position[-1], 0, atol=1e-9)


@pytest.mark.parametrize("axis", [Y, Z, X, SLANT, -SLANT], ids=str)
def test_torques_on_an_angle_do_not_bend_its_bearing(axis: Array) -> None:
    """A round body on a hinge through its centre: load, friction and ratio ask nothing of the hinge."""
    disc, hinge = spun(axis, 1.0)
    scene = Scene(bodies=(disc,), joints=(hinge,), rotors=(Rotor("wheel", 0.3, 0.0, 3.0),),
                  gravity=np.zeros(3), loads=(Load("hand", "disc", Constant(5.0)),), drags=(Drag("bush", "disc", 2.0),),
                  ratios=(Ratio("chain", "wheel", "disc", 3.0),))  # fmt: skip
    trace = run(scene, 1e-3, 0.5)
    np.testing.assert_allclose(trace.spins["disc"].acceleration[2:], 3 / (0.5 + 0.3 * 9), rtol=1e-9)
    # N m, of 5: what the tolerance of the Newton iteration leaves, going with it.
    np.testing.assert_allclose(trace.joints["hinge"].moment, 0, atol=1e-6)
    np.testing.assert_allclose(trace.joints["hinge"].force, 0, atol=1e-6)


@pytest.mark.parametrize("axis", [Y, SLANT], ids=str)
def test_a_motion_does_not_bend_its_bearing(axis: Array) -> None:
    """What holds up an off-centre weight about the axis is the motion; the hinge gives the rest."""
    disc, hinge = spun(axis, 2.0)
    off = 0.3 * np.cross(axis, X)
    com = disc.com + off
    arm = replace(disc, com=com, velocity=np.cross(2.0 * axis, off))
    scene = Scene(bodies=(arm,), joints=(hinge,), motions=(Motion("hand", "disc", 2.0),))
    trace = run(scene, 1e-3, 1.0)
    force, moment = needed(trace, arm, hinge, scene.gravity)
    given = moment - trace.torques["hand"][:, None] * axis  # the hinge's part of what the arm gets
    np.testing.assert_allclose(trace.joints["hinge"].force[1:], -force[1:], atol=1e-6 * 4 * G)
    np.testing.assert_allclose(trace.joints["hinge"].moment[1:-1], -given[1:-1], atol=1e-4 * 4 * G)


def test_spin_axes_that_no_turn_of_the_world_can_count_are_refused() -> None:
    axes = {"a": X, "b": SLANT, "c": rotation([1, 1, 0], 1.0) @ Y}
    bodies = tuple(Body(name, 1.0, np.eye(3), X, spin=axis) for name, axis in axes.items())
    with pytest.raises(ValueError, match="spin axes"):
        ENGINE.simulate(Scene(bodies=bodies), Stepping(1e-3, 0.1))


# Counting


def door(*hinges: float) -> Scene:
    panel = Body("door", 20.0, np.eye(3), vector(0.4, 0, 1))
    joints = tuple(Joint(f"hinge {z}", GROUND, "door", vector(0, 0, z), HINGE_Z) for z in hinges)
    return Scene(bodies=(panel,), joints=joints)


def test_freedom_of_a_door() -> None:
    assert ENGINE.freedom(door()) == Freedom(6, 0)
    assert ENGINE.freedom(door(0.3)) == Freedom(1, 0)
    assert ENGINE.freedom(door(0.3, 1.7)) == Freedom(1, 5)


def test_freedom_counts_rotors_ratios_and_motions() -> None:
    shafts = Scene(rotors=(Rotor("a", 1.0), Rotor("b", 1.0)))
    assert ENGINE.freedom(shafts) == Freedom(2, 0)
    joined = replace(shafts, ratios=(Ratio("chain", "a", "b", 3.0),))
    assert ENGINE.freedom(joined) == Freedom(1, 0)
    assert ENGINE.freedom(replace(joined, motions=(Motion("hand", "a", 0.0),))) == Freedom(0, 0)


# What goes wrong


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"joints": (Joint("pin", "nobody", GROUND, X, BALL),)}, "pin: no body 'nobody'"),
        ({"springs": (Spring("wire", GROUND, "nobody", X, Y, 1.0, 1.0),)}, "wire: no body 'nobody'"),
        ({"pushes": (Push("gust", "nobody"),)}, "gust: no body 'nobody'"),
        ({"loads": (Load("hand", "nobody", Constant(1.0)),)}, "hand: no angle 'nobody'"),
        ({"drags": (Drag("bush", "still", 1.0),)}, "bush: no angle 'still'"),
        ({"motions": (Motion("crank", "still", 1.0),)}, "crank: no angle 'still'"),
        ({"ratios": (Ratio("chain", "nobody", "still", 3.0),)}, "chain: no angle 'nobody'"),
        ({"rotors": (Rotor("still", 1.0),)}, "used twice in the scene: still"),
        ({"drags": (Drag("still", "still", 1.0),)}, "used twice in the scene: still"),
    ],
)
def test_a_scene_refuses_names_that_do_not_fit(parts: dict[str, tuple[object, ...]], words: str) -> None:
    still = Body("still", 1.0, np.eye(3), X)
    with pytest.raises(ValueError, match=words):
        Scene(bodies=(still,), **parts)  # type: ignore[arg-type]


def test_locked_turns_that_are_not_known_are_refused() -> None:
    body = Body("body", 1.0, np.eye(3), X)
    joint = Joint("odd", GROUND, "body", X, (True, True, True, True, False, False))
    with pytest.raises(ValueError, match="joint 'odd'"):
        ENGINE.simulate(Scene(bodies=(body,), joints=(joint,)), Stepping(1e-3, 0.1))


def runaway() -> Scene:
    """Give a linkage driven past its dead centre: a crank of 1 m, a rod of 1 m, and a slot it cannot reach.

    The ground's slot lies along x, 0.5 m above the crank's axle; the crank is turned down, away from it.
    """
    a, b = vector(0, 1, 0), vector(np.sqrt(0.75), 0.5, 0)
    crank = Body("crank", 1.0, np.eye(3), vector(0, 0, 0), angular_velocity=-Z, spin=Z)
    rate_a = np.cross(-Z, a)
    along = b - a
    rate_b = X * (rate_a @ along) / (along[0])
    rod = Body("rod", 1.0, np.eye(3), (a + b) / 2, velocity=(rate_a + rate_b) / 2,
               angular_velocity=np.cross(along, rate_b - rate_a))  # fmt: skip
    joints = (
        Joint("axle", GROUND, "crank", vector(0, 0, 0), HINGE_Z),
        Joint("pin", "crank", "rod", a, HINGE_Z),
        Joint("slot", GROUND, "rod", b, (False, True, False, False, False, False)),
    )
    return Scene(bodies=(crank, rod), joints=joints, motions=(Motion("hand", "crank", -1.0),))


def test_an_engine_error_carries_what_was_recorded() -> None:
    """The pin leaves the reach of the rod when it is 1 m below the slot: after 90 + 30 deg at 1 rad/s."""
    with pytest.raises(EngineError, match=r"could not go on at .* s of 5 s") as caught:
        ENGINE.simulate(runaway(), Stepping(1e-3, 5.0))
    trace = caught.value.trace
    assert trace is not None
    assert trace.time[-1] == pytest.approx(np.radians(120), abs=0.01)
    assert len(trace.poses["rod"].position) == len(trace.joints["pin"].force) == len(trace.time)


@pytest.mark.parametrize("error", [KeyboardInterrupt(), ZeroDivisionError("no bar")], ids=repr)
def test_an_error_inside_progress_reaches_the_caller(error: BaseException) -> None:
    def progress(share: float) -> None:
        if share > 0.5:
            raise error

    with pytest.raises(type(error)) as caught:
        ENGINE.simulate(Scene(rotors=(Rotor("shaft", 1.0),)), Stepping(1e-3, 0.5), progress)
    assert caught.value is error


def test_progress_rises_to_one() -> None:
    told: list[float] = []
    ENGINE.simulate(Scene(rotors=(Rotor("shaft", 1.0),)), Stepping(1e-3, 0.5), told.append)
    assert told == sorted(told)
    assert 0 < told[0] < 0.02
    assert told[-1] == pytest.approx(1.0, abs=0.02)
