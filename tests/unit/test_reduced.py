"""The reduced model against the engine: the same scene, the same steps, two ways."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.cases import cases
from models.loading import DescriptionError, load
from models.resolve import mechanism
from sim import names
from sim.barrier import NEAR, swing
from sim.builders import Linkage, linkage
from sim.engines.base import NotReduced, Stepping, Trace
from sim.engines.exudyn import ExudynEngine
from sim.expanding import expanded
from sim.reduced.method import Reduced
from sim.scenarios import Crank, Grab, Gust, HoldOn, LetGo, Moving, Stop, Turn
from sim.simulate import simulate
from tests.agreement import apart, impacts, joint_forces, panel_angles, peaks, spread

MODELS = Path(str(files("models")))
RPM = np.pi / 30


@pytest.fixture(scope="module", params=["manta", "manta_stand", "moth"])
def closed(request: pytest.FixtureRequest) -> Linkage:
    return linkage(mechanism(load(MODELS / f"{request.param}.toml")))


def both(closed: Linkage, doing: Moving, end: float) -> tuple[Trace, Trace]:
    built, stepping = doing.scene(closed), Stepping(doing.step(closed), min(end, doing.end(closed)))
    return ExudynEngine().simulate(built, stepping), Reduced(closed).simulate(built, stepping)


def at(time: np.ndarray, there: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Give values of one time axis on another; the engine's has more rows where it shortened a step."""
    if values.ndim == 1:
        return np.interp(time, there, values)
    return np.stack([np.interp(time, there, column) for column in values.T], -1)


DOINGS: list[Moving] = [
    Turn(60 * RPM),
    LetGo(60 * RPM, np.radians(300)),
    Crank("adult"),
    HoldOn("adult", 20 * RPM, 1.0),
    Grab("adult", 20 * RPM, 1.0, 0.5),
    Stop(20 * RPM, 0.3, 1.0),
]


@pytest.mark.parametrize("doing", DOINGS, ids=lambda d: d.case)
def test_it_agrees_with_the_engine(closed: Linkage, doing: Moving) -> None:
    """Joint forces within .5 % of their peak as asked, measured .1 %.

    The moth's handle whips round: a step's own error moves it by some milliradians there, in both alike.
    """
    full, reduced = both(closed, doing, 4.0)
    assert panel_angles(closed, full) <= 0.01  # deg, at equal crank angle
    # Where a hand's torque or speed jumps with nothing to give before the crank, the engine's forces swing about their
    # mean from step to step, 1.5 % (stop) and 14 % (grab) of their peak.
    if closed.mechanism.stages or not isinstance(doing, Grab | Stop):
        assert joint_forces(closed, full)[0] <= 5e-3
    time = full.time[full.time <= reduced.time[-1]]
    assert len(time) > 100
    n = len(time)
    for name, spin in full.spins.items():
        other = at(time, reduced.time, reduced.spins[name].angle)
        if name.endswith("crankshaft") or name == names.WHEEL:
            assert np.abs(spin.angle[:n] - other).max() < 1e-2
            fast = np.abs(spin.speed).max()
            assert np.abs(spin.speed).max() == pytest.approx(
                np.abs(reduced.spins[name].speed).max(), abs=2e-3 * fast
            )
    for name, load_ in full.joints.items():
        peak = np.linalg.norm(load_.force, axis=1).max()
        ours = np.linalg.norm(reduced.joints[name].force, axis=1).max()
        # Where a prescribed acceleration jumps, the engine's own swings from step to step about its mean, and with
        # it all that is tied to the wheel without a chain.
        off = (
            0.15
            if isinstance(doing, Stop) and (name == names.WHEEL_BEARINGS or not closed.mechanism.stages)
            else 5e-3
        )
        assert ours == pytest.approx(peak, rel=off), name
    for name, (a, b) in full.tensions.items():
        most = max(a.max(), b.max())
        other = reduced.tensions[name]
        assert max(x.max() for x in other) == pytest.approx(most, rel=0.01)


RELEASES = [("manta", 60.0, 300.0), ("manta", 30.0, 90.0), ("moth", 60.0, 60.0), ("moth", 30.0, 200.0)]
"""Pieces, wheel speeds, rpm, and crank angles, deg, that stay clear of stalling."""


