"""The laws of chains, couplings and friction, each written once.

A maker takes what "larger", "smaller" and so on mean and gives the law for that: for arrays (numpy), for the
engine's own symbols, or for numbers that are compiled. What the numbers are is said by the primitives that have
them: `sim.transmission.Strands`, `Twist`, and `sim.friction`.
"""

from collections.abc import Callable
from typing import Any

Two = Callable[[Any, Any], Any]
"""The larger or the smaller of two things."""
One = Callable[[Any], Any]
Law = Callable[..., Any]

STRIBECK = 0.05
"""Speed, rad/s, over which friction falls from static to sliding; assumption."""


def strands_law(larger: Two, smaller: Two) -> Law:
    """Give the tensions of a chain's strands a and b, N, as a function of travel ahead x, m, and its rate, m/s."""

    def tensions(
        x: Any, rate: Any, k: Any, c: Any, slack: Any, soft: Any, tension: Any, rise: Any, travel: Any
    ) -> Any:
        near = larger(0.0, x - slack / 2)
        far = larger(0.0, -x - travel) if soft else larger(0.0, -x - slack / 2)
        idle = larger(0.0, tension + rise * smaller(-x, travel)) if soft else 0.0
        return larger(0.0, k * near * (1 + c * rate)), larger(0.0, k * far * (1 - c * rate)) + idle

    return tensions


def twist_law(larger: Two, smaller: Two) -> Law:
    """Give a coupling's torque, N m, as a function of the angle ahead x, rad, and its rate, rad/s."""

    def torque(x: Any, rate: Any, k: Any, c: Any, half: Any) -> Any:
        if half == 0:
            return k * x + c * rate
        ahead, behind = larger(0.0, x - half), larger(0.0, -x - half)
        gate_a, gate_b = smaller(1.0, ahead / half), smaller(1.0, behind / half)
        return larger(0.0, k * ahead + c * rate * gate_a) - larger(0.0, k * behind - c * rate * gate_b)

    return torque


def limit_law(exp: One, size: One) -> Law:
    """Give the most that friction carries, N m, by sliding friction, what static adds, and the speed, rad/s."""

    def limit(sliding: Any, static: Any, rate: Any) -> Any:
        return sliding + static * exp(-1.0 * size(rate) / STRIBECK)

    return limit


def bristle_law(larger: Two, smaller: Two) -> Law:
    """Give the torque, N m, of a bristle bent by x, rad, that slips at its limit."""

    def torque(x: Any, rate: Any, stiffness: Any, damping: Any, limit: Any) -> Any:
        return larger(-1.0 * limit, smaller(limit, stiffness * x + damping * rate))

    return torque
