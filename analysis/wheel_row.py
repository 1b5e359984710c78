"""What one wheel does to a piece: to the hand, left to itself, let go, and where it stands."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis import feel, handle
from analysis.finding import Finding
from analysis.wheel_place import Place
from models.people import people
from sim.builders import Linkage, at_friction
from sim.coasting import HOLDS, Round, coasting
from sim.friction_levels import LEVELS
from sim.operators.grabbing import CLOSING, stopping
from sim.run import Run
from sim.whole import holding_torque

NEAR_STALL = 0.5
"""Share of the working speed that is left at the top, below which a piece counts as near stalling; assumption."""
GRIPPING = "adult"
"""Who stops the wheel."""
PEAK = "peak wheel speed after letting go"
NAN = float("nan")


@dataclass(frozen=True)
class Turned:
    """What a hand feels that holds the wheel at a speed.

    Attributes
    ----------
    speed : of the wheel, rad/s.
    torque, force : largest along the way that it is turned, N m and N at rim or grip.
    kick : largest force with which the wheel drives the hand, N.
    """

    speed: float
    torque: float
    force: float
    kick: float


@dataclass(frozen=True)
class Started:
    """What starts the wheel from the worst place.

    Attributes
    ----------
    force : (3,) N at rim or grip, with low, nominal and high friction.
    youngest : who has the push for it with nominal friction; rests on assumed strengths.
    """

    force: tuple[float, ...]
    youngest: str


@dataclass(frozen=True)
class Free:
    """What a piece does that is left to itself; without friction, and drives that do not give, but for `clearing`.

    Attributes
    ----------
    energy_ratio : energy at the working speed over the swing dE of potential energy, with the mean inertia; below 1
        a piece that has that speed at its lowest point does not carry the wings over the top by itself.
    swing : dE, J.
    heavy : 2 dE / J, w_max^2 - w_min^2 of a heavy wheel, rad2/s2.
    slowest, fastest : wheel speeds over the turn whose mean is the working speed, rad/s; nan where a piece with that
        mean does not come over the top.
    fluctuation : w_max^2 - w_min^2 then, rad2/s2.
    coefficient : Cs = (w_max - w_min) / w_mean then, where it is below `sim.coasting.HOLDS`; else nan.
    clearing_least : wheel speed at the lowest point that just carries it over the top, rad/s.
    clearing : (3,) the same with low, nominal and high friction, by the reduced model; infinite where none does.
    over_the_top : "goes round", "near stall" or "stalls": from the working speed at the lowest point with nominal
        friction.
    """

    energy_ratio: float
    swing: float
    heavy: float
    slowest: float
    fastest: float
    fluctuation: float
    coefficient: float
    clearing_least: float
    clearing: tuple[float, ...]
    over_the_top: str


@dataclass(frozen=True)
class Gone:
    """What the wheel does after it is let go at the working speed.

    Attributes
    ----------
    peak_speed, rim_speed : largest after the worst release, rad/s and m/s.
    worst_release : its crank angle, rad.
    time_to_rest : after it, s; nan where it was still moving.
    rest_least, rest_longest : over all releases, s; nan where one was still moving.
    stopped : s in which an adult's grip stops it at its peak, at most; nan where it does not. See `stopped`.
    """

    peak_speed: float
    rim_speed: float
    worst_release: float
    time_to_rest: float
    rest_least: float
    rest_longest: float
    stopped: float


@dataclass(frozen=True)
class WheelRow:
    """One wheel.

    Attributes
    ----------
    label : its size in millimetres.
    diameter : of the rim or the grip's circle, m.
    thickness : of its disc, m; nan for a handle.
    mass : kg.
    inertia : of the whole piece as felt at the wheel, its mean over the turn, kg m2.
    slow, working : held at either speed.
    forward, backward : started.
    free, gone, place : as their classes say.
    moved : largest change of a peak with half and a quarter of the step: of the hand's torque in both turns, and of
        all peaks in the worst let go; nan where one could not be checked.
    """

    label: str
    diameter: float
    thickness: float
    mass: float
    inertia: float
    slow: Turned
    working: Turned
    forward: Started
    backward: Started
    free: Free
    gone: Gone
    place: Place
    moved: float


def turned(run: Run) -> Turned:
    """Read what a hand feels from a run at held speed."""
    found = feel.findings(run)
    return Turned(
        float(str(run.scenario["speed"])),
        value(found, "largest torque of the hand"),
        value(found, "largest hand force"),
        value(found, "largest force with which the wheel drives the hand"),
    )


def started(closed: Linkage, way: int) -> Started:
    """Give what starts the wheel forward, 1, or backward, -1."""
    force = tuple(feel.start_of(closed, level, way).force for level in LEVELS)
    return Started(force, feel.youngest(force[1]))


def free(closed: Linkage, speed: float) -> Free:
    """Give what a piece does that is left to itself, at a working speed of the wheel, rad/s."""
    from sim.reduced.clearing import clearing_speed  # here because compiling takes its time

    alone, way = coasting(closed), -1 if speed < 0 else 1
    over = alone.at_mean(abs(speed))
    clearing = tuple(clearing_speed(at_friction(closed, level), way, alone) for level in LEVELS)
    return Free(
        0.5 * alone.felt * speed**2 / alone.swing,
        alone.swing,
        alone.heavy,
        NAN if over is None else over.slowest,
        NAN if over is None else over.fastest,
        NAN if over is None else over.fluctuation,
        coefficient(over),
        alone.clearing_speed,
        clearing,
        over_the_top(abs(speed), clearing[1]),
    )


def coefficient(over: Round | None) -> float:
    """Give Cs where it holds, else nan."""
    return over.coefficient if over is not None and over.coefficient < HOLDS else NAN


def over_the_top(speed: float, clearing: float) -> str:
    """Say whether a piece with a wheel speed at its lowest point comes over the top.

    What the top takes is the same kinetic energy at any speed, so w_top^2 = w^2 - w_clear^2; friction takes a little
    more of a faster one.

    Parameters
    ----------
    speed, clearing : wheel speeds at the lowest point, rad/s: the given one, and the one that just clears the top.
    """
    if speed < clearing:
        return "stalls"
    return "near stall" if speed**2 - clearing**2 < (NEAR_STALL * speed) ** 2 else "goes round"


def gone(closed: Linkage, worst: Run, releases: Sequence[Run]) -> Gone:
    """Read what the wheel does after it is let go.

    Parameters
    ----------
    closed : the sculpture.
    worst : the worst let go, checked with finer steps.
    releases : at all angles.
    """
    peak = value(handle.findings(worst), PEAK)
    rests = [_rest(run) for run in releases]
    return Gone(
        peak,
        value(handle.findings(worst), "peak rim or grip speed after letting go"),
        float(str(worst.scenario["release"])),
        _rest(worst),
        min((r for r in rests if np.isfinite(r)), default=NAN),
        float(np.max(rests)),
        stopped(closed, peak),
    )


def stopped(closed: Linkage, speed: float) -> float:
    """Give the time, s, in which a hand that grips stops the wheel, the wings pulling against it all the while.

    As a flywheel is stopped by what the grip has more than the weights' largest torque, with the largest inertia
    over the turn and without friction, both of which make it long; nan where the grip has no more.

    Parameters
    ----------
    closed : the sculpture.
    speed : of the wheel when it is grabbed, rad/s.
    """
    alone = coasting(closed)
    pull = float(np.abs(holding_torque(closed, alone.crank)).max())
    left = people()[GRIPPING].grip * closed.mechanism.wheel.radius - pull
    inertia = float(np.max(alone.inertia)) / alone.reduction**2
    return stopping(inertia, speed, left, CLOSING).time if left > 0 else NAN


def _rest(run: Run) -> float:
    return float(run.time[-1]) if run.rested else NAN


def value(findings: Sequence[Finding], what: str) -> float:
    """Give the value of a finding by its words."""
    return next(f.value for f in findings if f.what == what)
