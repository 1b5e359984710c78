"""What joins two angles: an exact ratio, the two strands of a chain, a coupling that winds up, a torque limiter.

Each is one primitive with its law written once, for numbers, arrays and the engine's own symbols alike: the
engine integrates it and the recording evaluates it again. Angles count positive when they drive the piece forward.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from sim.arrays import Array
from sim.laws import Two, strands_law, twist_law


@dataclass(frozen=True)
class Ratio:
    """An exact ratio between two angles: `driven = driver / reduction`, counted from the start.

    Attributes
    ----------
    name : unique in the scene.
    driver, driven : rotors or bodies with a spin axis.
    reduction : turns of the driver for one of the driven.
    """

    name: str
    driver: str
    driven: str
    reduction: float


@dataclass(frozen=True)
class Soft:
    """A sprung idler as the strand feels it.

    Attributes
    ----------
    tension : of the strand at rest, N.
    rate : tension per chain length that the idler gives back, N/m.
    travel : chain length that it can give back before its stop, m.
    """

    tension: float
    rate: float
    travel: float


@dataclass(frozen=True)
class Strands:
    """A roller chain as two strands that pull and never push.

    With x = R1 f1 - R2 f2 the travel by which the driver is ahead (R the travel radii, N p / 2 pi), strand a is
    stretched by d = x - slack / 2 and strand b by d = -x - slack / 2, and each pulls T = max(0, k d (1 + c d'))
    while d > 0 and nothing else: damping vanishes at first touch and never pulls (the law of Hunt and Crossley,
    J. Appl. Mech. 42:440, 1975, with exponent 1; form from memory). A negative slack is a chain set tight, both
    strands at k |slack| / 2.

    Attributes
    ----------
    name : unique in the scene.
    driver, driven : rotors or bodies with a spin axis.
    driver_radius, driven_radius : travel radii, m.
    stiffness : of one strand, N/m.
    slack : excess length of the chain, m.
    damping : c, s/m.
    soft : a sprung idler on strand b, or None; then slack says how tight strand a is.
    start : x at the start, m.
    teeth : of driver and driven where the swing of the pitch polygons is computed, else None.
    """

    name: str
    driver: str
    driven: str
    driver_radius: float
    driven_radius: float
    stiffness: float
    slack: float
    damping: float
    soft: Soft | None = None
    start: float = 0.0
    teeth: tuple[int, int] | None = None

    def tensions(
        self, x: Any, rate: Any, larger: Two = np.maximum, smaller: Two = np.minimum
    ) -> tuple[Any, Any]:
        """Give the tensions of strands a and b, N, at x, m, and its rate, m/s."""
        return strands_law(larger, smaller)(x, rate, *self.numbers)

    @property
    def numbers(self) -> tuple[float, float, float, bool, float, float, float]:
        """What its law takes after travel and rate."""
        soft = self.soft or Soft(0.0, 0.0, 0.0)
        return (self.stiffness, self.damping, self.slack, self.soft is not None,
                soft.tension, soft.rate, soft.travel)  # fmt: skip

    def force(self, x: Any, rate: Any, larger: Two = np.maximum, smaller: Two = np.minimum) -> Any:
        """Give strand a's tension less strand b's, N: what drives the driven and holds the driver back."""
        a, b = self.tensions(x, rate, larger, smaller)
        return a - b

    def strain(self, x: Array) -> Array:
        """Give the energy (n,), J, stored in both strands and the idler at x (n,), m."""
        near, far = self._stretch(x, np.maximum, np.minimum)
        stored = 0.5 * self.stiffness * (near**2 + far**2)
        if self.soft is None:
            return stored
        # A spring of a constant force has no least energy: counted from where it rests.
        idle = self._idle(x, np.maximum, np.minimum)
        given = np.minimum(-x, self.soft.travel)
        spring = idle**2 / (2 * self.soft.rate) if self.soft.rate > 0 else self.soft.tension * given
        # At its stop the idler pulls on while the strand itself stretches.
        return stored + spring + idle * far

    def lost(self, x: Array, rate: Array) -> Array:
        """Give the power (n,), W, that damping takes at x (n,), m, and rate (n,), m/s."""
        near, far = self._stretch(x, np.maximum, np.minimum)
        a, b = self.tensions(x, rate)
        k = self.stiffness
        return ((a - k * near) - (b - self._idle(x, np.maximum, np.minimum) - k * far)) * rate

    def held(self, force: Array) -> Array:
        """Give x (n,), m, at which steady forces (n,), N, are carried; 0 in the slack where they are nothing.

        At rest the law rises without end on both sides and is straight between its corners.
        """
        reach = abs(self.slack) + float(np.max(np.abs(force))) / self.stiffness
        corners = [self.slack / 2]
        if self.soft is None:
            corners.append(-self.slack / 2)
        else:
            reach += self.soft.travel + self.soft.tension / self.stiffness
            corners.append(-self.soft.travel)
            if self.soft.rate > 0:
                corners.append(self.soft.tension / self.soft.rate)
        x = np.sort(np.array([-2 * reach - 1e-9, *corners, 2 * reach + 1e-9]))
        idle = (force == 0) & (self.soft is None)
        return np.where(idle, 0.0, np.interp(force, self.force(x, 0.0), x))

    def _stretch(self, x: Any, larger: Two, smaller: Two) -> tuple[Any, Any]:
        near = larger(0.0, x - self.slack / 2)
        if self.soft is None:
            return near, larger(0.0, -x - self.slack / 2)
        del smaller
        return near, larger(0.0, -x - self.soft.travel)

    def _idle(self, x: Any, larger: Two, smaller: Two) -> Any:
        """Give the tension, N, that the sprung idler keeps in strand b: it rises until the stop."""
        if self.soft is None:
            return 0.0
        return larger(0.0, self.soft.tension + self.soft.rate * smaller(-x, self.soft.travel))


@dataclass(frozen=True)
class Twist:
    """A coupling that winds up between two angles, with or without backlash.

    With x the angle by which a is ahead of b and d what is beyond half the backlash, the torque is
    k d + c d' g, never against the side that touches; g rises from 0 at first touch to 1 at a wind-up of half the
    backlash, so that damping neither jumps nor pulls. Without backlash it is k x + c x'.

    Attributes
    ----------
    name : unique in the scene.
    a, b : rotors or bodies with a spin axis; the torque drives b and holds a back.
    stiffness : N m/rad.
    damping : N m s/rad.
    backlash : whole free angle, rad.
    start : x at the start, rad.
    """

    name: str
    a: str
    b: str
    stiffness: float
    damping: float
    backlash: float = 0.0
    start: float = 0.0

    def torque(self, x: Any, rate: Any, larger: Two = np.maximum, smaller: Two = np.minimum) -> Any:
        """Give the torque on b, N m, at x, rad, and its rate, rad/s."""
        return twist_law(larger, smaller)(x, rate, self.stiffness, self.damping, self.backlash / 2)

    def strain(self, x: Array) -> Array:
        """Give the energy (n,), J, stored at x (n,), rad."""
        beyond = np.maximum(0.0, np.abs(x) - self.backlash / 2)
        return 0.5 * self.stiffness * beyond**2

    def lost(self, x: Array, rate: Array) -> Array:
        """Give the power (n,), W, that damping takes."""
        beyond = np.maximum(0.0, np.abs(x) - self.backlash / 2) * np.sign(x)
        return (self.torque(x, rate) - self.stiffness * beyond) * rate

    def held(self, torque: float) -> float:
        """Give x, rad, at which a steady torque, N m, is carried."""
        return torque / self.stiffness + float(np.sign(torque)) * self.backlash / 2


@dataclass(frozen=True)
class Limiter:
    """A torque limiter: holds two angles together until its torque is reached, and then slips.

    Attributes
    ----------
    name : unique in the scene.
    a, b : rotors or bodies with a spin axis.
    torque : at which it slips, N m.
    stiffness : of what holds it until then, N m/rad.
    start : angle by which a is ahead at the start, rad.
    """

    name: str
    a: str
    b: str
    torque: float
    stiffness: float
    start: float = 0.0


def polygon(angle: Any, teeth: int, pitch_radius: float) -> tuple[Any, Any]:
    """Give what a sprocket's pitch polygon adds to the chain's travel, m, and to its lever, m.

    Between two teeth the chain leaves at the height r cos(u) of the polygon's flat, u the angle from the middle
    of the pitch, -pi/N to pi/N: travel r sin(u) beside the mean travel N p / 2 pi times u (chain geometry,
    computed). Both differences are zero in the mean.

    Parameters
    ----------
    angle : of the sprocket, rad.
    teeth : number.
    pitch_radius : p / (2 sin(pi/N)), m.
    """
    share = 2 * np.pi / teeth
    u = (angle + share / 2) % share - share / 2
    mean = 2 * pitch_radius * np.sin(np.pi / teeth) / share
    return pitch_radius * np.sin(u) - mean * u, pitch_radius * np.cos(u) - mean
