"""A blocked panel and a pushed wheel, against closed forms, a plain walk along the turn, and hand sums."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from models.drive import Limiter, Tensioner
from models.loading import load
from models.mechanism import Mechanism
from models.resolve import mechanism
from sim import names
from sim.blocked import Blocked, blocked, drive_at_stall, rod_stiffness
from sim.linkage import SideLinkage, close

MODELS = Path(str(files("models")))
ROD, THROW = 20.0, 0.1


@pytest.fixture(scope="module")
def manta() -> Mechanism:
    return mechanism(load(MODELS / "manta.toml"))


@pytest.fixture(scope="module")
def slider() -> SideLinkage:
    """Give a side whose rod hangs down from its throw to a yoke that moves up and down on an arm of 40 m."""
    side = mechanism(load(MODELS / "moth.toml")).sides[0]
    old = side.panels[0]
    panel = replace(
        old, hinge_forward=0.0, hinge_out=0.5, hinge_up=-ROD, yoke_forward=0.0, yoke_out=40.0, yoke_below=0.0,
        throw_radius=THROW, throw_angle=0.0, throw_out=40.5, rod=replace(old.rod, length=ROD),
        seen_panel=0.0, seen_crank=np.pi / 2,
    )  # fmt: skip
    return close(replace(side, panels=(panel,), key_angle=0.0))


def stiffness(side: SideLinkage) -> float:
    rod = side.side.panels[0].rod
    return 200e9 * np.pi * rod.diameter**2 / 4 / rod.length


def test_stiffness_of_a_rod(slider: SideLinkage) -> None:
    rod = slider.side.panels[0].rod
    assert rod_stiffness(rod) == pytest.approx(stiffness(slider), rel=1e-14)
    assert rod_stiffness(rod, 70e9) == pytest.approx(0.35 * stiffness(slider), rel=1e-14)


def hardest(a: float) -> float:
    """Give the largest of (cos b - cos a) sin b between the dead centre and a, from its derivative's root."""
    b = np.arccos((np.cos(a) + np.sqrt(np.cos(a) ** 2 + 8)) / 4)
    return (np.cos(b) - np.cos(a)) * np.sin(b)


@pytest.mark.parametrize("share", [1e-4, 1e-2])
def test_dead_centre_of_a_long_rod(slider: SideLinkage, share: float) -> None:
    """The crank passes as k r^2 (cos b - cos a) sin b just stays below T, at k r (1 - cos a)."""
    k = stiffness(slider)
    torque = share * k * THROW**2
    a = brentq(lambda x: hardest(x) - share, 1e-6, 2.0)
    found = blocked(slider, torque)["wing"]
    # The rod leans by up to throw / rod = 1 / 200, by which the two dead centres' curvatures differ; force goes
    # with its cube root: less than .5 %. What a search for a jump leaves is far below.
    assert abs(found.force) == pytest.approx(k * THROW * (1 - np.cos(a)), rel=5e-3)
    side_of = np.pi if found.force < 0 else 0.0
    assert found.force > 0  # the far dead centre, where the crank's path bends away, is the worse one
    dead = np.round(found.crank / np.pi) * np.pi
    assert np.cos(dead) == pytest.approx(np.cos(side_of))
    assert found.direction * (dead - found.at) == pytest.approx(a, rel=1e-2)


def test_small_push_in_closed_form(slider: SideLinkage) -> None:
    """3/2 (k T^2 / c)^(1/3), with c = r D / (D + r) the curvature of the pin's path less that of the yoke's."""
    k = stiffness(slider)
    torque = 1e-6 * k * THROW**2
    curvature = THROW * ROD / (ROD + THROW)
    found = blocked(slider, torque)["wing"]
    # Angles of (3 sqrt 3 1e-6)^(1/3) = .017 rad: their squares are left out, and 1e-3 for steps of 3 % along.
    assert found.force == pytest.approx(1.5 * (k * torque**2 / curvature) ** (1 / 3), rel=1.5e-3)


def test_force_grows_with_the_two_thirds_power_of_the_push(slider: SideLinkage) -> None:
    k = stiffness(slider)
    one, eight = (blocked(slider, t * 1e-6 * k * THROW**2)["wing"].force for t in (1, 8))
    # As above, for angles up to .035 rad.
    assert eight / one == pytest.approx(4, rel=3e-3)


def test_a_push_that_nothing_stops(slider: SideLinkage) -> None:
    """The rod takes all the difference of the two dead centres: k 2 r, pulled or pushed."""
    k = stiffness(slider)
    found = blocked(slider, 10 * k * THROW**2)["wing"]
    # Steps of 3 % of half a turn, squared over 8: 1e-3 at the very most; blocked to the hundredth of a degree.
    assert abs(found.force) == pytest.approx(k * 2 * THROW, rel=2e-3)


