"""Loads on the base of a piece, for the structural engineer: unfactored, case by case, as data.

Each row is what the piece puts on its base at the foot of the post, ground level, on its axis. World axes: x forward,
y to the left wing, z up; moments by the right hand, see `AXES`. Every row but the dead weight and lifting is in
addition to the dead weight.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from analysis.loads import Loads
from analysis.structure.acting import Wrench, sway
from analysis.structure.situations import Dead, Situation, situations
from models.mechanism import Mechanism

AXES = (
    "What the piece puts on its base at the foot of the post, on its axis, at ground level. x forward, y to the left "
    "wing, z up: a weight is -z. Moments by the right hand: +Mx tips it to the right (top toward -y), +My tips it "
    "forward, +Mz turns it left, seen from above against the clock. Unfactored. Every row but the first and those "
    "of lifting is in addition to the dead weight, each at its own worst instant, and may act on the other side too "
    "where the piece is mirrored. "
    "Without a post the base is the floor under the middle between the crankshafts."
)
NOT_COVERED = (
    "ice and snow",
    "earthquake",
    "foundation, anchors and soil",
    "vortex shedding and wind that rocks it in step",
    "fatigue by wind",
    "vehicles, climbing on the post, crowds that push it, somebody who sits or hangs on the wheel",
)
"""What the base loads do not say anything about."""
LEAST = 1.0
"""Force down or up beside the dead weight below which no row tells of it, N."""
WORST = ", worst "
WORDS = "For information. The structural engineer decides, by local codes."


@dataclass(frozen=True)
class BaseLoad:
    """A row of base loads.

    Attributes
    ----------
    case : the load case, and what of it is the worst in this row.
    kind : "dead", "wind", "people", "operating", "accident" or "lifting".
    force, moment : N and N m, by the axes of `AXES`.
    how : it was found, and what it is at that instant.
    crank : crank angle, rad, or None.
    sway : of the post at the crank's height, m, by this row alone, or None without a post.
    """

    case: str
    kind: str
    force: tuple[float, float, float]
    moment: tuple[float, float, float]
    how: str
    crank: float | None = None
    sway: float | None = None

    @property
    def overturning(self) -> float:
        """Size of the moment about level axes, N m."""
        return float(np.hypot(self.moment[0], self.moment[1]))


@dataclass(frozen=True)
class Worst:
    """A row as it is gathered, with what to compare it by."""

    row: BaseLoad
    value: float


def post_bending(m: Mechanism) -> float | None:
    """Give the bending stiffness E I of the post, N m2, or None without one."""
    if m.post is None or m.structure.post is None:
        return None
    second = np.pi / 64 * (m.post.outside**4 - m.post.bore**4)
    return float(m.structure.post.material.modulus * second)


def base_loads(loads: Loads) -> tuple[BaseLoad, ...]:
    """Give the loads on the base, the dead weight first.

    Parameters
    ----------
    loads : of a study.
    """
    closed = loads.linkage
    m, dead = closed.mechanism, Dead(closed)
    best: dict[tuple[str, str], Worst] = {}
    for situation in situations(loads):
        for what, value, k in _worst(situation):
            key = (situation.name, what)
            if key not in best or value > best[key].value:
                best[key] = Worst(_row(m, situation, what, k), value)
    return (_dead(dead), *_once([w.row for w in best.values()]), *_lifted(m, dead))


def _once(rows: list[BaseLoad]) -> list[BaseLoad]:
    """Join rows of one case that are the worst in several ways at the same instant."""
    found: dict[tuple[object, ...], BaseLoad] = {}
    for row in rows:
        name, _, what = row.case.partition(WORST)
        key = (name, row.force, row.moment)
        found[key] = replace(row, case=f"{found[key].case} and {what}") if key in found else row
    return list(found.values())


def _worst(s: Situation) -> Iterator[tuple[str, float, int]]:
    """Give the entries of a case that are told of: overturning, weight, how it lifts, and of wind how it twists."""
    measures = [("overturning", s.live.overturning), ("downward force", -s.live.force[:, 2])]
    if s.kind == "wind":
        measures += [("level force", s.live.level), ("twist", np.abs(s.live.moment[:, 2]))]
    for what, values in (*measures, ("uplift", s.live.force[:, 2])):
        k = int(np.argmax(values))
        if what in ("downward force", "uplift") and values[k] < LEAST:
            continue
        yield what, float(values[k]), k


def _row(m: Mechanism, s: Situation, what: str, k: int) -> BaseLoad:
    stiff = post_bending(m)
    moved = None
    if stiff is not None and m.post is not None:
        height, n = m.crank_height, len(s.crank)
        moved = float(np.linalg.norm(sway(s.loads, height, height + m.post.above, stiff, n)[k]))
    force, moment = _triple(s.live.at(k))
    detail = f"{s.detail[k]}: " if s.detail else ""
    return BaseLoad(f"{s.name}{WORST}{what}", s.kind, force, moment, detail + s.how, float(s.crank[k]), moved)


def _dead(dead: Dead) -> BaseLoad:
    k = dead.worst
    force, moment = _triple(dead.whole.at(k))
    low, high = float(dead.whole.overturning.min()), float(dead.whole.overturning.max())
    how = (
        f"weights of all parts whose mass is known, {dead.mass:.0f} kg, at the crank angle with the largest moment; "
        f"over the turn it is {low:.0f} to {high:.0f} N m"
    )
    return BaseLoad("dead weight", "dead", force, moment, how, float(dead.crank[k]))


def _lifted(m: Mechanism, dead: Dead) -> list[BaseLoad]:
    """Say what lifting puts on the base: nothing, and what the lift point carries."""
    weight = dead.mass * m.gravity
    none = (0.0, 0.0, 0.0)
    return [
        BaseLoad(f"lifted at '{p.name}'", "lifting", none, none,
                 f"the base carries nothing; the lift point carries the weight of the known parts, {weight:.0f} N")
        for p in m.lifts
    ]  # fmt: skip


def _triple(w: Wrench) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    (fx, fy, fz), (mx, my, mz) = w.force[0].tolist(), w.moment[0].tolist()
    return (fx, fy, fz), (mx, my, mz)
