"""From load cases to the scenarios that make them up for one sculpture."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from models.cases import Case
from models.people import people
from sim import names
from sim.builders import Linkage
from sim.scenarios import (
    Blocked,
    Broken,
    Crank,
    Grab,
    Gust,
    GustLocked,
    HangFree,
    HangHeld,
    HoldOn,
    Jam,
    LetGo,
    Lifted,
    Scenario,
    Stop,
    Turn,
)
from sim.scenarios.broken import highest, parts
from sim.scenarios.hang import tip_height, worst_hold
from sim.scenarios.jam import CRANK, gives_way, worst_angle
from sim.statics import statics
from sim.whole import holding_torque, potential_energy
from sim.wind import Wind, static_pushes, winds_around

POSES = 360
SURE = {False: 1.02, True: 1.1}
"""Pull over friction of wings, cranks and wheel from which it counts as set off, by whether there are stages, whose
shafts rub too."""


@dataclass(frozen=True)
class Expanded:
    """What a case comes to for one sculpture.

    Attributes
    ----------
    case : the case.
    scenarios : one or more.
    left_out : why there is none, or why some are left out; "" else.
    """

    case: Case
    scenarios: tuple[Scenario, ...]
    left_out: str = ""


def expanded(case: Case, closed: Linkage, release: float | None = None) -> Expanded:
    """Give the scenarios of a case.

    Parameters
    ----------
    case : what is done.
    closed : the sculpture.
    release : crank angle, rad, for cases that follow on the worst let go; by default where the weights pull the
        wheel the hardest.
    """
    made = _MAKERS[case.kind](case, closed, hardest(closed) if release is None else release)
    scenarios, words = made
    return Expanded(case, tuple(scenarios), words)


def wheel_speed(case: Case, closed: Linkage) -> float:
    """Give the wheel speed, rad/s, of a case: its own, or a hand speed over the radius."""
    if "speed" in case.figures:
        return case.figures["speed"]
    hand = case.figures.get("hand_speed", people()[case.person].speed if case.person else 0.0)
    return hand / closed.mechanism.wheel.radius


def hardest(closed: Linkage) -> float:
    """Give the crank angle, rad, at which the weights pull the wheel forward the hardest."""
    crank = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
    return float(crank[int(np.argmin(holding_torque(closed, crank)))])


def left_standing(closed: Linkage, wind: Wind) -> tuple[float, float, float]:
    """Give where a wind finds a free piece standing at worst.

    Of all poses at which static friction holds its weights, those near its highest too: the highest of those from
    which the wind sets it off, else the one where least is wanting. Where friction holds it nowhere, the lowest.

    Returns
    -------
    crank : angle, rad.
    fall : J that its weights lie above their lowest; 0 where nothing sets it off.
    beyond : pull of weights and wind at the wheel beyond what friction holds, N m; negative where it stays.
    """
    m = closed.mechanism
    crank = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
    still = [statics(s, crank, m.gravity, m.friction) for s in closed.sides]
    blown = [statics(s, crank, m.gravity, m.friction, static_pushes(s, crank, wind)) for s in closed.sides]
    rubs, more = (np.sum([x.friction for x in own], axis=0) / m.reduction for own in (still, blown))
    held, then = (m.friction.static * (x + m.friction.wheel_drag) for x in (rubs, np.maximum(rubs, more)))
    weight, height = holding_torque(closed, crank), potential_energy(closed, crank)
    push = np.sum([b.torque - a.torque for a, b in zip(still, blown, strict=True)], axis=0) / m.reduction
    height = height - height.min()
    stands = np.abs(weight) <= held if np.any(np.abs(weight) <= held) else height == 0
    eta = math.prod(stage.efficiency for stage in m.stages)
    beyond = np.where(stands, eta * np.abs(weight + push) - SURE[bool(m.stages)] * then, -np.inf)
    fall = np.where(beyond > 0, height, 0.0)
    worst = int(np.argmax(fall if fall.any() else beyond))
    return float(crank[worst]), float(fall[worst]), float(beyond[worst])


Made = tuple[list[Scenario], str]


def _turn(case: Case, closed: Linkage, release: float) -> Made:
    del release
    return [Turn(wheel_speed(case, closed))], ""


def _crank(case: Case, closed: Linkage, release: float) -> Made:
    del release
    own = "speed" in case.figures or "hand_speed" in case.figures
    return [Crank(case.person, wheel_speed(case, closed) if own else None)], ""


def _let_go(case: Case, closed: Linkage, release: float) -> Made:
    del release
    speed = wheel_speed(case, closed)
    return [
        LetGo(speed, float(a)) for a in np.linspace(0, 2 * np.pi, case.count("angles"), endpoint=False)
    ], ""


def _hold_on(case: Case, closed: Linkage, release: float) -> Made:
    return [HoldOn(case.person, wheel_speed(case, closed), release)], ""


def _grab(case: Case, closed: Linkage, release: float) -> Made:
    return [Grab(case.person, wheel_speed(case, closed), release, case.figures["after"])], ""


def _stop(case: Case, closed: Linkage, release: float) -> Made:
    return [Stop(wheel_speed(case, closed), case.figures["within"], release)], ""


def _blocked(case: Case, closed: Linkage, release: float) -> Made:
    del closed, release
    return [Blocked(case.person)], ""


def _jam(case: Case, closed: Linkage, release: float) -> Made:
    """Block every panel of the first side, and its crank; the other side's are mirror images or nearly so."""
    side = closed.sides[0].side
    if not gives_way(closed, side.name):
        return [], (
            "nothing elastic lies between the wheel and a blocked side: a rigid model has no figure for it; the "
            "static case bounds it by the push alone"
        )
    speed = wheel_speed(case, closed)
    found: list[Scenario] = [Jam(speed, side.name, CRANK, release)]
    for panel in side.panels:
        found.append(Jam(speed, side.name, panel.name, worst_angle(closed, side.name, panel.name)))
    return found, ""


