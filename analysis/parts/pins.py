"""Round pins across plates: shear, bending and pressure, for hinges and for the lock.

Resistances are those of EN 1993-1-8, table 3.10, for pins that shall be taken out again: bending .8 W fy and pressure
.6 t d fy under the loads as they come, shear .6 A fu / 1.25, and shear and bending together, under loads times the
wanted margin. The moment of a pin through three plates is that of figure 3.11, F / 8 (b + 4 c + 2 a).
"""

import math
from dataclasses import dataclass

from analysis.parts.choice import Check
from models.materials import Material
from models.parts.catalogue import SYSTEMS
from models.stock import shaft_stock
from models.strengths import strengths

TABLE = "EN 1993-1-8, table 3.10 (read in an extract)"
FIGURE = "EN 1993-1-8, figure 3.11, F / 8 (b + 4 c + 2 a) (formula memory, table read in an extract)"
PARTIAL = 1.25
"""gamma_M2 of EN 1993-1-8 (read)."""


@dataclass(frozen=True)
class Round:
    """Round bar for a pin: `diameter` in m, the rest as of all families."""

    size: str
    system: str
    source: str
    diameter: float


@dataclass(frozen=True)
class PinLoad:
    """What a pin carries.

    Attributes
    ----------
    plane : shear in one plane, N.
    moment : bending, N m.
    pressed : force on the plate or knuckle that is pressed most, N.
    thickness : of that plate, m.
    """

    plane: float
    moment: float
    pressed: float
    thickness: float


def rounds(system: str) -> tuple[Round, ...]:
    """Give the bars of a system that pins are made of, thinnest first.

    Raises
    ------
    ValueError
        If there is no such system.
    """
    if system == "metric":
        stock = shaft_stock("metric")
    elif system == "inch":
        stock = shaft_stock("inch")
    else:
        raise ValueError(f"no system {system!r}; there are {', '.join(SYSTEMS)}")
    return tuple(Round(s.label, system, s.source, s.diameter) for s in stock)


def system_of(diameter: float) -> str:
    """Give the system of measures that a diameter, m, is a size of: inch for whole sixteenths, else metric."""
    sixteenths, tenths = diameter / 0.0015875, diameter / 0.0005
    inch = abs(sixteenths - round(sixteenths)) < 1e-6 < abs(tenths - round(tenths))
    return "inch" if inch else "metric"


def between_plates(force: float, middle: float, outer: float, gap: float) -> float:
    """Give the moment of a pin in double shear, N m.

    Parameters
    ----------
    force : on the middle plate, N.
    middle, outer : thickness of the middle plate and of each outer one, m.
    gap : between two, m.

    Returns
    -------
    F / 8 (b + 4 c + 2 a): plates press evenly over their thickness, EN 1993-1-8, figure 3.11.
    """
    return force / 8 * (middle + 4 * gap + 2 * outer)


def overhung(force: float, plate: float, gap: float) -> float:
    """Give the moment of a pin in single shear, N m, where it leaves the plate that holds it.

    Parameters
    ----------
    force : N, on a plate of thickness `plate`, m, a `gap`, m, away, which presses evenly on the pin.

    Returns
    -------
    F (c + b / 2), as of a cantilever clamped in the other plate's face; plain statics.
    """
    return force * (gap + plate / 2)


def modulus(diameter: float) -> float:
    """Give the elastic section modulus of a round bar, pi d^3 / 32, m3."""
    return math.pi * diameter**3 / 32


def shear_resistance(diameter: float, material: Material) -> float:
    """Give what one plane of a pin stands, N: .6 A fu / 1.25; its yield counts where the ultimate is not known."""
    known = strengths().get(material.name)
    ultimate = known.ultimate if known else material.strength
    return 0.6 * math.pi / 4 * diameter**2 * ultimate / PARTIAL


def pin_checks(
    diameter: float,
    load: PinLoad,
    pin: Material,
    plate: Material,
    margin: float,
    case: str,
    crank: float | None = None,
) -> tuple[Check, ...]:
    """Give what is asked of a pin.

    Parameters
    ----------
    diameter : m.
    load : the worst met.
    pin, plate : what both are of.
    margin : factor on the loads against shear, and against both together.
    case, crank : where the load comes from.
    """
    stood = shear_resistance(diameter, pin)
    bends = 0.8 * modulus(diameter) * pin.strength
    plastic = 1.5 * modulus(diameter) * pin.strength
    weaker = min(pin.strength, plate.strength)
    both = (margin * load.moment / plastic) ** 2 + (margin * load.plane / stood) ** 2
    return (
        Check(f"shear in a plane, load times {margin:g}", margin * load.plane, stood, "force", case,
              f".6 A fu / {PARTIAL}: {TABLE}", crank),
        Check("bending", load.moment, bends, "torque", case, f".8 W fy, pin to be taken out again: {TABLE}; "
              f"moment by {FIGURE}, single shear as a cantilever", crank),
        Check(f"shear and bending together, load times {margin:g}", both, 1.0, "ratio", case,
              f"(M / 1.5 W fy)^2 + (F / .6 A fu / {PARTIAL})^2: {TABLE}", crank),
        Check("pressure on the bore", load.pressed, 0.6 * load.thickness * diameter * weaker, "force", case,
              f".6 t d fy, pin to be taken out again: {TABLE}", crank),
    )  # fmt: skip
