"""The beam against end formulas of beam tables, a reference library and textbook shafts.

The end formulas are those of any mechanics-of-materials table; the off-centre and the overhanging load were
read in Shigley, Mechanical Engineering Design, eq. 7-24, and on public pages of beam formulas.
"""

import math

import numpy as np
import pytest
import sympy
from evidence import Outside, Value
from sympy.physics.continuum_mechanics.beam import Beam

from sim.beam import (
    first_critical_speed,
    influence,
    moment_influence,
    reactions,
    round_second_moment,
    slope_influence,
)

TABLES = "any mechanics-of-materials table of beams"
SHIGLEY = "Shigley, Mechanical Engineering Design, example 7-5"
HALF = "half the last printed digit"
ROUNDING = 1e-12
"""Relative; both sides are short closed forms, cubes of lengths of like size being taken from each other."""

SPAN, EI = 1.7, 2300.0
HELD = (0.4, 0.4 + SPAN)
"""Supports away from the origin, so that a forgotten origin shows."""


def end_formula(outside: Outside, statement: str, seen: str, expected: Value, got: Value) -> None:
    """Check an end formula; a list of numbers by its largest."""
    outside(f"beam on two supports, {statement}", source=TABLES, seen=seen, expected=expected, got=got,
            relative=ROUNDING, reason="rounding of short closed forms")  # fmt: skip


def at(*along: float) -> np.ndarray:
    """Give stations measured from the first support."""
    return HELD[0] + np.array(along)


def test_centre_load(outside: Outside) -> None:
    load = at(SPAN / 2)
    end = SPAN**2 / (16 * EI)
    for what, expected, got in (
        ("deflection P L^3 / 48 EI, m/N", SPAN**3 / (48 * EI), influence(load, load, HELD, EI)[0, 0]),
        ("slopes P L^2 / 16 EI of ends and middle, rad/N", [end, 0, -end],
         slope_influence(at(0, SPAN / 2, SPAN), load, HELD, EI)[:, 0]),
        ("moment P L / 4, m", -SPAN / 4, moment_influence(load, load, HELD)[0, 0]),
        ("reactions", [0.5, 0.5], reactions(load, HELD)[:, 0]),
    ):  # fmt: skip
        end_formula(outside, f"load in the middle: {what}", "memory", expected, got)


@pytest.mark.parametrize("a", [0.1, 0.6, 1.5])
def test_off_centre_load(outside: Outside, a: float) -> None:
    b, x = SPAN - a, np.linspace(0, SPAN, 18)
    left = b * x * (SPAN**2 - b**2 - x**2)
    right = a * (SPAN - x) * (2 * SPAN * x - a**2 - x**2)
    whole = np.where(x <= a, left, right) / (6 * EI * SPAN)
    found = influence(at(*x), at(a), HELD, EI)[:, 0]
    np.testing.assert_allclose(found, whole, rtol=ROUNDING, atol=ROUNDING * whole.max())
    for what, expected, got in (
        ("deflections a third and two thirds along (Shigley eq. 7-24), m/N",
         whole[[6, 11]], found[[6, 11]]),
        ("slopes of the ends, rad/N",
         [a * b * (SPAN + b) / (6 * SPAN * EI), -a * b * (SPAN + a) / (6 * SPAN * EI)],
         slope_influence(at(0, SPAN), at(a), HELD, EI)[:, 0]),
        ("moment P a b / L, m", -a * b / SPAN, moment_influence(at(a), at(a), HELD)[0, 0]),
        ("reactions", [b / SPAN, a / SPAN], reactions(at(a), HELD)[:, 0]),
    ):  # fmt: skip
        end_formula(outside, f"load {a} m along a span of {SPAN} m: {what}", "memory", expected, got)


@pytest.mark.parametrize("beyond", [0.05, 0.5, 2.5])
def test_load_at_the_end_of_an_overhang(outside: Outside, beyond: float) -> None:
    load = at(SPAN + beyond)
    tip, between = influence(at(SPAN + beyond, SPAN / math.sqrt(3)), load, HELD, EI)[:, 0]
    for what, expected, got in (
        ("deflection of the tip P a^2 (L + a) / 3 EI, m/N", beyond**2 * (SPAN + beyond) / (3 * EI), tip),
        ("deflection at L / sqrt(3), -P a L^2 / 9 sqrt(3) EI, m/N",
         -beyond * SPAN**2 / (9 * math.sqrt(3) * EI), between),
        ("slopes of the near support P a L / 3 EI and at L / sqrt(3), rad/N", [beyond * SPAN / (3 * EI), 0],
         slope_influence(at(SPAN, SPAN / math.sqrt(3)), load, HELD, EI)[:, 0]),
        ("moment over the near support P a, m", beyond, moment_influence(at(SPAN), load, HELD)[0, 0]),
        ("reactions", [-beyond / SPAN, 1 + beyond / SPAN], reactions(load, HELD)[:, 0]),
    ):  # fmt: skip
        end_formula(outside, f"load {beyond} m beyond a span of {SPAN} m: {what}", "memory", expected, got)


