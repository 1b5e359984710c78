"""What the sheets are written from, and what every one of them ends with."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase

from analysis.finding import Finding
from analysis.loads import Loads
from analysis.parts.choice import Table
from analysis.schedule import Schedule
from analysis.sheets.layout import Block, Listing
from analysis.study import Study
from analysis.summary import CAUTIONS
from models.mechanism import Mechanism
from models.shown import shown
from sim.builders import Linkage

GEOMETRY = "geometry"
HARD = "\N{NO-BREAK SPACE}"
GIVEN = "description"
HEADINGS = ("what", "value", "load case", "source")
UNITS = (
    "Lengths in millimetres, inches in brackets; masses in kilograms (pounds); forces in newtons "
    "(pounds-force); torques in newton metres (inch or foot pounds-force); angles in degrees. Where both "
    "are given the SI value is the exact one.",
    "x forward, y to the left wing, z up; the origin where the crankshaft's axis meets the post's axis. "
    '"Out" counts from the post\'s axis, on either side.',
    "Angles of throws, counterweights and keyways: from straight up, positive by the right hand about +y, "
    "that is toward forward. Crank angle 0 is where a throw of angle 0 stands straight up.",
)
"""What every sheet says of its units and axes."""
NOT_COVERED = (
    "foundation, anchor bolts, ground, ice, snow, earthquake, corrosion, fire",
    "local codes, playground and workplace rules, permits and inspections by the authority",
    "anything that the description does not say: plates, brackets, guards, fasteners, paint, lights",
)
"""What no sheet covers."""


@dataclass(frozen=True)
class Facts:
    """What the sheets are written from.

    Attributes
    ----------
    loads : of all load cases.
    schedule : of the parts.
    """

    loads: Loads
    schedule: Schedule

    @property
    def linkage(self) -> Linkage:
        """The closed loops."""
        return self.loads.linkage

    @property
    def mechanism(self) -> Mechanism:
        """The sculpture, settled."""
        return self.linkage.mechanism


def facts(study: Study, schedule: Schedule) -> Facts:
    """Give what the sheets need of a study and its schedule of parts."""
    return Facts(study.loads, schedule)


def source(m: Mechanism, field: str) -> str:
    """Give where a field's value comes from: the description, or the source of its default."""
    return next((f"default: {d.source}" for d in m.defaults if d.field == field), GIVEN)


def row(what: str, value: float, dimension: str, case: str, source: str) -> tuple[str, str, str, str]:
    """Give a row of a table with `HEADINGS`."""
    return what, shown(value, dimension), case, source


def size(length: float) -> str:
    """Write a length to be measured or cut: tenths of a millimetre, thousandths of an inch, each kept in one line."""
    return f"{_round(1e3 * length, 1)}{HARD}mm ({_round(length / 0.0254, 3)}{HARD}in)"


def fine(length: float) -> str:
    """Write a length of wear or play: hundredths of a millimetre, ten-thousandths of an inch."""
    return f"{_round(1e3 * length, 2)}{HARD}mm ({_round(length / 0.0254, 4)}{HARD}in)"


def turned(angle: float) -> str:
    """Write an angle to be measured or cut: hundredths of a degree."""
    return f"{_round(math.degrees(angle), 2)}°"


def _round(value: float, digits: int) -> str:
    words = f"{value:.{digits}f}"
    return words.removeprefix("-") if float(words) == 0 else words.replace("-", "−")


def found(
    title: str, findings: Iterable[Finding], note: str = "", names: dict[str, str] | None = None
) -> Table:
    """Give findings as a table.

    Parameters
    ----------
    title, note : of the table.
    findings : its rows.
    names : of load cases by the labels of their runs.
    """
    rows = [
        (
            f.where,
            f.what,
            f.shown + (f"; {f.limit_words}" if f.limit is not None else ""),
            _case(f, names or {}),
            "; ".join(x for x in (f.source, "" if f.note == f.shown else f.note) if x),
        )
        for f in findings
    ]
    return Table(title, (("where", "what", "value", "load case", "source, notes"), *rows), note)


def _case(f: Finding, names: dict[str, str]) -> str:
    at = "" if f.crank_degrees is None else f", crank at {f.crank_degrees:g}°"
    return names.get(f.case, f.case) + at


def of_schedule(facts: Facts, *beginnings: str) -> tuple[Table, ...]:
    """Give the schedule's tables whose titles begin with one of some words."""
    return tuple(t for t in facts.schedule.tables if t.title.lower().startswith(beginnings))


def cautions() -> Block:
    """Give the cautions that every sheet begins with."""
    return Listing("Cautions", CAUTIONS)


def ending(facts: Facts, fields: Sequence[str], uncovered: Sequence[str]) -> tuple[Block, ...]:
    """Give what every sheet ends with: what is not covered, units, what is assumed.

    Parameters
    ----------
    facts : what the sheet is written from.
    fields : names of the fields that the sheet rests on, "*" for any part of one.
    uncovered : what this sheet leaves out beside what every one does.
    """
    rows = [
        (d.field, d.value if isinstance(d.value, str) else shown(d.value, d.dimension), d.source)
        for d in facts.mechanism.defaults
        if any(fnmatchcase(d.field, pattern) for pattern in fields)
    ]
    none = ("nothing that this sheet rests on", "", "")
    return (
        Listing("Not covered", (*uncovered, *NOT_COVERED)),
        Listing("Units and axes", UNITS),
        Table(
            "Assumed, since the description does not say",
            (("field", "value", "source"), *(rows or [none])),
            "Check each against the piece. Everything not in this table or marked otherwise is as described.",
        ),
    )
