"""The parts schedule as rows of the summary, as tables, and as CSV."""

import csv
import io
import math
import textwrap
from collections.abc import Mapping, Sequence

from analysis.drawing.sheet import short
from analysis.parts.choice import Check, Line, Sizing
from analysis.schedule import Schedule
from analysis.summary.layout import SCREEN, columns, markdown_table, section
from analysis.summary.motion import Row
from models.parts.catalogue import SYSTEMS
from models.shown import shown
from models.units import unit_of

CAUTION = (
    "Sizes are generic and ratings differ between makers: take the maker's own sheet for what is bought, and let "
    "licensed people judge what a failure would drop on somebody."
)
NONE = "none"
FIRST = ("rod end", "rod", "hinge pin", "chain")
"""Families whose sizes the study's one screen has."""
HEADINGS = (
    "part", "where", "count", "system", "size", "what decides", "load case", "asked", "stands", "margin",
    "next smaller", "which fails by", "described", "its margin", "notes",
)  # fmt: skip
CHECKS = (
    "part", "where", "system", "size", "as", "asked for", "demand", "allowed", "unit", "margin", "holds", "load case",
    "crank angle deg", "source", "note", "source of the size",
)  # fmt: skip


def screen(name: str, schedule: Schedule, names: Mapping[str, str], folder: str) -> list[str]:
    """Give what `wingwright parts` prints: a line for each part, then what has to change.

    Parameters
    ----------
    name : the sculpture's.
    schedule : its parts.
    names : of the load cases, by the labels of their runs.
    folder : with the tables.
    """
    lines = [f"{name}: parts", f"All of it: {folder}", ""]
    rows: list[tuple[str, ...]] = [("part", "where", "", "metric", "inch", "decides", "margin")]
    for (family, where), own in _places(schedule).items():
        # What decides on a size that will do; what stands in the way only where none does.
        told = min([x for x in own if x.chosen] or own, key=_tightness)
        tight = None if told.shown is None else told.shown.tightest
        sizes = {x.system: _size(x) for x in own}
        metric, inch = (sizes.get("", ""), "") if "" in sizes else (sizes.get(s, "") for s in SYSTEMS)
        decides = "see its notes" if tight is None else f"{tight.what} ({case(tight, names)})"
        rows.append((family, short(where, 30), f"{own[0].count}x", short(metric, 24), short(inch, 20),
                     short(decides, 44), "" if tight is None else _margin(tight)))  # fmt: skip
    lines += columns(rows, " ")
    lines += ["", *section("NEEDS CHANGE", [("", f"- {w}") for w in needs(schedule, names)])]
    return [*lines, *textwrap.wrap(CAUTION, SCREEN)]


def rows(schedule: Schedule) -> list[Row]:
    """Give the summary's row: of what is looked for first the sizes chosen, metric or inch."""
    found: dict[str, dict[str, list[str]]] = {}
    for x in schedule.lines:
        sizes = found.setdefault(x.family, {}).setdefault(x.system, []) if x.family in FIRST else []
        size = _size(x)
        if size and size not in sizes:
            sizes.append(size)
    said = [
        f"{family} {' or '.join(', '.join(sizes) for sizes in own.values() if sizes)}"
        for family, own in found.items()
    ]
    rest = len(schedule.lines)
    return [("", "; ".join([*said, f"{rest} lines with why and margins: parts.md"]))] if rest else []


def needs(schedule: Schedule, names: Mapping[str, str]) -> list[str]:
    """Say what has to change: described sizes that do not do, and parts for which none does."""
    found = [
        f"{x.where}, {x.family} {x.described.size}: {x.described.tightest.words} ({case(x.described.tightest, names)})"
        for x in schedule.lines if x.described is not None and not x.described.holds
    ]  # fmt: skip
    none = (x.lacking for x in schedule.lacking if x.described is None)
    found += [f"{f.where}: {f.note}" for f in none if f is not None]
    return list(dict.fromkeys(found)) or ["nothing that is described is too small"]


def case(check: Check, names: Mapping[str, str]) -> str:
    """Give the load case of a check by its name."""
    return names.get(check.case, check.case)


def _margin(check: Check) -> str:
    return f"{100 * check.margin:.0f} %" if check.margin < 99 else "ample"


def _tightness(x: Line) -> float:
    return math.inf if x.shown is None else x.shown.tightest.margin


def _places(schedule: Schedule) -> dict[tuple[str, str], list[Line]]:
    """Give the lines by family and place, metric and inch together."""
    found: dict[tuple[str, str], list[Line]] = {}
    for x in schedule.lines:
        found.setdefault((x.family, x.where), []).append(x)
    return found


def _size(x: Line) -> str:
    """Give the size chosen; of what is judged as described that size; else that there is none."""
    if x.chosen is not None:
        return x.chosen.size
    if x.nearest is None or not x.system:
        return "" if x.shown is None else x.shown.size
    return NONE


