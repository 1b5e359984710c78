"""Rod ends: what is asked of them, from formulas to the demo's schedule."""

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import pytest
from parts_basis import demo
from rod_eyes import MODELS, eye, rows, settled, size

from analysis.envelope import Envelope
from analysis.loads import Loads
from analysis.parts import ball_joints as ball
from analysis.parts import rod_ends, rods
from analysis.parts.basis import Basis
from analysis.parts.choice import line
from analysis.parts.rod_ends import Asked, checks
from analysis.parts.rod_fitting import fitting
from analysis.parts.rod_loads import Extent, Eye, Load
from models.loading import DescriptionError, changed, load
from models.mechanism import Mechanism
from models.parts.catalogue import catalogue, read
from models.parts.rod_ends import ROD_ENDS, RodEnd
from models.parts.threads import Thread
from models.resolve import mechanism
from models.strengths import strength
from sim.builders import linkage
from sim.campaign import Campaign

M12 = Thread("M12", 0.012, 0.00175)


def judged(row: RodEnd, sitting: Eye, made: Mechanism | None = None) -> dict[str, Any]:
    return {c.what: c for c in checks(Asked(sitting, made or settled(), row.system), row)}


# --- Formulas ---


def test_wear_is_archards_law_summed_over_a_turn() -> None:
    k, width, diameter, force = 2e-15, 0.012, 0.0222, 500.0
    pressure, path = force / (diameter * width), math.pi * diameter
    assert ball.worn(2 * math.pi * force, 7.0, width, k) == pytest.approx(7 * k * pressure * path, rel=1e-12)


def test_pressure_times_speed_is_that_of_the_projected_area() -> None:
    force, omega, width, diameter = 500.0, 0.7, 0.012, 0.0222
    by_hand = force / (diameter * width) * omega * diameter / 2
    assert ball.pressure_speed(force * omega, width) == pytest.approx(by_hand, rel=1e-12)


def test_stress_of_a_thread_adds_pull_and_bending() -> None:
    d = 12e-3 - 0.938194 * 1.75e-3
    pull = 1000 / (math.pi / 4 * d**2)
    assert ball.thread_stress(M12, 1000.0, 0.0) == pytest.approx(pull, rel=1e-12)
    bent = ball.thread_stress(M12, 1000.0, ball.friction_moment(0.2, 1000.0, 0.022)) - pull
    # M c / I of a round bar.
    assert bent == pytest.approx(0.2 * 1000 * 0.011 * (d / 2) / (math.pi * d**4 / 64), rel=1e-12)


def test_fatigue_of_a_thread_by_hand() -> None:
    steel = strength("1045 steel")
    root = 12e-3 - 1.226869 * 1.75e-3
    area, section = math.pi / 4 * root**2, math.pi / 32 * root**3
    loads = ball.Range(3000.0, 1000.0, 4.0)
    surface = 4.51 * (steel.ultimate / 1e6) ** -0.265
    limit = steel.fatigue * surface * (root * 1e3 / 7.62) ** -0.107 * 0.814
    amplitude = 2.8 * (4.0 / section + 2000 / area / 0.85)
    by_hand = 1 / (amplitude / limit + 2.8 * 1000 / area / steel.ultimate)
    # The temperature factor at 20 C is within .3 % of 1.
    assert ball.thread_safety(M12, loads, steel, 310e6) == pytest.approx(by_hand, rel=3e-3)


def test_a_thread_under_no_load_never_breaks() -> None:
    assert ball.thread_safety(M12, ball.Range(0, 0, 0), strength("1045 steel"), 310e6) == math.inf


@pytest.mark.parametrize("more", [(2, 1, 1), (1, 2, 1), (1, 1, 2)])
def test_a_thread_is_the_less_safe_the_more_it_carries(more: tuple[int, int, int]) -> None:
    base = (1000.0, 900.0, 3.0)
    loads = ball.Range(*(x * k for x, k in zip(base, more, strict=True)))
    steel = strength("A36 steel")
    assert ball.thread_safety(M12, loads, steel, 250e6) < ball.thread_safety(
        M12, ball.Range(*base), steel, 250e6
    )


