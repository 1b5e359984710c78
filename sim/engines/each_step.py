"""What an engine is told anew at each step: hands, friction, prescribed motions, wind, pitch polygons."""

from typing import Protocol

import numpy as np

from sim.arrays import Array, matrices
from sim.engines.rubbing import Rubbing
from sim.engines.sticking import Sticking
from sim.engines.tracing import Places


class Machine(Protocol):
    """A scene in an engine, as far as it is told things while it runs."""

    places: Places
    world: Array

    def state(self) -> tuple[Array, Array]:
        """Give the present coordinates, without their reference, and their rates."""
        ...

    def accelerations(self) -> Array:
        """Give the present second rates of the coordinates."""
        ...

    def multipliers(self) -> Array:
        """Give the present multipliers."""
        ...

    def set_load(self, name: str, torque: float) -> None:
        """Set the torque of a load on an angle."""
        ...

    def set_push(self, name: str, force: Array, torque: Array) -> None:
        """Set force and torque of a push."""
        ...

    def set_offset(self, name: str, value: float) -> None:
        """Set the speed of a motion."""
        ...

    def set_swing(self, name: str, travel: float, rate: float) -> None:
        """Set what pitch polygons add to a chain's travel and to its rate."""
        ...

    def set_bristle(self, name: str, stiffness: float, damping: float) -> None:
        """Set the stiffness and damping of a friction or limiter before it slips."""
        ...

    def set_friction(self, name: str, slip: float, sliding: float, static: float) -> None:
        """Set where a friction slips from, what it carries sliding and what more at rest."""
        ...


class Updates:
    """Sets what a scene's laws say, from the state at the beginning of each step."""

    def __init__(self, machine: Machine) -> None:
        self.machine, self.places = machine, machine.places
        scene = self.places.scene
        self.laws = [load.law.start() for load in scene.loads]
        self.rubbing = Rubbing(self.places, len(machine.multipliers()))
        self.rubs = any(d.rubs for d in scene.drags)
        self.stops = [m for m in scene.motions if m.stop is not None]
        self.flows = [p for p in scene.pushes if p.flow is not None]
        self.polygons = [(k, s) for k, s in enumerate(scene.strands) if s.teeth is not None]
        self.sticking = Sticking(self.places)
        self.needed = bool(self.laws or self.sticking.names or self.stops or self.flows or self.polygons)

    def begin(self) -> Array:
        """Set what holds at the start and give the loads' torques."""
        q, v = self.machine.state()
        own = self.sticking
        own.begin(v)
        for name, *numbers in zip(own.names, own.stiffness.tolist(), own.damping.tolist(), strict=True):
            self.machine.set_bristle(name, *numbers)
        self._stick()
        self._blow(q, v)
        self._swing(q, v)
        return self._loads(0.0, q, v)

    def each(self, time: float, loads: Array | None) -> Array:
        """Set what holds over the step that ends at a time, s.

        Parameters
        ----------
        time : s.
        loads : the loads' torques where they are set already, as at the first step.
        """
        q, v = self.machine.state()
        if self.sticking.names:
            self.sticking.follow(q, v)
            if self.rubs:
                self._rub(q, v)
            self._stick()
        for motion in self.stops:
            self.machine.set_offset(motion.name, self.places.angles[motion.on].sign * motion.at(time))
        self._blow(q, v)
        self._swing(q, v)
        return self._loads(time, q, v) if loads is None else loads

    def _loads(self, time: float, q: Array, v: Array) -> Array:
        scene = self.places.scene
        torques = np.zeros(len(scene.loads))
        for i, (load, law) in enumerate(zip(scene.loads, self.laws, strict=True)):
            at = self.places.angles[load.on]
            torques[i] = law.torque(time, at.start + at.sign * q[at.place], at.sign * v[at.place])
            self.machine.set_load(load.name, float(at.sign * torques[i]))
        return torques

    def _rub(self, q: Array, v: Array) -> None:
        found = self.rubbing.torques(q, v, self.machine.multipliers())
        own = self.sticking
        for k, (drag, torque) in enumerate(zip(self.places.scene.drags, found, strict=True)):
            if drag.rubs:
                own.sliding[k], own.static[k] = torque, (drag.static - 1) * torque

    def _stick(self) -> None:
        own = self.sticking
        for name, *numbers in zip(
            own.names, own.slip.tolist(), own.sliding.tolist(), own.static.tolist(),
            strict=True,
        ):  # fmt: skip
            self.machine.set_friction(name, *numbers)

    def _blow(self, q: Array, v: Array) -> None:
        whole, world = q + self.places.reference, self.machine.world
        bodies = {b.name: b for b in self.places.scene.bodies}
        for push in self.flows:
            assert push.flow is not None
            pose = self.places.pose(bodies[push.body], whole[None, :], v[None, :], v[None, :])
            turned = matrices(pose.quaternion)[0] @ bodies[push.body].rotation.T
            force, torque = push.flow.wrench(
                world.T @ turned @ world,
                world.T @ pose.position[0],
                world.T @ pose.velocity[0],
                world.T @ pose.angular_velocity[0],
            )
            self.machine.set_push(push.name, push.force + world @ force, push.torque + world @ torque)

    def _swing(self, q: Array, v: Array) -> None:
        """Let a chain's travel and levers follow the pitch polygons."""
        if not self.polygons:
            return
        tensions = self.rubbing.tensions(q, v)
        for k, chain in self.polygons:
            force = float(tensions[2 * k] - tensions[2 * k + 1])
            offset, rate, levers = self.rubbing.swing(chain, q, v)
            for on, lever, way in zip((chain.driver, chain.driven), levers, (1.0, -1.0), strict=True):
                sign = self.places.angles[on].sign
                self.machine.set_load(f"{chain.name} on {on}", -way * sign * force * lever)
            self.machine.set_swing(chain.name, offset, rate)
