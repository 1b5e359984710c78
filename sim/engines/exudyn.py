"""The Exudyn engine: turns a scene's primitives into the engine's objects and its records into a trace.

The only file that imports Exudyn. Settings as measured for wing loops: Euler parameters, an implicit
trapezoidal rule with constraints on velocity level, modified Newton, a dense solver. A body with a spin axis
gets Tait-Bryan angles, one of which turns about that axis, so that its coordinate counts full turns and
ratios between angles are exact. A torque on that coordinate is a pure torque about the axis only while the
other angles' axes are square to it, so the engine works in a world of its own, turned to make them so.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import exudyn as exu
import exudyn.itemInterface as item  # noqa: N813 - the module name as published
import numpy as np
from exudyn.advancedUtilities import CreateSymbolicUserFunction
from exudyn.rigidBodyUtilities import GetRigidBodyNode, RigidBodyInertia

from sim.arrays import Array
from sim.elastic import TOUCH, Bush, Flexible
from sim.engines.base import Engine, EngineError, Freedom, Progress, Stepping, Trace
from sim.engines.floating import floating
from sim.engines.frames import engine_world, spin_axes
from sim.engines.tracing import SQUARE, Coordinate, Placed, Places
from sim.engines.watching import Watch
from sim.friction import friction_limit, friction_torque
from sim.scene import GROUND, Body, Joint, Scene

exu.config.printToConsole = False


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
        self.placed: dict[str, Placed] = {}
        self.angles: dict[str, Coordinate] = {}
        self.objects: dict[str, int] = {}
        self.kept: list[Any] = []  # the engine does not keep its symbolic functions alive
        self.count = 0
        for body in scene.bodies:
            self._add_body(body)
        self.bending = {f.name: f for f in scene.flexibles}
        for shaft in scene.flexibles:
            self._add_flexible(shaft)
        for rotor in scene.rotors:
            node = self.mbs.AddNode(item.Node1D(referenceCoordinates=[0.0], initialVelocities=[rotor.speed]))
            self.mbs.AddObject(item.ObjectRotationalMass1D(inertia=rotor.inertia, nodeNumber=node))
            self.angles[rotor.name] = Coordinate(node, 0, self.count, 1.0, rotor.angle)
            self.count += 1
        for joint in scene.joints:
            self._add_joint(joint)
        self._add_constraints()
        self._add_elastic()
        self._add_friction()
        self._add_forces()
        self.mbs.Assemble()
        named = (*scene.joints, *scene.ratios, *scene.motions)
        rows = {x.name: list(self.mbs.systemData.GetObjectLTGAE(self.objects[x.name])) for x in named}
        reference = np.array(self.mbs.systemData.GetODE2Coordinates(exu.ConfigurationType.Reference))
        self.places = Places(scene, self.placed, self.angles, rows, reference)

    def _marker(self, name: str, point: Array, axes: Array | None = None) -> int:
        """Add a marker at a world point, with world axes, on a body or the ground."""
        turned = np.eye(3) if axes is None else axes
        if name == GROUND:
            place = exu.HT(rotation=turned, translation=list(point))
            return self.mbs.AddMarker(item.MarkerBodyRigid(bodyNumber=self.ground, localHT=place))
        at = self.placed[name]
        if name in self.bending:
            return self.mbs.AddMarker(
                item.MarkerSuperElementPosition(
                    bodyNumber=at.body,
                    meshNodeNumbers=[self.bending[name].nearest(point)],
                    weightingFactors=[1.0],
                )
            )
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
        self.placed[body.name] = Placed(
            made["bodyNumber"], made["nodeNumber"], axes, body.com, self.count, size, spin, sign
        )
        if body.spin is not None:
            self.angles[body.name] = Coordinate(made["nodeNumber"], spin, self.count + spin, sign, body.angle)
        self.count += size

    def _add_flexible(self, shaft: Flexible) -> None:
        """Add a body that bends: a floating frame with Tait-Bryan angles, and amplitudes of its shapes."""
        axes, spin, sign = spin_axes(shaft.spin)
        made = floating(shaft, axes)
        frame = GetRigidBodyNode(
            exu.NodeType.RotationRxyz, list(shaft.place), list(shaft.velocity), rotationMatrix=axes,
            angularVelocity=list(shaft.angular_velocity),
        )  # fmt: skip
        node = self.mbs.AddNode(frame)
        size = len(shaft.stiffness)
        still = {"referenceCoordinates": [0.0] * size, "initialCoordinates_t": [0.0] * size}
        bend = self.mbs.AddNode(
            item.NodeGenericODE2(
                numberOfODE2Coordinates=size, initialCoordinates=list(shaft.amplitudes), **still
            )
        )
        reduced = {name: exu.MatrixContainer() for name in ("mass", "stiffness", "damping")}
        for name, matrix in reduced.items():
            matrix.SetWithDenseMatrix(made[f"{name}MatrixReduced"], useDenseMatrix=True)
        body = self.mbs.AddObject(
            item.ObjectFFRFreducedOrder(
                nodeNumbers=[node, bend], **{**made, **{f"{n}MatrixReduced": m for n, m in reduced.items()}}
            )
        )
        weight = self.mbs.AddMarker(item.MarkerBodyMass(bodyNumber=body))
        self.mbs.AddLoad(item.LoadMassProportional(markerNumber=weight, loadVector=list(self.scene.gravity)))
        self.placed[shaft.name] = Placed(body, node, axes, shaft.place, self.count, 6 + size, spin, sign)
        self.angles[shaft.name] = Coordinate(node, spin, self.count + spin, sign, shaft.angle)
        self.count += 6 + size

    def _add_joint(self, joint: Joint) -> None:
        if self.bending.keys() & {joint.a, joint.b}:
            self._add_point_joint(joint)
            return
        if joint.locks[3:] not in SQUARE:
            raise ValueError(
                f"joint '{joint.name}': locked turns {joint.locks[3:]} are not among those whose moments are "
                f"known here ({', '.join(map(str, SQUARE))}); turn the joint's axes instead"
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

    def _add_point_joint(self, joint: Joint) -> None:
        """Add a joint at a point of a body that bends: it has no axes, so movements alone are locked."""
        along = np.abs(joint.axes)
        if any(joint.locks[3:]) or not np.allclose(along[along > 0.5], 1.0):
            raise ValueError(
                f"joint '{joint.name}' on a body that bends locks more than movements along the axes"
            )
        held = [int(x) for x in (along > 0.5) @ np.array(joint.locks[:3])]
        ends = [self._marker(x, joint.point, np.eye(3)) for x in (joint.a, joint.b)]
        self.objects[joint.name] = self.mbs.AddObject(
            item.ObjectJointSpherical(markerNumbers=ends, constrainedAxes=held)
        )

    def _angle_marker(self, name: str) -> int:
        at = self.angles[name]
        return self.mbs.AddMarker(item.MarkerNodeCoordinate(nodeNumber=at.node, coordinate=at.index))

    def _add_constraints(self) -> None:
        """Add what fixes angles to each other or in time: ratios and motions."""
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

    def _add_elastic(self) -> None:
        """Add chains and couplings, their laws written in the engine's own symbols."""
        symbols = exu.symbolic
        for chain in self.scene.strands:
            # Positive displacement: the driver, marker 1, is ahead; the force holds it back.
            made = self._between(chain.driven, chain.driver, chain.driven_radius, chain.driver_radius)
            self._give_law(
                made,
                lambda x, v, off, more, chain=chain: chain.force(
                    x + chain.start + off, v + more, symbols.max, symbols.min
                ),
            )
            self.objects[chain.name] = made
        for twist in self.scene.twists:
            made = self._between(twist.b, twist.a, 1.0, 1.0)
            self._give_law(
                made,
                lambda x, v, off, more, twist=twist: twist.torque(
                    x + twist.start + off, v + more, symbols.max, symbols.min
                ),
            )
            self.objects[twist.name] = made
        for bush in self.scene.bushes:
            self._add_bush(bush)

    def _add_bush(self, bush: Bush) -> None:
        """Add a bearing that gives, its law written in the engine's own symbols."""
        n = bush.axis / np.linalg.norm(bush.axis)
        across = np.eye(3) - np.outer(n, n)
        symbols = exu.symbolic

        def force(mbs: Any, t: Any, i: Any, u: Any, v: Any, k: Any, d: Any, offset: Any) -> Any:
            del mbs, t, i, k, d, offset
            off, rate = ([across[r, 0] * x[0] + across[r, 1] * x[1] + across[r, 2] * x[2] for r in range(3)]
                         for x in (u, v))  # fmt: skip
            far = symbols.sqrt(off[0] * off[0] + off[1] * off[1] + off[2] * off[2] + TOUCH**2)
            outward = (off[0] * rate[0] + off[1] * rate[1] + off[2] * rate[2]) / far
            push = bush.push(far, outward, symbols.max) / far
            return symbols.Vector([push * off[0], push * off[1], push * off[2]])

        made = self.mbs.AddObject(
            item.ObjectConnectorCartesianSpringDamper(
                markerNumbers=[self._marker(bush.a, bush.point_a), self._marker(bush.b, bush.point_b)]
            )
        )
        self._give(made, force)
        self.objects[bush.name] = made

    def _between(self, first: str, second: str, first_factor: float, second_factor: float) -> int:
        return self.mbs.AddObject(
            item.ObjectConnectorCoordinateSpringDamperExt(
                markerNumbers=[self._angle_marker(first), self._angle_marker(second)],
                factor0=self.angles[first].sign * first_factor,
                factor1=self.angles[second].sign * second_factor,
            )
        )

    def _give_law(self, made: int, law: Callable[[Any, Any, Any, Any], Any]) -> None:
        # The engine counts the arguments: after both offsets come those of its own friction, unused here.
        def force(
            mbs: Any, t: Any, i: Any, x: Any, v: Any, k: Any, d: Any, offset: Any,
            more: Any, a2: Any, a3: Any, a4: Any, a5: Any, a6: Any,
        ) -> Any:  # fmt: skip
            del mbs, t, i, k, d, a2, a3, a4, a5, a6
            return law(x, v, offset, more)

        self._give(made, force)

    def _give(self, made: int, force: Callable[..., Any]) -> None:
        function = CreateSymbolicUserFunction(self.mbs, force, "springForceUserFunction", made)
        self.mbs.SetObjectParameter(made, "springForceUserFunction", function)
        self.kept.append(function)

    def _add_friction(self) -> None:
        """Add friction and torque limiters: springs that slip at their limit, from where `Sticking` says."""
        for drag in self.scene.drags:
            markers = [self.zero, self._angle_marker(drag.on)]
            self.objects[drag.name] = self._slipping(markers, 1.0, self.angles[drag.on].sign)
        for limiter in self.scene.limiters:
            a, b = self.angles[limiter.a], self.angles[limiter.b]
            markers = [self._angle_marker(limiter.b), self._angle_marker(limiter.a)]
            self.objects[limiter.name] = self._slipping(markers, b.sign, a.sign)

    def _slipping(self, markers: list[int], first: float, second: float) -> int:
        kind = item.ObjectConnectorCoordinateSpringDamperExt
        made = self.mbs.AddObject(kind(markerNumbers=markers, factor0=first, factor1=second))
        symbols = exu.symbolic

        # What changes from step to step comes in by parameters that mean something else without a law of one's own.
        def force(
            mbs: Any, t: Any, i: Any, x: Any, v: Any, k: Any, d: Any, offset: Any,
            sliding: Any, a2: Any, a3: Any, a4: Any, static: Any, a6: Any,
        ) -> Any:  # fmt: skip
            del mbs, t, i, a2, a3, a4, a6
            limit = friction_limit(sliding, static, v, symbols.exp, symbols.abs)
            return friction_torque(x - offset, v, k, d, limit, symbols.max, symbols.min)

        self._give(made, force)
        return made

    def _add_forces(self) -> None:
        """Add springs between points, loads on angles and pushes on bodies."""
        for load in self.scene.loads:
            self.objects[load.name] = self._angle_load(load.on)
        for chain in self.scene.strands:
            if chain.teeth is not None:
                for on in (chain.driver, chain.driven):
                    self.objects[f"{chain.name} on {on}"] = self._angle_load(on)
        for s in self.scene.springs:
            self.objects[s.name] = self.mbs.AddObject(
                item.ObjectConnectorSpringDamper(
                    markerNumbers=[self._marker(s.a, s.point_a), self._marker(s.b, s.point_b)],
                    referenceLength=s.length,
                    stiffness=s.stiffness,
                    damping=s.damping,
                )
            )
        self.pushes: dict[str, tuple[int, int]] = {}
        for push in self.scene.pushes:
            marker = self._marker(push.body, self.placed[push.body].com)
            self.pushes[push.name] = (
                self.mbs.AddLoad(item.Force(markerNumber=marker, loadVector=list(push.force))),
                self.mbs.AddLoad(item.Torque(markerNumber=marker, loadVector=list(push.torque))),
            )

    def _angle_load(self, on: str) -> int:
        return self.mbs.AddLoad(item.LoadCoordinate(markerNumber=self._angle_marker(on), load=0.0))

    def state(self) -> tuple[Array, Array]:
        """Give the present coordinates, without their reference, and their rates."""
        data = self.mbs.systemData
        return data.GetODE2Coordinates(), data.GetODE2Coordinates_t()

    def accelerations(self) -> Array:
        """Give the present second rates of the coordinates."""
        return self.mbs.systemData.GetODE2Coordinates_tt()

    def multipliers(self) -> Array:
        """Give the present multipliers."""
        return self.mbs.systemData.GetAECoordinates()

    def set_load(self, name: str, torque: float) -> None:
        """Set the torque of a load on an angle, in the engine's sign, N m."""
        self.mbs.SetLoadParameter(self.objects[name], "load", torque)

    def set_push(self, name: str, force: Array, torque: Array) -> None:
        """Set force, N, and torque, N m, of a push, in the engine's world."""
        for load, vector in zip(self.pushes[name], (force, torque), strict=True):
            self.mbs.SetLoadParameter(load, "loadVector", list(vector))

    def set_offset(self, name: str, value: float) -> None:
        """Set the offset of a motion: its speed."""
        self.mbs.SetObjectParameter(self.objects[name], "offset", value)

    def set_swing(self, name: str, travel: float, rate: float) -> None:
        """Set what pitch polygons add to a chain's travel, m, and to its rate, m/s."""
        self.mbs.SetObjectParameter(self.objects[name], "offset", travel)
        self.mbs.SetObjectParameter(self.objects[name], "velocityOffset", rate)

    def set_bristle(self, name: str, stiffness: float, damping: float) -> None:
        """Set a bristle's stiffness, N m/rad, and damping, N m s/rad."""
        self.mbs.SetObjectParameter(self.objects[name], "stiffness", stiffness)
        self.mbs.SetObjectParameter(self.objects[name], "damping", damping)

    def set_friction(self, name: str, slip: float, sliding: float, static: float) -> None:
        """Set where a bristle slips from, rad, and the two parts of its limit, N m."""
        values = {"offset": slip, "velocityOffset": sliding, "viscousFrictionFactor": static}
        for parameter, value in values.items():
            self.mbs.SetObjectParameter(self.objects[name], parameter, value)

    def simulate(self, stepping: Stepping, progress: Progress | None) -> Trace:
        """Run the solver and gather what it leaves after each step."""
        watch = Watch(self, stepping, progress)
        if watch.updates.needed:
            self.mbs.SetPreStepUserFunction(watch.before)
        self.mbs.SetPostStepUserFunction(watch.after)
        try:
            self.mbs.SolveDynamic(_settings(stepping, self.count), solverType=_RULES[stepping.rule])
        except exu.SolverError as error:
            if watch.stopped is not None:
                raise watch.stopped from None
            words = str(error).strip().splitlines()
            reason = f"the engine could not go on at {watch.rows.last:.4g} s of {stepping.end:.4g} s with a step of "
            reason += f"{stepping.step:.3g} s ({words[-1] if words else 'no reason given'})"
            raise EngineError(reason, watch.trace()) from None
        if watch.stopped is not None:
            raise watch.stopped
        found = watch.trace()
        assert found is not None
        return found


