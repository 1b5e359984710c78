"""Tolerances: what is off by how much, how builds scatter, which tolerance moves what, and how many pass."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from examples import MANTA
from scipy.stats import spearmanr

from analysis.questions import closed
from analysis.sweep import tolerances
from analysis.sweep.builds import Asked, Build, builds
from analysis.sweep.reading import Reading
from analysis.sweep.scatter import scatters, share
from analysis.sweep.tolerances import Tolerance
from models.loading import DescriptionError, changed, load

EXCESS = "stage 1 chain: excess length from the choice of links"


def _of(found: list[Tolerance], field: str) -> Tolerance:
    (one,) = (t for t in found if t.field == field)
    return one


def test_usual_tolerances_are_about_what_the_description_says() -> None:
    manta = closed(load(MANTA, {"right.panel.inner.rod": "601 mm", "right.key_angle": "3 deg"}))
    found = tolerances.usual(manta)
    assert _of(found, "left.panel.inner.rod").nominal == 0.6
    assert _of(found, "right.panel.inner.rod").nominal == 0.601
    assert _of(found, "right.key_angle").nominal == pytest.approx(np.radians(3))
    assert _of(found, "left.panel.outer.hinge.above").nominal == 0.0
    assert _of(found, "friction.bush").off == pytest.approx(0.5 * 0.12)
    assert _of(found, "stage.1.slack").nominal == pytest.approx(7.51e-3, abs=1e-5)
    plate = manta.sides[0].side.panels[0].plate
    area = 0.5 * 0.5 * (0.8 + 0.62)  # a trapezium of 800 and 620 mm, 500 mm wide
    assert _of(found, "left.panel.inner.mass").nominal == pytest.approx(area * 4e-3 * plate.density)
    assert all(t.source == "assumption" for t in found)


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_a_build_that_is_off_by_nothing_is_the_description(name: str) -> None:
    piece = load(MANTA.with_name(f"{name}.toml"))
    linkage = closed(piece)
    usual = tolerances.usual(linkage)
    same = closed(changed(piece, tolerances.changes(piece, linkage, usual, [0.0] * len(usual))))
    for a, b in zip(same.mechanism.sides, linkage.mechanism.sides, strict=True):
        for mine, theirs in zip(a.panels, b.panels, strict=True):
            for field in ("throw_radius", "throw_angle", "yoke_out", "yoke_below", "hinge_out", "hinge_up"):
                assert getattr(mine, field) == pytest.approx(getattr(theirs, field), abs=1e-12)
    assert same.mechanism.friction == linkage.mechanism.friction


def test_every_tolerance_reaches_the_mechanism() -> None:
    manta = load(MANTA)
    linkage = closed(manta)
    usual = tolerances.usual(linkage)
    for k, t in enumerate(usual):
        shares = [1.0 if n == k else 0.0 for n in range(len(usual))]
        moved = closed(changed(manta, tolerances.changes(manta, linkage, usual, shares)))
        again = _of(tolerances.usual(moved), t.field)
        assert again.nominal == pytest.approx(t.nominal + t.off, rel=1e-9), t.field
        others = [u for u in tolerances.usual(moved) if u.field != t.field]
        for other in others:
            assert other.nominal == pytest.approx(_of(usual, other.field).nominal, abs=1e-9), (
                t.field,
                other.field,
            )


@pytest.mark.parametrize(
    ("field", "text", "nominal", "off"),
    [
        ("panel.inner.rod", "1/16 in", 0.6, 1.5875e-3),
        ("right.panel.outer.throw.radius", "1 %", 0.2, 2e-3),
        ("friction.bush", "0.05", 0.12, 0.05),
        ("friction.bush", "25 %", 0.12, 0.03),
        ("wheel.diameter", "2 mm", 0.76, 2e-3),
        ("right.key_angle", "2 deg", 0.0, np.radians(2)),
        ("panel.inner.mass", "500 g", 11.151, 0.5),
        ("stage.2.slack", "2 mm", 5.88e-5, 2e-3),
        ("crank.coupling.stiffness", "10 %", 900.0, 90.0),
    ],
)
def test_own_tolerances(field: str, text: str, nominal: float, off: float) -> None:
    manta = load(MANTA)
    found = tolerances.own(manta, closed(manta), field, text)
    assert found.nominal == pytest.approx(nominal, rel=1e-3, abs=1e-12)
    assert found.off == pytest.approx(off)


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("wheel.diametre", "1 mm", "the description has no such number"),
        ("name", "1 mm", "the description has no such number"),
        ("panel.inner.rod", "1 kg", "of another kind"),
        ("panel.inner.rod", "half", "neither a quantity nor a number"),
        ("panel.inner.rod", "x %", "is no number"),
        ("panel.inner.rod", "-1 mm", "below nothing"),
    ],
)
def test_what_is_no_tolerance(field: str, text: str, words: str) -> None:
    manta = load(MANTA)
    with pytest.raises(DescriptionError, match=words):
        tolerances.own(manta, closed(manta), field, text)


def test_panels_of_both_sides_are_made_one_by_one() -> None:
    manta = closed(load(MANTA))
    rod = Tolerance("panel.inner.rod", 0.6, 1e-3, "length")
    assert [t.field for t in tolerances.both_sides(rod, manta)] == [
        "left.panel.inner.rod",
        "right.panel.inner.rod",
    ]
    wheel = Tolerance("wheel.diameter", 0.76, 1e-3, "length")
    assert tolerances.both_sides(wheel, manta) == [wheel]
    assert tolerances.without([rod, wheel], [replace(rod, off=0.0)]) == [wheel]


def test_draws_fill_the_tolerances_evenly_and_a_seed_repeats_them() -> None:
    some = [Tolerance(str(k), 0.0, 1.0, "length") for k in range(3)]
    drawn = tolerances.draws(some, 4000, seed=2)
    assert drawn.shape == (4000, 3)
    # Of an even spread: mean 0, variance 1/3, none hanging on another; all to four standard errors.
    np.testing.assert_allclose(drawn.mean(axis=0), 0, atol=4 / np.sqrt(3 * 4000))
    np.testing.assert_allclose(drawn.var(axis=0), 1 / 3, atol=4 * np.sqrt(4 / 45 / 4000))
    np.testing.assert_allclose(np.corrcoef(drawn.T) - np.eye(3), 0, atol=4 / np.sqrt(4000))
    np.testing.assert_array_equal(drawn, tolerances.draws(some, 4000, seed=2))


def test_a_value_does_not_go_below_what_it_can_be() -> None:
    slack = Tolerance("stage.2.slack", 5e-5, 1e-3, "length", 0.0)
    assert slack.at(-1.0) == 0.0
    assert slack.at(1.0) == pytest.approx(1.05e-3)


# -- how builds scatter


def _made(values: list[float], limit: float | None = None, side: str = "most") -> list[Build]:
    return [
        Build({}, (Reading("x", v, "force", limit, side if limit is not None else "", ""),)) for v in values
    ]


def test_rank_correlations_are_spearmans() -> None:
    rng = np.random.default_rng(5)
    some = [Tolerance(str(k), 0.0, 1.0, "length") for k in range(4)]
    shares = rng.uniform(-1, 1, (300, 4))
    values = 100 + np.exp(2 * shares[:, 0]) - 0.5 * shares[:, 2] ** 3 + rng.normal(0, 0.1, 300)
    (found,) = scatters(_made([100.0])[0], _made(values.tolist()), some, shares)
    assert [m.field for m in found.movers] == ["0", "2"]
    for m in found.movers:
        assert m.correlation == pytest.approx(spearmanr(shares[:, int(m.field)], values).statistic, abs=1e-12)
    assert (found.low, found.middle, found.high) == pytest.approx(tuple(np.percentile(values, (5, 50, 95))))


def test_noise_moves_nothing() -> None:
    """Of 200 sweeps of pure noise, about one in twenty may name a mover, by the division of chances."""
    rng = np.random.default_rng(7)
    some = [Tolerance(str(k), 0.0, 1.0, "length") for k in range(20)]
    named = 0
    for _ in range(200):
        shares = rng.uniform(-1, 1, (60, 20))
        (found,) = scatters(_made([1.0])[0], _made(rng.normal(100, 1, 60).tolist()), some, shares)
        named += bool(found.movers)
    assert named <= 22  # 10 expected; 22 is four standard deviations above


def test_what_cannot_be_run_passes_nothing() -> None:
    made = [*_made([1.0, 2.0, 3.0, 4.0], limit=2.5), Build({}, reason="too short")]
    shares = np.zeros((5, 1))
    (found,) = scatters(made[0], made, [Tolerance("a", 0, 1, "length")], shares)
    assert found.share == pytest.approx(2 / 4)
    passing = share(made)
    assert passing.value == pytest.approx(2 / 5)
    # Wilson 1927 for 2 of 5 at 95 %: 0.1176 to 0.7693 (computed from his formula).
    z = 1.959964
    centre, half = (2 + z**2 / 2) / (5 + z**2), z / (5 + z**2) * np.sqrt(2 * 3 / 5 + z**2 / 4)
    assert (passing.low, passing.high) == pytest.approx((centre - half, centre + half), abs=1e-6)
    assert share(made, []).value == pytest.approx(4 / 5)


@pytest.mark.slow
def test_a_chains_slack_scatters_as_it_was_drawn(tmp_path: Path) -> None:
    """From tolerance to finding: the excess length itself is even between its limits, and slack alone moves it."""
    manta = load(MANTA)
    linkage = closed(manta)
    wanted = [
        _of(tolerances.usual(linkage), f) for f in ("stage.1.slack", "friction.bush", "left.panel.inner.rod")
    ]
    shares = tolerances.draws(wanted, 60, seed=1)
    changes = [tolerances.changes(manta, linkage, wanted, row.tolist()) for row in shares]
    nominal, *made = builds(manta, [{}, *changes], Asked(only=(), angles=1), kept=tmp_path / "kept.jsonl")
    assert all(not b.reason for b in (nominal, *made))
    (found,) = (s for s in scatters(nominal, made, wanted, shares) if s.nominal.name == EXCESS)
    assert [m.field for m in found.movers] == ["stage.1.slack"]
    assert found.movers[0].correlation == pytest.approx(1.0)
    drawn = 7.51e-3 + 1e-3 * np.percentile(shares[:, 0], (5, 50, 95))
    assert (found.low, found.middle, found.high) == pytest.approx(tuple(drawn), abs=2e-5)
