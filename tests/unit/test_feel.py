"""What a hand feels, from runs whose torque is a closed form, and who can start the wheel."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from analysis import feel
from analysis.finding import Finding
from models.loading import load
from models.people import by_age, people
from models.resolve import mechanism
from sim import names
from sim.builders import Linkage, linkage
from sim.friction_levels import LEVELS
from sim.identity import canonical
from sim.run import Channel, Run, extrema
from sim.whole import potential_energy

MODELS = Path(str(files("models")))
STEPS = 7200


@pytest.fixture(scope="module")
def moth() -> Linkage:
    return linkage(mechanism(load(MODELS / "moth.toml")))


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return linkage(mechanism(load(MODELS / "manta.toml")))


def run(
    closed: Linkage,
    torque: Callable[[np.ndarray], np.ndarray],
    speed: float,
    start: float = 0.0,
    case: str = "turn",
    scenario: Mapping[str, object] | None = None,
) -> Run:
    """Make a run over one turn of the crank at a steady wheel speed with a given torque of the wheel's angle."""
    m = closed.mechanism
    end = 2 * np.pi * m.reduction / abs(speed)
    time = np.linspace(0, end, STEPS + 1)
    angle = start * m.reduction + speed * time
    plain = {
        f"angles/{names.WHEEL}/angle": angle,
        f"angles/{names.WHEEL}/speed": np.full(len(time), speed),
        f"angles/{names.crankshaft('left')}/angle": angle / m.reduction,
        f"torques/{names.HAND}/torque": torque(angle),
    }
    channels = {name: Channel(values, "", name) for name, values in plain.items()}
    found = extrema(channels, time, angle / m.reduction)
    given = {"speed": speed, "start": start} if scenario is None else scenario
    return Run("0" * 12, m.name, case, "made up", given, {}, {}, canonical(m), "", "finished", "", False, time,
               channels, found, ())  # fmt: skip


def by_name(found: list[Finding]) -> dict[str, Finding]:
    return {f.what: f for f in found}


KICK = "longest unbroken angle of the wheel over which it drives the hand"
DRIVEN = "share of the time in which the wheel drives the hand"


@pytest.mark.parametrize("speed", [0.5, -0.5])
@pytest.mark.parametrize("start", [0.0, 1.2, np.pi, 4.5])
def test_a_handle_that_is_out_of_balance_drives_the_hand_half_the_way(
    moth: Linkage, speed: float, start: float
) -> None:
    """A weight on the wheel, T = -W R sin(angle): no work over a turn, and half a turn downhill, wherever begun."""
    radius = moth.mechanism.wheel.radius
    found = by_name(feel.findings(run(moth, lambda a: -30 * radius * np.sin(a), speed, start)))
    assert found["largest hand force"].value == pytest.approx(30, rel=1e-6)
    assert found["largest force with which the wheel drives the hand"].value == pytest.approx(30, rel=1e-6)
    # Up to a thousandth of the largest torque counts as still, and a step is .05 deg.
    assert found[KICK].value == pytest.approx(np.pi - 2e-3, abs=np.radians(0.11))
    assert found[DRIVEN].value == pytest.approx(0.5, abs=1e-3)
    assert found["mean power of the hand"].value == pytest.approx(0, abs=1e-6)
    assert found["largest hand force over the 22.2 N of 2010 ADA 309.4"].value == pytest.approx(30 / 22.2)
    # Turning forward the weight is lifted in the second half; backward at the mirror image, in the first.
    hardest = found["largest hand force"].crank
    assert hardest is not None
    assert np.sin(hardest) == pytest.approx(-np.sign(speed), abs=1e-6)


def test_a_steady_torque_is_all_work(moth: Linkage) -> None:
    radius = moth.mechanism.wheel.radius
    found = by_name(feel.findings(run(moth, lambda a: np.full(len(a), 40 * radius), 0.5)))
    assert found["largest torque of the hand"].value == pytest.approx(40 * radius)
    assert found["mean power of the hand"].value == pytest.approx(40 * radius * 0.5)
    assert (found[DRIVEN].value, found[KICK].value) == (0, 0)
    kick = found["largest force with which the wheel drives the hand"]
    assert (kick.value, kick.crank) == (0, None)


