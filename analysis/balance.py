"""Which counterweight: what it takes off the hand, what none takes off, and what it puts on the bearings."""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass

import numpy as np

from analysis import clearances
from analysis.finding import Finding
from analysis.questions import closed
from models.loading import changed
from models.mechanism import Mechanism, Weight
from models.people import people
from models.sculpture import Sculpture
from models.shown import shown
from sim.balance import Unbalanced, added_load, best, first_harmonic, moment, unbalanced
from sim.builders import Linkage

GRAM, TENTH = 1e-3, np.radians(0.1)
"""What a mass, kg, and an angle, rad, are written to."""
HUNDREDTH = 1e-5
"""What a radius is written to, m."""
MOST_MASS = 10.0
"""Per crankshaft, kg: an assumption."""
FREE = 1e-3
"""Share of the peak by which it may lie above the least there is for further mass to count as idle."""


@dataclass(frozen=True)
class Limit:
    """What bounds a counterweight, and where that comes from.

    Attributes
    ----------
    mass, radius : at most, kg and m, per crankshaft.
    out : place along the shaft, m.
    mass_source, radius_source, out_source : in words.
    """

    mass: float
    radius: float
    out: float
    mass_source: str
    radius_source: str
    out_source: str


@dataclass(frozen=True)
class Choice:
    """A counterweight per crankshaft, and what it comes to.

    Attributes
    ----------
    name : in words.
    mass, radius, angle, out : of one counterweight that does the same to the torque as all of this choice's, kg, m,
        rad and m; no angle, radius and place where there is none.
    within : whether it keeps the limits.
    peak : greatest torque at the wheel that holds the piece at any crank angle without friction, N m.
    hand : the same at the rim or grip, N.
    standing : (2,) weight on the two main bearings of each crankshaft, N, negative where it lifts.
    whirling : (2,) what turns with the shaft at an adult's comfortable speed, N.
    """

    name: str
    mass: float
    radius: float | None
    angle: float | None
    out: float | None
    within: bool
    peak: float
    hand: float
    standing: tuple[float, float]
    whirling: tuple[float, float]


@dataclass(frozen=True)
class Balance:
    """What counterweights do for a piece.

    Attributes
    ----------
    sculpture : its name.
    grip : "rim" or "grip".
    limit : of the best choice.
    choices : as described, without, first harmonic, best.
    steps : the best with at most so many kilograms at the largest radius, from none upwards.
    least : peak torque that no counterweight of any size removes, N m at the wheel.
    least_moment : mass times radius per crankshaft that leaves it, kg m.
    bearings : places of the two main bearings, m.
    wheel_speed : at which the whirling loads are, rad/s.
    cancelling : whether the sides' counterweights undo each other.
    drifting : amplitude of the wheel's own unbalance in every peak, N m, where it drifts against the crank; else 0.
    further : whether a crankshaft has more bearings than two.
    """

    sculpture: str
    grip: str
    limit: Limit
    choices: tuple[Choice, Choice, Choice, Choice]
    steps: tuple[Choice, ...]
    least: float
    least_moment: float
    bearings: tuple[float, float]
    wheel_speed: float
    cancelling: bool
    drifting: float
    further: bool

    def table(self) -> dict[str, object]:
        """Give it as plain data for JSON, SI."""
        return {**asdict(self), "description": description(self.choices[-1])}


def limits(
    m: Mechanism, mass: float | None = None, radius: float | None = None, out: float | None = None
) -> Limit:
    """Give the limits, those that are None by what the description has.

    Parameters
    ----------
    m : the sculpture.
    mass, radius, out : as in `Limit`.
    """
    crank = m.sides[0].crank
    described = crank.weights
    asked = "as asked"
    largest, source = radius, asked
    if largest is None and described:
        largest, source = max(w.radius for w in described), "the described counterweights' largest"
    elif largest is None:
        largest, source = max(p.throw_radius for p in m.sides[0].panels), "the largest throw's"
    place, place_source = out, asked
    if place is None:
        total = sum(w.mass for w in described)
        if total > 0:
            place = sum(w.mass * w.out for w in described) / total
            place_source = "where the description has them"
        else:
            place, place_source = sum(crank.bearings) / 2, "midway between the main bearings; assumption"
    return Limit(
        MOST_MASS if mass is None else mass,
        largest,
        place,
        "assumption" if mass is None else asked,
        source,
        place_source,
    )


def balance(whole: Linkage, limit: Limit) -> Balance:
    """Find the counterweight that leaves the least peak torque at the wheel within limits.

    The largest radius allowed is taken, which asks for the least mass. Every choice is rounded to what is written
    down first and then looked at, so that what is promised holds for what is written.

    Parameters
    ----------
    whole : the sculpture; its described counterweights are compared and then taken off.
    limit : see `limits`.
    """
    m = whole.mechanism
    piece = unbalanced(whole)
    described = m.sides[0].crank.weights
    speed = people()["adult"].speed / m.wheel.radius
    looked = _Looking(m, piece, limit, speed)
    free = best(piece)
    least = piece.peak(free)
    top = best(piece, limit.mass * limit.radius)
    return Balance(
        m.name,
        "grip" if m.wheel.kind == "handle" else "rim",
        limit,
        (
            looked.at("as described", described),
            looked.at("without", ()),
            looked.at("first harmonic", looked.written(first_harmonic(piece))),
            looked.at("best within limits", looked.written(top, limit.mass)),
        ),
        _steps(looked, least),
        least,
        abs(free),
        m.sides[0].crank.bearings,
        speed,
        piece.gain == 0,
        piece.drifting,
        len(m.sides[0].crank.stations) > 2,
    )


