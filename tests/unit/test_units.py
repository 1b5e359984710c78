"""Units: exact reading, refusals that help, and what reports show."""

import math
import time
from decimal import Decimal, localcontext

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from models.shown import shown
from models.units import DescriptionFault, UnitError, quantity, size_of, unit_of

DIMENSIONS = [
    *("length", "mass", "angle", "angular_speed", "speed", "force", "torque", "stress", "density", "power"),
    *("time", "acceleration", "stiffness", "torsional_stiffness", "energy", "area", "mass_per_length"),
    *("torsional_damping", "time_per_length"),
]


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        # Inch 25.4 mm, foot 12 in, yard 3 ft (NIST SP 811 appendix B.6; memory).
        ("760 mm", "length", 0.76),
        ("3 1/8 in", "length", 0.079375),
        ("3-1/8 in", "length", 0.079375),
        ("1/2 in", "length", 0.0127),
        ("+.5 in", "length", 0.0127),
        ("8 ft 6 in", "length", 2.5908),
        ("8 ft 6 1/2 in", "length", 2.6035),
        ("-8 ft 6 in", "length", -2.5908),
        ("2'6\"", "length", 0.762),
        ("2′6″", "length", 0.762),
        ("2'-6\"", "length", 0.762),
        ("8ft6in", "length", 2.5908),
        ("1 yd", "length", 0.9144),
        ("5 thou", "length", 0.000127),
        ("12 µm", "length", 12e-6),
        ("-3 mm", "length", -0.003),
        ("−3 mm", "length", -0.003),
        ("5. m", "length", 5.0),
        ("1e-3m", "length", 0.001),
        # Pound 0.45359237 kg, standard gravity 9.80665 m/s2 (NIST SP 811 appendix B; memory).
        ("1 lb", "mass", 0.45359237),
        ("16 oz", "mass", 0.45359237),
        ("250 g", "mass", 0.25),
        ("180 deg", "angle", math.pi),
        ("15°", "angle", 0.26179938779914943654),
        ("1 turn", "angle", 2 * math.pi),
        ("60 rpm", "angular_speed", 2 * math.pi),
        ("360 deg/s", "angular_speed", 2 * math.pi),
        ("36 km/h", "speed", 10.0),
        ("1 mph", "speed", 0.44704),
        ("1.5e3 N", "force", 1500.0),
        ("1 lbf", "force", 4.4482216152605),
        ("1 kgf", "force", 9.80665),
        ("3 N m", "torque", 3.0),
        ("3 N·m", "torque", 3.0),
        ("3 N*m", "torque", 3.0),
        ("3 N-m", "torque", 3.0),
        ("2 kN m", "torque", 2000.0),
        ("1 N/mm²", "stress", 1e6),
        ("1 N/mm^2", "stress", 1e6),
        ("7.85 g/cm³", "density", 7850.0),
        ("9.81 m/s^2", "acceleration", 9.81),
        ("20 N/mm", "stiffness", 20000.0),
        ("2 kN/mm", "stiffness", 2e6),
        ("5 N·m/rad", "torsional_stiffness", 5.0),
        ("5 Nm/rad", "torsional_stiffness", 5.0),
        ("0.5 N m s/rad", "torsional_damping", 0.5),
        ("0.5 Nm s/rad", "torsional_damping", 0.5),
        ("0.5 N·m·s/rad", "torsional_damping", 0.5),
        ("5 s/m", "time_per_length", 5.0),
        ("5 s/mm", "time_per_length", 5000.0),
        ("40 J", "energy", 40.0),
        ("1 in²", "area", 0.00064516),
        ("90 min", "time", 5400.0),
        ("1.5 kg/m", "mass_per_length", 1.5),
    ],
)
def test_reads(text, dimension, value):
    """Exactly equal: a single rounding gives the float that the decimal literal names.

    pi / 12 is given to 20 digits (computed with 50); math.pi / 12 is rounded twice and is another float.
    """
    assert quantity(text, dimension) == value


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        # Factors of NIST SP 811 appendix B.8, given there to seven digits (memory): hence 5e-7.
        ("1 psi", "stress", 6.894757e3),
        ("1 ksi", "stress", 6.894757e6),
        ("1 ft lbf", "torque", 1.355818),
        ("1 in-lbf", "torque", 1.129848e-1),
        ("1 hp", "power", 7.456999e2),
        ("1 lbf/in", "stiffness", 1.751268e2),
        ("1 lb/in3", "density", 2.767990e4),
        ("1 lb/ft", "mass_per_length", 1.488164),
        ("1 ft lbf", "energy", 1.355818),
        ("1 N m/deg", "torsional_stiffness", 57.29578),
        ("1 N m s/deg", "torsional_damping", 57.29578),
        ("1 s/ft", "time_per_length", 3.280840),
    ],
)
def test_shop_factors(text, dimension, value):
    assert quantity(text, dimension) == pytest.approx(value, rel=5e-7)


