"""Findings from runs: figures against closed forms and hand calculations."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from analysis import bearing_loads, chain_fit, feel, handle, masses, motion
from analysis.finding import Finding, Limit, beyond, worst
from analysis.of_run import of_run
from analysis.sensitivity import weights
from models.drive import Stage
from models.loading import changed, load
from models.people import by_age
from models.resolve import mechanism
from sim import names
from sim.builders import linkage
from sim.closed_form import gravity_torque, moving_parts
from sim.mass import sprocket_mass, wheel_mass
from sim.run import Run
from sim.scenarios import LetGo, Turn, inertia_at_wheel
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
"""Exact ratios and rigid couplings: nothing falls slack or winds up, so slow turning is statics."""
CLOSED = linkage(mechanism(IDEAL))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("runs")


@pytest.fixture(scope="module")
def turn(folder: Path) -> Run:
    return simulate(IDEAL, Turn(10 * RPM), runs=folder, check=False)


@pytest.fixture(scope="module")
def chained(folder: Path) -> Run:
    """Give a turn at 60 rpm with chains and couplings that give."""
    return simulate(MANTA, Turn(60 * RPM), runs=folder, check=False)


@pytest.fixture(scope="module")
def gone(folder: Path) -> Run:
    return simulate(IDEAL, LetGo(60 * RPM, np.radians(300)), runs=folder, check=False)


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


def slow_torque(crank: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Give the torque of weights and of friction, (n,) N m at the wheel, of the ideal manta turned slowly forward.

    Friction of the joints from their static loads; of the drive's shafts by hand, mu r times the sum of both
    bearings' loads: levers for the overhung wheel, weights of the sprockets for the others.
    """
    m = CLOSED.mechanism
    weight = sum(gravity_torque(moving_parts(s, crank), m.gravity) for s in CLOSED.sides)
    rubs = sum(statics(s, crank, m.gravity, m.friction).friction for s in CLOSED.sides)
    first, second = m.stages
    arm = m.friction.bearing * 0.0254 / 2  # shafts of 1 in, read from the description
    # The wheel 120 mm beyond the post, its bearings on either side of the post: 109.55 mm.
    near = (0.10955 + 0.22955) / 0.2191
    wheel = wheel_mass(m.wheel).mass + sprocket_mass(13, first).mass
    at_wheel = m.friction.wheel_drag + arm * wheel * m.gravity * (near + (near - 1))
    between = arm * m.gravity * (sprocket_mass(38, first).mass + sprocket_mass(15, second).mass)
    centre = arm * m.gravity * sprocket_mass(40, second).mass
    return weight / m.reduction, at_wheel + between * 13 / 38 + (centre + rubs) / m.reduction


def test_hand_force_of_a_slow_turn(turn: Run) -> None:
    """The largest torque is that of the weights over the reduction plus friction; the hand's at the rim."""
    weight, rubs = slow_torque(np.linspace(0, 2 * np.pi, 3601))
    found = handle.findings(turn)
    # At 10 rpm inertia is below 1e-4 of the weights. Static friction is a fifth above sliding, and of that fifth
    # exp(-.134 / .05) = 7 % is left at the crank's speed: 1.4 % of .2 N m, .05 % of the largest torque. The mean
    # power is friction alone, .62 N m, and .4 % above.
    assert value(found, "largest torque of the hand") == pytest.approx((weight + rubs).max(), rel=1e-3)
    assert value(found, "largest hand force") == pytest.approx((weight + rubs).max() / 0.38, rel=1e-3)
    back = -(weight + rubs).min() / 0.38
    assert value(found, "largest force with which the wheel drives the hand") == pytest.approx(back, rel=1e-3)
    # The ends of both stretches are found to a step of a seventh of a degree, of 360.
    share = np.mean((weight + rubs)[:-1] < 0)
    assert value(found, "share of the time in which the wheel drives the hand") == pytest.approx(
        share, abs=2e-3
    )
    power = rubs[:-1].mean() * 10 * RPM
    assert value(found, "mean power of the hand") == pytest.approx(power, rel=6e-3)


def test_backward_turn_gives_forces_of_the_same_sense(folder: Path) -> None:
    run = simulate(IDEAL, Turn(-10 * RPM), runs=folder, check=False)
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
    # By hand: wheel and its driver overhung by 120 mm on bearings 219.1 mm apart.
    weight = (wheel_mass(m.wheel).mass + sprocket_mass(13, m.stages[0]).mass) * m.gravity
    near = value(found, "largest force", "wheel shaft right bearing")
    assert near == pytest.approx(weight * (1 + 120 / 219.1))
    assert value(found, "largest force", "wheel shaft left bearing") == pytest.approx(near - weight)
    assert not any(f.where == names.WHEEL_BEARINGS for f in found)