SHORTENED = 1024
"""How many times a step that does not converge is shortened at most."""
DENSE = 60
"""Coordinates up to which the dense solver is used: half a sculpture."""
CONTRACTIVITY = 0.1
"""Shrinking of the residual from one Newton step to the next that makes a new Jacobian; .5, the engine's own, made
five steps of four."""
GAMMA = 0.51
"""Newmark's gamma where shafts bend: what swings from step to step loses a fiftieth a step, a swing of 10 Hz a third of
a thousandth of its critical damping at 1 ms."""
_RULES: dict[str, "exu.DynamicSolverType"] = {
    "trapezoidal": exu.DynamicSolverType.TrapezoidalIndex2,
    "generalised alpha": exu.DynamicSolverType.GeneralizedAlpha,
    "newmark": exu.DynamicSolverType.GeneralizedAlpha,
}


def _settings(stepping: Stepping, coordinates: int) -> "exu.SimulationSettings":
    settings = exu.SimulationSettings()
    ti = settings.timeIntegration
    ti.endTime = stepping.end
    ti.numberOfSteps = stepping.steps
    ti.newton.useModifiedNewton = True
    ti.newton.modifiedNewtonContractivity = CONTRACTIVITY
    ti.newton.relativeTolerance = stepping.relative
    ti.newton.absoluteTolerance = stepping.absolute
    ti.generalizedAlpha.spectralRadius = 0.9
    if stepping.rule == "newmark":
        ti.generalizedAlpha.useNewmark = ti.generalizedAlpha.useIndex2Constraints = True
        ti.generalizedAlpha.newmarkGamma = GAMMA
        ti.generalizedAlpha.newmarkBeta = (GAMMA + 0.5) ** 2 / 4
    # With constraints on position level, a shorter step after a failure makes the next failure likelier.
    ti.adaptiveStep = stepping.rule != "generalised alpha"
    # What takes less than a thousandth of its step does not go on: it would only take its time to fail.
    ti.minimumStepSize = stepping.step / SHORTENED
    # For a whole sculpture the sparse solver takes a sixth less time than the dense one.
    dense = coordinates <= DENSE
    kinds = exu.LinearSolverType
    settings.linearSolver.solverType = kinds.EigenDense if dense else kinds.EigenSparse
    settings.solution.file.write = False
    settings.solution.solverInformationFileName = ""
    settings.solution.sensors.writePeriod = stepping.end
    return settings
