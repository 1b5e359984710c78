"""Bolts, keys, pins and groups of bolts against published tables and examples."""

import math

from evidence import Outside

from analysis.parts.bolt_group import resists, shears
from analysis.parts.keys import SHEAR, key_stresses
from analysis.parts.pins import PinLoad, between_plates, pin_checks, shear_resistance
from models.materials import material
from models.parts.catalogue import catalogue
from models.parts.fasteners import FASTENERS, Fastener
from models.parts.keys import KEYS, for_shaft

INCH = 0.0254
LBF = 4.4482216152605
PSI = LBF / INCH**2
SHIGLEY = "Shigley's Mechanical Engineering Design, 9th ed."


def bolt(size: str, grade: str) -> Fastener:
    return next(f for f in catalogue(FASTENERS) if f.size == size and f.grade == grade)


def test_stress_areas(outside: Outside) -> None:
    metric = [f for f in catalogue(FASTENERS) if f.grade == "8.8"]
    outside(
        "tensile stress areas of M4 to M24, mm2",
        source="ISO 898-1: As = pi/4 (d - .9382 P)^2, with the pitches of ISO 261",
        seen="computed",
        expected=[math.pi / 4 * (f.diameter - 0.9382 * f.pitch) ** 2 * 1e6 for f in metric],
        got=[f.tension * 1e6 for f in metric],
        relative=0.003,
        reason="tables give three digits",
    )
    outside(
        "tensile stress areas of M4, M5, M6, M8 and M10, mm2",
        source="a table of bolt resistances after ISO 898-1 and EN 1993-1-8",
        seen="read",
        expected=[8.78, 14.2, 20.1, 36.6, 58.0],
        got=[bolt(s, "8.8").tension * 1e6 for s in ("M4", "M5", "M6", "M8", "M10")],
        relative=1e-9,
        reason="the same table",
    )
    outside(
        "area at the root of M16, mm2",
        source=f"{SHIGLEY}, example 8-7",
        seen="read",
        expected=144.0,
        got=bolt("M16", "8.8").shear * 1e6,
        absolute=0.5,
        reason="given in whole mm2",
    )
    outside(
        "tensile stress areas of UNC 1/4, 3/8, 1/2, 3/4 and 1 in, in2",
        source="two tables of unified threads",
        seen="read",
        expected=[0.0318, 0.0775, 0.1419, 0.334, 0.606],
        got=[bolt(s, "grade 5").tension / INCH**2 for s in ("1/4-20", "3/8-16", "1/2-13", "3/4-10", "1-8")],
        relative=1e-9,
        reason="the same tables",
    )


def test_grades(outside: Outside) -> None:
    sizes = ("1/4-20", "7/16-14", "5/8-11", "3/4-10")
    outside(
        "proof load of SAE grade 5, 1/4, 7/16, 5/8 and 3/4 in, lbf",
        source="SAE J429 in a sheet of mechanical requirements",
        seen="read",
        expected=[2700, 9050, 19200, 28400],
        got=[f.proof * f.tension / LBF for f in (bolt(s, "grade 5") for s in sizes)],
        relative=0.003,
        reason="rounded to 50 and 100 lbf",
    )
    outside(
        "tensile load of the same, lbf",
        source="SAE J429 in a sheet of mechanical requirements",
        seen="read",
        expected=[3800, 12800, 27100, 40100],
        got=[f.ultimate * f.tension / LBF for f in (bolt(s, "grade 5") for s in sizes)],
        relative=0.003,
        reason="rounded to 50 and 100 lbf",
    )
    outside(
        "pull that M16 8.8 stands, .9 fu As / 1.25, kN",
        source="EN 1993-1-8, table 3.4",
        seen="memory",
        expected=90.4,
        got=resists(bolt("M16", "8.8")).pull / 1e3,
        absolute=0.05,
        reason="given to three digits",
    )
    outside(
        "shear that M16 8.8 stands in the thread, kN: not above the .6 fu As / 1.25 of the stress area",
        source="a table of bolt resistances after EN 1993-1-8",
        seen="read",
        expected=True,
        got=0.9 * 60.3 < resists(bolt("M16", "8.8")).shear / 1e3 < 60.3,
        reason="the root's area is 8 % below the stress area: cautious",
    )


