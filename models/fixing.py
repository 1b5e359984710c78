"""How what moves is held, with every number settled: hinges, bolts and the lock."""

from dataclasses import dataclass

from models.materials import Material, material

STEEL = material("A36 steel")
WITHIN = 0.025
"""How near the hinge line (m) a panel's edge must lie to carry hinges there."""


@dataclass(frozen=True)
class Hinges:
    """The hinges, alike on every hinge line.

    Attributes
    ----------
    material : of the pins.
    plates : stock of each panel's plate, from the body outwards; empty where nobody said.
    count : groups of knuckles along a line.
    span : distance of the outermost groups' middles, m, or None: then it is `share` of the panel's edge.
    knuckles : in a group, an odd number: both ends of the pin sit in the same leaf.
    knuckle, gap : length of one and play along the pin between two, m.
    wear : coefficient of the knuckles' bushes, m3/(N m), or None where it is not known.
    leaf : thickness, m.
    bolts : that hold each leaf of a group, half of them in each of two rows along the line.
    bolt : their nominal diameter, m, or None where it is to be chosen.
    reach, rows : from the pin's axis to the first row, and between the rows, m.
    pitch, edge : between bolts of a row, and from a bolt to the nearest edge, m.
    share : of the part of the edge that both panels share, which the span is where it is not given.
    """

    material: Material = STEEL
    plates: tuple[Material, ...] = ()
    count: int = 2
    span: float | None = None
    knuckles: int = 3
    knuckle: float = 0.03
    gap: float = 0.001
    wear: float | None = None
    leaf: float = 0.005
    bolts: int = 4
    bolt: float | None = None
    reach: float = 0.025
    rows: float = 0.025
    pitch: float = 0.04
    edge: float = 0.015
    share: float = 0.8

    @property
    def planes(self) -> int:
        """How many times a group's pin is sheared: between any two knuckles."""
        return self.knuckles - 1

    @property
    def length(self) -> float:
        """Of a group along the line, m."""
        return self.knuckles * self.knuckle + self.planes * self.gap

    @property
    def pattern(self) -> tuple[tuple[float, float], ...]:
        """The bolts of a leaf: along the line from the group's middle, and from the pin's axis, m."""
        half = self.bolts // 2
        along = [(k - (half - 1) / 2) * self.pitch for k in range(half)]
        return tuple((x, away) for away in (self.reach, self.reach + self.rows) for x in along)


@dataclass(frozen=True)
class Bolting:
    """What is common to the bolts.

    Attributes
    ----------
    grade : property class of metric ones.
    wheel : how many hold the wheel on its hub.
    circle : diameter of the circle they sit on, m.
    """

    grade: str = "A2-70"
    wheel: int = 4
    circle: float = 0.07


@dataclass(frozen=True)
class Lock:
    """The pin that locks the wings.

    Attributes
    ----------
    at : "wheel", or "crank" for one at each crankshaft.
    radius : from the axis, m.
    pin : diameter, m, or None where it is to be chosen.
    planes : in which it is sheared, 1 or 2.
    plate, gap : thickness of the plates that it goes through, and play between two, m.
    """

    at: str
    radius: float
    pin: float | None = None
    planes: int = 1
    plate: float = 0.01
    gap: float = 0.002
