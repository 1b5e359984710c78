"""The reduced model as an engine: the same scene in, the same trace out."""

from functools import cached_property
from importlib.metadata import version
from typing import final

import numpy as np

from sim.arrays import Array
from sim.builders import Linkage
from sim.engines.base import Engine, EngineError, Freedom, Progress, Stepping, Trace
from sim.reduced import kernel
from sim.reduced.recovering import Steps, trace
from sim.reduced.system import BRISTLE, System, system
from sim.scene import Law, Scene

AT_ONCE = 500
"""Steps taken between two reports of progress where nobody has to be asked in between."""


@final
class Reduced(Engine):
    """Follows a sculpture's angles; its scene has to be of the linkage that it was made for."""

    def __init__(self, closed: Linkage) -> None:
        self.closed = closed

    @property
    def version(self) -> str:
        """Name and version, as recorded in runs."""
        return f"reduced, numba {version('numba')}"

    def freedom(self, scene: Scene) -> Freedom:
        """Count the coordinates; nothing is redundant."""
        made = system(scene, self.closed)
        return Freedom(len(made.inertia) - (made.driven >= 0), 0)

    def simulate(self, scene: Scene, stepping: Stepping, progress: Progress | None = None) -> Trace:
        """Follow the scene; raises as `Engine.simulate` does, and `NotReduced` for scenes with more than angles."""
        made = system(scene, self.closed)
        run = Run(made, scene, stepping)
        rows, ended = run.follow(progress)
        found = trace(self.closed, scene, made, run.steps(rows, ended == 1))
        if ended == 2:
            raise EngineError(
                f"the reduced model could not go on at {found.time[-1]:.4g} s of {stepping.end:.4g} s with a step "
                f"of {stepping.step:.3g} s", found,
            )  # fmt: skip
        return found


class Run:
    """State and records of one simulation.

    Parameters
    ----------
    made, scene, stepping : what is followed, and how.
    recorded : whether all that a trace needs is kept, or only places and speeds of the coordinates beside the peaks.
    """

    def __init__(self, made: System, scene: Scene, stepping: Stepping, *, recorded: bool = True) -> None:
        self.made, self.stepping, self.recorded = made, stepping, recorded
        rows, m = stepping.steps + 1, len(made.inertia)
        self.h = stepping.end / stepping.steps
        self.out_u, self.out_v = np.zeros((rows, m)), np.zeros((rows, m))
        kept = rows if recorded else 1
        self.out_a, self.friction = np.zeros((kept, m)), np.zeros((kept, len(made.kinds)))
        self.held = np.zeros(kept)
        self.loads = np.zeros(rows)
        self.peaks, self.carried = np.zeros(made.forces.shape[::3]), np.zeros(len(made.kinds))
        self.speeds = np.zeros(rows)
        if scene.motions:
            (motion,) = scene.motions
            share = made.share[made.names.index(motion.on)]
            self.speeds = np.array([motion.at(t) for t in self.time]) / share
        self.law: Law | None = scene.loads[0].law.start() if scene.loads else None
        self.rest = (0.0, 0)
        if scene.rest is not None and scene.drags:
            self.rest = (scene.rest.speed, max(1, round(scene.rest.hold / self.h)))
        self._begin()

    @cached_property
    def time(self) -> Array:
        """Of every row, s."""
        return np.linspace(0.0, self.stepping.end, self.stepping.steps + 1)

    def _begin(self) -> None:
        """Bend the bristles of what moves at the start and find the first accelerations."""
        made = self.made
        m = len(made.inertia)
        self.u, self.v, self.a = np.zeros(m), made.speed.copy(), np.zeros(m)
        self.sliding, self.static = made.scale.copy(), made.scale * made.static
        self.slip = np.zeros(len(made.kinds))
        first = len(made.kinds) - made.drags
        for d in range(made.drags):
            e = first + d
            rate = made.levers[e, 0] * self.v[made.between[e, 0]]
            self.slip[e] = -np.sign(rate) * self.sliding[d] / made.numbers[e, 0]
        load = self._load(0)
        residual, masses = np.zeros(m), np.zeros((m, m))
        kernel.balance(self.u, self.v, self.a, load, *self._drive(), *self._elements(), self.slip, self.sliding,
                       self.static, residual, masses)  # fmt: skip
        self.a = -residual / np.diag(masses)
        if made.driven >= 0:
            self.held[0] = residual[made.driven]
            self.a[made.driven] = 0.0
        self.out_u[0], self.out_v[0], self.out_a[0] = self.u, self.v, self.a
        for e in range(len(made.kinds)):
            if made.kinds[e] == BRISTLE:
                x = made.starts[e] + made.levers[e] @ self.u[made.between[e]] - self.slip[e]
                d = e - first
                most = self.sliding[d] + self.static[d] if d >= 0 else made.numbers[e, 2]
                self.friction[0, e] = np.clip(made.numbers[e, 0] * x, -most, most)

    def _load(self, row: int) -> Array:
        """Give the loads on the coordinates over the step that ends at a row."""
        load = np.zeros(len(self.made.inertia))
        if self.law is not None:
            at = self.made.loaded
            c, share = self.made.coordinate[at], self.made.share[at]
            angle, speed = self.made.start[at] + share * self.u[c], share * self.v[c]
            self.loads[row] = self.law.torque(float(self.time[row]), float(angle), float(speed))
            load[c] = share * self.loads[row]
        return load

    def _drive(self) -> tuple[object, ...]:
        made = self.made
        return (made.inertia, made.coordinate, made.share, made.start, made.side_at, made.own_tables, made.wheel,
                made.wheel_at)  # fmt: skip

    def _elements(self) -> tuple[object, ...]:
        made = self.made
        return made.kinds, made.between, made.levers, made.numbers, made.starts

    def follow(self, progress: Progress | None) -> tuple[int, int]:
        """Take all steps; give the last row and how it ended, as `kernel.follow_steps` says."""
        made, row, ended, slow = self.made, 0, 0, 0
        inertia, coordinate, share, start, side_at, own_tables, wheel, wheel_at = self._drive()
        last = self.stepping.steps
        load = self._load(0) if self.law is None else np.zeros(0)
        at_once = 1 if self.law is not None else last if progress is None else AT_ONCE
        while row < last and ended == 0:
            # The first step's load is set already, as in the engine.
            count = min(at_once, last - row)
            if self.law is not None:
                load = self._load(row + 1)
                if row == 0:
                    self.loads[1] = self.loads[0]
                    load[made.coordinate[made.loaded]] = made.share[made.loaded] * self.loads[0]
            row, ended, slow = kernel.follow_steps(
                row, count, self.h, load, made.driven, self.speeds, *self.rest, slow,
                self.u, self.v, self.a, self.slip, self.sliding, self.static,
                inertia, coordinate, share, start, side_at, made.side_drag, own_tables, made.forces, made.arms, wheel,
                wheel_at, *self._elements(), made.own, made.static, made.stations, made.pulls, made.on_station,
                made.on_chain, self.recorded, self.out_u, self.out_v, self.out_a, self.friction, self.held, self.peaks,
                self.carried,
            )  # fmt: skip
            if progress is not None and (self.law is None or row % AT_ONCE == 0):
                progress(row / last)
        return row, ended

    def steps(self, row: int, rested: bool) -> Steps:
        """Give what was recorded up to a row."""
        kept = slice(0, row + 1)
        return Steps(self.time[kept], self.out_u[kept], self.out_v[kept], self.out_a[kept], self.friction[kept],
                     self.held[kept], self.loads[kept], rested)  # fmt: skip
