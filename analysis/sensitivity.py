"""Which values matter most: those that a description leaves open first, then those that it gives.

Each value is moved both ways by what a maker might be wrong by, and what verdicts rest on is taken anew: hand force of
a slow turn, force that starts the wheel, largest joint force at rest, inertia at the wheel and least transmission angle
in closed form, and the rim's speed after letting go where the study found it worst, by the reduced model.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import cast

import numpy as np

from analysis import feel, handle, motion
from models.loading import DescriptionError, changed
from models.mechanism import Mechanism
from models.resolve import mechanism
from models.sculpture import Sculpture
from models.shown import shown
from models.units import DescriptionFault
from models.written import read, written
from sim.builders import Linkage, linkage
from sim.engines.base import EngineError, NotReduced
from sim.many import together
from sim.reduced.quick import let_go
from sim.scenarios import LetGo, inertia_at_wheel
from sim.statics import statics
from sim.whole import holding_torque

SHARE = 0.2
"""A default is moved by a fifth of itself: a size of stock, a coefficient, a mass."""
PLACES = ("hinge.", "yoke_pin.", "bearings.", "crank.ends.")
"""Defaults that are places, known to a centimetre whatever their size."""
EFFICIENCY = 0.02
"""An efficiency is moved by what makers' and textbooks' figures differ by."""
FROM_ZERO: Mapping[str, float] = {"length": 0.01, "mass": 0.5, "angle": np.radians(5), "torque": 0.3}
"""Where the default is nothing, it is moved to this (SI)."""
GIVEN: Mapping[str, float] = {"length": 0.002, "angle": np.radians(1)}
"""What is given is measured: lengths and angles to this (SI) or, what is small and all else, to a twentieth."""
GIVEN_SHARE = 0.05
NO_VALUES = ("outline", "case", "lift", "seen", "points", "name")
"""Tables and fields of a description that hold nothing to be off by."""
HAND, START, RIM = "largest hand force", "force that starts it", "rim speed after letting go"
JOINT, INERTIA, TRANSMISSION = (
    "largest joint force at rest",
    "inertia at the wheel",
    "least transmission angle",
)


@dataclass(frozen=True)
class Value:
    """A number of a description.

    Attributes
    ----------
    field : its dotted name.
    value, dimension : SI.
    given : whether the description gives it; else it is a default.
    """

    field: str
    value: float
    dimension: str
    given: bool

    @property
    def off(self) -> float:
        """By how much a maker might be wrong, SI."""
        return self._share * abs(self.value) if self._share else self._size

    @property
    def off_words(self) -> str:
        """The same in words."""
        if self._share:
            return f"{100 * self._share:.0f} %"
        return shown(self._size, self.dimension).split(" (")[0]

    @property
    def _share(self) -> float:
        """Share of itself by which it is moved, or 0 where it is a size."""
        if self.field.endswith(".efficiency"):
            return 0.0
        if not self.given:
            return 0.0 if self._absolute else SHARE
        size = GIVEN.get(self.dimension, np.inf)
        small = self.dimension == "length" and 0 < GIVEN_SHARE * abs(self.value) < size
        return GIVEN_SHARE if small or not np.isfinite(size) else 0.0

    @property
    def _size(self) -> float:
        if self.field.endswith(".efficiency"):
            return EFFICIENCY
        return (GIVEN if self.given else FROM_ZERO).get(self.dimension, 0.0)

    @property
    def _absolute(self) -> bool:
        """Whether a default is moved by a length or mass of its own and not by a share."""
        return self.value == 0 or (self.dimension == "length" and any(p in self.field for p in PLACES))


@dataclass(frozen=True)
class Weight:
    """How much a value matters.

    Attributes
    ----------
    value : which.
    figure : what it moves most.
    change : by which share of that figure; infinite where the linkage may not close.
    verdicts : those that it turns over, in words.
    """

    value: Value
    figure: str
    change: float
    verdicts: tuple[str, ...] = ()

    @property
    def line(self) -> str:
        """Say it in one line."""
        v = self.value
        start = f"{v.field} = {shown(v.value, v.dimension)}: {v.off_words} off"
        if math.isinf(self.change):
            return f"{start}, the linkage may not close"
        turned = f"; turns over: {', '.join(self.verdicts)}" if self.verdicts else ""
        return f"{start} moves the {self.figure} by {100 * self.change:.1f} %{turned}"


@dataclass(frozen=True)
class Known:
    """What verdicts rest on: figures by name, and the verdicts in words by what they are about."""

    figures: Mapping[str, float]
    verdicts: Mapping[str, str]


def weights(sculpture: Sculpture, gone: LetGo | None = None) -> list[Weight]:
    """Give every number of a description that can be off: defaults first, then by how much each matters.

    Most matters what may keep the linkage from closing, then what turns verdicts over, then what moves a figure.

    Parameters
    ----------
    sculpture : what.
    gone : the let go whose peak rim speed is looked at too, if any.
    """
    settled = mechanism(sculpture)
    base = known(linkage(settled), gone)
    moved = [_Moved(sculpture, settled, v, base, gone) for v in values(sculpture, settled)]
    found = [w for w in together(_weight, moved) if w is not None]
    return sorted(found, key=lambda w: (w.value.given, math.isfinite(w.change), not w.verdicts, -w.change))


@dataclass(frozen=True)
class _Moved:
    """A value to be moved, with what is known where it stands."""

    sculpture: Sculpture
    settled: Mechanism
    value: Value
    base: Known
    gone: LetGo | None


def _weight(moved: _Moved) -> Weight | None:
    """Move a value both ways; None where it cannot be moved."""
    value, base, can = moved.value, moved.base, False
    best = Weight(value, HAND, 0.0)
    verdicts: list[str] = []
    for way in (1, -1):
        change = _changed(value, moved.settled, way)
        try:
            other = known(linkage(mechanism(changed(moved.sculpture, change))), moved.gone)
        except DescriptionError as error:
            if "cannot reach" in str(error):
                best, can = Weight(value, HAND, math.inf), True
            continue
        can = True
        verdicts += [v for about, v in other.verdicts.items() if v != base.verdicts[about]]
        for name, before in base.figures.items():
            share = abs(other.figures[name] - before) / abs(before) if before else 0.0
            if share > best.change:
                best = Weight(value, name, share)
    return Weight(value, best.figure, best.change, tuple(dict.fromkeys(verdicts))) if can else None


def values(sculpture: Sculpture, settled: Mechanism) -> list[Value]:
    """Give the numbers of a description that can be off: defaults, then what is given; counts and gravity are known."""
    defaults = [
        Value(d.field, d.value, d.dimension, given=False)
        for d in settled.defaults
        if not isinstance(d.value, str) and d.dimension not in ("count", "acceleration")
    ]
    given = [Value(f, v, d, given=True) for f, v, d in _leaves(sculpture.source.document, "")]
    return [v for v in (*defaults, *given) if v.off > 0]


def _leaves(at: object, name: str) -> Iterator[tuple[str, float, str]]:
    """Give the quantities under a part of a document: dotted name, SI value and dimension."""
    if isinstance(at, dict):
        for key, value in cast("dict[str, object]", at).items():
            if key not in NO_VALUES:
                yield from _leaves(value, f"{name}.{key}" if name else key)
    elif isinstance(at, list):
        for number, item in enumerate(cast("list[object]", at), 1):
            yield from _leaves(item, f"{name}.{_called(item) or number}")
    elif isinstance(at, str | float):
        try:
            value, dimension = read(at)
        except DescriptionFault:
            return
        if dimension != "acceleration":
            yield name, value, dimension


def _called(item: object) -> object:
    return cast("dict[str, object]", item).get("name") if isinstance(item, dict) else None


def known(closed: Linkage, gone: LetGo | None) -> Known:
    """Give what verdicts rest on; the rim's speed only where a let go is named and the reduced model can follow it."""
    m = closed.mechanism
    crank = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    sides = [statics(s, crank, m.gravity, m.friction) for s in closed.sides]
    rubbing = sum(float(np.mean(s.friction)) for s in sides) / m.reduction
    # A handle behind stages turns several times in one of the crank.
    weight = holding_torque(closed, np.linspace(0, 2 * np.pi, 720, endpoint=False))
    angle = min(float(c.transmission.min()) for s in closed.sides for c in s.course(crank))
    start = feel.start_of(closed, "nominal").force
    found = {
        HAND: float(np.max(np.abs(weight)) + rubbing + m.friction.wheel_drag) / m.wheel.radius,
        START: start,
        JOINT: max(float(np.max(np.linalg.norm(f, axis=1))) for s in sides for f in s.forces.values()),
        INERTIA: inertia_at_wheel(closed),
        TRANSMISSION: angle,
    }
    verdicts = {
        START: f"the youngest that can start it is {_article(feel.youngest(start))}",
        TRANSMISSION: f"the transmission angle is {_within(motion.TRANSMISSION.value <= angle)}",
    }
    rim = None if gone is None else _rim(closed, gone)
    if rim is not None:
        found[RIM] = rim
        verdicts |= {
            f"{RIM} {name}": f"the rim is {_within(rim <= limit)} {name}"
            for name, limit, *_ in handle.RIM_LIMITS
        }
    return Known(found, verdicts)


