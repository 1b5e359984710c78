"""Everything that is said of a sculpture's shafts from its description alone."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from analysis import (
    clocking,
    coupling_verdicts,
    resonance,
    shaft_bow,
    shaft_stock,
    shaft_strength,
    shaft_whip,
    wing_error,
)
from analysis.finding import Finding, beyond
from analysis.resonance import Range
from analysis.shaft_limits import slope_limit
from models.cases import Case
from sim.builders import Linkage
from sim.clearance import mirrors
from sim.engines.base import EngineError, NotReduced
from sim.expanding import wheel_speed

RELEASES = np.linspace(0, 2 * np.pi, 24, endpoint=False)
"""Crank angles from which the highest speed after letting go is sought."""


@dataclass(frozen=True)
class Shafts:
    """What was found out about a sculpture's shafts.

    Attributes
    ----------
    linkage : its closed loops.
    speeds : of the wheel, in use and after letting go.
    whip, strength, stock, couplings, bow, wings, keyways, resonances : findings by what they are about; all but the
        last over a turn standing still.
    """

    linkage: Linkage
    speeds: Range
    whip: tuple[Finding, ...]
    strength: tuple[Finding, ...]
    stock: tuple[Finding, ...]
    couplings: tuple[Finding, ...]
    bow: tuple[Finding, ...]
    wings: tuple[Finding, ...]
    keyways: tuple[Finding, ...]
    resonances: tuple[Finding, ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All of them."""
        return tuple(f for _, found in self.parts for f in found)

    @property
    def beyond(self) -> list[Finding]:
        """Those beyond their limits, worst first."""
        return beyond(self.findings)

    @property
    def parts(self) -> list[tuple[str, tuple[Finding, ...]]]:
        """The findings under their titles."""
        return [
            ("WHIP", self.whip),
            ("STRENGTH", self.strength),
            ("STOCK", self.stock),
            ("COUPLINGS", self.couplings),
            ("WELDING BOW", self.bow),
            ("WINGS", self.wings),
            ("KEYWAYS", self.keyways),
            ("RESONANCE", self.resonances),
        ]


def shafts(
    closed: Linkage,
    cases: Mapping[str, Case],
    *,
    fastest: float | None = None,
    runout: float | None = None,
    toward: float | None = None,
) -> Shafts:
    """Look at the shafts of a sculpture.

    Parameters
    ----------
    closed : the sculpture.
    cases : its load cases by name, for the speeds in use.
    fastest : the wheel's highest speed after letting go, rad/s; sought by angles alone where it is not given.
    runout, toward : of the crankshafts at mid-span, m, and where it is high, rad; the description's by default.
    """
    top = after_letting_go(closed, cases) if fastest is None else fastest
    speeds = resonance.working_range(closed, cases, top)
    return Shafts(
        closed,
        speeds,
        tuple(shaft_whip.of_linkage(closed, slope_limit, coupling_verdicts.allowances)),
        tuple(shaft_strength.of_linkage(closed)),
        tuple(shaft_stock.of_linkage(closed)),
        tuple(coupling_verdicts.of_linkage(closed, runout, toward)),
        tuple(shaft_bow.of_linkage(closed, runout, toward, coupling_verdicts.allowances)),
        tuple(wing_error.of_linkage(closed)),
        tuple(clocking.of_linkage(closed)),
        tuple(resonance.of_linkage(closed, speeds)),
    )


def after_letting_go(closed: Linkage, cases: Mapping[str, Case]) -> float | None:
    """Give the wheel's highest speed, rad/s, in the load cases that let it go; None where angles alone do not tell.

    Parameters
    ----------
    closed, cases : as of `shafts`.
    """
    from sim.reduced.quick import let_go  # here because compiling takes its time

    found: list[float] = []
    for case in cases.values():
        if case.kind != "let-go":
            continue
        try:
            gone = [let_go(closed, wheel_speed(case, closed), float(at)) for at in RELEASES]
        except (EngineError, NotReduced):
            return None
        found += [max(g.peak, g.back) for g in gone]
    return max(found, default=None)


def once(found: tuple[Finding, ...], closed: Linkage) -> list[tuple[str, Finding]]:
    """Give findings with their places, those of the right side left out where it is the left one's mirror image.

    Parameters
    ----------
    found : of both sides.
    closed : the sculpture.
    """
    sides = [s.side.name for s in closed.sides]
    if len(sides) < 2 or not mirrors(closed.sides):
        return [(f.where, f) for f in found]
    rows = [f for f in found if not f.where.startswith(f"{sides[1]} ")]
    return [(f.where.removeprefix(f"{sides[0]} "), f) for f in rows]
