"""Tension and shear of the bolts under a post, by simple statics, for information: the structural engineer decides.

A rigid plate on bolts alone, as on levelling nuts: they share the moment as a group turns about its middle,
T_i = M y_i / sum y^2 - W / N, with sum y^2 = N r^2 / 2 on a circle. Prying, grout, anchors and concrete are left out.
"""

import math
from dataclasses import dataclass

from analysis.parts.choice import Table
from analysis.structure.base_loads import BaseLoad
from models.mechanism import Mechanism
from models.shown import shown

STATICS = (
    "Rigid plate on its bolts alone, T = 2 M / N r - W / N, moments of dead weight and case added as if they had one "
    "direction, level force and twist shared alike. No prying, no grout, no factors. For information: the structural "
    "engineer decides on bolts, anchors and concrete."
)


@dataclass(frozen=True)
class BoltLoad:
    """What the worst bolt carries.

    Attributes
    ----------
    case : the row of base loads.
    tension : N, negative where every bolt is pressed.
    shear : N.
    """

    case: str
    tension: float
    shear: float


def bolt_tension(moment: float, down: float, bolts: int, circle: float) -> float:
    """Give the tension of the bolt farthest from the axis of tipping, N.

    Parameters
    ----------
    moment : about a level axis, N m.
    down : weight on the plate, N.
    bolts : N, three or more, evenly on the circle.
    circle : its diameter, m; the axis lies so that a bolt is the whole radius away.

    Raises
    ------
    ValueError
        If there are fewer than three bolts or the circle is not positive.
    """
    _check(bolts, circle)
    return 4 * abs(moment) / (bolts * circle) - down / bolts


def bolt_shear(level: float, twist: float, bolts: int, circle: float) -> float:
    """Give the shear of the worst bolt, N: V / N + T / N r; arguments as of `bolt_tension`."""
    _check(bolts, circle)
    return abs(level) / bolts + 2 * abs(twist) / (bolts * circle)


def bolt_loads(m: Mechanism, rows: tuple[BaseLoad, ...]) -> tuple[BoltLoad, ...]:
    """Give the bolts' loads by each row of base loads together with the dead weight, the first row."""
    base = m.structure.post.base if m.structure.post else None
    if base is None:
        return ()
    dead = rows[0]
    found: list[BoltLoad] = []
    for row in rows:
        if row.kind == "lifting":
            continue
        other = row is not dead
        moment = dead.overturning + (row.overturning if other else 0.0)
        down = -dead.force[2] - (row.force[2] if other else 0.0)
        level = math.hypot(*(dead.force[k] + (row.force[k] if other else 0.0) for k in (0, 1)))
        twist = abs(dead.moment[2]) + (abs(row.moment[2]) if other else 0.0)
        found.append(
            BoltLoad(row.case, bolt_tension(moment, down, base.bolts, base.circle),
                     bolt_shear(level, twist, base.bolts, base.circle))
        )  # fmt: skip
    return tuple(found)


def table(m: Mechanism, rows: tuple[BaseLoad, ...]) -> Table:
    """Give the bolts' loads as a table, or that no base plate is described."""
    loads = bolt_loads(m, rows)
    base = m.structure.post.base if m.structure.post else None
    if base is None:
        return Table("Bolts of the base plate", (("case", "tension", "shear"),), "base plate: not described")
    size = "" if base.bolt is None else f" of {shown(base.bolt, 'length')}"
    told = tuple((x.case, shown(x.tension, "force"), shown(x.shear, "force")) for x in loads)
    note = f"{base.bolts} bolts{size} on a circle of {shown(base.circle, 'length')}. {STATICS}"
    return Table(
        "Bolts of the base plate",
        (("case, with dead weight", "tension of the worst bolt", "shear"), *told),
        note,
    )


def _check(bolts: int, circle: float) -> None:
    if bolts < 3 or not circle > 0:
        raise ValueError(f"{bolts} bolts on a circle of {circle} m hold no moment; write three or more")
