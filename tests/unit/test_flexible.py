"""Crankshafts that bend in the engine: held against beam theory, statics and energy."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from models.loading import changed, load
from models.resolve import mechanism
from sim import names
from sim.arrays import Array
from sim.builders import Linkage, linkage, scene, stiff
from sim.builders.flexible import moved_pins
from sim.elastic import Bush
from sim.engines.base import Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.mass import crank_mass, joined, point
from sim.recording import channels
from sim.run import Channel
from sim.scenarios import LetGo
from sim.scenarios.jam import Jam
from sim.scene import BALL, GROUND, Joint, Motion, Scene
from sim.shaft.bending import Bent, bent
from sim.shaft.crank import MIDDLE, bearing, bearing_joints, crank_frame
from sim.shaft.modes import mass_matrix, shaft_modes, swinging
from sim.simulate import calculated
from sim.statics import statics

MODELS = Path(__file__).parents[2] / "models"
SLOW = 0.25
"""Crank speed, rad/s, at which a piece is as good as standing still: the wings' own forces are a hundredth of a
thousandth of their weights."""
SECOND = 0.025
"""What small displacements leave out: the demo's outer pin moves by 4 mm under a throw of 200 mm, and the engine's
loads act where it is."""


@cache
def closed(name: str, **changes: Any) -> Linkage:
    """Give an example whose crankshafts bend."""
    flexible = {"crank.flexible": True, **{k.replace("__", "."): v for k, v in changes.items()}}
    return linkage(mechanism(changed(load(MODELS / f"{name}.toml"), flexible)))


@cache
def turned(
    name: str, speed: float, step: float = 2e-3, turns: float = 1.0
) -> tuple[Linkage, Trace, dict[str, Channel]]:
    """Turn an example without friction by an exact drive."""
    return turn(closed(name), speed, step, turns)


def turn(
    made: Linkage, speed: float, step: float = 2e-3, turns: float = 1.0
) -> tuple[Linkage, Trace, dict[str, Channel]]:
    wheel = speed * made.mechanism.reduction
    built = scene(made, 0.0, wheel, friction=False, ideal=True, motions=(Motion("hold", names.WHEEL, wheel),))
    trace = ExudynEngine().simulate(built, Stepping(step, turns * 2 * np.pi / speed, "newmark"))
    return made, trace, channels(made.mechanism, built, trace)


def in_theory(made: Linkage, trace: Trace, side: int = 0, *, own: bool = False, speed: float = 0.0) -> Bent:
    """Bend a crankshaft under statics, or under what the engine's own rods put on it."""
    linked, m = made.sides[side], made.mechanism
    angle = trace.spins[names.crankshaft(linked.side.name)].angle
    found = statics(linked, angle, m.gravity, m.friction).forces
    eyes = {p.name: names.crank_eye(linked.side.name, p.name) for p in linked.side.panels}
    mirror = np.array([1.0, float(linked.side.sign), 1.0])
    pins = {p: trace.joints[e].force * mirror if own else found[e] for p, e in eyes.items()}
    return bent(linked.side, pins, angle, speed, gravity=m.gravity)


def sideways(v: Array) -> Array:
    return v[:, [0, 2]]


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_the_points_of_a_shaft_are_its_mass(name: str) -> None:
    side = closed(name).sides[0].side
    modes = shaft_modes(side)
    away = crank_frame(side).frame.nodes[0]
    whole = joined(point(m, p + away) for m, p in zip(modes.masses, modes.points, strict=True))
    expected = crank_mass(side)
    assert whole.mass == pytest.approx(expected.mass, rel=1e-12)
    assert whole.com == pytest.approx(expected.com, abs=1e-12)
    assert whole.inertia == pytest.approx(expected.inertia, abs=1e-10)


