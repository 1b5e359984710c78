"""Where the groups of knuckles of a hinge line are, and what each of them carries.

A hinge line lies forward. The two outermost groups are taken to carry all: groups between them do so only as far as
they line up, which welding decides.
"""

from dataclasses import dataclass

import numpy as np
from shapely import Polygon, box

from analysis.parts.duty import ANGLES, crank_speed
from models.fixing import WITHIN
from models.mechanism import Mechanism, Panel, Side
from sim import names
from sim.arrays import Array
from sim.builders import Linkage
from sim.dynamics import dynamics
from sim.run import Run


@dataclass(frozen=True)
class HingeLine:
    """A panel's hinge line.

    Attributes
    ----------
    joint : its name.
    panel : whose.
    number : of the panel, 0 at the body.
    edge : from where to where there is an edge for hinges, forward of its origin, m; None where the outline has none
        near it.
    places : of the outermost groups' middles, forward of its origin, m.
    """

    joint: str
    panel: Panel
    number: int
    edge: tuple[float, float] | None
    places: tuple[float, float]

    @property
    def span(self) -> float:
        """Distance of the outermost groups' middles, m."""
        return self.places[1] - self.places[0]


@dataclass(frozen=True)
class GroupLoads:
    """What the outermost groups of a hinge line carry at n instants.

    Attributes
    ----------
    radial : (n, 2) size of the force across the line on each, N.
    thrust : (n,) along the line, N; one group takes all of it.
    """

    radial: Array
    thrust: Array

    @property
    def worst(self) -> Array:
        """The larger radial force of both groups (n,), N."""
        return self.radial.max(axis=1)


def hinge_lines(mechanism: Mechanism, side: Side) -> tuple[HingeLine, ...]:
    """Give the hinge lines of a side from the body outwards."""
    found: list[HingeLine] = []
    for k, panel in enumerate(side.panels):
        edge = hinge_edge(panel, side.panels[k - 1] if k else None)
        found.append(
            HingeLine(names.hinge(side.name, panel.name), panel, k, edge, _places(mechanism, panel, edge))
        )
    return tuple(found)


def hinge_edge(panel: Panel, before: Panel | None) -> tuple[float, float] | None:
    """Give the part of a hinge line along which both its panels have an edge, forward of its origin, m.

    Parameters
    ----------
    panel : the one that the hinge moves.
    before : the one that it sits on; None at the body, whose own edge is not described.

    Returns
    -------
    The stretch in which the outline comes within `models.fixing.WITHIN` of the line; None where there is none.
    """
    own = _near(panel, 0.0, 0.0)
    if before is None or own is None:
        return own
    other = _near(before, panel.hinge_out, panel.hinge_forward)
    if other is None:
        return own
    low, high = max(own[0], other[0]), min(own[1], other[1])
    return (low, high) if low < high else None


def _near(panel: Panel, out: float, forward: float) -> tuple[float, float] | None:
    """Give where a panel's plate comes near the line at `out`, from `forward` along it."""
    strip = box(-1e3, out - WITHIN, 1e3, out + WITHIN)
    part = Polygon(panel.plate.outline.exterior).intersection(strip)
    if part.is_empty:
        return None
    # Sloping sides are wider or narrower within the strip: what counts is the stretch nearest to the line.
    line = Polygon(panel.plate.outline.exterior).intersection(box(-1e3, out - 1e-6, 1e3, out + 1e-6))
    low, _, high, _ = (part if line.is_empty else line).bounds
    return (low - forward, high - forward) if high > low else None


def _places(mechanism: Mechanism, panel: Panel, edge: tuple[float, float] | None) -> tuple[float, float]:
    low, high = edge or (
        min(x for x, _ in panel.plate.outline.exterior),
        max(x for x, _ in panel.plate.outline.exterior),
    )
    middle, given = (low + high) / 2, mechanism.hinges.span
    span = mechanism.hinges.share * (high - low) if given is None else given
    return middle - span / 2, middle + span / 2


def shared(force: Array, moment: Array, places: tuple[float, float]) -> GroupLoads:
    """Share a joint's force and moment among the two outermost groups.

    Parameters
    ----------
    force, moment : (n, 3) forward, left, up; the moment about the origin of the line, N and N m.
    places : of the two, forward of that origin, m.

    Returns
    -------
    By the balance R1 + R2 = F and x1 R1 + x2 R2 = (Mz, -My) across the line; plain statics.
    """
    first, second = places
    across = force[:, 1:]
    turned = np.stack([moment[:, 2], -moment[:, 1]], axis=-1)
    far = (turned - first * across) / (second - first)
    radial = np.stack([np.linalg.norm(across - far, axis=1), np.linalg.norm(far, axis=1)], axis=-1)
    return GroupLoads(radial, np.abs(force[:, 0]))


def of_run(run: Run, line: HingeLine) -> GroupLoads | None:
    """Give what the groups of a line carry in a run; None where the run has no such joint."""
    channel = f"joints/{line.joint}/force"
    if channel not in run.channels:
        return None
    force = run[channel]
    there = f"joints/{line.joint}/moment"
    moment = run[there] if there in run.channels else np.zeros_like(force)
    return shared(force, moment, line.places)


def in_use(linkage: Linkage, lines: dict[str, HingeLine]) -> dict[str, GroupLoads]:
    """Give what the groups carry in steady turning at the speed of use, without friction, over a turn of the crank.

    Parameters
    ----------
    linkage : the closed loops.
    lines : by joint name.
    """
    m = linkage.mechanism
    found: dict[str, GroupLoads] = {}
    for side in linkage.sides:
        made = dynamics(side, ANGLES, crank_speed(m), 0.0, m.gravity)
        for joint, line in lines.items():
            if joint in made.moments:
                found[joint] = shared(made.forces[joint], made.moments[joint], line.places)
    return found
