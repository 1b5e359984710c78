"""Rod ends under made-up loads."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from analysis.parts.duty import Duty
from analysis.parts.rod_loads import Extent, Eye, Load
from models.loading import changed, load
from models.mechanism import Mechanism
from models.parts.catalogue import catalogue
from models.parts.rod_ends import ROD_ENDS, RodEnd
from models.resolve import mechanism

MODELS = Path(__file__).parents[2] / "models"


@cache
def settled(name: str = "moth", changes: tuple[tuple[str, object], ...] = ()) -> Mechanism:
    return mechanism(changed(load(MODELS / f"{name}.toml"), dict(changes)))


def rows(**kinds: str) -> tuple[RodEnd, ...]:
    wanted = {"system": "metric", "series": "standard", "kind": "lined"} | kinds
    return tuple(r for r in catalogue(ROD_ENDS) if all(getattr(r, k) == v for k, v in wanted.items()))


def size(name: str, **kinds: str) -> RodEnd:
    return next(r for r in rows(**kinds) if r.size == name)


def eye(
    force: float = 100.0, turns: float = 1e5, swivel: float = 0.1, *, pull: bool = True, at: str = "crank",
    changes: Mapping[str, Any] | None = None,
) -> Eye:  # fmt: skip
    """A rod end under a steady force that its pin turns round in, pushed and perhaps pulled as much."""
    crank = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    duty = Duty("here", crank, np.tile([0.0, 0.0, -force], (360, 1)), np.ones(360), 0.5, turns)
    load_, none = Load(force, "made up", 0.0), Load()
    both = Extent(load_ if pull else none, load_, none)
    found = Eye("here", 2, "crank" if at == "crank" else "yoke", settled().sides[0].panels[0], load_, load_, None,
                both, both, duty, Load(swivel, "geometry", 0.0))  # fmt: skip
    return replace(found, **changes) if changes else found