def test_the_shapes_bend_as_the_whole_frame_under_any_load_at_the_pins() -> None:
    side = closed("manta").sides[0].side
    crank, modes = crank_frame(side), shaft_modes(side)
    rng = np.random.default_rng(5)
    force = np.zeros(6 * len(crank.masses))
    for panel in side.panels:
        node = crank.node(f"throw of panel '{panel.name}'")
        force[6 * node : 6 * node + 3] = rng.normal(size=3) * 100
    force += crank.weight @ rng.normal(size=3) * 10
    whole = np.zeros_like(force)
    whole[6:] = np.linalg.solve(crank.frame.stiffness[6:, 6:], force[6:])
    by_shapes = modes.shapes @ ((modes.shapes.T @ force) / modes.stiffness)
    assert by_shapes == pytest.approx(whole, abs=1e-7 * np.abs(whole).max())


def test_shapes_are_of_mass_one_and_swing_by_themselves() -> None:
    side = closed("moth").sides[0].side
    modes = shaft_modes(side)
    mass = modes.shapes.T @ mass_matrix(modes.crank) @ modes.shapes
    assert mass == pytest.approx(np.eye(len(mass)), abs=1e-6)
    K = modes.crank.frame.stiffness
    own = modes.shapes.T @ K @ modes.shapes / np.sqrt(np.outer(modes.stiffness, modes.stiffness))
    assert own == pytest.approx(np.eye(len(own)), abs=1e-6)
    # Points carry the same mass as the matrix, turn for turn.
    by_points = np.einsum("pik,pil,p->kl", modes.moves, modes.moves, modes.masses)
    assert by_points == pytest.approx(mass, abs=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["manta", "moth"])
def test_engine_and_beam_theory_agree_on_the_static_whip_over_a_turn(name: str) -> None:
    made, trace, found = turned(name, SLOW)
    settled = trace.time > 3.0
    theory = in_theory(made, trace)
    for station in theory.crank.stations:
        shape = sideways(theory.deflection(station.node))[settled]
        whip = np.linalg.norm(shape, axis=1).max()
        at = f"shafts/left crankshaft, {station.label}"
        engine = sideways(found[f"{at}/deflection"].values)[settled]
        assert np.linalg.norm(engine - shape, axis=1).max() < 0.02 * max(whip, 1e-5)
        slope = sideways(theory.turn(station.node))[settled]
        steep = np.linalg.norm(slope, axis=1).max()
        turns = sideways(found[f"{at}/turn"].values)[settled]
        assert np.linalg.norm(turns - slope, axis=1).max() < 0.02 * steep


@pytest.mark.slow
@pytest.mark.parametrize(("name", "side"), [("manta", 0), ("manta", 1), ("moth", 1)])
def test_under_the_engine_s_own_rods_theory_bends_alike_and_carries_alike(name: str, side: int) -> None:
    made, trace, found = turned(name, SLOW)
    settled = trace.time > 3.0
    own = in_theory(made, trace, side, own=True, speed=SLOW)
    linked = made.sides[side].side
    crank = names.crankshaft(linked.name)
    for station in own.crank.stations:
        shape = sideways(own.deflection(station.node))[settled]
        engine = sideways(found[f"shafts/{crank}, {station.label}/deflection"].values)[settled]
        assert engine == pytest.approx(shape, abs=SECOND * max(np.abs(shape).max(), 1e-4))
    mirror = np.array([1.0, float(linked.sign), 1.0])
    for number, joint in enumerate(bearing_joints(linked), 1):
        force = own.bearing_force(number)[settled]
        assert trace.joints[joint].force[settled] * mirror == pytest.approx(
            force, abs=0.01 * np.abs(force).max()
        )
    theory = own.end_loads[settled, :, 1, 3:]
    for k, member in enumerate(own.crank.frame.members):
        moment = found[f"shafts/{crank}, {k + 1:02d} {member.name}/moment"].values[settled]
        assert moment == pytest.approx(theory[:, k], abs=SECOND * np.abs(theory).max())


