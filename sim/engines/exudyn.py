"""The Exudyn engine: turns a scene's primitives into the engine's objects and its records into a trace.

The only file that imports Exudyn. Settings as measured for wing loops: Euler parameters, an implicit
trapezoidal rule with constraints on velocity level, modified Newton, a dense solver. A body with a spin axis
gets Tait-Bryan angles, one of which turns about that axis, so that its coordinate counts full turns and
ratios between angles are exact. A torque on that coordinate is a pure torque about the axis only while the
other angles' axes are square to it, so the engine works in a world of its own, turned to make them so.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import exudyn as exu
import exudyn.itemInterface as item  # noqa: N813 - the module name as published
import numpy as np
from exudyn.rigidBodyUtilities import RigidBodyInertia

from sim.arrays import Array, matrices, quaternion, quaternion_product
from sim.engines.base import Engine, EngineError, Freedom, JointLoad, Pose, Progress, Spin, Stepping, Trace
from sim.engines.frames import engine_world, spin_axes, tait_bryan, turned_back
from sim.scene import GROUND, Body, Joint, Scene

exu.config.printToConsole = False


@dataclass(frozen=True)
class _Placed:
    """Where a body sits in the engine: its axes at the start and the number of its angle."""

    body: int
    node: int
    axes: Array  # engine's body axes in the world at the start
    com: Array
    first: int  # index of its first coordinate
    size: int  # 7 for Euler parameters, 6 for Tait-Bryan angles
    spin: int  # index of its angle among its coordinates
    sign: float  # of that angle about the body's spin axis


@dataclass(frozen=True)
class _Coordinate:
    """An angle as the engine counts it."""

    node: int
    index: int  # in its node
    place: int  # in the vector of all coordinates
    sign: float
    start: float


class ExudynEngine(Engine):
    """Runs scenes in Exudyn."""

    @property
    def version(self) -> str:
        """Name and version."""
        return f"exudyn {exu.__version__}"

    def freedom(self, scene: Scene) -> Freedom:
        """Count the independent movements and the redundant constraints by the rank of the Jacobian."""
        model = _Model(scene)
        found = model.mbs.ComputeSystemDegreeOfFreedom()
        return Freedom(int(found["degreeOfFreedom"]), int(found["redundantConstraints"]))

    def simulate(self, scene: Scene, stepping: Stepping, progress: Progress | None = None) -> Trace:
        """Step the scene through time; see the base class."""
        model = _Model(scene)
        return model.simulate(stepping, progress)


class _Model:
    """A scene built in the engine."""

    def __init__(self, scene: Scene) -> None:
        self.world = engine_world(scene)
        scene = replace(scene.rotated(self.world), gravity=self.world @ scene.gravity)
        self.scene = scene
        self.container = exu.SystemContainer()
        self.mbs = self.container.AddSystem()
        self.ground = self.mbs.AddObject(item.ObjectGround())
        zero = self.mbs.AddNode(item.NodePointGround())
        self.zero = self.mbs.AddMarker(item.MarkerNodeCoordinate(nodeNumber=zero, coordinate=0))
        self.placed: dict[str, _Placed] = {}
        self.angles: dict[str, _Coordinate] = {}
        self.objects: dict[str, int] = {}
        self.count = 0
        for body in scene.bodies:
            self._add_body(body)
        for rotor in scene.rotors:
            node = self.mbs.AddNode(item.Node1D(referenceCoordinates=[0.0], initialVelocities=[rotor.speed]))
            self.mbs.AddObject(item.ObjectRotationalMass1D(inertia=rotor.inertia, nodeNumber=node))
            self.angles[rotor.name] = _Coordinate(node, 0, self.count, 1.0, rotor.angle)
            self.count += 1
        for joint in scene.joints:
            self._add_joint(joint)
        self._add_angular()
        self._add_forces()
        self.mbs.Assemble()

    def _marker(self, name: str, point: Array, axes: Array | None = None) -> int:
        """Add a marker at a world point, with world axes, on a body or the ground."""
        turned = np.eye(3) if axes is None else axes
        if name == GROUND:
            place = exu.HT(rotation=turned, translation=list(point))
            return self.mbs.AddMarker(item.MarkerBodyRigid(bodyNumber=self.ground, localHT=place))
        at = self.placed[name]
        place = exu.HT(rotation=at.axes.T @ turned, translation=list(at.axes.T @ (point - at.com)))
        return self.mbs.AddMarker(item.MarkerBodyRigid(bodyNumber=at.body, localHT=place))

    def _add_body(self, body: Body) -> None:
        if body.spin is None:
            axes, spin, sign = body.rotation, 0, 1.0
            kind = exu.NodeType.RotationEulerParameters
        else:
            axes, spin, sign = spin_axes(body.spin)
            kind = exu.NodeType.RotationRxyz
        into = axes.T @ body.rotation
        made = self.mbs.CreateRigidBody(
            referencePosition=list(body.com),
            referenceRotationMatrix=axes,
            initialVelocity=list(body.velocity),
            initialAngularVelocity=list(body.angular_velocity),
            inertia=RigidBodyInertia(mass=body.mass, inertiaTensor=into @ body.inertia @ into.T),
            gravity=list(self.scene.gravity),
            nodeType=kind,
            returnDict=True,
        )
        size = 7 if body.spin is None else 6
        self.placed[body.name] = _Placed(
            made["bodyNumber"], made["nodeNumber"], axes, body.com, self.count, size, spin, sign
        )
        if body.spin is not None:
            self.angles[body.name] = _Coordinate(
                made["nodeNumber"], spin, self.count + spin, sign, body.angle
            )
        self.count += size

    def _add_joint(self, joint: Joint) -> None:
        if joint.locks[3:] not in _SQUARE:
            raise ValueError(
                f"joint '{joint.name}': locked turns {joint.locks[3:]} are not among those whose moments are "
                f"known here ({', '.join(map(str, _SQUARE))}); turn the joint's axes instead"
            )
        self.objects[joint.name] = self.mbs.AddObject(
            item.ObjectJointGeneric(
                markerNumbers=[
                    self._marker(joint.a, joint.point, joint.axes),
                    self._marker(joint.b, joint.point, joint.axes),
                ],
                constrainedAxes=[int(x) for x in joint.locks],
            )
        )

    def _angle_marker(self, name: str) -> int:
        at = self.angles[name]
        return self.mbs.AddMarker(item.MarkerNodeCoordinate(nodeNumber=at.node, coordinate=at.index))

    def _add_angular(self) -> None:
        """Add what acts on angles: ratios, motions, friction and loads."""
        for ratio in self.scene.ratios:
            signs = self.angles[ratio.driver].sign * self.angles[ratio.driven].sign
            self.objects[ratio.name] = self.mbs.AddObject(
                item.ObjectConnectorCoordinate(
                    markerNumbers=[self._angle_marker(ratio.driven), self._angle_marker(ratio.driver)],
                    factor1=signs / ratio.reduction,
                )
            )
        for motion in self.scene.motions:
            self.objects[motion.name] = self.mbs.AddObject(
                item.ObjectConnectorCoordinate(
                    markerNumbers=[self.zero, self._angle_marker(motion.on)],
                    velocityLevel=True,
                    offset=self.angles[motion.on].sign * motion.speed,
                )
            )
        for drag in self.scene.drags:
            self.objects[drag.name] = self.mbs.AddObject(
                item.ObjectConnectorCoordinateSpringDamperExt(
                    markerNumbers=[self.zero, self._angle_marker(drag.on)],
                    dynamicFrictionForce=drag.torque,
                    frictionProportionalZone=drag.zone,
                )
            )
        for load in self.scene.loads:
            self.objects[load.name] = self.mbs.AddLoad(
                item.LoadCoordinate(markerNumber=self._angle_marker(load.on), load=0.0)
            )

    def _add_forces(self) -> None:
        """Add springs between points and constant pushes."""
        for s in self.scene.springs:
            self.objects[s.name] = self.mbs.AddObject(
                item.ObjectConnectorSpringDamper(
                    markerNumbers=[self._marker(s.a, s.point_a), self._marker(s.b, s.point_b)],
                    referenceLength=s.length,
                    stiffness=s.stiffness,
                    damping=s.damping,
                )
            )
        for push in self.scene.pushes:
            marker = self._marker(push.body, self.placed[push.body].com)
            self.mbs.AddLoad(item.Force(markerNumber=marker, loadVector=list(push.force)))
            self.mbs.AddLoad(item.Torque(markerNumber=marker, loadVector=list(push.torque)))

    def simulate(self, stepping: Stepping, progress: Progress | None) -> Trace:
        """Run the solver and gather what it leaves after each step."""
        rows: list[tuple[float, Array, Array, Array, Array]] = []
        applied: list[Array] = []
        data = self.mbs.systemData
        finished = _rest_rule(self, stepping)
        every = max(1, stepping.steps // 200)

        stopped: list[BaseException] = []
        # The rule takes the mean of a step's two ends, so the first torques are there before the solver starts.
        held = self._apply_loads(0.0)
        begun = False

        def before(mbs: object, time: float) -> bool:
            nonlocal held, begun
            del mbs
            try:
                held = self._apply_loads(time) if begun else held
                begun = True
            except BaseException as error:  # the engine would wrap it in an error of its own
                stopped.append(error)
            return True

        def after(mbs: object, time: float) -> bool:
            del mbs
            if stopped:
                return False
            try:
                applied.append(held)  # here, since a step that fails is begun again
                velocity = data.GetODE2Coordinates_t()
                row = data.GetODE2Coordinates(), velocity, data.GetODE2Coordinates_tt()
                rows.append((time, *row, data.GetAECoordinates()))
                if progress is not None and len(rows) % every == 0:
                    progress(min(1.0, time / stepping.end))
                return not finished(velocity)
            except BaseException as error:  # the engine would swallow an interrupt raised in here
                stopped.append(error)
                return False

        if self.scene.loads:
            self.mbs.SetPreStepUserFunction(before)
        self.mbs.SetPostStepUserFunction(after)
        try:
            self.mbs.SolveDynamic(_settings(stepping, self.count), solverType=_RULES[stepping.rule])
        except exu.SolverError as error:
            if stopped:
                raise stopped[0] from None
            at = rows[-1][0] if rows else 0.0
            trace = self._trace(rows, applied) if rows else None
            words = str(error).strip().splitlines()
            reason = f"the engine could not go on at {at:.4g} s of {stepping.end:.4g} s with a step of "
            reason += f"{stepping.step:.3g} s ({words[-1] if words else 'no reason given'})"
            raise EngineError(reason, trace) from None
        if stopped:
            raise stopped[0]
        return self._trace(rows, applied, rested=rows[-1][0] < stepping.end - 1.5 * stepping.step)

    def _apply_loads(self, time: float) -> Array:
        """Set each load for the step that begins now, from the motion at its beginning."""
        q = self.mbs.systemData.GetODE2Coordinates()
        v = self.mbs.systemData.GetODE2Coordinates_t()
        torques = np.zeros(len(self.scene.loads))
        for i, load in enumerate(self.scene.loads):
            at = self.angles[load.on]
            torques[i] = load.law.torque(time, at.start + at.sign * q[at.place], at.sign * v[at.place])
            self.mbs.SetLoadParameter(self.objects[load.name], "load", float(at.sign * torques[i]))
        return torques

    def _trace(
        self, rows: list[tuple[float, Array, Array, Array, Array]], applied: list[Array], rested: bool = False
    ) -> Trace:
        time = np.array([r[0] for r in rows])
        q, v, a, multipliers = (np.array([r[k] for r in rows]) for k in (1, 2, 3, 4))
        reference = self.mbs.systemData.GetODE2Coordinates(exu.ConfigurationType.Reference)
        q = q + np.asarray(reference)
        poses = {b.name: self._pose(b, q, v, a) for b in self.scene.bodies}
        spins: dict[str, Spin] = {}
        for name, at in self.angles.items():
            turned = at.start + at.sign * (q[:, at.place] - reference[at.place])
            spins[name] = Spin(turned, at.sign * v[:, at.place], at.sign * a[:, at.place])
        torques: dict[str, Array] = {}
        if applied:
            held = np.array(applied)[: len(rows)]
            torques |= {load.name: held[:, k] for k, load in enumerate(self.scene.loads)}
        for drag in self.scene.drags:
            speed = spins[drag.on].speed
            torques[drag.name] = -drag.torque * np.clip(speed / drag.zone, -1, 1)
        for ratio in self.scene.ratios:
            found = multipliers[:, self._multipliers(ratio.name)[0]]
            torques[ratio.name] = self.angles[ratio.driven].sign * found
        for motion in self.scene.motions:
            found = multipliers[:, self._multipliers(motion.name)[0]]
            torques[motion.name] = -self.angles[motion.on].sign * found
        loads, gap = self._joints(poses, multipliers)
        poses, loads = turned_back(self.world, poses, loads)
        return Trace(time, poses, spins, loads, torques, gap, rested)

    def _multipliers(self, name: str) -> list[int]:
        return list(self.mbs.systemData.GetObjectLTGAE(self.objects[name]))

    def _pose(self, body: Body, q: Array, v: Array, a: Array) -> Pose:
        at = self.placed[body.name]
        own = slice(at.first, at.first + at.size)
        x, xt, xtt = q[:, own], v[:, own], a[:, own]
        offset = quaternion(at.axes.T @ body.rotation)
        if at.size == 7:
            turned = x[:, 3:] / np.linalg.norm(x[:, 3:], axis=1, keepdims=True)
            # omega in the world = 2 E(p) p', the vector part of 2 p' p* (Euler parameters)
            conjugate = turned * np.array([1.0, -1.0, -1.0, -1.0])
            omega = 2 * quaternion_product(xt[:, 3:], conjugate)[:, 1:]
        else:
            turned = tait_bryan(x[:, 3:])
            assert body.spin is not None
            omega = at.sign * xt[:, [at.spin]] * body.spin
        return Pose(x[:, :3], quaternion_product(turned, offset[None, :]), xt[:, :3], omega, xtt[:, :3])

    def _joints(self, poses: dict[str, Pose], multipliers: Array) -> tuple[dict[str, JointLoad], Array]:
        n = len(multipliers)
        loads: dict[str, JointLoad] = {}
        gap = np.zeros(n)
        start = {b.name: b for b in self.scene.bodies}

        def follow(name: str, joint: Joint) -> tuple[Array, Array]:
            """Give the joint's point (n, 3) and axes (n, 3, 3) as they ride on a body."""
            if name == GROUND:
                return np.broadcast_to(joint.point, (n, 3)), np.broadcast_to(joint.axes, (n, 3, 3))
            body, pose = start[name], poses[name]
            turned = matrices(pose.quaternion)
            arm = body.rotation.T @ (joint.point - body.com)
            return pose.position + turned @ arm, turned @ (body.rotation.T @ joint.axes)

        for joint in self.scene.joints:
            (point_a, axes_a), (point_b, axes_b) = follow(joint.a, joint), follow(joint.b, joint)
            rows = multipliers[:, self._multipliers(joint.name)]
            locks = np.array(joint.locks)
            # The engine writes three locked movements in world axes, fewer in the joint's axes on a.
            force = rows[:, :3] * locks[:3]
            if not all(locks[:3]):
                force = np.einsum("nij,nj->ni", axes_a, force)
            moment = np.zeros((n, 3))
            # Each locked turn keeps one axis of a square to one of b; its multiplier turns about their cross
            # product.
            for k, (i, j) in _SQUARE[joint.locks[3:]].items():
                moment -= rows[:, [3 + k]] * np.cross(axes_a[:, :, i], axes_b[:, :, j])
            loads[joint.name] = JointLoad(force, moment)
            apart = np.einsum("nij,ni->nj", axes_a, point_b - point_a) * locks[:3]
            gap = np.maximum(gap, np.linalg.norm(apart, axis=1))
        return loads, gap


