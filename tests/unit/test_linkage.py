"""Loop closure against direct geometry, published displacement tables and its own derivatives."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.loading import load
from models.mechanism import Mechanism
from models.resolve import mechanism
from sim.linkage import CannotClose, close, extreme, reach

MODELS = Path(str(files("models")))


@pytest.fixture(scope="module")
def manta() -> Mechanism:
    return mechanism(load(MODELS / "manta.toml"))


CRANK = np.linspace(0, 2 * np.pi, 721)


def test_rods_keep_their_length_and_yokes_their_radius(manta: Mechanism) -> None:
    for course in close(manta.sides[0]).course(CRANK):
        rod = np.linalg.norm(course.yoke.value - course.pin.value, axis=1)
        arm = course.yoke.value - course.hinge.value
        # Closed form: only rounding remains.
        np.testing.assert_allclose(rod, course.panel.rod.length, atol=1e-13)
        np.testing.assert_allclose(
            np.linalg.norm(arm, axis=1), np.hypot(course.panel.yoke_out, course.panel.yoke_below), atol=1e-13
        )


def test_angle_ranges_of_the_demo(manta: Mechanism) -> None:
    # The description states the ranges that were found by hand: inner about -17.5 to 18.4, outer -39 to 26.
    inner, outer = (np.degrees(c.angle.value) for c in close(manta.sides[0]).course(CRANK))
    assert inner.min() == pytest.approx(-17.5, abs=0.05)
    assert inner.max() == pytest.approx(18.4, abs=0.05)
    assert outer.min() == pytest.approx(-39, abs=0.5)
    assert outer.max() == pytest.approx(26, abs=0.5)


@pytest.mark.parametrize("name", ["angle", "hinge", "yoke", "pin"])
def test_rates_are_the_derivatives(manta: Mechanism, name: str) -> None:
    # Central differences of step d are off by f''' d^2 / 6; with d = 1e-4 and f''' of order 1 to 100 that is
    # below 2e-7, and rounding adds 1e-12 / d.
    d = 1e-4
    linkage = close(manta.sides[0])
    for before, here, after in zip(*(linkage.course(CRANK + k * d) for k in (-1, 0, 1)), strict=True):
        a, b, c = (getattr(x, name) for x in (before, here, after))
        np.testing.assert_allclose((c.value - a.value) / (2 * d), b.first, atol=1e-6)
        np.testing.assert_allclose((c.first - a.first) / (2 * d), b.second, atol=1e-5)


def test_mirror_and_key_angle(manta: Mechanism) -> None:
    left = manta.sides[0]
    late = replace(left, key_angle=np.radians(10))
    for a, b in zip(close(left).course(CRANK + np.radians(10)), close(late).course(CRANK), strict=True):
        np.testing.assert_allclose(a.angle.value, b.angle.value, atol=1e-12)


def test_folds_follow_an_observed_angle(manta: Mechanism) -> None:
    side = manta.sides[0]
    natural = close(side)
    inner = side.panels[0]
    other = -natural.folds[0]
    crank = np.array([0.3])
    there = close(replace(side, panels=(inner,)))
    wanted = float(replace(there, folds=(other,)).course(crank)[0].angle.value[0])
    seen = replace(inner, seen_panel=wanted + 0.05, seen_crank=0.3)
    assert close(replace(side, panels=(seen,))).folds == (other,)
    nearer = float(there.course(crank)[0].angle.value[0])
    assert close(replace(side, panels=(replace(inner, seen_panel=nearer, seen_crank=0.3),))).folds == (
        natural.folds[0],
    )


def test_rod_interval_is_sharp(manta: Mechanism) -> None:
    """Lengths just inside the stated interval close, just outside they do not."""
    side = replace(manta.sides[0], panels=manta.sides[0].panels[:1])
    panel = side.panels[0]
    course = close(side).course(np.linspace(0, 2 * np.pi, 1440, endpoint=False))[0]
    least, greatest = reach(panel, course.pin, course.hinge)
    low, high = extreme(least), -extreme(-greatest)

    def with_rod(length: float) -> None:
        close(replace(side, panels=(replace(panel, rod=replace(panel.rod, length=length)),)))

    # The parabola through samples a quarter of a degree apart finds the extreme to far below a micrometre.
    for length in (low + 1e-6, high - 1e-6):
        with_rod(length)
    for length in (low - 1e-6, high + 1e-6):
        with pytest.raises(CannotClose, match="would"):
            with_rod(length)


def test_words_of_a_short_rod(manta: Mechanism) -> None:
    side = manta.sides[0]
    outer = side.panels[1]
    short = replace(side, panels=(side.panels[0], replace(outer, rod=replace(outer.rod, length=0.5))))
    with pytest.raises(CannotClose) as caught:
        close(short, "manta.toml")
    words = str(caught.value)
    assert words.startswith("manta.toml: left side, panel 'outer': rod 0.5000 m cannot reach between crank")
    # The crank angles named are those where the distance to the yoke's circle exceeds the rod.
    low, high = (float(x) for x in words.split("crank angles ")[1].split(" deg")[0].split(" and "))
    full = close(side).course(np.radians(np.array([low - 2, low + 2, high - 2, high + 2])))[1]
    least, _ = reach(outer, full.pin, full.hinge)
    assert [d > 0.5 for d in least] == [False, True, True, False]


def test_no_rod_length_would(manta: Mechanism) -> None:
    side = replace(manta.sides[0], panels=manta.sides[0].panels[:1])
    panel = replace(side.panels[0], throw_radius=0.6)
    with pytest.raises(CannotClose, match="no rod length closes the whole turn"):
        close(replace(side, panels=(panel,)))


def test_a_quadrilateral_in_a_plane(manta: Mechanism) -> None:
    """A throw that turns in the rod's own plane is a planar crank-rocker: compare with cosine-law geometry.

    Here crank and yoke circles lie in planes square to each other, so the planar case is the instant when the
    pin is straight above the crank: then hinge, yoke and pin lie in one plane and triangles give the angle.
    """
    side = replace(manta.sides[0], panels=manta.sides[0].panels[:1])
    p = side.panels[0]
    at_top = np.array([0.0])
    angle = float(close(side).course(at_top)[0].angle.value[0])
    pin = np.array([p.throw_out, p.throw_radius])
    hinge = np.array([p.hinge_out, p.hinge_up])
    arm, rod = np.hypot(p.yoke_out, p.yoke_below), p.rod.length
    apart = float(np.linalg.norm(pin - hinge))
    corner = np.arccos((arm**2 + apart**2 - rod**2) / (2 * arm * apart))
    toward = np.arctan2(*(pin - hinge)[::-1])
    level = np.arctan2(-p.yoke_below, p.yoke_out)
    assert angle == pytest.approx(toward + corner - level, abs=1e-12)
