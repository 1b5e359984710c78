"""Findings from runs: figures against closed forms and hand calculations."""

from dataclasses import replace
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from analysis import bearing_loads, chain_fit, handle, masses, motion, shaft_whip
from analysis.finding import Finding, Limit, beyond, worst
from analysis.of_run import of_run
from analysis.sensitivity import weights
from models.loading import load
from models.mechanism import Stage
from models.resolve import mechanism
from sim import names
from sim.beam import influence, round_second_moment
from sim.builders import linkage, mean_friction
from sim.closed_form import gravity_torque, moving_parts
from sim.run import Run
from sim.scenarios import LetGo, Turn
from sim.simulate import simulate
from sim.statics import statics

MODELS = Path(str(files("models")))
RPM = np.pi / 30
MANTA = load(MODELS / "manta.toml")
CLOSED = linkage(mechanism(MANTA))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("runs")


@pytest.fixture(scope="module")
def turn(folder: Path) -> Run:
    return simulate(MANTA, Turn(10 * RPM), runs=folder)


@pytest.fixture(scope="module")
def gone(folder: Path) -> Run:
    return simulate(MANTA, LetGo(60 * RPM, np.radians(300)), runs=folder)


def value(found: list[Finding], what: str, where: str | None = None) -> float:
    return next(f.value for f in found if f.what == what and where in (None, f.where))


def test_margins() -> None:
    at_most = Finding("x", 8.0, "force", "here", "case", limit=Limit(10.0, "most", "s"))
    at_least = replace(at_most, limit=Limit(10.0, "least", "s"))
    assert at_most.margin == pytest.approx(0.2)
    assert at_least.margin == pytest.approx(-0.2)
    assert not at_most.beyond
    assert at_least.beyond
    assert replace(at_most, value=float("nan")).beyond  # a figure that is not there is not within
    assert beyond([at_most, at_least]) == [at_least]
    bigger = replace(at_most, value=9.0, case="other")
    assert worst([at_most, bigger]) == [bigger]
    assert at_most.table()["unit"] == "N"


def test_hand_force_of_a_slow_turn(turn: Run) -> None:
    """The largest torque is that of the weights over the reduction plus friction; the hand's at the rim."""
    m = CLOSED.mechanism
    crank = np.linspace(0, 2 * np.pi, 3601)
    weight = sum(gravity_torque(moving_parts(s, crank), m.gravity) for s in CLOSED.sides)
    rubs = sum(mean_friction(s, m) for s in CLOSED.sides) / m.reduction + m.friction.wheel_drag
    found = handle.findings(turn)
    # At 10 rpm inertia is below 1e-4 of the weights, and steps are a seventh of a degree.
    assert value(found, "largest torque of the hand") == pytest.approx(
        weight.max() / m.reduction + rubs, rel=5e-4
    )
    assert value(found, "largest hand force") == pytest.approx(
        (weight.max() / m.reduction + rubs) / 0.38, rel=5e-4
    )
    back = -(weight.min() / m.reduction + rubs) / 0.38
    assert value(found, "largest force with which the wheel drives the hand") == pytest.approx(back, rel=5e-4)
    share = np.mean(weight[:-1] / m.reduction + rubs < 0)
    assert value(found, "share of the time in which the wheel drives the hand") == pytest.approx(
        share, abs=2e-3
    )
    power = rubs * 10 * RPM
    assert value(found, "mean power of the hand") == pytest.approx(power, rel=3e-3)


def test_backward_turn_gives_forces_of_the_same_sense(folder: Path) -> None:
    run = simulate(MANTA, Turn(-10 * RPM), runs=folder, check=False)
    found = handle.findings(run)
    assert value(found, "largest hand force") > 0
    assert 0 < value(found, "share of the time in which the wheel drives the hand") < 0.5
    assert value(found, "mean power of the hand") > 0


