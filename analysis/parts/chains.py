"""The chain of every stage: the smallest size that carries its pull, slow as it runs, with the teeth as described."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analysis.bearing_loads import PULL
from analysis.finding import Finding
from analysis.loads import Worst
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, Table, line
from models.drive import DriveShaft, Stage
from models.mechanism import PostTube
from models.parts.catalogue import SYSTEMS
from models.parts.chains import CHAINS, Chain, of_pitch
from models.parts.sprockets import SOURCE as BORES
from models.parts.sprockets import largest_bore, root_diameter
from models.shown import shown
from sim import names
from sim.chain import ChainFault, ChainFit
from sim.layout import ChainRun, chain_run, fit_of
from sim.sprocket import pitch_radius, sprocket_outside_diameter, travel_radius, with_chain_outside_diameter

FAMILY = "chain"
WORKING = 9.0
"""Least ultimate strength over the pull in use: the connecting link is clipped on by hand, a slip fit."""
WORKING_WORDS = (
    "a ninth of the least ultimate strength, as its connecting link is a slip fit; maker's guidance, read"
)
WORST = 7.0
WORST_WORDS = "a seventh of the least ultimate strength, slow-running chain; textbook advice 7 to 10, memory"
BLOCKED = 2.0
BLOCKED_WORDS = "half the least ultimate strength: rollers and plates set before they part; assumption"
DYNAMIC_WORDS = (
    "the standard's least dynamic strength, a test of samples and no working load, over the margin wanted"
)
SHOCK = 1.5
"""Service factor of a chain under pulses and peaks, 1.3 to 1.5 (a chain seller's guide, read)."""
PLATES_WORDS = (
    "power rating at low speed by its link plates, .004 N^1.08 n^.9 p^(3-.07p) hp, read, over 1.5 for pulses"
)
RARE = 5.0
"""Ratio of one stage that is seldom gone beyond (common practice, no source); makers allow 7 (read)."""
HORSEPOWER_PULL = 33000 * 0.45359237 * 9.80665
"""N of pull at 1 ft/min for one horsepower."""


@dataclass(frozen=True)
class Pull:
    """A pull of a strand as recorded, N, and the load case it comes from."""

    value: float
    case: str
    crank: float | None


@dataclass(frozen=True)
class Asked:
    """What is asked of the chain of a stage.

    Attributes
    ----------
    number : of the stage.
    stage : as described.
    used, met, bound : pulls of a strand without its own weight; None where no run tells.
    hung : height through which a strand hangs, m.
    speed : of the chain as described, in use, m/s.
    turning : of the smaller sprocket in use, rad/s.
    shafts : that driver and driven sit on.
    margin : wanted against fatigue.
    gravity : m/s2.
    """

    number: int
    stage: Stage
    used: Pull | None
    met: Pull | None
    bound: Pull | None
    hung: float
    speed: float
    turning: float
    shafts: tuple[DriveShaft, DriveShaft]
    margin: float
    gravity: float

    def pull(self, row: Chain, of: Pull) -> float:
        """Give the pull, N, in a chain on the same teeth: torque over its sprocket, its own weight, and turning."""
        scale = row.pitch / self.stage.pitch
        return of.value / scale + row.mass * (self.gravity * self.hung + (self.speed * scale) ** 2)


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the chain of every stage, in both systems.

    Parameters
    ----------
    basis : loads and catalogues.
    """
    found: list[Line] = []
    for k, stage in enumerate(basis.mechanism.stages, 1):
        if stage.kind != "chain":
            continue
        one = asked(basis, k)
        limited = (
            basis.mechanism.limiter is not None or basis.mechanism.wheel.slip is not None or any(stage.slips)
        )
        for system in SYSTEMS:
            rows = basis.series(CHAINS, system)
            given = next(iter(of_pitch(stage.pitch, rows)), None)
            described = None if given is None else Sizing(given.size, checks(one, given), given.source)
            found.append(line(FAMILY, names.stage(k), rows, _of(one), system=system, described=described,
                              notes=notes(one, limited)))  # fmt: skip
    return tuple(found)


def asked(basis: Basis, number: int) -> Asked:
    """Give what is asked of the chain of a stage.

    Parameters
    ----------
    basis : loads.
    number : of the stage, 1 at the wheel's end.
    """
    m = basis.mechanism
    stage = m.stages[number - 1]
    before = math.prod(s.driver / s.driven for s in m.stages[: number - 1])
    driver = abs(m.use.speed) * before
    smaller = driver if stage.driver <= stage.driven else driver * stage.driver / stage.driven
    run = runs(basis, number)
    hung = 0.0 if run is None else float(np.max(np.abs(run.ends[:, 1, 2] - run.ends[:, 0, 2])))
    shafts = (m.wheel.shaft if number == 1 else m.stages[number - 2].shaft, stage.shaft)
    return Asked(
        number, stage, pull(basis, basis.loads.used, number), pull(basis, basis.loads.met, number),
        pull(basis, basis.loads.bound, number), hung, driver * float(travel_radius(stage.driver, stage.pitch)),
        smaller, shafts, m.use.margin, m.gravity,
    )  # fmt: skip


def runs(basis: Basis, number: int) -> ChainRun | None:
    """Give how a stage's chain runs; None where it does not fit."""
    try:
        return chain_run(basis.mechanism, number)
    except ChainFault:
        return None


def pull(basis: Basis, worst: Worst, number: int) -> Pull | None:
    """Give the largest pull of a stage's strands among some loads; None where no run tells."""
    found: Finding | None = worst.get((names.stage(number), PULL))
    return None if found is None else Pull(found.value, basis.loads.case(found), found.crank)


def plate_pull(teeth: int, turning: float, pitch: float) -> float:
    """Give the pull, N, that link plates stand for long by the power rating of ASME B29.1 chain at low speed.

    HP = .004 N^1.08 n^.9 p^(3 - .07 p), with N teeth of the smaller sprocket, n its speed in rpm, p in inches (a table
    of standard chains, read), over the chain's speed N n p / 12 ft/min.

    Parameters
    ----------
    teeth : of the smaller sprocket.
    turning : its speed, rad/s, above 0.
    pitch : m.
    """
    rpm, inches = turning * 30 / math.pi, pitch / 0.0254
    power = 0.004 * teeth**1.08 * rpm**0.9 * inches ** (3 - 0.07 * inches)
    return power * HORSEPOWER_PULL / (teeth * rpm * inches / 12)


def _of(one: Asked) -> Callable[[Chain], tuple[Check, ...]]:
    return lambda row: checks(one, row)


def checks(one: Asked, row: Chain) -> tuple[Check, ...]:
    """Give everything that is asked of a size of chain.

    Parameters
    ----------
    one : what is asked.
    row : the size.
    """
    found: list[Check] = []
    heavy = f"{shown(row.mass * one.gravity * one.hung, 'force')} of it the hung strand's own weight"
    if one.used is not None:
        there, case, crank = one.pull(row, one.used), one.used.case, one.used.crank
        found.append(
            Check("pull in use", there, row.strength / WORKING, "force", case, WORKING_WORDS, crank, heavy)
        )
        if row.dynamic is not None:
            found.append(Check("pull in use against fatigue", there, row.dynamic / one.margin, "force", case,
                               f"{DYNAMIC_WORDS}; {row.source}", crank))  # fmt: skip
        if row.system == "inch" and one.turning > 0:
            teeth = min(one.stage.driver, one.stage.driven)
            stood = plate_pull(teeth, one.turning, row.pitch) / SHOCK
            found.append(
                Check("pull in use by its power rating", there, stood, "force", case, PLATES_WORDS, crank)
            )
    if one.met is not None:
        found.append(Check("worst pull met", one.pull(row, one.met), row.strength / WORST, "force", one.met.case,
                           WORST_WORDS, one.met.crank, heavy))  # fmt: skip
    if one.bound is not None:
        found.append(Check("pull with a panel blocked, upper bound", one.pull(row, one.bound), row.strength / BLOCKED,
                           "force", one.bound.case, BLOCKED_WORDS, one.bound.crank))  # fmt: skip
    for teeth, shaft in zip((one.stage.driver, one.stage.driven), one.shafts, strict=True):
        found.append(Check(f"shaft in the {teeth}-tooth sprocket's bore", shaft.diameter,
                           largest_bore(teeth, row.pitch), "length", "geometry", BORES))  # fmt: skip
    return tuple(found)


def notes(one: Asked, limited: bool) -> tuple[str, ...]:
    """Say what else to know of the chain of a stage.

    Parameters
    ----------
    one : what is asked of it.
    limited : whether something slips before it is torn.
    """
    stage = one.stage
    found = [
        f"teeth {stage.driver} and {stage.driven} as described, so that the pull falls as the pitch grows; other "
        "pitches need other sprockets, links and centres",
        f"it runs at {shown(one.speed, 'speed')} in use: strength counts, not power, and the pull of turning is "
        f"{shown(stage.weight * one.speed**2, 'force')}",
    ]
    if not of_pitch(stage.pitch):
        found.append(
            f"{shown(stage.pitch, 'length')} is no pitch of the catalogue's chains: the described one is not judged"
        )
    if one.used is None:
        found.append("no run tells its pull in use: nothing is said of working pull and fatigue")
    fit = fit_or_none(stage)
    if fit is not None and fit.offset_link:
        found.append("an odd number of links: the offset link is the weak one, take one link more or fewer")
    ratio = max(stage.driver, stage.driven) / min(stage.driver, stage.driven)
    if ratio > RARE:
        found.append(f"{ratio:.2g} to 1 in one stage is rare, beyond 5 to 1 (common practice, no source; makers allow "
                     "7, read): two stages wrap better")  # fmt: skip
    if one.bound is not None and not limited:
        found.append(
            "nothing limits its pull while a panel is blocked: a torque limiter or a slipping hub would"
        )
    return tuple(found)


def fit_or_none(stage: Stage) -> ChainFit | None:
    """Give a stage's fit; None where nothing fixes it or it does not fit."""
    try:
        return fit_of(stage)
    except ChainFault:
        return None


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give the sprockets of all stages.

    Parameters
    ----------
    basis : the sculpture.
    """
    m = basis.mechanism
    rows = [
        r for k, s in enumerate(m.stages, 1) if s.kind == "chain" for r in _sprockets(asked(basis, k), m.post)
    ]
    if not rows:
        return ()
    heads = ("stage", "sprocket", "teeth", "pitch circle", "bottom of teeth", "over tips", "with its chain on",
             "clear of the post's bore all round", "wrap", "largest bore", "shaft", "ratio")  # fmt: skip
    note = (
        "With its chain on: pitch circle and plates of .95 pitch (ASME B29.1, read). The post's bore matters only for "
        f"a sprocket inside it. Largest bore: {BORES}; a maker's list takes precedence."
    )
    return (Table("Sprockets", (heads, *rows), note),)


def _sprockets(one: Asked, post: PostTube | None) -> list[tuple[str, ...]]:
    stage, fit = one.stage, fit_or_none(one.stage)
    found: list[tuple[str, ...]] = []
    wraps = (None, None) if fit is None else (fit.wrap_driver, fit.wrap_driven)
    sprockets = zip(("driver", "driven"), (stage.driver, stage.driven), one.shafts, wraps, strict=True)
    ratio = f"{stage.driven / stage.driver:.3g}" + (" rare" if stage.driven > RARE * stage.driver else "")
    for what, teeth, shaft, wrap in sprockets:
        on = float(with_chain_outside_diameter(teeth, stage.pitch))
        chain = next(iter(of_pitch(stage.pitch)), None)
        bore = largest_bore(teeth, stage.pitch)
        found.append((
            str(one.number), what, str(teeth), shown(2 * float(pitch_radius(teeth, stage.pitch)), "length"),
            "-" if chain is None else shown(root_diameter(teeth, stage.pitch, chain.roller), "length"),
            shown(float(sprocket_outside_diameter(teeth, stage.pitch)), "length"), shown(on, "length"),
            "-" if post is None else _clear((post.bore - on) / 2),
            "-" if wrap is None else shown(wrap, "angle"),
            shown(bore, "length") + (" TOO SMALL" if bore < shaft.diameter else ""), shown(shaft.diameter, "length"),
            ratio,
        ))  # fmt: skip
    return found


def _clear(room: float) -> str:
    return shown(room, "length") + (" DOES NOT PASS" if room < 0 else "")
