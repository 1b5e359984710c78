"""Fatigue of shafts that are bent and twisted: distortion-energy stress with four criteria, and yielding.

Shigley, Mechanical Engineering Design, 9th ed., eqs. 6-40 to 6-48 and 7-9 to 7-16 (read; 7-8 for Goodman in the
solution of problem 7-1), written for amplitude and mean of the von Mises stress. For a solid round shaft
these are 16 A / (pi d^3) and 16 B / (pi d^3), A = sqrt(4 (Kf Ma)^2 + 3 (Kfs Ta)^2) and B alike of the means.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from analysis.strength.endurance import LOADINGS
from analysis.strength.notches import PLAIN, Notch
from analysis.strength.section import Surface
from sim.arrays import Array

Name = Literal["Goodman", "Gerber", "ASME elliptic", "Soderberg"]


@dataclass(frozen=True)
class Limits:
    """What a part of a material stands.

    Attributes
    ----------
    endurance : amplitude of fully reversed stress, Pa.
    ultimate, yielding : tensile strengths, Pa.
    """

    endurance: float
    ultimate: float
    yielding: float


@dataclass(frozen=True)
class Fatigue:
    """How far a section is from fatigue and from yielding.

    Attributes
    ----------
    factor : safety factor against fatigue at the worst point.
    angle : of that point around the section, rad; see `analysis.strength.section`.
    amplitude, mean : von Mises stresses there, the notch's factors included, Pa.
    yielding : factor against yielding under amplitude and mean together (eqs. 7-15 and 7-16), at its worst point.
    yielding_sum : the quick, always smaller one, of the sum of both von Mises stresses.
    criterion : by which `factor` was found.
    """

    factor: float
    angle: float
    amplitude: float
    mean: float
    yielding: float
    yielding_sum: float
    criterion: Name


def goodman(amplitude: ArrayLike, mean: ArrayLike, limits: Limits) -> Array:
    """Give the factors (...) for von Mises stresses (...), Pa.

    Goodman's line, 1 / n = sa / Se + sm / Sut, eq. 6-46.
    """
    a, m = _stresses(amplitude, mean)
    return _inverse(a / limits.endurance + m / limits.ultimate)


def gerber(amplitude: ArrayLike, mean: ArrayLike, limits: Limits) -> Array:
    """Give the factors (...) for von Mises stresses (...), Pa.

    Gerber's parabola, n sa / Se + (n sm / Sut)^2 = 1, eq. 6-47.
    """
    a, m = _stresses(amplitude, mean)
    a, m = a / limits.endurance, m / limits.ultimate
    return _inverse((a + np.sqrt(a**2 + 4 * m**2)) / 2)


def elliptic(amplitude: ArrayLike, mean: ArrayLike, limits: Limits) -> Array:
    """Give the factors (...) for von Mises stresses (...), Pa.

    ASME's ellipse, (n sa / Se)^2 + (n sm / Sy)^2 = 1, eq. 6-48.
    """
    a, m = _stresses(amplitude, mean)
    return _inverse(np.hypot(a / limits.endurance, m / limits.yielding))


def soderberg(amplitude: ArrayLike, mean: ArrayLike, limits: Limits) -> Array:
    """Give the factors (...) for von Mises stresses (...), Pa.

    Soderberg's line, 1 / n = sa / Se + sm / Sy, eq. 6-45.
    """
    a, m = _stresses(amplitude, mean)
    return _inverse(a / limits.endurance + m / limits.yielding)


CRITERIA: dict[Name, Callable[[ArrayLike, ArrayLike, Limits], Array]] = {
    "Goodman": goodman,
    "Gerber": gerber,
    "ASME elliptic": elliptic,
    "Soderberg": soderberg,
}


def diameter(
    criterion: Name, bending: tuple[float, float], torque: tuple[float, float], limits: Limits, factor: float,
    notch: Notch = PLAIN,
) -> float:  # fmt: skip
    """Give the diameter, m, of a solid shaft that has a safety factor: eqs. 7-8, 7-10, 7-12 and 7-14.

    Parameters
    ----------
    criterion : one of `CRITERIA`.
    bending, torque : amplitude and mean of the moments, N m.
    limits : of the shaft's material; its endurance is held fixed, though it depends on the diameter a little.
    factor : wanted.
    notch : at the section.
    """
    kf, kfs = notch.bending.value, notch.torsion.value
    a, b = (math.sqrt(4 * (kf * m) ** 2 + 3 * (kfs * t) ** 2) for m, t in zip(bending, torque, strict=True))
    # All four are homogeneous: the factor goes with the inverse of the stress, and that with d^-3.
    at_one = float(CRITERIA[criterion](16 * a / math.pi, 16 * b / math.pi, limits))
    return (factor / at_one) ** (1 / 3)


def fatigue(surface: Surface, limits: Limits, notch: Notch = PLAIN, criterion: Name = "Goodman") -> Fatigue:
    """Judge a section by its stresses over a turn, each of its points by itself.

    Amplitude and mean of normal and of shear stress are half the difference and half the sum of their largest and
    smallest value over the turn, as if both came together; a mean pressure is counted as a mean tension; the
    amplitude of axial stress is divided by its loading factor .85 (eq. 6-55). All three err on the safe side.

    Parameters
    ----------
    surface : the nominal stresses over whole turns.
    limits : of the part.
    notch : at the section.
    criterion : one of `CRITERIA`.
    """
    raised = surface.bending + (surface.axial / LOADINGS["axial"])[:, None]
    kf, kfs = notch.bending.value, notch.torsion.value
    sa, _ = _swing(raised)
    _, sm = _swing(surface.normal)
    ta, tm = _swing(surface.shear)
    amplitude = np.sqrt((kf * sa) ** 2 + 3 * (kfs * ta) ** 2)
    mean = np.sqrt((kf * sm) ** 2 + 3 * (kfs * tm) ** 2)
    largest = np.sqrt((kf * (sa + np.abs(sm))) ** 2 + 3 * (kfs * (ta + np.abs(tm))) ** 2)
    factors = CRITERIA[criterion](amplitude, mean, limits)
    worst = int(np.argmin(factors))
    return Fatigue(
        float(factors[worst]),
        float(surface.angles[worst]),
        float(amplitude[worst]),
        float(mean[worst]),
        float(_inverse(largest / limits.yielding).min()),
        float(_inverse((amplitude + mean) / limits.yielding).min()),
        criterion,
    )


@dataclass(frozen=True)
class Yielding:
    """How far a section is from yielding under a load that need not come again.

    Attributes
    ----------
    factor : yield strength over the largest von Mises stress.
    angle : of the point around the section, rad.
    index : of the instant in the history.
    stress : that largest stress, Pa.
    """

    factor: float
    angle: float
    index: int
    stress: float


def yielding(surface: Surface, strength: float) -> Yielding:
    """Find the largest nominal von Mises stress of a history, all components at the same instant.

    Without a notch's factor: a ductile metal that yields in a notch alone does not fail by it.

    Parameters
    ----------
    surface : nominal stresses.
    strength : yield, Pa.
    """
    stress = surface.von_mises
    index, point = np.unravel_index(int(np.argmax(stress)), stress.shape)
    largest = float(stress[index, point])
    return Yielding(
        float(_inverse(np.asarray(largest / strength))), float(surface.angles[point]), int(index), largest
    )


def _swing(stress: Array) -> tuple[Array, Array]:
    """Give amplitude and mean (k,) of histories (n, k)."""
    high, low = stress.max(axis=0), stress.min(axis=0)
    return (high - low) / 2, (high + low) / 2


def _stresses(amplitude: ArrayLike, mean: ArrayLike) -> tuple[Array, Array]:
    return np.asarray(amplitude, dtype=np.float64), np.asarray(mean, dtype=np.float64)


def _inverse(x: Array) -> Array:
    """Give 1 / x, infinite where nothing acts."""
    with np.errstate(divide="ignore"):
        return 1 / x
