"""What materials stand: ultimate strength, and the amplitude under repeated bending."""

import difflib
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import inf
from typing import Any, Literal

from models.units import DescriptionFault, quantity

LARGEST_LIMIT = 700e6
"""Fatigue limit of a polished steel specimen that no strength raises, Pa: Shigley eq. 6-8 (read second hand)."""


@dataclass(frozen=True)
class Strength:
    """What a material stands.

    Attributes
    ----------
    name : as in `models.materials`.
    kind : "steel" or "aluminium", which weld classes and notch sensitivity ask for.
    ultimate : tensile strength, Pa.
    fatigue : amplitude that a polished specimen stands in fully reversed bending, Pa.
    cycles : for which it does; infinite where the material has a fatigue limit.
    ultimate_source, fatigue_source : where the values were seen.
    """

    name: str
    kind: Literal["steel", "aluminium"]
    ultimate: float
    fatigue: float
    cycles: float
    ultimate_source: str
    fatigue_source: str


@cache
def strengths() -> dict[str, Strength]:
    """Give the strengths of all materials whose fatigue strength is known, by name."""
    table = tomllib.loads(files("models").joinpath("strengths.toml").read_text("utf-8"))
    return {name: _strength(name, row) for name, row in table.items()}


def strength(name: str) -> Strength:
    """Find the strength of a material.

    Raises
    ------
    DescriptionFault
        When it is not known; with the nearest name.
    """
    known = strengths()
    if name in known:
        return known[name]
    near = difflib.get_close_matches(name, known, 1, 0.4)
    hint = f"did you mean '{near[0]}'? " if near else ""
    raise DescriptionFault(
        f"the fatigue strength of '{name[:60]}' is not known",
        f"{hint}make the shaft of one of {', '.join(known)}",
    )


def _strength(name: str, row: dict[str, Any]) -> Strength:
    ultimate, fatigue = quantity(row["ultimate"]["value"], "stress"), row["fatigue"]
    amplitude = (
        min(fatigue["share"] * ultimate, LARGEST_LIMIT)
        if "share" in fatigue
        else quantity(fatigue["value"], "stress")
    )
    return Strength(
        name,
        row["kind"],
        ultimate,
        amplitude,
        fatigue.get("cycles", inf),
        row["ultimate"]["source"],
        fatigue["source"],
    )
