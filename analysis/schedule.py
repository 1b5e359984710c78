"""The parts schedule: a line for every bought or made part, and the tables that go with it."""

from collections.abc import Callable
from dataclasses import dataclass

from analysis.finding import Finding, beyond
from analysis.parts import (
    bushes,
    chain_run,
    chains,
    couplings,
    fasteners,
    hinges,
    keys,
    lock,
    retention,
    rod_ends,
    rods,
    rolling,
    service,
    shafts,
)
from analysis.parts.basis import Basis
from analysis.parts.choice import Line, Table
from analysis.structure import telling

LINES: tuple[Callable[[Basis], tuple[Line, ...]], ...] = (
    rod_ends.lines,
    rods.lines,
    bushes.lines,
    rolling.lines,
    shafts.lines,
    hinges.lines,
    keys.lines,
    couplings.lines,
    chains.lines,
    chain_run.lines,
    fasteners.lines,
    lock.lines,
    telling.lines,
)
"""The families of parts, in the order of the schedule."""
TABLES: tuple[Callable[[Basis], tuple[Table, ...]], ...] = (
    rods.tables,
    bushes.tables,
    rolling.tables,
    shafts.tables,
    hinges.tables,
    keys.tables,
    couplings.tables,
    chains.tables,
    chain_run.tables,
    fasteners.tables,
    lock.tables,
    retention.tables,
    service.tables,
    telling.tables,
)
"""What is told beside them."""


@dataclass(frozen=True)
class Schedule:
    """Which parts a piece needs.

    Attributes
    ----------
    lines : one for each part, or for parts that are alike.
    tables : what goes with them.
    """

    lines: tuple[Line, ...]
    tables: tuple[Table, ...]

    @property
    def lacking(self) -> tuple[Line, ...]:
        """Places where no size of any kind and system will do, each by the one that comes nearest."""
        places: dict[tuple[str, str], list[Line]] = {}
        for x in self.lines:
            # A dry bush and an oil-filled one, metric or inch, stand in for each other.
            places.setdefault((x.where, x.family.split()[-1]), []).append(x)
        return tuple(
            max((x for x in own if x.nearest), key=lambda x: x.nearest.tightest.margin if x.nearest else -1)
            for own in places.values()
            if any(x.nearest for x in own) and not any(x.chosen for x in own)
        )

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the description's sizes are asked for, and places at which no size will do."""
        said = [f for x in self.lines for f in x.findings]
        none = [x.lacking for x in self.lacking if x.described is None]
        return tuple(dict.fromkeys([*said, *(f for f in none if f is not None)]))

    @property
    def beyond(self) -> list[Finding]:
        """The findings beyond their limits, worst first."""
        return beyond(self.findings)

    def of(self, family: str) -> tuple[Line, ...]:
        """Give the lines of a family."""
        return tuple(x for x in self.lines if x.family == family)


def schedule(basis: Basis) -> Schedule:
    """Choose all parts.

    Parameters
    ----------
    basis : loads, duty and catalogues.

    Raises
    ------
    DescriptionError
        With every fault of makers' catalogues.
    """
    lines = tuple(x for family in LINES for x in family(basis))
    return Schedule(lines, tuple(t for family in TABLES for t in family(basis)))
