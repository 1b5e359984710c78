"""Axes in which an engine with Tait-Bryan angles counts full turns about fixed axes.

With A = Rx(a) Ry(b) Rz(c) and b = 0, c turns about the body's z axis, square to x, and a about x itself. A
torque on such an angle is a pure torque about its axis only while the axes of the other angles are square to
it; along other directions it would come with a bending moment that is not there.
"""

import numpy as np

from sim.arrays import Array, quaternion, quaternion_product
from sim.engines.base import JointLoad, Pose
from sim.scene import Scene


def engine_world(scene: Scene) -> Array:
    """Give the turn (3, 3) from the scene's world to the engine's, where every spin axis can be counted.

    Raises
    ------
    ValueError
        When three spin axes point in directions that no turn brings into one plane or square to it.
    """
    axes = [b.spin / np.linalg.norm(b.spin) for b in scene.bodies if b.spin is not None]
    if all(_countable(n) for n in axes):
        return np.eye(3)
    first = axes[0]
    others = [n for n in axes if abs(n @ first) < 1 - 1e-12]
    hint = (
        others[0] if others else np.array([0.0, 0.0, 1.0]) if abs(first[2]) < 0.9 else np.array([1.0, 0, 0])
    )
    up = hint - (hint @ first) * first
    up = up / np.linalg.norm(up)
    turn = np.stack([np.cross(first, up), first, up])
    if not all(_countable(turn @ n) for n in axes):
        raise ValueError("the spin axes of the scene point in more directions than one plane and its normal")
    return turn


def _countable(axis: Array) -> bool:
    """Say whether an axis lies along x, or square to it."""
    return bool(abs(axis[0]) < 1e-12 or abs(axis[0]) > 1 - 1e-12)


def turned_back(
    world: Array, poses: dict[str, Pose], loads: dict[str, JointLoad]
) -> tuple[dict[str, Pose], dict[str, JointLoad]]:
    """Give poses and loads in the scene's world again."""
    if np.array_equal(world, np.eye(3)):
        return poses, loads
    back = quaternion(world.T)[None, :]
    return (
        {
            name: Pose(
                p.position @ world,
                quaternion_product(back, p.quaternion),
                p.velocity @ world,
                p.angular_velocity @ world,
                p.acceleration @ world,
            )
            for name, p in poses.items()
        },
        {name: JointLoad(load.force @ world, load.moment @ world) for name, load in loads.items()},
    )


def spin_axes(axis: Array) -> tuple[Array, int, float]:
    """Give body axes (3, 3), the number of the coordinate and its sign, for turning about an axis.

    With A = Rx(a) Ry(b) Rz(c) and b = 0, the third angle turns about the body's z axis, square to x, and the
    first about x itself.
    """
    n = axis / np.linalg.norm(axis)
    if abs(n[0]) > 0.5:
        return np.eye(3), 3, float(np.sign(n[0]))
    a = np.arctan2(-n[1], n[2])
    ca, sa = np.cos(a), np.sin(a)
    return np.array([[1.0, 0.0, 0.0], [0.0, ca, -sa], [0.0, sa, ca]]), 5, 1.0


def tait_bryan(angles: Array) -> Array:
    """Give quaternions (n, 4) for angles (n, 3) of A = Rx(a) Ry(b) Rz(c)."""
    zero = np.zeros(len(angles))
    c, s = np.cos(angles / 2), np.sin(angles / 2)
    qx = np.stack([c[:, 0], s[:, 0], zero, zero], -1)
    qy = np.stack([c[:, 1], zero, s[:, 1], zero], -1)
    qz = np.stack([c[:, 2], zero, zero, s[:, 2]], -1)
    return quaternion_product(quaternion_product(qx, qy), qz)
