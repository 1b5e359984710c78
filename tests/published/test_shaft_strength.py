"""Strength of shafts against textbook examples, standards and closed forms.

Shigley, Mechanical Engineering Design: the 9th edition's pages and the solutions of its problems (numbered as in the
8th), read as stored pages of a public library and of students' notes.
"""

import math

import numpy as np
import pytest
from evidence import Outside

from analysis.strength.endurance import (
    endurance,
    reliability_factor,
    size_factor,
    surface_factor,
    temperature_factor,
)
from analysis.strength.goodman import CRITERIA, Limits, Name, diameter, fatigue
from analysis.strength.notches import FITTED, KEYSEATS, Notch, concentration, sensitivity
from analysis.strength.rainflow import rainflow
from analysis.strength.section import Round, Surface, Web
from analysis.strength.weld_curves import curves
from models.bearing_kinds import bearing_kinds
from models.strengths import Strength, strengths
from models.units import size_of
from models.weld_classes import WeldClass

SHIGLEY = "Shigley, Mechanical Engineering Design"
HALF = "half the last printed digit"
INCH, KPSI = float(size_of("in", "length")), float(size_of("ksi", "stress"))
POUND_INCH = float(size_of("in lbf", "torque"))
FOUR: tuple[Name, ...] = ("Goodman", "Gerber", "ASME elliptic", "Soderberg")


def steel(ultimate: float) -> Strength:
    """Give a steel of an ultimate strength, Pa, with the textbook's fatigue limit."""
    return Strength("steel", "steel", ultimate, 0.5 * ultimate, math.inf, "", "")


def notch(bending: float, torsion: float) -> Notch:
    """Give a notch of these factors."""
    seat = KEYSEATS["end-milled"]
    kf, kfs = (type(f)(f.name, k, "") for f, k in ((seat.bending, bending), (seat.torsion, torsion)))
    return Notch("", kf, kfs)


def at_one_point(bending: tuple[float, float], shear: tuple[float, float]) -> Surface:
    """Give a surface of one point that goes between two states, stresses in MPa."""
    return Surface(np.zeros(1), np.array(bending)[:, None] * 1e6, np.zeros(2), np.array(shear)[:, None] * 1e6)


def test_problem_7_1(outside: Outside) -> None:
    limits = Limits(30 * KPSI, 100 * KPSI, 80 * KPSI)
    bending, torque = (600 * POUND_INCH, 500 * POUND_INCH), (400 * POUND_INCH, 300 * POUND_INCH)
    outside(
        "shaft bent by 600 and 500, twisted by 400 and 300 lbf in (amplitude, mean), Kf 2.2, Kfs 1.8, n 2: diameter "
        "by Goodman, Gerber, ASME elliptic, Soderberg, in",
        source=f"{SHIGLEY}, problem 7-1", seen="read", expected=(1.073, 1.016, 1.012, 1.090),
        got=[diameter(c, bending, torque, limits, 2.0, notch(2.2, 1.8)) / INCH for c in FOUR],
        absolute=5e-4, reason=HALF,
    )  # fmt: skip


