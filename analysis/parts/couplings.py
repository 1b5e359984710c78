"""The couplings at the crankshafts' inner ends: torque with service factor, a blocked bound, misalignment and bore."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from analysis.coupling_fit import Misaligned, Verdict, clamped, double_cardan, spider, verdicts
from analysis.coupling_verdicts import SHARE, joinings
from analysis.coupling_verdicts import SOURCE as ENDS
from analysis.drive_line import GUIDANCE, PEAK, REVERSING
from analysis.finding import Finding
from analysis.loads import Worst
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, Table, line
from models.coupling_kinds import coupling_kinds
from models.drive import Coupling
from models.parts.catalogue import SYSTEMS
from models.parts.couplings import COUPLINGS, KINDS, CouplingSize
from models.shown import shown
from sim import names

FAMILY = "coupling"
HARDEST = {"metric": "98 Shore A", "inch": "90 Shore A"}
"""The insert that a spider coupling is chosen with: of those that still allow the whole misalignment the hardest, which
winds up least."""
PEAK_OVER_RATED = 2.0
"""Peak torque of an elastomer insert over its rated one, where a description gives only that (makers, memory)."""
PEAK_WORDS = "peak torque of the size"
GRIP = "grip alone, a key comes on top: once it slips the two sides' clocking is lost"
SUDDEN = f"over the factor for sudden loads; {GRIP}"
CLAMP = "clamp"
SOFT = (np.eye(2), np.zeros((2, 2)))
"""Flexibilities of the shafts' ends where only limits are asked for and not what a clamp puts on them."""


@dataclass(frozen=True)
class Torque:
    """A torque through a coupling, N m, the load case that it comes from, and the crank angle, rad."""

    value: float
    case: str
    crank: float | None


@dataclass(frozen=True)
class Asked:
    """What is asked of the couplings of one side, or of both where they are alike.

    Attributes
    ----------
    where, count : which, and how many.
    coupling : as described.
    off : how far the shafts miss each other.
    force, moment : what a rigid clamp would put on the shafts, N and N m; None where it joins nothing.
    shafts : diameters of both shafts, m.
    used, reversing, met, bound : torques; None where no run tells.
    shock : factor for sudden loads.
    """

    where: str
    count: int
    coupling: Coupling
    off: Misaligned
    force: float | None
    moment: float | None
    shafts: tuple[float, float]
    used: Torque | None
    reversing: Torque | None
    met: Torque | None
    bound: Torque | None
    shock: float

    def service(self, kind: str) -> tuple[float, str]:
        """Give the factor on torque in use and its words: for sudden reversal; a clamp, which grips, has another."""
        if kind == CLAMP:
            return self.shock, SUDDEN
        return self.coupling.service, f"{GUIDANCE}, {self.coupling.service:.3g}"


def asked(basis: Basis) -> tuple[Asked, ...]:
    """Give what is asked of the couplings: one for each side, or one for both where they are alike.

    Parameters
    ----------
    basis : loads and the sculpture.
    """
    m, loads = basis.mechanism, basis.loads
    made = joinings(basis.linkage)
    together = loads.mirrored and len(made) > 1
    found: list[Asked] = []
    for joined in made[:1] if together else made:
        sides = [j.side.name for j in made] if together else [joined.side.name]
        crank = joined.side.crank
        other = m.stages[-1].shaft.diameter if m.stages else crank.shaft
        rigid = next((v for v in joined.kinds if v.kind == CLAMP), None)
        found.append(
            Asked(
                "coupling" if together else names.coupling(joined.side.name), len(sides), crank.coupling, joined.off,
                None if rigid is None else rigid.force, None if rigid is None else rigid.moment, (crank.shaft, other),
                _worst(basis, loads.used, sides, PEAK), _worst(basis, loads.used, sides, REVERSING),
                _worst(basis, loads.met, sides, PEAK), _worst(basis, loads.bound, sides, PEAK), m.use.shock,
            )
        )  # fmt: skip
    return tuple(found)


