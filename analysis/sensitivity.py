"""Which of the values that a description leaves open matter most.

Each default is moved both ways by what a maker might be wrong by, and the closed-form figures are taken anew:
largest hand force of a slow turn with friction, largest joint force at rest, inertia at the wheel. No run is
needed, so this takes a second.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from models.loading import DescriptionError, changed
from models.mechanism import Default, Mechanism
from models.resolve import mechanism
from models.sculpture import Sculpture
from models.shown import shown
from models.written import written
from sim.builders import linkage
from sim.scenarios import inertia_at_wheel
from sim.statics import statics
from sim.whole import holding_torque

SHARE = 0.2
"""A default is moved by a fifth of itself: a size of stock, a coefficient, a mass."""
PLACES = ("hinge.", "yoke_pin.", "bearings.", "ends.")
"""Defaults that are places, known to a centimetre whatever their size."""
FROM_ZERO: Mapping[str, float] = {"length": 0.01, "mass": 0.5, "angle": np.radians(5), "torque": 0.3}
"""Where the default is nothing, it is moved to this (SI)."""
FIGURES = ("largest hand force", "largest joint force at rest", "inertia at the wheel")


@dataclass(frozen=True)
class Weight:
    """How much a default matters.

    Attributes
    ----------
    default : which.
    figure : what it moves most.
    change : by which share of that figure.
    by : how far the default was moved, in words.
    """

    default: Default
    figure: str
    change: float
    by: str

    @property
    def line(self) -> str:
        """Say it in one line."""
        value = self.default.value
        written = value if isinstance(value, str) else shown(value, self.default.dimension)
        if np.isinf(self.change):
            return f"{self.default.field} = {written}: {self.by} off, the linkage may not close"
        return f"{self.default.field} = {written}: {self.by} off moves the {self.figure} by {100 * self.change:.1f} %"


def weights(sculpture: Sculpture) -> list[Weight]:
    """Give every default that is a number, the one that matters most first."""
    settled = mechanism(sculpture)
    base = figures(settled)
    found: list[Weight] = []
    for default in settled.defaults:
        changes = [c for c in (_moved(default, settled, way) for way in (1, -1)) if c is not None]
        by = _by(default)
        best = Weight(default, FIGURES[0], 0.0, by)
        for change in changes:
            try:
                other = figures(mechanism(changed(sculpture, change)))
            except DescriptionError as error:
                if "cannot reach" in str(error):
                    best = Weight(default, FIGURES[0], float("inf"), by)
                continue
            for name, before, after in zip(FIGURES, base, other, strict=True):
                share = abs(after - before) / before
                if share > best.change:
                    best = Weight(default, name, share, by)
        if changes:
            found.append(best)
    return sorted(found, key=lambda w: -w.change)


def figures(settled: Mechanism) -> tuple[float, float, float]:
    """Give the closed-form figures that `FIGURES` names, in N, N and kg m2."""
    closed = linkage(settled)
    crank = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    sides = [statics(s, crank, settled.gravity, settled.friction) for s in closed.sides]
    rubbing = sum(float(np.mean(s.friction)) for s in sides) / settled.reduction
    # A handle behind stages turns several times in one of the crank.
    weight = holding_torque(closed, np.linspace(0, 2 * np.pi, 720, endpoint=False))
    hand = float(np.max(np.abs(weight)) + rubbing + settled.friction.wheel_drag) / settled.wheel.radius
    joints = max(float(np.max(np.linalg.norm(f, axis=1))) for s in sides for f in s.forces.values())
    return hand, joints, inertia_at_wheel(closed)


def _absolute(default: Default) -> bool:
    """Say whether a default is moved by a length or mass of its own and not by a share."""
    return default.value == 0 or (default.dimension == "length" and any(p in default.field for p in PLACES))


def _by(default: Default) -> str:
    """Say how far a default is moved."""
    if _absolute(default):
        return shown(FROM_ZERO.get(default.dimension, 0.0), default.dimension).split(" (")[0]
    return f"{100 * SHARE:.0f} %"


def _moved(default: Default, settled: Mechanism, way: int) -> dict[str, object] | None:
    """Give the change of the description that moves a default, or None where it is no number to move."""
    value = default.value
    if isinstance(value, str) or default.dimension == "count":
        return None
    if default.dimension == "acceleration" or (value == 0 and default.dimension not in FROM_ZERO):
        return None  # gravity is known
    step = FROM_ZERO[default.dimension] if _absolute(default) else SHARE * value
    other = value + way * step
    moved = written(other, default.dimension)
    for name, pair in _pairs(settled).items():
        if default.field.startswith(name):
            # The two places are one list in the description.
            places = [f"{place:.12g} m" for place in pair]
            places[int(default.field[-1]) - 1] = str(moved)
            return {name: places}
    return {default.field: moved}


def _pairs(settled: Mechanism) -> dict[str, tuple[float, float]]:
    """Give the pairs of places that are one list in the description, m."""
    crank = settled.sides[0].crank
    shafts = {f"stage.{k}": stage.shaft for k, stage in enumerate(settled.stages, 1)}
    shafts["wheel"] = settled.wheel.shaft
    pairs = {f"{name}.shaft.bearings": shaft.bearings for name, shaft in shafts.items()}
    return {"crank.bearings": crank.bearings, "crank.ends": crank.ends, **pairs}
