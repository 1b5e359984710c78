"""From wanted motion to dimensions: the answers, what each comes to, and which of many are given."""

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, cast

import numpy as np

from analysis import clearances, motion
from analysis.finding import Finding
from analysis.fit_wishes import Asked, Bound, lag_behind, limits, wishes
from analysis.questions import closed
from models.loading import changed
from models.mechanism import Panel
from models.resolve import Lacking, mechanism, sides
from models.sculpture import Sculpture
from models.units import size_of
from sim import names
from sim.balance import moment, unbalanced
from sim.builders import Linkage
from sim.fit import Fitted, fit
from sim.fit_panel import Step, Wish
from sim.linkage import TURN, SideLinkage, close
from sim.statics import statics
from sim.swivel import swivel

MOST = 4
"""Answers given."""
DISTINCT = 0.1
"""By how much answers differ in a throw, a rod or the place of a yoke pin; see `sim.fit_family.distance`."""
ANGLE = np.radians(0.5)
"""What angles of throws are made in: an assumption."""
STANDING = np.linspace(0, 2 * np.pi, 180, endpoint=False)
"""Crank angles at which the rod ends' forces are taken."""


@dataclass(frozen=True)
class Moved:
    """What one panel of an answer does, its dimensions rounded.

    Attributes
    ----------
    name : the panel's.
    low, high : lowest and highest angle over the turn, rad.
    lag : behind the innermost panel, rad of the crank's turn; None for that one.
    transmission, swivel : least and most, rad.
    rod : largest force at its rod ends standing still, N; None unless the description is whole.
    binding : the limits that it is at.
    """

    name: str
    low: float
    high: float
    lag: float | None
    transmission: float
    swivel: float
    rod: float | None
    binding: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Answer:
    """One set of dimensions and what it comes to.

    Attributes
    ----------
    fields : by panel, the fields to write into the description.
    panels : what each does, innermost first.
    astray : by how much an angle or lag is off its wish at most, rad.
    torque, hand : peak torque at the wheel, N m, that holds it at any crank angle without friction, with the
        described counterweights, and the same at rim or grip, N; None unless the description is whole.
    touching : parts that touch, worst first; None where that cannot be told.
    best : what it is the best of the answers at.
    side : the side that it moves, its loops closed.
    fitted : how it was found.
    """

    fields: dict[str, dict[str, Any]]
    panels: tuple[Moved, ...]
    astray: float
    torque: float | None
    hand: float | None
    touching: tuple[Finding, ...] | None
    best: tuple[str, ...]
    side: SideLinkage
    fitted: Fitted

    def table(self) -> dict[str, object]:
        """Give it as plain data for JSON, SI."""
        return {
            "panels": [asdict(p) for p in self.panels],
            "astray": self.astray,
            "torque": self.torque,
            "hand": self.hand,
            "touching": None if self.touching is None else [f.table() for f in self.touching],
            "best": self.best,
            "fields": self.fields,
        }


@dataclass(frozen=True, eq=False)
class Fit:
    """The answers to one question.

    Attributes
    ----------
    sculpture : its name.
    wishes : by panel, innermost first.
    bounds : the limits with their sources.
    step : what dimensions are made in.
    found : how many sets of dimensions move as wanted within the limits; where 0, the one answer is the nearest.
    answers : those given, in order; none where no dimension in whole steps is within the limits.
    """

    sculpture: str
    wishes: dict[str, Wish]
    bounds: tuple[Bound, ...]
    step: Step
    found: int
    answers: tuple[Answer, ...]

    def table(self) -> dict[str, object]:
        """Give it as plain data for JSON, SI."""
        return {
            "sculpture": self.sculpture,
            "wishes": {name: asdict(w) for name, w in self.wishes.items()},
            "limits": [asdict(b) for b in self.bounds],
            "step": asdict(self.step),
            "found": self.found,
            "answers": [a.table() for a in self.answers],
        }


