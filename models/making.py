"""How a crankshaft is made and how much it is used, with everything settled: what its strength hangs on."""

import math
from dataclasses import dataclass
from typing import Literal

Finish = Literal["ground", "machined", "cold drawn", "hot rolled", "as forged"]
"""Surfaces of round bar."""
Keyseat = Literal["end-milled", "sled-runner", "none"]
"""How the keyseat at a crankshaft's inner end is cut."""


@dataclass(frozen=True)
class Weld:
    """The welds between webs, shaft and pins, all alike.

    Attributes
    ----------
    toe : class, by its name in `models.weld_classes`, of cracks from the toe; None where none is known for the
        crankshaft's material.
    root : the same of cracks from the root through the throat.
    throat : thickness of a fillet, m, or None: then nothing is known of the root.
    faces : on how many faces of a web there is a weld, 1 or 2.
    partial : factor by which the classes' strengths are divided.
    """

    toe: str | None = "IIW toe"
    root: str | None = "IIW root"
    throat: float | None = None
    faces: int = 1
    partial: float = 1.35


@dataclass(frozen=True)
class Making:
    """How a crankshaft is made.

    Attributes
    ----------
    surface : of the bars of shaft and pins.
    keyseat : from the inner end to the first bearing or web.
    weld : of the webs.
    """

    surface: Finish = "cold drawn"
    keyseat: Keyseat = "end-milled"
    weld: Weld = Weld()


@dataclass(frozen=True)
class Use:
    """How much a piece is turned, and how far it shall stay from failing.

    Attributes
    ----------
    hours : in a year during which somebody turns it.
    years : that it shall last.
    speed : of the wheel during those hours, rad/s.
    margin : safety factor wanted against fatigue and against yielding.
    deflection : of a crankshaft between two bearings, as a share of their distance, at most.
    shock : factor by which loads that come and go suddenly count against static ratings of bought parts.
    visit : turns of the wheel that a visitor makes.
    """

    hours: float = 500.0
    years: float = 10.0
    speed: float = math.pi
    margin: float = 1.5
    deflection: float = 0.003
    shock: float = 2.0
    visit: float = 10.0

    def turns(self, reduction: float) -> float:
        """Give the turns of the crank in a year, with `reduction` turns of the wheel for one of it."""
        return self.wheel_turns / reduction

    @property
    def wheel_turns(self) -> float:
        """Turns of the wheel in a year."""
        return abs(self.speed) / (2 * math.pi) * 3600 * self.hours

    @property
    def visitors(self) -> float:
        """Visitors in a year who turn the wheel."""
        return self.wheel_turns / self.visit
