"""Shafts sideways, strands and the post: against closed forms worked out here, and against each other."""

from dataclasses import replace

import numpy as np
import pytest
from examples import MANTA, MOTH

from models.loading import load, loads
from models.resolve import mechanism
from sim.builders import Linkage, linkage
from sim.layout import chain_run
from sim.mass import crank_mass
from sim.shaft.modes import slowest
from sim.vibration.lateral import Lump, Section, Support, lateral_modes
from sim.vibration.post import post_bar, sway
from sim.vibration.shafts import apparent_mass, crankshaft_frequencies, shafts
from sim.vibration.strand import strands, string_frequency


def made(**changes: object) -> Linkage:
    return linkage(mechanism(load(MANTA, {k.replace("__", "."): v for k, v in changes.items()})))


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return made()


# Sideways

STOCK = (2e11, 7850.0)


def test_a_rigid_bar_on_two_springs() -> None:
    """Bounce sqrt(2 k / m) and pitch sqrt(6 k / m) of a stiff bar held at its ends."""
    section = Section(0.0, 0.5, 0.2, 2e13, 7850.0)
    mass = 7850 * np.pi / 4 * 0.2**2 * 0.5
    about = mass * (0.5**2 / 12 + 0.2**2 / 16)
    found = lateral_modes([section], [], [Support(0.0, 1e4), Support(0.5, 1e4)], 2).frequencies
    expected = [np.sqrt(2e4 / mass), np.sqrt(2e4 * 0.25**2 / about)]
    np.testing.assert_allclose(found, expected, rtol=1e-6)


def test_a_lump_on_a_light_bar_between_supports() -> None:
    """m at the middle: sqrt(48 E I / m L^3) but for shear, and its tilting as a mode of its own."""
    light = Section(0.0, 1.0, 0.02, 2e11, 0.0)
    found = lateral_modes([light], [Lump(0.5, 5.0, 1e-3)], [Support(0.0), Support(1.0)], 3).frequencies
    assert found[0] == pytest.approx(np.sqrt(48 * 2e11 * np.pi / 64 * 0.02**4 / 5.0), rel=1e-3)
    assert len(found) == 2  # a mass and its tilting: no more swings
    assert found[1] == pytest.approx(np.sqrt(12 * 2e11 * np.pi / 64 * 0.02**4 / 1e-3), rel=1e-2)