@pytest.mark.parametrize(
    ("one", "other", "dimension"),
    [
        ("7 mm", "0.7 cm", "length"),
        ("7 mm", "7000 um", "length"),
        ("7 mm", "0.007 m", "length"),
        ("3 1/8 in", "3.125 in", "length"),
        ("3 1/8 in", "79.375 mm", "length"),
        ("8 ft 6 in", "102 in", "length"),
        ("0.1 turn", "36 deg", "angle"),
        ("7 rpm", "42 deg/s", "angular_speed"),
        ("0.3 N m", "300 N mm", "torque"),
        ("12 in lbf", "1 ft lbf", "torque"),
        ("0.7 ksi", "700 psi", "stress"),
        ("0.1 N m/deg", "100 N mm/deg", "torsional_stiffness"),
        ("0.1 N m s/deg", "100 N mm s/deg", "torsional_damping"),
        ("0.1 s/in", "1.2 s/ft", "time_per_length"),
    ],
)
def test_same_number_in_other_words(one, other, dimension):
    assert quantity(one, dimension) == quantity(other, dimension)


@given(st.integers(-(10**9), 10**9), st.integers(0, 9))
def test_millimetres_centimetres_and_metres_agree_to_the_last_bit(digits, places):
    def decimal(shift):
        return f"{digits}e{shift - places}"

    value = quantity(f"{decimal(0)} mm", "length")
    assert value == quantity(f"{decimal(-1)} cm", "length") == quantity(f"{decimal(-3)} m", "length")
    assert value == float(decimal(-3))


@given(st.integers(0, 99), st.integers(0, 11), st.integers(0, 63))
def test_feet_inches_and_sixty_fourths_agree_to_the_last_bit(feet, inches, parts):
    compound = quantity(f"{feet} ft {inches} {parts}/64 in", "length")
    assert compound == quantity(f"{(feet * 12 + inches) * 64 + parts}/64 in", "length")
    assert compound == quantity(f"{feet}'{inches}-{parts}/64\"", "length")


@given(st.sampled_from(DIMENSIONS), st.floats(allow_nan=False, allow_infinity=False))
def test_a_float_written_in_its_own_unit_comes_back(dimension, value):
    assert quantity(f"{value!r} {unit_of(dimension)}", dimension) == value


def outcome_is_number_or_helpful(text, dimension):
    """Say whether reading gives a finite number or a fault with both its parts; other exceptions pass."""
    try:
        return math.isfinite(quantity(text, dimension))
    except UnitError as fault:
        return bool(fault.what and fault.instead) and str(fault) == f"{fault.what}; {fault.instead}"


@given(st.text(max_size=100), st.sampled_from(DIMENSIONS))
@example("1/0 in", "length")
@example("8 ft 6 1/0 in", "length")
@example("٣ mm", "length")
@example("\ud800", "length")
def test_any_text_is_a_finite_number_or_a_unit_error(text, dimension):
    assert outcome_is_number_or_helpful(text, dimension)


PIECES = st.sampled_from(
    [*"0123456789+-./eE'\" ,^²·*°", "mm", "ft", "in", "N", "lbf", "lb", "kg", "m", "nan", "inf"]
)


@given(st.lists(PIECES, max_size=14).map("".join), st.sampled_from(DIMENSIONS))
def test_any_near_miss_is_a_finite_number_or_a_unit_error(text, dimension):
    assert outcome_is_number_or_helpful(text, dimension)


