"""Flywheels of textbooks: an energy that fluctuates, the inertia, and the speeds between which it runs; and a knee.

Each book's wheel is a `Coasting` of constant inertia whose potential energy has that fluctuation.
"""

import numpy as np
from evidence import Outside

from analysis.knee import knee
from sim.coasting import Coasting, Round

INCH_POUND = 0.3048 / 12 * 4.4482216152605
"""N m."""
SHIGLEY = (
    "Budynas & Nisbett, Shigley's Mechanical Engineering Design, published solutions to chapter 16, "
    "p. 417 (an excerpt)"
)
TEXTBOOK = "Theory of Machines (Khurmi & Gupta, authors from memory), example 16.1, in a published companion notebook"
KNEEDLE = (
    "Satopaa et al., Finding a Kneedle in a Haystack, 2011, figure 2, as the documentation of kneed gives it"
)
TURN = np.linspace(0, 2 * np.pi, 1440, endpoint=False)


def wheel(energy: float, inertia: float) -> Coasting:
    """Give a wheel of constant inertia, kg m2, whose energy fluctuates by so many J."""
    return Coasting(TURN, energy / 2 * np.cos(TURN), np.full(len(TURN), inertia), 1.0)


def about(energy: float, inertia: float, mean: float) -> Round:
    found = wheel(energy, inertia).at_mean(mean)
    assert found is not None
    return found


def test_press(outside: Outside) -> None:
    """110.72 in lbf s2 that give 88 502 in lbf about 121.11 rad/s."""
    found = about(88502 * INCH_POUND, 110.72 * INCH_POUND, 121.11)
    outside(
        "fastest and slowest speed of a press's flywheel of 110.72 in lbf s2 that gives 88502 in lbf about "
        "121.11 rad/s, rad/s",
        source=SHIGLEY, seen="read", expected=(124.41, 117.81), got=(found.fastest, found.slowest), absolute=0.005,
        reason="printed to .01; an excerpt was seen, not the problem's statement",
    )  # fmt: skip
    outside(
        "its coefficient of speed fluctuation",
        source=SHIGLEY, seen="read", expected=0.0545, got=found.coefficient, absolute=5e-5, reason="printed so",
    )  # fmt: skip


def test_rolling_mill(outside: Outside) -> None:
    """6.5 t on a radius of gyration of 1.8 m that give 56 kN m about 120 rpm."""
    found = about(56e3, 6500 * 1.8**2, 120 * np.pi / 30)
    outside(
        "fastest and slowest speed of a flywheel of 6.5 t and 1.8 m radius of gyration, 56 kN m about 120 rpm, rpm",
        source=TEXTBOOK, seen="read", expected=(121.0, 119.0),
        got=tuple(x * 30 / np.pi for x in (found.fastest, found.slowest)), absolute=0.5, reason="printed in whole rpm",
    )  # fmt: skip


def test_knee(outside: Outside) -> None:
    """-1 / (x + .1) + 5 over 0 to 1 in nine steps rises; turned over it falls, with its knee at the same place."""
    x = np.linspace(0, 1, 10)
    found = knee(x.tolist(), (1 / (x + 0.1)).tolist())
    assert found.at is not None
    outside(
        "knee of -1 / (x + 0.1) + 5 over ten places from 0 to 1, which is that of its mirror image",
        source=KNEEDLE, seen="read", expected=0.22, got=float(x[found.at]), absolute=0.005, reason="printed so",
    )  # fmt: skip