def test_a_wheel_that_drives_all_the_way_does_so_over_all_its_turn(moth: Linkage) -> None:
    found = by_name(feel.findings(run(moth, lambda a: np.full(len(a), -1.0), 0.5)))
    assert found[KICK].value == pytest.approx(2 * np.pi * moth.mechanism.reduction)
    assert found[DRIVEN].value == pytest.approx(1)
    assert found["largest hand force"].value < 0


def test_the_share_beyond_a_strength_is_that_of_the_sine_above_it(moth: Linkage) -> None:
    """Beyond while F sin(a) passes the strength at that speed, or holding back passes the push at rest."""
    radius, speed = moth.mechanism.wheel.radius, 0.5
    found = by_name(feel.findings(run(moth, lambda a: 60 * radius * np.sin(a), speed)))
    for person in by_age():
        caps = np.minimum([person.strength(speed * radius), person.push], 60)
        share = float(np.sum(np.pi - 2 * np.arcsin(caps / 60))) / (2 * np.pi)
        mine = found[f"share of the turn beyond the strength of the {person.label}"]
        # Each of the four ends of the stretches is found to a step.
        assert mine.value == pytest.approx(share, abs=4 / STEPS)
        assert "assumed" in mine.note
    assert (
        f"youngest with the strength for all of it: {people()['child8'].label}"
        in found["largest hand force"].note
    )
    kick = found["largest force with which the wheel drives the hand"].note
    assert kick.startswith("carries along: child of 3, child of 4, child of 5, child of 6;")


def test_power_limits_who_turns_fast(moth: Linkage) -> None:
    """20 N at 1.5 m/s are 30 W: nothing for a child of 8 at rest, but its strength there is 75 / 4 N."""
    radius = moth.mechanism.wheel.radius
    found = by_name(feel.findings(run(moth, lambda a: np.full(len(a), 20 * radius), 1.5 / radius)))
    beyond = {
        p.name: found[f"share of the turn beyond the strength of the {p.label}"].value for p in by_age()
    }
    assert beyond == {"child3": 1, "child4": 1, "child5": 1, "child6": 1, "child8": 1,
                      "woman": 0, "man": 0, "vigorous": 0}  # fmt: skip


def test_a_person_at_its_limit_is_told(moth: Linkage) -> None:
    radius, speed = moth.mechanism.wheel.radius, 0.2
    able = people()["child"].strength(speed * radius)
    half = run(moth, lambda a: np.where(np.sin(a) > 0, able * radius, 0.0), speed, case="crank",
               scenario={"person": "child", "speed": None})  # fmt: skip
    found = by_name(feel.findings(half))
    assert found["share of the time at the limit of strength or power"].value == pytest.approx(
        0.5, abs=2 / STEPS
    )
    assert not any("beyond the strength" in what for what in found)


def test_only_the_last_turn_counts(moth: Linkage) -> None:
    """The same turn after another that was quite different gives the same means."""
    radius, speed = moth.mechanism.wheel.radius, 0.5
    once = run(moth, lambda a: radius * np.sin(a), speed)
    time, turn = once.time, 2 * np.pi * moth.mechanism.reduction
    longer = {
        name: replace(c, values=np.concatenate([c.values, c.values[1:]])) for name, c in once.channels.items()
    }
    for name in (f"angles/{names.WHEEL}/angle", f"angles/{names.crankshaft('left')}/angle"):
        values = longer[name].values.copy()
        values[len(time) :] += turn if "wheel" in name else 2 * np.pi
        longer[name] = replace(longer[name], values=values)
    torque = longer[f"torques/{names.HAND}/torque"].values.copy()
    torque[: len(time) - 1] = radius
    longer[f"torques/{names.HAND}/torque"] = Channel(torque, "", "")
    twice = replace(once, time=np.concatenate([time, time[1:] + time[-1]]), channels=longer)
    a, b = by_name(feel.findings(once)), by_name(feel.findings(twice))
    for what in (DRIVEN, "mean power of the hand"):
        assert b[what].value == pytest.approx(a[what].value, abs=1e-3)  # a step more or less at the seam
    assert b[KICK].value == pytest.approx(a[KICK].value, abs=np.radians(0.11))


def test_runs_without_a_hand_say_nothing(moth: Linkage) -> None:
    assert feel.findings(run(moth, np.sin, 0.5, case="let-go", scenario={"speed": 0.5, "release": 0.0})) == []


