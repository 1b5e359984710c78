"""What acts on a piece in each load case, beside its own weight, over poses or instants."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from analysis.loads import Loads
from analysis.structure.acting import Acting, Wrench, acting, base, weighed
from analysis.structure.air import equivalent_speed, on_piece
from analysis.structure.joints import carried
from models.cases import Case, standard
from models.mechanism import Mechanism
from models.people import people
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.builders import Linkage
from sim.layout import shaft_places
from sim.linkage import carried as on_course
from sim.run import Run
from sim.scenarios.hang import tip
from sim.weights import Piece, pieces
from sim.wind import AIR, winds_around

POSES = 72
"""Crank angles at which a standing piece is looked at."""
RIM = 36
"""Places around the rim at which somebody pushes."""
STANDING = ("hang-held", "hang-locked", "gust-locked", "blocked", "lifted")
"""Kinds of case that are followed here by what acts from outside, and not by a run's joints."""
HANDS = ("turn", "crank", "hold-on", "grab", "stop", "jam")
"""Kinds of case with a hand on the wheel."""
OWN_WIND = "PROJECT'S OWN WIND, replace it by the design wind of the site"
DESIGN_WIND = "design wind pressure of the description, force coefficients the program's"


@dataclass(frozen=True)
class Situation:
    """What acts beside the dead weight.

    Attributes
    ----------
    name : the load case.
    kind : "wind", "people", "operating", "accident" or "lifting".
    loads : what acts.
    crank : (n,) rad.
    how : it was found.
    detail : (n,) words of what it is at each entry, or () where the name says it all.
    """

    name: str
    kind: str
    loads: tuple[Acting, ...]
    crank: Array
    how: str
    detail: tuple[str, ...] = ()

    @cached_property
    def live(self) -> Wrench:
        """What it puts on the base beside the dead weight."""
        return base(self.loads, len(self.crank))


class Dead:
    """The weights of a piece over the turn."""

    def __init__(self, closed: Linkage) -> None:
        m = closed.mechanism
        self.crank = np.linspace(0, 2 * np.pi, 361)
        self.parts = pieces(closed, self.crank)
        self.whole = base(weighed(self.parts, m.gravity), len(self.crank))
        self.mass = sum(p.mass for p in self.parts)

    def at(self, crank: Array) -> Wrench:
        """Give what the weights put on the base at crank angles (n,), rad."""
        turned = np.mod(crank, 2 * np.pi)
        return Wrench(
            between(turned, self.crank, self.whole.force), between(turned, self.crank, self.whole.moment)
        )

    @property
    def worst(self) -> int:
        """The entry with the largest overturning moment."""
        return int(np.argmax(self.whole.overturning))


def between(at: Array, grid: Array, values: Array) -> Array:
    """Give vectors (n, 3) at places (n,) between those of a grid (g,), whose vectors are (g, 3)."""
    found = np.empty((len(at), 3))
    for k in range(3):
        found[:, k] = np.interp(at, grid, values[:, k])
    return found


def situations(loads: Loads) -> Iterator[Situation]:
    """Give everything that acts beside the dead weight, load case by load case.

    Parameters
    ----------
    loads : of a study, with its runs.
    """
    closed = loads.linkage
    yield from _winds(loads)
    for group in loads.campaign.groups:
        if group.case.kind in ("hang-held", "hang-locked"):
            yield from _hanging(closed, group.case, group.runs)
        elif group.case.kind == "blocked" and group.runs:
            yield _blocked(closed.mechanism, group.case)
        elif group.case.kind not in STANDING:
            yield from (_moving(closed, group.case, run) for run in group.runs)
    yield pushed(closed.mechanism)


def own_wind(loads: Loads) -> tuple[str, ...]:
    """Say that what rests on the runs has the project's wind in it, where the description has the site's."""
    design = loads.linkage.mechanism.structure.pressure
    speeds = [
        g.case.figures["wind"] for g in loads.campaign.groups if g.case.kind == "gust-locked" and g.runs
    ]
    if design is None or not speeds:
        return ()
    own = shown(AIR / 2 * max(speeds) ** 2, "stress")
    return (
        f"wind in it is the project's own, {own}, not the site's design pressure of {shown(design, 'stress')}",
    )


