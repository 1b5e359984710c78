"""Round bar and plate as dealers keep them."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

from models.units import quantity

System = Literal["metric", "inch"]


@dataclass(frozen=True)
class StockSize:
    """A diameter of round bar.

    Attributes
    ----------
    label : as the trade calls it, such as "1 1/8 in".
    diameter : m.
    source : where it comes from that this size is kept.
    """

    label: str
    diameter: float
    source: str


@cache
def shaft_stock(system: System) -> tuple[StockSize, ...]:
    """Give the stock diameters of a system of measures, smallest first."""
    table = tomllib.loads(files("models").joinpath("parts/shaft_stock.toml").read_text("utf-8"))
    row = table[system]
    sizes = (StockSize(text, quantity(text, "length"), row["source"]) for text in row["diameters"])
    return tuple(sorted(sizes, key=lambda s: s.diameter))


@dataclass(frozen=True)
class PlateSize:
    """A thickness of plate.

    Attributes
    ----------
    label : as the trade calls it, such as "3/4 in".
    thickness : m.
    source : where it comes from that this size is kept.
    """

    label: str
    thickness: float
    source: str


@cache
def plate_stock(system: System) -> tuple[PlateSize, ...]:
    """Give the thicknesses of steel plate of a system of measures, thinnest first."""
    table = tomllib.loads(files("models").joinpath("parts/plate_stock.toml").read_text("utf-8"))
    row = table[system]
    sizes = (PlateSize(text, quantity(text, "length"), row["source"]) for text in row["thicknesses"])
    return tuple(sorted(sizes, key=lambda s: s.thickness))