@pytest.mark.parametrize(("name", "rpm", "degrees"), RELEASES)
def test_let_go_it_goes_as_far_and_as_fast(name: str, rpm: float, degrees: float) -> None:
    """Peak speed within .2 % until the first near-stall as asked, and the tops met with the same energy to spare."""
    piece = linkage(mechanism(load(MODELS / f"{name}.toml")))
    found = apart(piece, *both(piece, LetGo(rpm * RPM, np.radians(degrees)), 20.0))
    assert not found.near, "choose another release"
    assert found.speed <= 2e-3
    assert found.force <= 5e-3, found.joint
    assert found.stall[1] == pytest.approx(found.stall[0], abs=1e-3 * swing(piece))


@pytest.mark.parametrize(("name", "rpm", "degrees"), [("manta", 61.0, 135.0), ("moth", 10.0, 0.0)])
def test_what_all_but_stalls_at_a_top_is_named_by_both(name: str, rpm: float, degrees: float) -> None:
    """Such a run is compared until it all but stalls, and what it does then by nobody."""
    piece = linkage(mechanism(load(MODELS / f"{name}.toml")))
    found = apart(piece, *both(piece, LetGo(rpm * RPM, np.radians(degrees)), 20.0))
    assert max(abs(s) for s in found.stall) < NEAR * swing(piece)
    assert found.speed <= 2e-3
    assert found.force <= 5e-3, found.joint


@pytest.mark.slow
@pytest.mark.parametrize("name", ["manta", "manta_stand"])
def test_slack_is_taken_up_within_the_spread_that_the_engine_itself_shows(name: str) -> None:
    """Over the step, its half and quarter, half and twice the stiffness, half and twice the damping.

    What a take-up does not touch stays within .5 %.
    """
    piece = linkage(mechanism(load(MODELS / f"{name}.toml")))
    doing = LetGo(60 * RPM, np.radians(300))
    built, stepping = doing.scene(piece), Stepping(doing.step(piece), 3.0)
    full, reduced = spread(ExudynEngine(), built, stepping), Reduced(piece).simulate(built, stepping)
    for chain, pull in impacts(reduced).items():
        pulls = [impacts(t)[chain] for t in full]
        assert 0 < min(pulls) <= pull <= max(pulls), chain
    for joint, force in peaks(reduced).items():
        forces = [peaks(t)[joint] for t in full]
        assert min(forces) <= force <= max(forces) or force == pytest.approx(forces[0], rel=5e-3), joint


@pytest.mark.parametrize("doing", [Turn(60 * RPM), LetGo(60 * RPM, np.radians(300))], ids=lambda d: d.case)
def test_its_trace_is_the_engines_at_every_step(closed: Linkage, doing: Moving) -> None:
    """Poses, velocities, loads and torques at each of the engine's own steps, not peaks alone."""
    full, reduced = both(closed, doing, 1.0)
    assert full.time == pytest.approx(reduced.time, abs=1e-9)
    for name, pose in full.poses.items():
        other = reduced.poses[name]
        np.testing.assert_allclose(pose.position, other.position, atol=1e-4, err_msg=name)
        # A quaternion and its negative are the same turn; a rod's spin is known to its lock's axis.
        same = np.abs(np.sum(pose.quaternion * other.quaternion, -1))
        np.testing.assert_allclose(same, 1.0, atol=1e-5, err_msg=name)
        fast = np.abs(pose.velocity).max() + 1e-3
        np.testing.assert_allclose(pose.velocity, other.velocity, atol=1e-3 * fast, err_msg=name)
    for name, load_ in full.joints.items():
        # What a rod's spin lock carries is some 1e-5 N m, and differs by the axis it acts about.
        size = np.abs(load_.force).max()
        np.testing.assert_allclose(load_.force, reduced.joints[name].force, atol=2e-3 * size, err_msg=name)
        turning = max(float(np.abs(load_.moment).max()), 1.0)
        np.testing.assert_allclose(
            load_.moment, reduced.joints[name].moment, atol=2e-3 * turning, err_msg=name
        )
    for name, torque in full.torques.items():
        size = max(float(np.abs(torque).max()), 0.1)
        off = np.abs(torque - reduced.torques[name])
        # Where it turns round, friction jumps, and a light shaft may rattle a step early.
        assert np.quantile(off, 0.99) < 1e-2 * size, name


