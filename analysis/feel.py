"""How the wheel feels to a hand: force, kick, and who is strong enough for it.

Newtons at the rim are the finding. Ages are a label on them, and rest on assumed strengths.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.finding import Finding, Limit
from analysis.script import script
from models.mechanism import from_canonical
from models.people import ASSUMED, Person, by_age, people
from models.shown import shown
from sim import names
from sim.builders import Linkage, at_friction
from sim.friction_levels import LEVELS, Level
from sim.run import Run
from sim.statics import statics
from sim.whole import holding_torque, unbalance

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

SPEED = f"angles/{names.WHEEL}/speed"
TORQUE = f"torques/{names.HAND}/torque"
RUN = "simulated run"
STILL = 1e-3
"""Share of the largest torque below which the hand is neither pushing nor being driven."""
AT_LIMIT = 0.99
"""Share of the strength from which a hand counts as at its limit: the torque is a step older than the speed."""
OPERABLE = 22.2
"""Largest force, N, of an operable part: 2010 ADA Standards 309.4 (read)."""
CLOSED = "closed-form statics"
PLACES = 1440
"""Crank angles at which starting is judged."""


@dataclass(frozen=True)
class Hand:
    """What a hand does over the last whole turn of the crank, or over the run where it is shorter.

    Attributes
    ----------
    force : (n,) tangential, N, positive along the way that the wheel is turned.
    speed : (n,) of the hand along that way, m/s.
    step : (n,) duration, s, of the step that ends there.
    turned : (n,) angle, rad, that the wheel turns in it.
    driven : (n,) whether the wheel drives the hand.
    whole : whether this is a whole turn of the crank, whose end goes over into its beginning.
    """

    force: Array
    speed: Array
    step: Array
    turned: Array
    driven: Flags
    whole: bool

    @property
    def duration(self) -> float:
        """All steps together, s."""
        return float(np.sum(self.step))

    def share(self, when: Flags) -> float:
        """Give the share of the time in which something (n,) is so."""
        return float(np.sum(self.step[when])) / self.duration


def hand_of(run: Run) -> Hand:
    """Read from a run with a hand what that hand does."""
    radius = from_canonical(run.description).wheel.radius
    crank = run[f"angles/{_first_crank(run)}/angle"]
    left = np.abs(crank - crank[-1])
    last = left <= 2 * np.pi
    step = np.diff(run.time, prepend=0.0)[last]
    way = _way(run)
    force, speed = run[TORQUE] * way / radius, run[SPEED] * way * radius
    driven = (force < -STILL * np.max(np.abs(force))) & (speed > 0)
    # A held turn ends where it began; its first record is a step after its beginning.
    whole = bool(left[0] + np.abs(crank[1] - crank[0]) > 2 * np.pi * 0.999) if len(crank) > 1 else False
    return Hand(force[last], speed[last], step, np.abs(run[SPEED][last]) * step, driven[last], whole)


def findings(run: Run) -> list[Finding]:
    """Give what a hand feels in a run in which it turns the wheel; nothing for other runs."""
    if len(run.time) == 0 or run.case not in ("turn", "crank"):
        return []
    hand = hand_of(run)
    over = "over the last turn of the crank" if hand.whole else "over the whole run"
    found = [*_force(run, hand), *_kick(run, hand, over)]
    work = float(np.sum(hand.force * hand.speed * hand.step)) / hand.duration
    found.append(_of(run, "mean power of the hand", work, "power", over))
    return [*found, *(_each(run, hand) if run.case == "turn" else [_own(run, hand, over)])]


def longest(flags: Flags, sizes: Array, joined: bool) -> float:
    """Give the largest sum of sizes over an unbroken stretch of flags.

    Parameters
    ----------
    flags, sizes : (n,).
    joined : whether the end goes over into the beginning.
    """
    if flags.all():
        return float(np.sum(sizes))
    if joined:
        first = int(np.argmin(flags))
        flags, sizes = np.roll(flags, -first), np.roll(sizes, -first)
    stretch = np.cumsum(~flags)
    return float(np.bincount(stretch, weights=np.where(flags, sizes, 0.0)).max())


def beyond(hand: Hand, person: Person) -> float:
    """Give the share of the time in which a person has not the strength for what the hand does.

    Pushing is limited by strength and power at that speed of the hand, holding back by the strength at rest.
    """
    able = np.array([person.strength(max(float(v), 0.0)) for v in hand.speed])
    return hand.share((hand.force > able) | (-hand.force > person.push))


@dataclass(frozen=True)
class Start:
    """The worst place to start from.

    Attributes
    ----------
    level : of friction.
    force : tangential at the rim or grip, N, that just moves the wheel.
    crank : crank angle, rad.
    weight, friction : torques at the wheel, N m, that make it up there; what chains lose counts as friction.
    """

    level: Level
    force: float
    crank: float
    weight: float
    friction: float


def start_of(closed: Linkage, level: Level, way: int = 1) -> Start:
    """Find the crank angle from which the wheel is hardest to start.

    F = max over the crank angle of (T_own + T_c / eta + T_drag) / R, with T_own of the wheel's own unbalance, T_c
    the weights of the sides and their joints' friction at rest (times static over sliding friction, as T_drag) over
    the reduction, and eta the product of the stages' efficiencies, which multiplies where T_c helps; 0 where the
    weights start it by themselves. Friction in the bearings of the drive's shafts is not in it.

    Parameters
    ----------
    closed : the sculpture with its loops closed.
    level : of friction.
    way : 1 for turning the wheel forward, -1 for backward.
    """
    closed = at_friction(closed, level)
    m = closed.mechanism
    crank = np.linspace(0, 2 * np.pi, PLACES, endpoint=False)
    weight = way * holding_torque(closed, crank)
    forward, up = unbalance(m)
    own = -way * (forward * np.cos(crank * m.reduction) + up * np.sin(crank * m.reduction))
    rubs = sum((statics(s, crank, m.gravity, m.friction).friction for s in closed.sides), np.zeros(PLACES))
    behind = weight - own + rubs * m.friction.static / m.reduction
    eta = math.prod(s.efficiency for s in m.stages)
    torque = (
        own + np.where(behind > 0, behind / eta, behind * eta) + m.friction.static * m.friction.wheel_drag
    )
    worst = int(np.argmax(torque))
    force = max(0.0, float(torque[worst])) / m.wheel.radius
    friction = float(torque[worst] - weight[worst])
    return Start(level, force, float(crank[worst]), float(weight[worst]), friction)


def can_start(closed: Linkage, level: Level = "nominal") -> list[Finding]:
    """Give for each profile whether it can start the wheel from the worst place, at a level of friction."""
    start = start_of(closed, level)
    return [
        Finding(f"force that starts it against the push of the {p.label}", start.force, "force", names.WHEEL,
                _resting(level), None, start.crank, Limit(p.push, "most", p.source.split(";")[0]), CLOSED,
                ASSUMED)
        for p in by_age()
    ]  # fmt: skip


def starting(closed: Linkage) -> list[Finding]:
    """Give the force that starts the wheel from the worst place, both ways, and the youngest that has it."""
    return [_starting(closed, 1), _starting(closed, -1)]


def youngest(force: float) -> str:
    """Name the youngest profile whose push is not below a force, N."""
    return next((p.label for p in by_age() if p.push >= force), "none")


def _starting(closed: Linkage, way: int) -> Finding:
    low, nominal, high = (start_of(closed, level, way) for level in LEVELS)
    can, other = youngest(nominal.force), sorted({youngest(low.force), youngest(high.force)}, key=_rank)
    span = (
        f"{' to '.join(other)} over low to high friction"
        if len(other) > 1
        else "at low and high friction too"
    )
    note = (
        f"{shown(nominal.weight / closed.mechanism.wheel.radius, 'force')} of it weight; "
        f"{shown(low.force, 'force')} to {shown(high.force, 'force')} over low to high friction; "
        f"youngest that can: {can} ({span}); {ASSUMED}"
    )
    what = f"force that starts the wheel {'forward' if way > 0 else 'backward'}"
    return Finding(what, nominal.force, "force", names.WHEEL, _resting("nominal"), None, nominal.crank,
                   source=CLOSED, note=note)  # fmt: skip


def _rank(label: str) -> int:
    """Give the place of a profile among all by age; last for what is none."""
    labels = [p.label for p in by_age()]
    return labels.index(label) if label in labels else len(labels)


def _resting(level: Level) -> str:
    return f"starting from the worst place, {level} friction"


def _force(run: Run, hand: Hand) -> list[Finding]:
    radius, way = from_canonical(run.description).wheel.radius, _way(run)
    hardest = run.extreme(TORQUE, "max" if way > 0 else "min")
    torque = hardest.value * way
    at = (hardest.time, hardest.crank)
    note = "at the rim or grip"
    if run.case == "turn":
        strong = (p.label for p in by_age() if beyond(hand, p) == 0)
        note += f"; youngest with the strength for all of it: {next(strong, 'none')}; {ASSUMED}"
    return [
        _of(run, "largest torque of the hand", torque, "torque", "", at),
        _of(run, "largest hand force", torque / radius, "force", note, at),
        _of(run, "largest hand force over the 22.2 N of 2010 ADA 309.4", torque / radius / OPERABLE, "ratio",
            "a comparison; whether it applies is for the local authority", at),
    ]  # fmt: skip


def _kick(run: Run, hand: Hand, over: str) -> list[Finding]:
    radius, way = from_canonical(run.description).wheel.radius, _way(run)
    easiest = run.extreme(TORQUE, "min" if way > 0 else "max")
    kick = max(0.0, -easiest.value * way) / radius
    at = (easiest.time, easiest.crank) if kick > 0 else (None, None)
    weak = [p.label for p in by_age() if p.push < kick]
    note = f"carries along: {', '.join(weak)}; {ASSUMED}" if weak else ""
    stretch = longest(hand.driven, hand.turned, hand.whole)
    return [
        _of(run, "largest force with which the wheel drives the hand", kick, "force", note, at),
        _of(run, "longest unbroken angle of the wheel over which it drives the hand", stretch, "angle", over),
        _of(run, "share of the time in which the wheel drives the hand", hand.share(hand.driven), "ratio", over),
    ]  # fmt: skip


def _each(run: Run, hand: Hand) -> list[Finding]:
    """Give for each profile the share of a held turn that is beyond it."""
    return [
        _of(run, f"share of the turn beyond the strength of the {p.label}", beyond(hand, p), "ratio",
            f"{ASSUMED}: {shown(p.push, 'force')} at rest, {shown(p.power, 'power')}")
        for p in by_age()
    ]  # fmt: skip


def _own(run: Run, hand: Hand, over: str) -> Finding:
    person = people()[str(run.scenario["person"])]
    able = np.array([person.strength(max(float(v), 0.0)) for v in hand.speed])
    share = hand.share((hand.force > AT_LIMIT * able) | (-hand.force > AT_LIMIT * person.push))
    return _of(
        run, "share of the time at the limit of strength or power", share, "ratio", f"{over}; {ASSUMED}"
    )


def _of(run: Run, what: str, value: float, dimension: str, note: str,
        at: tuple[float | None, float | None] = (None, None)) -> Finding:  # fmt: skip
    return Finding(what, value, dimension, names.WHEEL, run.label, *at, source=RUN, note=note)


def _way(run: Run) -> float:
    wanted = run.scenario.get("speed")
    return -1.0 if isinstance(wanted, (int, float)) and wanted < 0 else 1.0


def _first_crank(run: Run) -> str:
    return next(n for n in run.names("angles") if n.endswith("crankshaft"))


if __name__ == "__main__":
    script(findings, __doc__)
