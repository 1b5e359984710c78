"""The sizes of all units in SI, exactly, by dimension.

They come from definitions: inch, foot, yard and pound from the international yard and pound agreement of 1959,
standard gravity 9.80665 m/s2 from the 3rd CGPM (1901); both are repeated in NIST Special Publication 811 (2008),
appendix B. Mechanical horsepower is 550 ft lbf/s.
"""

from fractions import Fraction

# Good to 62 decimals, so that an angle in degrees is rounded once, on becoming a float.
_PI = Fraction("3.14159265358979323846264338327950288419716939937510582097494459")
INCH = Fraction("0.0254")
FOOT = 12 * INCH
_POUND = Fraction("0.45359237")
_GRAVITY = Fraction("9.80665")
_LBF = _POUND * _GRAVITY
_ONE = Fraction(1)
_DEG = _PI / 180
_MILLI = Fraction(1, 1000)

_LENGTH = {
    "m": _ONE,
    "mm": _MILLI,
    "cm": Fraction(1, 100),
    "um": Fraction(1, 10**6),
    "in": INCH,
    "ft": FOOT,
    "thou": INCH / 1000,
    "yd": 3 * FOOT,
}
_FORCE = {"N": _ONE, "kN": Fraction(1000), "lbf": _LBF, "kgf": _GRAVITY}
_TORQUE = {
    "N m": _ONE,
    "N mm": _MILLI,
    "kN m": Fraction(1000),
    "in lbf": INCH * _LBF,
    "ft lbf": FOOT * _LBF,
}

# For each dimension its units and their sizes in SI. The SI unit is first.
UNITS: dict[str, dict[str, Fraction]] = {
    "length": _LENGTH,
    "mass": {"kg": _ONE, "g": _MILLI, "lb": _POUND, "oz": _POUND / 16},
    "angle": {"rad": _ONE, "deg": _DEG, "turn": 2 * _PI},
    "angular_speed": {"rad/s": _ONE, "rpm": 2 * _PI / 60, "deg/s": _DEG, "turn/s": 2 * _PI},
    "speed": {
        "m/s": _ONE,
        "km/h": Fraction(1000, 3600),
        "mph": 5280 * FOOT / 3600,
        "ft/s": FOOT,
        "mm/s": _MILLI,
    },
    "force": _FORCE,
    "torque": _TORQUE,
    "stress": {
        "Pa": _ONE,
        "kPa": Fraction(10**3),
        "MPa": Fraction(10**6),
        "GPa": Fraction(10**9),
        "psi": _LBF / INCH**2,
        "ksi": 1000 * _LBF / INCH**2,
        "N/mm2": Fraction(10**6),
    },
    "density": {"kg/m3": _ONE, "g/cm3": Fraction(1000), "lb/in3": _POUND / INCH**3},
    "power": {"W": _ONE, "kW": Fraction(1000), "hp": 550 * FOOT * _LBF},
    "time": {"s": _ONE, "ms": _MILLI, "min": Fraction(60), "h": Fraction(3600)},
    "acceleration": {"m/s2": _ONE, "mm/s2": _MILLI, "ft/s2": FOOT},
    "stiffness": {
        "N/m": _ONE,
        "N/mm": Fraction(1000),
        "kN/m": Fraction(1000),
        "kN/mm": Fraction(10**6),
        "lbf/in": _LBF / INCH,
    },
    "torsional_stiffness": {
        f"{torque}/{angle}": _TORQUE[torque] / turned
        for angle, turned in (("rad", _ONE), ("deg", _DEG))
        for torque in _TORQUE
    },
    "torsional_damping": {
        f"{torque} s/{angle}": _TORQUE[torque] / turned
        for angle, turned in (("rad", _ONE), ("deg", _DEG))
        for torque in _TORQUE
    },
    "time_per_length": {"s/m": _ONE, "s/mm": Fraction(1000), "s/ft": 1 / FOOT, "s/in": 1 / INCH},
    "energy": {"J": _ONE, "kJ": Fraction(1000), "N m": _ONE, "ft lbf": FOOT * _LBF, "in lbf": INCH * _LBF},
    "area": {"m2": _ONE, "mm2": _MILLI**2, "cm2": Fraction(1, 10**4), "in2": INCH**2, "ft2": FOOT**2},
    "mass_per_length": {"kg/m": _ONE, "lb/ft": _POUND / FOOT},
    "pressure_speed": {"Pa m/s": _ONE, "MPa m/s": Fraction(10**6), "psi fpm": _LBF / INCH**2 * FOOT / 60},
    "wear": {"m3/(N m)": _ONE, "mm3/(N m)": _MILLI**3},
}

OTHER_SPELLINGS = {
    **dict.fromkeys(('"', "″", "”"), "in"),
    **dict.fromkeys(("'", "′", "’"), "ft"),
    "Nm": "N m",
    "Nmm": "N mm",
    "kNm": "kN m",
    "lbf in": "in lbf",
    "lbf ft": "ft lbf",
}
SIGNS_IN_UNITS = str.maketrans(
    {"²": "2", "³": "3", "µ": "u", "μ": "u", "·": " ", "⋅": " ", "*": " ", "°": "deg"}
)

# An example of each dimension; its unit is the one suggested for a bare number.
EXAMPLES = {
    "length": "760 mm",
    "mass": "30 kg",
    "angle": "15 deg",
    "angular_speed": "60 rpm",
    "speed": "2 m/s",
    "force": "50 N",
    "torque": "4.5 N m",
    "stress": "250 MPa",
    "density": "7850 kg/m3",
    "power": "75 W",
    "time": "2 s",
    "acceleration": "9.81 m/s2",
    "stiffness": "20 N/mm",
    "torsional_stiffness": "500 N m/rad",
    "torsional_damping": "0.5 N m s/rad",
    "time_per_length": "5 s/m",
    "energy": "40 J",
    "area": "1200 mm2",
    "mass_per_length": "1.5 kg/m",
    "pressure_speed": "1.8 MPa m/s",
    "wear": "1e-6 mm3/(N m)",
}