def test_a_shaft_rings_at_the_frequency_of_its_frame_on_its_bearings() -> None:
    made = closed("moth")
    side = made.sides[0].side
    crank = crank_frame(side)
    built = scene(made, 0.0, 0.0, friction=False, ideal=True)
    shaft = built.flexibles[0]
    held = tuple(j for j in built.joints if shaft.name in (j.a, j.b) and GROUND in (j.a, j.b))
    K, M = crank.frame.stiffness, mass_matrix(crank)
    rows = [6 * crank.node(bearing(1)) + k for k in (0, 1, 2)]
    rows += [6 * crank.node(bearing(2)) + k for k in (0, 2)] + [4]
    free = np.setdiff1d(np.arange(len(K)), rows)
    squares, shapes = swinging(K[np.ix_(free, free)], M[np.ix_(free, free)])
    # The engine's shaft may turn; it is struck where its slowest swing with a held angle lies.
    slow = float(np.sqrt(squares[0]))
    start = np.zeros(len(K))
    start[free] = shapes[:, 0]
    node = 6 * crank.node(f"throw of panel '{side.panels[0].name}'")
    start *= 1e-4 / np.abs(start[node : node + 3]).max()
    modes = shaft_modes(side)
    from sim.shaft.modes import relative

    away = relative(crank, start)
    struck = replace(
        shaft,
        amplitudes=modes.shapes.T @ K @ away / modes.stiffness,
        rotation=np.eye(3) @ rotation_of(start[3:6]),
        place=crank.frame.nodes[0] + start[:3],
        damping=0.0,
        angle=0.0,
        velocity=np.zeros(3),
        angular_velocity=np.zeros(3),
    )
    joints = tuple(replace(j, point=struck.places[struck_node(crank, k)]) for k, j in enumerate(held, 1))
    hold = Motion("hold", shaft.name, 0.0)
    alone = Scene(flexibles=(struck,), joints=joints, motions=(hold,), gravity=np.zeros(3))
    period = 2 * np.pi / slow
    trace = ExudynEngine().simulate(alone, Stepping(period / 200, 6 * period))
    moved = trace.bending[shaft.name].places[:, node // 6] - (crank.frame.nodes[node // 6])
    way = np.argmax(np.abs(start[node : node + 3]))
    course = moved[:, way]
    crossings = np.flatnonzero(np.diff(np.sign(course)) != 0)
    times = [
        trace.time[k] - course[k] * (trace.time[k + 1] - trace.time[k]) / (course[k + 1] - course[k])
        for k in crossings
    ]
    assert np.mean(np.diff(times)) == pytest.approx(period / 2, rel=5e-3)


def rotation_of(turn: Array) -> Array:
    from sim.arrays import rotation_matrix

    return rotation_matrix(turn[None])[0]


def struck_node(crank: Any, number: int) -> int:
    return crank.node(bearing(number))


@pytest.mark.slow
def test_three_bearings_share_in_the_engine_as_in_theory() -> None:
    places = [{"out": "250 mm"}, {"out": "930 mm"}, {"out": "590 mm", "misaligned": {"up": "0.3 mm"}}]
    made = linkage(
        mechanism(changed(load(MODELS / "manta.toml"), {"crank.flexible": True, "crank.bearings": places}))
    )
    _, trace, _ = turn(made, 1.0, 2e-3, 0.5)
    settled = trace.time > 0.5
    own = in_theory(made, trace, own=True, speed=1.0)
    for number, joint in enumerate(bearing_joints(made.sides[0].side), 1):
        force = own.bearing_force(number)[settled]
        # The third is off line: what it takes rests on second-order places by a few per cent.
        assert trace.joints[joint].force[settled] == pytest.approx(force, abs=0.05 * np.abs(force).max())
    assert np.abs(own.bearing_force(3)).max() > 100


@pytest.mark.slow
def test_a_loose_bush_lets_the_shaft_lie_where_it_is_pressed() -> None:
    places = [
        {"out": "250 mm", "clearance": "0.2 mm"},
        {"out": "930 mm", "clearance": "0.2 mm", "stiffness": "50 kN/mm"},
    ]
    made = linkage(
        mechanism(changed(load(MODELS / "manta.toml"), {"crank.flexible": True, "crank.bearings": places}))
    )
    _, trace, found = turn(made, 1.0, 2e-3, 0.5)
    settled = trace.time > 1.0
    own = in_theory(made, trace, own=True, speed=1.0)
    for number, joint in enumerate(bearing_joints(made.sides[0].side), 1):
        engine = sideways(found[f"shafts/left crankshaft, {bearing(number)}/deflection"].values)[settled]
        shape = sideways(own.deflection(own.crank.node(bearing(number))))[settled]
        assert np.linalg.norm(engine, axis=1) == pytest.approx(np.full(settled.sum(), 1.02e-4), abs=5e-6)
        assert engine == pytest.approx(shape, abs=5e-6)
        force = sideways(own.bearing_force(number))[settled]
        assert sideways(trace.joints[joint].force)[settled] == pytest.approx(
            force, abs=0.03 * np.abs(force).max()
        )


def test_a_bush_pushes_back_and_never_pulls() -> None:
    bush = Bush("bush", GROUND, "shaft", np.zeros(3), np.zeros(3), np.array([0.0, 1.0, 0.0]), 1e6, 2e-4, 1e-3)
    off = np.array([[5e-5, 0.3, 0.0], [3e-4, 0.0, 0.0], [0.0, 0.0, -3e-4], [3e-4, 0.0, 0.0]])
    rate = np.array([[0.0, 0, 0], [0.0, 0, 0], [0.0, 0, 0], [-1.0, 0, 0]])
    force = bush.load(off, rate)
    assert force[0] == pytest.approx([0, 0, 0])
    assert force[1] == pytest.approx([200, 0, 0], rel=1e-6)
    assert force[2] == pytest.approx([0, 0, -200], rel=1e-6)
    assert force[3] == pytest.approx([0, 0, 0])


@pytest.mark.slow
def test_a_bowed_shaft_whips_by_its_bow_and_shifts_the_wings() -> None:
    bow = {"crank.flexible": True, "crank.runout": "4 mm", "crank.runout_angle": "30 deg"}
    made = linkage(mechanism(changed(load(MODELS / "manta.toml"), bow)))
    _, trace, found = turn(made, 1.0, 2e-3, 0.5)
    settled = trace.time > 0.5
    own = in_theory(made, trace, own=True, speed=1.0)
    shape = sideways(own.deflection(own.crank.node(MIDDLE)))[settled]
    engine = sideways(found[f"shafts/left crankshaft, {MIDDLE}/deflection"].values)[settled]
    assert engine == pytest.approx(shape, abs=SECOND * np.abs(shape).max())
    assert np.linalg.norm(shape, axis=1).max() > 2e-3
    # A wing stands where the displaced pin puts it.
    at = np.flatnonzero(settled)[::200]
    linked = made.sides[0]
    for k in at:
        nodes = own.crank.frame.nodes + own.moved[k].reshape(-1, 6)[:, :3]
        moved = moved_pins(linked, own.crank, nodes)
        angle = trace.spins["left crankshaft"].angle[k]
        for course in moved.course(np.array([angle])):
            engine_angle = found[f"panels/left {course.panel.name}/angle"].values[k]
            # `SECOND` of the pin's 4.5 mm over the yoke's arm of 260 mm; the bow alone turns it by 8e-3.
            assert engine_angle == pytest.approx(float(course.angle.value[0]), abs=4.3e-4)


@pytest.mark.slow
def test_energy_is_kept_when_a_flexible_piece_is_let_go() -> None:
    sculpture = changed(load(MODELS / "manta.toml"), {"crank.flexible": True})
    run = calculated(sculpture, LetGo(6.28, 2.0, lasts=4.0))
    parts = [run[f"energy/{k}/energy"] for k in ("kinetic", "potential", "strain", "lost")]
    total = np.sum(parts, axis=0)
    assert np.ptp(parts[1]) > 30
    assert np.ptp(parts[3]) > 10
    assert np.abs(total - total[0]).max() < 0.005 * np.ptp(parts[1])


def test_the_reduced_model_refuses_a_crankshaft_that_bends() -> None:
    from sim.engines.base import NotReduced

    with pytest.raises(NotReduced, match="bends"):
        calculated(
            changed(load(MODELS / "moth.toml"), {"crank.flexible": True}), LetGo(1.0, 0.0), method="reduced"
        )


def test_a_joint_away_from_a_shaft_s_points_is_refused() -> None:
    built = scene(closed("moth"), 0.0, 0.0)
    shaft = built.flexibles[0]
    lost = Joint("lost", GROUND, shaft.name, np.array([0.5, 0.5, 0.5]), BALL)
    with pytest.raises(ValueError, match="no point"):
        ExudynEngine().freedom(replace(built, joints=(*built.joints, lost)))


def test_nothing_is_constrained_twice() -> None:
    for places in (None, [{"out": "250 mm"}, {"out": "930 mm"}, {"out": "590 mm", "clearance": "0.1 mm"}]):
        more = {} if places is None else {"crank.bearings": places}
        made = linkage(mechanism(changed(load(MODELS / "manta.toml"), {"crank.flexible": True, **more})))
        built = scene(made, 0.3, 0.0)
        found = ExudynEngine().freedom(built)
        assert found.redundant == 0
        # The wheel, two shafts between, and of each side six movements and its shapes, less what its bearings hold.
        shapes = sum(len(f.stiffness) for f in built.flexibles)
        assert found.movements == 3 + shapes + 2 * (6 - 5)


def test_a_start_at_working_speed_lies_on_the_course_of_a_rigid_shaft_s() -> None:
    wheel = 6.28
    forces: list[Array] = []
    for made, rule in ((closed("moth"), "newmark"), (stiff(closed("moth")), "trapezoidal")):
        built = scene(made, 0.0, wheel, motions=(Motion("hold", names.WHEEL, wheel),))
        trace = ExudynEngine().simulate(built, Stepping(5e-4, 0.03, rule))
        forces.append(np.linalg.norm(trace.joints["left wing rod end at crank"].force, axis=1))
    assert forces[0] == pytest.approx(forces[1], rel=0.05)


@pytest.mark.slow
def test_a_jam_begins_with_the_blocked_side_standing() -> None:
    spider = {"crank.coupling": {"kind": "elastic", "stiffness": "900 N m/rad"}}
    runs = [
        calculated(changed(load(MODELS / "moth.toml"), {**spider, "crank.flexible": flexible}),
                   Jam(6.28, "left", "crank", 1.0))
        for flexible in (True, False)
    ]  # fmt: skip
    bent, stiff = (r["joints/left wing rod end at crank/force"] for r in runs)
    assert np.linalg.norm(bent, axis=1)[:5] == pytest.approx(np.linalg.norm(stiff, axis=1)[:5], rel=0.05)
    assert np.abs(runs[0]["angles/left crankshaft/speed"]).max() < 0.05
    assert runs[0]["health/gap/distance"].max() < 1e-5


def test_a_third_bearing_rubs_as_it_is_pressed() -> None:
    places = [{"out": "250 mm"}, {"out": "930 mm"}, {"out": "590 mm"}]
    made = linkage(
        mechanism(changed(load(MODELS / "manta.toml"), {"crank.flexible": True, "crank.bearings": places}))
    )
    drags = {d.on: d for d in scene(made, 0.3, 0.0).drags}
    rubs = {r.of for r in drags["left crankshaft"].rubs}
    assert set(bearing_joints(made.sides[0].side)) <= rubs


def test_energy_of_a_bush_is_what_its_load_gives_back() -> None:
    bush = Bush("bush", GROUND, "shaft", np.zeros(3), np.zeros(3), np.array([0.0, 1.0, 0.0]), 1e6, 2e-4, 1e-3)
    depth = np.linspace(0, 3e-4, 2001)
    off = np.stack([1e-4 + depth, 0 * depth, 0 * depth], -1)
    still = bush.load(off, np.zeros_like(off))[:, 0]
    stored, none = bush.energies(off, np.zeros_like(off))
    assert stored[-1] == pytest.approx(np.sum((still[1:] + still[:-1]) / 2 * np.diff(depth)), rel=1e-6)
    assert none == pytest.approx(np.zeros(2001))
    moving = np.tile([0.1, 0.0, 0.0], (2001, 1))
    taken = bush.energies(off, moving)[1]
    assert taken == pytest.approx((bush.load(off, moving)[:, 0] - still) * 0.1)
    assert np.all(taken >= 0)


def test_a_run_whose_joints_come_apart_is_a_failed_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sim.simulate.APART", 1e-15)
    run = calculated(load(MODELS / "moth.toml"), LetGo(1.0, 0.0, lasts=0.2))
    assert run.status == "failed"
    assert "joints came apart" in run.reason
