"""Sweeps: which builds there are, what is found of each, what is kept, and the table."""

import csv
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import xarray
from examples import MANTA, MOTH

from analysis import bearing_loads
from analysis.study import brief_study, study
from analysis.sweep import table
from analysis.sweep.builds import Asked, Build, builds
from analysis.sweep.plan import Span, check_fields, grid, latin_hypercube, varied
from analysis.sweep.reading import HAND, JOINTS, RIM, Reading, readings
from models.loading import DescriptionError, changed, load, loads
from models.units import quantity

QUICK = Asked(only=(), angles=4)


# -- which builds


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("wheel.diameter=500 mm, 24 in", ("500 mm", "24 in")),
        ("wheel.diameter=500 mm to 700 mm by 100 mm", ("0.5 m", "0.6 m", "0.7 m")),
        ("wheel.diameter=700 mm to 500 mm by 10 cm", ("0.7 m", "0.6 m", "0.5 m")),
        ("friction.bush=0.1 to 0.3 by 0.1", (0.1, 0.2, 0.3)),
        ("stage.1.links=410 to 414 by 2", (410, 412, 414)),
        ("stage.1.teeth=[13, 38], [15, 38]", ([13, 38], [15, 38])),
        ('wheel.kind="disc", "handle"', ("disc", "handle")),
        ('wheel.hub={ mass = "1 kg" }, { mass = "2 kg" }', ({"mass": "1 kg"}, {"mass": "2 kg"})),
    ],
)
def test_values(text: str, values: tuple[object, ...]) -> None:
    assert varied(text).values == values


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("wheel.diameter", "is no field with values"),
        ("wheel.diameter=", "no value is given"),
        ("wheel.diameter= , ", "no value is given"),
        ("wheel.diameter=500 mm to 3 kg", "not of one kind"),
        ("wheel.diameter=500 mm to 700", "not of one kind"),
        ("wheel.diameter=500 mm to 700 mm by 3 kg", "no step"),
        ("wheel.diameter=500 mm to 700 mm by 0 mm", "no step"),
        ("wheel.diameter=500 mm to 700 mm by 1e-6 mm", "too many"),
        ("wheel.diameter=wide to wider", "neither a quantity nor a number"),
    ],
)
def test_what_is_no_list_of_values(text: str, words: str) -> None:
    with pytest.raises(DescriptionError, match=words):
        varied(text)


def test_a_grid_has_every_combination_once() -> None:
    found = grid([varied("a=1, 2, 3"), varied("b=x, y")])
    assert found == [{"a": a, "b": b} for a in (1, 2, 3) for b in ("x", "y")]


def test_a_span_needs_a_step_or_samples() -> None:
    with pytest.raises(DescriptionError, match=r"wheel.diameter: a span has no end of values; add a step"):
        grid([varied("wheel.diameter=500 mm to 700 mm")])


def test_too_many_combinations() -> None:
    with pytest.raises(DescriptionError, match="1000000000 combinations are too many"):
        grid([varied("a=1 to 1000 by 1"), varied("b=1 to 1000 by 1"), varied("c=1 to 1000 by 1")])


def test_a_latin_hypercube_meets_every_part_of_every_range_once() -> None:
    fields = [
        varied("wheel.diameter=500 mm to 700 mm"),
        varied("friction.bush=0.1 to 0.3"),
        varied("teeth=9, 11"),
    ]
    found = latin_hypercube(fields, 40, seed=3)
    for name, low, high in (("wheel.diameter", 0.5, 0.7), ("friction.bush", 0.1, 0.3)):
        values = [x if isinstance(x, float) else quantity(x, "length") for x in (own[name] for own in found)]
        parts = np.floor((np.array(values) - low) / (high - low) * 40).astype(int)
        assert sorted(parts) == list(range(40))
    assert sorted(own["teeth"] for own in found) == [9] * 20 + [11] * 20
    assert found == latin_hypercube(fields, 40, seed=3)
    assert found != latin_hypercube(fields, 40, seed=4)


def test_whole_numbers_of_a_span_stay_whole_and_reach_both_ends() -> None:
    found = {Span(3, 5, "count").at(u) for u in np.linspace(0, 1, 50)}
    assert found == {3, 4, 5}
    assert all(isinstance(v, int) for v in found)


def test_fields_that_no_value_fits_are_refused_at_once() -> None:
    fields = [varied("wheel.diametre=500 mm, 600 mm"), varied("wheel.thickness=8 mm, thick")]
    with pytest.raises(DescriptionError) as told:
        check_fields(load(MANTA), fields)
    (line,) = told.value.lines
    assert "there is no 'diametre' here; did you mean 'diameter'?" in line


# -- what is found of each