def still(loads: Loads, case: str) -> str:
    """Say that people hang still in a load case, or nothing where there are none."""
    hung = {g.name for g in loads.campaign.groups if g.case.kind in ("hang-held", "hang-locked")}
    return "people hang still in it: swinging and jumping come on top" if case in hung else ""


def _winds(loads: Loads) -> Iterator[Situation]:
    """Blow from each direction, at each pose: at the speed of the locked gust or of the design pressure."""
    closed = loads.linkage
    given = [g.case for g in loads.campaign.groups if g.case.kind == "gust-locked"]
    design = closed.mechanism.structure.pressure
    for case in given or [standard()["gust-locked"]]:
        f = case.figures
        speed = f["wind"] if design is None else equivalent_speed(design)
        poses = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
        winds = [w for ws in winds_around(speed, case.count("directions"), f["slope"], f["lee"]) for w in ws]
        blown = [[_full(x, POSES) for x in on_piece(closed, poses, w)] for w in winds]
        joined = tuple(_joined(parts) for parts in zip(*blown, strict=True))
        how = "static push on panels, post, body plate, wheel disc and arms, wheel locked; " + (
            OWN_WIND if design is None else DESIGN_WIND
        )
        words = tuple(w.words for w in winds for _ in range(POSES))
        yield Situation(case.name, "wind", joined, np.tile(poses, len(winds)), how, words)
        if design is not None:
            return


def _full(load: Acting, n: int) -> Acting:
    return Acting(*(np.broadcast_to(x, (n, 3)) for x in (load.force, load.at, load.couple)))


def _joined(parts: Iterable[Acting]) -> Acting:
    listed = list(parts)
    return Acting(
        np.concatenate([p.force for p in listed]),
        np.concatenate([p.at for p in listed]),
        np.concatenate([p.couple for p in listed]),
    )


def _hanging(closed: Linkage, case: Case, runs: tuple[Run, ...]) -> Iterator[Situation]:
    """Hang people on the tip of each run's wing, at every pose in which they reach it; their weight alone."""
    mass, reach = case.figures["people"] * case.figures["mass"], case.figures["reach"]
    for run in runs:
        side = next(s for s in closed.sides if s.side.name == str(run.scenario["side"]))
        crank = np.linspace(0, 2 * np.pi, 360, endpoint=False)
        course = next(c for c in side.course(crank) if c.panel.name == str(run.scenario["panel"]))
        at = on_course(course, np.array([*tip(course.panel), 0.0])).value * np.array(
            [1.0, side.side.sign, 1.0]
        )
        at = at + np.array([0.0, 0.0, closed.mechanism.crank_height])
        near = at[:, 2] <= reach
        down = np.tile([0.0, 0.0, -mass * closed.mechanism.gravity], (int(near.sum()), 1))
        yield Situation(
            case.name,
            "people",
            (acting(down, at[near]),),
            crank[near],
            f"{mass:.0f} kg at the tip, standing; they swing and jump: the engineer adds what that makes",
        )


def push(m: Mechanism, force: float) -> tuple[Acting, tuple[str, ...]]:
    """Give a push along the rim, either way, at places around it, with words for each."""
    places, _ = shaft_places(m)
    around = np.tile(np.linspace(0, 2 * np.pi, RIM, endpoint=False), 2)
    way = np.repeat([1.0, -1.0], RIM)
    c, s, none = np.cos(around), np.sin(around), np.zeros(2 * RIM)
    middle = np.array([places[0][0], m.wheel.out, m.crank_height + places[0][1]])
    at = middle + m.wheel.radius * np.stack([s, none, c], -1)
    words = tuple(
        f"{np.degrees(a):.0f} deg from the top, {'forward' if w > 0 else 'backward'}"
        for a, w in zip(around, way, strict=True)
    )
    return acting(force * way[:, None] * np.stack([c, none, -s], -1), at), words


