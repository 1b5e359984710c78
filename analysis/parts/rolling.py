"""Rolling bearings of the drive's shafts, and of crankshafts that run in some: life, safety at rest, slope.

Life goes by the cubic mean over a turn of the crank in ordinary use; at rest the worst load over all cases counts with
the shock factor, and an upper bound with a panel blocked as it is. The description does not say what bearings the
drive's shafts run in: inserts in pillow blocks or flanges and deep-groove ball bearings are chosen for each.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analysis.bearing_loads import LARGEST
from analysis.loads import BOUND, USED
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Table, line
from analysis.parts.driving import PUSH, UNKNOWN, beside_direct, carried, drive_shafts
from analysis.parts.journals import (
    Journal,
    Turning,
    blocked_note,
    journals,
    quickest,
    too_small,
    turns,
)
from analysis.parts.rolling_checks import (
    ALIGNING,
    LIGHT,
    LONGEST,
    ROLLERS,
    SAME,
    Loaded,
    Rest,
    checks,
    exponent,
    long,
    of_shaft,
    worse,
)
from analysis.shaft_strength import REPEATING, whole_turn
from models.bearing_kinds import bearing_kinds
from models.mechanism import Mechanism
from models.parts.catalogue import SYSTEMS
from models.parts.rolling_bearings import BUSH, ROLLING_BEARINGS, RollingBearing
from models.shown import shown
from sim import names
from sim.arrays import Array

FAMILY = "rolling bearing"
UNTOLD = "not chosen: no case but a blocked panel's was run, so that what they carry is not known"
DRIVE_KINDS = ("insert", "ball")
"""Kinds that are chosen for the drive's shafts."""
ENDS = (
    "nine of ten last as long if they stay greased, clean and dry; outdoors most end by rust and dirt first "
    "(common practice, no source): sealed, and regreased where they can be"
)


# --- The drive's shafts ---


def of_drive(basis: Basis, number: int) -> tuple[Loaded, Loaded] | None:
    """Give what the two bearings of a shaft of the drive carry, the wheel's for 0; None where only the bound tells."""
    m, loads = basis.mechanism, basis.loads
    diameter = drive_shafts(m)[number][1].diameter
    reduction = m.reduction
    for stage in m.stages[number:]:
        reduction /= stage.driven / stage.driver
    # Turns of the wheel for one of this shaft; of the wheel itself 1.
    years_turns = m.use.turns(reduction) * m.use.years
    speed = max(abs(m.use.speed), basis.shafts.speeds.fastest) / reduction
    turning: tuple[list[Turning], list[Turning]] = ([], [])
    rests: tuple[list[Rest], list[Rest]] = ([], [])
    bounds: tuple[list[Rest], list[Rest]] = ([], [])
    slopes: tuple[list[tuple[float, str]], list[tuple[float, str]]] = ([], [])
    for group in loads.campaign.groups:
        for run in group.runs:
            held = carried(m, run, number)
            for which in (0, 1):
                if held is None:
                    continue
                force = held.bearing(which)
                (bounds if group.case.kind == BOUND else rests)[which].append(
                    _rest(force, group.name, held.crank)
                )
                if group.case.kind in USED:
                    leaning = held.slope(which, diameter, m.drive_stock.modulus)
                    slopes[which].append((float(leaning.max()), group.name))
                turn = (
                    whole_turn(held.crank)
                    if group.case.kind in REPEATING and held.angle is not None
                    else None
                )
                if turn is not None and held.angle is not None:
                    turned = np.abs(np.gradient(held.angle))[turn]
                    turning[which].append(Turning(force[turn], turned, group.name))
    found: list[Loaded] = []
    for which in (0, 1):
        joint = (names.shaft_bearing(number, len(m.stages), which), LARGEST)
        if joint in loads.met:
            # Cases in which the piece hangs askew are in the envelope alone.
            f = loads.met[joint]
            rests[which].append(Rest(f.value, 0.0, loads.case(f), f.crank))
        if not rests[which]:
            return None
        rest = max(rests[which], key=lambda r: r.radial)
        bound = max(bounds[which], key=lambda r: r.radial, default=None)
        slope = max(slopes[which], default=None)
        found.append(Loaded(tuple(turning[which]), rest, bound, diameter, slope, years_turns, speed))
    return found[0], found[1]


def _rest(force: Array, case: str, crank: Array) -> Rest:
    radial = np.hypot(force[:, 0], force[:, 2])
    n = int(np.argmax(radial))
    return Rest(float(radial[n]), float(abs(force[n, 1])), case, float(crank[n]))


def _drive_lines(basis: Basis) -> list[Line]:
    m = basis.mechanism
    found: list[Line] = []
    for k, (name, shaft) in enumerate(drive_shafts(m)):
        if beside_direct(m, k):
            found.append(
                Line(FAMILY, f"{name} bearings", 2, "", None, None, None, (UNKNOWN, *_drive_notes(m, k)))
            )
            continue
        both, notes = of_drive(basis, k), _drive_notes(m, k)
        if both is None:
            found.append(Line(FAMILY, f"{name} bearings", 2, "", None, None, None, (UNTOLD, *notes)))
            continue
        for kind in DRIVE_KINDS:
            for system in SYSTEMS:
                made = _line(basis, f"{name} bearings", 2, shaft.diameter, system, kind, both, notes)
                found += [made] if made else []
    return found


