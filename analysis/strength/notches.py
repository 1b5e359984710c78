"""How much of a stress concentration counts in fatigue, and the concentration of keyseats.

Neuber's equation, Kf = 1 + q (Kt - 1) with q = 1 / (1 + sqrt(a / r)), its constant fitted for steels: Shigley,
Mechanical Engineering Design, 9th ed., eqs. 6-32 to 6-35 (read).
"""

import math
from dataclasses import dataclass
from typing import Literal

from analysis.strength.endurance import SHIGLEY, Factor
from models.strengths import Strength
from models.units import size_of

_KPSI, _INCH = float(size_of("ksi", "stress")), float(size_of("in", "length"))
_FITS = {
    "bending": (0.246, -3.08e-3, 1.51e-5, -2.67e-8),
    "torsion": (0.190, -2.51e-3, 1.35e-5, -2.67e-8),
}
"""Polynomials of the strength in kpsi that give sqrt(a) in sqrt(in)."""
FITTED = (50 * _KPSI, 250 * _KPSI)
"""Ultimate strengths between which the fits hold, Pa (read second hand)."""


@dataclass(frozen=True)
class Notch:
    """What a notch makes of nominal stress in fatigue.

    Attributes
    ----------
    name : in words.
    bending, torsion : Kf and Kfs, factors on normal and shear stress.
    grounds : what they were made of.
    """

    name: str
    bending: Factor
    torsion: Factor
    grounds: tuple[Factor, ...] = ()


PLAIN = Notch(
    "plain shaft",
    Factor("Kf", 1.0, "no notch"),
    Factor("Kfs", 1.0, "no notch"),
)


@dataclass(frozen=True)
class Keyseat:
    """A form of keyseat.

    Attributes
    ----------
    name : in words.
    bending, torsion : theoretical concentrations Kt and Kts.
    radius : at its bottom, as a share of the shaft's diameter.
    """

    name: str
    bending: Factor
    torsion: Factor
    radius: float = 0.02


KEYSEATS = {
    "end-milled": Keyseat(
        "end-milled keyseat",
        Factor("Kt", 2.14, f"{SHIGLEY}, p. 373, r/d = .02, key in place (read)"),
        Factor("Kts", 3.0, f"{SHIGLEY}, p. 373, r/d = .02, key in place (read)"),
    ),
    "sled-runner": Keyseat(
        "sled-runner keyseat",
        Factor("Kt", 1.7, f"{SHIGLEY}, table 7-1 (memory)"),
        Factor("Kts", 3.0, "as end-milled: the table gives none, and its bottom is no rounder"),
    ),
}
"""Keyseats by how they are cut."""


def sensitivity(strength: Strength, radius: float, load: Literal["bending", "torsion"]) -> Factor:
    """Give the notch sensitivity q.

    Parameters
    ----------
    strength : of the material. What the fit does not cover, aluminium among it, is taken as fully sensitive.
    radius : of the notch, m.
    load : which of them.

    Raises
    ------
    ValueError
        If the radius is not positive.
    """
    if not radius > 0:
        raise ValueError(f"a notch radius of {radius} m is not above zero; write metres")
    name = f"q, {load}"
    if strength.kind != "steel" or not FITTED[0] <= strength.ultimate <= FITTED[1]:
        return Factor(
            name, 1.0, f"outside the fit for steels: Kf = Kt is always safe ({SHIGLEY}, p. 296, read)"
        )
    s = strength.ultimate / _KPSI
    root = sum(c * s**k for k, c in enumerate(_FITS[load])) * math.sqrt(_INCH)
    return Factor(name, 1 / (1 + root / math.sqrt(radius)), f"{SHIGLEY}, eqs. 6-34 and 6-35 (read)")


def concentration(theoretical: float, q: float) -> float:
    """Give Kf = 1 + q (Kt - 1), Shigley eq. 6-32."""
    return 1 + q * (theoretical - 1)


def keyseat(form: str, diameter: float, strength: Strength) -> Notch:
    """Give what a keyseat makes of the nominal stress of the full section.

    Parameters
    ----------
    form : one of `KEYSEATS`.
    diameter : of the shaft, m.
    strength : of its material.

    Raises
    ------
    ValueError
        If there is no such form.
    """
    if form not in KEYSEATS:
        raise ValueError(f"no keyseat is called '{form}'; write one of {', '.join(KEYSEATS)}")
    seat = KEYSEATS[form]
    q = sensitivity(strength, seat.radius * diameter, "bending")
    qs = sensitivity(strength, seat.radius * diameter, "torsion")
    return Notch(
        seat.name,
        Factor("Kf", concentration(seat.bending.value, q.value), f"{SHIGLEY}, eq. 6-32 (read)"),
        Factor("Kfs", concentration(seat.torsion.value, qs.value), f"{SHIGLEY}, eq. 6-32 (read)"),
        (seat.bending, seat.torsion, q, qs),
    )
