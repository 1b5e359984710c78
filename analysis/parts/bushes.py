"""Bushes of the crankshafts: pressure, edge, sliding speed, pressure times speed, and wear.

Pressure is force over bore times length. Where the shaft leans in the bush beyond its clearance one end carries alone,
and the shaft presses into it by all of its slope: clearance lies on the other side of the shaft. The pressure there
falls straight to nothing over the part that carries, as of a lining that gives in proportion to pressure. Wear is
depth = rate x pressure x sliding way (Archard's law as bush makers write it); very small products of pressure and speed
count as `FLOOR`, since dust and weather then wear more than load does.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, Table, line
from analysis.parts.duty import crank_speed
from analysis.parts.journals import Journal, blocked_note, journals, quickest, too_small
from analysis.shaft_limits import PLAY
from analysis.strength.slopes import bush_slope
from models.parts.bushes import BUSHES, KINDS, Bush
from models.parts.catalogue import SYSTEMS
from models.shown import shown

PRESSURE = "force over bore times length, makers' guidance (read)"
FLOOR = 0.025e6
"""Least product of pressure and speed that a life is rated for, Pa m/s (two makers of PTFE-lined bushes, read)."""
GROUND = 1e13
"""Pressure over depth, Pa/m, of a lining on its backing: some 3 GPa over .3 mm; assumption. The edge's pressure goes
with its root: a tenth of it gives a third."""
SHORTEST = 0.5
"""Least length over bore: a maker's guide for bushes, .5 to 2 (read)."""
SAME = 1e-4
"""Share by which a bore may differ from the shaft and still be its size."""


def pressure(force: float, bore: float, length: float) -> float:
    """Give the mean pressure of a bush, Pa: force over projected area.

    Parameters
    ----------
    force : N.
    bore, length : m.

    Raises
    ------
    ValueError
        If bore or length is not above zero.
    """
    if not (bore > 0 and length > 0):
        raise ValueError(
            f"a bush of {bore} m bore and {length} m length has no area; write metres above zero"
        )
    return force / (bore * length)


def edge_pressure(force: float, bore: float, length: float, lean: float, ground: float = GROUND) -> float:
    """Give the pressure at the end of a bush in which the shaft leans, Pa.

    On ground whose pressure is `ground` times its depth, depth falls by `lean` a metre. Where less than the length
    carries that part is a = sqrt(2 F / (d ground lean)) long and the edge has 2 F / (d a) = sqrt(2 F ground lean / d);
    else the edge has ground lean L / 2 more than the mean. At lean 0 it is the mean.

    Parameters
    ----------
    force : N.
    bore, length : m.
    lean : slope of the shaft in the bush, rad, 0 or more.
    ground : Pa/m.
    """
    mean, tilt = pressure(force, bore, length), ground * lean * length
    return mean + tilt / 2 if tilt <= 2 * mean else math.sqrt(2 * force * ground * lean / bore)


def worn(rate: float, pv: float, seconds: float) -> float:
    """Give the depth worn, m: rate x pressure x speed x time.

    Parameters
    ----------
    rate : m3/(N m).
    pv : mean product of pressure and sliding speed, Pa m/s.
    seconds : s of turning.
    """
    return rate * pv * seconds


@dataclass(frozen=True)
class Wear:
    """How long a bush lasts.

    Attributes
    ----------
    pv : mean product of pressure and sliding speed over a turn in use, Pa m/s; what is rated is at least `FLOOR`.
    hours : of turning until the allowed depth is worn; None where rate or depth is not known.
    """

    pv: float
    hours: float | None