def test_stronger_steel_feels_the_notch_more() -> None:
    assert ball.thread_factor(500e6).value < ball.thread_factor(900e6).value


# --- The catalogue ---


def test_every_series_has_its_sizes_in_both_systems() -> None:
    for kind in ("lined", "greased"):
        for series in ("standard", "wide swivel"):
            for system in ("metric", "inch"):
                found = rows(kind=kind, series=series, system=system)
                assert len(found) >= 9
                assert [r.bore for r in found] == sorted(r.bore for r in found)
                assert all(
                    "read" in r.source or "memory" in r.source or "assumption" in r.source for r in found
                )


@pytest.mark.parametrize("row", catalogue(ROD_ENDS), ids=lambda r: f"{r.size} {r.series} {r.kind}")
def test_the_rows_are_bodies_that_can_be(row: RodEnd) -> None:
    assert row.bore < row.ball < row.head
    assert row.housing < row.width
    # The ball's flat faces are wider than its bore: the wide ones have collars instead.
    assert row.series == "wide swivel" or math.hypot(row.bore, row.width) < row.ball * (1 + 1e-9)
    assert row.thread_length < row.length
    if row.system == "metric":
        major, _, pitch = row.thread.removeprefix("M").partition("x")
        assert row.thread_diameter == pytest.approx(float(major) / 1e3)
        assert not pitch or row.pitch == pytest.approx(float(pitch) / 1e3)
    else:
        assert row.pitch == pytest.approx(0.0254 / int(row.thread.split()[-2].split("-")[1]))
    # What every size is rated for pulls its thread no harder than mild steel stands.
    assert row.static / row.screw.stress_area < 250e6
    assert (row.wear_depth is None) == (row.kind == "greased")


@pytest.mark.parametrize("row", rows(series="wide swivel"), ids=lambda r: r.size)
def test_wide_ones_have_room_to_swivel_beside_a_collar(row: RodEnd) -> None:
    collar = row.bore + 2 * max(1e-3, 0.08 * row.bore)
    # The eye's edge, housing / 2 from its middle, meets the collar where acos(collar / ball) is used up.
    room = math.acos(collar / row.ball) - math.asin(row.housing / row.ball)
    assert room >= row.swivel - 1e-9
    assert row.width >= row.ball * math.sin(row.swivel + math.asin(row.housing / row.ball)) - 5e-4


def test_a_makers_table_is_read_or_refused() -> None:
    first = next(iter(catalogue(ROD_ENDS)))
    cells = {
        "size": "6 mm", "system": "metric", "series": "standard", "kind": "lined", "bore": "6 mm", "width": "9 mm",
        "housing": "6.75 mm", "ball": "12.7 mm", "head": "20 mm", "thread": "M6", "thread_diameter": "6 mm",
        "pitch": "1 mm", "thread_length": "22 mm", "length": "36 mm", "female_length": "", "female_depth": "",
        "static": "4 kN", "dynamic": "3 kN", "swivel": "13 deg", "mass": "20 g", "wear_depth": "", "source": "theirs",
    }  # fmt: skip
    text = ",".join(cells) + "\n" + ",".join(cells.values()) + "\n"
    (row,) = read(ROD_ENDS, text, "mine.csv")
    assert (row.dynamic, row.female_length, row.wear_depth) == (3000.0, None, None)
    assert set(vars(row)) == set(vars(first))
    with pytest.raises(DescriptionError) as refused:
        read(ROD_ENDS, text.replace("lined", "dry").replace("4 kN", "4 kg"), "mine.csv")
    said = str(refused.value)
    assert "row 2, size '6 mm', column kind: 'dry' is not one of its words; write lined or greased" in said
    assert "column static" in said


# --- The description ---


def test_what_a_description_leaves_open_is_settled_with_its_source() -> None:
    m = settled()
    named = {d.field: d for d in m.defaults}
    for field in ("kind", "series", "material", "wear", "interval", "pressure_speed"):
        assert named[f"rod_ends.{field}"].source
    for field in ("ends", "eccentric", "engagement"):
        assert named[f"rods.{field}"].source
    assert (m.rod_making.kind, m.rod_making.series, m.rod_making.ends) == ("lined", "standard", "tapped")


