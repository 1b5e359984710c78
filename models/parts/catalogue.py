"""Catalogues: tables of standard sizes as CSV, read whole or not at all.

A catalogue has a heading row with the names of its family's columns and a row for each size. Quantities are texts
with their units, as in a description; bare numbers are counts and ratios. An empty cell is allowed where a column
says so. A maker's own table has the same columns.
"""

import csv
import difflib
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Generic, TypeVar

from models.loading import DescriptionError
from models.units import DescriptionFault, quantity

Row = TypeVar("Row")
SYSTEMS = ("metric", "inch")
"""Systems of measures."""
LARGEST = 1_000_000
"""Bytes of a catalogue at most."""


@dataclass(frozen=True)
class Column:
    """A column of a catalogue.

    Attributes
    ----------
    dimension : as in `models.units`, or "ratio", "count", "text", or "yes or no".
    open : whether a cell may be left empty, which gives None.
    words : the texts that it may have; any where there are none.
    zero : whether a number may be 0; else all are above it.
    """

    dimension: str
    open: bool = False
    words: tuple[str, ...] = ()
    zero: bool = False


@dataclass(frozen=True)
class Family(Generic[Row]):
    """A family of parts.

    Attributes
    ----------
    name : of its catalogue's file, and of the option that replaces it.
    row : the class of a row, made of the columns' values by their names.
    columns : by name; all families have size, system and source besides.
    order : the column by which sizes grow; within one system and one of `groups` they are sorted by it.
    groups : columns whose texts part the catalogue into series of their own.
    """

    name: str
    row: type[Row]
    columns: Mapping[str, Column]
    order: str
    groups: tuple[str, ...] = ()
    usual: Mapping[str, Column] = field(
        default_factory=lambda: {
            "size": Column("text"),
            "system": Column("text", words=SYSTEMS),
            "source": Column("text"),
        },
        repr=False,
    )

    @property
    def all(self) -> dict[str, Column]:
        """All columns by name, in the order of the file."""
        usual = dict(self.usual)
        source = usual.pop("source")
        return {**usual, **self.columns, "source": source}


def catalogue(family: Family[Row], given: Path | None = None) -> tuple[Row, ...]:
    """Give the rows of a family: the project's own, or those of a maker's table.

    Parameters
    ----------
    family : of parts.
    given : a CSV file of the same columns, or None.

    Raises
    ------
    DescriptionError
        With every fault of the file, by row and column; nothing of it is used then.
    """
    return _own(family.name, family) if given is None else read(family, _text(given), given.name)


@cache
def _own_text(name: str) -> str:
    return files("models").joinpath("parts", f"{name}.csv").read_text("utf-8")


_READ: dict[str, tuple[Any, ...]] = {}


def _own(name: str, family: Family[Row]) -> tuple[Row, ...]:
    if name not in _READ:
        _READ[name] = read(family, _own_text(name), f"{name}.csv")
    return _READ[name]


