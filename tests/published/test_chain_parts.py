"""Chains of the catalogue, slack that hangs or lies, and what sprockets leave for a shaft, against outside numbers."""

import math

from evidence import Outside

from analysis.parts.chains import plate_pull
from models.parts.catalogue import catalogue
from models.parts.chains import CHAINS, Chain
from models.parts.sprockets import largest_bore
from models.units import quantity
from sim.chain import centres_for_links, excess_from_sideways
from sim.chain_slack import catenary_sag, flat_pull, hung_stretch, pushed, slack

INCH = 0.0254
ROWS = {c.size: c for c in catalogue(CHAINS)}
ASME = "ASME B29.1 general chain dimensions, in an engineering reference"
TYPED = "the same figure in other units: rounding alone"


def lbf(force: float) -> float:
    """Give a force in lbf."""
    return force / float(quantity("1 lbf", "force"))


def test_the_inch_series(outside: Outside) -> None:
    chains = [ROWS[s] for s in ("25", "35", "40", "50", "60", "80")]
    columns: dict[str, tuple[tuple[float, ...], list[float]]] = {
        "pitch, in": ((0.25, 0.375, 0.5, 0.625, 0.75, 1.0), [c.pitch / INCH for c in chains]),
        "roller or bush diameter, in": (
            (0.130, 0.200, 0.312, 0.400, 0.469, 0.625),
            [c.roller / INCH for c in chains],
        ),
        "width between inner plates, in": (
            (0.125, 0.188, 0.312, 0.375, 0.5, 0.625),
            [c.width / INCH for c in chains],
        ),
        "least ultimate strength, lbf": (
            (780, 1760, 3125, 4880, 7030, 12500),
            [lbf(c.strength) for c in chains],
        ),
        "least dynamic strength, lbf": (
            (140, 320, 560, 870, 1230, 2150),
            [lbf(c.dynamic or 0.0) for c in chains],
        ),
        "over length of a new chain, in/ft": (
            (0.031, 0.022, 0.019, 0.018, 0.017, 0.016),
            [12 * c.overlength for c in chains],
        ),
        "measuring load, lbf": ((18, 18, 31, 49, 70, 125), [lbf(c.measuring) for c in chains]),
        "height of inner plates over pitch": ((0.95,) * 6, [c.height / c.pitch for c in chains]),
    }
    for what, (expected, got) in columns.items():
        outside(f"chains 25, 35, 40, 50, 60, 80: {what}", source=ASME, seen="read", expected=expected, got=got,
                relative=1e-4, reason=TYPED)  # fmt: skip


def test_half_inch_chain(outside: Outside) -> None:
    chain = ROWS["40"]
    outside("No. 40: least ultimate strength, kN", source=ASME, seen="computed", expected=13.9,
            got=chain.strength / 1e3, absolute=0.05, reason="3125 lbf to the digits of ISO 606's 08A")  # fmt: skip
    outside("No. 40: mass, kg/m, within .61 to .64", source="ASME B29.1 table", seen="read", expected=0.625,
            got=chain.mass, absolute=0.0151, reason="the span that the table gives")  # fmt: skip
    outside("chain 08A: least dynamic strength, N, as No. 40's 560 lbf", source="ISO 606:2015, table", seen="memory",
            expected=2480, got=chain.dynamic or 0.0, relative=0.01, reason="two standards, each rounded")  # fmt: skip


def test_strength_by_the_pitch(outside: Outside) -> None:
    outside("least ultimate strength of chains 25 to 80 over 12500 lbf (pitch / in)^2",
            source="a text on chain strength", seen="read", expected=[1.0] * 6,
            got=[lbf(c.strength) / (12500 * (c.pitch / INCH) ** 2) for c in ROWS.values() if c.system == "inch"],
            relative=0.003, reason="rounded to 5 or 10 lbf")  # fmt: skip


def test_the_metric_series(outside: Outside) -> None:
    sizes = ("06B", "08B", "10B", "12B", "16B")
    columns: dict[str, tuple[tuple[float, ...], object]] = {
        "width between inner plates, mm": ((5.72, 7.75, 9.65, 11.68, 17.02), "width"),
        "roller diameter, mm": ((6.35, 8.51, 10.16, 12.07, 15.88), "roller"),
        "width over pins, mm": ((13.5, 17.0, 19.6, 22.7, 36.1), "over_pins"),
    }
    for what, (expected, field) in columns.items():
        outside(f"chains 06B to 16B: {what}", source="a table of metric chains to DIN 8187", seen="read",
                expected=expected, got=[1e3 * getattr(ROWS[s], str(field)) for s in sizes], relative=1e-4,
                reason=TYPED)  # fmt: skip
    outside("chains 06B to 16B: mass, kg/m", source="a table of metric chains to DIN 8187", seen="read",
            expected=(0.41, 0.70, 0.91, 1.18, 2.68), got=[ROWS[s].mass for s in sizes], relative=1e-4,
            reason=TYPED)  # fmt: skip
    outside("chains 06B to 16B: least ultimate strength, kN", source="ISO 606", seen="memory",
            expected=(8.9, 17.8, 22.2, 28.9, 60), got=[ROWS[s].strength / 1e3 for s in sizes], relative=1e-4,
            reason=TYPED)  # fmt: skip


