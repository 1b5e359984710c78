"""Which builds a sweep has: every combination of values, or so many spread evenly over all of them."""

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.stats.qmc import LatinHypercube  # pyright: ignore[reportMissingTypeStubs, reportUnknownVariableType]

from models.loading import DescriptionError, changed, setting
from models.sculpture import Sculpture
from models.units import DescriptionFault
from models.written import read, written

MOST = 100_000
"""Builds of a sweep at most: a table that a spreadsheet still opens."""
_SPAN = re.compile(r"(.+?)\s+to\s+(.+?)(?:\s+by\s+(.+))?", re.DOTALL)
_ROUND = 1e-9
"""Share of a step by which the last value of a span may miss its end and still count."""


@dataclass(frozen=True)
class Span:
    """All values between two.

    Attributes
    ----------
    low, high : SI, the smaller first.
    dimension : of them.
    """

    low: float
    high: float
    dimension: str

    def at(self, share: float) -> object:
        """Give the value at a share, 0 to 1, of the way, as a description writes it; whole where the ends are."""
        if self.dimension == "count":
            return min(math.floor(self.low + share * (self.high - self.low + 1)), round(self.high))
        return written(self.low + share * (self.high - self.low), self.dimension)


@dataclass(frozen=True)
class Varied:
    """A field with the values that it takes.

    Attributes
    ----------
    field : its dotted name.
    values : as a description writes them; empty for a span.
    span : between which it lies, where any value there will do.
    """

    field: str
    values: tuple[object, ...] = ()
    span: Span | None = None

    def at(self, share: float) -> object:
        """Give the value that stands at a share, 0 to 1, of all of them."""
        if self.span is not None:
            return self.span.at(share)
        return self.values[min(int(share * len(self.values)), len(self.values) - 1)]


def varied(text: str, option: str = "--set") -> Varied:
    """Read a field and its values: `wheel.diameter=500 mm, 600 mm`, `... = 500 mm to 700 mm by 50 mm`, or a span.

    Raises
    ------
    DescriptionError
        When there is no name, no value, or a span that is none.
    """
    name, equals, values = (part.strip() for part in text.partition("="))
    if not (name and equals):
        raise DescriptionError(
            [f'{option}: "{text}" is no field with values; write wheel.diameter="500 mm, 600 mm"']
        )
    parts = _parts(values)
    if not parts:
        raise DescriptionError([f'{option}: {name}: no value is given; write {name}="500 mm, 600 mm"'])
    spans = [_SPAN.fullmatch(part) for part in parts]
    if len(parts) == 1 and spans[0] is not None:
        try:
            return _spanned(name, *spans[0].groups())
        except DescriptionFault as fault:
            raise DescriptionError([f"{option}: {name}: {fault.what}; {fault.instead}"]) from None
    return Varied(name, tuple(setting(f"{name}={part}")[1] for part in parts))


def _parts(text: str) -> list[str]:
    """Part a text at the commas that stand outside brackets and quotes."""
    found, depth, quoted = [""], 0, False
    for letter in text:
        quoted ^= letter == '"'
        depth += 0 if quoted else (letter in "[{") - (letter in "]}")
        if letter == "," and depth == 0 and not quoted:
            found.append("")
        else:
            found[-1] += letter
    return [part.strip() for part in found if part.strip()]


def _spanned(name: str, first: str, last: str, step: str | None) -> Varied:
    """Give the values from one to another."""
    (low, dimension), (high, other) = (read(setting(f"{name}={end}")[1]) for end in (first, last))
    if {dimension, other} == {"count", "ratio"}:
        dimension = other = "ratio"
    if dimension != other:
        raise DescriptionFault(
            f"'{first}' and '{last}' are not of one kind", "write both with units of one kind"
        )
    if step is None:
        return Varied(name, span=Span(min(low, high), max(low, high), dimension))
    by, kind = read(setting(f"{name}={step}")[1])
    if kind not in {dimension, "count" if dimension == "ratio" else dimension} or not by > 0:
        raise DescriptionFault(
            f"'{step}' is no step from '{first}' to '{last}'", "write one above 0, of the same kind"
        )
    count = math.floor(abs(high - low) / by + _ROUND)
    if count >= MOST:
        raise DescriptionFault(
            f"{count + 1} values are too many", f"write a step that leaves fewer than {MOST}"
        )
    way = math.copysign(by, high - low)
    return Varied(name, tuple(written(low + k * way, dimension) for k in range(count + 1)))


def grid(fields: Sequence[Varied]) -> list[dict[str, object]]:
    """Give every combination of values, the last field's changing first.

    Raises
    ------
    DescriptionError
        Where a field is a span, which has no end of values, or where there are too many combinations.
    """
    endless = [f'--set: {f.field}: a span has no end of values; add a step, "... by 50 mm", or --samples 50'
               for f in fields if f.span is not None]  # fmt: skip
    if endless:
        raise DescriptionError(endless)
    count = math.prod(len(f.values) for f in fields)
    if count > MOST:
        raise DescriptionError(
            [f"--set: {count} combinations are too many; write fewer values, or --samples 500"]
        )
    combinations = itertools.product(*(f.values for f in fields))
    return [{f.field: v for f, v in zip(fields, own, strict=True)} for own in combinations]


def latin_hypercube(fields: Sequence[Varied], samples: int, seed: int) -> list[dict[str, object]]:
    """Give so many builds that each field's range is met once in each of as many equal parts.

    McKay, Beckman and Conover, Technometrics 21 (1979), by `scipy.stats.qmc`; memory.

    Parameters
    ----------
    fields : spans or lists of values.
    samples : how many builds.
    seed : the same seed gives the same builds.
    """
    shares = LatinHypercube(len(fields), rng=seed).random(samples)
    return [{f.field: f.at(float(u)) for f, u in zip(fields, row, strict=True)} for row in shares]


def check_fields(sculpture: Sculpture, fields: Sequence[Varied]) -> None:
    """Refuse fields none of whose values a description takes: those are slips of the pen and not builds that fail.

    Raises
    ------
    DescriptionError
        With a line for each such field.
    """
    lines: list[str] = []
    for f in fields:
        tried = f.values if f.span is None else (f.at(0.0), f.at(1.0))
        faults: list[str] = []
        for value in tried:
            try:
                changed(sculpture, {f.field: value})
            except DescriptionError as error:
                faults.append(error.lines[0])
        if len(faults) == len(tried):
            lines.append(faults[0])
    if lines:
        raise DescriptionError(list(dict.fromkeys(lines)))