def test_example_7_1(outside: Outside) -> None:
    """A turning shaft under a load that stays where it is: bending fully reversed, torque steady."""
    turn = np.linspace(0, 2 * math.pi, 720, endpoint=False)
    moment = np.stack(
        [1260 * np.cos(turn), np.full(720, 1100.0), 1260 * np.sin(turn)], 1
    ) * POUND_INCH  # fmt: skip
    limits = Limits(29.3 * KPSI, 105 * KPSI, 82 * KPSI)
    surface = Round(1.1 * INCH).surface(moment, np.zeros(720))
    q = (concentration(1.68, 0.85), concentration(1.42, 0.88))
    outside("shoulder, Kt 1.68 and q .85, Kts 1.42 and q .88: Kf and Kfs", source=f"{SHIGLEY}, example 7-1",
            seen="read", expected=(1.58, 1.37), got=q, absolute=5e-3, reason=HALF)  # fmt: skip
    outside("machined steel of 105 kpsi, 1.1 in: ka and kb", source=f"{SHIGLEY}, example 7-1", seen="read",
            expected=(0.787, 0.870),
            got=(surface_factor("machined", 105 * KPSI).value, size_factor(1.1 * INCH).value),
            absolute=8e-4, reason="three digits in the unit that the other constants were fitted in")  # fmt: skip
    found = [fatigue(surface, limits, notch(1.58, 1.37), c) for c in FOUR]
    outside(
        "shaft of 1.1 in at a shoulder, 1260 lbf in turning against it, 1100 lbf in steady: n by Goodman, Gerber, "
        "ASME elliptic, Soderberg",
        source=f"{SHIGLEY}, example 7-1", seen="memory", expected=(1.62, 1.87, 1.88, 1.56),
        got=[f.factor for f in found], absolute=0.01,
        reason="printed to two digits after steps rounded to three",
    )  # fmt: skip
    outside(
        "the same: n against yielding, and the quick one", source=f"{SHIGLEY}, example 7-1", seen="memory",
        expected=(4.50, 3.25), got=(found[0].yielding, found[0].yielding_sum), absolute=0.01,
        reason="printed to two digits after steps rounded to three",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("number", "bending", "shear", "factors", "yielding"),
    [
        ("6-12", (172, -172), (103, 103), (1.06, 1.31, 1.32), 1.67),
        ("6-13", (69, -69), (138, 138), (1.46, 1.73, 1.59), 1.66),
        ("6-14", (83, -83), (172, 34), (1.18, 1.47, 1.47), 1.34),
    ],
)
def test_bending_and_torsion_together(
    outside: Outside,
    number: str,
    bending: tuple[float, float],
    shear: tuple[float, float],
    factors: tuple[float, ...],
    yielding: float,
) -> None:
    limits, surface = Limits(276e6, 551e6, 413e6), at_one_point(bending, shear)
    found = [fatigue(surface, limits, criterion=c) for c in FOUR[:3]]
    outside(f"normal stress {bending}, shear {shear} MPa: n by Goodman, Gerber, ASME elliptic",
            source=f"{SHIGLEY}, problem {number}", seen="read", expected=factors,
            got=[f.factor for f in found], absolute=0.006,
            reason="half the last printed digit, from stresses rounded to .1 MPa")  # fmt: skip
    outside(f"normal stress {bending}, shear {shear} MPa: n against yielding",
            source=f"{SHIGLEY}, problem {number}", seen="read", expected=yielding, got=found[0].yielding,
            absolute=0.005, reason=HALF)  # fmt: skip


def test_marin_factors(outside: Outside) -> None:
    table = f"{SHIGLEY}, 9th ed., p. 345"
    outside("reliability 50, 90, 95, 99, 99.9 %", source=f"{table}, table 6-5", seen="read",
            expected=(1.0, 0.897, 0.868, 0.814, 0.753),
            got=[reliability_factor(r).value for r in (0.5, 0.9, 0.95, 0.99, 0.999)],
            absolute=0.0, reason="the table itself")  # fmt: skip
    outside("ground steel of 690 MPa at 300 C: ka, kd", source=f"{SHIGLEY}, example 6-6 as a worksheet",
            seen="read", expected=(0.906473, 0.977),
            got=(surface_factor("ground", 690e6).value, temperature_factor(300).value),
            absolute=5e-4, reason="the last is printed to three digits")  # fmt: skip


