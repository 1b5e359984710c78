"""How far panels are off their angles because the crankshaft gives under load."""

import numpy as np

from analysis.finding import Finding
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.builders import Linkage
from sim.shaft.loading import ANGLES, standing_still, unloaded
from sim.shaft.wings import pins_moved, wing_errors

BENDING = "largest error of its angle as the shaft gives under load"
APART = "largest difference of left and right from the shafts' give"
SOURCE = (
    "crank pins moved by the frame standing still, loops closed anew; first order: loads as on rigid shafts"
)
CASE = "standing still"


def by_load(closed: Linkage) -> tuple[dict[str, Array], ...]:
    """Give for each side, by panel, how far its angle is off over a turn standing still, at `ANGLES`, rad.

    What turns with the shaft, bow and throws off line, is taken off.

    Raises
    ------
    CannotClose
        Where a rod does not reach any more.
    """
    found: list[dict[str, Array]] = []
    for side in closed.sides:
        key = side.side.key_angle
        shape = standing_still(side, closed.mechanism).shape()
        moved, turning = (pins_moved(s, key, ANGLES) for s in (shape, unloaded(side.side)))
        found.append(wing_errors(side, ANGLES, {name: moved[name] - turning[name] for name in moved}))
    return tuple(found)


def of_linkage(closed: Linkage) -> list[Finding]:
    """Give each panel's largest error by load, and how far it parts left from right."""
    errors = by_load(closed)
    found: list[Finding] = []
    for side, own in zip(closed.sides, errors, strict=True):
        for panel, error in own.items():
            k = int(np.argmax(np.abs(error)))
            middle = float(error.max() + error.min()) / 2
            swing = float(error.max() - error.min()) / 2
            found.append(
                Finding(BENDING, float(abs(error[k])), "angle", names.panel(side.side.name, panel), CASE, None,
                        float(ANGLES[k]), source=SOURCE,
                        note=f"around {shown(middle, 'angle')} it swings by {shown(swing, 'angle')}; webs, pins and "
                        "the shaft's twist from the coupling on counted in")
            )  # fmt: skip
    if len(errors) == 2:
        for panel in (name for name in errors[0] if name in errors[1]):
            apart = np.abs(errors[0][panel] - errors[1][panel])
            k = int(np.argmax(apart))
            alike = "both sides bend alike: the error is common to them, and no difference shows"
            found.append(
                Finding(APART, float(apart[k]), "angle", panel, CASE, None, float(ANGLES[k]), source=SOURCE,
                        note=alike if apart[k] < 1e-9 else "at the same crank angle")
            )  # fmt: skip
    return found
