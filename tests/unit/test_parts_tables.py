"""The parts schedule: the smallest size that meets everything, why not a smaller one, and how it is shown."""

import csv
import io
import math
from dataclasses import dataclass, replace

import pytest

from analysis.parts.choice import Check, Line, Sizing, Table, line
from analysis.schedule import Schedule
from analysis.summary import parts


@dataclass(frozen=True)
class Peg:
    """A row of a catalogue."""

    size: str
    rating: float
    system: str = "metric"
    source: str = "a table"


PEGS = (Peg("6", 2e3), Peg("8", 4e3), Peg("10", 8e3))


def check(demand: float, allowed: float, what: str = "static load", case: str = "let go at 90 deg") -> Check:
    return Check(what, demand, allowed, "force", case, "a rule", math.radians(90))


def pegs(load: float, **also: object) -> Line:
    own = Sizing("6", (check(load, 2e3),)) if also.pop("described", False) else None
    return line("peg", "outer peg", PEGS, lambda p: (check(load, p.rating), check(1.0, 9e9, "pull")),
                system="metric", count=2, described=own)  # fmt: skip


def test_the_smallest_size_that_holds_is_chosen_and_the_next_smaller_kept() -> None:
    found = pegs(3e3)
    assert found.chosen is not None
    assert found.nearest is not None
    assert (found.chosen.size, found.nearest.size) == ("8", "6")
    assert found.chosen.tightest.margin == pytest.approx(1 / 3)
    assert found.governs == check(3e3, 2e3)


def test_the_smallest_of_all_has_nothing_that_keeps_it_from_being_smaller() -> None:
    found = pegs(1e3)
    assert found.chosen is not None
    assert (found.chosen.size, found.nearest, found.governs) == ("6", None, None)


def test_a_load_that_just_fits_holds() -> None:
    found = pegs(4e3)
    assert found.chosen is not None
    assert (found.chosen.size, found.chosen.tightest.margin) == ("8", 0.0)


def test_none_will_do() -> None:
    found = pegs(9e3)
    assert found.chosen is None
    assert found.findings == ()
    (f,) = Schedule((found,), ()).findings
    assert f == found.lacking
    assert f.beyond
    assert "no metric peg of the catalogue will do: 10 has static load 9000 N (2023 lbf) of 8000 N" in f.shown


def test_what_another_kind_or_system_does_is_not_lacking() -> None:
    inch = replace(pegs(1e3), system="inch", family="oiled peg")
    assert Schedule((pegs(9e3), inch), ()).findings == ()
    assert Schedule((pegs(9e3), replace(inch, where="inner peg")), ()).findings != ()


def test_what_is_described_becomes_a_finding_against_its_limit() -> None:
    (good,), (bad,) = pegs(1e3, described=True).findings, pegs(3e3, described=True).findings
    assert not good.beyond
    assert bad.beyond
    assert bad.margin == pytest.approx(-0.5)
    assert (bad.what, bad.where, bad.value) == ("static load, peg 6", "outer peg", 3e3)


def test_what_is_not_a_number_or_no_size_is_refused() -> None:
    with pytest.raises(ValueError, match="static load is not a number"):
        pegs(math.nan)
    with pytest.raises(ValueError, match="no sizes of peg"):
        line("peg", "", (), lambda _: (), system="metric")


NAMES = {"let go at 90 deg": "let-go"}


def made() -> Schedule:
    return Schedule(
        (pegs(3e3, described=True), replace(pegs(9e3), where="inner peg")),
        (Table("Rods", (("rod", "cut"), ("outer", "540 mm")), "new"),),
    )


def test_a_row_for_each_part_says_what_decides_and_why_not_a_smaller_one() -> None:
    head, first, second = parts.table(made().lines, NAMES)
    row = dict(zip(head, first, strict=True))
    assert row["size"] == "8"
    assert row["what decides"] == "static load"
    assert row["load case"] == "let-go"
    assert (row["margin"], row["next smaller"]) == ("33 %", "6")
    assert row["which fails by"] == "static load -33 % (let-go)"
    assert (row["described"], row["its margin"]) == ("6", "-33 %")
    assert dict(zip(head, second, strict=True))["size"] == parts.NONE


def test_csv_reads_back_with_every_check() -> None:
    rows = list(csv.DictReader(io.StringIO(parts.written(parts.checks(made().lines, NAMES)))))
    assert {(r["as"], r["size"]) for r in rows} == {
        ("chosen", "8"),
        ("smaller", "6"),
        ("described", "6"),
        ("largest", "10"),
    }
    first = rows[0]
    assert (float(first["demand"]), float(first["allowed"]), first["unit"]) == (3e3, 4e3, "N")
    assert (first["crank angle deg"], first["holds"], first["load case"]) == ("90.0", "yes", "let-go")


def test_the_screen_and_the_file_say_what_has_to_change() -> None:
    said = parts.screen("Ray", made(), NAMES, "x")
    needs = said[next(k for k, words in enumerate(said) if words.startswith("NEEDS CHANGE")) :]
    assert any("outer peg, peg 6: static load" in words for words in needs)
    assert any("no metric peg of the catalogue will do" in words for words in needs)
    text = parts.markdown("Ray", made(), NAMES)
    assert "## Rods" in text
    assert "| outer | 540 mm |" in text
    assert "- a rule" in text
    assert parts.rows(made()) == [("", "2 lines with why and margins: parts.md")]
    rods = Schedule(tuple(replace(x, family="rod") for x in made().lines), ())
    assert parts.rows(rods) == [("", "rod 8, none; 2 lines with why and margins: parts.md")]
    assert parts.rows(Schedule((), ())) == []


def test_the_screen_tells_what_decides_on_the_size_that_will_do() -> None:
    both = Schedule((pegs(3e3), replace(pegs(9e3), system="inch")), ())
    row = next(words for words in parts.screen("Ray", both, NAMES, "x") if words.startswith("peg"))
    assert row.split() == ["peg", "outer", "peg", "2x", "8", "none", "static", "load", "(let-go)", "33", "%"]
    assert max(len(words) for words in parts.screen("Ray", both, NAMES, "x")) < 140


def test_plain_data_has_every_check_once() -> None:
    data = parts.plain(made(), NAMES)
    first = data["parts"][0]  # type: ignore[index]
    assert first["chosen"]["checks"][0]["case"] == "let-go"
    assert first["smaller"]["size"] == "6"
    assert data["parts"][1]["largest"]["size"] == "10"  # type: ignore[index]