def test_the_series_follows_the_swivel_and_the_ends_the_bar() -> None:
    made = settled("manta").rod_making
    assert (made.series, made.ends, made.material) == ("wide swivel", "threaded", "304 stainless")
    given = settled("manta", (("rod_ends.series", "standard"), ("rods.ends", "tapped"))).rod_making
    assert (given.series, given.ends) == ("standard", "tapped")
    assert settled("moth", (("rods.material", "6061-T6 aluminium"),)).rod_making.engagement == 2.0


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("rod_ends.kind", "dry", "rod_ends.kind"),
        ("rod_ends.series", "wide", "rod_ends.series"),
        ("rod_ends.wear", "1 mm3/(N m)", "write a rate between"),
        ("rod_ends.wear", "1e-6", "wear"),
        ("rod_ends.pressure_speed", "0.3 MPa", "MPa"),
        ("rod_ends.interval", 0, "rod_ends.interval"),
        ("rods.engagement", 9.0, "rods.engagement"),
        ("rods.eccentric", "-1 mm", "write a length"),
        ("rods.ends", "welded", "rods.ends"),
    ],
)
def test_nonsense_is_refused(field: str, value: object, words: str) -> None:
    with pytest.raises(DescriptionError, match=words.replace(".", r"\.")):
        mechanism(changed(load(MODELS / "moth.toml"), {field: value}))


# --- What is asked ---


def test_everything_is_asked_and_said() -> None:
    found = judged(size("12 mm"), eye())
    assert set(found) == {
        rod_ends.BORE, rod_ends.SWIVEL, rod_ends.BETWEEN, rod_ends.TILTED, rod_ends.ENGAGED, rod_ends.STATIC,
        rod_ends.SIDEWAYS,
        rod_ends.REVERSING, rod_ends.PRESSURE, rod_ends.WEAR, rod_ends.SHANK, rod_ends.FATIGUE,
    }  # fmt: skip
    assert all(c.source and c.case for c in found.values())
    assert found[rod_ends.STATIC].demand == pytest.approx(200.0)
    assert found[rod_ends.STATIC].allowed == 12e3
    assert found[rod_ends.WEAR].demand == pytest.approx(5.5e-15 * 2 * math.pi * 100 / (2 * 0.012) * 1e5)
    dynamic = judged(replace(size("12 mm"), dynamic=9e3), eye())
    assert dynamic[rod_ends.DYNAMIC].allowed == 9e3
    greased = judged(size("12 mm", kind="greased"), eye())
    assert rod_ends.WEAR not in greased


def test_a_load_in_one_direction_may_be_larger() -> None:
    both, one = judged(size("12 mm"), eye()), judged(size("12 mm"), eye(pull=False))
    assert both[rod_ends.REVERSING].allowed == pytest.approx(12e3 / 5)
    assert one[rod_ends.ONE_WAY].allowed == pytest.approx(12e3 / 3)
    assert rod_ends.REVERSING not in one


def test_more_load_never_leaves_more_margin() -> None:
    for row in rows():
        few, many = judged(row, eye(100.0)), judged(row, eye(300.0))
        for what, check in few.items():
            assert many[what].margin <= check.margin
        for what in (rod_ends.STATIC, rod_ends.REVERSING, rod_ends.WEAR, rod_ends.SHANK, rod_ends.FATIGUE):
            assert many[what].margin < few[what].margin


