"""Bushes and rolling bearings against worked examples of textbooks and makers, and against standard sizes."""

import math

import numpy as np
from evidence import Outside

from analysis.parts.bushes import FLOOR, pressure, worn
from analysis.parts.rolling_life import ROLLER, cubic_mean, cycles, needed_rating, rating_life
from models.parts.catalogue import catalogue
from models.parts.rolling_bearings import ROLLING_BEARINGS
from models.units import size_of

LBF, INCH = float(size_of("lbf", "force")), 0.0254
PV = float(size_of("psi fpm", "pressure_speed"))
PSI = float(size_of("psi", "stress"))
ROUNDED = "the source takes .262 for pi/12"


def _pv(load: float, bore: float, length: float, rpm: float) -> float:
    """Give pressure times speed in psi fpm for lbf, inches and turns a minute."""
    p = pressure(load * LBF, bore * INCH, length * INCH)
    return p * rpm * 2 * math.pi / 60 * bore * INCH / 2 / PV


def test_pressure_times_speed_of_oil_filled_bronze(outside: Outside) -> None:
    for load, expected in ((52.5, 6877), (157.5, 20632)):
        outside(f"pressure times speed of a 5/8 in bore 1 in long at 500 rpm under {load} lbf, psi fpm",
                source="a maker's worked example of oil-impregnated bronze", seen="read", expected=expected,
                got=_pv(load, 0.625, 1.0, 500), relative=0.001, reason=ROUNDED)  # fmt: skip


def test_pressure_and_speed_of_plastic_bushes(outside: Outside) -> None:
    outside("pressure on a 5/8 in shaft in a bush 1 1/32 in long under 35 lbf, psi", source="a maker's worked example",
            seen="read", expected=54.3, got=pressure(35 * LBF, 0.625 * INCH, 33 / 32 * INCH) / PSI, absolute=0.05,
            reason="half the last printed digit")  # fmt: skip
    outside("its pressure times speed at 120 rpm, psi fpm", source="a maker's worked example", seen="read",
            expected=1066.2, got=_pv(35, 0.625, 33 / 32, 120), relative=0.001,
            reason="the source multiplies rounded pressure and speed")  # fmt: skip
    outside("pressure on a 3/4 in shaft in a bush 3/4 in long under 85 lbf, psi", source="a maker's design guide",
            seen="read", expected=151.2, got=pressure(85 * LBF, 0.75 * INCH, 0.75 * INCH) / PSI, absolute=0.15,
            reason="the source rounds the area .5625 in2 to .562")  # fmt: skip


def test_rating_life_of_a_dry_bush(outside: Outside) -> None:
    # Factors 1.3 x .6 x 1.5 for light load, roughness and turning load; 1.64 MPa at .01 m/s counts as .025 MPa m/s.
    smooth = 5e-5 / (480 * 3600 * 1e6) / (1.3 * 0.6 * 1.5)
    hours = 5e-5 / worn(smooth, max(1.64e6 * 0.01, FLOOR), 3600)
    outside("hours that a PTFE-lined bush lasts which does 480 h at 1 MPa m/s, its factors 1.3, .6 and 1.5, in so slow "
            "a motion that .025 MPa m/s counts", source="a maker's worked example, a door's linkage", seen="read",
            expected=22500, got=hours, relative=0.002, reason="printed to three figures")  # fmt: skip


def test_rating_life_of_ball_bearings(outside: Outside) -> None:
    turns = rating_life(29.1e3, 3.2e3)
    outside("hours that a 40 x 80 x 18 mm ball bearing of C = 29.1 kN lasts under 3.2 kN at 650 rpm",
            source="ISO 281: 1e6 / (60 n) (C / P)^3, the rating from memory", seen="memory", expected=19283,
            got=turns / (60 * 650), absolute=1, reason="the last printed digit")  # fmt: skip
    outside("million turns of a bearing of 16 kN under 2 kN", source="a solved examination question", seen="read",
            expected=512, got=rating_life(16e3, 2e3) / 1e6, relative=1e-12, reason="rounding")  # fmt: skip
    outside("dynamic rating for 12 000 h at 720 rpm under 6 kN, kN", source="a college's solved example", seen="read",
            expected=48.19, got=needed_rating(6e3, 12000 * 60 * 720) / 1e3, absolute=0.02,
            reason="the source rounds the cube root")  # fmt: skip
    outside("million turns of a roller bearing of 20 kN under 5 kN", source="ISO 281, p = 10/3: 4^(10/3)",
            seen="computed", expected=101.59, got=rating_life(20e3, 5e3, ROLLER) / 1e6, absolute=0.005,
            reason="half the last printed digit")  # fmt: skip


def test_changing_load(outside: Outside) -> None:
    loads, shares = np.array([3e3, 2e3, 1e3, 0.0]), np.array([0.1, 0.2, 0.3, 0.4])
    outside("steady load that wears as 3, 2, 1 and 0 kN over .1, .2, .3 and .4 of the turns, kN",
            source="a solved textbook problem's statement (read): cube root of .1 x 27 + .2 x 8 + .3", seen="computed",
            expected=1.6631, got=cubic_mean(loads, shares) / 1e3, absolute=5e-5,
            reason="half the last printed digit")  # fmt: skip


def test_swinging(outside: Outside) -> None:
    for degrees, expected in ((90, 2.0), (60, 3.0), (180, 1.0)):
        outside(f"cycles of a total swing of {degrees} deg for a turn of life",
                source="a maker's manual: a cycle sweeps twice the swing", seen="computed",
                expected=expected, got=cycles(1.0, math.radians(degrees)), relative=1e-12,
                reason="rounding")  # fmt: skip


ISO_15 = (
    "10 26 8|12 28 8|15 32 9|17 35 10|20 42 12|25 47 12|30 55 13|35 62 14|40 68 15|45 75 16|50 80 16|"
    "10 30 9|12 32 10|15 35 11|17 40 12|20 47 14|25 52 15|30 62 16|35 72 17|40 80 18|45 85 19|50 90 20"
)
"""Bore, outside and width, mm, of the extra light and the light series."""


def test_sizes_of_ball_bearings(outside: Outside) -> None:
    rows = [r for r in catalogue(ROLLING_BEARINGS) if r.kind == "ball" and r.bore < 0.0501]
    expected = sorted(tuple(map(float, size.split())) for size in ISO_15.split("|"))
    got = sorted((1e3 * r.bore, 1e3 * r.outside, 1e3 * r.width) for r in rows)
    outside("bore, outside and width of the ball bearings from 10 to 50 mm bore, mm", source="GB/T 276, as ISO 15",
            seen="read", expected=np.ravel(expected), got=np.ravel(got), absolute=1e-9, reason="rounding")  # fmt: skip


def test_ratings_of_the_smallest_ball_bearings(outside: Outside) -> None:
    read = {"10 x 26 x 8 mm": (4.55, 1.96), "10 x 30 x 9 mm": (5.10, 2.39), "12 x 28 x 8 mm": (5.10, 2.39)}
    rows = {r.size: r for r in catalogue(ROLLING_BEARINGS) if r.kind == "ball"}
    for size, ratings in read.items():
        got = [rows[size].dynamic / 1e3, rows[size].static / 1e3]
        outside(f"dynamic and static rating of a ball bearing of {size}, kN", source="a maker's table", seen="read",
                expected=list(ratings), got=got, absolute=0.16,
                reason="makers differ; the catalogue has about the lowest")  # fmt: skip
        assert all(g <= r for g, r in zip(got, ratings, strict=True))
