"""What the wings do where the crank pins are not where they should be: a bent or bowed crankshaft."""

from collections.abc import Mapping

import numpy as np

from sim.arrays import Array
from sim.linkage import TURN, CannotClose, SideLinkage, panel_angle
from sim.shaft.bending import Bent, standing
from sim.shaft.crank import throw


def pins_moved(shape: Bent, key_angle: float, crank: Array) -> dict[str, Array]:
    """Give by panel how far its crank pin is moved (n, 3): forward, out, up, m.

    Parameters
    ----------
    shape : at n instants, or at one where it turns with the shaft.
    key_angle : of the side, rad.
    crank : (n,) crank angles, rad.
    """
    found: dict[str, Array] = {}
    for panel in shape.crank.side.panels:
        at = 6 * shape.crank.node(throw(panel.name))
        moved = np.broadcast_to(shape.moved[:, at : at + 3], (len(crank), 3))
        found[panel.name] = standing(moved, crank + key_angle)
    return found


def wing_errors(linkage: SideLinkage, crank: Array, moved: Mapping[str, Array]) -> dict[str, Array]:
    """Give by panel how far its angle from level is off (n,), rad, as the crank pins are moved.

    The loops are closed anew at every crank angle, an outer panel about the hinge line that its inner one has moved.

    Parameters
    ----------
    linkage : the side.
    crank : (n,) crank angles, rad.
    moved : by panel, how far its crank pin is moved (n, 3): forward, out, up, m.

    Raises
    ------
    CannotClose
        Where a rod does not reach any more.
    """
    found: dict[str, Array] = {}
    hinge, turned = np.zeros((len(crank), 3)), np.zeros(len(crank))
    for course, fold in zip(linkage.course(crank), linkage.folds, strict=True):
        panel = course.panel
        c, s = np.cos(turned), np.sin(turned)
        out, up = panel.hinge_out, panel.hinge_up
        hinge = hinge + np.stack([0 * c + panel.hinge_forward, c * out - s * up, s * out + c * up], -1)
        to = course.pin.value + moved[panel.name] - hinge - np.array([panel.yoke_forward, 0.0, 0.0])
        turned, ratio = panel_angle(to, panel.yoke_out, panel.yoke_below, panel.rod.length, fold)
        if np.any(np.abs(ratio) >= 1):
            worst = np.degrees(crank[int(np.argmax(np.abs(ratio)))]) % 360
            raise CannotClose(
                [f"{linkage.side.name} side, panel '{panel.name}': with its crank pin moved the rod cannot reach at "
                 f"crank angle {worst:.0f} deg; make the throw smaller or move the yoke pin"]
            )  # fmt: skip
        found[panel.name] = (turned - course.angle.value + np.pi) % TURN - np.pi
    return found
