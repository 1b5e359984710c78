"""Couplings: what is asked of a size, and which kinds the demo could take."""

import math
from dataclasses import replace

import pytest
from parts_basis import demo

from analysis.coupling_fit import Misaligned
from analysis.coupling_verdicts import joinings
from analysis.parts import couplings
from analysis.parts.basis import Basis
from analysis.parts.choice import Check
from analysis.parts.couplings import Asked, Torque, checks, judged
from models.drive import Coupling
from models.parts.catalogue import catalogue
from models.parts.couplings import COUPLINGS, CouplingSize

ROWS = {(c.kind, c.insert, c.size): c for c in catalogue(COUPLINGS)}
SPIDER = ROWS["spider", "98 Shore A", "28"]
CARDAN = ROWS["double cardan", "none", "30"]
CLAMP = ROWS["clamp", "none", "25"]
COUPLING = Coupling("elastic", 0.6, 0.065, 900.0, 1.8, 0.0, 120.0, 5.0, math.radians(1), 4e-4, None)
ASKED = Asked(
    where="coupling", count=2, coupling=COUPLING, off=Misaligned(math.radians(0.3), 1e-4), force=200.0, moment=11.0,
    shafts=(0.025, 0.0254), used=Torque(20.0, "turn", 0.0), reversing=Torque(19.0, "let-go", 1.0),
    met=Torque(70.0, "gust", None), bound=Torque(300.0, "blocked", None), shock=2.0,
)  # fmt: skip


def found(row: CouplingSize, asked: Asked = ASKED) -> dict[str, Check]:
    return {c.what: c for c in checks(asked, row)}


def test_torques_with_the_service_factor() -> None:
    got = found(SPIDER)
    assert (got["peak torque in use times 5"].demand, got["peak torque in use times 5"].allowed) == (100, 160)
    assert got["peak reversing torque in use times 5"].demand == 95
    assert (got["worst peak torque met times 2"].demand, got["worst peak torque met times 2"].allowed) == (
        140,
        320,
    )
    blocked = got["torque with a panel blocked, upper bound"]
    assert (blocked.demand, blocked.allowed) == (300, 320)  # as it is, without the factor for sudden loads


def test_a_clamp_has_the_factor_for_sudden_loads_and_slips_when_blocked() -> None:
    got = found(CLAMP)
    assert got["peak torque in use times 2"].demand == 40
    assert not any("blocked" in w for w in got)
    verdict = judged(ASKED, CLAMP)
    assert verdict is not None
    assert (verdict.share, verdict.force, verdict.moment) == (None, 200.0, 11.0)
    assert judged(replace(ASKED, force=None), CLAMP) is None


def test_bores() -> None:
    thick = found(SPIDER, replace(ASKED, shafts=(0.04, 0.0254)))
    assert not thick["thicker shaft in its bore"].holds
    thin = found(SPIDER, replace(ASKED, shafts=(0.008, 0.0254)))
    assert not thin["least bore for the thinner shaft"].holds
    assert all(
        found(SPIDER)[w].holds for w in ("thicker shaft in its bore", "least bore for the thinner shaft")
    )


def test_shares_of_misalignment() -> None:
    # .3 of .9 deg and .1 of .25 mm, added; the cardan's joint that turns most, of 25 deg.
    share = "share of the misalignment that it allows"
    assert found(SPIDER)[share].demand == pytest.approx(0.3 / 0.9 + 0.1 / 0.25)
    lean = math.asin(1e-4 / CARDAN.outside / 2)
    assert found(CARDAN)[share].demand == pytest.approx(
        (math.radians(0.3) - lean) / math.radians(25), rel=1e-6
    )


def test_a_described_clamp_of_which_no_run_tells_has_nothing_asked_of_its_rating() -> None:
    quiet = replace(ASKED, used=None, reversing=None, met=None, bound=None)
    assert couplings.described(replace(quiet, coupling=replace(COUPLING, kind="clamp")), "clamp") is None
    spider = couplings.described(quiet, "spider")
    assert spider is not None
    assert [c.what for c in spider.checks] == ["share of the misalignment that it allows"]


def test_couplings_of_the_demo() -> None:
    basis = demo()
    metric, inch = couplings.lines(basis)
    for line in (metric, inch):
        assert (line.family, line.where, line.count) == ("spider coupling", "coupling", 2)
        # Bow, load and bearings miss by more than any insert allows.
        assert line.chosen is None
        assert line.nearest is not None
        assert line.nearest.tightest.what == "share of the misalignment that it allows"
        assert line.described is not None
        # So does the described one's: 1 deg and .4 mm, the usual limits of its kind.
        off = joinings(basis.linkage)[0].off
        share = next(c for c in line.described.checks if c.what == "share of the misalignment that it allows")
        assert share.demand == pytest.approx(math.degrees(off.angular) / 1 + off.parallel / 4e-4)
        assert not share.holds
        assert any("does not suit reversing duty" in n for n in line.notes)
    beyond = [f.what for f in metric.findings if f.beyond]
    rated = "spider coupling rated 120 N m (89 ft lbf)"
    assert beyond == [
        f"torque with a panel blocked, upper bound, {rated}",
        f"share of the misalignment that it allows, {rated}",
    ]


def test_a_clamp_for_which_there_is_no_bore_is_told_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    # A crankshaft of 1 in on a centre shaft of 30 mm: no clamp has both bores.
    odd = replace(ASKED, coupling=replace(COUPLING, kind="clamp", rated=None), shafts=(0.0254, 0.03))

    def only(basis: Basis) -> tuple[Asked, ...]:
        del basis
        return (odd,)

    monkeypatch.setattr(couplings, "asked", only)
    (line,) = couplings.lines(demo())
    assert (line.family, line.count, line.system, line.shown) == ("clamp coupling", 2, "", None)
    assert "25.4 mm (1 in) and 30 mm (1.18 in): give a maker's table" in line.notes[0]
    assert not any("joins no second shaft" in n for n in line.notes)
    odd = replace(odd, force=None, moment=None)
    assert any("joins no second shaft" in n for n in couplings.lines(demo())[0].notes)


def test_kinds_that_the_demo_could_take() -> None:
    (table,) = couplings.tables(demo())
    rows = [dict(zip(table.rows[0], r, strict=True)) for r in table.rows[1:]]
    assert {r["kind"] for r in rows} == {"spider", "clamp", "double cardan"}
    for row in rows:
        if row["kind"] == "spider":
            assert row["share of misalignment used"].endswith("BEYOND")
            assert row["reversing duty"].startswith("does not suit")
        if row["kind"] == "double cardan":
            assert not row["share of misalignment used"].endswith("BEYOND")
            assert row["reversing duty"].startswith("suits")
    metric_clamp = next(r for r in rows if r["kind"] == "clamp" and r["system"] == "metric")
    assert metric_clamp["size by torque and bore"] == "none has a bore of 25.4 mm (1 in)"