def test_overhang_of_a_beam_loaded_between_its_supports(outside: Outside) -> None:
    a, x1 = 0.6, np.array([0.3, 0.9])
    end_formula(outside, "load between them: straight overhang, -P a b x1 (L + a) / 6 L EI twice, m/N",
                "memory", -a * (SPAN - a) * (SPAN + a) * x1 / (6 * SPAN * EI),
                influence(at(*(SPAN + x1)), at(a), HELD, EI)[:, 0])  # fmt: skip


def test_against_a_reference_library(outside: Outside) -> None:
    """sympy.physics.continuum_mechanics.beam: loads and stations on both overhangs and between (computed)."""
    length, supports, stiffness = 14, (3, 11), 7
    loads, stations = (0, 5, 8, 14), (0, 1, 3, 4, 7, 10, 11, 13, 14)
    x = sympy.Symbol("x")
    pushed, bent, turned, moment = [], [], [], []
    for load in loads:
        beam = Beam(length, stiffness, 1)
        pins = [beam.apply_support(support, "roller") for support in supports]
        # Its loads are positive upward and so are its deflections: one unit up is one unit our way.
        beam.apply_load(1, load, -1)
        beam.solve_for_reaction_loads(*pins)
        pushed.append([-beam.reaction_loads[pin] for pin in pins])
        bent.append([beam.deflection().subs(x, s) for s in stations])
        turned.append([beam.slope().subs(x, s) for s in stations])
        moment.append([sympy.diff(beam.slope(), x).subs(x, s) for s in stations])
    held = (float(supports[0]), float(supports[1]))

    def numbers(rows: list[list[sympy.Expr]]) -> np.ndarray:
        return np.array(rows, dtype=float).T

    # Exact rationals there; here rounding of cubes up to 14^3 whose difference is of order 1.
    near = {"rtol": ROUNDING, "atol": 1e-12}
    np.testing.assert_allclose(reactions(loads, held), numbers(pushed), **near)
    np.testing.assert_allclose(influence(stations, loads, held, stiffness), numbers(bent), **near)
    np.testing.assert_allclose(slope_influence(stations, loads, held, stiffness), numbers(turned), **near)
    np.testing.assert_allclose(moment_influence(stations, loads, held), stiffness * numbers(moment), **near)
    outside("beam of 14 m on supports at 3 and 11 m, EI 7 N m2, load at each tip: deflection there, m/N",
            source="sympy.physics.continuum_mechanics.beam", seen="computed",
            expected=[bent[0][0], bent[-1][-1]],
            got=influence([0.0, 14.0], [0.0, 14.0], held, 7.0).diagonal(),
            relative=ROUNDING, reason="exact rationals there, rounding here")  # fmt: skip


# Shigley, Mechanical Engineering Design, example 7-5: 1 in steel shaft, 31 in span, 35 lbf at 7 in and 55 lbf
# at 20 in, E 30 Mpsi (statement, read). Inches and pounds-force are consistent, so they go in as they are.
WEIGHTS = np.array([35.0, 55.0])
GEARS = np.array([7.0, 20.0])
BEARINGS = (0.0, 31.0)
SHAFT_EI = 30e6 * round_second_moment(1.0)
GRAVITY = 386.1  # in/s2


def test_shigley_7_5_section(outside: Outside) -> None:
    outside("second moment of a 1 in round section, in4", source=SHIGLEY, seen="read", expected=0.04909,
            got=round_second_moment(1.0), absolute=5e-6, reason=HALF)  # fmt: skip
    outside("6 E I l of a 1 in steel shaft of 31 in, lbf in3", source=SHIGLEY, seen="read",
            expected=0.2739e9, got=6 * SHAFT_EI * 31, absolute=5e4, reason=HALF)  # fmt: skip


def test_shigley_7_5_equivalent_loads_at_the_centre(outside: Outside) -> None:
    own = np.diag(influence(GEARS, GEARS, BEARINGS, SHAFT_EI))
    centre = influence([15.5], [15.5], BEARINGS, SHAFT_EI)[0, 0]
    outside("loads in the middle of the shaft with the same critical speed as its two, lbf",
            source=SHIGLEY + ", figure", seen="read", expected=[17.1, 46.1], got=WEIGHTS * own / centre,
            absolute=0.05, reason=HALF)  # fmt: skip


