"""Fatigue classes of the welds of a built-up crankshaft."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

Code = Literal["EN 1993-1-9", "IIW"]


@dataclass(frozen=True)
class WeldClass:
    """A weld detail and what it stands.

    Attributes
    ----------
    name, label : for descriptions and for tables.
    code : whose curves go with it.
    place : "toe", where the stress is that of the shaft or web, or "root", where it is that of the throat.
    material : "steel" or "aluminium".
    normal, shear : stress range stood 2 million times, Pa.
    source : where the class was seen.
    """

    name: str
    label: str
    code: Code
    place: Literal["toe", "root"]
    material: Literal["steel", "aluminium"]
    normal: float
    shear: float
    source: str


@cache
def weld_classes() -> dict[str, WeldClass]:
    """Give all weld classes by name."""
    table = tomllib.loads(files("models").joinpath("weld_classes.toml").read_text("utf-8"))
    return {
        name: WeldClass(name, **{**row, "normal": row["normal"] * 1e6, "shear": row["shear"] * 1e6})
        for name, row in table.items()
    }


def suited(material: str, place: str, code: Code | None = None) -> WeldClass:
    """Give the lowest, and so the most cautious, class of a web welded on a shaft.

    Parameters
    ----------
    material : "steel" or "aluminium".
    place : "toe" or "root".
    code : of these only, or None.

    Raises
    ------
    LookupError
        When there is none.
    """
    fitting = [
        w
        for w in weld_classes().values()
        if (w.material, w.place) == (material, place) and code in (None, w.code)
    ]
    if not fitting:
        raise LookupError(f"no weld class for {material} at the {place}")
    return min(fitting, key=lambda w: w.normal)