def table(lines: Sequence[Line], names: Mapping[str, str]) -> list[tuple[str, ...]]:
    """Give the schedule, headings first: what decides on each size, the next smaller and why it fails."""
    found: list[tuple[str, ...]] = [HEADINGS]
    for x in lines:
        tight = None if x.shown is None else x.shown.tightest
        smaller = x.nearest if x.chosen else None
        own = x.described
        said = ("",) * 5 if tight is None else (
            tight.what, case(tight, names), shown(tight.demand, tight.dimension),
            shown(tight.allowed, tight.dimension), _margin(tight),
        )  # fmt: skip
        found.append(
            (
                x.family, x.where, str(x.count), x.system, _size(x), *said, "" if smaller is None else smaller.size,
                "" if smaller is None else _fails(smaller, names),
                "" if own is None else own.size, "" if own is None else _margin(own.tightest), "; ".join(x.notes),
            )
        )  # fmt: skip
    return found


def _fails(sizing: Sizing, names: Mapping[str, str]) -> str:
    broken = sorted((c for c in sizing.checks if not c.holds), key=lambda c: c.margin)
    return "; ".join(f"{c.what} {100 * c.margin:.0f} % ({case(c, names)})" for c in broken)


def checks(lines: Sequence[Line], names: Mapping[str, str]) -> list[tuple[str, ...]]:
    """Give every check of the chosen, the next smaller and the described size, in SI, headings first."""
    found: list[tuple[str, ...]] = [CHECKS]
    for x in lines:
        sizings = (
            ("chosen", x.chosen),
            ("smaller" if x.chosen else "largest", x.nearest),
            ("described", x.described),
        )
        for word, sizing in sizings:
            for c in () if sizing is None else sizing.checks:
                unit = unit_of(c.dimension)
                angle = "" if c.crank is None else f"{c.crank * 57.29577951308232 % 360:.1f}"
                found.append(
                    (x.family, x.where, x.system, sizing.size if sizing else "", word, c.what, f"{c.demand:.6g}",
                     f"{c.allowed:.6g}", unit, f"{c.margin:.6g}", "yes" if c.holds else "no", case(c, names), angle,
                     c.source, c.note, sizing.source if sizing else "")
                )  # fmt: skip
    return found


def written(rows: Sequence[Sequence[str]]) -> str:
    """Give a table as CSV."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def markdown(name: str, schedule: Schedule, names: Mapping[str, str]) -> str:
    """Give the schedule and its tables as Markdown."""
    lines = [f"# {name}: parts", "", CAUTION, "", "## Needs change", ""]
    lines += [f"- {w}" for w in needs(schedule, names)]
    lines += ["", "## Schedule", "", *markdown_table(table(schedule.lines, names)), ""]
    for t in schedule.tables:
        lines += [f"## {t.title}", "", *([t.note, ""] if t.note else []), *markdown_table(t.rows), ""]
    lines += ["## Every check", "", *markdown_table(_told(schedule.lines, names)), ""]
    sources = sorted(
        {c.source for x in schedule.lines for s in (x.chosen, x.nearest, x.described) if s for c in s.checks}
    )
    return "\n".join([*lines, "## Sources", "", *(f"- {s}" for s in sources), ""])


def _told(lines: Sequence[Line], names: Mapping[str, str]) -> list[tuple[str, ...]]:
    """Give every check of the chosen sizes in shown units, headings first."""
    found: list[tuple[str, ...]] = [("part", "where", "size", "asked for", "demand", "stands", "margin", "load case",
                                     "note", "source")]  # fmt: skip
    for x in lines:
        kept = x.shown
        for c in () if kept is None else kept.checks:
            found.append((x.family, x.where, kept.size if kept else "", c.what, shown(c.demand, c.dimension),
                          shown(c.allowed, c.dimension), _margin(c), case(c, names), c.note, c.source))  # fmt: skip
    return found


def plain(schedule: Schedule, names: Mapping[str, str]) -> dict[str, object]:
    """Give the schedule as plain data for JSON, in SI."""

    def sized(x: Sizing | None) -> object:
        return None if x is None else {
            "size": x.size,
            "source": x.source,
            "checks": [
                {"what": c.what, "demand": c.demand, "allowed": c.allowed, "unit": unit_of(c.dimension),
                 "margin": c.margin, "holds": c.holds, "case": case(c, names), "run": c.case, "crank": c.crank,
                 "source": c.source, "note": c.note}
                for c in x.checks
            ],
        }  # fmt: skip

    return {
        "parts": [
            {"family": x.family, "where": x.where, "count": x.count, "system": x.system, "chosen": sized(x.chosen),
             "smaller" if x.chosen else "largest": sized(x.nearest), "described": sized(x.described),
             "notes": list(x.notes)}
            for x in schedule.lines
        ],
        "tables": [{"title": t.title, "rows": [list(r) for r in t.rows], "note": t.note} for t in schedule.tables],
        "findings": [f.table() for f in schedule.findings],
    }  # fmt: skip
