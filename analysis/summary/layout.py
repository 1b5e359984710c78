"""Plain-text tables and headings, shared by the commands and the summary."""

import re
import textwrap
from collections.abc import Iterable, Sequence

from models.shown import shown

WIDTH = 116
"""Columns of a terminal that lines of words are wrapped to."""
SCREEN = 110
"""Columns of the summary's one screen."""
TITLES = 13
"""Columns of it that the sections' titles take."""
LABELS = 24
"""Columns that the labels of a section take at most."""
_TWO_UNITS = re.compile(r"(\S+) ([^()]+?)(?: \((\S+) ([^()]+)\))?")


def columns(rows: Sequence[Sequence[str]], gap: str = "  ") -> list[str]:
    """Give rows of texts as lines with aligned columns."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [gap.join(t.ljust(w) for t, w in zip(row, widths, strict=True)).rstrip() for row in rows]


def markdown_table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Give rows of texts as a Markdown table, headings first."""
    lines = ["| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows]
    return [lines[0], "| " + " | ".join("---" for _ in rows[0]) + " |", *lines[1:]]


def wrapped(words: str, width: int = WIDTH) -> list[str]:
    """Give a sentence as indented lines no wider than a terminal."""
    return textwrap.wrap(words, width, initial_indent="  ", subsequent_indent="    ")


def section(title: str, rows: Sequence[tuple[str, str]]) -> list[str]:
    """Give a section of the screen: its title in the margin, labels, and words that wrap in their column."""
    wide = min(LABELS, max((len(label) for label, _ in rows), default=0))
    lines: list[str] = []
    for label, words in rows:
        room = SCREEN - TITLES - (wide + 2 if label else 0)
        parts = textwrap.wrap(words, room, break_on_hyphens=False) or [""]
        if len(label) > wide:  # a long name takes a line of its own
            lines.append(label)
            label = " "
        for k, part in enumerate(parts):
            lines.append(f"{(label if k == 0 else '').ljust(wide)}  {part}" if label else part)
    return margin(title, lines)


def margin(title: str, lines: Iterable[str]) -> list[str]:
    """Give lines with a title in the margin of the first."""
    return [f"{(title if k == 0 else '').ljust(TITLES)}{line}".rstrip() for k, line in enumerate(lines)]


def si(words: str) -> str:
    """Give a shown value without its shop units."""
    return words.split(" (")[0]


def span(values: Iterable[float], dimension: str) -> str:
    """Give the least and the largest of values as one range: `88 to 103 N (20 to 23 lbf)`."""
    known = sorted(values)
    low, high = shown(known[0], dimension), shown(known[-1], dimension)
    if low == high:
        return low
    a, b = _TWO_UNITS.fullmatch(low), _TWO_UNITS.fullmatch(high)
    if a is None or b is None or a[2] != b[2] or a[4] != b[4]:
        return f"{low} to {high}"
    shop = f" ({a[3]} to {b[3]} {a[4]})" if a[3] and a[3] != b[3] else f" ({b[3]} {b[4]})" if a[3] else ""
    return f"{a[1]} to {b[1]} {a[2]}{shop}"