def test_fatigue_limits_of_shafts(outside: Outside) -> None:
    for number, material, d, expected in (
        ("7-2", steel(1226e6), 0.022, (0.685, 0.893, 375e6)),
        ("7-4", steel(68 * KPSI), 2 * INCH, (0.883, 0.816, 24.5 * KPSI)),
    ):
        found = endurance(material, d, "machined", 0.5)
        values = {f.name: f.value for f in found.factors}
        outside(f"machined steel of {material.ultimate / 1e6:.0f} MPa, {d * 1e3:.1f} mm: ka, kb",
                source=f"{SHIGLEY}, problem {number}", seen="read", expected=expected[:2],
                got=(values["surface, machined"], values["size"]), absolute=1e-3,
                reason="three digits; the second was worked out with the inch's constants")  # fmt: skip
        outside(f"machined steel of {material.ultimate / 1e6:.0f} MPa, {d * 1e3:.1f} mm: Se, Pa",
                source=f"{SHIGLEY}, problem {number}", seen="read", expected=expected[2], got=found.limit,
                relative=2e-3, reason="three digits, from factors of three digits")  # fmt: skip


def test_notch_sensitivity(outside: Outside) -> None:
    q, qs = (sensitivity(steel(100.1451 * KPSI), 0.003, load).value for load in ("bending", "torsion"))
    where = f"{SHIGLEY}, example 6-6 as a worksheet"
    outside("steel of 100.1451 kpsi, radius 3 mm: q in bending and in torsion", source=where, seen="read",
            expected=(0.8468, 0.8792), got=(q, qs), absolute=5e-5, reason=HALF)  # fmt: skip
    outside("steel of 100.1451 kpsi, radius 3 mm: sqrt(a) in bending and in torsion, sqrt(mm)", source=where,
            seen="read", expected=(0.313353, 0.237938), got=[(1 / x - 1) * math.sqrt(3) for x in (q, qs)],
            absolute=2e-6, reason="six digits")  # fmt: skip
    outside("steel of 100.1451 kpsi, radius 3 mm, Kt 1.65: Kf", source=where, seen="read", expected=1.55,
            got=concentration(1.65, q), absolute=5e-3, reason=HALF)  # fmt: skip
    outside("strengths between which Neuber's constant is fitted, kpsi", source="notes on notch sensitivity",
            seen="read", expected=(50.0, 250.0), got=[x / KPSI for x in FITTED], absolute=1e-9,
            reason="the range itself")  # fmt: skip


def test_keyseats(outside: Outside) -> None:
    seat = KEYSEATS["end-milled"]
    outside("end-milled keyseat, r/d .02: Kt, Kts", source=f"{SHIGLEY}, 9th ed., p. 373", seen="read",
            expected=(2.14, 3.0), got=(seat.bending.value, seat.torsion.value), absolute=0.0,
            reason="the values themselves")  # fmt: skip
    outside("end-milled keyseat, Kt 2.2 and q .75, Kts 3 and q .9: Kf, Kfs", source=f"{SHIGLEY}, problem 7-4",
            seen="read", expected=(1.9, 2.8), got=(concentration(2.2, 0.75), concentration(3.0, 0.9)),
            absolute=0.05, reason=HALF)  # fmt: skip


def test_torsion_of_flat_bars(outside: Outside) -> None:
    ratios = (1.0, 1.5, 2.0, 3.0, 4.0, 10.0)
    outside("rectangles, b/c 1, 1.5, 2, 3, 4, 10: largest shear by T / (alpha b c^2), alpha",
            source="Saint-Venant's theory as tabulated in Timoshenko and in Shigley, p. 102", seen="memory",
            expected=(0.208, 0.231, 0.246, 0.267, 0.282, 0.312),
            got=[Web(r, 1.0).torsion_modulus / r for r in ratios], relative=0.025,
            reason="the closed form is an approximation")  # fmt: skip