@pytest.mark.slow
def test_a_brief_study_finds_what_a_study_finds(tmp_path: Path) -> None:
    """The peaks are those of the engine, checked with finer steps, to within what the reduced model promises."""
    moth = load(MANTA.with_name("moth.toml"))
    whole = study(moth, runs=tmp_path, only=["keeps-hold", "lifted"], angles=6)
    brief = brief_study(moth, only=["keeps-hold", "lifted"], angles=6)
    assert [g.name for g in brief.campaign.groups] == [g.name for g in whole.campaign.groups]
    assert not list(tmp_path.glob("*.part"))
    for name in ("motion", "clearances", "start", "reach", "chains", "masses"):
        # Whip is taken off clearances, and it is the runs that tell it.
        pairs = zip(getattr(brief, name), getattr(whole, name), strict=True)
        assert all(
            a.what == b.what and a.value == pytest.approx(b.value, rel=2e-2, abs=1e-4) for a, b in pairs
        )
    for what in ("peak rim or grip speed after letting go", "largest hand force"):
        a, b = (max(f.value for f in (*s.hand, *s.let_go) if f.what == what) for s in (brief, whole))
        assert a == pytest.approx(b, rel=2e-3)
    ours, theirs = (
        {f.where: f.value for f in s.envelope.loads if f.what == bearing_loads.LARGEST}
        for s in (brief, whole)
    )
    assert ours.keys() == theirs.keys()
    for joint, force in ours.items():
        assert force == pytest.approx(theirs[joint], rel=0.02, abs=0.005 * max(theirs.values()))


def test_readings_have_one_name_on_both_sides_and_keep_the_worse() -> None:
    even = readings(brief_study(load(MANTA), only=(), angles=2))
    odd = readings(brief_study(load(MANTA, {"right.panel.outer.rod": "601 mm"}), only=(), angles=2))
    names = [r.name for r in even]
    assert len(set(names)) == len(names)
    assert set(names) <= {r.name for r in odd}
    gap = "outer: least transmission angle"
    (a,), (b,) = ([r for r in own if r.name == gap] for own in (even, odd))
    assert a.case.startswith("left")
    assert b.value == pytest.approx(min(b.value, a.value))


def test_the_loads_over_all_joints_leave_the_bound_of_blocked_panels_out() -> None:
    moth = loads(MOTH)
    found = {r.name: r for r in readings(brief_study(moth, only=("blocked",), angles=2))}
    without = {r.name: r for r in readings(brief_study(moth, only=(), angles=2))}
    assert found[JOINTS].value == without[JOINTS].value
    every = [
        r.value for r in found.values() if r.name.endswith(f": {bearing_loads.LARGEST}") and r.name != JOINTS
    ]
    assert max(every) > 1.5 * found[JOINTS].value


def test_a_reading_is_beyond_its_limit_on_its_side() -> None:
    r = Reading("x", 3.0, "force", 2.0, "most", "")
    assert r.beyond
    assert not replace(r, side="least").beyond
    assert not replace(r, limit=None, side="").beyond
    assert replace(r, value=float("nan")).beyond


# -- many of them


def test_builds_that_cannot_be_have_a_reason_and_the_rest_are_run(tmp_path: Path) -> None:
    changes = [{"panel.wing.rod": rod} for rod in ("230 mm", "30 mm", "-1 mm", "235 mm")]
    found = builds(loads(MOTH), changes, QUICK, kept=tmp_path / "kept.jsonl")
    assert [bool(b.readings) for b in found] == [True, False, False, True]
    assert "cannot reach" in found[1].reason
    assert "out of range" in found[2].reason
    assert [b.changes for b in found] == changes
    hand = [b.reading(HAND) for b in (found[0], found[3])]
    alone = [
        readings(brief_study(changed(loads(MOTH), c), only=(), angles=4)) for c in (changes[0], changes[3])
    ]
    assert hand == [next(r for r in own if r.name == HAND) for own in alone]


def test_finished_builds_are_not_run_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    changes = [{"wheel.radius": r} for r in ("140 mm", "150 mm", "160 mm")]
    kept = tmp_path / "kept.jsonl"
    first = builds(loads(MOTH), changes[:2], QUICK, kept=kept)
    # The power went while a line was being written.
    kept.write_text(kept.read_text() + '\n["0123", "", [["wheel: larg')
    asked: list[int] = []

    def counted(function, members, _pool):
        asked.append(len(members))
        yield from enumerate(map(function, members))

    monkeypatch.setattr("analysis.sweep.builds.each", counted)
    told: list[tuple[int, int]] = []
    again = builds(loads(MOTH), changes, QUICK, kept=kept, done=lambda n, of: told.append((n, of)))
    assert asked == [1]
    assert told == [(2, 3), (3, 3)]
    assert again[:2] == first
    assert builds(loads(MOTH), changes, QUICK, kept=kept) == again
    assert asked == [1, 0]
    # Another question is another result.
    builds(loads(MOTH), changes[:1], replace(QUICK, angles=3), kept=kept)
    assert asked[-1] == 1


