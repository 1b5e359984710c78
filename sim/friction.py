"""Friction that grows with load, and the bearings whose loads follow from others.

Friction acts on an angle: by virtual work the friction moment mu r F of a joint that turns by d psi while the angle
turns by d theta is mu r F |d psi / d theta| about that angle. It sticks: at rest it holds whatever is within its
static capacity, without creep.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from sim.arrays import Array
from sim.laws import Two, bristle_law, limit_law

STICK_DAMPING = 0.02
"""Damping of what sticks over its stiffness, s: a bristle that is let loose does not ring; assumption."""


def friction_limit(
    sliding: Any,
    static: Any,
    rate: Any,
    exp: Callable[[Any], Any] = np.exp,
    size: Callable[[Any], Any] = np.abs,
) -> Any:
    """Give the most that friction carries at a speed, N m: static at rest, falling to sliding with exp(-|v| / v0).

    Parameters
    ----------
    sliding, static : sliding friction and what static friction is beyond it, N m.
    rate : speed, rad/s.
    exp, size : the exponential and the size, for numbers, arrays or an engine's symbols.
    """
    return limit_law(exp, size)(sliding, static, rate)


def friction_torque(
    x: Any,
    rate: Any,
    stiffness: Any,
    damping: Any,
    limit: Any,
    larger: Two = np.maximum,
    smaller: Two = np.minimum,
) -> Any:
    """Give the torque against the motion, N m, of a bristle bent by x, rad: a damped spring that slips at its limit."""
    return bristle_law(larger, smaller)(x, rate, stiffness, damping, limit)


@dataclass(frozen=True)
class Rub:
    """One joint's share in a friction.

    Attributes
    ----------
    of : a joint or a station, whose force presses, or a chain, the difference of whose strands does.
    arm : (n,) m, torque over force at n angles evenly over a turn of the angle that is rubbed; (1,) where it
        is the same all round.
    """

    of: str
    arm: Array


@dataclass(frozen=True)
class Drag:
    """Dry friction on an angle: a torque against the motion, which sticks at rest.

    Attributes
    ----------
    name : unique in the scene.
    on : a rotor or a body with a spin axis.
    torque : what does not depend on load, N m.
    rubs : what does.
    static : static over sliding friction, 1 or more.
    give : angle, rad, by which it yields elastically before it slips from rest at a torque of `scale`.
    scale : a typical torque, N m, for that; by default the load-independent one.
    """

    name: str
    on: str
    torque: float
    rubs: tuple[Rub, ...] = ()
    static: float = 1.0
    give: float = 1e-4
    scale: float = 0.0

    @property
    def stiffness(self) -> float:
        """Stiffness before slipping, N m/rad."""
        return max(self.scale, self.torque, 1e-6) / self.give


@dataclass(frozen=True)
class Pull:
    """How a chain loads a station: force (3,) on it per unit tension of strand a and of strand b."""

    chain: str
    a: Array
    b: Array


@dataclass(frozen=True)
class Station:
    """A bearing that the engine does not have, because its load follows from others by levers.

    Attributes
    ----------
    name : unique in the scene.
    constant : (3,) N, weight that it carries.
    shares : joints with the share of their force that it carries.
    pulls : of chains.
    relieves : joints from whose recorded force this bearing takes a share of its own.
    """

    name: str
    constant: Array = field(default_factory=lambda: np.zeros(3))
    shares: tuple[tuple[str, float], ...] = ()
    pulls: tuple[Pull, ...] = ()
    relieves: tuple[tuple[str, float], ...] = ()

    def load(self, joints: Mapping[str, Array], tensions: Mapping[str, tuple[Array, Array]]) -> Array:
        """Give the force (n, 3), N, on the bearing.

        Parameters
        ----------
        joints : force (n, 3) by joint, N.
        tensions : of strands a and b, (n,) each, by chain, N.
        """
        parts = [share * joints[name] for name, share in self.shares]
        for pull in self.pulls:
            a, b = tensions[pull.chain]
            parts.append(a[:, None] * pull.a + b[:, None] * pull.b)
        whole = np.broadcast_to(self.constant, next(iter(joints.values())).shape)
        return whole + np.sum(parts, axis=0) if parts else whole.copy()

    def rotated(self, turn: Array) -> "Station":
        """Give the station turned in the world by a rotation matrix (3, 3)."""
        pulls = tuple(Pull(p.chain, turn @ p.a, turn @ p.b) for p in self.pulls)
        return replace(self, constant=turn @ self.constant, pulls=pulls)
