"""Fatigue limit of a part: that of a polished specimen times Marin's factors, each with its source.

Formulas and tables of Shigley, Mechanical Engineering Design, 9th ed., section 6-9, read in its summary on p. 345.
All of it is for dry or painted metal: steel that rusts has no fatigue limit (common practice, no source).
"""

import math
from dataclasses import dataclass

from models.making import Finish
from models.strengths import Strength

SHIGLEY = "Shigley, Mechanical Engineering Design, 9th ed."
FINISHES: dict[Finish, tuple[float, float]] = {
    "ground": (1.58, -0.085),
    "machined": (4.51, -0.265),
    "cold drawn": (4.51, -0.265),
    "hot rolled": (57.7, -0.718),
    "as forged": (272.0, -0.995),
}
"""Factor a and exponent b for strengths in MPa: table 6-2 (read)."""
RELIABILITIES = {0.5: 1.0, 0.9: 0.897, 0.95: 0.868, 0.99: 0.814, 0.999: 0.753, 0.9999: 0.702, 0.99999: 0.659}
"""Factor by share of parts that stand it: table 6-5 (read), for a standard deviation of 8 %."""
LOADINGS = {"bending": 1.0, "axial": 0.85, "torsion": 0.59}
"""Factor by load: eq. 6-26 (read). Torsion's is for shear alone, not beside von Mises stresses."""


@dataclass(frozen=True)
class Factor:
    """A value that a strength rests on, with its source.

    Attributes
    ----------
    name : in words.
    value : SI, or a ratio.
    source : where it comes from, and how it was seen.
    """

    name: str
    value: float
    source: str


@dataclass(frozen=True)
class Endurance:
    """What a part stands when it is loaded to and fro.

    Attributes
    ----------
    specimen : of a polished specimen, Pa.
    factors : that make the part's of it.
    cycles : for which it holds; infinite for a limit.
    """

    specimen: Factor
    factors: tuple[Factor, ...]
    cycles: float = math.inf

    @property
    def limit(self) -> float:
        """Amplitude of fully reversed stress that the part stands, Pa: Se = ka kb kc kd ke kf Se', eq. 6-18."""
        return self.specimen.value * math.prod(f.value for f in self.factors)


def endurance(
    strength: Strength, diameter: float, finish: Finish, reliability: float = 0.99, celsius: float = 20.0
) -> Endurance:
    """Give the endurance of a shaft in bending, or of another part by the diameter that stands for it.

    Parameters
    ----------
    strength : of its material.
    diameter : m; for a rectangle that of `equivalent_diameter`.
    finish : of its surface.
    reliability : share of parts that stand it, one of `RELIABILITIES`.
    celsius : temperature in degrees C.

    Raises
    ------
    ValueError
        If a value is outside what the sources cover.
    """
    specimen = Factor("fatigue strength of a polished specimen", strength.fatigue, strength.fatigue_source)
    factors = (
        surface_factor(finish, strength.ultimate),
        size_factor(diameter),
        Factor("loading, bending", LOADINGS["bending"], f"{SHIGLEY}, eq. 6-26 (read)"),
        temperature_factor(celsius),
        reliability_factor(reliability),
    )
    return Endurance(specimen, factors, strength.cycles)


def surface_factor(finish: Finish, ultimate: float) -> Factor:
    """Surface finish: a Sut^b, at most 1.

    Parameters
    ----------
    finish : of the surface.
    ultimate : tensile strength, Pa.
    """
    a, b = FINISHES[finish]
    return Factor(f"surface, {finish}", min(1.0, a * (ultimate / 1e6) ** b),
                  f"{SHIGLEY}, eq. 6-19, table 6-2 (read), for steel; at most 1")  # fmt: skip


def size_factor(diameter: float) -> Factor:
    """Size, in bending or torsion of a shaft that turns against its load.

    Parameters
    ----------
    diameter : m, up to 254 mm.

    Raises
    ------
    ValueError
        If the diameter is not positive or above that.
    """
    mm = diameter * 1e3
    if not 0 < mm <= 254:
        raise ValueError(f"a diameter of {mm:.6g} mm has no size factor; write one above 0 and up to 254 mm")
    # Below 2.79 mm the source has none: a specimen's own diameter is 7.62 mm, and 1 is the cautious value there.
    value = 1.51 * mm**-0.157 if mm > 51 else (mm / 7.62) ** -0.107 if mm >= 2.79 else 1.0
    return Factor("size", value, f"{SHIGLEY}, eq. 6-20 (read)")


def equivalent_diameter(width: float, thickness: float) -> float:
    """Diameter, m, of a shaft with as much highly stressed material as a rectangle that is bent to and fro.

    .808 sqrt(b h): Shigley eq. 6-25 (memory).

    Parameters
    ----------
    width, thickness : m.
    """
    return 0.808 * math.sqrt(width * thickness)


def temperature_factor(celsius: float) -> Factor:
    """Temperature: a polynomial for steel between 70 and 1000 F, and 1 below.

    Parameters
    ----------
    celsius : temperature in degrees C, up to 538.

    Raises
    ------
    ValueError
        If it is hotter than that.
    """
    t = celsius * 9 / 5 + 32
    if t > 1000:
        raise ValueError(f"{celsius:.6g} C has no temperature factor; write one up to 538 C")
    value = 1.0
    if t > 70:
        value = 0.975 + 0.432e-3 * t - 0.115e-5 * t**2 + 0.104e-8 * t**3 - 0.595e-12 * t**4
    return Factor(
        f"temperature, {celsius:g} C", value, f"{SHIGLEY}, eq. 6-27 (read); 1 below 70 F: assumption"
    )


def reliability_factor(share: float) -> Factor:
    """Reliability, from the scatter of fatigue limits.

    Parameters
    ----------
    share : of parts that stand it, one of `RELIABILITIES`.

    Raises
    ------
    ValueError
        If it is none of them.
    """
    if share not in RELIABILITIES:
        known = ", ".join(f"{r:g}" for r in RELIABILITIES)
        raise ValueError(f"reliability {share:g} is not in the table; write one of {known}")
    return Factor(f"reliability {share * 100:g} %", RELIABILITIES[share], f"{SHIGLEY}, table 6-5 (read)")
