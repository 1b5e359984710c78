"""Chain geometry against published tables and independently computed cases."""

import math

import numpy as np
from evidence import Outside

from sim.chain import approximate_links, centres_for_links, excess_from_sideways, loop_length
from sim.sprocket import (
    chordal_speed_change,
    pitch_radius,
    sprocket_outside_diameter,
    with_chain_outside_diameter,
)

INCH = 0.0254
HALF_INCH = 0.0127
"""Pitch of No. 40 chain, ASME B29.1M table: .500 in, 12.70 mm (read)."""


HALF = "half the last printed digit"
CUT = "printed to .001 in, some rounded and some cut off: one unit of the last digit"


def test_pitch_diameters_of_inch_pitch(outside: Outside) -> None:
    for teeth, diameter in ((14, 114.15), (42, 339.89)):
        outside(f"pitch diameter of {teeth} teeth at 1 in pitch, mm", source="ASME B29.1M, table",
                seen="read", expected=diameter, got=2e3 * pitch_radius(teeth, INCH), absolute=0.005,
                reason=HALF)  # fmt: skip


def test_pitch_diameters_of_half_inch_pitch(outside: Outside) -> None:
    for teeth, diameter in ((15, 61.08363), (45, 182.06196)):
        outside(f"pitch diameter of {teeth} teeth at 12.7 mm pitch, mm", source="p / sin(pi/N)",
                seen="computed", expected=diameter, got=2e3 * pitch_radius(teeth, HALF_INCH), absolute=5e-6,
                reason=HALF)  # fmt: skip


MAKERS_PITCH_DIAMETERS = {
    8: 1.307, 9: 1.462, 10: 1.618, 11: 1.775, 12: 1.932, 13: 2.089, 14: 2.247, 15: 2.405, 20: 3.196,
    30: 4.783, 42: 6.691, 45: 7.168, 48: 7.645, 60: 9.554,
}  # fmt: skip
"""Inches by teeth."""


def test_pitch_diameters_of_a_makers_catalogue(outside: Outside) -> None:
    teeth = list(MAKERS_PITCH_DIAMETERS)
    outside(f"pitch diameters of No. 40 sprockets with {', '.join(map(str, teeth))} teeth, in",
            source="a maker's sprocket catalogue, No. 40 plain bore", seen="read",
            expected=list(MAKERS_PITCH_DIAMETERS.values()),
            got=[2 * pitch_radius(n, HALF_INCH) / INCH for n in teeth], absolute=0.001,
            reason=CUT)  # fmt: skip


MAKERS_OUTSIDE_DIAMETERS = {
    15: 2.652, 16: 2.814, 17: 2.975, 18: 3.135, 19: 3.296, 20: 3.457, 21: 3.617, 23: 3.938, 25: 4.258,
    30: 5.057, 36: 6.015, 42: 6.972, 48: 7.928, 52: 8.566, 60: 9.841,
}  # fmt: skip
"""Inches by teeth."""


def test_outside_diameters_of_a_makers_catalogue(outside: Outside) -> None:
    """The formula p (0.6 + cot(pi/N)) is of ASME B29.1 (memory); the numbers are a maker's."""
    teeth = list(MAKERS_OUTSIDE_DIAMETERS)
    outside(f"outside diameters of No. 40 sprockets with {', '.join(map(str, teeth))} teeth, in",
            source="a maker's sprocket catalogue, No. 40-2 bushed", seen="read",
            expected=list(MAKERS_OUTSIDE_DIAMETERS.values()),
            got=[sprocket_outside_diameter(n, HALF_INCH) / INCH for n in teeth], absolute=0.001,
            reason=CUT)  # fmt: skip


def test_height_of_the_link_plate(outside: Outside) -> None:
    height = with_chain_outside_diameter(42, HALF_INCH) - 2 * pitch_radius(42, HALF_INCH)
    outside("height of a No. 40 link plate, in", source="a low-authority comparison table", seen="read",
            expected=0.472, got=height / INCH, relative=0.01,
            reason=".95 p (memory) is an upper bound; plates are made a little lower")  # fmt: skip
    assert height / INCH >= 0.472


