"""The people who turn the wheel."""

import tomllib
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from models.units import quantity

ASSUMED = "rests on assumed strengths"
"""What every finding about who can turn it has to say."""
PERCENTILES = (10, 50, 90)
"""Of the statures of a profile."""
_DIMENSIONS = {
    "push": "force",
    "power": "power",
    "fastest": "speed",
    "reaction": "time",
    "speed": "speed",
    "grip": "force",
    "hang": "mass",
    "arm_mass": "mass",
}
_SHARES = ("shoulder", "overhead", "arm", "knuckle", "knee")


@dataclass(frozen=True)
class Person:
    """What somebody can do at the rim or the handle, and how far that hand reaches.

    Attributes
    ----------
    name, label : for tables.
    age : years, 18 for any adult; None for a profile that stands for several ages.
    push : largest tangential force at rest, N.
    power : that can be kept up, W.
    fastest : hand speed at which no force is left, m/s.
    reaction : time between noticing and pushing, s.
    speed : comfortable hand speed, m/s.
    grip : largest tangential force with which the hand holds on to a moving rim, N.
    hang : mass that hangs on a wing, kg.
    arm_mass : that the hand carries along when it stays on the wheel, kg.
    stature : 10, 50 and 90 percentile, m.
    shoulder, overhead, arm, knuckle, knee : shoulder height, highest grip, shoulder to grip, height of the
        hanging hand and of the knee, as shares of the stature.
    sources : of each of these, by its name.
    """

    name: str
    label: str
    age: float | None
    push: float
    power: float
    fastest: float
    reaction: float
    speed: float
    grip: float
    hang: float
    arm_mass: float
    stature: tuple[float, float, float]
    shoulder: float
    overhead: float
    arm: float
    knuckle: float
    knee: float
    sources: dict[str, str] = field(hash=False, repr=False)

    @property
    def source(self) -> str:
        """Where the strength comes from."""
        return self.sources["push"]

    def strength(self, hand: float) -> float:
        """Give the largest push, N, at a hand speed of 0 or more, m/s.

        It falls with speed as F0 (1 - v / v_max), and power allows P / v: the project's own simplification of
        the falling force that muscles have.
        """
        push = max(0.0, self.push * (1 - hand / self.fastest))
        return min(push, self.power / hand) if hand > 0 else push


@cache
def people() -> dict[str, Person]:
    """Give all profiles by name."""
    table = tomllib.loads(files("models").joinpath("people.toml").read_text("utf-8"))
    body = table.pop("body")
    return {name: _person(name, row, body) for name, row in table.items()}


def by_age() -> tuple[Person, ...]:
    """Give the profiles that stand for one age, youngest and weakest first."""
    aged = [(p.age, p.push, p) for p in people().values() if p.age is not None]
    return tuple(p for _, _, p in sorted(aged, key=lambda a: a[:2]))


def _person(name: str, row: dict[str, Any], body: dict[str, Any]) -> Person:
    ten, fifty, ninety = (quantity(text, "length") for text in row["stature"]["value"])
    whole = {**body, **row}
    return Person(
        name=name,
        label=row["label"],
        age=row.get("age"),
        stature=(ten, fifty, ninety),
        sources={key: entry["source"] for key, entry in whole.items() if isinstance(entry, dict)},
        **{key: quantity(row[key]["value"], dimension) for key, dimension in _DIMENSIONS.items()},
        **{key: float(whole[key]["value"]) for key in _SHARES},
    )
