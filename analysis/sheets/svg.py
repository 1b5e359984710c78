"""A figure as SVG that can stand in a page: no scripts, no style sheets, no ids twice, the same text every time."""

import hashlib
import io
import re
import warnings
from typing import Any, cast
from xml.etree import ElementTree

import matplotlib as mpl
from matplotlib.figure import Figure

SVG, LINK = "{http://www.w3.org/2000/svg}", "{http://www.w3.org/1999/xlink}"
DROPPED = ("metadata", "style")
"""Elements of no use in a page: who made it when, and a style sheet that its security policy would refuse."""


def inline(figure: Figure, title: str, words: str = "") -> str:
    """Give a figure as an SVG element for HTML, letters as paths.

    Parameters
    ----------
    figure : what.
    title : its name for those who do not see it, unlike any other of the page.
    words : what it shows.
    """
    target = io.BytesIO()
    settings = {"svg.hashsalt": "wingwright", "svg.fonttype": "path"}
    with warnings.catch_warnings(), cast("Any", mpl).rc_context(settings):
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        cast("Any", figure).savefig(target, format="svg", metadata={"Date": None, "Creator": None})
    root = ElementTree.fromstring(target.getvalue())
    mark = "d" + hashlib.sha256(title.encode()).hexdigest()[:8]
    _plain(root, mark)
    # What the style sheet that was dropped said of everything.
    root.attrib |= {"stroke-linejoin": "round", "stroke-linecap": "butt", "role": "img"}
    root.set("aria-labelledby", f"{mark}-title" + (f" {mark}-desc" if words else ""))
    if words:
        root.insert(0, _said("desc", words, mark))
    root.insert(0, _said("title", title, mark))
    return ElementTree.tostring(root, "unicode")


def _said(tag: str, words: str, mark: str) -> ElementTree.Element:
    made = ElementTree.Element(tag, {"id": f"{mark}-{tag}"})
    made.text = words
    return made


def _plain(element: ElementTree.Element, mark: str) -> None:
    """Take namespaces, style attributes and what is dropped from an element, and mark its ids."""
    element.tag = element.tag.removeprefix(SVG)
    for name, value in list(element.attrib.items()):
        del element.attrib[name]
        if name == "style":
            element.attrib |= _presented(value, mark)
        elif name == "id":
            element.set(name, f"{mark}-{value}")
        elif name in {"href", f"{LINK}href"}:
            element.set("href", f"#{mark}-{value.removeprefix('#')}")
        else:
            element.set(name, _marked(value, mark))
    for child in list(element):
        name = child.tag.removeprefix(SVG)
        if name in DROPPED or name.startswith("{"):
            element.remove(child)
        else:
            _plain(child, mark)


def _presented(style: str, mark: str) -> dict[str, str]:
    """Give a style attribute as presentation attributes, which mean the same in SVG."""
    pairs = (part.split(":", 1) for part in style.split(";") if ":" in part)
    return {name.strip(): _marked(value.strip(), mark) for name, value in pairs}


def _marked(value: str, mark: str) -> str:
    return re.sub(r"url\(#", f"url(#{mark}-", value)
