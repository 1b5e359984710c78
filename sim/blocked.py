"""A panel is blocked while somebody goes on pushing the wheel: how hard its rod pulls, and what the drive carries.

Blocked at crank angle t0 the panel keeps its angle. As the crank goes on to t the rod, of length L, would have to
be as long as the pin's distance from the yoke, l(t), and pulls with F = E A / L (l - L). The crank then takes the
torque F dl/dt. It stalls where that reaches the push; where it never does before the dead centre, the crank passes
it, at a force of its own, and goes on until it stalls somewhere. Near the dead centre, with l differing from its
extreme by c (t - t_d)^2 / 2 and k = E A / L, blocking at t_d - a needs at most k c^2 a^3 / (3 sqrt(3)): the greatest
force, in passing as the push just suffices, is 3/2 (k T^2 / c)^(1/3) (own derivation).

This is an upper bound: only the blocked panel's rod gives, along itself. Shaft, pin, yoke, panel, the other rods,
chains and whatever is in the way give too; a slender rod pushed buckles first. Weights, friction and momentum are
not counted. What is in the way holds the panel by a moment about its hinge line: at a distance d from it that means
a force of moment / d, which the hinge carries as well. An outer panel keeps its angle in space while its hinge line
rides on the panel before. Coordinates of a side, as in `sim.statics`.
"""

from dataclasses import dataclass, replace

import numpy as np

from models.drive import Stage
from models.mechanism import Mechanism, Rod
from sim import names
from sim.arrays import Array
from sim.linkage import TURN, PanelCourse, SideLinkage, carried
from sim.sprocket import tension
from sim.statics import at_point, balance

STEEL = 200e9
"""Young's modulus, Pa: any mechanics-of-materials table."""
STARTS = 360
"""Crank angles at which a panel is blocked, before the worst ones are searched more finely."""
AHEAD = np.geomspace(1e-7, TURN, 450)
"""Angles by which the crank goes on, rad: a stiff rod stalls it within a thousandth, a dead centre is far off."""
_HALVINGS = 40
_ZOOMS = 8
_AROUND = np.linspace(-1, 1, 17)
_NEAR = 0.8
"""A local maximum of the coarse grid below this share of the largest is not searched more finely: a grid of 1 deg
loses less wherever the crank can pass a dead centre from several degrees before it."""


@dataclass(frozen=True)
class Blocked:
    """The largest force in the rod of a blocked panel.

    Attributes
    ----------
    force : N, positive where the rod is pulled, negative where it is pushed.
    at : crank angle at which the panel is blocked, rad, within the first turn.
    crank : crank angle at which the force is that large, rad, counted on from `at`.
    direction : +1 or -1, of the crank.
    moment : N m about the hinge line, as what is in the way holds the panel; positive lifts it.
    forces : by joint name, (3,) N at that instant: what the moving part puts on the part nearer the ground.
        Joints without a force are left out.
    """

    force: float
    at: float
    crank: float
    direction: int
    moment: float
    forces: dict[str, Array]


@dataclass(frozen=True)
class Stalled:
    """A drive that somebody pushes while nothing turns.

    Attributes
    ----------
    torques : N m by name of the wheel, the shafts that stages drive and the couplings, each of which may have to
        carry all of it while its own side is blocked.
    tensions : N of the tight strand, by name of the stage.
    """

    torques: dict[str, float]
    tensions: dict[str, float]


def blocked(linkage: SideLinkage, torque: float, modulus: float = STEEL) -> dict[str, Blocked]:
    """Give the worst that blocking each panel does, over all crank angles and both directions.

    Parameters
    ----------
    linkage : the side.
    torque : push as it comes to the crank, N m, above 0; `drive_at_stall` gives it at the coupling.
    modulus : Young's modulus of the rods, Pa.

    Raises
    ------
    ValueError
        Where the torque is not above 0.
    """
    if not torque > 0:
        raise ValueError(f"a push of {torque} N m blocks nothing; write a torque above 0")
    found: dict[str, Blocked] = {}
    for k, panel in enumerate(linkage.side.panels):
        side = replace(linkage.side, panels=linkage.side.panels[: k + 1])
        held = _Held(SideLinkage(side, linkage.folds[: k + 1]), rod_stiffness(panel.rod, modulus), torque)
        found[panel.name] = max((_worst(held, d) for d in (1, -1)), key=lambda b: abs(b.force))
    return found


