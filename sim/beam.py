"""Straight uniform round shaft on two simple supports, with overhangs, under lateral point loads.

Validity: Euler-Bernoulli, that is plane sections, small slopes, no shear deformation, no axial force;
supports that hold sideways without yielding and leave the slope free. Shear adds about 2.2 (d / L)^2 of the
deflection at mid-span of a round steel shaft: 1 % where the span is 15 diameters, more on stubs.

Signs: the deflection, the load and the share of it that a support carries are positive in one and the same
sideways direction. Stations run along the shaft in metres from any origin. The moment is EI times the second
derivative of the deflection: *negative* where a load between the supports bows the shaft its own way.
"""

import math

import numpy as np
from numpy.typing import ArrayLike

from sim.arrays import Array


def round_second_moment(diameter: float) -> float:
    """Second moment of area of a solid round section about a diameter.

    Parameters
    ----------
    diameter : m.

    Returns
    -------
    pi d^4 / 64, m4.
    """
    return math.pi * diameter**4 / 64


def reactions(loads_at: ArrayLike, supports: tuple[float, float]) -> Array:
    """Share of a unit load that each support carries.

    Parameters
    ----------
    loads_at : (m,) stations of the loads, m.
    supports : the two stations of the supports, m, in either order.

    Returns
    -------
    (2, m), N per N, in the direction of the load and so opposite to the support's push on the shaft. A load
    on an overhang makes the far one negative: that support must hold the shaft down. Columns sum to 1.
    Source: moments about either support.

    Raises
    ------
    ValueError
        If the supports coincide, or a station is not one-dimensional or not finite.
    """
    first, second = _ordered(supports)
    a = _stations("loads_at", loads_at)
    far = (a - first) / (second - first)
    return np.stack([1 - far, far])


def influence(stations: ArrayLike, loads_at: ArrayLike, supports: tuple[float, float], EI: float) -> Array:
    """Deflection per unit load, between the supports and on the overhangs.

    Parameters
    ----------
    stations : (n,) where the deflection is wanted, m.
    loads_at : (m,) stations of the loads, m.
    supports : the two stations of the supports, m, in either order.
    EI : bending stiffness, N m2.

    Returns
    -------
    (n, m) deflection at station i for 1 N at load j, m/N, so that `influence(...) @ forces` is the bent
    shape. Macaulay's method: EI y = [<x-a>^3 - R1 <x-s1>^3 - R2 <x-s2>^3] / 6 less the straight line that
    brings y to zero at both supports. Euler-Bernoulli; see the module for what that leaves out.

    Raises
    ------
    ValueError
        If the supports coincide, EI is not positive, or a station is not one-dimensional or not finite.
    """
    first, second = _ordered(supports)
    _check_stiffness(EI)
    x = _stations("stations", stations)
    rise = _macaulay(x, loads_at, supports, 3) / 6
    at_first, at_second = _macaulay(np.array([first, second]), loads_at, supports, 3) / 6
    along = ((x - first) / (second - first))[:, None]
    return (rise - at_first * (1 - along) - at_second * along) / EI


def slope_influence(
    stations: ArrayLike, loads_at: ArrayLike, supports: tuple[float, float], EI: float
) -> Array:
    """Slope of the bent shaft per unit load.

    Parameters
    ----------
    stations : (n,) where the slope is wanted, m.
    loads_at : (m,) stations of the loads, m.
    supports : the two stations of the supports, m, in either order.
    EI : bending stiffness, N m2.

    Returns
    -------
    (n, m) slope dy/dx at station i for 1 N at load j, rad/N (small slopes): the derivative of `influence`.

    Raises
    ------
    ValueError
        If the supports coincide, EI is not positive, or a station is not one-dimensional or not finite.
    """
    first, second = _ordered(supports)
    _check_stiffness(EI)
    x = _stations("stations", stations)
    turn = _macaulay(x, loads_at, supports, 2) / 2
    at_first, at_second = _macaulay(np.array([first, second]), loads_at, supports, 3) / 6
    return (turn - (at_second - at_first) / (second - first)) / EI


def moment_influence(stations: ArrayLike, loads_at: ArrayLike, supports: tuple[float, float]) -> Array:
    """Bending moment per unit load; it needs no stiffness, two supports being statically determinate.

    Parameters
    ----------
    stations : (n,) where the moment is wanted, m.
    loads_at : (m,) stations of the loads, m.
    supports : the two stations of the supports, m, in either order.

    Returns
    -------
    (n, m) moment EI d2y/dx2 at station i for 1 N at load j, N m per N: <x-a> - R1 <x-s1> - R2 <x-s2>.
    Negative between the supports under a load between them, positive under a load on an overhang.

    Raises
    ------
    ValueError
        If the supports coincide, or a station is not one-dimensional or not finite.
    """
    return _macaulay(_stations("stations", stations), loads_at, supports, 1)


def first_critical_speed(diameter: float, length: float, modulus: float, density: float) -> float:
    """First lateral critical speed of a bare uniform round shaft pinned at both ends.

    Parameters
    ----------
    diameter : m.
    length : between the pins, m.
    modulus : Young's modulus, Pa.
    density : kg/m3.

    Returns
    -------
    (pi / L)^2 sqrt(E I / (rho A)) = (pi / L)^2 (d / 4) sqrt(E / rho), rad/s, the first natural frequency of
    a pinned Euler-Bernoulli beam (Rayleigh, Theory of Sound, ch. 8). Without shear and rotary inertia, so a
    little high: by about 1.2 (d / L)^2, .08 % where the length is 40 diameters.

    Raises
    ------
    ValueError
        If a value is not positive.
    """
    for name, value in {
        "diameter": diameter,
        "length": length,
        "modulus": modulus,
        "density": density,
    }.items():
        if not value > 0:
            raise ValueError(f"{name}: {value} is not above zero; write a positive value in SI units")
    return (math.pi / length) ** 2 * diameter / 4 * math.sqrt(modulus / density)


def _macaulay(x: Array, loads_at: ArrayLike, supports: tuple[float, float], power: int) -> Array:
    """Give <x-a>^power - R1 <x-s1>^power - R2 <x-s2>^power, (n, m)."""
    first, second = _ordered(supports)
    a = _stations("loads_at", loads_at)
    near, far = reactions(a, supports)

    def bracket(at: Array | float) -> Array:
        return np.maximum(x[:, None] - at, 0.0) ** power

    return bracket(a) - near * bracket(first) - far * bracket(second)


def _stations(name: str, given: ArrayLike) -> Array:
    stations = np.atleast_1d(np.asarray(given, dtype=np.float64))
    if stations.ndim != 1 or not np.all(np.isfinite(stations)):
        raise ValueError(f"{name} are not stations along a shaft; write a list of finite numbers in metres")
    return stations


def _ordered(supports: tuple[float, float]) -> tuple[float, float]:
    first, second = supports
    if not (math.isfinite(first) and math.isfinite(second) and first != second):
        raise ValueError(
            f"supports at {first} and {second} m cannot hold a shaft; write two different stations"
        )
    return first, second


def _check_stiffness(EI: float) -> None:
    if not EI > 0:
        raise ValueError(f"EI: {EI} N m2 is not above zero; write modulus times second moment of area")
