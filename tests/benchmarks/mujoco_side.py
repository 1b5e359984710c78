"""One wing side of a sculpture in MuJoCo: crankshaft, panels and rods, with a flywheel's inertia on the crank.

The same bodies, from the same linkage. Each rod rides on its crank pin by a ball joint and is closed at its yoke by a
`connect` constraint, which MuJoCo softens. Nothing rubs and no hand turns it: a flywheel as heavy as `HELD` keeps its
speed, a light one swings.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import mujoco
import numpy as np

from sim import names
from sim.arrays import Array
from sim.builders.crankshaft import crankshaft
from sim.builders.parts import Parts
from sim.builders.windup import RATE
from sim.builders.wings import wings
from sim.closed_form import gravity_torque, moving_parts, potential, reduced_inertia
from sim.dynamics import dynamics
from sim.linkage import SideLinkage
from sim.scene import Body

HELD = 1e5
"""Inertia on the crank, kg m2, that keeps its speed: 100 N m change it by 1e-3 rad/s in a second."""


@dataclass(frozen=True)
class Moved:
    """A side and how it is set going at crank angle 0.

    Attributes
    ----------
    side, gravity : the side, and m/s2.
    speed : of the crank, rad/s.
    flywheel : inertia on the crank, kg m2.
    """

    side: SideLinkage
    gravity: float
    speed: float
    flywheel: float

    def parts(self) -> Parts:
        """Give the bodies and joints at crank angle 0."""
        return crankshaft(self.side.side, 0.0, self.speed, ()) + wings(self.side, 0.0, self.speed)

    def rates(self, angle: Array) -> tuple[Array, Array]:
        """Give the crank's exact speed and acceleration at angles (n,), forwards, by its energy."""
        a, b, c = (moving_parts(self.side, x) for x in (angle - RATE, angle, angle + RATE))
        inertia = reduced_inertia(b) + self.flywheel
        start = moving_parts(self.side, np.zeros(1))
        total = (reduced_inertia(start) + self.flywheel) * self.speed**2 / 2 + potential(start, self.gravity)
        squared = 2 * (total - potential(b, self.gravity)) / inertia
        slope = (reduced_inertia(c) - reduced_inertia(a)) / (2 * RATE)
        return np.sqrt(squared), -(slope * squared / 2 + gravity_torque(b, self.gravity)) / inertia

    def exact(self, angle: Array) -> dict[str, Array]:
        """Give what the joints carry at crank angles (n,), (n, 3) N each, in closed form (`sim.dynamics`)."""
        return dynamics(self.side, angle, *self.rates(angle), self.gravity).forces

    def error(self, angle: Array, forces: Mapping[str, Array]) -> float:
        """Give the largest error of any force (n, 3), N, at crank angles (n,), as a share of that joint's peak.

        Forces and angles are those of a run.
        """
        exact = self.exact(angle)
        off = {name: np.max(np.linalg.norm(f - exact[name], axis=1)) for name, f in forces.items()}
        return max(float(off[name] / np.max(np.linalg.norm(exact[name], axis=1))) for name in forces)


@dataclass(frozen=True)
class Settings:
    """How MuJoCo steps and how hard its constraints are.

    Attributes
    ----------
    step : s.
    integrator : "Euler", "implicitfast" or "RK4".
    time : time constant of the constraints over the step (the first of solref); it takes at least 2.
    hard : impedance, both ends of it the same (the first two of solimp); 1 would be rigid.
    """

    step: float
    integrator: str = "Euler"
    time: float = 2.0
    hard: float = 0.999


