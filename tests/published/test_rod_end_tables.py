"""Rod ends, threads and struts against published numbers."""

import math

from evidence import Outside

from analysis.parts.ball_joints import worn
from analysis.strength.columns import Strut
from models.parts.catalogue import catalogue
from models.parts.rod_ends import ROD_ENDS, RodEnd
from models.parts.threads import Thread
from models.rod_making import RodMaking

INCH, KSI, KIP = 0.0254, 6.894757293168361e6, 4448.2216152605
COPY = "DIN ISO 12240-4, series K, threaded shank, as a public parametric library tabulates a dealer's sheet"
SERIES_K = {
    # bore: ball's width, eye's width, ball's face, head, to the shank's end, thread's length; mm
    5: (8, 6, 7.7, 18, 33, 19), 6: (9, 6.8, 8.9, 20, 36, 21), 8: (12, 9, 10.4, 24, 42, 25),
    10: (14, 10.5, 12.9, 28, 48, 28), 12: (16, 12, 15.4, 32, 54, 32), 14: (19, 13.5, 16.8, 36, 60, 36),
    16: (21, 15, 19.3, 42, 66, 37), 18: (23, 16.5, 21.8, 46, 72, 41), 20: (25, 18, 24.3, 50, 78, 45),
    22: (28, 20, 25.8, 54, 84, 48), 25: (31, 22, 29.5, 60, 94, 58), 30: (37, 25, 34.8, 70, 110, 71),
}  # fmt: skip
SWIVELS = {5: 13, 6: 13, 8: 14, 10: 13, 12: 13, 14: 15, 16: 15, 18: 15, 20: 14, 22: 15, 25: 15, 30: 15}
TAPPED = {5: (27, 10), 6: (30, 12), 8: (36, 16), 10: (43, 20), 12: (50, 22), 14: (57, 25), 16: (64, 28),
          18: (71, 32), 20: (77, 33), 22: (84, 37), 25: (94, 42), 30: (110, 51)}  # fmt: skip
RATINGS = {5: 2.2, 6: 3.0, 8: 5.0, 10: 8.0, 12: 12.0, 16: 21.0, 20: 33.0, 25: 52.0}
"""kN."""


def size(bore: int) -> RodEnd:
    return next(r for r in catalogue(ROD_ENDS) if r.size == f"{bore} mm" and r.series == "standard")


def test_metric_rod_ends_are_of_series_k(outside: Outside) -> None:
    for k, (what, name) in enumerate((("ball's width", "width"), ("eye's width", "housing"), ("", ""),
                                      ("head", "head"), ("eye to shank's end", "length"),
                                      ("thread", "thread_length"))):  # fmt: skip
        if name:
            outside(f"{what} of rod ends with bores of {', '.join(map(str, SERIES_K))} mm, mm", source=COPY,
                    seen="read", expected=[row[k] for row in SERIES_K.values()],
                    got=[1e3 * getattr(size(b), name) for b in SERIES_K], absolute=1e-9,
                    reason="a table")  # fmt: skip
    for k, (what, name) in enumerate((("eye to face", "female_length"), ("depth", "female_depth"))):
        outside(f"{what} of tapped rod ends, mm", source=COPY.replace("threaded", "tapped"), seen="read",
                expected=[row[k] for row in TAPPED.values()],
                got=[1e3 * getattr(size(b), name) for b in TAPPED], absolute=1e-9, reason="a table")  # fmt: skip
    outside("swivel of rod ends of the same bores, deg", source=COPY, seen="read", expected=list(SWIVELS.values()),
            got=[math.degrees(size(b).swivel) for b in SWIVELS], absolute=1e-9, reason="a table")  # fmt: skip


def test_balls_close_on_their_width_and_faces(outside: Outside) -> None:
    """A ball cut to its width has the faces that the sheet prints: the recalled diameters agree with it."""
    expected = [math.hypot(row[0], row[2]) for row in SERIES_K.values()]
    outside("balls' diameters of the same rod ends, mm: sqrt(B^2 + d3^2)", source=COPY, seen="read",
            expected=expected, got=[1e3 * size(b).ball for b in SERIES_K], absolute=0.1,
            reason="faces are printed to .1 mm")  # fmt: skip


def test_the_ball_says_how_far_the_eye_swivels(outside: Outside) -> None:
    """By which the swivel of inch sizes was found; the sheet gives less, and it is rounded down."""
    bores = [b for b in SWIVELS if b != 30]
    rule = [
        math.degrees(math.asin(r.width / r.ball) - math.asin(r.housing / r.ball)) for r in map(size, bores)
    ]
    outside("swivel by asin(B / d) - asin(C / d) for the same bores up to 25 mm, deg", source=COPY, seen="read",
            expected=[SWIVELS[b] for b in bores], got=rule, absolute=1.4,
            reason="printed in whole degrees, chamfers left out")  # fmt: skip


def test_static_ratings(outside: Outside) -> None:
    outside(f"static ratings of bores {', '.join(map(str, RATINGS))} mm, kN",
            source="a table of series K on a web page of low authority", seen="read", expected=list(RATINGS.values()),
            got=[size(b).static / 1e3 for b in RATINGS], absolute=1e-9, reason="a table")  # fmt: skip
    stresses = [size(b).static / size(b).screw.stress_area / 1e6 for b in RATINGS]
    others = [r.static / r.screw.stress_area / 1e6 for r in catalogue(ROD_ENDS)
              if r.series == "standard" and round(r.bore * 1e3, 3) not in RATINGS]  # fmt: skip
    outside("whether every rating that is not of that table loads its thread no more than the table's mildest does",
            source="the same table over thread areas of ISO 898-1", seen="computed", expected=1,
            got=int(max(others) <= min(stresses) + 0.5), reason="yes or no")  # fmt: skip


