"""Plain-text tables and headings, shared by the commands and the summary."""

import textwrap
from collections.abc import Sequence

WIDTH = 116
"""Columns of a terminal that lines of words are wrapped to."""


def columns(rows: Sequence[Sequence[str]], gap: str = "  ") -> list[str]:
    """Give rows of texts as lines with aligned columns."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [gap.join(t.ljust(w) for t, w in zip(row, widths, strict=True)).rstrip() for row in rows]


def markdown_table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Give rows of texts as a Markdown table, headings first."""
    lines = ["| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows]
    return [lines[0], "| " + " | ".join("---" for _ in rows[0]) + " |", *lines[1:]]


def wrapped(words: str) -> list[str]:
    """Give a sentence as indented lines no wider than a terminal."""
    return textwrap.wrap(words, WIDTH, initial_indent="  ", subsequent_indent="    ")