_SQUARE: dict[tuple[bool, bool, bool], dict[int, tuple[int, int]]] = {
    (False, False, False): {},
    (False, False, True): {2: (0, 1)},
    (True, True, False): {0: (2, 0), 1: (2, 1)},
    (True, True, True): {0: (2, 1), 1: (2, 0), 2: (0, 1)},
}
"""By the locked turns about x, y, z: which axis of a the engine keeps square to which axis of b, for each
multiplier. Found by comparing the recorded loads with Newton's and Euler's equations, as a test still does."""


DENSE = 200
"""Coordinates up to which the dense solver is used."""
_RULES: dict[str, "exu.DynamicSolverType"] = {
    "trapezoidal": exu.DynamicSolverType.TrapezoidalIndex2,
    "generalised alpha": exu.DynamicSolverType.GeneralizedAlpha,
}


def _rest_rule(model: _Model, stepping: Stepping) -> Callable[[Array], bool]:
    """Give a function of all velocities that says whether the scene has come to rest."""
    rest = model.scene.rest
    if rest is None:
        return lambda _: False
    at = model.angles[rest.on]
    needed = max(1, round(rest.hold / stepping.step))
    slow = 0

    def rested(velocity: Array) -> bool:
        nonlocal slow
        slow = slow + 1 if abs(velocity[at.place]) < rest.speed else 0
        return slow >= needed

    return rested


def _settings(stepping: Stepping, coordinates: int) -> "exu.SimulationSettings":
    settings = exu.SimulationSettings()
    ti = settings.timeIntegration
    ti.endTime = stepping.end
    ti.numberOfSteps = stepping.steps
    ti.newton.useModifiedNewton = True
    ti.newton.relativeTolerance = stepping.relative
    ti.newton.absoluteTolerance = stepping.absolute
    ti.generalizedAlpha.spectralRadius = 0.9
    # With constraints on position level, a shorter step after a failure makes the next failure likelier.
    ti.adaptiveStep = stepping.rule == "trapezoidal"
    # Dense is the faster for a sculpture's hundred coordinates, sparse beyond some hundreds.
    dense = coordinates <= DENSE
    kinds = exu.LinearSolverType
    settings.linearSolver.solverType = kinds.EigenDense if dense else kinds.EigenSparse
    settings.solution.file.write = False
    settings.solution.solverInformationFileName = ""
    settings.solution.sensors.writePeriod = stepping.end
    return settings
