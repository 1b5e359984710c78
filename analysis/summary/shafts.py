"""What is said of a sculpture's shafts: one screen, and its Markdown twin."""

import re
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path

from analysis import (
    centre_bearing,
    clocking,
    coupling_line,
    coupling_verdicts,
    resonance,
    shaft_bow,
    shaft_stock,
    shaft_strength,
    shaft_whip,
    wing_error,
)
from analysis.finding import Finding
from analysis.shaft_limits import grounds
from analysis.shafts import Shafts, once
from analysis.study import Study
from analysis.summary import motion
from analysis.summary.layout import SCREEN, markdown_table, section, si
from analysis.summary.motion import Row
from models.shown import shown

CAUTION = (
    "Standing still or turned slowly, without gusts, hits or people on the wings: wingwright study has those. A shaft "
    "that moves under load is not a structure's or a person's safety proven: that is for licensed people on site."
)
FIGURES = {
    "shaft-shape": "the shaft at the crank angle at which it bends most, exaggerated as stated",
    "whip-orbit": "paths of the shaft's centre and of its pins",
    "shaft-loads": "moment, torque and stress along the shaft",
    "centre-bearing": "deflection with and without a centre bearing",
    "mode-shapes": "in which shapes the drive line swings",
    "resonance": "natural frequencies and what excites them",
    "clocking": "what a keyway that is off does to the panels",
}
TOLD = (
    shaft_whip.DEFLECTION, centre_bearing.WITHOUT, centre_bearing.WITH, shaft_stock.SHAFT, shaft_stock.PIN,
    shaft_stock.NONE, coupling_verdicts.SHARE, coupling_verdicts.FORCE, coupling_verdicts.MOMENT,
    coupling_verdicts.BEARING, shaft_bow.WING, wing_error.BENDING, clocking.PHASE, clocking.UNSURE, clocking.CUT,
    clocking.RATE,
)  # fmt: skip
"""Beginnings of findings that the screen has beside those with a limit."""
WORDY = (shaft_stock.SHAFT, shaft_stock.PIN, shaft_stock.NONE)
"""Findings whose note is what one looks for."""


def rows(study: Study) -> list[Row]:
    """Give the summary's rows: the worst of whip, slopes, couplings, strength and what is met, and the stock to take.

    Parameters
    ----------
    study : whose.
    """
    if study.shafts is None:
        return []
    names = {r.label: g.name for g in study.campaign.groups for r in g.runs}
    found: list[Row] = []
    bent = [f for f in study.whip if f.what == shaft_whip.DEFLECTION]
    found += [("whip", _said(f, names)) for f in motion.largest(bent)]
    for label, what in (("slope in a bearing", shaft_whip.SLOPE), ("at a coupling", coupling_line.PARALLEL),
                        ("fatigue", shaft_strength.FATIGUE), ("yielding", shaft_strength.YIELD),
                        ("welds", shaft_strength.WELD)):  # fmt: skip
        own = [f for f in (*study.whip, *study.strength) if f.what == what and f.limit is not None]
        worst = min(own, key=lambda f: f.margin or 0.0, default=None)
        if worst is not None:
            found.append((label, f"{_said(worst, names)}{motion.verdict(worst)}"))
    bars = [f"{f.where.rpartition(', ')[2]}: {re.split('[,;]', f.note)[0]}" for f in study.shafts.stock
            if f.what in (shaft_stock.SHAFT, shaft_stock.NONE)]  # fmt: skip
    found.append(("thinnest stock", "; ".join(bars)))
    met = [f"{where}: {_met(f)}" for where, f in once(study.shafts.resonances, study.linkage) if f.beyond]
    found.append(("resonance", "; ".join(met) or "nothing sharp is met at speeds in use"))
    return found


def _met(f: Finding) -> str:
    """Say what meets a natural frequency, or how near it comes."""
    what = f.what.removeprefix(resonance.SEPARATION)
    return f"{what} meets it in use: BEYOND" if f.value == 0 else f"{f.what} {f.shown}{motion.verdict(f)}"


def _said(f: Finding, names: Mapping[str, str]) -> str:
    return f"{f.shown}, {f.where}{motion.at(f)} ({names.get(f.case, f.case)})"