def walked(side: SideLinkage, panel: int, at: float, direction: int, torque: float) -> float:
    """Give the largest rod force, N, by plain steps of the crank until it stalls."""
    rod = side.side.panels[panel].rod
    k = 200e9 * np.pi * rod.diameter**2 / 4 / rod.length
    held = side.course(np.array([at]))[panel]
    arm = held.yoke.value[0] - held.hinge.value[0]
    crank = at + direction * np.arange(0, 0.6, 2e-5)
    course = side.course(crank)[panel]
    length = np.linalg.norm(course.pin.value - course.hinge.value - arm, axis=1)
    force = k * (length - rod.length)
    # Work of the step over the step: the torque without any derivative.
    needed = np.diff(k * (length - rod.length) ** 2 / 2) / 2e-5
    stall = np.flatnonzero(needed >= torque)
    return float(np.abs(force[: (stall[0] if len(stall) else len(force) - 1) + 1]).max())


PUSH = 300.0


@pytest.fixture(scope="module")
def held(manta: Mechanism) -> dict[str, Blocked]:
    return blocked(close(manta.sides[0]), PUSH)


def test_worst_of_a_plain_walk(manta: Mechanism, held: dict[str, Blocked]) -> None:
    """No block of 24 around the turn, in either direction, is worse; and the worst is what a plain walk finds."""
    side, torque = close(manta.sides[0]), PUSH
    for k, panel in enumerate(side.side.panels):
        worst = held[panel.name]
        # Just before the last angle from which the crank still passes, by less than the two searches differ.
        near = [walked(side, k, worst.at + x, worst.direction, torque) for x in (-2e-4, 0.0, 2e-4)]
        # Steps of 2e-5 rad, and the distance of 2e-4 rad of some .1 rad, squared.
        assert max(near) == pytest.approx(abs(worst.force), rel=5e-3)
        for at in np.linspace(0, 2 * np.pi, 12, endpoint=False):
            for direction in (1, -1):
                assert walked(side, k, float(at), direction, torque) <= abs(worst.force) * 1.001


def needed(side: SideLinkage, panel: int, found: Blocked) -> float:
    """Give the torque that a blocked panel's rod needs, by central differences of its elastic energy."""
    rod = side.side.panels[panel].rod
    held = side.course(np.array([found.at]))[panel]
    arm = held.yoke.value[0] - held.hinge.value[0]
    d = 1e-6
    course = side.course(found.crank + np.array([-d, d]))[panel]
    length = np.linalg.norm(course.pin.value - course.hinge.value - arm, axis=1)
    return float(np.diff(rod_stiffness(rod) * (length - rod.length) ** 2 / 2)[0] / (2 * d))


def test_forces_of_the_instant_balance(manta: Mechanism, held: dict[str, Blocked]) -> None:
    """All rods together turn the crank as the blocked one's energy says, and both bearings carry their sum."""
    side = close(manta.sides[0])
    for k, (name, worst) in enumerate(held.items()):
        courses = side.course(np.array([worst.crank]))[: k + 1]
        pins = {c.panel.name: worst.forces[names.crank_eye("left", c.panel.name)] for c in courses}
        torque = -sum(np.cross(c.pin.value[0], pins[c.panel.name])[1] for c in courses)
        # The pull is tens of kilonewtons on a throw of .1 m, differenced over 2e-6 rad.
        assert torque == pytest.approx(needed(side, k, worst), abs=0.05)
        assert abs(torque) <= PUSH + 0.05
        bearings = worst.forces[names.locating("left")] + worst.forces[names.radial("left")]
        np.testing.assert_allclose(bearings, sum(pins.values()), atol=1e-6)
        eye, hinge = (worst.forces[f("left", name)] for f in (names.yoke_eye, names.hinge))
        assert np.linalg.norm(eye) == pytest.approx(abs(worst.force), rel=1e-12)
        np.testing.assert_array_equal(eye, hinge)
        np.testing.assert_array_equal(eye, -worst.forces[names.crank_eye("left", name)])
        # The moment holds the panel: no moment is left about the hinge line.
        course = side.course(np.array([worst.at]))[k]
        arm = course.yoke.value[0] - course.hinge.value[0]
        assert worst.moment + np.cross(arm, eye)[0] == pytest.approx(0, abs=1e-6)
    outer = held["outer"]
    assert names.crank_eye("left", "inner") in outer.forces
    assert names.crank_eye("left", "outer") not in held["inner"].forces