@pytest.mark.parametrize(
    ("flags", "joined", "longest"),
    [("0110", False, 5), ("0110", True, 5), ("1001", False, 4), ("1001", True, 5), ("1111", True, 10),
     ("0000", True, 0), ("1101", False, 4), ("1101", True, 7)],
)  # fmt: skip
def test_longest_stretch(flags: str, joined: bool, longest: float) -> None:
    """Sizes 1, 2, 3 and 4: "1101" is 1 + 2 and then 4, or joined 4 + 1 + 2."""
    assert feel.longest(np.array([f == "1" for f in flags]), np.arange(1.0, 5.0), joined) == longest


# Starting


def bare(closed: Linkage, grip: float, drag: float) -> Linkage:
    """Give a wheel alone: a grip on a weightless arm or a disc, no wings, and friction that is the wheel's drag."""
    m = closed.mechanism
    wheel = replace(m.wheel, kind="handle" if grip else "disc", arm_mass=0.0, grip_mass=grip, thickness=0.01)
    return Linkage(replace(m, wheel=wheel, friction=replace(m.friction, wheel_drag=drag)), ())


def test_a_handle_alone_starts_against_its_grip_and_the_drag(moth: Linkage) -> None:
    """F = m g + s T / R, whatever the radius, with the grip level and to be lifted: at 270 deg going forward.

    s is static over sliding friction.
    """
    closed = bare(moth, 2.0, 3.0)
    m = closed.mechanism
    start = feel.start_of(closed, "nominal")
    drag = 3 * m.friction.static
    assert start.force == pytest.approx(2 * m.gravity + drag / m.wheel.radius)
    assert start.crank == pytest.approx(3 * np.pi / 2)
    assert (start.weight, start.friction) == pytest.approx((2 * m.gravity * m.wheel.radius, drag))
    assert feel.start_of(closed, "nominal", -1).crank == pytest.approx(np.pi / 2)
    for level, factor in zip(LEVELS, (m.friction.low, 1, m.friction.high), strict=True):
        force = 2 * m.gravity + factor * drag / m.wheel.radius
        assert feel.start_of(closed, level).force == pytest.approx(force)


def test_who_can_start_it_is_a_matter_of_newtons(moth: Linkage) -> None:
    closed = bare(moth, 0.0, 50.0 * moth.mechanism.wheel.radius / moth.mechanism.friction.static)
    found = feel.can_start(closed)
    assert [f.beyond for f in found] == [True, True, True, False, False, False, False, False]
    assert [f.value for f in found] == pytest.approx([50.0] * 8)
    assert feel.youngest(50.0) == "child of 6"
    assert feel.youngest(251.0) == "none"
    high = moth.mechanism.friction.high
    assert all(f.value == pytest.approx(50 * high) for f in feel.can_start(closed, "high"))
    forward, backward = feel.starting(closed)
    assert forward.value == backward.value == pytest.approx(50.0)
    assert "youngest that can: child of 6" in forward.note
    assert "rests on assumed strengths" in forward.note


def test_starting_lifts_the_wings_up_the_steepest_of_their_potential(manta: Linkage) -> None:
    """The weight in it is the derivative of the potential energy, here by central differences."""
    start = feel.start_of(manta, "low")
    h = 1e-5
    rise = np.diff(potential_energy(manta, start.crank + np.array([-h, h])))[0] / (2 * h)
    # Central differences of a smooth function at 1e-5 rad: 1e-9 of it and rounding.
    assert start.weight == pytest.approx(rise / manta.mechanism.reduction, rel=1e-5)
    forces = [feel.start_of(manta, level).force for level in LEVELS]
    assert forces == sorted(forces)
    assert forces[0] < forces[2]


def test_chains_lose_a_share_of_what_starts_the_wings(manta: Linkage) -> None:
    """Two stages that let half through each ask four times the torque behind them, at the same worst place."""
    m = manta.mechanism
    still = replace(m.friction, wheel_drag=0.0, low=1.0, high=1.0)

    def lossy(efficiency: float) -> feel.Start:
        stages = tuple(replace(s, efficiency=efficiency) for s in m.stages)
        return feel.start_of(Linkage(replace(m, stages=stages, friction=still), manta.sides), "nominal")

    whole, part = lossy(1.0), lossy(0.5)
    assert part.force == pytest.approx(4 * whole.force)
    assert (part.crank, part.weight) == (whole.crank, whole.weight)
    assert part.friction == pytest.approx(4 * (whole.weight + whole.friction) - whole.weight)