def _worst(basis: Basis, worst: Worst, sides: list[str], what: str) -> Torque | None:
    there: list[Finding] = [f for s in sides if (f := worst.get((names.coupling(s), what))) is not None]
    if not there:
        return None
    most = max(there, key=lambda f: f.value)
    return Torque(most.value, basis.loads.case(most), most.crank)


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the couplings, of the kind that is described, in both systems.

    Parameters
    ----------
    basis : loads and catalogues.
    """
    found: list[Line] = []
    for one in asked(basis):
        kind = next(k for k, name in KINDS.items() if name == one.coupling.kind)
        own, notes, family = described(one, kind), _notes(one, kind), f"{kind} {FAMILY}"
        insert = HARDEST if kind == "spider" else dict.fromkeys(SYSTEMS, "none")
        rows = {system: _rows(basis, one, system, kind, insert[system]) for system in SYSTEMS}
        if not any(rows.values()):
            words = f"the catalogue has no {kind} for shafts of {_bore_words(one)}: give a maker's table"
            found.append(Line(family, one.where, one.count, "", None, None, own, (words, *notes)))
        found += [line(family, one.where, sizes, _of(one), system=system, count=one.count, described=own, notes=notes)
                  for system, sizes in rows.items() if sizes]  # fmt: skip
    return tuple(found)


def _bore_words(one: Asked) -> str:
    thin, thick = min(one.shafts), max(one.shafts)
    alike = thick - thin < 1e-6
    return shown(thick, "length") if alike else f"{shown(thin, 'length')} and {shown(thick, 'length')}"


def _rows(basis: Basis, one: Asked, system: str, kind: str, insert: str) -> tuple[CouplingSize, ...]:
    """Give the sizes of a kind; of clamps those whose bore is the shafts'."""
    rows: tuple[CouplingSize, ...] = basis.series(COUPLINGS, system, kind=kind, insert=insert)
    named = (r if insert == "none" else replace(r, size=f"{r.size}, insert {insert}") for r in rows)
    return tuple(r for r in named if kind != CLAMP or all(c.holds for c in _bores(one, r)))


def _of(one: Asked) -> Callable[[CouplingSize], tuple[Check, ...]]:
    return lambda row: checks(one, row)


def checks(one: Asked, row: CouplingSize) -> tuple[Check, ...]:
    """Give everything that is asked of a size of coupling.

    Parameters
    ----------
    one : what is asked.
    row : the size.
    """
    return (
        *_torques(one, row.kind, row.rated, row.peak, row.source),
        *_bores(one, row),
        *_misalignment(one, row),
    )


def _torques(one: Asked, kind: str, rated: float, peak: float, source: str) -> tuple[Check, ...]:
    factor, words = one.service(kind)
    most = GRIP if kind == CLAMP else PEAK_WORDS
    found: list[Check] = []
    for what, torque in (("peak torque in use", one.used), ("peak reversing torque in use", one.reversing)):
        if torque is not None:
            found.append(Check(f"{what} times {factor:.3g}", torque.value * factor, rated, "torque", torque.case,
                               f"{words}; {source}", torque.crank))  # fmt: skip
    if one.met is not None:
        found.append(Check(f"worst peak torque met times {one.shock:.3g}", one.met.value * one.shock, peak, "torque",
                           one.met.case, f"{most}; {source}", one.met.crank))  # fmt: skip
    # What a blocked panel puts on a clamp beyond its grip makes it slip, or goes through its key.
    if one.bound is not None and kind != CLAMP:
        found.append(Check("torque with a panel blocked, upper bound", one.bound.value, peak, "torque",
                           one.bound.case, f"{most}, standing; {source}", one.bound.crank))  # fmt: skip
    return tuple(found)


def _bores(one: Asked, row: CouplingSize) -> tuple[Check, ...]:
    return (
        Check(
            "thicker shaft in its bore", max(one.shafts), row.largest_bore, "length", "geometry", row.source
        ),
        Check(
            "least bore for the thinner shaft",
            row.least_bore,
            min(one.shafts),
            "length",
            "geometry",
            row.source,
        ),
    )


def _misalignment(one: Asked, row: CouplingSize) -> tuple[Check, ...]:
    verdict = judged(one, row)
    if verdict is None or verdict.share is None:
        return ()
    return (Check(SHARE, verdict.share, 1.0, "ratio", "standing still",
                  f"{ENDS}; {row.source}", note=verdict.note),)  # fmt: skip


def judged(one: Asked, row: CouplingSize) -> Verdict | None:
    """Give the verdict on a size's misalignment; None of a clamp, which allows none and forces the shafts.

    Parameters
    ----------
    one : how far the shafts miss each other.
    row : the size.
    """
    known = coupling_kinds()[KINDS[row.kind]]
    limits = replace(known, angular=row.angular or known.angular, parallel=row.parallel)
    if row.kind == CLAMP:
        return (
            None
            if one.force is None
            else replace(clamped(known, one.off, SOFT), force=one.force, moment=one.moment)
        )
    if row.kind == "spider":
        return spider(replace(limits, parallel=row.parallel or known.parallel), one.off, SOFT)
    torque = 0.0 if one.used is None else one.used.value
    return double_cardan(limits, one.off, row.length or 2 * row.outside, torque)