@pytest.mark.parametrize(
    ("sections", "lumps", "supports", "words"),
    [
        (
            [Section(0, 1, 0.02, *STOCK), Section(1.1, 2, 0.02, *STOCK)],
            [],
            [Support(0), Support(1)],
            "do not join",
        ),
        ([Section(0, 1, 0.02, *STOCK)], [Lump(1.5, 1.0)], [Support(0), Support(1)], "off the bar"),
        ([Section(0, 1, 0.02, *STOCK)], [], [Support(0.2)], "nothing holds the bar"),
        ([], [], [], "do not join"),
    ],
)
def test_bars_that_cannot_be(sections, lumps, supports, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        lateral_modes(sections, lumps, supports)


def test_shafts_are_parted_by_couplings_and_joined_by_clamps(manta: Linkage) -> None:
    parted = shafts(manta)
    assert [s.name for s in parted] == ["wheel shaft", "stage 1 shaft", "centre shaft"]
    assert [s.after for s in parted] == [0, 1, 2]
    clamped = made(crank__coupling={"kind": "clamp"})
    one = shafts(clamped)[-1]
    assert one.name == "crankshafts as one straight bar"
    assert len(one.supports) == 6
    assert one.after == 2
    assert one.least < one.highest
    # All that is fixed to the crankshafts is on the bar: their mass, half of the rods, and the shaft between.
    bar = sum(s.area * s.density * (s.end - s.start) for s in one.sections)
    between = parted[-1]
    middle = sum(s.area * s.density * (s.end - s.start) for s in between.sections)
    rods = sum(p.rod.end_mass + p.rod.density * np.pi / 8 * p.rod.diameter**2 * p.rod.length
               for p in manta.sides[0].side.panels)  # fmt: skip
    cranks = crank_mass(clamped.sides[0].side).mass + rods  # the couplings of the others have masses
    whole = 2 * cranks + middle + sum(x.mass for x in between.lumps)
    assert bar + sum(x.mass for x in one.lumps) == pytest.approx(whole)


def test_a_heavy_mass_on_a_throw_of_hardly_any_radius(manta: Linkage) -> None:
    """Throws of .01 mm, pins as thick as the shaft: sqrt(3 E I L / m a^2 b^2) between its bearings."""
    side = manta.sides[0].side
    flat = tuple(replace(p, throw_radius=1e-5) for p in side.panels)
    plain = replace(side, panels=flat, crank=replace(side.crank, pin=side.crank.shaft, weights=()))
    near, far = side.crank.bearings
    a, b = flat[1].throw_out - near, far - flat[1].throw_out
    stiffness = 3 * side.crank.material.modulus * np.pi / 64 * side.crank.shaft**4 * (a + b) / (a * b) ** 2
    # A mass beside which the shaft has none, though it moves more at mid-span. Shear adds 3 E I / k G A a b, .6 %, to
    # the movement.
    assert slowest(plain, (0.0, 1e6)) == pytest.approx(np.sqrt(stiffness / 1e6), rel=0.005)


def test_built_up_throws_swing_more_slowly_than_a_straight_bar(manta: Linkage) -> None:
    low, alone = crankshaft_frequencies(manta.sides[0].side)
    assert low < alone < 0.5 * shafts(made(crank__coupling={"kind": "clamp"}))[-1].highest


def test_a_third_bearing_stiffens_a_crankshaft(manta: Linkage) -> None:
    """One that gives much more easily than the shaft changes nothing."""
    plain, held, soft = (
        crankshaft_frequencies(made(crank__bearings=at).sides[0].side)[0]
        for at in (
            ["250 mm", "930 mm"],
            ["250 mm", "590 mm", "930 mm"],
            ["250 mm", {"out": "590 mm", "stiffness": "0.1 N/mm"}, "930 mm"],
        )
    )
    assert manta.mechanism.sides[0].crank.bearings == (0.25, 0.93)
    assert held > 1.1 * plain
    assert soft == pytest.approx(plain, rel=0.02)


def test_a_handle_sits_on_the_crankshafts_own_bar() -> None:
    (only,) = shafts(linkage(mechanism(loads(MOTH))))
    assert only.name == "crankshaft as a straight bar"
    assert only.after == 0
    assert any(abs(x.at) < 1e-9 for x in only.lumps)
    assert only.least < only.highest


def test_a_handle_beyond_the_crankshafts_end_is_still_on_its_bar() -> None:
    near, far = (
        shafts(linkage(mechanism(loads(MOTH.replace("[wheel]", f'[wheel]\nout = "{out}"')))))[0].highest
        for out in ("0 mm", "700 mm")
    )
    assert far < 0.5 * near  # half a metre of overhang


def test_the_apparent_mass_of_a_plate_about_its_edge(manta: Linkage) -> None:
    """A third of a panel's mass at its width, seen at the arm's end, for a rectangle."""
    panel = manta.sides[0].side.panels[0]
    square = load(
        MANTA, {"panel.inner.outline": {"unit": "mm", "points": [[0, 0], [400, 0], [400, 500], [0, 500]]}}
    )
    plain = mechanism(square).sides[0].panels[0]
    mass = plain.plate.density * 0.4 * 0.5 * plain.plate.thickness
    assert apparent_mass(plain, ()) == pytest.approx(mass * 0.25 / 3 / (0.26**2 + 0.055**2), rel=1e-3)
    beyond = manta.sides[0].side.panels[1]
    assert apparent_mass(panel, (beyond,)) > apparent_mass(panel, ())


# Strands


def test_strands_from_their_own_weight_to_the_weights_pull(manta: Linkage) -> None:
    first, second = strands(manta)
    run = chain_run(manta.mechanism, 1)
    # The first stands nearly upright: half of its own weight, as a mean.
    assert first.least == pytest.approx(run.weight * 9.81 / 2, rel=0.01)
    assert first.frequency(first.greatest) > first.frequency(first.least) > 0
    assert second.frequency(50.0) == pytest.approx(
        np.pi / second.length * np.sqrt(50.0 / second.weight), rel=1e-12
    )
    given = strands(manta, {1: (20.0, 300.0)})
    assert (given[0].least, given[0].greatest) == (20.0, 300.0)
    assert given[1] == second
    assert strands(linkage(mechanism(loads(MOTH)))) == ()


def test_strands_that_are_set_tight_or_have_an_idler() -> None:
    stage = {"teeth": [13, 38], "pitch": "12.7 mm", "centres": "2450 mm"}
    other = {"teeth": [15, 40], "pitch": "12.7 mm", "centres": "406.4 mm"}
    tight = strands(made(stage=[{**stage, "tight": "2 kN"}, other]))[0]
    assert 1700 < tight.least < 2000 < tight.greatest < 2300
    idler = {"force": "60 N", "rate": "2 N/mm", "travel": "20 mm", "lean": "30 deg"}
    sprung = strands(made(stage=[{**stage, "tensioner": idler}, other]))[0]
    assert sprung.least == pytest.approx(60.0, rel=1e-9)  # 60 N over 2 sin 30 deg


def test_a_running_strand_is_slower() -> None:
    still = string_frequency(1.0, 100.0, 1.0)
    assert string_frequency(1.0, 100.0, 1.0, speed=1.0) == pytest.approx(0.99 * still, rel=1e-12)
    assert string_frequency(1.0, 100.0, 1.0, speed=11.0) == 0


# The post


def test_the_post_sways_with_what_it_carries(manta: Linkage) -> None:
    """Near sqrt(3 E I / L^3 (M + 33 m / 140)) with all that moves at its top, the wheel low down hardly counting."""
    found = post_bar(manta)
    assert found is not None
    tube, lumps = found
    assert tube.end == pytest.approx(3.15)
    heavy = sum(x.mass for x in lumps if x.at > 2.9)
    own = tube.area * tube.density * tube.end
    near = np.sqrt(3 * tube.modulus * tube.second_moment / tube.end**3 / (heavy + 33 / 140 * own))
    slow = sway(manta)
    assert slow == pytest.approx(near, rel=0.03)
    heavier = sway(made(panel__outer__mass="30 kg"))
    assert heavier is not None
    assert heavier < 0.9 * slow
    assert sway(linkage(mechanism(loads(MOTH)))) is None