def _steps(looked: "_Looking", least: float) -> tuple[Choice, ...]:
    """Give the best with 0, 1, 2 ... kg until the limit or until no more mass helps."""
    most = looked.limit.mass
    masses = [float(k) for k in range(math.floor(most) + 1)]
    masses += [most] if most > masses[-1] else []
    found: list[Choice] = []
    for mass in masses:
        top = best(looked.piece, mass * looked.limit.radius)
        found.append(looked.at(f"{mass:g} kg", looked.written(top, mass)))
        if found[-1].peak <= least * (1 + FREE) or looked.piece.gain == 0:
            break
    return tuple(found)


@dataclass(frozen=True)
class _Looking:
    """Says what counterweights come to on one piece."""

    m: Mechanism
    piece: Unbalanced
    limit: Limit
    speed: float

    def written(self, wanted: complex, most: float = math.inf) -> tuple[Weight, ...]:
        """Give a moment, kg m, as one counterweight in the round figures of a description, or as none."""
        radius = max(HUNDREDTH * math.floor(self.limit.radius / HUNDREDTH + 1e-6), HUNDREDTH)
        mass = min(round(abs(wanted) / radius / GRAM), math.floor(min(most, 1e9) / GRAM + 1e-6)) * GRAM
        angle = TENTH * (round(float(np.angle(wanted)) / TENTH) % 3600)
        return (Weight(mass, radius, float(angle), self.limit.out),) if mass > 0 else ()

    def at(self, name: str, weights: Sequence[Weight]) -> Choice:
        """Give what counterweights come to."""
        own = moment(weights)
        mass = sum(w.mass for w in weights)
        peak = self.piece.peak(own)
        still, turning = added_load(self.m, weights, self.speed)
        # Several that undo each other have mass but no radius, and so no angle.
        radius = abs(own) / mass if mass > 0 else None
        angle = float(np.angle(own)) % (2 * np.pi) if radius else None
        return Choice(
            name,
            mass,
            radius,
            angle,
            sum(w.mass * w.out for w in weights) / mass if mass > 0 else None,
            mass <= self.limit.mass + GRAM / 2
            and all(w.radius <= self.limit.radius + HUNDREDTH for w in weights),
            peak,
            peak / self.m.wheel.radius,
            (float(still[0]), float(still[1])),
            (float(turning[0]), float(turning[1])),
        )


def fields(choice: Choice) -> dict[str, str]:
    """Give a choice as the fields of a description's counterweight, none where it is none."""
    if choice.radius is None or choice.angle is None or choice.out is None:
        return {}
    return {
        "mass": f"{choice.mass:.3f} kg",
        "radius": f"{1e3 * choice.radius:.2f} mm",
        "angle": f"{np.degrees(choice.angle) % 360:.1f} deg",
        "out": f"{1e3 * choice.out:.10g} mm",
    }


def description(choice: Choice) -> str:
    """Give a choice as the lines of a description, or "" where it is none."""
    lines = [f'{name} = "{text}"' for name, text in fields(choice).items()]
    return "\n".join(["[[crank.counterweight]]", *lines]) if lines else ""


def clearing(sculpture: Sculpture, choice: Choice) -> tuple[Finding, ...]:
    """Give how near a choice comes to other parts over the turn; see `analysis.clearances`, allowances as there."""
    if not fields(choice):
        return ()
    written = closed(changed(sculpture, {"crank.counterweight": [fields(choice)]}))
    return tuple(
        f for f in clearances.of_linkage(written) if f.limit == clearances.TOUCH and "counterweight" in f.what
    )


def choice_table(found: Balance) -> list[list[str]]:
    """Give the choices as lines of texts, headings first."""
    head = [
        "per crankshaft",
        "mass",
        "radius",
        "angle",
        "peak torque, wheel",
        f"hand force at {found.grip}",
        "",
    ]
    return [head, *(_row(c.name, c, "" if c.within else "beyond the limits") for c in found.choices)]


def step_table(found: Balance) -> list[list[str]]:
    """Give the kilograms as lines of texts, headings first."""
    head = [
        "at most",
        "mass",
        "angle",
        "peak torque, wheel",
        f"hand force at {found.grip}",
        "takes off the hand",
    ]
    lines = [head]
    for before, c in zip((None, *found.steps), found.steps, strict=False):
        own = _row(c.name, c, "" if before is None else shown(before.hand - c.hand, "force"))
        lines.append([*own[:2], *own[3:]])
    return lines


def _row(name: str, c: Choice, note: str) -> list[str]:
    return [
        name,
        shown(c.mass, "mass"),
        "" if c.radius is None else shown(c.radius, "length"),
        "" if c.angle is None else shown(c.angle, "angle"),
        shown(c.peak, "torque"),
        shown(c.hand, "force"),
        note,
    ]


def bearing_table(found: Balance) -> list[list[str]]:
    """Give what the described and the best counterweights add to the bearings, headings first."""
    head = ["each crankshaft", "bearing at", "weight standing", "whirling", "together at most"]
    return [
        head,
        *(
            [c.name, shown(place, "length"), shown(still, "force"), shown(turning, "force"),
             shown(abs(still) + turning, "force")]
            for c in (found.choices[0], found.choices[-1]) if c.mass > 0
            for place, still, turning in zip(found.bearings, c.standing, c.whirling, strict=True)
        ),
    ]  # fmt: skip
