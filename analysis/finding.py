"""A finding: one thing that the maker wants to know, with its figure, its place and how far to trust it."""

import math
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Literal

import numpy as np

from models.shown import shown
from models.units import unit_of


@dataclass(frozen=True)
class Limit:
    """What a value must not exceed, or not fall below.

    Attributes
    ----------
    value : in the finding's unit.
    side : "most" or "least".
    source : where the limit comes from.
    """

    value: float
    side: Literal["most", "least"]
    source: str


@dataclass(frozen=True)
class Finding:
    """One thing found.

    Attributes
    ----------
    what : in words.
    value : SI.
    dimension : of the value ("force", "angle", "ratio", ...), or "fault" for a 1 that says that something is
        wrong, in the words of the note.
    where : part, joint or shaft.
    case : load case in words, or "geometry" for what holds in every case.
    time, crank : when, s, and at which crank angle, rad; None where that means nothing.
    limit : None where there is none.
    source : how the value was found.
    note : what else to know, or "".
    """

    what: str
    value: float
    dimension: str
    where: str
    case: str
    time: float | None = None
    crank: float | None = None
    limit: Limit | None = None
    source: str = ""
    note: str = ""

    @property
    def margin(self) -> float | None:
        """How far inside its limit the value is, as a share of the limit; negative is beyond."""
        if self.limit is None:
            return None
        room = self.limit.value - self.value if self.limit.side == "most" else self.value - self.limit.value
        return room / abs(self.limit.value) if self.limit.value else math.copysign(math.inf, room)

    @property
    def beyond(self) -> bool:
        """Whether the value is beyond its limit."""
        margin = self.margin
        return margin is not None and not margin >= 0

    @property
    def shown(self) -> str:
        """The value with its units; the words of a fault that is no quantity."""
        return self.note if self.dimension == "fault" else shown(self.value, self.dimension)

    @property
    def limit_words(self) -> str:
        """The limit and the verdict, or nothing."""
        if self.limit is None:
            return ""
        verdict = "BEYOND" if self.beyond else "ok"
        if self.dimension == "fault":
            return verdict
        word = "at most" if self.limit.side == "most" else "at least"
        return f"{word} {shown(self.limit.value, self.dimension)}: {verdict}"

    @property
    def crank_degrees(self) -> float | None:
        """The crank angle folded to one turn, in whole tenths of a degree."""
        return None if self.crank is None else round(float(np.degrees(self.crank)) % 360, 1) % 360

    def line(self) -> str:
        """Say the finding in one line."""
        parts = [f"{self.where}: {self.what} {self.shown}"]
        if self.crank is not None:
            parts.append(f"at crank angle {self.crank_degrees:g} deg")
        if self.limit is not None:
            word, _, verdict = self.limit_words.rpartition(": ")
            if word:
                parts.append(f"({word}, {self.limit.source})")
            parts.append("BEYOND ITS LIMIT" if verdict == "BEYOND" else "within")
        return " ".join(parts)

    def table(self) -> dict[str, object]:
        """Give the finding as plain data for JSON."""
        plain = asdict(self)
        plain |= {
            "unit": "1" if self.dimension == "fault" else unit_of(self.dimension),
            "margin": self.margin,
            "beyond": self.beyond,
        }
        plain["crank_deg"] = self.crank_degrees
        return plain


def beyond(findings: Iterable[Finding]) -> list[Finding]:
    """Give the findings beyond their limits, worst first."""
    return sorted((f for f in findings if f.beyond), key=lambda f: f.margin or 0.0)


def worst(findings: Iterable[Finding]) -> list[Finding]:
    """Give for each place and thing the finding with the worst value, in order of first appearance.

    The largest, or the smallest where the limit is what it must not fall below.
    """
    best: dict[tuple[str, str], Finding] = {}
    for f in findings:
        key = (f.where, f.what)
        sign = -1 if f.limit is not None and f.limit.side == "least" else 1
        if key not in best or sign * f.value > sign * best[key].value:
            best[key] = f
    return list(best.values())
