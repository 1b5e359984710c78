"""What the choice of parts rests on."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from analysis.finding import Finding
from analysis.loads import Loads
from analysis.parts.duty import Duty, duties
from analysis.shafts import Shafts
from models.mechanism import Mechanism
from models.parts.catalogue import Family, Row, catalogue
from sim.builders import Linkage


@dataclass(frozen=True)
class Basis:
    """What the choice of parts rests on.

    Attributes
    ----------
    loads : of all load cases.
    shafts : what the description says of its shafts.
    whip, strength : findings of the crankshafts' bending and strength in all runs, worst of each.
    makers : files of makers' own catalogues, by the family's name.
    """

    loads: Loads
    shafts: Shafts
    whip: tuple[Finding, ...] = ()
    strength: tuple[Finding, ...] = ()
    makers: Mapping[str, Path] = field(default_factory=dict[str, Path])

    @property
    def linkage(self) -> Linkage:
        """The closed loops."""
        return self.loads.linkage

    @property
    def mechanism(self) -> Mechanism:
        """The sculpture, settled."""
        return self.linkage.mechanism

    @cached_property
    def duty(self) -> Mapping[str, Duty]:
        """What each joint goes through in a turn in ordinary use."""
        return duties(self.linkage)

    def rows(self, family: Family[Row]) -> tuple[Row, ...]:
        """Give the catalogue of a family; a maker's own takes the place of each kind and system that it has a size of.

        So a table of metric sizes alone leaves the generic inch ones, whose source says so.

        Raises
        ------
        DescriptionError
            With every fault of a maker's file.
        """
        usual, given = catalogue(family), self.makers.get(family.name)
        if given is None:
            return usual
        own = catalogue(family, given)

        def series(row: Any) -> tuple[str, ...]:
            kinds = (g for g in family.groups if family.columns[g].dimension == "text")
            return (row.system, *(str(getattr(row, g)) for g in kinds))

        has = {series(row) for row in own}
        return (*own, *(row for row in usual if series(row) not in has))

    def series(self, family: Family[Any], system: str, **kinds: str) -> tuple[Any, ...]:
        """Give the sizes of one system and series, smallest first."""
        return tuple(
            r for r in self.rows(family)
            if r.system == system and all(getattr(r, name) == kind for name, kind in kinds.items())
        )  # fmt: skip