def _tip(case: Case, closed: Linkage) -> tuple[str, str, str]:
    """Give side and panel whose tip people hang on, the outermost, and why they cannot where it is too high."""
    side = closed.sides[0].side
    panel = side.panels[-1].name
    height = tip_height(closed, side.name, panel, np.linspace(0, 2 * np.pi, POSES, endpoint=False))
    least, reach = float(np.min(height)), case.figures["reach"]
    words = f"its lowest tip is {least:.2f} m up, above a reach of {reach:.2f} m" if least > reach else ""
    return side.name, panel, words


def _mass(case: Case) -> float:
    return case.figures["people"] * case.figures["mass"]


def _hang_held(case: Case, closed: Linkage, release: float) -> Made:
    del release
    side, panel, words = _tip(case, closed)
    if words:
        return [], words
    person = "" if case.kind == "hang-locked" else "adult"
    return [HangHeld(_mass(case), case.figures["reach"], side, panel, person)], ""


def _hang(case: Case, closed: Linkage, release: float) -> Made:
    del release
    side, panel, words = _tip(case, closed)
    if words:
        return [], words
    start = worst_hold(closed, _mass(case), case.figures["reach"], side, panel)
    return [HangFree(_mass(case), side, panel, start)], ""


def _gust(case: Case, closed: Linkage, release: float) -> Made:
    """Blow from each direction as sets the piece off most: rising or falling, one side sheltered or neither.

    It finds the piece where somebody may have left it: elsewhere its own weight would turn the wheel.
    """
    del release
    made: list[Scenario] = []
    for winds in winds_around(case.figures["wind"], case.count("directions"), case.figures["slope"],
                              case.figures["lee"]):  # fmt: skip
        found = {w: left_standing(closed, w) for w in winds}
        w = max(found, key=lambda w: (round(found[w][1], 6), round(found[w][2], 6)))
        made.append(Gust(w.speed, w.direction, found[w][0], slope=w.slope, lee=w.lee))
    return made, ""


def _gust_locked(case: Case, closed: Linkage, release: float) -> Made:
    del closed, release
    figures = case.figures
    return [GustLocked(figures["wind"], case.count("directions"), figures["slope"], figures["lee"])], ""


def _broken(case: Case, closed: Linkage, release: float) -> Made:
    del case, release
    alone = {names.coupling(s.side.name): s.side.name for s in closed.sides}
    return [Broken(part, highest(closed, alone.get(part))) for part in parts(closed)], ""


def _lifted(case: Case, closed: Linkage, release: float) -> Made:
    """Hang the piece at each lift point that lies above its centre of gravity."""
    del case, release
    points = closed.mechanism.lifts
    if not points:
        return [], "the description names no lift point; write [[lift]]"
    crank = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
    found: list[Scenario] = []
    low: list[str] = []
    for point in points:
        hung = Lifted(point)
        if float(np.min(hung.up(closed, crank)[:, 2])) > 0:
            found.append(hung)
        else:
            low.append(f"'{point.name}'")
    if not low:
        return found, ""
    lie = "lies" if len(low) == 1 else "lie"
    return found, f"lift point {', '.join(low)} {lie} below the centre of gravity; put it higher"


_MAKERS: dict[str, Callable[[Case, Linkage, float], Made]] = {
    "turn": _turn,
    "crank": _crank,
    "let-go": _let_go,
    "hold-on": _hold_on,
    "grab": _grab,
    "stop": _stop,
    "blocked": _blocked,
    "jam": _jam,
    "hang-held": _hang_held,
    "hang-locked": _hang_held,
    "hang": _hang,
    "gust": _gust,
    "gust-locked": _gust_locked,
    "broken": _broken,
    "lifted": _lifted,
}