@pytest.mark.parametrize(
    "changes",
    [
        {"limiter": {"at": "stage 2", "torque": "12 N m"}},
        {"limiter": {"at": "wheel", "torque": "4 N m"}},
        {"crank.coupling.backlash": "1 deg"},
        {"crank.coupling": {"kind": "clamp"}},
        {"stage.1": {"teeth": [13, 38], "kind": "direct"}},
        {"stage.1": {"teeth": [13, 38], "tight": "80 N", "centres": "2450 mm"}},
        {"stage.1": {"teeth": [13, 38], "pitch": "12.7 mm", "centres": "2450 mm",
                     "tensioner": {"force": "60 N", "rate": "2 N/mm", "travel": "15 mm"}}},
        {"crank.bearings": ["250 mm", {"out": "590 mm", "on": "arm", "stiffness": "2 kN/mm"}, "930 mm"]},
    ],
    ids=["limiter", "limiter at the wheel", "backlash", "clamp", "direct", "tight", "tensioner", "third bearing"],
)  # fmt: skip
def test_every_part_of_a_drive_is_there(changes: dict[str, object]) -> None:
    closed = linkage(mechanism(load(MODELS / "manta.toml", changes)))
    full, reduced = both(closed, Turn(60 * RPM), 1.5)
    time, there = full.time, reduced.time
    for name in (names.crankshaft("left"), names.WHEEL):
        assert np.abs(full.spins[name].angle - at(time, there, reduced.spins[name].angle)).max() < 1e-4
    for name, torque in full.torques.items():
        if "friction" not in name:
            size = max(float(np.abs(torque).max()), 0.1)
            off = np.abs(torque - at(time, there, reduced.torques[name]))
            # Between two rows of a shortened step a jump is cut, and a rattle may be a step early.
            assert np.quantile(off, 0.99) < 2e-2 * size, name


def test_a_run_by_either_method_has_the_same_channels(tmp_path: Path) -> None:
    moth = load(MODELS / "moth.toml")
    doing = LetGo(30 * RPM, 1.0)
    full = simulate(moth, doing, runs=tmp_path, check=False)
    reduced = simulate(moth, doing, method="reduced", runs=tmp_path, check=False)
    # Rounding of the engine makes a moment where there is none.
    more = set(full.channels) ^ set(reduced.channels)
    assert all(name.endswith("/moment") and np.abs(full[name]).max() < 1e-3 for name in more)
    assert reduced.settings["method"] == "reduced"
    assert reduced.versions["engine"].startswith("reduced")
    assert reduced.id != full.id
    for name in (
        "energy/kinetic/energy",
        "energy/potential/energy",
        "energy/lost/energy",
        "energy/strain/energy",
    ):
        ours, theirs = reduced[name], full[name]
        n = min(len(ours), len(theirs))
        assert np.abs(ours[:n] - theirs[:n]).max() < 0.01 * max(1.0, float(np.abs(theirs).max()))
    assert {e.channel for e in full.extrema} - {e.channel for e in reduced.extrema} <= more


def test_what_it_knows_nothing_of_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(DescriptionError) as refused:
        simulate(load(MODELS / "moth.toml"), Gust(20.0, 0.0), method="reduced", runs=tmp_path, check=False)
    (line,) = refused.value.lines
    assert line.endswith("knows nothing of wind or a push on a panel; write method engine")


OTHERS = [("manta_stand", "hanging-free", "people on a wing"), ("manta", "broken", "joints added or missing")]
OTHERS += [("manta", "jammed", "a blocked panel")]


@pytest.mark.parametrize(("name", "case", "words"), OTHERS)
def test_a_scene_that_its_tables_do_not_describe_is_refused(name: str, case: str, words: str) -> None:
    """A scene of a changed piece would be followed with the tables of the unchanged one."""
    sculpture = load(MODELS / f"{name}.toml")
    piece = linkage(mechanism(sculpture))
    made = [s for s in expanded(cases(sculpture)[case], piece).scenarios if isinstance(s, Moving)]
    doing = next((s for s in made if "rod" in s.label), made[-1])
    with pytest.raises(NotReduced, match=words):
        Reduced(piece).simulate(doing.scene(piece), Stepping(1e-3, 0.1))


def test_it_rests_when_the_engine_does(closed: Linkage) -> None:
    doing = LetGo(25 * RPM, np.radians(40))
    full, reduced = both(closed, doing, 150.0)
    assert full.rested
    assert reduced.rested
    # The last swing is the more sensitive, the smaller it is.
    assert reduced.time[-1] == pytest.approx(full.time[-1], rel=0.05)
