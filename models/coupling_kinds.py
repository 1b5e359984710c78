"""Kinds of couplings: how far the two shafts may miss each other, and what each is meant for."""

import math
import tomllib
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

from models.units import quantity

LENGTH_OVER_DIAMETER = 2.0
"""Length between the two crosses of a double-cardan over its diameter, where it is not given; assumption."""


@dataclass(frozen=True)
class CouplingKind:
    """A kind of coupling.

    Attributes
    ----------
    name : as a description gives it.
    label : in words.
    angular : angle of the shafts' axes that it allows, rad; of a double-cardan the angle of each of its joints.
    parallel : offset of the shafts' axes that it allows, m; None where it follows from the length between two joints.
    backlash : whole free angle, rad.
    reversing : whether it is meant for a drive that reverses often.
    sources : of each of these, by its name.
    """

    name: str
    label: str
    angular: float
    parallel: float | None
    backlash: float
    reversing: bool
    sources: dict[str, str] = field(hash=False, repr=False)

    def offset(self, length: float | None) -> float:
        """Give the parallel misalignment that it allows, m; of two joints `length`, m, apart L sin(angle of each)."""
        if self.parallel is not None:
            return self.parallel
        return (length or 0.0) * math.sin(self.angular)


@cache
def coupling_kinds() -> dict[str, CouplingKind]:
    """Give all kinds by name."""
    table = tomllib.loads(files("models").joinpath("parts", "coupling_kinds.toml").read_text("utf-8"))
    return {
        name: CouplingKind(
            name=name,
            label=row["label"],
            angular=quantity(row["angular"]["value"], "angle"),
            parallel=quantity(row["parallel"]["value"], "length") if "parallel" in row else None,
            backlash=quantity(row["backlash"]["value"], "angle"),
            reversing=row["reversing"]["value"],
            sources={key: entry["source"] for key, entry in row.items() if isinstance(entry, dict)},
        )
        for name, row in table.items()
    }
