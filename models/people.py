"""The people who turn the wheel."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from models.units import quantity


@dataclass(frozen=True)
class Person:
    """What somebody can do at the rim or the handle.

    Attributes
    ----------
    name, label : for tables.
    push : largest tangential force at rest, N.
    power : that can be kept up, W.
    fastest : hand speed at which no force is left, m/s.
    reaction : time between noticing and pushing, s.
    speed : comfortable hand speed, m/s.
    source : where the values come from.
    """

    name: str
    label: str
    push: float
    power: float
    fastest: float
    reaction: float
    speed: float
    source: str


@cache
def people() -> dict[str, Person]:
    """Give all profiles by name."""
    table = tomllib.loads(files("models").joinpath("people.toml").read_text("utf-8"))
    return {
        name: Person(
            name,
            row["label"],
            quantity(row["push"], "force"),
            quantity(row["power"], "power"),
            quantity(row["fastest"], "speed"),
            quantity(row["reaction"], "time"),
            quantity(row["speed"], "speed"),
            row["source"],
        )
        for name, row in table.items()
    }