def test_inner_panel_is_in_balance_while_the_outer_is_blocked(
    manta: Mechanism, held: dict[str, Blocked]
) -> None:
    side, outer = close(manta.sides[0]), held["outer"]
    inner, last = side.course(np.array([outer.crank]))
    hinge = outer.forces[names.hinge("left", "outer")]
    yoke = outer.forces[names.yoke_eye("left", "inner")]
    own = outer.forces[names.hinge("left", "inner")]
    np.testing.assert_allclose(own, yoke + hinge, atol=1e-6)
    at = inner.hinge.value[0]
    moment = np.cross(inner.yoke.value[0] - at, yoke) + np.cross(last.hinge.value[0] - at, hinge)
    assert moment[0] == pytest.approx(0, abs=1e-6)


def test_no_push_blocks_nothing(slider: SideLinkage) -> None:
    with pytest.raises(ValueError, match="a push of 0 N m blocks nothing; write a torque above 0"):
        blocked(slider, 0)


# The drive.

PITCH = 0.0127


def plain(manta: Mechanism) -> Mechanism:
    """Give two chain stages 13:39 and 15:45 with nothing else in them."""
    stage = replace(manta.stages[0], kind="chain", pitch=PITCH, tight=0.0, tensioner=None)
    stages = (replace(stage, driver=13, driven=39), replace(stage, driver=15, driven=45))
    return replace(manta, stages=stages, limiter=None)


def side_names(m: Mechanism) -> list[str]:
    return [side.name for side in m.sides]


def test_drive_by_hand(manta: Mechanism) -> None:
    """20 N m at the wheel are 60 and 180 N m behind 3:1 and 3:1; chains over N p / 2 pi."""
    m = plain(manta)
    for push in (20.0, -20.0):
        found = drive_at_stall(m, push)
        expected = {"wheel": 20, "stage 1 shaft": 60, "centre shaft": 180}
        expected |= {f"{s} coupling": 180 for s in side_names(m)}
        assert found.torques == pytest.approx(expected)
        # 13 x 12.7 mm / 2 pi = 26.276481 mm; 15 x 12.7 mm / 2 pi = 30.319017 mm.
        assert found.tensions == pytest.approx(
            {"stage 1 chain": 20 / 0.026276481, "stage 2 chain": 60 / 0.030319017}, rel=1e-6
        )


@pytest.mark.parametrize(
    ("at", "torque", "wheel"), [(0, 5.0, 5.0), (1, 30.0, 10.0), (2, 45.0, 5.0), (2, 900.0, 20.0)]
)
def test_limiter_caps_the_push(manta: Mechanism, at: int, torque: float, wheel: float) -> None:
    found = drive_at_stall(replace(plain(manta), limiter=Limiter(at, torque)), 20.0)
    assert found.torques["wheel"] == pytest.approx(wheel)
    assert found.torques["centre shaft"] == pytest.approx(9 * wheel)
    assert found.tensions["stage 2 chain"] == pytest.approx(3 * wheel / 0.030319017, rel=1e-6)


def test_tight_and_sprung_chains(manta: Mechanism) -> None:
    """Set tight at 300 N, 761 N of pull leave the other strand slack; at 500 N both still share: 500 + 761 / 2."""
    m = plain(manta)
    pull = 20 / 0.026276481

    def tension(**changes: object) -> float:
        first = replace(m.stages[0], **changes)  # pyright: ignore[reportArgumentType]
        return drive_at_stall(replace(m, stages=(first, m.stages[1])), 20.0).tensions["stage 1 chain"]

    assert tension(tight=300.0) == pytest.approx(pull, rel=1e-6)
    assert tension(tight=500.0) == pytest.approx(500 + pull / 2, rel=1e-6)
    # An idler pressing with 40 N on a strand bent by 10 deg on either side keeps 40 / (2 sin 10 deg) = 115.2 N in it.
    idler = Tensioner(40.0, 1000.0, 0.02, np.radians(10))
    assert tension(tensioner=idler) == pytest.approx(pull + 115.175, rel=1e-5)


def test_direct_stage_and_no_stage(manta: Mechanism) -> None:
    m = plain(manta)
    direct = replace(m, stages=(replace(m.stages[0], kind="direct"), m.stages[1]))
    assert set(drive_at_stall(direct, 20.0).tensions) == {"stage 2 chain"}
    none = drive_at_stall(replace(m, stages=()), 20.0)
    assert none.torques == pytest.approx({"wheel": 20, **{f"{s} coupling": 20 for s in side_names(m)}})
    assert none.tensions == {}