def mjcf(moved: Moved, settings: Settings) -> str:
    """Give the model as MJCF, all its frames along the world's at crank angle 0."""
    made, side = moved.parts(), moved.side
    bodies = {b.name: b for b in made.bodies}
    at = {j.name: j.point for j in made.joints}
    name, panels = side.side.name, [p.name for p in side.side.panels]
    rods, nested, closed = "", "", ""
    origin = {p: at[names.hinge(name, p)] for p in panels}
    for p in panels:
        pin = at[names.crank_eye(name, p)]
        rods += _body(bodies[names.rod(name, p)], pin, np.zeros(3), '<joint type="ball"/>')
        yoke = at[names.yoke_eye(name, p)] - pin
        closed += (
            f'<connect body1="{names.rod(name, p)}" body2="{names.panel(name, p)}" anchor="{_text(yoke)}" '
            f'solref="{settings.time * settings.step} 1" solimp="{settings.hard} {settings.hard} 0.001"/>'
        )
    for k, p in reversed(list(enumerate(panels))):
        before = origin[panels[k - 1]] if k else np.zeros(3)
        hinge = f'<joint name="{p}" type="hinge" axis="1 0 0"/>'
        nested = _body(bodies[names.panel(name, p)], origin[p], before, hinge + nested)
    shaft = f'<joint name="crank" type="hinge" axis="0 1 0" armature="{moved.flywheel}"/>'
    return f"""<mujoco>
      <option timestep="{settings.step}" integrator="{settings.integrator}" gravity="0 0 {-moved.gravity}"/>
      <worldbody>
        {_body(bodies[names.crankshaft(name)], np.zeros(3), np.zeros(3), shaft + rods)}
        {nested}
      </worldbody>
      <equality>{closed}</equality>
    </mujoco>"""


def _text(values: Array) -> str:
    return " ".join(f"{v:.17g}" for v in values)


def _body(body: Body, place: Array, before: Array, inside: str) -> str:
    i = body.rotation @ body.inertia @ body.rotation.T
    full = np.array([i[0, 0], i[1, 1], i[2, 2], i[0, 1], i[0, 2], i[1, 2]])
    return (
        f'<body name="{body.name}" pos="{_text(place - before)}"><inertial pos="{_text(body.com - place)}" '
        f'mass="{body.mass:.17g}" fullinertia="{_text(full)}"/>{inside}</body>'
    )


class Side:
    """A side in MuJoCo, started in motion."""

    def __init__(self, moved: Moved, settings: Settings) -> None:
        self.moved, side = moved, moved.side.side
        self.model = mujoco.MjModel.from_xml_string(mjcf(moved, settings))
        self.data = mujoco.MjData(self.model)
        turning = {b.name: b.angular_velocity for b in moved.parts().bodies}
        self._set("crank", moved.speed)
        before = 0.0
        for p in side.panels:
            own = float(turning[names.panel(side.name, p.name)][0])
            self._set(p.name, own - before)
            before = own
            first = self.model.body(names.rod(side.name, p.name)).dofadr[0]
            spin = turning[names.rod(side.name, p.name)] - np.array([0.0, moved.speed, 0.0])
            self.data.qvel[first : first + 3] = spin

    def _set(self, joint: str, rate: float) -> None:
        self.data.qvel[self.model.joint(joint).dofadr] = rate

    def follow(self, seconds: float) -> None:
        """Step on, and nothing else."""
        mujoco.mj_step(self.model, self.data, nstep=max(1, round(seconds / self.model.opt.timestep)))

    def forces(self) -> tuple[float, dict[str, Array]]:
        """Give the crank's angle and the forces (3,), N, of hinges and rod ends there, as the scene's joints count."""
        mujoco.mj_forward(self.model, self.data)
        mujoco.mj_rnePostConstraint(self.model, self.data)
        found: dict[str, Array] = {}
        side = self.moved.side.side
        for k, p in enumerate(side.panels):
            # cfrc_int is what a parent puts on its body; a connect's rows are along the world's axes.
            found[names.crank_eye(side.name, p.name)] = -self.data.body(
                names.rod(side.name, p.name)
            ).cfrc_int[3:]
            found[names.hinge(side.name, p.name)] = -self.data.body(names.panel(side.name, p.name)).cfrc_int[
                3:
            ]
            found[names.yoke_eye(side.name, p.name)] = -self.data.efc_force[3 * k : 3 * k + 3]
        return float(self.data.qpos[self.model.joint("crank").qposadr[0]]), found


def error(moved: Moved, settings: Settings, seconds: float, after: float) -> float:
    """Give the largest error of a joint's force, as `Moved.error`, over so many seconds, once some have gone by."""
    mine = Side(moved, settings)
    mine.follow(after)
    states: list[tuple[float, dict[str, Array]]] = []
    for _ in range(round((seconds - after) / settings.step)):
        mine.follow(settings.step)
        states.append(mine.forces())
    angle = np.array([s[0] for s in states])
    if not np.all(np.isfinite(angle)):
        return float("inf")
    return moved.error(angle, {name: np.array([s[1][name] for s in states]) for name in states[0][1]})
