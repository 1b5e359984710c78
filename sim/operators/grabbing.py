"""A hand that grabs the turning rim and brakes it by friction, as far as its grip goes."""

from dataclasses import dataclass, field, replace
from typing import final

import numpy as np
from numpy.typing import NDArray

from models.people import Person

CLOSING = 0.1
"""Time, s, in which a hand closes on the rim; the project's own assumption."""
STOPPED = 1e-2
"""Wheel speed, rad/s, below which the wheel counts as stopped: half a degree a second."""


@final
@dataclass
class GrabbingHand:
    """A hand that closes on the rim at a time and rubs against its motion with its grip.

    The force rises linearly to the grip while the hand closes. Friction that stops a body within a step must
    not throw it back: it is no larger than what halves the speed in the step that has just gone by,
    J w / (2 h), which leaves its size alone until the last few steps. A stopped wheel is then held with a
    creep that falls with the step; what a still hand holds is `sim.operators.holding.hold_force`.

    Attributes
    ----------
    person : whose grip.
    radius : of the rim or the grip's circle, m.
    inertia : of the whole piece as felt at the wheel, kg m2.
    since : time at which the hand begins to close, s.
    closing : time in which it closes, s.
    """

    person: Person
    radius: float
    inertia: float
    since: float = 0.0
    closing: float = CLOSING
    _asked: float | None = field(default=None, init=False, repr=False)
    _step: float | None = field(default=None, init=False, repr=False)

    def start(self) -> "GrabbingHand":
        """Give the hand as it is before a run, not yet asked."""
        return replace(self)

    def force(self, time: float) -> float:
        """Give the largest tangential force, N, at a time, s."""
        share = (time - self.since) / self.closing if self.closing > 0 else float(time >= self.since)
        return self.person.grip * min(max(share, 0.0), 1.0)

    def torque(self, time: float, angle: float, speed: float) -> float:
        """Give the torque on the wheel, N m, against its motion."""
        del angle
        # A step that is begun again asks twice at the same time: then the step before still stands.
        if self._asked is not None and time > self._asked:
            self._step = time - self._asked
        self._asked = time
        most = self.force(time) * self.radius
        if self._step is not None:
            most = min(most, self.inertia * abs(speed) / (2 * self._step))
        return -float(np.sign(speed)) * most


@dataclass(frozen=True)
class Stop:
    """How a wheel was stopped: time, s, and wheel angle, rad, from the grab on; NaN where it was not."""

    time: float
    angle: float


def stop(
    time: NDArray[np.float64], angle: NDArray[np.float64], speed: NDArray[np.float64], since: float = 0.0
) -> Stop:
    """Read from a run how long and how far the wheel still turned after it was grabbed.

    Parameters
    ----------
    time, angle, speed : (n,) s, rad, rad/s of the wheel.
    since : when the hand began to close, s.
    """
    way = np.sign(speed[min(int(np.searchsorted(time, since)), len(speed) - 1)])
    after = np.flatnonzero((time >= since) & (way * speed < STOPPED))
    if len(after) == 0:
        return Stop(float("nan"), float("nan"))
    end = after[0]
    # A run records the ends of its steps: before the first of them the wheel turns as in the first.
    times, angles = np.append(0.0, time), np.append(angle[0] - speed[0] * time[0], angle)
    begun = float(np.interp(since, times, angles))
    return Stop(float(time[end] - since), abs(float(angle[end]) - begun))


def stopping(inertia: float, speed: float, torque: float, closing: float = 0.0) -> Stop:
    """Give in closed form how a flywheel is stopped by a braking torque that rises linearly and then stays.

    With w the speed and T the torque: without the rise J w / T and J w^2 / (2 T); the rise adds half its
    duration t_c to the time, and w t_c / 2 - T t_c^2 / (24 J) to the angle (twice integrated J w' = -T t / t_c).
    Where the wheel stops while the torque still rises: t = sqrt(2 J w t_c / T), angle 2 w t / 3.

    Parameters
    ----------
    inertia : as felt at the wheel, kg m2.
    speed : of the wheel when it is grabbed, rad/s, either sign.
    torque : grip times radius, with friction if wanted, N m.
    closing : duration of the rise, s.
    """
    w = abs(speed)
    if inertia * w < torque * closing / 2:
        brief = float(np.sqrt(2 * inertia * w * closing / torque))
        return Stop(brief, 2 * w * brief / 3)
    whole = inertia * w / torque + closing / 2
    angle = inertia * w**2 / (2 * torque) + w * closing / 2 - torque * closing**2 / (24 * inertia)
    return Stop(whole, angle)
