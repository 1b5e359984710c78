"""A round tube or bar as a beam: section values, stresses at its circumference, and what its fillet weld stands."""

import math
from dataclasses import dataclass

import numpy as np

from analysis.parts.choice import Check
from analysis.shaft_limits import partial_factor
from analysis.strength.section import AROUND, Round, Surface, Throat
from analysis.strength.welds import WeldLife, weld_life
from models.making import Use, Weld
from models.shown import shown
from models.weld_classes import weld_classes
from sim.arrays import Array

TABLES = "any mechanics-of-materials table (memory)"


@dataclass(frozen=True)
class Tube:
    """A round tube, or a solid bar where its wall is 0.

    Attributes
    ----------
    outside, wall : m.
    """

    outside: float
    wall: float

    @property
    def bore(self) -> float:
        """Inside diameter, m."""
        return 0.0 if self.wall == 0 else self.outside - 2 * self.wall

    @property
    def area(self) -> float:
        """Area pi (D^2 - d^2) / 4, m2."""
        return math.pi / 4 * (self.outside**2 - self.bore**2)

    @property
    def second(self) -> float:
        """Second moment pi (D^4 - d^4) / 64, m4."""
        return math.pi / 64 * (self.outside**4 - self.bore**4)

    @property
    def modulus(self) -> float:
        """Section modulus I / (D / 2), m3; the one for torsion is twice that."""
        return 2 * self.second / self.outside

    def stress(self, moment: Array, axial: Array) -> Array:
        """Give the equivalent stress (n,), Pa, at the worst point of the circumference: von Mises.

        Parameters
        ----------
        moment : (n, 3) N m, the second component along the tube, as in `analysis.strength.section`.
        axial : (n,) N.
        """
        bending = np.hypot(moment[:, 0], moment[:, 2]) / self.modulus + np.abs(axial) / self.area
        return np.sqrt(bending**2 + 3 * (moment[:, 1] / (2 * self.modulus)) ** 2)

    def surface(self, moment: Array, axial: Array, points: int = AROUND) -> Surface:
        """Give the stresses around the circumference; arguments as of `stress`."""
        solid = Round(self.outside).surface(moment, axial, points)
        more = math.pi * self.outside**3 / 32 / self.modulus
        return Surface(solid.angles, solid.bending * more, axial / self.area, solid.shear * more)


def yielding(
    what: str, stress: float, strength: float, use: Use, case: str, source: str, note: str = ""
) -> Check:
    """Give the check of a stress, Pa, against yield with the safety factor wanted."""
    words = f"yield {shown(strength, 'stress')} over {use.margin:g} wanted; {source}"
    return Check(what, stress, strength / use.margin, "stress", case, words, note=note)


def weld_checks(
    tube: Tube, weld: Weld, moment: Array, axial: Array, turns: float, use: Use
) -> tuple[tuple[Check, ...], tuple[str, ...]]:
    """Give what the fillet all round a tube's end is asked for over one turn in use, and notes on it.

    Parameters
    ----------
    tube, weld : the tube and its fillet.
    moment, axial : (n, 3) and (n,) over one turn of the crank, as of `Tube.stress`.
    turns : of the crank in a year.
    use : years wanted.
    """
    found: list[Check] = []
    notes: list[str] = []
    if weld.toe is None:
        return (), ("no weld class is known for its material: the weld is not judged",)
    factor = partial_factor(weld.partial)
    toe = weld_life(tube.surface(moment, axial), weld_classes()[weld.toe], turns, use.years, factor)
    found.append(_ranged("stress range in use at the weld's toe", toe))
    if weld.root is None or weld.throat is None:
        notes.append("the throat of its weld is not described: the weld's root is not judged")
    else:
        ring = Throat(tube.outside, weld.throat).surface(moment, axial)
        root = weld_life(ring, weld_classes()[weld.root], turns, use.years, factor)
        found.append(_ranged("stress range in use in the weld's throat", root))
    return tuple(found), tuple(notes)


def _ranged(what: str, life: WeldLife) -> Check:
    """Give a weld's life as a stress range against the one at which it just lasts the years wanted."""
    of, beside = (life.normal, life.shear) if life.normal >= life.shear else (life.shear, life.normal)
    lasts = "without end" if life.endless else f"{min(life.years, 1e6):.3g} years"
    note = (
        f"lasts {lasts} of {life.wanted:g} wanted, {life.turns:.0f} turns of the crank a year; "
        f"{shown(beside, 'stress')} of the other kind of stress beside it; {life.partial.name} {life.partial.value:g}"
    )
    allowed = of * life.reserve if math.isfinite(life.reserve) else math.inf
    source = f"{life.weld.code} class {life.weld.normal / 1e6:g}: {life.weld.source}"
    return Check(what, of, allowed, "stress", "in use", source, note=note)