ISO_898 = {
    ("M5", 5, 0.8): 14.2, ("M6", 6, 1.0): 20.1, ("M8", 8, 1.25): 36.6, ("M10", 10, 1.5): 58.0,
    ("M12", 12, 1.75): 84.3, ("M14", 14, 2.0): 115, ("M16", 16, 2.0): 157, ("M18x1.5", 18, 1.5): 216,
    ("M20x1.5", 20, 1.5): 272, ("M22x1.5", 22, 1.5): 333, ("M24x2", 24, 2.0): 384, ("M30x2", 30, 2.0): 621,
}  # fmt: skip
B1_1 = {
    ("10-32", 0.190, 32): 0.0200, ("1/4-28", 0.25, 28): 0.0364, ("5/16-24", 0.3125, 24): 0.0580,
    ("3/8-24", 0.375, 24): 0.0878, ("7/16-20", 0.4375, 20): 0.1187, ("1/2-20", 0.5, 20): 0.1599,
    ("5/8-18", 0.625, 18): 0.256, ("3/4-16", 0.75, 16): 0.373, ("7/8-14", 0.875, 14): 0.509,
    ("1 1/4-12", 1.25, 12): 1.073,
}  # fmt: skip


def test_stress_areas(outside: Outside) -> None:
    metric = [Thread(n, d / 1e3, p / 1e3).stress_area * 1e6 for n, d, p in ISO_898]
    outside("stress areas of M5 to M16, M18x1.5 to M22x1.5, M24x2 and M30x2, mm2", source="ISO 898-1, tables 4 and 6",
            seen="memory", expected=list(ISO_898.values()), got=metric, absolute=0.5,
            reason="half of the last digit of the larger ones")  # fmt: skip
    small = [a for a, (_, d, _) in zip(metric, ISO_898, strict=True) if d <= 12]
    outside("stress areas of M5 to M12, mm2", source="ISO 898-1, table 4", seen="memory",
            expected=list(ISO_898.values())[:5], got=small, absolute=0.05, reason="half of the last digit")  # fmt: skip
    inch = [Thread(n, d * INCH, INCH / t, "inch").stress_area / INCH**2 for n, d, t in B1_1]
    outside("stress areas of 10-32 to 7/8-14 UNF and 1 1/4-12 UNF, in2", source="ASME B1.1", seen="memory",
            expected=list(B1_1.values()), got=inch, absolute=5e-4, reason="half of the last digit")  # fmt: skip


def test_root_of_a_thread(outside: Outside) -> None:
    outside("diameter d3 at the root of M12, mm", source="DIN 13-1, M12: 9.853", seen="memory", expected=9.853,
            got=1e3 * Thread("M12", 0.012, 0.00175).root, absolute=5e-4, reason="half of the last digit")  # fmt: skip


def test_secant_formula(outside: Outside) -> None:
    """A tube of 3 in and 2.75 in radius, fixed below and free above, 30 ft high, 5 kip 3 in off its middle."""
    area, inertia = math.pi * (3**2 - 2.75**2), math.pi / 4 * (3**4 - 2.75**4)
    tube = Strut(720 * INCH, area * INCH**2, inertia * INCH**4, 3 * INCH, 29e3 * KSI)
    got = tube.stress(5 * KIP, 3 * INCH) / KSI
    outside("largest stress of a tall tube under a push off its middle, ksi",
            source="ecoursesbook.com, mechanics, section 9.3: 1.107 (1 + 2.173 x 2.175)", seen="read",
            expected=1.107 * (1 + 2.173 * 2.175), got=got, absolute=0.01,
            reason="its factors are rounded to four digits")  # fmt: skip


def test_euler(outside: Outside) -> None:
    """A bar of 1 in, 40 in between pins, of 30e6 psi: pi^2 E I / L^2 with I = .049087 in4."""
    bar = Strut(40 * INCH, math.pi / 4 * INCH**2, math.pi / 64 * INCH**4, INCH / 2, 30e3 * KSI)
    outside("Euler's load of a 1 in bar, 40 in between pins, of 30e6 psi, kip", source="Euler's formula",
            seen="computed", expected=9.08395, got=bar.euler / KIP, relative=1e-5,
            reason="six digits")  # fmt: skip


def test_wear_of_liners(outside: Outside) -> None:
    """An acceptance test: 25 000 cycles of 25 deg to either side at 220 MPa, .152 mm at most."""
    diameter, width = 0.01905, 0.0105
    force, swept = 220e6 * diameter * width, math.radians(100)
    rate = 0.152e-3 / (220e6 * 25e3 * swept * diameter / 2)
    test = "acceptance test of aircraft liners, in a maker's words"
    outside("wear of a liner of the rate that the test allows, in the test itself, mm", source=test, seen="read",
            expected=0.152, got=1e3 * worn(force * swept, 25e3, width, rate), relative=1e-9,
            reason="rounding")  # fmt: skip
    outside("whether the liner that is assumed would fail that test", source=test, seen="read", expected=1,
            got=int(worn(force * swept, 25e3, width, RodMaking().wear) > 0.152e-3),
            reason="yes or no: the assumed one is the worse")  # fmt: skip
    outside("rate of wear that is assumed, 1e-6 mm3/(N m)", source="Royal Aircraft Establishment, technical report "
            "78063, abstract: .07 to 5.52 at room temperature", seen="read", expected=5.52,
            got=RodMaking().wear * 1e15, absolute=0.05, reason="rounded to two digits")  # fmt: skip