THINGS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.binary(),
    st.lists(st.text()),
    st.dictionaries(st.text(), st.text()),
)


@given(THINGS, st.sampled_from(DIMENSIONS))
@example(10**5000, "length")
@example(-(10**5000), "length")
def test_anything_but_a_text_is_refused_with_an_example(thing, dimension):
    with pytest.raises(UnitError) as caught:
        quantity(thing, dimension)
    assert "write" in caught.value.instead


@pytest.mark.parametrize(
    ("text", "dimension", "what", "instead"),
    [
        (760, "length", "a length needs its unit", 'write "760 mm"'),
        (0.5, "mass", "a mass needs its unit", 'write "0.5 kg"'),
        ("760", "length", "a length needs its unit", 'write "760 mm"'),
        ("3 1/8", "length", "a length needs its unit", "3 1/8"),
        (float("nan"), "angle", "an angle needs its unit", 'write "15 deg"'),
        (True, "length", "cannot be a bool", '"760 mm"'),
        (None, "length", "cannot be nothing", '"760 mm"'),
        ([1, "mm"], "length", "cannot be a list", '"760 mm"'),
        ("", "length", "is empty", '"760 mm"'),
        ("mm", "length", "does not begin with a number", '"760 mm"'),
        ("5 lb", "force", "mass", '"5 lbf"'),
        ("5 kg", "force", "mass", '"5 kgf"'),
        ("20 ft-lb", "torque", "mass", '"20 ft lbf"'),
        ("20 lb in", "torque", "mass", '"20 in lbf"'),
        ("5 kg", "length", "a unit of mass, where a length", "m, mm, cm, um, in, ft, thou or yd"),
        ("5 J", "torque", "a unit of energy, where a torque", "N m, N mm"),
        ("5 MM", "length", "not a known unit", '"5 mm"'),
        ("5 inches", "length", "not a known unit", '"5 in"'),
        ("5 mPa", "stress", "not a known unit", '"5 MPa"'),
        ("5 degrees", "angle", "not a known unit", '"5 deg"'),
        ("5 parsecs", "length", "not a known unit", "m, mm, cm, um"),
        ("5 N s/m", "time_per_length", "not a known unit", '"5 s/m"'),
        (5, "time_per_length", "a time per length needs its unit", 'write "5 s/m"'),
        ("5 N m/rad", "torsional_damping", "torsional stiffness, where a torsional damping", "N m s/rad"),
        ("1,5 mm", "length", "comma", '"1.5 mm"'),
        ("1,000 mm", "length", "comma", '"1.000 mm" or "1000 mm"'),
        ("1,000,000 mm", "length", "comma", '"1000000 mm"'),
        ("1 000 mm", "length", "cannot be read", "without gaps"),
        ("1.2.3 m", "length", "cannot be read", "one number"),
        ("nan m", "length", "not a finite number", '"760 mm"'),
        ("NaN", "length", "not a finite number", '"760 mm"'),
        ("-inf m", "length", "not a finite number", '"760 mm"'),
        ("Infinity mm", "length", "not a finite number", '"760 mm"'),
        ("∞ mm", "length", "not a finite number", '"760 mm"'),
        ("1/0 in", "length", "divides by zero", '"760 mm"'),
        ("8 lb 6 oz", "mass", "more than one number", "only feet and inches"),
        ("10 deg 30 min", "angle", "more than one number", "only feet and inches"),
        ("8 ft -6 in", "length", "more than one number", "only feet and inches"),
        ("2'6", "length", "more than one number", "only feet and inches"),
        ("--3 mm", "length", "does not begin with a number", '"760 mm"'),
    ],
)
def test_refuses(text, dimension, what, instead):
    with pytest.raises(UnitError) as caught:
        quantity(text, dimension)
    assert what in caught.value.what
    assert instead in caught.value.instead


@pytest.mark.parametrize(
    "text",
    [
        "1e999 m",
        "1e999999999 m",
        "1e-999999999 m",
        "1e-400 m",
        "9e307 km",
        "1e" + "9" * 70 + " m",
        "1" * 81,
        "9" * 10**6,
    ],
)
def test_absurd_numbers_are_refused_at_once(text):
    """Building 10**999999999 would hang. Refusals take microseconds; 0.1 s leaves room for a busy machine."""
    began = time.process_time()
    with pytest.raises(UnitError):
        quantity(text, "length")
    assert time.process_time() - began < 0.1


