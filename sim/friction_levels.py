"""Friction low, nominal and high: the least certain input, so what rests on it is given for all three."""

from dataclasses import replace
from typing import Literal

from models.mechanism import Rubbing

Level = Literal["low", "nominal", "high"]
LEVELS: tuple[Level, ...] = ("low", "nominal", "high")


def rubbing_at(rubbing: Rubbing, level: Level) -> Rubbing:
    """Give the friction at a level: every coefficient and the drag times the level's factor.

    The ratio of static to sliding friction stays. The factors of the result are 1, as a level of a level would
    mean nothing.
    """
    factor = {"low": rubbing.low, "nominal": 1.0, "high": rubbing.high}[level]
    return replace(
        rubbing,
        bush=rubbing.bush * factor,
        rod_end=rubbing.rod_end * factor,
        hinge=rubbing.hinge * factor,
        bearing=rubbing.bearing * factor,
        wheel_drag=rubbing.wheel_drag * factor,
        low=1.0,
        high=1.0,
    )
