"""A single part breaks while the piece stands with its wheel held: what falls, how fast, with what energy."""

from dataclasses import dataclass, replace
from typing import ClassVar, final

import numpy as np

from sim import names
from sim.builders import Linkage, scene
from sim.closed_form import gravity_torque, moving_parts, potential
from sim.scenarios.base import STEPS, Moving, falling
from sim.scene import Motion, Scene
from sim.statics import statics

SPARE = 1.5
"""Weights over static friction from which a freed piece is taken to fall."""
FOLLOWED = 5.0
"""Seconds for which what falls is followed."""


@final
@dataclass(frozen=True)
class Broken(Moving):
    """A chain, a rod or the key of a side breaks.

    Attributes
    ----------
    part : name of a stage's chain, a rod or a coupling, whose key it is then.
    start : crank angle, rad.
    """

    case: ClassVar[str] = "broken"
    part: str
    start: float

    @property
    def label(self) -> str:
        """The load case in words."""
        key = "key at the " if self.part.endswith("coupling") else ""
        return f"{key}{self.part} breaks at {np.degrees(self.start):.0f} deg{self.rubbing}"

    def scene(self, closed: Linkage) -> Scene:
        """Build the scene without the broken part and with the wheel held."""
        held = Motion(names.HAND, names.WHEEL, 0.0)
        return without(scene(closed, self.start, 0.0, motions=(held,)), self.part)

    def end(self, closed: Linkage) -> float:
        """Give how long it is followed, s."""
        del closed
        return FOLLOWED

    def fastest(self, closed: Linkage) -> float:
        """Give the crank speed of a fall of everything, without the wheel's inertia to slow it."""
        return 3 * falling(closed, 0.0)

    def step(self, closed: Linkage) -> float:
        """Give the time step, s: a panel that hangs on its hinge alone swings faster than the crank turns."""
        return max(STEPS[0], min(super().step(closed), 0.002))


def parts(closed: Linkage) -> tuple[str, ...]:
    """Name what can break: every chain, the rods and the key of each side."""
    m = closed.mechanism
    chains = tuple(names.stage(k) for k, s in enumerate(m.stages, 1) if s.kind == "chain")
    rods = tuple(names.rod(s.name, p.name) for s in m.sides for p in s.panels)
    keys = tuple(names.coupling(s.name) for s in m.sides)
    return chains + rods + keys


def without(whole: Scene, part: str) -> Scene:
    """Give a scene in which a part holds nothing any more: a rod hangs on at its panel.

    Raises
    ------
    ValueError
        Where nothing of that name can break.
    """
    eye = f"{part} end at crank"
    kept = replace(
        whole,
        strands=tuple(x for x in whole.strands if x.name != part),
        ratios=tuple(x for x in whole.ratios if x.name != part),
        twists=tuple(x for x in whole.twists if x.name != part),
        joints=tuple(x for x in whole.joints if x.name != eye),
        drags=tuple(replace(d, rubs=tuple(r for r in d.rubs if r.of not in (part, eye))) for d in whole.drags),
        stations=tuple(
            replace(s, pulls=tuple(p for p in s.pulls if p.chain != part),
                    shares=tuple(x for x in s.shares if x[0] != eye))
            for s in whole.stations
        ),
    )  # fmt: skip
    if sum(map(len, kept.groups())) == sum(map(len, whole.groups())):
        raise ValueError(f"'{part}' is no part that can break; write one of a chain, a rod or a coupling")
    return kept


def highest(closed: Linkage, side: str | None = None) -> float:
    """Give the crank angle, rad, from which a side, or the whole, falls farthest once nothing holds it.

    Near its highest pose friction alone holds it, so it is the highest one whose weights overcome static friction
    with something to spare.
    """
    m = closed.mechanism
    crank = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    chosen = [s for s in closed.sides if side is None or s.side.name == side]
    parts_of = [moving_parts(s, crank) for s in chosen]
    height = np.sum([potential(p, m.gravity) for p in parts_of], axis=0)
    weight = np.abs(np.sum([gravity_torque(p, m.gravity) for p in parts_of], axis=0))
    rubs = np.sum([statics(s, crank, m.gravity, m.friction).friction for s in chosen], axis=0)
    falls = weight > SPARE * m.friction.static * rubs
    # A piece that friction holds everywhere falls nowhere: its highest pose is as good as any.
    return float(crank[int(np.argmax(np.where(falls, height, -np.inf) if falls.any() else height))])