def test_shigley_7_5_influence_coefficients(outside: Outside) -> None:
    found = influence(GEARS, GEARS, BEARINGS, SHAFT_EI)
    outside("influence coefficients 11, 12, 21, 22 of the shaft with two loads, in/lbf", source=SHIGLEY,
            seen="memory", expected=[2.061e-4, 2.224e-4, 2.224e-4, 3.534e-4], got=np.ravel(found),
            absolute=5e-8, reason=HALF)  # fmt: skip


def test_shigley_7_5_first_critical_speed(outside: Outside) -> None:
    coefficients = influence(GEARS, GEARS, BEARINGS, SHAFT_EI)
    sag = coefficients @ WEIGHTS
    rayleigh = math.sqrt(GRAVITY * (WEIGHTS @ sag) / (WEIGHTS @ sag**2))
    dunkerley = math.sqrt(GRAVITY / (WEIGHTS @ np.diag(coefficients)))
    outside("first critical speed of the shaft with two loads by Rayleigh, rad/s", source=SHIGLEY,
            seen="computed", expected=124.8, got=rayleigh, absolute=0.05, reason=HALF)  # fmt: skip
    outside("first critical speed of the shaft with two loads by Dunkerley, rad/s", source=SHIGLEY,
            seen="computed", expected=120.4, got=dunkerley, absolute=0.05, reason=HALF)  # fmt: skip
    # Rayleigh's is an upper and Dunkerley's a lower bound of the two-mass shaft's own frequency.
    exact = math.sqrt(GRAVITY / np.linalg.eigvals(coefficients * WEIGHTS).real.max())
    assert dunkerley < exact < rayleigh


# Uniform steel shaft 25.4 mm x 1 m on pins, 7850 kg/m3. Both published figures belong to E = 30 Mpsi, that is
# 206.84 GPa, though they were handed on beside E = 200 GPa, which gives 316.34 rad/s and .1243 mm.
DIAMETER, LENGTH, DENSITY = 0.0254, 1.0, 7850.0
THIRTY_MPSI = 30e6 * 6894.757


def sag_under_own_weight(modulus: float) -> float:
    """Give the mid-span sag (m) by adding up the weight of short pieces."""
    # Gauss points on each half: exact for the cubic that the influence line is there.
    points, shares = np.polynomial.legendre.leggauss(4)
    half = LENGTH / 4 * (points + 1)
    loads_at, weights = np.concatenate([half, LENGTH / 2 + half]), np.tile(shares, 2) * LENGTH / 4
    stiffness = modulus * round_second_moment(DIAMETER)
    line = influence([LENGTH / 2], loads_at, (0.0, LENGTH), stiffness)[0]
    return float(line @ weights) * DENSITY * 9.81 * math.pi * DIAMETER**2 / 4


def test_uniform_shaft_critical_speed(outside: Outside) -> None:
    speed = first_critical_speed(DIAMETER, LENGTH, THIRTY_MPSI, DENSITY)
    outside("first critical speed of a steel shaft of 25.4 mm x 1 m on pins, rad/s", source="closed form",
            seen="computed", expected=321.7, got=speed, absolute=0.05, reason=HALF)  # fmt: skip
    assert speed > 321.46  # shear and rotary inertia only slow it
    outside("the same with shear and rotary inertia, by the docstring's estimate, rad/s",
            source="ross-rotordynamics 2.3.0", seen="computed", expected=321.46,
            got=speed * (1 - 1.2 * (DIAMETER / LENGTH) ** 2), absolute=0.05,
            reason="half the last digit of the estimate's two figures")  # fmt: skip


def test_uniform_shaft_sag(outside: Outside) -> None:
    outside("sag of a steel shaft of 25.4 mm x 1 m on pins under its weight, mm", source="closed form",
            seen="computed", expected=0.1202, got=1e3 * sag_under_own_weight(THIRTY_MPSI), absolute=5e-5,
            reason=HALF)  # fmt: skip
    weight = DENSITY * 9.81 * math.pi * DIAMETER**2 / 4
    outside("sag 5 w L^4 / 384 EI of the same shaft at 200 GPa, m", source=TABLES, seen="memory",
            expected=5 * weight * LENGTH**4 / (384 * 200e9 * round_second_moment(DIAMETER)),
            got=sag_under_own_weight(200e9), relative=ROUNDING, reason="rounding of sums")  # fmt: skip


def test_sag_and_critical_speed_belong_together(outside: Outside) -> None:
    speed = first_critical_speed(DIAMETER, LENGTH, 200e9, DENSITY)
    outside("critical speed of a uniform pinned shaft over sqrt(g / sag)",
            source="many handbooks: 5 / 4 under the root, exactly pi^2 sqrt(5 / 384)", seen="memory",
            expected=math.pi**2 * math.sqrt(5 / 384),
            got=speed / math.sqrt(9.81 / sag_under_own_weight(200e9)), relative=ROUNDING,
            reason="rounding of short closed forms")  # fmt: skip
