"""Natural frequencies against closed forms, textbook examples and a reference library of rotor dynamics.

The two- and three-rotor formulas are in any book on vibration (memory); the worked numbers of a three-rotor shaft are
those of an exercise of the kind of Khurmi and Gupta, Theory of Machines, ch. 24, read in a public collection of
questions. ross is `ross-rotordynamics` 2.3.0: its shaft elements are of the same theory but not of the same code.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
import ross
from evidence import Outside
from scipy.optimize import brentq
from scipy.special import jn_zeros

from sim.beam import influence, round_second_moment
from sim.vibration.lateral import Lump, Section, Support, lateral_modes
from sim.vibration.rotors import Disc, Fixed, Line, Link, modes, shaft_stiffness
from sim.vibration.strand import string_frequency

FORMULA = "closed form, any book on vibration"
ROSS = "ross-rotordynamics 2.3.0"
ROUNDING = "rounding of an eigenvalue"
HALF = "half the last printed digit"


# Torsion


def test_two_rotors(outside: Outside) -> None:
    a, b, k = 2.3, 0.7, 850.0
    found = modes(Line((Disc("a", a), Disc("b", b)), (Link("shaft", "a", "b", k),)))
    outside("two rotors on a shaft: sqrt(k (I1 + I2) / I1 I2), rad/s", source=FORMULA, seen="memory",
            expected=[0.0, math.sqrt(k * (a + b) / (a * b))], got=found.frequencies, relative=1e-12,
            reason=ROUNDING)  # fmt: skip
    outside("two rotors on a shaft: amplitudes as -I1 / I2", source=FORMULA, seen="memory",
            expected=-a / b, got=found.shapes[1, 1] / found.shapes[1, 0], relative=1e-12,
            reason=ROUNDING)  # fmt: skip


def three(a: float, b: float, c: float, k: float, h: float) -> list[float]:
    """Give both frequencies, rad/s, of three rotors in a row from the quadratic in w^2."""
    middle = k * (a + b) / (a * b) + h * (b + c) / (b * c)
    last = k * h * (a + b + c) / (a * b * c)
    return [math.sqrt((middle + way * math.sqrt(middle**2 - 4 * last)) / 2) for way in (-1, 1)]


def test_three_rotors(outside: Outside) -> None:
    discs = (Disc("a", 1.9), Disc("b", 0.35), Disc("c", 4.1))
    found = modes(Line(discs, (Link("ab", "a", "b", 700.0), Link("bc", "b", "c", 2600.0))))
    outside("three rotors in a row: both roots of the quadratic in w^2, rad/s", source=FORMULA, seen="memory",
            expected=[0.0, *three(1.9, 0.35, 4.1, 700.0, 2600.0)], got=found.frequencies, relative=1e-12,
            reason=ROUNDING)  # fmt: skip


def test_three_rotors_of_an_exercise(outside: Outside) -> None:
    """A shaft of 70 mm, 84 GPa, .15, .3 and .09 kg m2 at 0, 1.5 and 2.5 m."""
    shaft = [shaft_stiffness(0.07, length, 84e9) for length in (1.5, 1.0)]
    discs = (Disc("a", 0.15), Disc("b", 0.3), Disc("c", 0.09))
    found = modes(Line(discs, (Link("ab", "a", "b", shaft[0]), Link("bc", "b", "c", shaft[1]))))
    outside("three rotors on a shaft of 70 mm, one node and two, Hz",
            source="exercise on torsional vibrations, public collection of questions", seen="read",
            expected=[171, 277], got=found.elastic / (2 * math.pi), absolute=0.5, reason=HALF)  # fmt: skip


def test_geared_shafts(outside: Outside) -> None:
    """Two shafts and a pair of gears, n turns of the first for one of the second: all referred to the first."""
    first, second, gears, n = 1.4, 3.9, (0.02, 0.11), 3.25
    line = Line(
        (Disc("rotor 1", first), Disc("gear 1", gears[0]), Disc("gear 2", gears[1]), Disc("rotor 2", second)),
        (Link("shaft 1", "rotor 1", "gear 1", 900.0), Link("shaft 2", "gear 2", "rotor 2", 21000.0)),
        (Fixed("gear 1", "gear 2", n),),
    )
    expected = three(first, gears[0] + gears[1] / n**2, second / n**2, 900.0, 21000.0 / n**2)
    found = modes(line)
    outside("two geared shafts, inertia and stiffness over the ratio squared, rad/s", source=FORMULA,
            seen="memory", expected=[0.0, *expected], got=found.frequencies, relative=1e-11,
            reason=ROUNDING)  # fmt: skip
    outside("two geared shafts: turns of gear 1 for one of gear 2 in every mode", source=FORMULA, seen="memory",
            expected=[n] * 3, got=found.shapes[:, 1] / found.shapes[:, 2], relative=1e-9,
            reason="rounding of small angles")  # fmt: skip


# Sideways

STEEL = 206.84e9  # 30 Mpsi
DENSITY = 7850.0


def bar(length: float, diameter: float, start: float = 0.0) -> Section:
    return Section(start, start + length, diameter, STEEL, DENSITY)


def reference(
    lengths: list[float], diameters: list[float], discs: list[tuple[int, Lump]], bearings: list[int],
    stiffness: float, pieces: int = 6,
) -> np.ndarray:  # fmt: skip
    """Give the first three lateral frequencies, rad/s, by the reference library, standing still.

    Discs and bearings are at the ends of the lengths, counted from 0.
    """
    stock = ross.Material(name="steel", rho=DENSITY, E=STEEL, Poisson=0.3)
    elements = [
        ross.ShaftElement(length / pieces, 0.0, diameter, material=stock)
        for length, diameter in zip(lengths, diameters, strict=True)
        for _ in range(pieces)
    ]
    held = [ross.BearingElement(pieces * n, kxx=stiffness, cxx=0.0, kzz=1e9) for n in bearings]
    on = [ross.DiskElement(pieces * n, d.mass, d.inertia, 2 * d.inertia) for n, d in discs]
    found = np.sort(ross.Rotor(elements, on, held).run_modal(speed=0.0, num_modes=24).wn)
    # Each bends in two planes alike; what stands still or slides lengthwise has no twin.
    twins = [a for a, b in pairwise(found) if a > 1 and b - a < 1e-5 * b]
    return np.array(twins[:3])


def test_uniform_pinned_shaft(outside: Outside) -> None:
    """25.4 mm x 1 m at E = 30 Mpsi: 321.7 rad/s without shear; .08 % less with it."""
    ends = [Support(0.0), Support(1.0)]
    found = lateral_modes([bar(1.0, 0.0254)], [], ends).frequencies
    outside("uniform steel shaft of 25.4 mm x 1 m on pins, first critical speed by beam elements, rad/s",
            source="closed form (pi / L)^2 (d / 4) sqrt(E / rho)", seen="computed", expected=321.7,
            got=found[0], absolute=0.35,
            reason="shear and rotary inertia, left out there, lower it by 1.2 (d / L)^2, .25 rad/s")  # fmt: skip
    near = reference([1.0], [0.0254], [], [0, 1], 1e12, pieces=24)
    outside("the same, first three against a reference library, rad/s", source=ROSS, seen="computed",
            expected=near, got=found, relative=2e-4,
            reason="24 elements on either side; the third's are 1e-4 off")  # fmt: skip


def test_slender_pinned_bar_is_euler_bernoulli(outside: Outside) -> None:
    slender = lateral_modes([bar(1.0, 0.002)], [], [Support(0.0), Support(1.0)]).frequencies
    closed = [(n * math.pi) ** 2 * 0.002 / 4 * math.sqrt(STEEL / DENSITY) for n in (1, 2, 3)]
    outside("slender bar on pins, first three, (n pi / L)^2 (d / 4) sqrt(E / rho), rad/s", source=FORMULA,
            seen="memory", expected=closed, got=slender, relative=2e-4,
            reason="24 elements; shear of a bar 500 diameters long is 5e-6")  # fmt: skip


def test_stepped_shaft_from_its_equation(outside: Outside) -> None:
    """Two slender steps on pins: y = A sin bx + B sinh bx from either end, four conditions where they meet."""
    lengths, diameters = (0.7, 1.1), (0.004, 0.006)
    stiff = [STEEL * round_second_moment(d) for d in diameters]
    weight = [DENSITY * math.pi / 4 * d**2 for d in diameters]

    def determinant(w: float) -> float:
        b, c = ((m * w**2 / ei) ** 0.25 for m, ei in zip(weight, stiff, strict=True))
        x, z = b * lengths[0], c * lengths[1]
        near = np.array([[math.sin(x), math.sinh(x)], [b * math.cos(x), b * math.cosh(x)],
                         [-stiff[0] * b**2 * math.sin(x), stiff[0] * b**2 * math.sinh(x)],
                         [-stiff[0] * b**3 * math.cos(x), stiff[0] * b**3 * math.cosh(x)]])  # fmt: skip
        # Seen from the other end, slope and shear change sign.
        far = np.array([[math.sin(z), math.sinh(z)], [-c * math.cos(z), -c * math.cosh(z)],
                        [-stiff[1] * c**2 * math.sin(z), stiff[1] * c**2 * math.sinh(z)],
                        [stiff[1] * c**3 * math.cos(z), -stiff[1] * c**3 * math.cosh(z)]])  # fmt: skip
        rows = np.hstack([near, -far]) / np.array([[1.0], [b], [stiff[0] * b**2], [stiff[0] * b**3]])
        return float(np.linalg.det(rows))

    sections = [bar(lengths[0], diameters[0]), bar(lengths[1], diameters[1], lengths[0])]
    found = lateral_modes(sections, [], [Support(0.0), Support(1.8)]).frequencies
    grid = np.linspace(1.0, 1.1 * found[-1], 4000)
    values = [determinant(float(w)) for w in grid]
    crossed = [k for k in range(len(grid) - 1) if values[k] * values[k + 1] < 0]
    roots = [float(brentq(determinant, float(grid[k]), float(grid[k + 1]), xtol=1e-12)) for k in crossed]
    outside("slender bar of 4 and 6 mm steps on pins, first three from its frequency equation, rad/s",
            source="closed form, Euler-Bernoulli beams joined at the step", seen="computed",
            expected=roots[:3], got=found, relative=2e-4, reason="25 elements")  # fmt: skip


def test_stepped_shaft(outside: Outside) -> None:
    lengths, diameters = [0.25, 0.4, 0.3], [0.02, 0.035, 0.025]
    starts = np.cumsum([0.0, *lengths])
    sections = [bar(x, d, float(s)) for x, d, s in zip(lengths, diameters, starts[:-1], strict=True)]
    disc = Lump(0.65, 4.2, 0.011)
    supports = [Support(0.0, 2e7), Support(0.95, 2e7)]
    found = lateral_modes(sections, [disc], supports).frequencies
    near = reference(lengths, diameters, [(2, disc)], [0, 3], 2e7)
    outside("stepped shaft of 20, 35 and 25 mm with a disc, on supports of 20 kN/mm, first three, rad/s",
            source=ROSS, seen="computed", expected=near, got=found, relative=3e-4,
            reason="like elements of unlike length on either side")  # fmt: skip


def test_overhung_disc(outside: Outside) -> None:
    """A wheel beyond its bearings, its tilting counted, standing still: no gyroscopic moments on either side."""
    lengths, wheel = [0.3, 0.12], Lump(0.42, 45.0, 1.6)
    found = lateral_modes([bar(0.42, 0.0254)], [wheel], [Support(0.0, 5e8), Support(0.3, 5e8)]).frequencies
    near = reference(lengths, [0.0254, 0.0254], [(2, wheel)], [0, 1], 5e8, pieces=12)
    outside("wheel of 45 kg and 1.6 kg m2 overhung by 120 mm on a shaft of 25.4 mm, first three, rad/s",
            source=ROSS, seen="computed", expected=near, got=found, relative=1e-4,
            reason="the third, by elements of unlike length; the first two agree to 1e-8")  # fmt: skip


@pytest.mark.parametrize("ratio", [0.0, 0.5, 4.0])
def test_cantilever_with_a_mass_at_its_tip(outside: Outside, ratio: float) -> None:
    """1 + cos b cosh b + (M / m) b (cos b sinh b - sin b cosh b) = 0."""
    length, diameter = 2.0, 0.004
    area = math.pi / 4 * diameter**2
    own = DENSITY * area * length
    rigidity = STEEL * round_second_moment(diameter)

    def equation(b: float) -> float:
        turned = math.cos(b) * math.sinh(b) - math.sin(b) * math.cosh(b)
        return 1 + math.cos(b) * math.cosh(b) + ratio * b * turned

    root = float(brentq(equation, 0.1, 2.5, xtol=1e-14))
    exact = root**2 / length**2 * math.sqrt(rigidity / (DENSITY * area))
    tip = [Lump(length, ratio * own)] if ratio else []
    found = lateral_modes([bar(length, diameter)], tip, [Support(0.0, clamped=True)], 1).frequencies[0]
    outside(f"cantilever with {ratio} of its own mass at its tip, first frequency from its equation, rad/s",
            source=FORMULA, seen="memory", expected=exact, got=found, relative=2e-5,
            reason="12 elements; shear of a bar 500 diameters long")  # fmt: skip
    if ratio:
        short = math.sqrt(3 * rigidity / (length**3 * (ratio * own + 33 / 140 * own)))
        outside(f"cantilever with {ratio} of its mass at its tip, sqrt(3 E I / L^3 (M + 33 m / 140)), rad/s",
                source="Blevins, Formulas for Natural Frequency and Mode Shape", seen="memory", expected=short,
                got=found, relative=0.01, reason="the formula guesses the shape")  # fmt: skip


def test_shigley_7_5(outside: Outside) -> None:
    """1 in steel shaft of 31 in, 35 lbf at 7 in and 55 lbf at 20 in, without the shaft's own mass."""
    inch, weight, gravity = 0.0254, np.array([35.0, 55.0]), 386.1
    mass = weight / gravity * 0.45359237 * 32.174 * 12  # lbf s2/in to kg
    places = np.array([7.0, 20.0])
    light = Section(0.0, 31 * inch, inch, 30e6 * 6894.757, 0.0)
    lumps = [Lump(float(x) * inch, float(m)) for x, m in zip(places, mass, strict=True)]
    found = lateral_modes([light], lumps, [Support(0.0), Support(31 * inch)], 2).frequencies
    outside("first critical speed of Shigley's shaft with two loads by beam elements, rad/s; Rayleigh's is above",
            source="Shigley, Mechanical Engineering Design, example 7-5, Rayleigh", seen="computed",
            expected=124.8, got=found[0], absolute=0.5,
            reason="shear, left out there, takes .14 rad/s; Rayleigh's guess is .1 high")  # fmt: skip
    outside("the same above Dunkerley's lower bound of 120.4 rad/s",
            source="Shigley, Mechanical Engineering Design, example 7-5, Dunkerley", seen="computed",
            expected=True, got=bool(120.4 < found[0] < 124.8), reason="a bound")  # fmt: skip
    long, at = 31 * inch, places * inch
    bending = influence(at, at, (0.0, long), light.modulus * light.second_moment)
    # A unit load at b moves the bar at a < b in shear as a string, by a (L - b) / L over kappa G A.
    shear = 6 * 1.3 / (7 + 6 * 0.3) * light.modulus / 2.6 * light.area
    near, far = np.minimum.outer(at, at), np.maximum.outer(at, at)
    both = bending + near * (long - far) / (long * shear)
    exact = 1 / np.sqrt(np.sort(np.linalg.eigvals(both * mass).real)[::-1])
    outside("both frequencies of Shigley's shaft from its influence coefficients in bending and shear, rad/s",
            source="influence coefficients, eigenvalues", seen="computed", expected=exact, got=found,
            relative=1e-9, reason="elements without mass are exact")  # fmt: skip


