"""From wanted motion of a whole side to dimensions: the innermost panel first, each further one on what carries it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from models.mechanism import Panel, Side
from sim.arrays import Array
from sim.fit_family import distance, rounded, solutions, spread
from sim.fit_panel import SAMPLES, Limits, Solution, Step, Task, Wish
from sim.linkage import TURN, PanelCourse, SideLinkage, carried, close, phase


@dataclass(frozen=True, eq=False)
class Fitted:
    """A side, or its inner part, with dimensions that move it as wanted.

    Attributes
    ----------
    side : with its panels' dimensions in whole steps.
    tasks, solutions : of each panel, innermost first.
    """

    side: Side
    tasks: tuple[Task, ...]
    solutions: tuple[Solution, ...]

    @property
    def reached(self) -> bool:
        """Whether every panel comes to its wish within its limits."""
        return all(s.reached for s in self.solutions)

    @property
    def off(self) -> float:
        """How far it is off its wishes and limits before it is rounded, rad."""
        return float(np.linalg.norm([s.off for s in self.solutions]))

    def apart(self, other: "Fitted") -> float:
        """Give by how much it differs from another in the dimension in which they differ most; see `distance`."""
        return max((distance(*x) for x in zip(self.solutions, other.solutions, strict=True)), default=0.0)


def fit(side: Side, wishes: Sequence[Wish], limits: Sequence[Limits], step: Step) -> list[Fitted]:
    """Seek dimensions of every panel of a side.

    Parameters
    ----------
    side : as described; what is not an unknown is kept.
    wishes, limits : of each panel, innermost first.
    step : what dimensions are made in.

    Returns
    -------
    Those that come to the wishes within the limits, in no order; else the one that comes nearest; none where no
    dimension in whole steps is within the limits.
    """
    crank = np.linspace(0, TURN, SAMPLES, endpoint=False) + side.key_angle
    found = [Fitted(replace(side, panels=()), (), ())]
    for panel, wish, limit in zip(side.panels, wishes, limits, strict=True):
        grown: list[Fitted] = []
        family: list[Solution] = []
        for inner in spread(found[:1], found[1:], Fitted.apart):
            task = _task(side, inner, crank, panel, wish, limit)
            family = solutions(task, [s for s in family if s.reached])
            made = (rounded(task, s, step) for s in family)
            grown += [_with(inner, task, s) for s in made if s is not None]
        reached = [g for g in grown if g.reached]
        found = reached or sorted(grown, key=lambda g: g.off)[:1]
    return [replace(f, side=_folding(f)) for f in found]


def _task(side: Side, inner: Fitted, crank: Array, panel: Panel, wish: Wish, limits: Limits) -> Task:
    local = np.array([panel.hinge_forward, panel.hinge_out, panel.hinge_up])
    if not inner.tasks:
        return Task(panel, side.crank, crank, np.tile(local, (len(crank), 1)), None, wish, limits)
    courses = _courses(inner, crank - side.key_angle)
    leader = float(phase(courses[0].angle.value))
    return Task(panel, side.crank, crank, carried(courses[-1], local).value, leader, wish, limits)


def _courses(fitted: Fitted, crank: Array) -> tuple[PanelCourse, ...]:
    return SideLinkage(fitted.side, tuple(s.fold for s in fitted.solutions)).course(crank)


def _with(inner: Fitted, task: Task, s: Solution) -> Fitted:
    """Add a panel with its dimensions."""
    radius, angle, length, out, below = (float(v) for v in s.x)
    panel = replace(task.panel, throw_radius=radius, throw_angle=angle, rod=replace(task.panel.rod, length=length),
                    yoke_out=out, yoke_below=below)  # fmt: skip
    side = replace(inner.side, panels=(*inner.side.panels, panel))
    return Fitted(side, (*inner.tasks, task), (*inner.solutions, s))


def _folding(fitted: Fitted) -> Side:
    """Give the side with an angle seen at crank angle 0 for panels that would else fold the other way.

    A panel's described angle belongs to its described dimensions: it gives way to the new one.
    """
    panels = [replace(p, seen_panel=None) for p in fitted.side.panels]
    courses = _courses(fitted, np.zeros(1))
    for k, s in enumerate(fitted.solutions):
        folds = close(replace(fitted.side, panels=tuple(panels[: k + 1]))).folds
        if fitted.side.panels[k].seen_panel is not None or folds[k] != s.fold:
            seen = float(np.radians(round(float(np.degrees(courses[k].angle.value[0])), 1)))
            panels[k] = replace(panels[k], seen_panel=seen, seen_crank=0.0)
    return replace(fitted.side, panels=tuple(panels))