def wear(basis: Basis, journal: Journal, bush: Bush) -> Wear:
    """Give the wear of a bush at a crankshaft's bearing in ordinary use."""
    force = journal.turning.mean + journal.beside
    pv = pressure(force, bush.bore, bush.length) * crank_speed(basis.mechanism) * bush.bore / 2
    if bush.wear is None or bush.depth is None:
        return Wear(pv, None)
    return Wear(pv, bush.depth / worn(bush.wear, max(pv, FLOOR), 3600))


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give a line for every bush of the crankshafts, in either system of measures, dry and oil-filled."""
    found: list[Line] = []
    for journal in journals(basis):
        if journal.station.kind != "bush":
            continue
        for system in SYSTEMS:
            for kind in KINDS:
                found.append(_line(basis, journal, system, kind))
    return tuple(found)


def _line(basis: Basis, journal: Journal, system: str, kind: str) -> Line:
    rows: tuple[Bush, ...] = basis.series(BUSHES, system, kind=kind)
    fitting = of_shaft(rows, journal.shaft)
    family, where, notes = f"{kind} bush", journal.where, _notes(journal, kind)
    if not fitting:
        largest = max(rows, key=lambda r: r.bore)
        short = too_small(largest.size, largest.bore, journal.shaft)
        return Line(family, where, journal.count, system, None, short, None, notes)
    described = None
    # The description names neither system nor kind of bush: once is enough, and dry is what runs without care.
    if kind == KINDS[0] and system == own_system(basis, journal.shaft):
        described = _described(basis, journal, fitting[0])
        notes = (*notes, "described is the shaft and its bush's length; the description does not say of what kind, "
                 "taken as dry: assumption")  # fmt: skip
    bore = fitting[0].bore
    if abs(bore / journal.shaft - 1) > SAME:
        notes = (f"for a shaft of {shown(bore, 'length')}, the next size; the described one is "
                 f"{shown(journal.shaft, 'length')}", *notes)  # fmt: skip
    asked = partial(checks, basis, journal)
    made = line(
        family, where, fitting, asked, system=system, count=journal.count, described=described, notes=notes
    )
    if made.chosen is not None:
        return made
    # Slopes ask for short bushes and loads for long ones: where none will do, the one that comes nearest is told.
    tried = [Sizing(b.size, asked(b), b.source) for b in fitting]
    return replace(made, nearest=max(tried, key=lambda s: s.tightest.margin))


def of_shaft(rows: Sequence[Bush], shaft: float) -> tuple[Bush, ...]:
    """Give the rows with the smallest bore that takes a shaft of a diameter, m; none where all are smaller."""
    bore = min((r.bore for r in rows if r.bore >= shaft * (1 - SAME)), default=None)
    return tuple(r for r in rows if r.bore == bore)


def own_system(basis: Basis, shaft: float) -> str:
    """Give the system of measures whose bushes have the shaft's diameter for a bore: inch, or else metric."""
    inch: tuple[Bush, ...] = basis.series(BUSHES, "inch")
    return "inch" if any(abs(r.bore / shaft - 1) < SAME for r in inch) else "metric"


def _described(basis: Basis, journal: Journal, like: Bush) -> Sizing:
    length, bore = journal.station.length, journal.shaft
    bush = replace(
        like, bore=bore, length=length, size=f"{shown(bore, 'length')} by {shown(length, 'length')}"
    )
    return Sizing(bush.size, checks(basis, journal, bush), bush.source)


def checks(basis: Basis, journal: Journal, bush: Bush) -> tuple[Check, ...]:
    """Give everything that is asked of a bush at a crankshaft's bearing."""
    use, loads, source = basis.mechanism.use, basis.loads, bush.source
    case, used = loads.case(journal.met), loads.case(journal.used)
    shocked = use.shock * journal.met.value
    area = bush.bore * bush.length
    found = [
        Check("pressure at rest with shock", shocked / area, bush.static, "stress", case,
              f"{PRESSURE}; {source}", journal.met.crank, f"shock factor {use.shock:g}"),
        Check("pressure turning", journal.used.value / area, bush.dynamic, "stress", used,
              f"{PRESSURE}; {source}", journal.used.crank),
        Check("sliding speed", quickest(basis) * bush.bore / 2, bush.fastest, "speed", "in use and after letting go",
              source),
        Check("bore over length", bush.bore / bush.length, 1 / SHORTEST, "ratio", "geometry",
              "a maker's guide for bushes, length .5 to 2 times the bore (read)"),
    ]  # fmt: skip
    found += _leaning(journal, bush, (shocked, case), (journal.used.value, used))
    life = wear(basis, journal, bush)
    found.append(Check("pressure times speed, mean over a turn", life.pv, bush.pv, "pressure_speed",
                       journal.turning.case, source))  # fmt: skip
    if bush.wear is not None and bush.depth is not None:
        hours = use.hours * use.years
        depth = worn(bush.wear, max(life.pv, FLOOR), 3600 * hours)
        found.append(
            Check("wear over the wished years", depth, bush.depth, "length",
                  journal.turning.case, f"depth = rate x pressure x way, at least {shown(FLOOR, 'pressure_speed')}; "
                  f"{source}", note=f"{hours:g} hours of turning", years=use.years)
        )  # fmt: skip
    return tuple(found)


