"""The constant terms of a body that bends in a floating frame, as an engine of that formulation takes them.

A. Zwoelfer, J. Gerstmayr, The nodal-based floating frame of reference formulation with modal reduction, Acta
Mechanica 2021 (read in part): with x the points' places, P their shapes, m their masses and a tilde the cross
matrices of points stacked, all that the equations of motion need are sums over points, made once.
"""

import numpy as np

from sim.arrays import Array, cross_matrix
from sim.elastic import Flexible


def floating(shaft: Flexible, axes: Array) -> dict[str, Array | float]:
    """Give the terms by the engine's names.

    Parameters
    ----------
    shaft : the body.
    axes : (3, 3) the frame's axes in the world at the start, which the body's are not.
    """
    into = axes.T @ shaft.rotation
    points, shapes = shaft.points @ into.T, np.einsum("ij,pjk->pik", into, shaft.shapes)
    count, size = len(points), shapes.shape[2]
    mass = shaft.masses
    x = np.vstack([cross_matrix(p) for p in points])
    # Three columns a shape: the cross matrix of its movement, point by point.
    crossed = np.concatenate(
        [np.vstack([cross_matrix(shapes[p, :, k]) for p in range(count)]) for k in range(size)], axis=1
    )
    flat = shapes.reshape(3 * count, size)
    weight = np.repeat(mass, 3)[:, None]
    total, centre = float(np.sum(mass)), mass @ points / np.sum(mass)
    all_alike = np.tile(np.eye(3), (count, 1))
    stiffness = np.diag(shaft.stiffness)
    return {
        "massMatrixReduced": flat.T @ (weight * flat),
        "stiffnessMatrixReduced": stiffness,
        "dampingMatrixReduced": shaft.damping * stiffness,
        "modeBasis": flat,
        "referencePositions": points.ravel(),
        "mass": total,
        "inertia": x.T @ (weight * x),
        "centerOfMass": centre,
        "mPsiTildePsi": crossed.T @ (weight * flat),
        "mPsiTildePsiTilde": crossed.T @ (weight * crossed),
        "mPhitTPsi": all_alike.T @ (weight * flat),
        "mPhitTPsiTilde": all_alike.T @ (weight * crossed),
        "mXRefTildePsi": x.T @ (weight * flat),
        "mXRefTildePsiTilde": x.T @ (weight * crossed),
    }
