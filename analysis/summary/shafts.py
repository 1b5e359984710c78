"""What is said of a sculpture's shafts: one screen, and its Markdown twin."""

from collections.abc import Sequence
from pathlib import Path

from analysis import clocking, shaft_whip
from analysis.finding import Finding
from analysis.shafts import Shafts, once
from analysis.summary import motion
from analysis.summary.layout import markdown_table, section, si
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
TOLD = (shaft_whip.DEFLECTION, clocking.PHASE, clocking.CUT)
"""Findings without a limit that the screen has beside those with one."""


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
    beyond = made.beyond
    words = [f"{f.where}: {f.what} {si(f.shown)}{motion.at(f)}, wanted {motion.wanted(f)}" for _, f in once(tuple(beyond), made.linkage)]
    lines += section("NEEDS CHANGE", [("", f"- {w}") for w in words] or [("", "nothing that has a limit is beyond it")])
    return [*lines, CAUTION]


def _rows(found: Sequence[Finding], made: Shafts) -> list[tuple[str, str]]:
    """Give what has a limit, and what the screen is read for, in one row for each place."""
    rows: dict[str, list[str]] = {}
    for where, f in once(tuple(found), made.linkage):
        if f.limit is None and f.what not in TOLD:
            continue
        rows.setdefault(where, []).append(f"{f.what} {si(f.shown)}{motion.at(f)}{motion.judged(f)}")
    return [(where, "; ".join(words)) for where, words in rows.items()]


def markdown(made: Shafts, figures: Sequence[str]) -> str:
    """Give everything as Markdown, figures linked beside it.

    Parameters
    ----------
    made : what was found.
    figures : names of the figures that lie beside it.
    """
    lines = [f"# {made.linkage.mechanism.name}: shafts", "", CAUTION, ""]
    for name in figures:
        lines += [f"![{FIGURES[name]}]({name}.png)", ""]
    for title, found in made.parts:
        if not found:
            continue
        rows: list[tuple[str, ...]] = [("where", "what", "value", "crank angle", "limit", "note")]
        rows += [(f.where, f.what, f.shown, motion.at(f).removeprefix(" at "), f.limit_words, f.note) for f in found]
        lines += [f"## {title.capitalize()}", "", *markdown_table(rows), ""]
    sources = sorted({f.source for f in made.findings if f.source})
    lines += ["## Not judged", "", f"- {shaft_whip.LEFT_OUT}", "", "## Sources", "", *(f"- {s}" for s in sources), ""]
    return "\n".join(lines)
