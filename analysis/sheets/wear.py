"""How often to look at what wears, from the lives in the parts schedule.

A check of wear compares a depth after some years with the depth that is allowed. Wear is taken to grow evenly with use
(Archard; as the checks have it), so that the part lasts those years times allowed over demand. It is looked at after a
share of that, and at least once a year: assumptions, since coefficients of wear scatter tenfold.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from analysis.parts.choice import Check, Line, Sizing

SHARE = 0.25
"""Share of a life after which a part is looked at: assumption."""
LONGEST = 1.0
"""Years after which it is looked at however long it lasts: assumption."""
MONTH = 1 / 12
"""Years below which an interval is shown in days."""


@dataclass(frozen=True)
class Lasting:
    """How long a part lasts by its wear.

    Attributes
    ----------
    part : which, with its size.
    check : of the wear.
    years : that it lasts; infinite where it does not wear.
    """

    part: str
    check: Check
    years: float

    @property
    def interval(self) -> float:
        """Years after which it is looked at."""
        return min(LONGEST, SHARE * self.years)


def lasting(lines: Iterable[Line]) -> Iterator[Lasting]:
    """Give what wears in a schedule: where a size is described that one alone, else what is chosen in each system."""
    listed = tuple(lines)
    given = {(x.family, x.where) for x in listed if x.described is not None}
    for x in listed:
        sizing: Sizing | None = x.described or (None if (x.family, x.where) in given else x.chosen)
        for check in () if sizing is None else sizing.checks:
            years = check.lasts
            if sizing is not None and years is not None:
                kind = "described" if x.described is not None else f"chosen, {x.system}"
                yield Lasting(f"{x.family}, {x.where}: {sizing.size} ({kind})", check, years)


def spell(years: float) -> str:
    """Say how long a time is: years, months or days, never longer than it is."""
    if math.isinf(years):
        return "does not wear"
    if years >= 2:
        return f"{math.floor(10 * years + 1e-9) / 10:g} years"
    if years >= 2 * MONTH:
        months = math.floor(12 * years + 1e-9)
        return f"{months} months"
    days = max(1, math.floor(365 * years + 1e-9))
    return f"{days} days" if days > 1 else "every day"