def _leaning(
    journal: Journal, bush: Bush, rest: tuple[float, str], turning: tuple[float, str]
) -> list[Check]:
    """Give the slope in the bush, and where it is beyond the clearance the pressure at its edge.

    `rest` and `turning` are forces, N, and their cases.
    """
    if journal.slope is None:
        return []
    given = journal.station.clearance
    allowed = bush_slope(given if given > 0 else PLAY.value * bush.bore, bush.length)
    note = "" if given > 0 else f"clearance {PLAY.value:g} of the diameter: {PLAY.source}"
    found = [Check("slope of the shaft in it", journal.slope.value, allowed, "angle", journal.slope.case,
                   "clearance over length; beyond it the edge carries alone and the bush binds", journal.slope.crank,
                   note)]  # fmt: skip
    lean = journal.slope.value
    if lean <= allowed:
        return found
    source = f"straight fall over the part that carries, {GROUND:g} Pa/m of ground: assumption; {bush.source}"
    words = "as if the bush left the shaft its slope; where it holds it straighter, both ends carry more"
    for what, (force, case), limit in (
        ("pressure at its edge at rest with shock", rest, bush.static),
        ("pressure at its edge turning", turning, bush.dynamic),
    ):
        edge = edge_pressure(force, bush.bore, bush.length, lean)
        found.append(Check(what, edge, limit, "stress", case, source, note=words))
    return found


def _notes(journal: Journal, kind: str) -> tuple[str, ...]:
    found = [*blocked_note(journal.bound), *journal.words]
    if journal.thrust > 0.01 * journal.used.value:
        found.append(f"thrust along the shaft up to {shown(journal.thrust, 'force')} in use: a plain bush takes none, "
                     "give it a collar with a thrust washer or a flange")  # fmt: skip
    if kind == "oil-filled":
        found.append("its wear rate is not known, so its life is not")
        found.append("so slow a sliding speed builds up no film of oil: what pressure times speed may be is then below "
                     "its limit (a maker's guide, read)")  # fmt: skip
    if journal.slope is None:
        found.append("the shaft's slope in it is not known")
    return tuple(found)


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give how long the described bushes last."""
    rows: list[tuple[str, ...]] = []
    for journal in journals(basis):
        if journal.station.kind == "bush":
            rows += [_row(basis, journal, kind) for kind in KINDS]
    if not rows:
        return ()
    heading = (
        "bearing",
        "kind",
        "size",
        "mean pressure",
        "pressure x speed",
        "hours of turning",
        "years",
        "visitors",
    )
    note = (
        "in ordinary use, over the described shaft and length, until the lining is worn through; a product of pressure "
        f"and speed below {shown(FLOOR, 'pressure_speed')} counts as that. Dust, weather and a shaft that leans in its "
        "bush shorten it; wear of the shaft is not judged"
    )
    return (Table("Wear of the crankshafts' bushes", (heading, *rows), note),)


def _row(basis: Basis, journal: Journal, kind: str) -> tuple[str, ...]:
    use, shaft = basis.mechanism.use, journal.shaft
    fitting = of_shaft(basis.series(BUSHES, own_system(basis, shaft), kind=kind), shaft)
    size = f"{shown(shaft, 'length')} by {shown(journal.station.length, 'length')}"
    if not fitting:
        return (journal.where, kind, size, *5 * ("no such bush",))
    bush = replace(fitting[0], bore=shaft, length=journal.station.length)
    life = wear(basis, journal, bush)
    mean = pressure(journal.turning.mean + journal.beside, bush.bore, bush.length)
    had = (journal.where, kind, size, shown(mean, "stress"), shown(life.pv, "pressure_speed"))
    if life.hours is None:
        return (*had, *3 * ("not known",))
    years = life.hours / use.hours
    return (*had, f"{life.hours:.3g}", f"{years:.3g}", f"{years * use.visitors:.3g}")