def rod_stiffness(rod: Rod, modulus: float = STEEL) -> float:
    """Give E A / L of a rod, N/m, as a bar of one diameter (m) and modulus (Pa) from eye to eye."""
    return modulus * np.pi / 4 * rod.diameter**2 / rod.length


def drive_at_stall(mechanism: Mechanism, wheel_torque: float) -> Stalled:
    """Give what a push on the wheel puts on everything between it and a crank that does not turn.

    Parameters
    ----------
    mechanism : the sculpture.
    wheel_torque : of either sign, N m; more than the torque limiter lets through is not counted. Hubs that may
        slip are no limiters. Weights and the chains' losses, which would take their part, are not counted.
    """
    steps = np.cumprod([1.0, *(s.driven / s.driver for s in mechanism.stages)])
    push, limiter = abs(wheel_torque), mechanism.limiter
    if limiter is not None:
        push = min(push, limiter.torque / float(steps[limiter.at]))
    count = len(mechanism.stages)
    torques, tensions = {names.WHEEL: push}, dict[str, float]()
    for k, stage in enumerate(mechanism.stages, 1):
        torques[names.stage_shaft(k, count)] = push * float(steps[k])
        if stage.kind == "chain":
            tensions[names.stage(k)] = _tight_strand(stage, push * float(steps[k - 1]))
    torques |= {names.coupling(side.name): push * float(steps[-1]) for side in mechanism.sides}
    return Stalled(torques, tensions)


def _tight_strand(stage: Stage, torque: float) -> float:
    """Give the tension, N, for a torque at the driver: torque over N p / 2 pi, with what the slack strand keeps.

    Set tight, both strands share the pull until one has lost its pretension; a sprung idler keeps pressing on
    its own.
    """
    pull = float(tension(torque, stage.driver, stage.pitch))
    idler = stage.tensioner
    kept = 0.0 if idler is None else idler.force / (2 * float(np.sin(idler.lean)))
    return max(pull + kept, stage.tight + pull / 2)


@dataclass(frozen=True)
class _Held:
    """The last panel of a side, blocked."""

    linkage: SideLinkage
    stiffness: float
    torque: float

    def arm(self, at: Array) -> Array:
        """Give the yoke pin's place (m, 3) from the hinge line where the panel is blocked."""
        course = self.linkage.course(at)[-1]
        return course.yoke.value - course.hinge.value

    def pull(self, arm: Array, crank: Array) -> tuple[Array, Array]:
        """Give the rod's force and the torque needed (m, k) where the crank has gone on to (m, k)."""
        side, panel = self.linkage.side, self.linkage.side.panels[-1]
        turned, none = crank + side.key_angle + panel.throw_angle, np.zeros_like(crank)
        s, c = panel.throw_radius * np.sin(turned), panel.throw_radius * np.cos(turned)
        hinge, rate = self._hinge(crank)
        toward = np.stack([s, none + panel.throw_out, c], -1) - hinge - arm[:, None, :]
        length = np.sqrt(np.einsum("mki,mki->mk", toward, toward))
        force = self.stiffness * (length - panel.rod.length)
        needed = np.einsum("mki,mki->mk", toward, np.stack([c, none, -s], -1) - rate)
        return force, force * needed / length

    def _hinge(self, crank: Array) -> tuple[Array, Array]:
        """Give the hinge line's place and its rate per turn of the crank (m, k, 3), without the panel's loop."""
        side, panel = self.linkage.side, self.linkage.side.panels[-1]
        local = np.array([panel.hinge_forward, panel.hinge_out, panel.hinge_up])
        if len(side.panels) == 1:
            return local, np.zeros(3)
        before = SideLinkage(replace(side, panels=side.panels[:-1]), self.linkage.folds[:-1])
        ride = carried(before.course(np.ravel(crank))[-1], local)
        return ride.value.reshape(*crank.shape, 3), ride.first.reshape(*crank.shape, 3)


