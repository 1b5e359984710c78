"""Writes the four sheets into a folder."""

from collections.abc import Callable
from pathlib import Path

from analysis.sheets.engineer import engineer
from analysis.sheets.facts import Facts
from analysis.sheets.layout import Sheet, html
from analysis.sheets.maintenance import maintenance
from analysis.sheets.rigger import rigger
from analysis.sheets.shop import shop

SHEETS: tuple[Callable[[Facts], Sheet], ...] = (engineer, rigger, shop, maintenance)
"""In the order in which a piece needs them."""


def sheets(facts: Facts) -> tuple[Sheet, ...]:
    """Write all sheets."""
    return tuple(write(facts) for write in SHEETS)


def write_sheets(facts: Facts, folder: Path) -> tuple[Path, ...]:
    """Write all sheets as HTML into a folder, which is made, and give their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    found: list[Path] = []
    for sheet in sheets(facts):
        path = folder / f"{sheet.name}.html"
        path.write_text(html(sheet), "utf-8")
        found.append(path)
    return tuple(found)
