"""The body plate over the post's top, as a strip that is clamped there and carries the inner hinges.

The plate bends across its face by what pushes the hinges forward and by the hinges' own moments, and in its plane by
what pulls them sideways and unevenly. The whole width carries: what happens at the hinges, at holes and at the edge of
the post is not in it.
"""

import numpy as np
from shapely import LineString, Polygon

from analysis.loads import BOUND
from analysis.parts.basis import Basis
from analysis.parts.choice import Line, Sizing
from analysis.structure.acting import Acting, Wrench, acting, base
from analysis.structure.air import on_rest
from analysis.structure.joints import grounded
from analysis.structure.situations import own_wind, still
from analysis.structure.tube import TABLES, yielding
from models.mechanism import Mechanism
from models.shown import shown
from models.structure import Body
from sim import names
from sim.arrays import Array
from sim.run import Run
from sim.wind import Wind

FAMILY = "body plate"
LOCAL = "what happens at the hinges, at holes and where it is fixed to the post is not judged"


def strip_stress(width: float, thickness: float, force: Array, moment: Array) -> Array:
    """Give the equivalent stress (n,), Pa, of a flat strip that stands up with its face forward.

    Parameters
    ----------
    width, thickness : of its section, m.
    force, moment : (n, 3) N and N m on the part above, about the middle of the section, in world axes.

    M / (b t^2 / 6) and M / (t b^2 / 6) at a corner, F / b t, twist T / (b t^2 / 3) as of a thin strip, which falls on
    the middle of its face and is added nevertheless; any mechanics-of-materials table (memory).
    """
    face, plane = width * thickness**2 / 6, thickness * width**2 / 6
    normal = (
        np.abs(moment[:, 1]) / face + np.abs(moment[:, 0]) / plane + np.abs(force[:, 2]) / (width * thickness)
    )
    return np.sqrt(normal**2 + 3 * (moment[:, 2] / (2 * face)) ** 2)


def clamped(m: Mechanism, body: Body) -> tuple[float, float] | None:
    """Give where the plate leaves the post, m over the crank's axis, and how wide it is there; None if it does not."""
    if m.post is None:
        return None
    top = m.post.above
    low = body.up + min(y for _, y in body.outline.exterior)
    if low > top + 1e-9 or body.up + max(y for _, y in body.outline.exterior) <= top:
        return None
    shape = Polygon(body.outline.exterior, body.outline.holes)
    left, _, right, _ = shape.bounds
    # A hair above its lower edge, where that is what stands on the post.
    level = max(top - body.up, shape.bounds[1]) + 1e-6
    return top, float(shape.intersection(LineString([(left - 1, level), (right + 1, level)])).length)


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the line of the body plate, if there is one; without a check where it cannot be judged."""
    m = basis.mechanism
    body = m.structure.body
    if body is None:
        return ()
    size = f"{shown(body.thickness, 'length')} {body.material.name}"
    held = clamped(m, body)
    if held is None or held[1] <= 0:
        why = "it does not stand on a post that is described, or does not reach over it: it is not judged"
        return (Line(FAMILY, "over the post", 1, "", None, None, None, (size, why)),)
    top, width = held
    worst: tuple[float, str] = (0.0, "none")
    for group in basis.loads.campaign.groups:
        if group.case.kind == BOUND:
            continue
        for run in group.runs:
            load = _above(m, run, top, group.case.figures.get("wind"))
            if load is not None:
                stress = strip_stress(width, body.thickness, load.force, load.moment)
                worst = max(worst, (float(np.max(stress)), group.name))
    what, source = "stress where it leaves the post", f"clamped strip {shown(width, 'length')} wide; {TABLES}"
    check = yielding(
        what, worst[0], body.material.strength, m.use, worst[1], source, still(basis.loads, worst[1])
    )
    notes = (LOCAL, *own_wind(basis.loads))
    return (Line(FAMILY, "over the post", 1, "", None, None, Sizing(size, (check,), "description"), notes),)


def _above(m: Mechanism, run: Run, top: float, wind: float | None) -> Wrench | None:
    """Give what a run's inner hinges put on the plate, about the middle of the post's top; None without hinges.

    With wind on its face, from before or behind, whichever adds, all of it as if it stood over the post's top.
    """
    place = grounded(m)
    foot = np.array([0.0, 0.0, m.crank_height + top])
    loads: list[Acting] = []
    for side in m.sides:
        joint = names.hinge(side.name, side.panels[0].name)
        force, couple = (run.channels.get(f"joints/{joint}/{what}") for what in ("force", "moment"))
        if force is not None:
            turned = None if couple is None else couple.values
            loads.append(acting(force.values, np.array(place[joint]) - foot, turned))
    if not loads:
        return None
    n = len(np.atleast_2d(loads[0].force))
    found = base(loads, n)
    if wind is None:
        return found
    blown = on_rest(m, Wind(wind, 0.0))[0]
    more = Wrench(np.tile(blown.force, (n, 1)), np.tile(np.cross(blown.at - foot, blown.force), (n, 1)))
    way = np.where(found.moment[:, 1] >= 0, 1.0, -1.0)[:, None]
    return found + Wrench(way * more.force, way * more.moment)
