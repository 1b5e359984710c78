"""Small arrays in compiled steps: a place in a table, a system of a few equations."""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit

from sim.arrays import Array

F = TypeVar("F", bound=Callable[..., Any])


def inlined(function: F) -> F:
    """Compile a function into its compiled callers: a call would hand over some forty arrays.

    Arrays' owners are not counted there, which took a third of the time; so it may make no array, and its callers
    have to keep what they give.
    """
    return cast("Any", njit)(forceinline=True, error_model="numpy", _nrt=False)(function)


@inlined
def row_of(rows: int, angle: float) -> tuple[int, float]:
    """Give where an angle, rad, falls in a table of so many rows over a turn: row, and share of the next."""
    place = angle / (2 * np.pi)
    place = (place - np.floor(place)) * rows
    k = min(int(place), rows - 1)
    return k, place - k


@inlined
def copy(to: Array, of: Array) -> None:
    """Set what one array holds to what another does, in a fraction of the time that slices take."""
    for k in range(len(of)):
        to[k] = of[k]


@inlined
def factor(matrix: Array, order: Any) -> bool:
    """Factor a matrix in place by elimination with pivots, the rows taken in order; say whether it could be.

    The reciprocals of the pivots are kept: dividing takes longer than all else in `solve`.
    """
    n = len(matrix)
    for k in range(n):
        pivot = k
        for i in range(k + 1, n):
            if abs(matrix[i, k]) > abs(matrix[pivot, k]):
                pivot = i
        order[k] = pivot
        if matrix[pivot, k] == 0.0 or not np.isfinite(matrix[pivot, k]):
            return False
        if pivot != k:
            for j in range(n):
                matrix[k, j], matrix[pivot, j] = matrix[pivot, j], matrix[k, j]
        matrix[k, k] = 1.0 / matrix[k, k]
        for i in range(k + 1, n):
            if matrix[i, k] != 0.0:
                matrix[i, k] *= matrix[k, k]
                for j in range(k + 1, n):
                    matrix[i, j] -= matrix[i, k] * matrix[k, j]
    return True


@inlined
def solve(factors: Array, order: Any, vector: Array) -> None:
    """Solve a system in place whose matrix `factor` has been through."""
    n = len(vector)
    for k in range(n):
        if order[k] != k:
            vector[k], vector[order[k]] = vector[order[k]], vector[k]
    for k in range(n):
        for j in range(k):
            vector[k] -= factors[k, j] * vector[j]
    for k in range(n - 1, -1, -1):
        for j in range(k + 1, n):
            vector[k] -= factors[k, j] * vector[j]
        vector[k] *= factors[k, k]
