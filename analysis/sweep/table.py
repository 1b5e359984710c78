"""The table of a sweep: a line for each build, as CSV, as HDF5, and in short on the screen."""

import csv
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import h5py as _h5py
import numpy as np

from analysis.sweep.builds import Build
from analysis.sweep.reading import KEYS, keys
from models.shown import shown
from models.units import BARE, DescriptionFault, unit_of
from models.written import read
from sim.arrays import Array

h5py: Any = _h5py
"""Without type information of its own."""

FORMAT = "wingwright table"
FORMAT_VERSION = 1
REASON = "why not"
BEYOND = "limits exceeded"
LINES = 24
"""Builds that a screen shows."""


@dataclass(frozen=True)
class Column:
    """A column.

    Attributes
    ----------
    name : a field's, or a reading's.
    dimension : of its numbers, or "text".
    values : (n,) SI, NaN where a build has none; texts for "text".
    """

    name: str
    dimension: str
    values: tuple[float, ...] | tuple[str, ...]

    @property
    def unit(self) -> str:
        """Its SI unit, or "1"."""
        return "1" if self.dimension in (*BARE, "text", "fault") else unit_of(self.dimension)

    @property
    def numbers(self) -> Array:
        """Its numbers (n,); of texts, which of the different ones it is, in order of appearance."""
        if self.dimension != "text":
            return np.array(self.values, dtype=float)
        known = list(dict.fromkeys(self.values))
        return np.array([known.index(v) for v in self.values], dtype=float)

    def shown(self, row: int) -> str:
        """Give a value for people, in SI."""
        value = self.values[row]
        if isinstance(value, str):
            return value
        if np.isnan(value):
            return ""
        return f"{value:.3g}" if self.dimension == "fault" else shown(value, self.dimension).split(" (")[0]


def fields(builds: Sequence[Build]) -> list[Column]:
    """Give a column for each field that any build changes: numbers where all its values are of one dimension."""
    names = list(dict.fromkeys(name for b in builds for name in b.changes))
    return [_field(name, [b.changes.get(name, "") for b in builds]) for name in names]


def _field(name: str, given: Sequence[object]) -> Column:
    try:
        values, dimensions = zip(*(read(value) for value in given), strict=True)
    except DescriptionFault:
        return Column(name, "text", tuple(str(value) for value in given))
    kinds = set(dimensions) - {"count"} if "ratio" in dimensions else set(dimensions)
    if len(kinds) != 1:
        return Column(name, "text", tuple(str(value) for value in given))
    return Column(name, kinds.pop(), values)


def found(builds: Sequence[Build]) -> list[Column]:
    """Give a column for each reading that any build has."""
    dimensions = {r.name: r.dimension for b in builds for r in b.readings}
    by_name = [{r.name: r.value for r in b.readings} for b in builds]
    return [Column(n, d, tuple(own.get(n, float("nan")) for own in by_name)) for n, d in dimensions.items()]


def beyond(builds: Sequence[Build]) -> Column:
    """Give how many limits each build exceeds; NaN where it could not be run."""
    return Column(BEYOND, "count", tuple(float("nan") if b.reason else float(len(b.beyond)) for b in builds))


def write(builds: Sequence[Build], stem: Path) -> tuple[Path, Path]:
    """Write the table as CSV and as HDF5, in SI units, and give the two files."""
    stem.parent.mkdir(parents=True, exist_ok=True)
    sets, readings, count = fields(builds), found(builds), beyond(builds)
    comma, tree = stem.with_suffix(".csv"), stem.with_suffix(".h5")
    heads = [f"{c.name} [{c.unit}]" if c.unit != "1" else c.name for c in (*sets, count, *readings)]
    with comma.open("w", encoding="utf-8", newline="") as out:
        lines = csv.writer(out)
        lines.writerow(["build", *heads, REASON])
        for row, build in enumerate(builds):
            own = (_plain(c.values[row]) for c in (*sets, count, *readings))
            lines.writerow([row + 1, *own, build.reason])
    part = tree.with_name(f".{tree.name}.{os.getpid()}.part")
    with h5py.File(part, "w") as file:
        _fill(file, builds, sets, [count, *readings])
    part.replace(tree)
    return comma, tree


def _plain(value: float | str) -> str:
    if isinstance(value, str):
        return value
    return "" if np.isnan(value) else f"{value:.9g}"


def _fill(file: Any, builds: Sequence[Build], sets: Sequence[Column], readings: Sequence[Column]) -> None:
    file.attrs["format"], file.attrs["format_version"] = FORMAT, FORMAT_VERSION
    numbers = file.create_dataset("build", data=np.arange(1, len(builds) + 1))
    numbers.make_scale("build")
    reasons = Column(REASON, "text", tuple(b.reason for b in builds))
    for group, columns in (("set", sets), ("found", readings), ("", [reasons])):
        for c in columns:
            texts = c.dimension == "text"
            values = np.array(c.values, dtype=h5py.string_dtype() if texts else float)
            # A slash would make a folder of it.
            data = file.create_dataset(f"{group}/{c.name.replace('/', ' per ')}", data=values)
            data.attrs["units"], data.attrs["long_name"] = c.unit, c.name
            data.dims[0].attach_scale(numbers)


def short(builds: Sequence[Build]) -> list[list[str]]:
    """Give the first builds with the readings that matter most as lines of texts, headings first."""
    columns = {c.name: c for c in found(builds)}
    shown_ones = [columns[name] for name in keys([b.readings for b in builds])]
    sets, count = fields(builds), beyond(builds)
    rows = [["build", *(c.name for c in sets), *(KEYS[c.name] for c in shown_ones), BEYOND]]
    for row, build in enumerate(builds[:LINES]):
        own = [c.shown(row) for c in sets]
        if build.reason:
            rows.append([str(row + 1), *own, *("-" for _ in shown_ones), "not run"])
        else:
            rows.append([str(row + 1), *own, *(c.shown(row) for c in shown_ones), count.shown(row)])
    return rows


def reasons(builds: Sequence[Build], most: int = 10) -> list[str]:
    """Give why builds were not run, each reason once, with the builds' numbers."""
    found: dict[str, list[int]] = {}
    for number, build in enumerate(builds, 1):
        if build.reason:
            found.setdefault(build.reason, []).append(number)
    lines = [f"not run: {_numbers(own)}: {reason}" for reason, own in list(found.items())[:most]]
    return lines if len(found) <= most else [*lines, f"and {len(found) - most} more reasons, in the table"]


def _numbers(numbers: Sequence[int]) -> str:
    shown = ", ".join(str(n) for n in numbers[:8])
    return f"build{'s' if len(numbers) > 1 else ''} {shown}{' ...' if len(numbers) > 8 else ''}"