def test_what_turns_in_an_eight_inch_bore(outside: Outside) -> None:
    bore = 8 * INCH
    turns = [f(n, HALF_INCH) < bore for n in (42, 48)
             for f in (sprocket_outside_diameter, with_chain_outside_diameter)]  # fmt: skip
    outside("No. 40 sprockets of 42 and of 48 teeth turn in an 8 in bore, each bare and with its chain on",
            source="sprockets fitted in bores", seen="common practice", expected=[1, 1, 1, 0],
            got=[int(x) for x in turns], reason="yes or no")  # fmt: skip


def test_centres_of_15_and_45_teeth(outside: Outside) -> None:
    source = "tangents and arcs; the handbook's form"
    for links, exact, approximate in ((80, 311.5807, 311.5999), (100, 440.3180, 440.3247),
                                      (200, 1077.7938, 1077.7942), (400, 2348.7172, 2348.7172)):  # fmt: skip
        outside(f"centres of 15 and 45 teeth with {links} links of 12.7 mm, exact, mm", source=source,
                seen="computed", expected=exact, got=1e3 * centres_for_links(15, 45, HALF_INCH, links),
                absolute=5e-5, reason=HALF)  # fmt: skip
        outside(f"links of 12.7 mm on 15 and 45 teeth at {approximate:.4f} mm by the handbook's form",
                source=source, seen="computed", expected=links,
                got=approximate_links(15, 45, HALF_INCH, approximate / 1e3), absolute=2 * 5e-5 / 12.7,
                reason=HALF + " of the centres, in two strands")  # fmt: skip


def test_20_and_63_teeth_at_36_pitches(outside: Outside) -> None:
    """A paper gives 35.8447 by another formula, and a handbook quoted there a length of 114.8 (read)."""
    source = "tangents and arcs; the handbook's form"
    outside("length on 20 and 63 teeth at 36 pitches by the handbook's form, pitches", source=source,
            seen="computed", expected=114.801, got=approximate_links(20, 63, 1.0, 36.0), absolute=5e-4,
            reason=HALF)  # fmt: skip
    outside("links on 20 and 63 teeth at 35.592 pitches by the handbook's form", source=source,
            seen="computed", expected=114, got=approximate_links(20, 63, 1.0, 35.592), absolute=1e-3,
            reason=HALF + " of the centres, in two strands")  # fmt: skip
    outside("centres of 20 and 63 teeth with 114 links, exact, pitches", source=source, seen="computed",
            expected=35.590, got=centres_for_links(20, 63, 1.0, 114), absolute=5e-4, reason=HALF)  # fmt: skip
    # Why the paper's figure cannot be right: half a pitch of chain would be left over.
    assert abs(loop_length(20, 63, 1.0, 35.8447) - 114 - 0.5) < 0.05


def test_handbook_form_gets_better_as_the_run_grows() -> None:
    """The approximate form's error shrinks as the run grows (computed)."""
    centres = np.array([0.3, 0.6, 1.2, 2.4])
    error = loop_length(15, 45, HALF_INCH, centres) / HALF_INCH - approximate_links(
        15, 45, HALF_INCH, centres
    )
    assert np.all(np.diff(np.abs(error)) < 0)


def test_chordal_speed_change(outside: Outside) -> None:
    for teeth, percent, digit in ((11, 4.05, 0.01), (15, 2.19, 0.01), (45, 0.244, 0.001)):
        outside(f"chordal speed change of {teeth} teeth, per cent",
                source="makers' guidance; 1 - cos(pi/N)", seen="computed", expected=percent,
                got=100 * chordal_speed_change(teeth), absolute=digit / 2, reason=HALF)  # fmt: skip


def test_workshop_slack_as_length(outside: Outside) -> None:
    for sideways, excess, digit in ((2, 0.107, 0.001), (4, 0.43, 0.01)):
        outside(f"excess length of a strand that moves {sideways} per cent of its span sideways, per cent",
                source="slack 2-4 per cent by makers' guidance (read); parabola", seen="computed",
                expected=excess, got=100 * excess_from_sideways(sideways / 100, 1.0), absolute=digit / 2,
                reason=HALF)  # fmt: skip


def test_equal_sprockets(outside: Outside) -> None:
    outside("centres of 20 and 20 teeth with 60 links, m: 2 C + N pitches", source="any handbook",
            seen="memory", expected=20 * HALF_INCH, got=centres_for_links(20, 20, HALF_INCH, 60),
            relative=4 * math.ulp(1.0), reason="rounding of the last step only")  # fmt: skip