def test_bearing_loads_of_a_slow_turn_are_static(turn: Run) -> None:
    m = CLOSED.mechanism
    crank = np.linspace(0, 2 * np.pi, 3601)
    still = statics(CLOSED.sides[0], crank, m.gravity, m.friction).forces
    found = bearing_loads.findings(turn)
    for joint in (names.locating("left"), names.radial("left"), names.crank_eye("left", "outer")):
        expected = np.linalg.norm(still[joint], axis=1).max()
        # The static closed form leaves out the friction's torque, which shifts no joint's force, and inertia.
        assert value(found, "largest force", joint) == pytest.approx(expected, rel=2e-3)
    tight = value(found, "largest pull of the tight strand", "stage 2 chain")
    torque = np.abs(turn["torques/stage 2 chain/torque"]).max()
    assert tight == pytest.approx(torque / (40 * 0.0127 / (2 * np.pi)))


def test_chain_pull_by_hand(turn: Run) -> None:
    """Torque at the wheel over its sprocket's travel radius pulls the first chain."""
    hand = np.abs(turn["torques/hand/torque"])
    drag = CLOSED.mechanism.friction.wheel_drag
    first = turn["chains/stage 1 chain/tension"]
    net = np.abs(turn["torques/hand/torque"] - drag) / (13 * 0.0127 / (2 * np.pi))
    # The wheel turns at a held speed, so nothing goes into its inertia.
    np.testing.assert_allclose(first, net, atol=1e-6 * first.max())
    assert hand.max() > drag


def test_letting_go_findings(gone: Run) -> None:
    found = handle.findings(gone)
    speed = gone["angles/wheel/speed"]
    assert value(found, "peak wheel speed after letting go") == pytest.approx(np.abs(speed).max())
    assert value(found, "peak rim or grip speed after letting go") == pytest.approx(
        np.abs(speed).max() * 0.38
    )
    assert value(found, "largest backward wheel speed") == pytest.approx(-speed.min())
    assert value(found, "time to rest") == gone.time[-1] < 299
    kinetic = gone["energy/kinetic/energy"]
    assert value(found, "largest kinetic energy") == pytest.approx(kinetic.max())
    # By hand: the wheel has nearly all of the inertia, so 1/2 J w^2 is the energy to a few per cent.
    inertia = 239.3 / CLOSED.mechanism.reduction**2
    assert kinetic.max() == pytest.approx(0.5 * inertia * (speed**2).max(), rel=0.02)


def test_a_wheel_that_only_slows_peaks_at_its_release(folder: Path) -> None:
    run = simulate(MANTA, LetGo(25 * RPM, np.radians(210)), runs=folder, check=False)
    found = {f.what: f for f in handle.findings(run)}
    peak = found["peak wheel speed after letting go"]
    assert peak.value == pytest.approx(25 * RPM)
    assert peak.time == 0
    assert peak.crank == pytest.approx(np.radians(210))


def test_whip_is_the_beam_under_the_recorded_loads(turn: Run) -> None:
    side = CLOSED.mechanism.sides[0]
    found = shaft_whip.findings(turn)
    bent = shaft_whip.deflection(turn, side, 9.81)
    n = 100
    inertia = round_second_moment(0.0254) * 200e9
    expected = np.zeros(2)
    for panel in side.panels:
        load_ = turn[f"joints/{names.crank_eye('left', panel.name)}/force"][n, [0, 2]]
        expected += (
            influence(np.array([0.59]), np.array([panel.throw_out]), (0.25, 0.93), inertia)[0, 0] * load_
        )
    from sim.mass import crank_pieces

    for place, piece in crank_pieces(side):
        weight = np.array([0.0, -piece.mass * 9.81])
        expected += influence(np.array([0.59]), np.array([place]), (0.25, 0.93), inertia)[0, 0] * weight
    # At a crank speed of .13 rad/s the unbalance's pull is a ten-thousandth of the weight.
    np.testing.assert_allclose(bent.movement[n, 2], expected, rtol=1e-3, atol=1e-8)
    largest = np.linalg.norm(bent.movement, axis=2).max(axis=0)
    assert value(found, "largest sideways deflection", "left crankshaft, mid-span") == pytest.approx(
        largest[2]
    )