def test_the_pull_of_a_strand_is_the_torque_over_the_travel_radius(chained: Run) -> None:
    found = bearing_loads.findings(chained)
    for stage, teeth in (("stage 1 chain", 38), ("stage 2 chain", 40)):
        torque = np.abs(chained[f"torques/{stage}/torque"]).max()
        # The other strand is slack, so the net force is all of it: to rounding.
        pull = next(f for f in found if (f.what, f.where) == ("largest pull of a strand", stage))
        assert pull.value == pytest.approx(torque / (teeth * 0.0127 / (2 * np.pi)))
        assert pull.note.startswith("strand a, which is taut when the wheel drives forward")
        assert value(found, "least pull of the tighter strand", stage) == 0
    # A wheel behind chains has no joint of its own any more, and its bearings carry the first chain's pull.
    lower = next(f for f in found if (f.what, f.where) == ("largest force", "wheel shaft left bearing"))
    assert "with the chains' pull and weight" in lower.note
    assert not any(f.where == names.WHEEL_BEARINGS for f in found)


def test_a_chain_set_tight_says_whether_it_falls_slack(folder: Path) -> None:
    tight = changed(MANTA, {"stage.1.tight": "300 N", "stage.2.tight": "300 N"})
    run = simulate(tight, Turn(60 * RPM), runs=folder, check=False)
    found = bearing_loads.findings(run)
    least = {f.where: f for f in found if f.what == "least pull of the slacker strand"}
    pulls = {f.where: f.value for f in found if f.what == "largest pull of a strand"}
    # While both strands pull, one gains what the other loses: their sum stays 600 N. The first stage carries some
    # 200 N, less than twice the tension; the second some 600 N or more, and one strand gives all it has.
    assert least["stage 1 chain"].value > 0
    assert least["stage 1 chain"].value + pulls["stage 1 chain"] == pytest.approx(600, rel=0.01)
    assert "it stays taut" in least["stage 1 chain"].note
    assert least["stage 2 chain"].value == pytest.approx(max(0.0, 600 - pulls["stage 2 chain"]), abs=6)


def test_a_wheel_on_the_crankshaft_has_its_joint(folder: Path) -> None:
    run = simulate(load(MODELS / "moth.toml"), Turn(10 * RPM), runs=folder, check=False)
    found = bearing_loads.findings(run)
    wheel = next(f for f in found if (f.what, f.where) == ("largest force", names.WHEEL_BEARINGS))
    assert "it sits on the crankshafts" in wheel.note


def test_chain_pull_by_hand(chained: Run) -> None:
    """Torque at the wheel, less its friction, over its sprocket's travel radius pulls the first chain."""
    drag = chained["torques/wheel drag/torque"]
    net = (chained["torques/hand/torque"] + drag) / (13 * 0.0127 / (2 * np.pi))
    first = chained["chains/stage 1 chain/tension a"] - chained["chains/stage 1 chain/tension b"]
    # The wheel turns at a held speed, so nothing goes into its inertia; the start's friction is a guess.
    np.testing.assert_allclose(first[1:], net[1:], atol=1e-3 * np.abs(first).max())
    assert np.abs(drag[1:]).min() > CLOSED.mechanism.friction.wheel_drag


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
    run = simulate(IDEAL, LetGo(25 * RPM, np.radians(210)), runs=folder, check=False)
    found = {f.what: f for f in handle.findings(run)}
    peak = found["peak wheel speed after letting go"]
    assert peak.value == pytest.approx(25 * RPM)
    assert peak.time == 0
    assert peak.crank == pytest.approx(np.radians(210))


def stage(**changes: object) -> Stage:
    """Give a stage of 15 and 45 teeth of which nothing fixes the length, with what is changed."""
    plain = replace(mechanism(MANTA).stages[0], driver=15, driven=45, centres=None, links=None, slack=None)
    return replace(plain, **changes)  # pyright: ignore[reportArgumentType]


def test_chain_fit_contributors() -> None:
    found = chain_fit.of_stages((stage(links=100, slack=0.002),), None)
    # CHECKS of the chain are in tests/published; here the sums. 100 links of 12.7 mm are 1270 mm.
    assert value(found, "links") == 100
    assert value(found, "excess length from the choice of links") == pytest.approx(0.002, abs=1e-9)
    assert value(found, "excess length a new chain may add") == pytest.approx(0.019 / 12 * 1.27)
    assert value(found, "excess length at the wear limit") == pytest.approx(0.015 * 1.27)
    tight = value(found, "centre distance at which these links have no slack")
    assert tight == pytest.approx(0.4403180, abs=5e-8)  # computed: 15:45, 100 links
    assert value(found, "centre distance") < tight
    bad = chain_fit.of_stages((stage(centres=0.5, links=60),), None)
    assert [f.what for f in bad if f.beyond] == ["does not fit"]
    assert chain_fit.of_stages((stage(),), None) == []


