"""A sculpture with every number settled: what the mechanics work on.

All lengths in metres, masses in kilograms, angles in radians. `out` counts from the post's axis on either
side, `forward` along x, `up` from the crank's axis.
"""

import json
import math
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache

from pydantic import TypeAdapter

from models.drive import Coupling, Limiter, Stage, Wheel
from models.fixing import Bolting, Hinges, Lock
from models.keyways import Keyways
from models.making import Making, Use
from models.materials import Material
from models.outline import Outline
from models.rod_making import RodMaking
from models.structure import Structure


@dataclass(frozen=True)
class Default:
    """A value that the description leaves open.

    Attributes
    ----------
    field : its dotted name, as it can be set.
    value : SI number or text.
    dimension : for showing it.
    source : where the value comes from, or "assumption".
    """

    field: str
    value: float | str
    dimension: str
    source: str


@dataclass(frozen=True)
class PointMass:
    """A lump on a panel: mass and place from the hinge line (forward, out, above)."""

    mass: float
    forward: float
    out: float
    above: float


@dataclass(frozen=True)
class Plate:
    """A flat plate.

    Attributes
    ----------
    name : the panel's.
    outline : first coordinate forward along the hinge line, second outwards.
    thickness, density : m, kg/m3.
    mass : weighed or wanted mass that replaces the computed one, or None.
    lumps : masses fixed to it.
    """

    name: str
    outline: Outline
    thickness: float
    density: float
    mass: float | None
    lumps: tuple[PointMass, ...]


@dataclass(frozen=True)
class Rod:
    """A connecting rod between the eyes of two rod ends.

    Attributes
    ----------
    length : eye to eye.
    diameter, density : of its bar.
    end_mass, ball : of each rod end, and its ball's diameter.
    clocking : angle between the two eyes, about the rod.
    """

    length: float
    diameter: float
    density: float
    end_mass: float
    ball: float
    clocking: float


@dataclass(frozen=True)
class Off:
    """A misalignment: a sideways offset, m, and an angle, rad, both toward a direction counted as throws are."""

    offset: float = 0.0
    angle: float = 0.0
    toward: float = 0.0


@dataclass(frozen=True)
class Panel:
    """A panel with what moves it.

    Attributes
    ----------
    plate : its metal.
    hinge_forward, hinge_out, hinge_up : the hinge line's place: from the crank's axis for the innermost
        panel, else from the hinge line of the panel before, in that panel's own axes.
    yoke_forward, yoke_out, yoke_below : the yoke pin's place from its own hinge line.
    pin_along : whether the yoke pin lies along the hinge (else across it, out from the hinge).
    throw_radius, throw_angle, throw_out : the throw.
    rod : the rod.
    seen_panel, seen_crank : an observed panel angle and the crank angle it was seen at, or None.
    hinge_pin : diameter.
    off : how the shaft beyond the throw runs off the line of the shaft before it, as welded.
    """

    plate: Plate
    hinge_forward: float
    hinge_out: float
    hinge_up: float
    yoke_forward: float
    yoke_out: float
    yoke_below: float
    pin_along: bool
    throw_radius: float
    throw_angle: float
    throw_out: float
    rod: Rod
    seen_panel: float | None
    seen_crank: float
    hinge_pin: float
    off: Off = Off()

    @property
    def name(self) -> str:
        """The panel's name."""
        return self.plate.name


@dataclass(frozen=True)
class Cheek:
    """The webs of a throw: a bar of width and thickness, or an outline; gap between the two faces."""

    width: float
    thickness: float
    gap: float
    outline: Outline | None

    @property
    def half(self) -> float:
        """Half the width of a whole throw along the shaft, m."""
        return self.gap / 2 + self.thickness


@dataclass(frozen=True)
class Weight:
    """A counterweight: kg at a radius and angle, at a place along the shaft."""

    mass: float
    radius: float
    angle: float
    out: float


@dataclass(frozen=True)
class Station:
    """A bearing of a crankshaft.

    Attributes
    ----------
    out : its place along the shaft.
    on : what holds it, "post" or "arm".
    stiffness : of that support, N/m, or None where it is taken for rigid.
    clearance : on the diameter.
    forward, up : how far it sits off the crank's axis.
    kind : of bearing, by its name in `models.bearing_kinds`.
    length : of a bush, m.
    """

    out: float
    on: str
    stiffness: float | None
    clearance: float = 0.0
    forward: float = 0.0
    up: float = 0.0
    kind: str = "bush"
    length: float = 0.0254