def described(one: Asked, kind: str) -> Sizing | None:
    """Give the description's own rating with what is asked of it, and its own limits of misalignment.

    Parameters
    ----------
    one : what is asked.
    kind : as the catalogue calls it.
    """
    rated = one.coupling.rated
    if rated is None:
        return None
    peak = rated * (PEAK_OVER_RATED if kind == "spider" else 1.0)
    source = "rating of the description"
    if kind == "spider":
        source += f", {PEAK_OVER_RATED:.2g} times it for peaks (makers, memory)"
    found = list(_torques(one, kind, rated, peak, source))
    torque = 0.0 if one.used is None else one.used.value
    own = verdicts(one.coupling, one.off, SOFT, torque)[0]
    if own.share is not None:
        found.append(Check(SHARE, own.share, 1.0, "ratio", "standing still",
                           f"{ENDS}; limits of the description or its kind", note=own.note))  # fmt: skip
    # Where no run tells of a torque nothing is asked of the rating of a clamp.
    return Sizing(f"rated {shown(rated, 'torque')}", tuple(found), source) if found else None


def _notes(one: Asked, kind: str) -> tuple[str, ...]:
    found = [_duty(kind)]
    if kind == "spider":
        found.append("an insert stands a torque to and fro of only about a quarter of its rating for long (makers, "
                     "memory), which a service factor of 4 or more covers")  # fmt: skip
    if kind == CLAMP and one.force is not None and one.moment is not None:
        found.append(f"it forces the shafts in line with {shown(one.force, 'force')} and "
                     f"{shown(one.moment, 'torque')}: judge shafts and bearings by these")  # fmt: skip
    if kind == CLAMP and one.force is None:
        found.append(
            "it joins no second shaft: where the wheel sits on this crankshaft by its own hub it is not needed"
        )
    if one.bound is not None:
        found.append(
            "the torque of a blocked panel is an upper bound; a torque limiter or a slipping hub bounds it"
        )
    return tuple(found)


def _duty(kind: str) -> str:
    known = coupling_kinds()[KINDS[kind]]
    return f"{'suits' if known.reversing else 'does not suit'} reversing duty: {known.sources['reversing']}"


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give which kinds of couplings would do, with what size, and whether they suit a drive that reverses.

    Parameters
    ----------
    basis : loads and catalogues.
    """
    heads = ("where", "kind", "system", "size by torque and bore", "rated", "what governs",
             "share of misalignment used", "reversing duty")  # fmt: skip
    rows = [r for one in asked(basis) for r in _kinds(basis, one)]
    if not rows:
        return ()
    note = (
        "Sizes by torque and bore alone; beside them what their misalignment limits make of the shafts, by bow and by "
        "load, standing still. Bearings nearer to the coupling, or stiffer shafts, mend that. A maker's sheet for the "
        "coupling at hand takes precedence."
    )
    return (Table("Couplings by kind", (heads, *rows), note),)


def _kinds(basis: Basis, one: Asked) -> list[tuple[str, ...]]:
    found: list[tuple[str, ...]] = []
    series = dict.fromkeys((r.kind, r.insert, r.system) for r in basis.rows(COUPLINGS))
    for kind, insert, system in sorted(series, key=lambda x: (list(KINDS).index(x[0]), SYSTEMS.index(x[2]))):
        start = (one.where, kind, system)
        rows = _rows(basis, one, system, kind, insert)
        if not rows:
            found.append(
                (*start, f"none has a bore of {shown(max(one.shafts), 'length')}", "-", "-", "-", _duty(kind))
            )
            continue

        def strong(row: CouplingSize) -> tuple[Check, ...]:
            return (*_torques(one, row.kind, row.rated, row.peak, row.source), *_bores(one, row))

        made = line(FAMILY, one.where, rows, strong, system=system)
        chosen = rows[-1] if made.chosen is None else next(r for r in rows if r.size == made.chosen.size)
        size = chosen.size if made.chosen is not None else f"none; the largest is {chosen.size}"
        why = "smallest there is" if made.governs is None else made.governs.what
        verdict = judged(one, chosen)
        share = "-" if verdict is None else "none allowed" if verdict.share is None else _share(verdict.share)
        found.append((*start, size, shown(chosen.rated, "torque"), why, share, _duty(kind)))
    return found


def _share(share: float) -> str:
    return f"{100 * share:.3g} %" + (" BEYOND" if share > 1 else "")