def pushed(m: Mechanism) -> Situation:
    """Give the hardest push of all people on the rim of a wheel that does not turn."""
    who = max(people().values(), key=lambda p: p.push)
    load, words = push(m, who.push)
    how = f"{who.label}: {who.push:.0f} N along the rim, wheel locked ({who.source})"
    return Situation("hardest push on the wheel", "operating", (load,), np.zeros(2 * RIM), how, words)


def _blocked(m: Mechanism, case: Case) -> Situation:
    who = people()[case.person]
    load, words = push(m, who.push)
    how = (
        f"{who.label} pushes with {who.push:.0f} N while something in the piece itself is stuck: inside it forces are "
        "large and in balance, the base carries the push; what blocks it from outside pushes on it besides"
    )
    return Situation(case.name, "accident", (load,), np.zeros(2 * RIM), how, words)


def _moving(closed: Linkage, case: Case, run: Run) -> Situation:
    """Give what a run's joints put on the post, less the weights of what moves at the same crank angles."""
    m = closed.mechanism
    loads = (*carried(run, m), *_weights_off(closed, run))
    how = "sum of the forces on all fixed joints of the run, less the weights"
    if case.kind in HANDS and f"torques/{names.HAND}/torque" in run.channels:
        loads = (*loads, _hand(m, run, loads))
        how += "; with the hand's push along the rim, its torque over the radius, on the axis of the wheel"
    if case.kind == "hang":
        how += "; the people are part of the wing"
    kind = {
        "turn": "operating",
        "crank": "operating",
        "let-go": "operating",
        "hang": "people",
        "gust": "wind",
    }
    if case.kind == "gust":
        how += "; wind on the panels alone, " + OWN_WIND
    return Situation(
        case.name,
        kind.get(case.kind, "accident"),
        loads,
        np.mod(_angle(run, m), 2 * np.pi),
        how,
        (run.label,) * len(run.time),
    )


def _angle(run: Run, m: Mechanism) -> Array:
    return run[f"angles/{names.crankshaft(m.sides[0].name)}/angle"]


def _weights_off(closed: Linkage, run: Run) -> list[Acting]:
    """Give the weights of all that moves, reversed, where they act: each side at its own crank's angle.

    The sides' as one force on the post's axis at the crank's height, with the couple that goes with it.
    """
    m = closed.mechanism
    grid = np.linspace(0, 2 * np.pi, 361)
    found: list[Acting] = []
    parts = [p for p in pieces(closed, grid) if p.moves]
    for side in m.sides:
        own = tuple(p for p in parts if p.name.startswith(f"{side.name} "))
        turned = np.mod(run[f"angles/{names.crankshaft(side.name)}/angle"], 2 * np.pi)
        found.append(_lifted(own, m, grid, turned))
    rest = tuple(p for p in parts if not p.name.startswith(tuple(f"{s.name} " for s in m.sides)))
    return [*found, _lifted(rest, m, grid, np.mod(_angle(run, m), 2 * np.pi))]


def _lifted(parts: tuple[Piece, ...], m: Mechanism, grid: Array, turned: Array) -> Acting:
    whole = base(weighed(parts, m.gravity), len(grid))
    moment = between(turned, grid, whole.moment)
    force = np.broadcast_to(whole.force[0], moment.shape)
    return acting(-force, np.array([0.0, 0.0, m.crank_height]), -moment)


def _hand(m: Mechanism, run: Run, loads: tuple[Acting, ...]) -> Acting:
    """Give the hand's force, level and along the way that overturns the more, on the wheel's axis.

    Its couple about that axis is in the joints' forces already; where along the rim it pushes is not known.
    """
    n = len(run.time)
    size = np.abs(run[f"torques/{names.HAND}/torque"]) / m.wheel.radius
    way = np.where(base(loads, n).moment[:, 1] >= 0, 1.0, -1.0)
    none = np.zeros(n)
    places, _ = shaft_places(m)
    at = np.array([places[0][0], m.wheel.out, m.crank_height + places[0][1]])
    return acting(np.stack([size * way, none, none], -1), at)