@dataclass(frozen=True)
class Crankshaft:
    """A side's crankshaft.

    Attributes
    ----------
    shaft, pin : diameters.
    material : its stock.
    stations : its bearings, the locating one first.
    ends : where the bar begins and ends.
    cheek : the webs, alike at every throw.
    weights : counterweights.
    coupling : at its inner end.
    runout : indicator reading at mid-span, m.
    runout_angle : where it is high, counted as throws' angles are.
    flexible : whether the engine lets it bend.
    elements : into how many pieces at least the distance of its two main bearings is cut for bending.
    making : surfaces, keyseat and welds.
    """

    shaft: float
    pin: float
    material: Material
    stations: tuple[Station, ...]
    ends: tuple[float, float]
    cheek: Cheek
    weights: tuple[Weight, ...]
    coupling: Coupling
    runout: float
    runout_angle: float = 0.0
    flexible: bool = False
    elements: int = 8
    making: Making = field(default_factory=Making)

    @property
    def bearings(self) -> tuple[float, float]:
        """Places of the two that hold a shaft which cannot bend: the locating one and the one farthest off."""
        first = self.stations[0].out
        return first, max((s.out for s in self.stations[1:]), key=lambda out: abs(out - first))


@dataclass(frozen=True)
class Side:
    """One side of the sculpture: `sign` is +1 on the left, -1 on the right.

    Its crank is ahead of the crank angle by `key_angle`, rad.
    """

    name: str
    sign: int
    key_angle: float
    panels: tuple[Panel, ...]
    crank: Crankshaft


@dataclass(frozen=True)
class LiftPoint:
    """A point from which the piece is hung: its name, forward, y and up from the crank's axis, m."""

    name: str
    forward: float
    out: float
    up: float


@dataclass(frozen=True)
class PostTube:
    """The post: outside diameter, wall, and how far it reaches above the crank's axis."""

    outside: float
    wall: float
    above: float

    @property
    def bore(self) -> float:
        """Inside diameter, m."""
        return self.outside - 2 * self.wall


@dataclass(frozen=True)
class Rubbing:
    """Friction: coefficients at the joints, and what does not depend on load.

    Attributes
    ----------
    bush, rod_end, hinge : sliding coefficients at crankshaft bearings, rod ends and hinges.
    bearing : the same at the bearings of the wheel's and the drive's shafts.
    wheel_drag : torque on the wheel's shaft whatever its load, N m.
    static : static over sliding friction, 1 or more.
    low, high : factors that make the low and the high estimate of all of it.
    """

    bush: float
    rod_end: float
    hinge: float
    bearing: float
    wheel_drag: float
    static: float
    low: float
    high: float


@dataclass(frozen=True)
class Mechanism:
    """A sculpture, settled.

    Attributes
    ----------
    name : its name.
    gravity : m/s2.
    crank_height : of the crank's axis above ground.
    sides : one or two.
    wheel, stages, limiter, post, lifts, friction : as their classes say.
    swivel_limit : of the rod ends.
    keyways : as measured, or None; the sides' key angles follow from them.
    defaults : what the description left open.
    use : how much it is turned.
    rod_making : how its rods are made, and what their rod ends are.
    hinges, bolting, lock : how what moves is held; no lock where the description has none.
    structure : what carries it, as far as described.
    """

    name: str
    gravity: float
    crank_height: float
    sides: tuple[Side, ...]
    wheel: Wheel
    stages: tuple[Stage, ...]
    limiter: Limiter | None
    post: PostTube | None
    lifts: tuple[LiftPoint, ...]
    friction: Rubbing
    swivel_limit: float
    keyways: Keyways | None
    defaults: tuple[Default, ...]
    use: Use = field(default_factory=Use)
    rod_making: RodMaking = field(default_factory=RodMaking)
    hinges: Hinges = field(default_factory=Hinges)
    bolting: Bolting = field(default_factory=Bolting)
    lock: Lock | None = None
    structure: Structure = field(default_factory=Structure)

    @property
    def drive_stock(self) -> Material:
        """What the drive's shafts are of: descriptions do not say, so the crankshafts' stock; assumption."""
        return self.sides[0].crank.material

    @property
    def wheel_parted(self) -> bool:
        """Whether a torque limiter parts the wheel from the shaft that the first driver sits on."""
        return self.limiter is not None and self.limiter.at == 0

    @property
    def reduction(self) -> float:
        """Turns of the wheel for one of the crank: the exact product of driven over driver teeth."""
        return float(math.prod((Fraction(s.driven, s.driver) for s in self.stages), start=Fraction(1)))


@lru_cache(maxsize=64)
def from_canonical(text: str) -> Mechanism:
    """Give back the mechanism that a run recorded as canonical JSON (see `sim.identity.canonical`)."""
    return TypeAdapter(Mechanism).validate_python({**json.loads(text), "defaults": ()})