@pytest.mark.parametrize(
    ("sitting", "changes", "reason"),
    [
        (eye(10.0), (), rod_ends.BORE),
        (eye(0.2, turns=1e9), (), rod_ends.WEAR),
        (eye(10.0, swivel=math.radians(14)), (), rod_ends.SWIVEL),
        (eye(400.0, pull=False, changes={"met": Load(8e3, "gust")}), (("friction.rod_end", 0.0),), rod_ends.STATIC),
        (eye(2500.0, turns=1.0, changes={"met": Load(2500.0, "x")}),
         (("friction.rod_end", 0.0), ("rods.eccentric", "0 mm")), rod_ends.REVERSING),
        (eye(1500.0, turns=1.0), (("friction.rod_end", 0.3),), rod_ends.FATIGUE),
        (eye(1.0, turns=1.0, changes={"met": Load(4e3, "gust"), "ever": Extent(push=Load(4e3, "gust"))}),
         (("friction.rod_end", 0.8),), rod_ends.SHANK),
        (eye(10.0, changes={"ever": Extent(across=Load(900.0, "gust"))}), (), rod_ends.SIDEWAYS),
    ],
)  # fmt: skip
def test_the_smaller_size_fails_for_the_named_reason(sitting: Eye, changes: Any, reason: str) -> None:
    made = settled("moth", (("rod_ends.swivel", "15 deg"), *changes))
    asked = Asked(sitting, made, "metric")
    found = line("rod end", "here", rows(), lambda r: checks(asked, r), system="metric")
    assert found.governs is not None
    assert found.governs.what == reason
    if found.chosen is not None:
        before = [r.size for r in rows()]
        assert found.nearest is not None
        assert before.index(found.chosen.size) == before.index(found.nearest.size) + 1


def test_engaged_thread_rules_out_what_has_too_little() -> None:
    made = settled("moth", (("rods.engagement", 2.2),))
    assert not judged(size("12 mm"), eye(), made)[rod_ends.ENGAGED].holds
    fitted = fitting(size("12 mm"), made.rod_making, 0.38)
    assert fitted is not None
    assert (fitted.least, fitted.most) == (pytest.approx(0.0264), pytest.approx(0.026))


def test_a_wide_gap_between_webs_is_needed_for_a_wide_ball() -> None:
    made = settled("moth", (("crank.web.gap", "15 mm"),))
    assert not judged(size("12 mm"), eye(), made)[rod_ends.BETWEEN].holds
    assert rod_ends.BETWEEN not in judged(size("12 mm"), eye(at="yoke"), made)


def test_the_thread_is_of_whatever_has_it() -> None:
    strong = settled(
        "moth", (("rods.ends", "threaded"), ("rods.material", "1045 steel"), ("rod_ends.material", "acetal"))
    )
    weak = settled(
        "moth", (("rods.ends", "tapped"), ("rods.material", "1045 steel"), ("rod_ends.material", "acetal"))
    )
    assert rod_ends.FATIGUE in judged(size("12 mm"), eye(), strong)
    assert rod_ends.FATIGUE not in judged(size("12 mm"), eye(), weak)
    assert judged(size("12 mm"), eye(), weak)[rod_ends.SHANK].allowed == pytest.approx(65e6 / 1.5)


# --- The demo ---


@pytest.mark.slow
def test_the_demos_rod_ends() -> None:
    basis = demo()
    found = rod_ends.lines(basis)
    assert [x.where for x in found if x.system == "metric"] == [
        "inner rod end at crank", "inner rod end at yoke", "outer rod end at crank", "outer rod end at yoke",
    ]  # fmt: skip
    assert {x.count for x in found} == {2}
    for x in found:
        assert x.chosen is not None
        assert x.chosen.size == ("12 mm" if x.system == "metric" else "1/2 in")
        # The pin that it sits on keeps it from being smaller, not any load.
        assert x.governs is not None
        assert x.governs.what == rod_ends.BORE
        assert (x.described is not None) == (x.system == "metric")
        said = " ".join(x.notes)
        assert "upper bound" in said
        assert "visitors" in said
        assert "83.4 kN" in said or "45.8 kN" in said
    static = next(c for c in found[0].chosen.checks if c.what == rod_ends.STATIC) if found[0].chosen else None
    worst = basis.loads.met["left inner rod end at crank", "largest force"]
    assert static is not None
    assert static.demand == pytest.approx(2 * worst.value)
    assert static.case == basis.loads.case(worst)
    findings = [f for x in found for f in x.findings]
    assert findings
    assert not any(f.beyond for f in findings)


# --- Without any load case ---


def bare(
    *changes: tuple[str, object], name: str = "manta", makers: Mapping[str, Path] | None = None
) -> Basis:
    """What a turn in ordinary use alone says."""
    loads = Loads(linkage(settled(name, changes)), Campaign((), (), (), ()), Envelope((), {}))
    return Basis(loads, cast("Any", None), makers=makers or {})