def _article(who: str) -> str:
    return "nobody" if who == "none" else f"the {who}"


def _within(fine: bool) -> str:
    return "within" if fine else "beyond"


def _rim(closed: Linkage, gone: LetGo) -> float | None:
    try:
        found = let_go(closed, gone.speed, gone.release)
    except (NotReduced, EngineError):
        return None
    return max(found.peak, found.back) * closed.mechanism.wheel.radius


def _changed(value: Value, settled: Mechanism, way: int) -> dict[str, object]:
    """Give the change of the description that moves a value."""
    moved = written(value.value + way * value.off, value.dimension)
    for name, pair in _pairs(settled).items():
        if not value.given and value.field.rpartition(".")[0] == name:
            # The two places are one list in the description.
            places = [written(place, "length") for place in pair]
            places[int(value.field[-1]) - 1] = moved
            return {name: places}
    return {value.field: moved}


def _pairs(settled: Mechanism) -> dict[str, tuple[float, float]]:
    """Give the pairs of places that are one list in the description, m."""
    crank = settled.sides[0].crank
    shafts = {f"stage.{k}": stage.shaft for k, stage in enumerate(settled.stages, 1)}
    shafts["wheel"] = settled.wheel.shaft
    pairs = {f"{name}.shaft.bearings": shaft.bearings for name, shaft in shafts.items()}
    return {"crank.bearings": crank.bearings, "crank.ends": crank.ends, **pairs}
