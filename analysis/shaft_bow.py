"""What a crankshaft bowed by welding does: wing error, misalignment at its coupling, force on its bearings.

The bow is half the indicator reading at the middle of the main bearings; it turns with the shaft and moves each crank
pin in the shaft's own axes. On two bearings it loads nothing; a third one, or a rigid clamp, forces the shaft straight.

Usage: python -m analysis.shaft_bow RUN...
"""

from dataclasses import dataclass

import numpy as np

from analysis.coupling_line import Misaligned, unlimited
from analysis.finding import Finding
from analysis.script import script
from models.mechanism import Side, from_canonical
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.builders import Linkage, linkage
from sim.linkage import SideLinkage
from sim.run import Run
from sim.shaft.bending import Bent
from sim.shaft.crank import bearing_joints
from sim.shaft.ends import InnerEnd, inner_end
from sim.shaft.loading import ANGLES, bowed, unloaded
from sim.shaft.wings import pins_moved, wing_errors

WING = "largest error of its angle from the shaft's bow"
PARALLEL = "parallel misalignment from the shaft's bow"
ANGULAR = "angular misalignment from the shaft's bow"
FORCE = "force on it from the shaft's bow"
SOURCE = (
    "half a sine between the main bearings, straight beyond; loops closed with the pins where it puts them"
)
CASE = "geometry"
DIRECTIONS = np.linspace(0, 2 * np.pi, 24, endpoint=False)
"""Directions of a bow among which the worst is sought where it is not known: within 1 % of it."""


@dataclass(frozen=True)
class WingError:
    """The largest error of a panel's angle over a turn: in size, rad, at which crank angle, rad, bow toward, rad."""

    panel: str
    size: float
    crank: float
    toward: float


@dataclass(frozen=True)
class Bow:
    """What a bow does to a side.

    Attributes
    ----------
    side : with the bow, its throws otherwise in line, its direction the one that is worst for the coupling.
    runout : indicator reading at mid-span, m.
    known : whether the bow's direction is given; else each figure is of the worst of `DIRECTIONS`.
    wings : from the innermost panel on.
    end : the inner end, off line by the bow, and how it gives.
    """

    side: Side
    runout: float
    known: bool
    wings: tuple[WingError, ...]
    end: InnerEnd

    @property
    def forces(self) -> dict[str, float]:
        """By joint, what each bearing carries for it, N: nothing but rounding on two."""
        return {
            joint: float(np.linalg.norm(self.end.shape.bearing_force(k)[0]))
            for k, joint in enumerate(bearing_joints(self.side), 1)
        }


def bow(closed: SideLinkage, runout: float | None = None, toward: float | None = None) -> Bow:
    """Bow a side's crankshaft.

    Parameters
    ----------
    closed : the side.
    runout : indicator reading at mid-span, m; None for the description's.
    toward : where it is high, counted as throws' angles are, rad; None for the description's where `runout` is, too,
        else for the worst.

    Raises
    ------
    CannotClose
        Where a rod does not reach any more.
    """
    side = closed.side
    own = side.crank.runout_angle if runout is None else None
    known = own if toward is None else toward
    size = side.crank.runout if runout is None else runout
    ways = DIRECTIONS if known is None else np.array([known])
    # Everything is linear in the bow: two directions square to each other give all others.
    up, forward = (unloaded(bowed(side, size, at)) for at in (0.0, np.pi / 2))
    worst: dict[str, WingError] = {}
    for way in ways:
        moved = _mixed(
            pins_moved(up, side.key_angle, ANGLES), pins_moved(forward, side.key_angle, ANGLES), way
        )
        for panel, error in wing_errors(closed, ANGLES, moved).items():
            k = int(np.argmax(np.abs(error)))
            found = WingError(panel, float(abs(error[k])), float(ANGLES[k]), float(way))
            if panel not in worst or found.size > worst[panel].size:
                worst[panel] = found
    ends = [_off(up, way) + _off(forward, way - np.pi / 2) for way in ways]
    at = float(ways[int(np.argmax([np.hypot(*off[:2]) for off in ends]))])
    crooked = bowed(side, size, at)
    return Bow(crooked, size, known is not None, tuple(worst.values()), inner_end(crooked))


def of_linkage(
    closed: Linkage,
    runout: float | None = None,
    toward: float | None = None,
    misaligned: Misaligned = unlimited,
) -> list[Finding]:
    """Give what a bow does to every side; nothing where there is none.

    Parameters
    ----------
    closed : the sculpture.
    runout, toward : as for `bow`.
    misaligned : what misalignment each coupling allows.
    """
    found: list[Finding] = []
    for side in closed.sides:
        made = bow(side, runout, toward)
        if made.runout > 0:
            found += _found(made, misaligned)
    return found


def findings(run: Run) -> list[Finding]:
    """Give what the bow of a run's sculpture does."""
    return of_linkage(linkage(from_canonical(run.description)))


def _found(made: Bow, misaligned: Misaligned) -> list[Finding]:
    name = made.side.name
    reading = f"runout {shown(made.runout, 'length')} at mid-span"
    found = [
        Finding(WING, w.size, "angle", names.panel(name, w.panel), CASE, None, w.crank, source=SOURCE,
                note=f"{reading}, bow {_toward(made, w.toward)}")
        for w in made.wings
    ]  # fmt: skip
    angular, parallel = misaligned(made.side)
    steady = "it turns with the shaft: it strains the coupling steadily and drags both ends round"
    for what, size, dimension, limit in (
        (ANGULAR, made.end.angular, "angle", angular),
        (PARALLEL, made.end.parallel, "length", parallel),
    ):
        found.append(Finding(what, size, dimension, names.coupling(name), CASE, limit=limit, source=SOURCE,
                             note=f"{reading}; {steady}"))  # fmt: skip
    if len(made.side.crank.stations) > 2:
        found += [
            Finding(FORCE, size, "force", joint, CASE, source=SOURCE,
                    note=f"{reading}, bow {_toward(made, made.side.crank.runout_angle)}; it turns with the shaft")
            for joint, size in made.forces.items()
        ]  # fmt: skip
    return found


def _toward(made: Bow, toward: float) -> str:
    worst = "" if made.known else ", the worst direction"
    return f"toward {np.degrees(toward) % 360:.0f} deg{worst}"


def _mixed(up: dict[str, Array], forward: dict[str, Array], way: float) -> dict[str, Array]:
    return {name: np.cos(way) * moved + np.sin(way) * forward[name] for name, moved in up.items()}


def _off(shape: Bent, way: float) -> Array:
    return np.cos(way) * InnerEnd(shape).off


if __name__ == "__main__":
    script(findings, __doc__)