def test_exact_centres_of_long_runs(outside: Outside) -> None:
    for links, centres in ((80, 311.5807), (100, 440.3180), (200, 1077.7938), (400, 2348.7172)):
        found = slack(
            (15, 45),
            0.0127,
            links,
            holes=0,
            overlength=0,
            wear=0,
            rigidity=1e6,
            weight=6,
            pull=0,
            upright=True,
        )
        outside(f"centres at which {links} links on 15 and 45 teeth leave nothing over, mm", source="tangents and arcs",
                seen="computed", expected=centres, got=1e3 * found.centres, absolute=5e-5,
                reason="half the last printed digit")  # fmt: skip
    outside("centres of 20 and 63 teeth with 114 links, pitches, of a run's slack", source="tangents and arcs",
            seen="computed", expected=35.590, got=centres_for_links(20, 63, 1.0, 114), absolute=5e-4,
            reason="half the last printed digit")  # fmt: skip


def test_a_new_chain_takes_more_than_two_per_cent_sideways_leave(outside: Outside) -> None:
    """A loop is a little over two spans: full tolerance is .32 % of one, 2 % sideways are .107 %."""
    for far, links in ((1.0, 184), (4.0, 656)):
        found = slack((13, 38), 0.0127, links, holes=0, overlength=0.019 / 12, wear=0, rigidity=1e6, weight=6, pull=0,
                      upright=False)  # fmt: skip
        allowed = excess_from_sideways(0.02 * found.span, found.span)
        # 2 C + (Na + Nb)/2 + ... pitches times .019/12, over 8/3 .0004 C.
        outside(f"a new chain's full tolerance over what 2 % of the span leaves, run of about {far:g} m",
                source="p L .019/12 over 8 (.02)^2 s / 3", seen="computed",
                expected=links * 0.0127 * 0.019 / 12 / (8 * 0.0004 * far / 3), got=found.new / allowed, relative=0.01,
                reason="the run's centres are within 1 % of a round number")  # fmt: skip


def test_a_hung_strand(outside: Outside) -> None:
    w, length, rigidity = 0.62 * 9.80665, 4.0, 955e3
    steps = 100_000
    tension = ((k + 0.5) / steps * length * w for k in range(steps))
    outside("stretch of 4 m of No. 40 by its own weight, um", source="strain T / EA added up over the strand",
            seen="computed", expected=1e6 * sum(t * length / steps / rigidity for t in tension),
            got=1e6 * hung_stretch(w, length, rigidity), relative=1e-9,
            reason="the sum of a straight line")  # fmt: skip


def test_a_level_strand(outside: Outside) -> None:
    """A catenary of parameter a: half span u a, length 2 a sinh u, sag a (cosh u - 1), level pull w a."""
    for u in (0.08, 0.16):
        a = 1 / u
        across, longer, sag = 2.0, 2 * a * math.sinh(u) - 2.0, a * (math.cosh(u) - 1)
        outside(f"sag of a catenary of half span {u} a", source="catenary", seen="computed", expected=sag,
                got=catenary_sag(longer, across), relative=1e-7,
                reason="a root to 1e-14, and a small difference")  # fmt: skip
        outside(f"excess of a catenary of half span {u} a by the parabola", source="catenary", seen="computed",
                expected=longer, got=excess_from_sideways(sag, across), relative=0.7 * u**2,
                reason="the parabola's next term")  # fmt: skip
        outside(f"level pull of a catenary of half span {u} a, N, w = 6 N/m", source="catenary", seen="computed",
                expected=6 * a, got=flat_pull(6, across, sag), relative=u**2 / 6,
                reason="the parabola's next term, u^2/12")  # fmt: skip


def test_a_push_at_mid_strand(outside: Outside) -> None:
    """Statics and Hooke: y given, then the excess that belongs to it."""
    across, length, rigidity, push, y = 2.4, 5.2, 955e3, 20.0, 0.08
    slanted = math.hypot(across / 2, y)
    pull = push * slanted / (2 * y)
    excess = 2 * slanted - across - pull * length / rigidity
    outside("movement of mid-strand under 20 N, mm", source="two straight halves in balance, stretched by Hooke",
            seen="computed", expected=80.0, got=1e3 * pushed(excess, across, length, rigidity, push), absolute=1e-6,
            reason="a root to 1e-14 m")  # fmt: skip


def test_power_rating(outside: Outside) -> None:
    """No. 40, 15 teeth, 50 rpm: .004 15^1.08 50^.9 .5^2.965 hp at 15 x 50 x .5 / 12 = 31.25 ft/min."""
    power = 0.004 * 15**1.08 * 50**0.9 * 0.5**2.965
    outside("pull of No. 40 by its power rating on 15 teeth at 50 rpm, lbf", source="HP formula of a chain table",
            seen="read", expected=power * 33000 / 31.25, got=lbf(plate_pull(15, 50 * math.pi / 30, 0.0127)),
            relative=1e-9, reason="rounding")  # fmt: skip
    for rpm, horsepower in ((50, 0.37), (200, 1.29)):
        newtons = plate_pull(17, rpm * math.pi / 30, 0.0127)
        outside(f"horsepower of No. 40 on 17 teeth at {rpm} rpm", source="a textbook's table of ASME B29.1 chain",
                seen="memory", expected=horsepower, got=lbf(newtons) * 17 * rpm * 0.5 / 12 / 33000, absolute=0.005,
                reason="half the last printed digit")  # fmt: skip


def test_bores(outside: Outside) -> None:
    """Largest bores of plain-bore No. 40 sprockets with a keyway."""
    outside("largest bore of No. 40 sprockets of 11, 13 and 15 teeth, in", source="makers' sprocket catalogues",
            seen="memory", expected=(0.8125, 1.0, 1.25), got=[largest_bore(n, 0.0127) / INCH for n in (11, 13, 15)],
            absolute=1 / 16, reason="makers differ by a sixteenth of an inch")  # fmt: skip


def test_every_row_says_where_it_is_from() -> None:
    every: tuple[Chain, ...] = catalogue(CHAINS)
    assert all("read" in c.source or "memory" in c.source for c in every)