PURPOSES: dict[str, Callable[[Answer], float]] = {
    "least torque": lambda a: a.torque if a.torque is not None else np.inf,
    "largest transmission angle": lambda a: -min(p.transmission for p in a.panels),
    "smallest swivel": lambda a: max(p.swivel for p in a.panels),
    "least force in the rods": lambda a: max(p.rod if p.rod is not None else np.inf for p in a.panels),
    "shortest throws": lambda a: sum(float(s.x[0]) for s in a.fitted.solutions),
}
"""What an answer can be the best at, the less the better; answers are ordered by the first that can be told."""


def answers(sculpture: Sculpture, asked: Asked, step: float = 5e-4, unit: str = "mm") -> Fit:
    """Find dimensions that move a sculpture's panels as wanted.

    Parameters
    ----------
    sculpture : gives all that is not sought, and a motion where none is asked for.
    asked : the wishes and limits.
    step : what lengths are made in, m.
    unit : what lengths are written in.

    Raises
    ------
    DescriptionError
        See `wishes`; also where the description lacks what the motion needs or is wrong.
    """
    wanted = wishes(sculpture, asked)
    bounds, allowed = limits(sculpture, asked)
    try:
        mechanism(sculpture)
        whole = True
    except Lacking:
        whole = False
    steps = Step(step, float(ANGLE))
    fitted = fit(sides(sculpture)[0], list(wanted.values()), allowed, steps)
    looked = [_looked_at(sculpture, f, whole, unit) for f in fitted]
    given = _given(sculpture, looked, whole) if looked else []
    count = sum(f.reached for f in fitted)
    return Fit(sculpture.name, wanted, bounds, steps, count, _labelled(given) if count else tuple(given))


def _looked_at(sculpture: Sculpture, fitted: Fitted, whole: bool, unit: str) -> Answer:
    """Say what dimensions come to as they are written."""
    fields = _fields(sculpture, fitted, unit)
    written = _written(sculpture, fields)
    torque = hand = None
    pulls: dict[str, float] = {}
    if whole:
        linkage = closed(written)
        side, m = linkage.sides[0], linkage.mechanism
        torque = unbalanced(linkage).peak(moment(m.sides[0].crank.weights))
        hand = torque / m.wheel.radius
        pulls = _pulls(linkage)
    else:
        side = close(sides(written)[0], sculpture.source.label)
    courses = side.course(motion.TURN)
    moved = tuple(
        Moved(
            c.panel.name, float(c.angle.value.min()), float(c.angle.value.max()),
            lag_behind(c.angle.value, courses[0].angle.value) if k else None,
            float(c.transmission.min()), float(max(eye.max() for eye in swivel(c))),
            pulls.get(c.panel.name), task.binding(s),
        )
        for k, (c, task, s) in enumerate(zip(courses, fitted.tasks, fitted.solutions, strict=True))
    )  # fmt: skip
    astray = max(_astray(m, task.wish) for m, task in zip(moved, fitted.tasks, strict=True))
    return Answer(fields, moved, astray, torque, hand, None, (), side, fitted)


def _astray(m: Moved, wish: Wish) -> float:
    late = 0.0 if m.lag is None or wish.lag is None else (m.lag - wish.lag + np.pi) % TURN - np.pi
    return max(abs(m.low - wish.low), abs(m.high - wish.high), abs(late))


def _pulls(linkage: Linkage) -> dict[str, float]:
    """Give by panel the largest force at a rod end of the first side standing still, N."""
    m, side = linkage.mechanism, linkage.sides[0]
    forces = statics(side, STANDING, m.gravity, m.friction).forces
    return {
        p.name: max(
            float(np.linalg.norm(forces[eye(side.side.name, p.name)], axis=-1).max())
            for eye in (names.crank_eye, names.yoke_eye)
        )
        for p in side.side.panels
    }