def test_runout_adds_half_its_reading(folder: Path) -> None:
    bowed = load(MODELS / "manta.toml", {"crank.runout": "1 mm"})
    run = simulate(bowed, Turn(60 * RPM), runs=folder, check=False)
    assert value(shaft_whip.findings(run), "sideways movement from runout") == pytest.approx(0.0005)


def test_chain_fit_contributors() -> None:
    found = chain_fit.of_stages((Stage(15, 45, 0.0127, None, 100, 0.002, 0.0072),), None)
    # CHECKS of the chain are in tests/published; here the sums. 100 links of 12.7 mm are 1270 mm.
    assert value(found, "links") == 100
    assert value(found, "excess length from the choice of links") == pytest.approx(0.002, abs=1e-9)
    assert value(found, "excess length a new chain may add") == pytest.approx(0.0015 * 1.27)
    assert value(found, "excess length at the wear limit") == pytest.approx(0.015 * 1.27)
    tight = value(found, "centre distance at which these links have no slack")
    assert tight == pytest.approx(0.4403180, abs=5e-8)  # computed: 15:45, 100 links
    assert value(found, "centre distance") < tight
    bad = chain_fit.of_stages((Stage(15, 45, 0.0127, 0.5, 60, None, 0.0072),), None)
    assert [f.what for f in bad if f.beyond] == ["does not fit"]
    assert chain_fit.of_stages((Stage(15, 45, 0.0127, None, None, None, 0.0072),), None) == []


def test_sprocket_in_the_post() -> None:
    post = CLOSED.mechanism.post
    assert post is not None
    bore = replace(post, outside=0.2032 + 2 * post.wall)
    found = chain_fit.of_stages((Stage(14, 48, 0.0127, None, None, None, 0.0072),), bore)
    # Common practice, no source: a 48-tooth sprocket of half-inch pitch with its chain on does not turn freely
    # in an 8 in bore.
    assert found[0].beyond


def test_motion_findings() -> None:
    found = motion.of_linkage(CLOSED)
    low = next(f for f in found if f.what == "lowest panel angle" and f.where == "left outer")
    assert np.degrees(low.value) == pytest.approx(-39.2, abs=0.05)
    assert low.crank_degrees == pytest.approx(284.5, abs=0.5)
    assert not any(f.where.startswith("right") for f in found)  # it mirrors
    lag = value(found, "lag behind the inner panel")
    # The first harmonic of a cosine with a lag is found exactly.
    turns = 2 * np.pi * np.arange(360) / 360
    assert motion.phase(0.3 + 2 * np.cos(turns - 1.1)) == pytest.approx(1.1)
    assert np.degrees(lag) == pytest.approx(91, abs=1)


def test_a_key_angle_shows_as_a_difference() -> None:
    keyed = linkage(mechanism(load(MODELS / "manta.toml", {"right.key_angle": "5 deg"})))
    found = motion.of_linkage(keyed)
    apart = value(found, "largest difference between left and right", "inner")
    # The inner panel turns at most .31 deg for a degree of crank: five degrees make about 1.5.
    rate = max(abs(c.angle.first).max() for c in keyed.sides[0].course(np.linspace(0, 6.28, 721))[:1])
    assert np.degrees(apart) == pytest.approx(5 * rate, rel=0.01)
    assert any(f.where.startswith("right") for f in found)


