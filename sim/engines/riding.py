"""Where points of a scene are as they ride on its bodies over the steps of a run."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sim.arrays import Array, matrices
from sim.elastic import Bush, Flexible
from sim.engines.base import Bending, Pose
from sim.scene import GROUND, Body, Scene


@dataclass(frozen=True)
class Riding:
    """A scene's points over n steps.

    Attributes
    ----------
    scene : in its start pose.
    poses, bending : of its bodies.
    steps : n.
    """

    scene: Scene
    poses: Mapping[str, Pose]
    bending: Mapping[str, Bending]
    steps: int

    @cached_property
    def _start(self) -> dict[str, Body | Flexible]:
        return {b.name: b for b in (*self.scene.bodies, *self.scene.flexibles)}

    def at(self, name: str, point: Array, axes: Array) -> tuple[Array, Array]:
        """Give a point (n, 3) and axes (n, 3, 3), given in the world at the start, as they ride on a body."""
        if name == GROUND:
            return np.broadcast_to(point, (self.steps, 3)), np.broadcast_to(axes, (self.steps, 3, 3))
        body, pose = self._start[name], self.poses[name]
        turned = matrices(pose.quaternion)
        axes = turned @ (body.rotation.T @ axes)
        if isinstance(body, Flexible):
            return self.bending[name].places[:, body.nearest(point)], axes
        return pose.position + turned @ (body.rotation.T @ (point - body.com)), axes

    def apart(self, bush: Bush) -> tuple[Array, Array]:
        """Give how far a bush's held point is from its place on the axis (n, 3), m, and the rate of that, m/s."""
        ends = [self._motion(*end) for end in ((bush.a, bush.point_a), (bush.b, bush.point_b))]
        return ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]

    def _motion(self, name: str, point: Array) -> tuple[Array, Array]:
        place, _ = self.at(name, point, np.eye(3))
        if name == GROUND:
            return place, np.zeros((self.steps, 3))
        body, pose = self._start[name], self.poses[name]
        if isinstance(body, Flexible):
            return place, self.bending[name].velocities[:, body.nearest(point)]
        return place, pose.velocity + np.cross(pose.angular_velocity, place - pose.position)
