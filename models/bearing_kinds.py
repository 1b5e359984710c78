"""How far a shaft may lean in each kind of bearing."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from models.units import quantity


@dataclass(frozen=True)
class BearingKind:
    """A kind of bearing and the slope of the shaft that it allows.

    Attributes
    ----------
    name, label : for descriptions and for tables.
    allowed : slope between shaft and housing that is always allowed, rad; None where it is geometry's to say
        (a bush: clearance over length).
    at_most : far end of the range of the source, rad; None with `allowed`.
    setting : lean that the housing takes up when it is set and that stays as it is, rad; 0 where it takes none.
    note : what else to know, or "".
    source : where the values come from.
    """

    name: str
    label: str
    allowed: float | None
    at_most: float | None
    setting: float
    note: str
    source: str


@cache
def bearing_kinds() -> dict[str, BearingKind]:
    """Give all kinds of bearing by name."""
    table = tomllib.loads(files("models").joinpath("parts/bearing_kinds.toml").read_text("utf-8"))
    return {
        name: BearingKind(
            name,
            row["label"],
            row.get("allowed"),
            row.get("at_most"),
            quantity(row["setting"], "angle") if "setting" in row else 0.0,
            row["note"],
            row["source"],
        )
        for name, row in table.items()
    }