def read(family: Family[Row], text: str, label: str) -> tuple[Row, ...]:
    """Read a catalogue from its text; see `catalogue` for what is raised.

    Parameters
    ----------
    family : of parts.
    text : CSV.
    label : the file's name.
    """
    lines = csv.reader(io.StringIO(text), strict=True, skipinitialspace=True)
    try:
        table = [(lines.line_num, row) for row in lines if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise DescriptionError(
            [f"{label}: not a table of commas and quotes ({error}); save it as CSV"]
        ) from None
    if not table:
        raise DescriptionError([f"{label}: it is empty; write the columns {', '.join(family.all)}"])
    heading = [cell.strip() for cell in table[0][1]]
    faults = [f"{label}: {words}" for words in _headings(family, heading)]
    if faults:
        raise DescriptionError(faults)
    rows: list[dict[str, Any]] = []
    names: list[str] = []
    for number, cells in table[1:]:
        where = f"row {number}" + (f", size '{cells[0].strip()}'" if cells and cells[0].strip() else "")
        if len(cells) != len(heading):
            faults.append(
                f"{label}: {where}: it has {len(cells)} cells; write {len(heading)}, one for each column"
            )
            continue
        values, wrong = _row(family, dict(zip(heading, cells, strict=True)))
        faults += [f"{label}: {where}, column {words}" for words in wrong]
        rows.append(values)
        names.append(where)
    if not faults:
        faults = [f"{label}: {words}" for words in _order(family, rows, names)]
    if not rows and not faults:
        faults = [f"{label}: it has no sizes; write a row for each"]
    if faults:
        raise DescriptionError(faults)
    return tuple(family.row(**values) for values in rows)


def _text(path: Path) -> str:
    label = path.name or str(path)
    try:
        if not path.is_file():
            raise DescriptionError([f"{label}: there is no such file; check the name and the folder"])
        if path.stat().st_size > LARGEST:
            raise DescriptionError([f"{label}: it is too large for a catalogue; keep it below 1 MB"])
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise DescriptionError([f"{label}: this is not text in UTF-8; save it as CSV in UTF-8"]) from None
    except OSError as error:
        raise DescriptionError([f"{label}: it cannot be read ({error.strerror}); check the name"]) from None


def _headings(family: Family[Any], heading: Sequence[str]) -> list[str]:
    known = family.all
    found = [
        f"there is no column '{name}'; add it to the heading row" for name in known if name not in heading
    ]
    for name in dict.fromkeys(heading):
        if heading.count(name) > 1:
            found.append(f"column '{name}' is there twice; remove one")
        elif name not in known:
            near = difflib.get_close_matches(name, known, 1, 0.6)
            hint = f"did you mean '{near[0]}'?" if near else f"known are: {', '.join(known)}"
            found.append(f"'{name}' is no column of {family.name}; {hint}")
    return found


def _row(family: Family[Any], cells: Mapping[str, str]) -> tuple[dict[str, Any], list[str]]:
    values: dict[str, Any] = {}
    wrong: list[str] = []
    for name, column in family.all.items():
        try:
            values[name] = _cell(column, cells[name].strip())
        except DescriptionFault as fault:
            wrong.append(f"{name}: {fault}")
    return values, wrong


def _cell(column: Column, text: str) -> Any:
    if not text:
        if column.open:
            return None
        raise DescriptionFault("it is empty", "write a value")
    if column.dimension == "text":
        if column.words and text not in column.words:
            raise DescriptionFault(
                f"'{text[:60]}' is not one of its words", f"write {' or '.join(column.words)}"
            )
        return text
    if column.dimension == "yes or no":
        if text not in ("yes", "no"):
            raise DescriptionFault(f"'{text[:60]}' is neither yes nor no", "write yes or no")
        return text == "yes"
    if column.dimension in ("ratio", "count"):
        value = _bare(text, column.dimension)
    else:
        value = quantity(text, column.dimension)
    if value < 0 or (value == 0 and not column.zero):
        raise DescriptionFault(f"{text} is not above 0", "write what the part stands or measures")
    return int(value) if column.dimension == "count" else value


def _bare(text: str, dimension: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise DescriptionFault(
            f"'{text[:60]}' is not a bare number", "write a number without a unit"
        ) from None
    if not value < 1e12 or (dimension == "count" and value != int(value)):
        raise DescriptionFault(f"'{text[:60]}' is no {dimension}", "write a plain number")
    return value


def _order(family: Family[Any], rows: Iterable[Mapping[str, Any]], names: Sequence[str]) -> list[str]:
    """Name sizes that are there twice and rows out of order."""
    found: list[str] = []
    last: dict[tuple[str, ...], tuple[float, str]] = {}
    seen: dict[tuple[str, ...], str] = {}
    for row, where in zip(rows, names, strict=True):
        series = (row["system"], *(str(row[g]) for g in family.groups))
        key = (*series, row["size"])
        if key in seen:
            found.append(f"{where}, column size: this size is there already, in {seen[key]}; remove one")
        seen.setdefault(key, where)
        size = row[family.order]
        if series in last and size < last[series][0]:
            found.append(f"{where}, column {family.order}: it is smaller than in {last[series][1]} before it; "
                         f"sort the sizes of a series by {family.order}")  # fmt: skip
        last[series] = (size, where)
    return found
