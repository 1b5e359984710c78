"""Nominal stress at points around a solid round shaft or a rectangular web.

Axes of a section: y along the piece, x and z across; for a shaft they turn with it. A moment is what the part
beyond, on the side of +y, puts on this one; its component about y is the torque. Axial force is positive as
tension. A point at angle phi lies at x = r sin phi, z = r cos phi: phi turns by the right hand about +y from +z,
as the crank angle does. Bending gives sigma = (Mz x) / Iz - (Mx z) / Ix. Moments of the other sign only move the
worst point by half a turn.
"""

import math
from dataclasses import dataclass

import numpy as np

from sim.arrays import Array

AROUND = 360
"""Points around a round shaft: bending between two of them is missed by at most 1 - cos(.5 deg), 4e-5."""


@dataclass(frozen=True)
class Surface:
    """Nominal stresses at points of a section over a turn.

    Attributes
    ----------
    angles : (k,) of the points, rad, as the module says.
    bending : (n, k) normal stress from bending, Pa.
    axial : (n,) normal stress from the axial force, Pa.
    shear : (n, k) shear stress from torsion, Pa.
    """

    angles: Array
    bending: Array
    axial: Array
    shear: Array

    @property
    def normal(self) -> Array:
        """Normal stress (n, k), Pa."""
        return self.bending + self.axial[:, None]

    @property
    def von_mises(self) -> Array:
        """Equivalent stress (n, k), Pa: sqrt(sigma^2 + 3 tau^2)."""
        return np.sqrt(self.normal**2 + 3 * self.shear**2)

    def near(self, angle: float, within: float) -> "Surface":
        """Give the points within an angle to either side of another, rad, or the nearest one if there is none."""
        off = np.abs((self.angles - angle + math.pi) % (2 * math.pi) - math.pi)
        chosen = off <= max(within, float(off.min())) + 1e-12
        return Surface(self.angles[chosen], self.bending[:, chosen], self.axial, self.shear[:, chosen])


@dataclass(frozen=True)
class Round:
    """A solid round section.

    Attributes
    ----------
    diameter : m.
    """

    diameter: float

    @property
    def area(self) -> float:
        """Area, m2."""
        return math.pi * self.diameter**2 / 4

    def surface(self, moment: Array, axial: Array, points: int = AROUND) -> Surface:
        """Give the stresses around the circumference: sigma = 32 M / (pi d^3), tau = 16 T / (pi d^3).

        Parameters
        ----------
        moment : (n, 3) in the section's axes, N m; see the module.
        axial : (n,) N.
        points : how many around.

        Raises
        ------
        ValueError
            If the diameter is not positive or the histories do not fit together.
        """
        _check(moment, axial, self.diameter)
        angles = np.linspace(0, 2 * math.pi, points, endpoint=False)
        modulus = math.pi * self.diameter**3 / 32
        bending = (np.outer(moment[:, 2], np.sin(angles)) - np.outer(moment[:, 0], np.cos(angles))) / modulus
        shear = np.repeat((moment[:, 1] / (2 * modulus))[:, None], points, 1)
        return Surface(angles, bending, axial / self.area, shear)