def test_masses_add_up(turn: Run) -> None:
    found = masses.findings(turn)
    from sim.mass import sprocket_mass

    parts = sum(f.value for f in found if f.what == "mass" and f.where != names.WHEEL)
    sprockets = sum(sprocket_mass(n, s).mass for s in CLOSED.mechanism.stages for n in (s.driver, s.driven))
    wheel = value(found, "mass", names.WHEEL)
    assert value(found, "mass of all that moves") == pytest.approx(2 * parts + wheel + sprockets)
    low = value(found, "lowest centre of gravity of all that moves, above ground")
    high = value(found, "highest centre of gravity of all that moves, above ground")
    assert 0.9 < low < high < 4


def test_defaults_that_matter_come_first() -> None:
    bare = load(MODELS / "manta.toml", {"friction.wheel_drag": "3 N m"})
    found = weights(bare)
    assert all(a.change >= b.change for a, b in pairwise(found))
    assert not any(w.default.field == "friction.wheel_drag" for w in found)
    assert not any(w.default.field == "site.gravity" for w in found)
    hinge = next(w for w in found if w.default.field == "panel.outer.hinge.above")
    assert 0.01 < hinge.change < 0.2
    assert "10 mm off moves the" in hinge.line


def test_every_finding_has_a_place_a_case_and_a_source(turn: Run, gone: Run) -> None:
    for f in (*of_run(turn), *of_run(gone)):
        assert f.where
        assert f.case
        assert f.source
        assert np.isfinite(f.value)


def test_hinges_say_their_moment(turn: Run) -> None:
    found = bearing_loads.findings(turn)
    moment = next(f for f in found if f.what == "largest moment" and f.where == "left inner hinge")
    recorded = np.linalg.norm(turn["joints/left inner hinge/moment"], axis=1).max()
    assert moment.value == pytest.approx(recorded)
    # About the hinge line itself a hinge carries none.
    assert np.abs(turn["joints/left inner hinge/moment"][:, 0]).max() < 1e-6 * recorded
    assert "its pins share it" in moment.note
    assert not any(f.what == "largest moment" and "rod end" in f.where for f in found)


def test_a_side_that_differs_shows_its_own_mass() -> None:
    heavy = linkage(mechanism(load(MODELS / "manta.toml", {"right.panel.inner.mass": "30 kg"})))
    found = masses.of_linkage(heavy)
    assert value(found, "mass", "inner panel on the right") == pytest.approx(30)
    assert value(found, "mass", "inner panel") == pytest.approx(11.16, abs=0.01)
    assert not any("outer panel on" in f.where for f in found)


def test_a_misfit_is_told_in_its_words() -> None:
    (bad,) = [
        f for f in chain_fit.of_stages((Stage(15, 45, 0.0127, 0.5, 60, None, 0.0072),), None) if f.beyond
    ]
    assert bad.shown == bad.note
    assert bad.line().count(bad.note) == 1
    assert bad.table()["unit"] == "1"


def test_the_bar_reaches_over_bearings_and_throws() -> None:
    from models.loading import DescriptionError

    overhung = {"crank.bearings": ["250 mm", "600 mm"]}
    assert mechanism(load(MODELS / "moth.toml")).sides[0].crank.ends[0] >= 0
    with pytest.raises(DescriptionError, match="does not reach over its bearings and throws"):
        mechanism(load(MODELS / "manta.toml", {**overhung, "crank.ends": ["200 mm", "650 mm"]}))
    held = mechanism(load(MODELS / "manta.toml", {**overhung, "crank.ends": ["200 mm", "880 mm"]}))
    assert held.sides[0].crank.ends == (0.2, 0.88)


def test_without_friction_nothing_is_said_to_rest(folder: Path) -> None:
    free = {f"friction.{joint}": 0 for joint in ("bush", "rod_end", "hinge")}
    slippery = load(MODELS / "manta.toml", {**free, "friction.wheel_drag": "0 N m"})
    run = simulate(slippery, LetGo(60 * RPM, 0.0), runs=folder, check=False)
    found = {f.what for f in handle.findings(run)}
    assert "still moving after" in found
    assert not any("rest" in what for what in found)