def _given(sculpture: Sculpture, looked: Sequence[Answer], whole: bool) -> list[Answer]:
    """Choose what is given: the best at each purpose, then the next in order, all distinct, none that touches.

    Where all touch, they are chosen as if none did.
    """
    known: dict[int, Answer] = {}

    def seen(a: Answer) -> Answer:
        """Look for what touches, which takes longer than all else, and only once."""
        if id(a) not in known:
            known[id(a)] = replace(a, touching=_touching(sculpture, a) if whole else None)
        return known[id(a)]

    order = _order(looked)
    values = [v for v in PURPOSES.values() if np.isfinite(v(looked[0]))]
    for must_clear in (True, False):
        chosen: list[Answer] = []

        def clear(a: Answer, must: bool = must_clear) -> bool:
            return not must or not seen(a).touching

        def distinct(a: Answer, others: list[Answer] = chosen) -> bool:
            return all(a.fitted.apart(c.fitted) >= DISTINCT for c in others)

        for value in values:
            best = next((a for a in sorted(looked, key=value) if clear(a)), None)
            chosen += [best] if best is not None and distinct(best) else []
        for a in sorted(looked, key=order):
            chosen += [a] if len(chosen) < MOST and distinct(a) and clear(a) else []
        if chosen:
            return [seen(a) for a in sorted(chosen[:MOST], key=order)]
    return []


def _order(looked: Sequence[Answer]) -> Callable[[Answer], float]:
    """Give what answers are ordered by: the first purpose that can be told of them."""
    return next(value for value in PURPOSES.values() if np.isfinite(value(looked[0])))


def _labelled(given: Sequence[Answer]) -> tuple[Answer, ...]:
    best = {name: min(given, key=value) for name, value in PURPOSES.items() if np.isfinite(value(given[0]))}
    return tuple(replace(a, best=tuple(name for name, b in best.items() if b is a)) for a in given)


def _touching(sculpture: Sculpture, answer: Answer) -> tuple[Finding, ...]:
    """Give what touches; see `analysis.clearances`, allowances as there."""
    found = clearances.of_linkage(closed(_written(sculpture, answer.fields)))
    return tuple(f for f in found if f.limit == clearances.TOUCH and f.beyond)


def _written(sculpture: Sculpture, fields: dict[str, dict[str, Any]]) -> Sculpture:
    return changed(
        sculpture, {f"panel.{name}.{field}": v for name, own in fields.items() for field, v in own.items()}
    )


def _fields(sculpture: Sculpture, fitted: Fitted, unit: str) -> dict[str, dict[str, Any]]:
    """Give by panel what to write: throw, rod and yoke pin, and an angle seen where the fold needs it."""
    documents = cast("list[dict[str, Any]]", sculpture.source.document["panel"])
    return {p.name: _of_panel(own, p, unit) for own, p in zip(documents, fitted.side.panels, strict=True)}


def _of_panel(own: dict[str, Any], p: Panel, unit: str) -> dict[str, Any]:
    def length(value: float) -> str:
        return f"{value / float(size_of(unit, 'length')):.9g} {unit}"

    def angle(value: float) -> str:
        return f"{(np.degrees(value) + 180) % 360 - 180:.9g} deg"

    throw = {"radius": length(p.throw_radius), "angle": angle(p.throw_angle)}
    pin = {"out": length(p.yoke_out), "below": length(p.yoke_below)}
    found: dict[str, Any] = {
        "throw": {**own["throw"], **throw}, "rod": length(p.rod.length), "yoke_pin": {**own["yoke_pin"], **pin},
    }  # fmt: skip
    if p.seen_panel is not None:
        found["seen"] = {"panel": angle(p.seen_panel), "crank": angle(p.seen_crank)}
    return found


def description(answer: Answer) -> str:
    """Give an answer as the lines of a description, by panel."""
    return "\n".join(
        line
        for name, own in answer.fields.items()
        for line in (f"# in panel {json.dumps(name)}", *(f"{k} = {_toml(v)}" for k, v in own.items()))
    )


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return (
            "{ " + ", ".join(f"{k} = {_toml(v)}" for k, v in cast("dict[str, object]", value).items()) + " }"
        )
    return json.dumps(value, ensure_ascii=False)