def test_curves_of_welds(outside: Outside) -> None:
    made = {
        code: curves(WeldClass("", "", code, "toe", "steel", 71e6, 80e6, ""))
        for code in ("EN 1993-1-9", "IIW")
    }
    normal, shear = made["EN 1993-1-9"]
    outside("EN 1993-1-9, normal stress: limit and cut-off over the class",
            source="EN 1993-1-9:2005, 7.1, in a public guide to it", seen="read", expected=(0.737, 0.404),
            got=(normal.limit / 71e6, normal.cut_off / 71e6), absolute=8e-4,
            reason="the second is printed cut off after three digits (.549 times .737 is .4047)")  # fmt: skip
    outside("EN 1993-1-9, shear: cut-off over the class", source="EN 1993-1-9:2005, 7.1", seen="memory",
            expected=0.457, got=shear.cut_off / 80e6, absolute=5e-4, reason=HALF)  # fmt: skip
    outside("EN 1993-1-9, class 71: ranges at 5 and 100 million cycles, MPa", source="EN 1993-1-9:2005, fig. 7.1",
            seen="memory", expected=(52.0, 29.0), got=(normal.limit / 1e6, normal.cut_off / 1e6), absolute=0.5,
            reason="printed to whole MPa")  # fmt: skip
    outside("EN 1993-1-9, class 71: cycles at 71 and 142 MPa, millions", source="EN 1993-1-9:2005, 7.1, slope 3",
            seen="read", expected=(2.0, 0.25), got=normal.lives([71e6, 142e6]) / 1e6, relative=1e-12,
            reason="rounding of a short closed form")  # fmt: skip
    outside("IIW: cycles at the knee for normal stress", source="Hobbacher, IIW-1823-07, 3.2", seen="read",
            expected=1e7, got=made["IIW"][0].lives(made["IIW"][0].limit), relative=1e-12,
            reason="rounding of a short closed form")  # fmt: skip


def test_rainflow_of_the_standard(outside: Outside) -> None:
    history = np.array([-2.0, 1, -3, 5, -1, 3, -4, 4, -2])
    ranges, counts = rainflow(history, repeating=False)
    outside("history -2 1 -3 5 -1 3 -4 4 -2: cycles of ranges 3, 4, 6, 8, 9",
            source="ASTM E1049-85, 5.4.4, as a test of a public library", seen="read",
            expected=(0.5, 1.5, 0.5, 1.0, 0.5),
            got=[float(counts[ranges == r].sum()) for r in (3, 4, 6, 8, 9)], absolute=0.0,
            reason="whole and half cycles")  # fmt: skip
    ranges, counts = rainflow(history)
    outside("the same again and again: cycles of ranges 3, 4, 7, 9", source="ASTM E1049-85, 5.4.5", seen="memory",
            expected=(1.0, 1.0, 1.0, 1.0), got=[float(counts[ranges == r].sum()) for r in (3, 4, 7, 9)],
            absolute=0.0, reason="whole cycles")  # fmt: skip
    assert len(ranges) == 4


def test_materials_and_bearings(outside: Outside) -> None:
    aluminium = strengths()["6061-T6 aluminium"]
    outside("6061-T6, fully reversed: stress at 5e8 cycles, Pa",
            source="14 479 / sqrt(N) + 96.5 MPa, fit to published tests on a public page", seen="read",
            expected=14479e6 / math.sqrt(5e8) + 96.5e6, got=aluminium.fatigue, relative=0.01,
            reason="the strength kept is the fit's far end, .7 % below")  # fmt: skip
    outside("1045 hot rolled: ultimate strength, Pa", source=f"{SHIGLEY}, table A-20", seen="read", expected=570e6,
            got=strengths()["1045 steel"].ultimate, absolute=0.0, reason="the table itself")  # fmt: skip
    kinds = bearing_kinds()
    for name, expected in (
        ("ball", (0.001, 0.003)),
        ("cylindrical roller", (0.0008, 0.0012)),
        ("tapered roller", (0.0005, 0.0012)),
        ("self-aligning ball", (0.026, 0.052)),
    ):
        outside(f"slope in a {kinds[name].label}, rad", source=f"{SHIGLEY}, table 7-2", seen="read",
                expected=expected, got=(kinds[name].allowed or 0.0, kinds[name].at_most or 0.0), absolute=0.0,
                reason="the table itself")  # fmt: skip


def test_all_criteria_are_checked() -> None:
    assert set(FOUR) == set(CRITERIA)