def test_unit_error_is_a_description_fault():
    fault = UnitError("wrong", "write right")
    assert isinstance(fault, DescriptionFault)
    assert isinstance(fault, ValueError)
    assert (fault.what, fault.instead, str(fault)) == ("wrong", "write right", "wrong; write right")


def test_degrees_are_rounded_once():
    """Against decimal arithmetic of 45 digits. pi to 50 digits: OEIS A000796 (memory)."""
    with localcontext() as context:
        context.prec = 45
        pi = Decimal("3.14159265358979323846264338327950288419716939937510")
        for degrees in ("0.1", "1", "7", "33.3", "57.29577951308232", "123.456789"):
            assert quantity(f"{degrees} deg", "angle") == float(Decimal(degrees) * pi / 180)


def test_size_of_takes_the_spellings_of_quantity():
    assert size_of("mm", "length") * 1000 == 1
    assert size_of('"', "length") == size_of("in", "length")
    for wrong in ("2 mm", "/2 in", "kg", "", "mmm"):
        with pytest.raises(UnitError):
            size_of(wrong, "length")


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        # Shop values computed from the factors above.
        (0.76, "length", "760 mm (29.9 in)"),
        (-0.76, "length", "-760 mm (-29.9 in)"),
        (0.003175, "length", "3.17 mm (0.125 in)"),
        (12.5, "length", "12.5 m (41 ft)"),
        (12.3, "force", "12.3 N (2.8 lbf)"),
        (12300.0, "force", "12.3 kN (2765 lbf)"),
        (4.5, "torque", "4.5 N m (40 in lbf)"),
        (42.73, "mass", "42.7 kg (94.2 lb)"),
        (math.radians(18.4), "angle", "18.4 deg"),
        (2 * math.pi, "angular_speed", "60 rpm"),
        (1.9, "speed", "1.9 m/s (6.2 ft/s)"),
        (205e9, "stress", "205 GPa (29733 ksi)"),
        (250e6, "stress", "250 MPa (36.3 ksi)"),
        (613.0, "stress", "613 Pa (0.0889 psi)"),
        (7850.0, "density", "7850 kg/m3 (0.284 lb/in3)"),
        (0.0, "length", "0 mm (0 in)"),
        (-0.0, "force", "0 N (0 lbf)"),
        (-1e-17, "angle", "0 deg"),
        (0.0009996, "length", "1 mm (0.0394 in)"),
        (9.0, "ratio", "9"),
        (1 / 3, "ratio", "0.333"),
        (-0.0, "ratio", "0"),
        (1234.0, "count", "1234"),
        (math.nan, "length", "not a number"),
        (math.inf, "length", "infinite"),
    ],
)
def test_shows(value, dimension, text):
    assert shown(value, dimension) == text


@given(st.sampled_from(DIMENSIONS), st.floats(1e-3, 1e3), st.sampled_from([-1, 1]))
def test_what_is_shown_reads_back_within_its_digits(dimension, value, sign):
    """Three significant digits are within half a unit of the third: 0.5 % at worst; the shop's two, 5 %."""
    text = shown(sign * value, dimension)
    first, _, second = text.partition(" (")
    assert quantity(first, dimension) == pytest.approx(sign * value, rel=0.00501)
    if second:
        assert quantity(second.rstrip(")"), dimension) == pytest.approx(sign * value, rel=0.0501)


def test_units_inside():
    assert [unit_of(name) for name in ("length", "torque", "angular_speed", "stress", "ratio", "count")] == [
        "m", "N m", "rad/s", "Pa", "1", "1",
    ]  # fmt: skip
    for dimension in DIMENSIONS:
        assert size_of(unit_of(dimension), dimension) == 1


@pytest.mark.parametrize(
    "call", [lambda: quantity("1 m", "girth"), lambda: unit_of("girth"), lambda: shown(1, "girth")]
)
def test_an_unknown_dimension_is_a_fault_of_the_program(call):
    with pytest.raises(LookupError):
        call()
