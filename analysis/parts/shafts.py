"""Bars: of the crankshafts, from the analysis of shafts, and of the drive's straight shafts.

A straight shaft is bent by what it carries and twisted by what goes through it. It turns under loads that stand still,
so that bending goes to and fro in it: DE-Goodman over a turn of the crank in ordinary use, with a keyseat wherever a
hub sits. Yielding is nominal, over all cases, and without margin under the upper bound of a blocked panel.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from analysis import shaft_stock
from analysis.loads import BOUND, USED
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, Table, line
from analysis.parts.driving import LEVERS, PUSH, UNKNOWN, Carried, beside_direct, carried, drive_shafts
from analysis.shaft_strength import GOODMAN, MISES, REPEATING, whole_turn
from analysis.strength.endurance import endurance
from analysis.strength.goodman import Limits, fatigue
from analysis.strength.notches import PLAIN, Notch, keyseat
from analysis.strength.section import Round
from models.bearing_kinds import bearing_kinds
from models.mechanism import Mechanism
from models.parts.catalogue import SYSTEMS
from models.shown import shown
from models.stock import System
from models.stock import shaft_stock as bars_in_stock
from models.strengths import strengths
from sim import names
from sim.arrays import Array
from sim.shaft.bending import turning
from sim.shaft.crank import web_width

INSTANTS = 1440
"""Instants of a turn of the crank that fatigue is judged by; peaks between two of them are missed by .1 % at most."""
POINTS = 36
"""Points around the shaft: bending between two of them is missed by .4 % at most."""
BEARING = "insert"
"""Kind of bearing whose slope a straight shaft has to keep: as of deep-groove ball bearings."""
SAME = 1e-4
STOCK = shaft_stock.SOURCE
"""What crankshafts' bars rest on."""


@dataclass(frozen=True)
class Bar:
    """A round bar in stock: as of `models.stock.StockSize`, with its system of measures."""

    size: str
    system: str
    source: str
    diameter: float


def stock_bars(system: System) -> tuple[Bar, ...]:
    """Give the bars in stock of a system, thinnest first."""
    return tuple(Bar(s.label, system, s.source, s.diameter) for s in bars_in_stock(system))


def own_system(diameter: float) -> System:
    """Give the system of measures that has a bar of a diameter, m: inch, or else metric."""
    return "inch" if any(abs(b.diameter / diameter - 1) < SAME for b in stock_bars("inch")) else "metric"


# --- Straight shafts ---


@dataclass(frozen=True)
class Section:
    """A place of a straight shaft at which it is judged: its name, place, m, and whether a hub's key sits there."""

    label: str
    at: float
    keyed: bool


@dataclass(frozen=True)
class Turn:
    """Bending (n, 3) in the shaft's turning axes as `strength.section` has it, torque about its axis, at a section."""

    section: Section
    case: str
    moment: Array


@dataclass(frozen=True)
class Peak:
    """The largest sqrt(4 M^2 + 3 T^2), N m, with its section, case and crank angle, rad."""

    value: float
    where: str
    case: str
    crank: float


@dataclass(frozen=True)
class Strained:
    """What a straight shaft goes through.

    Attributes
    ----------
    turns : in ordinary use, at each section.
    met, bound : the worst peak over all cases but blocked panels, and with one blocked; None where there is none.
    slope : largest slope in a bearing in use, rad, of the diameter described, and its case; None likewise.
    """

    turns: tuple[Turn, ...]
    met: Peak | None
    bound: Peak | None
    slope: tuple[float, str] | None


def sections(m: Mechanism, number: int) -> tuple[Section, ...]:
    """Give the places at which a shaft is judged, the wheel's for 0: bearings, and hubs of what sits on it."""
    stages, shaft = m.stages, drive_shafts(m)[number][1]
    found = [
        Section(f"{word} bearing", at, False)
        for word, at in zip(("right", "left"), shaft.bearings, strict=True)
    ]
    if number == 0:
        found.append(Section("wheel's hub", m.wheel.out, True))
    if number > 0:
        found.append(Section(f"driven sprocket of stage {number}", stages[number - 1].out, True))
    if number < len(stages):
        found.append(Section(f"driver sprocket of stage {number + 1}", stages[number].out, True))
    else:
        found += [Section(names.coupling(s.name), s.sign * s.crank.ends[0], True) for s in m.sides]
    return tuple(found)