def test_sprocket_in_the_post() -> None:
    post = CLOSED.mechanism.post
    assert post is not None
    bore = replace(post, outside=0.2032 + 2 * post.wall)
    found = chain_fit.of_stages((stage(driver=14, driven=48),), bore)
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
    parts = sum(f.value for f in found if f.what == "mass" and f.where != names.WHEEL)
    sprockets = sum(sprocket_mass(n, s).mass for s in CLOSED.mechanism.stages for n in (s.driver, s.driven))
    wheel = value(found, "mass", names.WHEEL)
    assert value(found, "mass of all that moves") == pytest.approx(2 * parts + wheel + sprockets)
    low = value(found, "lowest centre of gravity of all that moves, above ground")
    high = value(found, "highest centre of gravity of all that moves, above ground")
    assert 0.9 < low < high < 4


def test_values_that_matter_come_first_and_defaults_before_all() -> None:
    bare = load(MODELS / "manta.toml", {"friction.wheel_drag": "3 N m"})
    found = weights(bare, LetGo(2.6, 0.5))
    given = [w.value.given for w in found]
    assert given == sorted(given)
    for kind in (False, True):
        own = [w.change for w in found if w.value.given == kind and not w.verdicts]
        assert own == sorted(own, reverse=True)
        turning = [bool(w.verdicts) for w in found if w.value.given == kind and np.isfinite(w.change)]
        assert turning == sorted(turning, reverse=True)
    by_field = {w.value.field: w for w in found}
    assert by_field["friction.wheel_drag"].value.given
    assert not by_field["friction.bush"].value.given
    assert not {"site.gravity", "stage.1.teeth.1", "name", "panel.inner.outline.unit"} & set(by_field)
    hinge = by_field["panel.outer.hinge.above"]
    assert 0.01 < hinge.change < 0.3
    assert "10 mm off moves the" in hinge.line
    # A plate is not off by millimetres.
    assert by_field["panel.outer.thickness"].value.off == pytest.approx(0.05 * 3e-3)
    assert by_field["panel.inner.rod"].value.off == pytest.approx(2e-3)
    assert by_field["rod_ends.clocking"].value.off == pytest.approx(0.2 * np.pi / 2)


def test_a_weight_is_what_moving_the_value_does() -> None:
    """A wheel of which everything but its disc is nothing has an inertia that goes with its thickness."""
    manta = load(MODELS / "manta.toml")
    thick = next(w for w in weights(manta) if w.value.field == "wheel.thickness")
    before, after = (
        inertia_at_wheel(linkage(mechanism(load(MODELS / "manta.toml", {"wheel.thickness": t}))))
        for t in ("12 mm", "12.6 mm")
    )
    assert thick.figure == "inertia at the wheel"
    assert thick.change == pytest.approx(after / before - 1, rel=1e-6)


def test_a_value_that_turns_a_verdict_over_says_so() -> None:
    light = load(MODELS / "moth.toml", {"panel.wing.thickness": "0.6 mm"})
    start = feel.start_of(linkage(mechanism(light)), "nominal").force
    able = [p.push for p in by_age() if p.push >= start]
    # A drag that brings the force to just under a push: more of it asks for the next profile.
    drag = 0.3 + (able[0] - start) * 0.22 / 1.2 * 0.99
    tight = load(
        MODELS / "moth.toml", {"panel.wing.thickness": "0.6 mm", "friction.wheel_drag": f"{drag:.6f} N m"}
    )
    found = next(w for w in weights(tight) if w.value.field == "friction.wheel_drag")
    (words,) = found.verdicts
    assert words.startswith("the youngest that can start it is ")
    assert "turns over: the youngest" in found.line


def test_every_finding_has_a_place_a_case_and_a_source(turn: Run, gone: Run, chained: Run) -> None:
    for f in (*of_run(turn), *of_run(gone), *of_run(chained)):
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
    (bad,) = [f for f in chain_fit.of_stages((stage(centres=0.5, links=60),), None) if f.beyond]
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
    slippery = changed(IDEAL, {**free, "friction.bearing": 0, "friction.wheel_drag": "0 N m"})
    run = simulate(slippery, LetGo(60 * RPM, 0.0), runs=folder, check=False)
    found = {f.what for f in handle.findings(run)}
    assert "still moving after" in found
    assert not any("rest" in what for what in found)