def _drive_notes(m: Mechanism, number: int) -> tuple[str, ...]:
    found = [
        ENDS,
        "thrust along the shaft from chains out of line or a push at the rim's side is not known and not counted",
    ]
    if number == 0:
        found.append(PUSH)
        if m.wheel.kind == "handle":
            found.append(
                "the push is taken in the wheel's plane: a grip that stands out loads the near bearing more"
            )
    if any(m.stages[k - 1].kind == "direct" for k in (number, number + 1) if 1 <= k <= len(m.stages)):
        found.append(
            "without what the two wheels of a direct stage put on each other: these bearings carry more"
        )
    return tuple(found)


def _line(
    basis: Basis, where: str, count: int, shaft: float, system: str, kind: str, of: Sequence[Loaded],
    notes: tuple[str, ...],
) -> Line | None:  # fmt: skip
    """Give a line for one kind in one system; None where the catalogue has no such kind in that system."""
    rows: tuple[RollingBearing, ...] = basis.series(ROLLING_BEARINGS, system, kind=kind)
    if not rows:
        return None
    # A straight shaft may be made thicker for its bearings; a crankshaft's bar is chosen by itself.
    fitting = of_shaft(rows, shaft, thicker=all(x.straight for x in of))
    family = f"{kind} bearing"
    if not fitting:
        largest = max(rows, key=lambda r: r.bore)
        return Line(
            family, where, count, system, None, too_small(largest.size, largest.bore, shaft), None, notes
        )
    use = basis.mechanism.use

    def asked(row: RollingBearing) -> tuple[Check, ...]:
        return worse(*(checks(use.shock, use.hours * use.years, loaded, row) for loaded in of))

    made = line(family, where, fitting, asked, system=system, count=count, notes=notes)
    size = made.chosen or made.nearest or made.described
    bore = next(r.bore for r in fitting if size is not None and r.size == size.size)
    if abs(bore / shaft - 1) <= SAME:
        return made
    words = (
        f"for a shaft of {shown(bore, 'length')}; the described one is {shown(shaft, 'length')}, and a seat turned "
        "down to a smaller bore is to be judged as a shaft of that size"
    )
    return replace(made, notes=(words, *notes))


# --- Crankshafts ---


def of_journal(basis: Basis, journal: Journal) -> Loaded:
    """Give what a crankshaft's bearing carries; the bound with a panel blocked is told in a note alone."""
    vector = basis.loads.vector(journal.met)
    rest = Rest(
        journal.met.value, abs(vector[1]) if vector else 0.0, basis.loads.case(journal.met), journal.met.crank
    )
    slope = None if journal.slope is None else (journal.slope.value, journal.slope.case)
    turning = journal.turning
    if journal.thrust == 0:
        turning = replace(turning, force=turning.force * np.array([1.0, 0.0, 1.0]))
        rest = replace(rest, thrust=0.0)
    return Loaded((turning,), rest, None, journal.shaft, slope, turns(basis), quickest(basis), False,
                  journal.beside)  # fmt: skip


def _crank_lines(basis: Basis) -> list[Line]:
    """Give lines for bearings that roll, and for one that takes the shaft's slope where its own does not."""
    found: list[Line] = []
    for journal in journals(basis):
        kind = journal.station.kind
        leans = journal.slope is not None and journal.slope.beyond
        if kind != BUSH:
            found += _of_kind(basis, journal, kind, journal.where, ())
        if leans and kind != ALIGNING:
            label = bearing_kinds()[kind].label
            words = f"the shaft leans too much for the {label}; this takes its slope"
            found += _of_kind(basis, journal, ALIGNING, f"{journal.where}, in place of the {label}", (words,))
    return found


def _of_kind(basis: Basis, journal: Journal, kind: str, where: str, words: tuple[str, ...]) -> list[Line]:
    notes = (*words, ENDS, *blocked_note(journal.bound), *journal.words)
    loaded = of_journal(basis, journal)
    if kind in ROLLERS and journal.thrust > LIGHT * journal.used.value:
        notes = (f"thrust of {shown(journal.thrust, 'force')} is not counted", *notes)
    made = [_line(basis, where, journal.count, journal.shaft, s, kind, (loaded,), notes) for s in SYSTEMS]
    if any(made):
        return [x for x in made if x is not None]
    none = f"the catalogue has no {bearing_kinds()[kind].label}: give a maker's table"
    return [Line(f"{kind} bearing", where, journal.count, "", None, None, None, (none, *notes))]


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give a line for the bearings of each shaft of the drive, and for crankshafts' that roll or would have to."""
    return (*_drive_lines(basis), *_crank_lines(basis))


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give the lives of the bearings chosen."""
    rows: list[tuple[str, ...]] = []
    use = basis.mechanism.use
    for x in lines(basis):
        if x.chosen is None:
            continue
        rating = next((c for c in x.chosen.checks if c.what == "dynamic rating for the wished life"), None)
        rest = next(c for c in x.chosen.checks if c.what == "static rating with shock")
        safety = "no load" if rest.demand == 0 else f"{use.shock * rest.allowed / rest.demand:.3g}"
        p = exponent(x.where.rpartition(", ")[2])
        if rating is None or rating.demand == 0:
            hours = ("not known", "not known")
        else:
            wished = use.hours * use.years
            lasts = wished * (rating.allowed / rating.demand) ** p
            hours = (
                long(lasts),
                f"{min(lasts, LONGEST) / use.hours:.3g}" + (" and more" if lasts > LONGEST else ""),
            )
        rows.append((x.where, x.system, x.chosen.size, safety, *hours))
    if not rows:
        return ()
    heading = ("bearing", "system", "size", "static safety", "hours of turning, L10", "years")
    return (Table("Lives of rolling bearings", (heading, *rows), ENDS),)