def screen(made: Shafts, folder: Path) -> list[str]:
    """Give the screen.

    Parameters
    ----------
    made : what was found.
    folder : with the figures and the tables.
    """
    m = made.linkage.mechanism
    speeds = (
        f"wheel {shown(made.speeds.slowest, 'angular_speed')} to {shown(made.speeds.quickest, 'angular_speed')} in "
        f"use, up to {shown(made.speeds.fastest, 'angular_speed')} after letting go"
    )
    lines = [f"{m.name}: shafts", f"All of it: {folder / 'shafts.md'}; {speeds}."]
    for title, found in made.parts:
        lines += section(title, _rows(found, made))
    needs = [
        ("", f"- {where}: {f.what} {si(f.shown)}{motion.at(f)}, wanted {motion.wanted(f)}")
        for where, f in once(tuple(made.beyond), made.linkage)
    ]
    lines += section("NEEDS CHANGE", needs or [("", "nothing that has a limit is beyond it")])
    return [*lines, *textwrap.wrap(CAUTION, SCREEN)]


def _rows(found: Sequence[Finding], made: Shafts) -> list[tuple[str, str]]:
    """Give what has a limit, and what the screen is read for, in one row for each place."""
    rows: dict[str, list[str]] = {}
    for where, f in once(tuple(found), made.linkage):
        if f.limit is None and not f.what.startswith(TOLD):
            continue
        note = f" ({f.note})" if f.what in WORDY and f.note else ""
        rows.setdefault(where, []).append(f"{f.what} {si(f.shown)}{motion.at(f)}{note}{motion.judged(f)}")
    return [(where, "; ".join(words)) for where, words in rows.items()]


def by_case(study: Study) -> list[tuple[str, ...]]:
    """Give the largest deflections of each load case as a table, headings first."""
    found: list[tuple[str, ...]] = [
        ("load case", "where", "largest sideways deflection", "crank angle", "of the runs")
    ]
    found += [(name, f.where, f.shown, motion.at(f).removeprefix(" at "), f.case) for name, f in study.whips]
    return found


def figures(made: Shafts) -> set[str]:
    """Name the figures that there is something to show in."""
    closed = made.linkage
    found = set(FIGURES)
    if centre_bearing.centre(closed.sides[0].side) is None:
        found.remove("centre-bearing")
    if len(closed.sides) < 2:
        found.remove("clocking")
    return found


def tables(made: Shafts) -> list[tuple[str, list[tuple[str, ...]]]]:
    """Give everything found standing still as tables, headings first, by their titles, and what strength rests on."""
    told = [
        (f"{title.capitalize()} of the shafts, standing still", table(found))
        for title, found in made.parts
        if found
    ]
    rows: list[tuple[str, ...]] = [("of", "what", "value", "source")]
    rows += [(g.of, g.name, shown(g.value, g.dimension), g.source) for g in grounds(made.linkage.mechanism)]
    return [*told, ("What the verdicts on strength rest on", rows)]


def table(found: Sequence[Finding]) -> list[tuple[str, ...]]:
    """Give findings as a table, headings first."""
    rows: list[tuple[str, ...]] = [("where", "what", "value", "crank angle", "limit", "note")]
    rows += [
        (f.where, f.what, f.shown, motion.at(f).removeprefix(" at "), f.limit_words, f.note) for f in found
    ]
    return rows


def markdown(made: Shafts, drawn: Sequence[str]) -> str:
    """Give everything as Markdown, figures linked beside it.

    Parameters
    ----------
    made : what was found.
    drawn : names of the figures that lie beside it.
    """
    lines = [f"# {made.linkage.mechanism.name}: shafts", "", CAUTION, ""]
    for name in drawn:
        lines += [f"![{FIGURES[name]}]({name}.png)", ""]
    for title, own in tables(made):
        lines += [f"## {title}", "", *markdown_table(own), ""]
    sources = sorted({f.source for f in made.findings if f.source})
    lines += [
        "## Not judged",
        "",
        f"- {shaft_whip.LEFT_OUT}",
        "",
        "## Sources",
        "",
        *(f"- {s}" for s in sources),
        "",
    ]
    return "\n".join(lines)
