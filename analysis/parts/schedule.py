"""The parts schedule: a line for every bought or made part, and the tables that go with it."""

from collections.abc import Callable
from dataclasses import dataclass

from analysis.finding import Finding, beyond
from analysis.parts import (
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
    service,
)
from analysis.parts.basis import Basis
from analysis.parts.choice import Line, Table

LINES: tuple[Callable[[Basis], tuple[Line, ...]], ...] = (
    rod_ends.lines,
    rods.lines,
    hinges.lines,
    keys.lines,
    couplings.lines,
    chains.lines,
    chain_run.lines,
    fasteners.lines,
    lock.lines,
)
"""The families of parts, in the order of the schedule."""
TABLES: tuple[Callable[[Basis], tuple[Table, ...]], ...] = (
    rods.tables,
    hinges.tables,
    keys.tables,
    couplings.tables,
    chains.tables,
    chain_run.tables,
    fasteners.tables,
    lock.tables,
    retention.tables,
    service.tables,
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
    def findings(self) -> tuple[Finding, ...]:
        """What the description's sizes are asked for, and parts for which no size will do."""
        return tuple(dict.fromkeys(f for x in self.lines for f in x.findings))

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