def test_a_lost_worker_and_a_fault_cost_one_build_each_and_are_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    changes = [{"wheel.radius": r} for r in ("140 mm", "150 mm", "160 mm")]
    whole = brief_study

    def faulty(sculpture, **asked):
        if sculpture.wheel.radius == 0.15:
            raise ZeroDivisionError("by nothing")
        return whole(sculpture, **asked)

    def losing(function, members, _pool):
        for number, member in enumerate(members):
            yield number, ChildProcessError("ended from outside") if number == 2 else function(member)

    kept = tmp_path / "kept.jsonl"
    with monkeypatch.context() as broken:
        broken.setattr("analysis.sweep.builds.brief_study", faulty)
        broken.setattr("analysis.sweep.builds.each", losing)
        found = builds(loads(MOTH), changes, QUICK, kept=kept)
    assert [b.reason for b in found] == [
        "",
        "a fault of this program: ZeroDivisionError: by nothing",
        "ended from outside",
    ]
    assert [b.reason for b in builds(loads(MOTH), changes, QUICK, kept=kept)] == ["", "", ""]


# -- the table


def _builds() -> list[Build]:
    def made(radius: str, *rows: Reading, reason: str = "") -> Build:
        return Build({"wheel.radius": radius, "wheel.kind": "handle"}, rows, reason)

    force = Reading(HAND, 20.0, "force", None, "", "slow")
    speed = Reading(RIM, 5.0, "speed", 3.9, "most", "let go")
    return [
        made("0.15 m", force, speed),
        made("6 in", reason="too short; write more"),
        made("0.2 m", replace(force, value=15.0)),
    ]


def test_the_table_as_csv_and_as_hdf5(tmp_path: Path) -> None:
    comma, tree = table.write(_builds(), tmp_path / "moth")
    rows = list(csv.DictReader(comma.open(encoding="utf-8")))
    assert [r["wheel.radius [m]"] for r in rows] == ["0.15", "0.1524", "0.2"]
    assert [r[f"{HAND} [N]"] for r in rows] == ["20", "", "15"]
    assert [r["limits exceeded"] for r in rows] == ["1", "", "0"]
    assert [r["why not"] for r in rows] == ["", "too short; write more", ""]
    # Another reader of the same format.
    with xarray.open_dataset(tree, group="found", engine="h5netcdf", phony_dims="access") as found:
        rim = found[RIM.replace("/", " per ")]
        assert rim.attrs["units"] == "m/s"
        np.testing.assert_array_equal(rim.values, [5.0, np.nan, np.nan])
    with xarray.open_dataset(tree, group="set", engine="h5netcdf", phony_dims="access") as given:
        np.testing.assert_array_equal(given["wheel.radius"].values, [0.15, 0.1524, 0.2])
        assert list(given["wheel.kind"].values) == ["handle"] * 3


def test_the_table_in_short() -> None:
    head, *rows = table.short(_builds())
    assert head == [
        "build",
        "wheel.radius",
        "wheel.kind",
        "hand, slow turn",
        "rim, let go",
        "limits exceeded",
    ]
    assert rows[0] == ["1", "150 mm", "handle", "20 N", "5 m/s", "1"]
    assert rows[1] == ["2", "152 mm", "handle", "-", "-", "not run"]
    assert table.reasons(_builds()) == ["not run: build 2: too short; write more"]


def test_a_field_of_words_or_of_several_kinds_is_a_column_of_texts() -> None:
    mixed = [Build({"a": "5 mm"}), Build({"a": "5 kg"}), Build({})]
    (column,) = table.fields(mixed)
    assert (column.dimension, column.values) == ("text", ("5 mm", "5 kg", ""))
    np.testing.assert_array_equal(column.numbers, [0, 1, 2])


def test_a_larger_wheel_takes_less_force(tmp_path: Path) -> None:
    """From table to physics: the same torque at twice the radius is half the force."""
    changes = [
        {"wheel.radius": r, "wheel.grip": {"mass": "0 kg"}, "wheel.arm": {"mass": "0 kg"}}
        for r in ("100 mm", "200 mm")
    ]
    small, large = builds(loads(MOTH), changes, QUICK, kept=tmp_path / "kept.jsonl")
    assert small.reading(HAND).value == pytest.approx(2 * large.reading(HAND).value, rel=1e-3)


def test_kept_builds_are_lines_of_json(tmp_path: Path) -> None:
    kept = tmp_path / "kept.jsonl"
    builds(loads(MOTH), [{}], QUICK, kept=kept)
    (line,) = filter(None, kept.read_text().splitlines())
    name, reason, rows = json.loads(line)
    assert len(name) == 16
    assert reason == ""
    assert len(rows) > 50
