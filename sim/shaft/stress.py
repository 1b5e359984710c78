"""Nominal stress of a crankshaft's members: no concentration at webs, keyways and welds is in it."""

import numpy as np

from sim.arrays import Array
from sim.shaft.frame import Member


def equivalent(members: tuple[Member, ...], loads: Array) -> Array:
    """Give the largest equivalent stress sqrt(sigma^2 + 3 tau^2) over a section, Pa.

    Bending with the axial force, and torsion; the shear of sideways forces is left out. Of a rectangle the corner's
    bending is put together with the torsion at the middle of its long side, which is an upper value.

    Parameters
    ----------
    members : m of them.
    loads : (n, m, 2, 6) as `Held.end_loads` gives them.

    Returns
    -------
    (n, m, 2). Torsion of a rectangle T (3 + 1.8 b/a) / (a b^2), a >= b (Shigley, eq. 3-40; memory).
    """
    found: list[Array] = []
    for k, member in enumerate(members):
        s = member.section
        force, twist, about_y, about_z = (loads[:, k, :, j] for j in (0, 3, 4, 5))
        along = np.abs(force) / s.area
        if s.kind == "round":
            bending = np.hypot(about_y, about_z) * s.height / 2 / s.about_y
            shear = np.abs(twist) * s.height / 2 / s.torsion
        else:
            bending = np.abs(about_y) * s.width / 2 / s.about_y + np.abs(about_z) * s.height / 2 / s.about_z
            a, b = max(s.height, s.width), min(s.height, s.width)
            shear = np.abs(twist) * (3 + 1.8 * b / a) / (a * b**2)
        found.append(np.sqrt((along + bending) ** 2 + 3 * shear**2))
    return np.stack(found, 1)
