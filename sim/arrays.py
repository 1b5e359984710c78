"""Small vector helpers shared by the whole of `sim`."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def vector(x: float, y: float, z: float) -> Array:
    """Give a (3,) array."""
    return np.array([x, y, z], dtype=float)


def eye() -> Array:
    """Give the (3, 3) unit matrix."""
    return np.eye(3)


def rotation(axis: ArrayLike, angle: float) -> Array:
    """Give the (3, 3) rotation by `angle` (rad, right hand) about `axis` (3,), by Rodrigues' formula."""
    n = np.asarray(axis, dtype=float)
    n = n / np.linalg.norm(n)
    k = cross_matrix(n)
    return np.eye(3) + np.sin(angle) * k + (1 - np.cos(angle)) * (k @ k)


def cross_matrix(v: Array) -> Array:
    """Give the (3, 3) matrix S with S w = v x w."""
    return np.array([[0.0, -v[2], v[1]], [v[2], 0.0, -v[0]], [-v[1], v[0], 0.0]])


def frame_along(z: Array, x_hint: Array) -> Array:
    """Give right-handed axes (3, 3), as columns, with z along `z` and x as near `x_hint` as that allows."""
    ez = z / np.linalg.norm(z)
    ex = x_hint - (x_hint @ ez) * ez
    ex = ex / np.linalg.norm(ex)
    return np.column_stack([ex, np.cross(ez, ex), ez])


def matrices(quaternions: Array) -> Array:
    """Give rotation matrices (n, 3, 3) for unit quaternions (n, 4), scalar first."""
    w, x, y, z = quaternions.T
    return np.stack(
        [
            np.stack([1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)], -1),
            np.stack([2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)], -1),
            np.stack([2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)], -1),
        ],
        -2,
    )


def quaternion(matrix: Array) -> Array:
    """Give the unit quaternion (4,), scalar first, of a rotation matrix (3, 3), by Shepperd's method."""
    m = matrix
    diagonal = np.array([np.trace(m), m[0, 0], m[1, 1], m[2, 2]])
    largest = int(np.argmax(diagonal))
    if largest == 0:
        q = np.array([1 + diagonal[0], m[2, 1] - m[1, 2], m[0, 2] - m[2, 0], m[1, 0] - m[0, 1]])
    else:
        i = largest - 1
        j, k = (i + 1) % 3, (i + 2) % 3
        q = np.zeros(4)
        q[0] = m[k, j] - m[j, k]
        q[1 + i] = 1 + m[i, i] - m[j, j] - m[k, k]
        q[1 + j] = m[j, i] + m[i, j]
        q[1 + k] = m[k, i] + m[i, k]
    return q / np.linalg.norm(q)


def quaternion_product(p: Array, q: Array) -> Array:
    """Give the product of quaternions (..., 4), scalar first: the rotation q followed by p."""
    pw, pv = p[..., :1], p[..., 1:]
    qw, qv = q[..., :1], q[..., 1:]
    scalar = pw * qw - np.sum(pv * qv, -1, keepdims=True)
    return np.concatenate([scalar, pw * qv + qw * pv + np.cross(pv, qv)], -1)


def rotation_matrix(vectors: Array) -> Array:
    """Give the rotation matrices (n, 3, 3) of rotation vectors (n, 3), rad."""
    angle = np.linalg.norm(vectors, axis=1)[:, None]
    half = np.sinc(angle / (2 * np.pi)) / 2
    return matrices(np.concatenate([np.cos(angle / 2), half * vectors], 1))


def rotation_vector(matrices: Array) -> Array:
    """Give the rotation vectors (n, 3), rad, of rotation matrices (n, 3, 3) that turn by less than a half turn."""
    skew = np.stack([matrices[:, 2, 1] - matrices[:, 1, 2], matrices[:, 0, 2] - matrices[:, 2, 0],
                     matrices[:, 1, 0] - matrices[:, 0, 1]], -1) / 2  # fmt: skip
    sine = np.linalg.norm(skew, axis=1)
    angle = np.arctan2(sine, (np.trace(matrices, axis1=1, axis2=2) - 1) / 2)
    # Small turns: angle over sine is 1 to within their square, where the quotient itself would be rounding.
    return skew * np.where(sine > 1e-8, angle / np.maximum(sine, 1e-8), 1.0)[:, None]
