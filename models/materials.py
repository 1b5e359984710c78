"""Stock and its properties."""

import difflib
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from models.units import DescriptionFault, quantity

POISSON = 0.3
"""Of metals: .29 for steel, .33 for aluminium (memory)."""


@dataclass(frozen=True)
class Material:
    """A stock material.

    Attributes
    ----------
    name : as a description gives it.
    density : kg/m3.
    modulus : Young's, Pa.
    strength : yield, Pa.
    source : where the values were seen.
    """

    name: str
    density: float
    modulus: float
    strength: float
    source: str

    @property
    def shear_modulus(self) -> float:
        """E / 2 (1 + nu), Pa."""
        return self.modulus / (2 * (1 + POISSON))


@cache
def materials() -> dict[str, Material]:
    """Give all known materials by name."""
    table = tomllib.loads(files("models").joinpath("materials.toml").read_text("utf-8"))
    return {
        name: Material(
            name,
            quantity(row["density"], "density"),
            quantity(row["modulus"], "stress"),
            quantity(row["yield"], "stress"),
            row["source"],
        )
        for name, row in table.items()
    }


def material(name: str) -> Material:
    """Find a material.

    Raises
    ------
    DescriptionFault
        When it is not known; with the nearest name.
    """
    known = materials()
    if name in known:
        return known[name]
    near = difflib.get_close_matches(name, known, 1, 0.4)
    hint = f"did you mean '{near[0]}'? " if near else ""
    raise DescriptionFault(f"material '{name[:60]}' is not known", f"{hint}known are: {', '.join(known)}")
