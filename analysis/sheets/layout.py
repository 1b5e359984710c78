"""A sheet of paper as HTML: a title, blocks of words, lists, tables and drawings, printed on A4 or US Letter.

Everything is inline and nothing is fetched; there are no scripts. The page's security policy allows its own style
sheet, by its hash, and nothing else. What a description says is escaped by the templates.
"""

import base64
import hashlib
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup, escape

from analysis.parts.choice import Table


@dataclass(frozen=True)
class Words:
    """Paragraphs under a title."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Listing:
    """A list under a title; with boxes to tick where it is worked through."""

    title: str
    items: tuple[str, ...]
    ticked: bool = False


@dataclass(frozen=True)
class Drawing:
    """A drawing: its title, its SVG as `analysis.sheets.svg.inline` gives it, and a note below it."""

    title: str
    svg: str
    note: str = ""


@dataclass(frozen=True)
class Blanks:
    """Lines to be filled in by hand, by their labels."""

    title: str
    labels: tuple[str, ...]


Block = Words | Listing | Table | Drawing | Blanks


@dataclass(frozen=True)
class Sheet:
    """A sheet.

    Attributes
    ----------
    name : of its file, without ending.
    title : such as "Shop sheet".
    piece : the sculpture's name.
    purpose : who it is for and what it is for, in a sentence.
    blocks : what is on it, in order.
    """

    name: str
    title: str
    piece: str
    purpose: str
    blocks: tuple[Block, ...]

    @property
    def tables(self) -> dict[str, Table]:
        """Its tables by their titles."""
        return {b.title: b for b in self.blocks if isinstance(b, Table)}


KINDS = {Words: "words", Listing: "list", Table: "table", Drawing: "drawing", Blanks: "blanks"}


def html(sheet: Sheet) -> str:
    """Give a sheet as a page of HTML; the same sheet gives the same text."""
    style = _text("sheet.css") + _foot(sheet)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    # Drawings are SVG made here, in which texts are escaped or drawn as outlines.
    shown = [
        {"kind": KINDS[type(b)], "block": b, "svg": Markup(b.svg) if isinstance(b, Drawing) else ""}
        for b in sheet.blocks
    ]
    return _template().render(sheet=sheet, blocks=shown, style=Markup(style), digest=digest)


def _foot(sheet: Sheet) -> str:
    """Give what stands at the foot of every page, as far as a printer's program knows such boxes."""
    words = css_text(f"{sheet.piece}: {sheet.title}")
    return f'@page {{ @bottom-left {{ content: "{words}" }} }}\n'


def css_text(words: str) -> str:
    """Give words for a quoted text of a style sheet, all but plain letters and digits escaped: spaces too, since one
    that follows an escape belongs to it.
    """  # noqa: D205
    return "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in words)


@cache
def _template() -> Template:
    made = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    made.filters["dotted"] = dotted
    return made.from_string(_text("sheet.html"))


def dotted(words: str) -> Markup:
    """Give words escaped, with a place to break a line after each dot of a dotted name; numbers stay whole."""
    return Markup(re.sub(r"(?<=[a-z_])\.(?=[a-z0-9])", ".<wbr>", str(escape(words))))


def _text(name: str) -> str:
    return files("analysis.sheets").joinpath(name).read_text("utf-8")