def strained(basis: Basis, number: int) -> Strained:
    """Give what a shaft of the drive goes through, the wheel's for 0."""
    m = basis.mechanism
    places, diameter = sections(m, number), drive_shafts(m)[number][1].diameter
    turns: list[Turn] = []
    met: list[Peak] = []
    bound: list[Peak] = []
    slopes: list[tuple[float, str]] = []
    for group in basis.loads.campaign.groups:
        for run in group.runs:
            held = carried(m, run, number)
            if held is None:
                continue
            (bound if group.case.kind == BOUND else met).extend(_peak(held, s, group.name) for s in places)
            if group.case.kind in USED:
                slopes += [
                    (float(held.slope(w, diameter, m.drive_stock.modulus).max()), group.name) for w in (0, 1)
                ]
            if group.case.kind in REPEATING:
                turns += _turns(held, places, group.name)
    highest, blocked = (max(peaks, key=lambda p: p.value, default=None) for peaks in (met, bound))
    return Strained(tuple(turns), highest, blocked, max(slopes, default=None))


def _peak(held: Carried, section: Section, case: str) -> Peak:
    bent = np.linalg.norm(held.bending(section.at), axis=1)
    size = np.sqrt(4 * bent**2 + 3 * held.torque(section.at) ** 2)
    n = int(np.argmax(size))
    return Peak(float(size[n]), section.label, case, float(held.crank[n]))


