"""Which of many lets go something rests on, told from a quick look at all of them."""

import math
from collections.abc import Sequence

from sim.builders import Linkage
from sim.engines.base import EngineError, NotReduced
from sim.reduced.quick import Gone, let_go
from sim.scenarios import LetGo, Scenario


def telling(closed: Linkage, scenarios: Sequence[Scenario]) -> tuple[Scenario, ...]:
    """Give the lets go that have the largest speed, either way, the longest time to rest or the largest load of a part.

    One that the quick look cannot follow is kept, and so is everything where it knows too little of the drive or where
    the scenarios are not lets go with nominal friction.

    Parameters
    ----------
    closed : the sculpture.
    scenarios : of one load case.
    """
    wanted = [s for s in scenarios if isinstance(s, LetGo) and s.friction == "nominal"]
    if len(wanted) < len(scenarios) or len(wanted) <= 1:
        return tuple(scenarios)
    gone: dict[int, Gone] = {}
    for number, s in enumerate(wanted):
        try:
            gone[number] = let_go(closed, s.speed, s.release)
        except EngineError:
            continue
        except NotReduced:
            return tuple(scenarios)
    kept = set(range(len(wanted))) - set(gone)
    figures = {number: _figures(g) for number, g in gone.items()}
    names = set[str]().union(*figures.values())
    for name in sorted(names):
        kept.add(max(figures, key=lambda number, name=name: figures[number][name]))
    return tuple(wanted[number] for number in sorted(kept))


def _figures(g: Gone) -> dict[str, float]:
    """Give what a let go may have the largest of; one that is still moving at the end has the longest time to rest."""
    rest = math.inf if math.isnan(g.rest) else g.rest
    return {"peak": g.peak, "back": g.back, "rest": rest, **g.joints, **g.chains, **g.couplings}
