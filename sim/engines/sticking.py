"""Dry friction as bristles that bend until they slip, followed from step to step.

Within a step a bristle is a spring that gives way at its limit, a function of angle and speed alone, which the
engine solves with everything else. Where it slips from moves on between steps. An engine that switches between
sticking and sliding within a step and takes the last guess, as Exudyn's own friction does, let a light shaft
between slack chains chatter without end.
"""

import numpy as np

from sim.arrays import Array
from sim.engines.tracing import Places
from sim.friction import STICK_DAMPING, friction_limit, friction_torque
from sim.scene import Scene

LIMITER_DAMPING = 5e-4
"""Damping of what holds a limiter over its stiffness, s; assumption."""
MOST_DAMPING = 4.0
"""Damping over the critical one of what turns by itself, at most. More stops a light shaft within any step, which no
iteration then finds; with the critical one, a load near the limit overshoots and slips."""
STANDS = 1e-6
"""Speed, rad/s, below which something stands."""
LEAST = 1e-6
"""Friction, N m, with which one begins that has none yet, for the stiffness it begins with."""


class Sticking:
    """The bristles of a scene's drags and limiters, the drags' first.

    Attributes
    ----------
    names : of the drags and limiters.
    stiffness, damping : (n,) N m/rad and N m s/rad.
    sliding, static : (n,) N m, sliding friction and what static friction is beyond it.
    slip : (n,) rad, the angle at which each carries nothing.
    """

    def __init__(self, places: Places) -> None:
        scene = places.scene
        self.names = [x.name for x in (*scene.drags, *scene.limiters)]
        self.drags = len(scene.drags)
        self.stiffness = np.array([x.stiffness for x in (*scene.drags, *scene.limiters)])
        levels = [max(d.torque, d.scale if d.rubs else 0.0, LEAST) for d in scene.drags]
        self.sliding = np.array([*levels, *(x.torque for x in scene.limiters)])
        self.static = np.array(
            [level * (d.static - 1) for level, d in zip(levels, scene.drags, strict=True)]
            + [0.0 for _ in scene.limiters]
        )
        times = [STICK_DAMPING] * self.drags + [LIMITER_DAMPING] * len(scene.limiters)
        most = 2 * MOST_DAMPING * np.sqrt(self.stiffness * _inertia(scene))
        self.damping = np.minimum(np.array(times) * self.stiffness, most)
        self.start = np.array([x.start for x in scene.limiters])
        self.rows = np.zeros((len(self.names), len(places.reference)))
        for k, drag in enumerate(scene.drags):
            at = places.angles[drag.on]
            self.rows[k, at.place] = at.sign
        for k, limiter in enumerate(scene.limiters, self.drags):
            a, b = places.angles[limiter.a], places.angles[limiter.b]
            self.rows[k, a.place], self.rows[k, b.place] = a.sign, -b.sign
        self.slip = np.zeros(len(self.names))

    def begin(self, v: Array) -> None:
        """Bend the bristles of what moves at the start, (c,) rates of the coordinates; what rests carries nothing.

        A limiter carries what its start says.
        """
        way = np.sign(self.rows @ v)
        self.slip = -way * self.sliding / self.stiffness
        self.slip[self.drags :] = -self.start

    def follow(self, q: Array, v: Array) -> None:
        """Let what has slipped in the step that led to this state, (c,) and (c,), carry its limit and no more."""
        x = self.rows @ q
        bend = friction_limit(self.sliding, self.static, self.rows @ v) / self.stiffness
        self.slip = x - np.clip(x - self.slip, -bend, bend)

    def torques(self, q: Array, v: Array) -> Array:
        """Give the torques (n,), N m, that hold back what moves; a limiter's holds a back and drives b."""
        x, rate = self.rows @ q - self.slip, self.rows @ v
        return friction_torque(
            x, rate, self.stiffness, self.damping, friction_limit(self.sliding, self.static, rate)
        )

    def stuck(self, q: Array, v: Array) -> bool:
        """Say whether every drag carries less than its limit, or stands where it just carries that."""
        rate = self.rows @ v
        limit = friction_limit(self.sliding, self.static, rate)
        own = slice(0, self.drags)
        holds = (np.abs(self.torques(q, v)) < limit) | (np.abs(rate) < STANDS)
        return bool(np.all(holds[own]))


def _inertia(scene: Scene) -> Array:
    """Give the inertia (n,), kg m2, of what each drag holds, and the reduced one of a limiter's two sides."""
    own = scene.inertias()
    pairs = [(own[x.a], own[x.b]) for x in scene.limiters]
    return np.array([*(own[d.on] for d in scene.drags), *(a * b / (a + b) for a, b in pairs)])
