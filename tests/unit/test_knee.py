"""The knee of a curve over mass: by hand."""

import numpy as np
import pytest

from analysis.knee import knee


def test_the_point_farthest_below_the_chord() -> None:
    """In a square of side 1 the points lie at 0 1, .25 .3, .5 .1 and 1 0: .45 and .4 below the chord."""
    found = knee([10, 20, 30, 50], [2.0, 1.3, 1.1, 1.0])
    assert found.at == 1
    assert found.kept == (0, 1, 2, 3)
    assert (found.before, found.beyond) == pytest.approx((0.07, 0.01))
    assert found.why == ""


def test_scales_do_not_matter_and_neither_does_the_order() -> None:
    mass, left = np.array([10, 20, 30, 50]), np.array([2.0, 1.3, 1.1, 1.0])
    order = [2, 0, 3, 1]
    found = knee((1e3 * mass)[order].tolist(), (7 * left)[order].tolist())
    assert found.at == 3
    assert found.kept == (1, 3, 0, 2)
    assert found.before == pytest.approx(0.07 * 7 / 1e3)


def test_what_is_heavier_and_no_better_is_no_point_of_the_curve() -> None:
    """40 kg that leave more than 30 kg, and 60 kg that leave .5 % less than 50 kg: less than peaks may move."""
    found = knee([10, 20, 30, 40, 50, 60], [2.0, 1.3, 1.1, 1.2, 1.0, 0.995])
    assert found.kept == (0, 1, 2, 4)
    assert found.at == 1


def test_of_equal_masses_the_better_counts() -> None:
    assert knee([10, 10, 20, 50], [2.2, 2.0, 1.2, 1.0]).kept == (1, 2, 3)


@pytest.mark.parametrize(
    ("mass", "left", "why"),
    [
        ([10, 20, 30], [3.0, 2.0, 1.0], "each buys about as much as the one before"),
        ([10, 20, 30], [3.0, 2.8, 1.0], "the last buy the most"),
        ([10, 20], [3.0, 1.0], "it takes three, each better than all lighter ones"),
        ([10, 20, 30], [3.0, 1.0, 1.0], "it takes three, each better than all lighter ones"),
        ([10, 20, 30], [3.0, 3.0, 3.1], "none is better than the lightest"),
        ([10], [3.0], "it takes three, each better than all lighter ones"),
        ([], [], "it takes three, each better than all lighter ones"),
        ([10, 20, 30], [float("nan")] * 3, "it takes three, each better than all lighter ones"),
    ],
)  # fmt: skip
def test_why_there_is_none(mass: list[float], left: list[float], why: str) -> None:
    found = knee(mass, left)
    assert found.at is None
    assert found.why == why
    assert np.isnan([found.before, found.beyond]).all()