def test_a_turn_in_use_counts_without_any_load_case() -> None:
    found = rod_ends.lines(bare())
    duty = bare().duty["left inner rod end at crank"]
    static = (
        next(c for c in found[0].described.checks if c.what == rod_ends.STATIC)
        if found[0].described
        else None
    )
    assert static is not None
    assert (static.demand, static.case) == (pytest.approx(2 * duty.size.max()), "in use")
    assert len(found) == 8


def test_sides_that_differ_have_lines_of_their_own() -> None:
    found = rod_ends.lines(bare(("left.panel.inner.rod", "601 mm")))
    assert len(found) == 16
    assert {x.count for x in found} == {1}
    assert found[0].where == "left inner rod end at crank"


def test_an_inch_pin_is_described_in_inches() -> None:
    found = rod_ends.lines(bare(("crank.pin", "1/2 in")))
    assert [x.described.size if x.described else None for x in found[:2]] == [None, "1/2 in"]
    assert not any(x.described for x in rod_ends.lines(bare(("crank.pin", "13 mm"))))


def test_a_described_ball_and_swivel_are_used() -> None:
    narrow = rod_ends.lines(bare(("rod_ends.swivel", "18 deg")))
    worst = [x.described for x in narrow if x.where == "outer rod end at yoke" and x.described]
    assert [s.tightest.what for s in worst] == [rod_ends.SWIVEL]
    assert not worst[0].holds
    findings = [f for x in narrow for f in x.findings if f.beyond]
    assert [f.where for f in findings] == ["outer rod end at yoke"]
    assert findings[0].case == "geometry"


def test_wear_goes_with_the_hours_of_use() -> None:
    def depth(hours: float) -> float:
        found = rod_ends.lines(bare(("use.hours", hours)))[0].described
        return next(c.demand for c in found.checks if c.what == rod_ends.WEAR) if found else math.nan

    assert depth(1000.0) == pytest.approx(2 * depth(500.0))


def test_a_makers_catalogue_takes_the_place_of_what_it_has(tmp_path: Path) -> None:
    own = (MODELS / "parts" / "rod-ends.csv").read_text(encoding="utf-8").splitlines()
    metric = tmp_path / "mine.csv"
    rows = [own[0], *(x for x in own[1:] if ",metric,wide" in x)]
    metric.write_text(
        "\n".join(x.rsplit(",", 1)[0] + ",mine" if k else x for k, x in enumerate(_plain(rows))), "utf-8"
    )
    found = rod_ends.lines(bare(makers={"rod-ends": metric}))
    assert {x.system for x in found} == {"metric", "inch"}
    for x in found:
        assert x.chosen is not None
        assert (x.chosen.source == "mine") == (x.system == "metric")


def _plain(rows: list[str]) -> list[str]:
    """Give rows without their quoted sources."""
    return [r.split(',"')[0] + ",x" if '"' in r else r for r in rows]


def test_a_rod_without_a_rod_end_gets_no_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = Basis.series
    monkeypatch.setattr(
        Basis, "series", lambda self, family, system, **kinds: () if (family.name, system) == ("rod-ends", "inch")
        else usual(self, family, system, **kinds),
    )  # fmt: skip
    basis = bare()
    assert {x.system for x in rod_ends.lines(basis)} == {"metric"}
    # An inch rod has nothing to screw to: no bar is chosen, and what it would be as a strut is told.
    metric_rods, inch_rods = ([x for x in rods.lines(basis) if x.system == s] for s in ("metric", "inch"))
    assert all(x.chosen for x in metric_rods)
    assert not any(x.chosen or x.nearest for x in inch_rods)
    assert all(x.notes[0].startswith("no size: as a strut alone ") for x in inch_rods)
    assert len(rods.tables(basis)) == 1


def test_a_kind_that_no_catalogue_has_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Basis, "series", lambda *_, **__: ())
    with pytest.raises(
        DescriptionError, match="no lined rod ends of series 'wide swivel' in the catalogue; add rows"
    ):
        rod_ends.lines(bare())