def _turns(held: Carried, places: tuple[Section, ...], case: str) -> list[Turn]:
    turn = whole_turn(held.crank)
    if turn is None or held.angle is None:
        return []
    every = max(1, len(held.crank[turn]) // INSTANTS)
    angle = held.angle[turn][::every]
    return [
        Turn(
            s, case, turned_moment(held.bending(s.at)[turn][::every], held.torque(s.at)[turn][::every], angle)
        )
        for s in places
    ]


def turned_moment(bending: Array, torque: Array, angle: Array) -> Array:
    """Give the moment (n, 3) in the axes of a shaft that has turned by angles (n,), rad.

    Parameters
    ----------
    bending : (n, 3) moments by forces forward, along and up, in standing axes, N m.
    torque : (n,) N m.
    angle : (n,) rad.
    """
    own = turning(bending, angle)
    return np.stack([-own[:, 2], torque, own[:, 0]], axis=-1)


def peak_stress(peak: float, diameter: float) -> float:
    """Give the von Mises stress of a round bar, Pa: 16 / (pi d^3) sqrt(4 M^2 + 3 T^2), by what is under the root."""
    return 16 * peak / (math.pi * diameter**3)


def checks(m: Mechanism, found: Strained, described: float, diameter: float) -> tuple[Check, ...]:
    """Give everything that is asked of a straight shaft.

    Parameters
    ----------
    m : the sculpture.
    found : what the shaft goes through.
    described : diameter whose slope is in it, m.
    diameter : asked for, m.
    """
    stock, margin = m.drive_stock, m.use.margin
    asked: list[Check] = []
    weakest = _weakest(m, found, diameter)
    if weakest is not None:
        factor, turn = weakest
        asked.append(Check("safety factor against fatigue", margin, factor, "ratio", turn.case,
                           f"{LEVERS}; {GOODMAN.partition('; ')[2]}", note=f"at the {turn.section.label}"))  # fmt: skip
    if found.met is not None:
        stress = margin * peak_stress(found.met.value, diameter)
        asked.append(Check("stress times safety factor against yielding", stress, stock.strength, "stress",
                           found.met.case, f"{LEVERS}; {MISES.partition('; ')[2]}",
                           found.met.crank, f"at the {found.met.where}"))  # fmt: skip
    if found.bound is not None:
        asked.append(Check("stress with a panel blocked", peak_stress(found.bound.value, diameter), stock.strength,
                           "stress", found.bound.case, f"{LEVERS}; an upper bound, without shock or safety factor",
                           found.bound.crank, f"at the {found.bound.where}"))  # fmt: skip
    allowed = bearing_kinds()[BEARING].allowed
    if found.slope is not None and allowed is not None:
        slope, case = found.slope
        asked.append(Check("slope in its bearings", slope * (described / diameter) ** 4, allowed, "angle", case,
                           bearing_kinds()[BEARING].source, note="for inserts or ball bearings"))  # fmt: skip
    return tuple(asked)


def _weakest(m: Mechanism, found: Strained, diameter: float) -> tuple[float, Turn] | None:
    """Give the least safety factor against fatigue and where it is; None where nothing turns or strength is unknown."""
    known, making = strengths().get(m.drive_stock.name), m.sides[0].crank.making
    if known is None or not found.turns:
        return None
    stood = Limits(endurance(known, diameter, making.surface).limit, known.ultimate, m.drive_stock.strength)
    seat: Notch = PLAIN if making.keyseat == "none" else keyseat(making.keyseat, diameter, known)
    factors = [
        (fatigue(Round(diameter).surface(t.moment, np.zeros(len(t.moment)), POINTS), stood,
                 seat if t.section.keyed else PLAIN).factor, t)
        for t in found.turns
    ]  # fmt: skip
    return min(factors, key=lambda f: f[0])


def _drive_lines(basis: Basis) -> list[Line]:
    m = basis.mechanism
    found: list[Line] = []
    for k, (name, shaft) in enumerate(drive_shafts(m)):
        if beside_direct(m, k):
            found.append(Line("shaft", name, 1, "", None, None, None, (UNKNOWN, *_drive_notes(m, k))))
            continue
        through, diameter, notes = strained(basis, k), shaft.diameter, _drive_notes(m, k)
        if not through.turns:
            notes = ("no run of a whole turn in ordinary use: fatigue is not judged", *notes)

        @lru_cache(maxsize=64)
        def asked(d: float, through: Strained = through, own: float = diameter) -> tuple[Check, ...]:
            return checks(m, through, own, d)

        for system in SYSTEMS:
            described = None
            if system == own_system(diameter):
                described = Sizing(shown(diameter, "length"), asked(diameter), "description")
            found.append(line("shaft", name, stock_bars(system), lambda bar, asked=asked: asked(bar.diameter),
                              system=system, described=described, notes=notes))  # fmt: skip
    return found


def _drive_notes(m: Mechanism, number: int) -> tuple[str, ...]:
    making = m.sides[0].crank.making
    hub = "no keyseat" if making.keyseat == "none" else f"{making.keyseat} keyseats at the hubs"
    found = [f"{m.drive_stock.name}, {making.surface}, {hub}, as the crankshafts'; assumption",
             "shoulders, set screws and fits of bearings are not counted as notches"]  # fmt: skip
    if number == 0:
        found.append(PUSH)
    if number == len(m.stages) and any(s.crank.coupling.kind == "clamp" for s in m.sides):
        found.append("a clamp passes the crankshaft's bending on; it is not counted here")
    if strengths().get(m.drive_stock.name) is None:
        found.append(f"the fatigue strength of {m.drive_stock.name} is not known: fatigue is not judged")
    return tuple(found)


# --- Crankshafts ---


def _crank_lines(basis: Basis) -> list[Line]:
    """Give shafts, pins and webs of the crankshafts as the analysis of shafts has chosen or judged them."""
    m, count = basis.mechanism, len(basis.mechanism.sides)
    c, had = m.sides[0].crank, shaft_stock.described(basis.linkage)
    of = {part: {n: v for n, v in had.items() if _part(n) == part} for part in ("shafts", "pins", "webs")}
    found: list[Line] = []
    for system in ("metric", "inch"):
        bars = shaft_stock.thinnest(basis.linkage, system)
        notes = [
            shaft_stock.KEPT,
            "chosen by a turn standing still; what other cases do is in the table of their strength",
        ]
        if bars.bearings:
            notes.append(
                f"in {bearing_kinds()[bars.bearings].label}s: no bar is stiff enough for those described"
            )
        described: dict[str, Sizing | None] = {"shafts": None, "pins": None}
        if system == own_system(c.shaft):
            described["shafts"] = _sizing(shown(c.shaft, "length"), of["shafts"])
        if system == own_system(c.pin):
            described["pins"] = _sizing(shown(c.pin, "length"), of["pins"])
        shaft, pins = bars.with_it, bars.together
        if pins is None or shaft.size is None:
            words = f"no bar will do, not even the thickest: what it lacks is {bars.governs}"
            # What was tried last: a bar has to leave room for a weld all round on the webs.
            room = min(web_width(side, p) for side in m.sides for p in side.panels)
            label = max(
                (s for s in bars_in_stock(system) if s.diameter < room), key=lambda s: s.diameter
            ).label
            for part, own in described.items():
                number = count * (len(m.sides[0].panels) if part == "pins" else 1)
                found.append(Line("crankshaft bar", part, number, system, None, _sizing(label, shaft.margins), own,
                                  (words, *notes)))  # fmt: skip
            continue
        below = None if shaft.smaller is None else _sizing(shaft.smaller.label, shaft.smaller_margins)
        found.append(Line("crankshaft bar", "shafts", count, system, _sizing(shaft.size.label, shaft.margins), below,
                          described["shafts"], (f"with pins of {pins.label}", *notes)))  # fmt: skip
        thinner = None
        if bars.thinner is not None:
            label = max(
                (s for s in bars_in_stock(system) if s.diameter < pins.diameter), key=lambda s: s.diameter
            ).label
            thinner = _sizing(label, bars.thinner.margins)
        found.append(Line("crankshaft bar", "pins", count * len(m.sides[0].panels), system,
                          _sizing(pins.label, shaft.margins), thinner, described["pins"],
                          (f"with a shaft of {shaft.size.label}", *notes)))  # fmt: skip
    web = f"{shown(c.cheek.width, 'length')} by {shown(c.cheek.thickness, 'length')}"
    found.append(Line("crankshaft web", "webs", 2 * count * len(m.sides[0].panels), "", None, None,
                      _sizing(web, of["webs"]), ("judged with the pins and the shaft as described",)))  # fmt: skip
    return found


def _part(limit: str) -> str:
    """Say which part of a crankshaft a limit of `shaft_stock` is of."""
    return next((part for part in ("pins", "webs") if limit.endswith(part)), "shafts")


def _sizing(size: str, margins: Mapping[str, float]) -> Sizing:
    """Give a size with the margins that the analysis of shafts found: shares used of what each limit allows."""
    asked = tuple(Check(f"{name}, share used", 1 / (1 + margin) if margin > -1 else math.inf, 1.0, "ratio",
                        shaft_stock.CASE, STOCK) for name, margin in margins.items())  # fmt: skip
    return Sizing(size, asked, "description" if not asked else STOCK)


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the bars of the crankshafts and of the drive's shafts, and the webs, in either system of measures."""
    return (*_crank_lines(basis), *_drive_lines(basis))


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give the strength of the crankshafts as described: worst of all runs, or of a turn standing still."""
    rows = [
        (f.where, f.what, f.shown, "" if f.limit is None else f"at least {shown(f.limit.value, f.dimension)}",
         "does not hold" if f.beyond else "holds", f.case)
        for f in basis.strength or basis.shafts.strength
    ]  # fmt: skip
    if not rows:
        return ()
    heading = ("place", "what", "found", "wanted", "", "case")
    note = "from the analysis of shafts; worst place of each crankshaft"
    return (Table("Strength of the crankshafts as described", (heading, *rows), note),)