def _worst(held: _Held, direction: int) -> Blocked:
    """Search all crank angles coarsely, then around each of the largest local maxima more and more finely."""
    width = TURN / STARTS
    starts = np.linspace(0, TURN, STARTS, endpoint=False)
    size = np.abs(_largest(held, starts, direction)[0])
    peak = (size >= np.roll(size, 1)) & (size >= np.roll(size, -1)) & (size >= _NEAR * size.max())
    best: Array = starts[peak]
    for _ in range(_ZOOMS):
        tried = best[:, None] + width * _AROUND
        size = np.abs(_largest(held, tried.ravel(), direction)[0]).reshape(tried.shape)
        best = tried[np.arange(len(best)), np.argmax(size, axis=1)]
        width *= _AROUND[1] - _AROUND[0]
    force, crank = _largest(held, best, direction)
    k = int(np.argmax(np.abs(force)))
    turns = np.floor(best[k] / TURN) * TURN
    moment, forces = _instant(held, best[k], crank[k], float(force[k]))
    return Blocked(
        float(force[k]),
        float(best[k] - turns),
        float(crank[k] - turns),
        direction,
        moment,
        forces,
    )


def _largest(held: _Held, at: Array, direction: int) -> tuple[Array, Array]:
    """Give the largest force on the way to the stall, the stall's own included, and the crank angle, (m,) each."""
    arm, every = held.arm(at), np.arange(len(at))
    force, needed = held.pull(arm, at[:, None] + direction * AHEAD)
    stalls = direction * needed >= held.torque
    first = np.where(stalls.any(axis=1), np.argmax(stalls, axis=1), len(AHEAD))
    passing = np.where(np.arange(len(AHEAD)) < first[:, None], np.abs(force), 0.0)
    top = np.argmax(passing, axis=1)
    low = np.where(first > 0, AHEAD[first - 1], 0.0)
    high = AHEAD[np.minimum(first, len(AHEAD) - 1)]
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        beyond = direction * held.pull(arm, (at + direction * middle)[:, None])[1][:, 0] >= held.torque
        low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
    final = held.pull(arm, (at + direction * high)[:, None])[0][:, 0]
    ends = np.abs(final) >= passing[every, top]
    crank = at + direction * np.where(ends, high, AHEAD[top])
    return np.where(ends, final, force[every, top]), crank


def _instant(held: _Held, at: float, crank: float, force: float) -> tuple[float, dict[str, Array]]:
    """Give the moment that holds the panel, and the joint forces, where the rod pulls with a force."""
    side, now = held.linkage.side, np.array([crank])
    course: PanelCourse = held.linkage.course(now)[-1]
    hinge, pin, arm = course.hinge.value, course.pin.value, held.arm(np.array([at]))
    along = pin - hinge - arm
    pull = force * along / np.linalg.norm(along)
    name, before = course.panel.name, replace(side, panels=side.panels[:-1])
    loads = {"crankshaft": at_point(-pull, pin)}
    if before.panels:
        loads[f"{before.panels[-1].name} panel"] = at_point(pull, hinge)
    inner = SideLinkage(before, held.linkage.folds[:-1]).course(now)
    forces = balance(before, inner, loads).forces
    forces |= {names.hinge(side.name, name): pull, names.yoke_eye(side.name, name): pull,
               names.crank_eye(side.name, name): -pull}  # fmt: skip
    return -float(np.cross(arm, pull)[0, 0]), {joint: f[0] for joint, f in forces.items()}
