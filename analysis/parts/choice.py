"""A line of the parts schedule: what is asked of a part, the smallest size that meets it, and why not a smaller one."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

from analysis.finding import Finding, Limit
from models.shown import shown

NO_SIZE = "no size will do"
"""That a place asks for more than the catalogue has."""


class Sized(Protocol):
    """A row of a catalogue."""

    @property
    def size(self) -> str:
        """What the trade calls it."""
        ...

    @property
    def system(self) -> str:
        """Of measures: metric or inch."""
        ...

    @property
    def source(self) -> str:
        """Where its values come from."""
        ...


Row = TypeVar("Row", bound=Sized)


@dataclass(frozen=True)
class Check:
    """One requirement of a part.

    Attributes
    ----------
    what : is asked, such as "static load with shock margin".
    demand, allowed : in SI; it holds where the demand is not above what is allowed.
    dimension : of both.
    case : the load case that governs, in words, or "geometry" or "in use".
    source : of the formula and of what is allowed.
    crank : crank angle, rad, where the demand is largest, or None.
    note : what else to know, or "".
    years : of use after which the demand comes up, where it grows evenly with use as wear does; else None.
    """

    what: str
    demand: float
    allowed: float
    dimension: str
    case: str
    source: str
    crank: float | None = None
    note: str = ""
    years: float | None = None

    @property
    def lasts(self) -> float | None:
        """Years of use until what wears is worn out; None where nothing does."""
        if self.years is None:
            return None
        return self.years * self.allowed / self.demand if self.demand > 0 else math.inf

    @property
    def margin(self) -> float:
        """Allowed over demand less 1: 0 just holds, 1 is twice as good as needed."""
        if math.isnan(self.demand) or math.isnan(self.allowed):
            raise ValueError(f"{self.what} is not a number")
        return self.allowed / self.demand - 1 if self.demand > 0 else math.inf

    @property
    def holds(self) -> bool:
        """Whether the part stands it."""
        return self.margin >= 0

    @property
    def words(self) -> str:
        """Demand, what is allowed, and the margin."""
        had = f"{shown(self.demand, self.dimension)} of {shown(self.allowed, self.dimension)}"
        return f"{self.what} {had}" + (
            "" if math.isinf(self.margin) else f", margin {100 * self.margin:.0f} %"
        )


@dataclass(frozen=True)
class Sizing:
    """A size with everything asked of it."""

    size: str
    checks: tuple[Check, ...]
    source: str = ""

    @property
    def holds(self) -> bool:
        """Whether it meets everything."""
        return all(c.holds for c in self.checks)

    @property
    def tightest(self) -> Check:
        """The check with the least margin."""
        return min(self.checks, key=lambda c: c.margin)


@dataclass(frozen=True)
class Line:
    """A line of the schedule.

    Attributes
    ----------
    family : of parts, such as "rod end".
    where : which of them.
    count : how many the piece has, alike.
    system : of measures, or "" for what is made and not bought.
    chosen : the smallest size that meets everything, or None.
    nearest : the next smaller size, which does not; where none meets everything the largest; None where the
        smallest of all will do.
    described : the size that the description gives, or None where it gives none.
    notes : what else to know.
    """

    family: str
    where: str
    count: int
    system: str
    chosen: Sizing | None
    nearest: Sizing | None
    described: Sizing | None = None
    notes: tuple[str, ...] = ()

    @property
    def governs(self) -> Check | None:
        """What keeps it from being smaller, or else from being at all; None where the smallest will do."""
        return None if self.nearest is None else self.nearest.tightest

    @property
    def shown(self) -> Sizing | None:
        """The size that is told of: that chosen, else the nearest, else that described; None where all is in notes."""
        return self.chosen or self.nearest or self.described

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the description gives against what is asked of it."""
        own = self.described
        if own is None:
            return ()
        return tuple(
            Finding(f"{c.what}, {self.family} {own.size}", c.demand, c.dimension, self.where, c.case, None, c.crank,
                    Limit(c.allowed, "most", c.source), c.source, c.note)
            for c in own.checks
        )  # fmt: skip

    @property
    def lacking(self) -> Finding | None:
        """That nothing of the catalogue will do, with what comes nearest; None where something will."""
        if self.chosen is not None or self.nearest is None:
            return None
        worst = self.nearest.tightest
        kind = f"{self.system} {self.family}".strip()
        words = f"no {kind} of the catalogue will do: {self.nearest.size} has {worst.words}"
        return Finding(NO_SIZE, 1.0, "fault", self.where, worst.case, None, worst.crank,
                       Limit(0, "most", "one must do"), worst.source, words)  # fmt: skip


def line(
    family: str,
    where: str,
    rows: Sequence[Row],
    checks: Callable[[Row], tuple[Check, ...]],
    *,
    system: str,
    count: int = 1,
    described: Sizing | None = None,
    notes: tuple[str, ...] = (),
) -> Line:
    """Choose the smallest of some sizes that meets everything.

    Parameters
    ----------
    family, where, count, system, described, notes : as of `Line`.
    rows : the sizes of one system in one series, smallest first.
    checks : everything that is asked of a size.

    Raises
    ------
    ValueError
        If there are no sizes, nothing is asked, or something asked is not a number.
    """
    if not rows:
        raise ValueError(f"there are no sizes of {family} to choose from")
    before: Sizing | None = None
    for row in rows:
        sizing = Sizing(row.size, checks(row), row.source)
        if sizing.holds and sizing.checks:
            return Line(family, where, count, system, sizing, before, described, notes)
        before = sizing
    assert before is not None
    before.tightest  # noqa: B018 - a part of which nothing is asked has no place in a schedule
    return Line(family, where, count, system, None, before, described, notes)


@dataclass(frozen=True)
class Table:
    """A table that goes with the schedule: a title, rows with their headings first, and a note."""

    title: str
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
