"""After the push a hand stays on the wheel, or grabs it later."""

from dataclasses import dataclass, replace
from typing import ClassVar, final

from models.people import people
from sim import names
from sim.builders import Linkage, scene
from sim.operators.grabbing import GrabbingHand
from sim.operators.holding import HoldingHand
from sim.scenarios.base import LONGEST, Moving, falling, inertia_at_wheel, rpm
from sim.scene import Load, Rest, Scene

FOLLOWED = 20.0


@final
@dataclass(frozen=True)
class HoldOn(Moving):
    """Somebody stops pushing but keeps hold of the wheel and is carried, until the grip slips.

    Attributes
    ----------
    person : name of a profile.
    speed : wheel speed at which the push ends, rad/s.
    release : crank angle there, rad.
    """

    case: ClassVar[str] = "hold-on"
    person: str
    speed: float
    release: float

    @property
    def label(self) -> str:
        """The load case in words."""
        return f"{people()[self.person].label} keeps hold, {_from(self.speed, self.release)}{self.rubbing}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene with the arm's mass on the wheel and a hand that resists."""
        who, radius = people()[self.person], closed.mechanism.wheel.radius
        made = scene(
            closed, self.release, self.speed, rest=Rest(),
            loads=(Load(names.HAND, names.WHEEL, HoldingHand(who, radius)),),
        )  # fmt: skip
        # The arm goes round with the wheel: its mass is felt at the rim, its weight is carried by the person.
        bodies = list(made.bodies)
        at = next(k for k, b in enumerate(bodies) if b.name == names.WHEEL)
        inertia = bodies[at].inertia.copy()
        inertia[1, 1] += who.arm_mass * radius**2
        bodies[at] = replace(bodies[at], inertia=inertia)
        return replace(made, bodies=tuple(bodies))

    def end(self, closed: Linkage) -> float:
        """Give how long it is followed at most, s: a hand that keeps hold lets the wheel creep on and on."""
        del closed
        return FOLLOWED

    def fastest(self, closed: Linkage) -> float:
        """Give the speed at the bottom of the fall from the release."""
        return falling(closed, self.speed)


@final
@dataclass(frozen=True)
class Grab(Moving):
    """The wheel is let go, and some time later somebody grabs the turning rim.

    Attributes
    ----------
    person : name of a profile.
    speed : wheel speed at the release, rad/s.
    release : crank angle there, rad.
    after : s until the hand begins to close, its reaction included.
    """

    case: ClassVar[str] = "grab"
    person: str
    speed: float
    release: float
    after: float = 1.0

    @property
    def label(self) -> str:
        """The load case in words."""
        who = people()[self.person].label
        return f"{who} grabs the rim {self.after:.3g} s after {_from(self.speed, self.release)}{self.rubbing}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene with a hand that closes on the rim."""
        radius = closed.mechanism.wheel.radius
        hand = GrabbingHand(people()[self.person], radius, inertia_at_wheel(closed), self.after)
        return scene(closed, self.release, self.speed, loads=(Load(names.HAND, names.WHEEL, hand),))

    def end(self, closed: Linkage) -> float:
        """Give the time in which the grip stops twice the energy that the fall can give, s."""
        who, radius = people()[self.person], closed.mechanism.wheel.radius
        speed = self.fastest(closed) * closed.mechanism.reduction
        stopping = inertia_at_wheel(closed) * speed / (who.grip * radius)
        return float(min(self.after + 2 * stopping + 1.0, LONGEST))

    def fastest(self, closed: Linkage) -> float:
        """Give the speed at the bottom of the fall from the release."""
        return falling(closed, self.speed)


def _from(speed: float, release: float) -> str:
    return f"release at {release * 57.29577951308232:.0f} deg, {rpm(speed)}"
