"""How far the driver of a chain or a coupling is ahead, from the angles of a trace."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from sim.arrays import Array
from sim.engines.base import Spin
from sim.sprocket import pitch_radius
from sim.transmission import Strands, Twist, polygon


def ahead(chain: Strands, spins: Mapping[str, Spin]) -> tuple[Array, Array]:
    """Give a chain's x (n,), m, and its rate (n,), m/s."""
    near, far = spins[chain.driver], spins[chain.driven]
    x = chain.driver_radius * (near.angle - near.angle[0]) - chain.driven_radius * (far.angle - far.angle[0])
    travel, lever, behind = swing(chain, near.angle, far.angle)
    begun, _, _ = swing(chain, near.angle[0], far.angle[0])
    rate = (chain.driver_radius + lever) * near.speed - (chain.driven_radius + behind) * far.speed
    return chain.start + x + (travel - begun), rate


def swing(chain: Strands, driver: Any, driven: Any) -> tuple[Any, Any, Any]:
    """Give what the pitch polygons add to a chain's travel, m, and to its levers on driver and driven, m.

    Parameters
    ----------
    chain : nothing is added where it has no teeth.
    driver, driven : angles, rad.
    """
    if chain.teeth is None:
        return 0.0, 0.0, 0.0
    found: list[tuple[Any, Any]] = []
    for angle, radius, teeth in zip(
        (driver, driven), (chain.driver_radius, chain.driven_radius), chain.teeth, strict=True
    ):
        found.append(polygon(angle, teeth, pitch_radius(float(teeth), 2 * np.pi * radius / teeth)))
    (first, lever), (second, behind) = found
    return first - second, lever, behind


def wound(twist: Twist, spins: Mapping[str, Spin]) -> tuple[Array, Array]:
    """Give a coupling's x (n,), rad, and its rate (n,), rad/s."""
    a, b = spins[twist.a], spins[twist.b]
    return twist.start + (a.angle - a.angle[0]) - (b.angle - b.angle[0]), a.speed - b.speed
