"""Values for people: SI and shop units side by side."""

import math
from dataclasses import dataclass

from models.units import BARE, known, size_of


@dataclass(frozen=True)
class _Shown:
    """How values from a size upwards are shown.

    Attributes
    ----------
    least : float
        Smallest absolute SI value shown so.
    unit, shop : str
        Units shown, the second in brackets; no bracket if it is empty.
    shop_digits : int
        Least significant digits of the shop value. Forces are felt rather than measured: two.
    """

    least: float
    unit: str
    shop: str = ""
    shop_digits: int = 3


# Largest first; the last begins at zero.
_SHOWN: dict[str, tuple[_Shown, ...]] = {
    "length": (_Shown(10.0, "m", "ft"), _Shown(0.0, "mm", "in")),
    "mass": (_Shown(0.0, "kg", "lb"),),
    "angle": (_Shown(0.0, "deg"),),
    "angular_speed": (_Shown(0.0, "rpm"),),
    "speed": (_Shown(0.0, "m/s", "ft/s", 2),),
    "force": (_Shown(1e4, "kN", "lbf", 2), _Shown(0.0, "N", "lbf", 2)),
    "torque": (_Shown(100.0, "N m", "ft lbf", 2), _Shown(0.0, "N m", "in lbf", 2)),
    "stress": (
        _Shown(1e10, "GPa", "ksi"),
        _Shown(1e8, "MPa", "ksi"),
        _Shown(1e6, "MPa", "psi"),
        _Shown(1e4, "kPa", "psi"),
        _Shown(0.0, "Pa", "psi"),
    ),
    "density": (_Shown(0.0, "kg/m3", "lb/in3"),),
    "power": (_Shown(0.0, "W", "hp", 2),),
    "time": (_Shown(0.0, "s"),),
    "acceleration": (_Shown(0.0, "m/s2", "ft/s2"),),
    "stiffness": (_Shown(0.0, "N/mm", "lbf/in"),),
    "torsional_stiffness": (_Shown(0.0, "N m/rad", "in lbf/deg"),),
    "torsional_damping": (_Shown(0.0, "N m s/rad", "in lbf s/deg"),),
    "time_per_length": (_Shown(0.0, "s/m", "s/ft"),),
    "energy": (_Shown(0.0, "J", "ft lbf", 2),),
    "area": (_Shown(0.1, "m2", "ft2"), _Shown(0.0, "mm2", "in2")),
    "mass_per_length": (_Shown(0.0, "kg/m", "lb/ft"),),
    "pressure_speed": (_Shown(0.0, "MPa m/s", "psi fpm"),),
    "wear": (_Shown(0.0, "mm3/(N m)"),),
}
# Less than this of the unit shown is rounding noise and is shown as zero.
_NOISE = 1e-9


def shown(value: float, dimension: str) -> str:
    """Return a value for people, SI and shop units side by side: ``760 mm (29.9 in)``.

    Parameters
    ----------
    value : float
        In the unit `unit_of` gives.
    dimension : str
        One of the dimensions of `quantity`, or "ratio" or "count".

    Returns
    -------
    str
        Three significant digits or the whole part, whichever is longer; two for shop units of force,
        torque, speed, power and energy. Zeros after the point are dropped.

    Raises
    ------
    LookupError
        If there is no such dimension.
    """
    if dimension not in BARE:
        known(dimension)
    if not math.isfinite(value):
        return "not a number" if math.isnan(value) else "infinite" if value > 0 else "minus infinite"
    if dimension in BARE:
        return _figures(value, 3)
    how = next(step for step in _SHOWN[dimension] if abs(value) >= step.least)
    plain = f"{_figures(value / float(size_of(how.unit, dimension)), 3)} {how.unit}"
    if not how.shop:
        return plain
    shop = value / float(size_of(how.shop, dimension))
    return f"{plain} ({_figures(shop, how.shop_digits)} {how.shop})"


def _figures(value: float, digits: int) -> str:
    size = abs(value)
    if size < _NOISE:
        return "0"
    if not 1e-4 <= size < 1e9:
        return f"{value:.{digits}g}"
    decimals = max(0, digits - 1 - math.floor(math.log10(size)))
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def in_figures(dimension: str) -> tuple[float, str]:
    """Give the factor from SI to the unit that an axis of a figure has, and that unit; 1 and "" for bare numbers.

    Raises
    ------
    LookupError
        If there is no such dimension.
    """
    if dimension in BARE:
        return 1.0, ""
    known(dimension)
    unit = _SHOWN[dimension][-1].unit
    return 1 / float(size_of(unit, dimension)), unit