def test_key_sections(outside: Outside) -> None:
    metric = tuple(k for k in catalogue(KEYS) if k.system == "metric")
    inch = tuple(k for k in catalogue(KEYS) if k.system == "inch")

    def section(d: float) -> tuple[float, float, float, float]:
        k = for_shaft(metric, d / 1000)
        assert k is not None
        return k.width * 1e3, k.height * 1e3, k.shaft_depth * 1e3, k.hub_depth * 1e3

    for d, expected in ((20, (6, 6, 3.5, 2.8)), (25, (8, 7, 4.0, 3.3)), (35, (10, 8, 5.0, 3.3)),
                        (50, (14, 9, 5.5, 3.8)), (60, (18, 11, 7.0, 4.4))):  # fmt: skip
        outside(
            f"key of a shaft of {d} mm: width, height, depths in shaft and hub, mm",
            source="DIN 6885-1, a table of parallel and taper keys",
            seen="read",
            expected=expected,
            got=section(d),
            absolute=1e-9,
            reason="standard sizes",
        )
    sizes = {0.75: 3 / 16, 1.0: 0.25, 1.25: 0.25, 1.375: 5 / 16, 1.5: 3 / 8, 2.0: 0.5}
    found = [for_shaft(inch, d * INCH) for d in sizes]
    outside(
        "square keys of shafts of 3/4, 1, 1 1/4, 1 3/8, 1 1/2 and 2 in, in",
        source="ASME B17.1-1967 (R1998), table 1, quoted twice",
        seen="read",
        expected=list(sizes.values()),
        got=[k.width / INCH if k else 0.0 for k in found],
        absolute=1e-9,
        reason="standard sizes",
    )


def test_key_examples(outside: Outside) -> None:
    # A key of 12.5 x 10 x 50 mm under 150 N m times 3.333, taken to act at a diameter of 45 mm.
    shear, side = key_stresses(150 / 0.3, 0.045, 0.0125, 0.005, 0.05)
    outside(
        "shear stress and side pressure of a key, MPa",
        source="a worked shaft key calculation (12.5 x 10 x 50 mm, 150 N m, factors 1 / .3)",
        seen="read",
        expected=[35.556, 88.889],
        got=[shear / 1e6, side / 1e6],
        absolute=5e-4,
        reason="given to five digits",
    )
    # 40 hp at 600 rpm on a shaft of 1 7/16 in, key of 3/8 in square, fy 65 kpsi, factor 2.8: both lengths.
    torque = 63025 * 40 / 600 * LBF * INCH
    width, allowed = 0.375 * INCH, 65e3 * PSI / 2.8
    by_shear, by_side = key_stresses(torque, 1.4375 * INCH, width, width / 2, 1.0)
    outside(
        "length of a key by shear and by crushing, in",
        source=f"{SHIGLEY}, example 7-6",
        seen="memory",
        expected=[1.16, 1.34],
        got=[by_shear / (SHEAR * allowed) / INCH, by_side / allowed / INCH],
        absolute=0.01,
        reason="given to three digits",
    )


def test_bolt_group_example(outside: Outside) -> None:
    places = [(0.075, 0.06), (0.075, -0.06), (-0.075, 0.06), (-0.075, -0.06)]
    found = shears(places, (0.0, -16e3), -16e3 * 0.425)
    sizes = [math.hypot(x, y) / 1e3 for x, y in found]
    outside(
        "shear on four M16 that hold a bar with 16 kN at 425 mm: the two near and the two far bolts, kN",
        source=f"{SHIGLEY}, example 8-7",
        seen="read",
        expected=[21.0, 21.0, 14.8, 14.8],
        got=sizes,
        absolute=0.05,
        reason="given to three digits",
    )


def test_pins(outside: Outside) -> None:
    steel = material("A36 steel")
    pin = pin_checks(0.02, PinLoad(10e3, 100.0, 10e3, 0.015), steel, steel, 1.0, "")
    area, w = math.pi / 4 * 20**2, math.pi / 32 * 20**3
    fy, fu = 250.0, 400.0
    outside(
        "a pin of 20 mm of A36: shear, bending and pressure that it stands as one to be taken out again, N and N m",
        source="EN 1993-1-8, table 3.10: .6 A fu / 1.25, .8 W fy, .6 t d fy",
        seen="computed",
        expected=[0.6 * area * fu / 1.25, 0.8 * w * fy / 1e3, 0.6 * 15 * 20 * fy],
        got=[pin[0].allowed, pin[1].allowed, pin[3].allowed],
        relative=1e-9,
        reason="the same formulas in N and mm",
    )
    outside(
        "moment of a pin through plates of 10, 20 and 10 mm with 1 mm between, under 40 kN, N m",
        source="EN 1993-1-8, figure 3.11: F / 8 (b + 4 c + 2 a)",
        seen="memory",
        expected=40e3 / 8 * (20 + 4 + 20) / 1e3,
        got=between_plates(40e3, 0.02, 0.01, 0.001),
        relative=1e-9,
        reason="the same formula; a unit test integrates the pressures",
    )
    assert shear_resistance(0.02, steel) == pin[0].allowed