# Strands


def test_string(outside: Outside) -> None:
    """Beads on a string without mass (Lagrange): worked out as a matrix, apart from the program."""
    length, tension, weight, count = 1.7, 64.0, 0.62, 800
    apart = length / count
    stiff = tension / apart * (2 * np.eye(count - 1) - np.eye(count - 1, k=1) - np.eye(count - 1, k=-1))
    exact = np.sqrt(np.linalg.eigvalsh(stiff)[:3] / (weight * apart))
    outside("string of 1.7 m at 64 N with .62 kg/m, first three from 799 beads, rad/s",
            source="beads on a string, eigenvalues", seen="computed", expected=exact,
            got=[string_frequency(length, tension, weight, n) for n in (1, 2, 3)], relative=1e-5,
            reason="(n pi / 800)^2 / 24 of each for so many beads")  # fmt: skip


def test_hung_chain_is_slower_than_a_string_of_its_mean_tension(outside: Outside) -> None:
    """What the module says of a slack strand: 1.2 sqrt(g / L) against 2.2."""
    length, weight, g = 2.45, 0.62, 9.81
    mean = string_frequency(length, weight * g * length / 2, weight)
    outside("hanging chain, first frequency over sqrt(g / L): a string of its mean tension",
            source="pi / sqrt(2), from the string's formula", seen="computed", expected=2.2,
            got=mean / math.sqrt(g / length), absolute=0.05, reason=HALF)  # fmt: skip
    outside("hanging chain, first frequency over sqrt(g / L): half the first zero of J0",
            source="Bernoulli's hanging chain, any book on Bessel functions", seen="memory", expected=1.2,
            got=float(jn_zeros(0, 1)[0]) / 2, absolute=0.05, reason=HALF)  # fmt: skip
