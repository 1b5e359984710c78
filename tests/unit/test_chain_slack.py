"""What the excess of a chain does, by limits and by what it is made of; the published ones are in tests/published."""

import math

import pytest

from sim.chain import ChainFault, excess_from_sideways, loop_length
from sim.chain_slack import Slack, catenary_sag, even_links, lifting, pushed, slack

PITCH = 0.0127


def run(links: int = 412, centres: float | None = 2.45, **changes: float) -> Slack:
    """Give the slack of a run of 13 and 38 teeth, half-inch pitch, that hangs, with what a test changes."""
    given = {
        "holes": 5e-4,
        "overlength": 0.019 / 12,
        "wear": 0.015,
        "rigidity": 955e3,
        "weight": 6.1,
        "pull": 200.0,
    }
    return slack((13, 38), PITCH, links, centres, upright=True, **(given | changes))  # pyright: ignore[reportArgumentType]


def test_parts_add_up() -> None:
    found = run()
    assert found.left == pytest.approx(412 * PITCH - loop_length(13, 38, PITCH, 2.45), abs=1e-15)
    assert found.nominal == found.left + found.hung
    assert found.most == pytest.approx(found.least + 2 * found.holes + found.new, rel=1e-12)
    assert found.half == pytest.approx(found.nominal + found.new / 2, rel=1e-12)
    assert found.old == found.most + found.worn
    assert found.worn == pytest.approx(0.015 * 412 * PITCH, rel=1e-12)


def test_holes_count_by_the_exact_loop() -> None:
    # A millimetre of centre distance takes a little less than two of chain: 2 cos(tilt).
    found = run()
    by_difference = loop_length(13, 38, PITCH, 2.4505) - loop_length(13, 38, PITCH, 2.4495)
    assert found.per_centre == pytest.approx(by_difference / 1e-3, rel=1e-9)
    assert 1.99 < found.per_centre < 2
    assert found.apart(found.holes) == pytest.approx(5e-4, rel=1e-12)


def test_links_without_centres_leave_nothing() -> None:
    found = run(400, None)
    assert found.left == 0
    assert loop_length(13, 38, PITCH, found.centres) == pytest.approx(400 * PITCH, rel=1e-14)


def test_what_is_said_of_the_excess_counts() -> None:
    assert run(left=0.002).left == 0.002


def test_even_links_are_the_nearest() -> None:
    links = even_links((13, 38), PITCH, 2.0)
    assert links % 2 == 0
    assert abs(loop_length(13, 38, PITCH, 2.0) / PITCH - links) <= 1


def test_links_that_are_too_few_are_refused() -> None:
    with pytest.raises(ChainFault, match="too short"):
        run(30, None)


@pytest.mark.parametrize("excess", [0.001, 0.01, 0.05])
def test_a_stiff_chain_pushed_lightly_makes_a_triangle(excess: float) -> None:
    # 2 sqrt((s/2)^2 + y^2) = s + e, and a triangle goes farther than the parabola of the same length by 2 / sqrt(3).
    y = pushed(excess, 2.0, 4.0, 1e12, 0.01)
    assert y == pytest.approx(math.sqrt((1 + excess / 2) ** 2 - 1), rel=1e-6)
    assert excess_from_sideways(y * math.sqrt(3) / 2, 2.0) == pytest.approx(excess, rel=0.02)


def test_a_tight_chain_gives_as_a_string_does() -> None:
    # Small movement between tensions T: P s / (4 T), the tension growing by what 2 y^2 / s more of chain stretch.
    tight, across, length, rigidity = 2000.0, 0.5, 1.2, 955e3
    y = pushed(-tight * length / rigidity, across, length, rigidity, 20.0)
    grown = tight + rigidity * 2 * y**2 / across / length
    assert y == pytest.approx(20 * across / (4 * grown), rel=1e-4)
    assert y == pytest.approx(20 * across / (4 * tight), rel=5e-3)


def test_more_push_and_more_excess_go_farther() -> None:
    base = pushed(0.005, 2.0, 4.2, 955e3, 20.0)
    assert base < pushed(0.005, 2.0, 4.2, 955e3, 40.0)
    assert base < pushed(0.006, 2.0, 4.2, 955e3, 20.0)


def test_a_flat_catenary_is_a_parabola() -> None:
    sag = catenary_sag(1e-3, 2.0)
    assert excess_from_sideways(sag, 2.0) == pytest.approx(1e-3, rel=1e-3)


def test_lifting_is_the_slope_of_the_work() -> None:
    """The strand's particles and the chain drawn up, added one by one."""
    across, weight, steps = 2.0, 6.0, 2000

    def work(y: float) -> float:
        slanted = math.hypot(across / 2, y)
        total = 0.0
        # Strand from the lower end up: a piece at arc t was at height t - drawn, where drawn is what came from below.
        drawn = 2 * slanted - across
        for k in range(steps):
            t = (k + 0.5) / steps * 2 * slanted
            total += t * (across / 2) / slanted - (t - drawn)
        return total / steps * 2 * slanted * weight

    y = 0.05
    slope = (work(y + 1e-3) - work(y - 1e-3)) / 2e-3
    assert lifting(y, weight) == pytest.approx(slope, rel=0.02)