@dataclass(frozen=True)
class Web:
    """A rectangular section: a web of flat bar.

    Attributes
    ----------
    width : along the section's x, m.
    thickness : along its z, m.
    """

    width: float
    thickness: float

    @property
    def area(self) -> float:
        """Area, m2."""
        return self.width * self.thickness

    @property
    def torsion_modulus(self) -> float:
        """Torque over the largest shear stress, in the middle of the longer sides, m3.

        Saint-Venant's series for a rectangle of sides b >= c (Timoshenko and Goodier, Theory of Elasticity,
        art. 109; memory, its table checked in tests): shear G theta c (1 - 8/pi^2 sum 1 / (n^2 cosh(n pi b / 2 c)))
        and torque G theta b c^3 (1/3 - 64/pi^5 c/b sum tanh(n pi b / 2 c) / n^5), n odd.
        """
        b, c = max(self.width, self.thickness), min(self.width, self.thickness)
        n = np.arange(1, 40, 2)
        x = n * math.pi * b / (2 * c)
        # 1 / cosh, of which nothing is left where cosh would overflow.
        fallen = 2 * np.exp(-x) / (1 + np.exp(-2 * x))
        shear = 1 - 8 / math.pi**2 * float(np.sum(fallen / n**2))
        torque = 1 / 3 - 64 / math.pi**5 * c / b * float(np.sum(np.tanh(x) / n**5))
        return b * c**2 * torque / shear

    def surface(self, moment: Array, axial: Array) -> Surface:
        """Give the stresses at the four corners and the middles of the four sides.

        Corners have no shear. The middles of the shorter sides are given the shear of the longer ones, which is
        more than they have.

        Parameters
        ----------
        moment : (n, 3) in the web's own axes, y along it, N m; see the module.
        axial : (n,) N.

        Raises
        ------
        ValueError
            If a side is not positive or the histories do not fit together.
        """
        _check(moment, axial, self.width, self.thickness)
        right = np.array([1.0, 1, -1, -1, 1, -1, 0, 0])
        top = np.array([1.0, -1, -1, 1, 0, 0, 1, -1])
        sided = np.array([0.0, 0, 0, 0, 1, 1, 1, 1])
        about_x = self.width * self.thickness**2 / 6
        about_z = self.thickness * self.width**2 / 6
        bending = np.outer(moment[:, 2], right) / about_z - np.outer(moment[:, 0], top) / about_x
        shear = np.outer(moment[:, 1], sided) / self.torsion_modulus
        angles = np.arctan2(right * self.width, top * self.thickness) % (2 * math.pi)
        return Surface(angles, bending, axial / self.area, shear)


@dataclass(frozen=True)
class Throat:
    """The throat of a fillet weld all round a shaft, as a thin ring of the shaft's diameter.

    Force per length over the throat's size, whatever the throat's slant: EN 1993-1-9, 5(6) (memory). With a weld
    on either face of the web each takes half.

    Attributes
    ----------
    diameter : of the shaft, m.
    throat : thickness of a weld's throat, m.
    welds : 1, or 2 where both faces of the web are welded.
    """

    diameter: float
    throat: float
    welds: int = 1

    def surface(self, moment: Array, axial: Array, points: int = AROUND) -> Surface:
        """Give the stresses of the throat: M / (pi d^2 a / 4), T / (pi d^2 a / 2), F / (pi d a).

        Parameters
        ----------
        moment : (n, 3) in the shaft's axes, N m; see the module.
        axial : (n,) N.
        points : how many around.

        Raises
        ------
        ValueError
            If a size is not positive or the histories do not fit together.
        """
        _check(moment, axial, self.diameter, self.throat, self.welds)
        a = self.throat * self.welds
        angles = np.linspace(0, 2 * math.pi, points, endpoint=False)
        modulus = math.pi * self.diameter**2 * a / 4
        bending = (np.outer(moment[:, 2], np.sin(angles)) - np.outer(moment[:, 0], np.cos(angles))) / modulus
        shear = np.repeat((moment[:, 1] / (2 * modulus))[:, None], points, 1)
        return Surface(angles, bending, axial / (math.pi * self.diameter * a), shear)


Section = Round | Web | Throat


def _check(moment: Array, axial: Array, *sizes: float) -> None:
    if not all(size > 0 for size in sizes):
        raise ValueError(f"sizes {sizes} of a section are not all above zero; write metres")
    if moment.ndim != 2 or moment.shape[1] != 3 or axial.shape != moment.shape[:1]:
        raise ValueError(f"moments {moment.shape} and axial forces {axial.shape} are not (n, 3) and (n,)")
    if not (np.all(np.isfinite(moment)) and np.all(np.isfinite(axial))):
        raise ValueError("a moment or an axial force is not finite")
