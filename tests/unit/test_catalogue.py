"""Catalogues: read whole or not at all, every fault by row and column."""

from dataclasses import dataclass
from pathlib import Path

import pytest

from models.loading import DescriptionError
from models.parts.catalogue import Column, Family, catalogue, read


@dataclass(frozen=True)
class Peg:
    """A row."""

    size: str
    system: str
    kind: str
    bore: float
    rating: float
    holes: int | None
    source: str


PEGS = Family(
    "pegs",
    Peg,
    {
        "kind": Column("text", words=("dry", "oiled")),
        "bore": Column("length"),
        "rating": Column("force"),
        "holes": Column("count", open=True, zero=True),
    },
    "bore",
    ("kind",),
)
HEAD = "size,system,kind,bore,rating,holes,source\n"
GOOD = HEAD + '6,metric,dry,6 mm,3 kN,2,assumption\n1/4,inch,dry,1/4 in,3 kN,,"a table, read"\n'


def test_a_catalogue_as_written() -> None:
    first, second = read(PEGS, GOOD, "pegs.csv")
    assert first == Peg("6", "metric", "dry", 0.006, 3000.0, 2, "assumption")
    assert (second.bore, second.holes, second.source) == (0.00635, None, "a table, read")


BAD = {
    "a column is missing": ("size,system,kind,bore,source\n", "pegs.csv: there is no column 'rating'"),
    "a column is unknown": (
        HEAD.replace("bore", "boer"),
        "'boer' is no column of pegs; did you mean 'bore'?",
    ),
    "a rating is negative": (
        GOOD.replace("3 kN,2", "-3 kN,2"),
        "pegs.csv: row 2, size '6', column rating: -3 kN is not above 0; write what the part stands or measures",
    ),
    "a length is zero": (GOOD.replace("6 mm", "0 mm"), "row 2, size '6', column bore: 0 mm is not above 0"),
    "a number is bare": (GOOD.replace("6 mm", "6"), "row 2, size '6', column bore: "),
    "a count is none": (GOOD.replace(",2,", ",two,"), "column holes: 'two' is not a bare number"),
    "a cell is empty": (GOOD.replace("6 mm", ""), "row 2, size '6', column bore: it is empty"),
    "a word is unknown": (
        GOOD.replace("metric,dry", "metric,wet"),
        "column kind: 'wet' is not one of its words",
    ),
    "cells are missing": (HEAD + "6,metric,dry\n", "row 2, size '6': it has 3 cells; write 7"),
    "a size is there twice": (
        GOOD + "6,metric,dry,6 mm,4 kN,,assumption\n",
        "row 4, size '6', column size: this size is there already, in row 2, size '6'; remove one",
    ),
    "sizes are out of order": (
        GOOD + "5,metric,dry,5 mm,4 kN,,assumption\n",
        "row 4, size '5', column bore: it is smaller than in row 2, size '6' before it",
    ),
    "it is empty": ("", "pegs.csv: it is empty"),
    "it has no rows": (HEAD, "pegs.csv: it has no sizes"),
    "quotes are open": (GOOD + '"6', "pegs.csv: not a table of commas and quotes"),
}


@pytest.mark.parametrize(("text", "words"), BAD.values(), ids=BAD)
def test_a_bad_catalogue_is_refused(text: str, words: str) -> None:
    with pytest.raises(DescriptionError) as refused:
        read(PEGS, text, "pegs.csv")
    assert any(words in line for line in refused.value.lines), refused.value.lines


def test_all_faults_are_told_at_once() -> None:
    text = GOOD.replace("6 mm", "6").replace("3 kN,2", "-3 kN,2")
    with pytest.raises(DescriptionError) as refused:
        read(PEGS, text, "pegs.csv")
    assert len(refused.value.lines) == 2


def test_sizes_of_another_series_begin_anew() -> None:
    assert len(read(PEGS, GOOD + "5,metric,oiled,5 mm,4 kN,,assumption\n", "pegs.csv")) == 3


def test_a_makers_table_takes_the_place_of_the_projects_own(tmp_path: Path) -> None:
    file = tmp_path / "mine.csv"
    file.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert len(catalogue(PEGS, file)) == 2
    file.write_bytes(b"\xff\xfe")
    with pytest.raises(DescriptionError, match=r"mine.csv: this is not text in UTF-8"):
        catalogue(PEGS, file)
    with pytest.raises(DescriptionError, match=r"none.csv: there is no such file"):
        catalogue(PEGS, tmp_path / "none.csv")
