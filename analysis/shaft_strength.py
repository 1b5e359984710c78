"""Does the built-up crankshaft hold? Its least factors against fatigue and yielding, and its worst weld.

Loads that come again with every turn are judged for fatigue: of a run that turns steadily its last whole turn, or the
turn of a piece that stands still. All else, which happens once or now and then, is judged for yielding.

Usage: python -m analysis.shaft_strength RUN...
"""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from analysis.finding import Finding, Limit
from analysis.script import script
from analysis.shaft_limits import notch, stands
from analysis.shaft_stations import Stressed, stations
from analysis.strength.weld_curves import curves
from analysis.strength.welds import WeldLife
from models.mechanism import Mechanism, Side, from_canonical
from models.shown import shown
from sim import names
from sim.arrays import Array
from sim.builders import Linkage
from sim.run import Run
from sim.shaft.loading import Loading, of_run, recorded, standing_still

FATIGUE = "least safety factor against fatigue"
YIELD = "least safety factor against yielding"
WELD = "least reserve of stress range at the welds"
CASE = "standing still"
REPEATING = ("turn", "crank")
"""Cases whose turn comes again and again."""
BENT = "nominal stress of the built-up crankshaft as a frame"
GOODMAN = f"{BENT}; DE-Goodman: Shigley, 9th ed., eqs. 6-46 and 7-7"
MISES = f"{BENT}; von Mises"
MINER = f"{BENT}; rainflow over a turn and Miner's rule"
WANTED = Limit(1.0, "least", "the wanted life, with the partial factor")
RUSTS = "dry or painted metal: what rusts has no limit"
TURN = 2 * math.pi


def findings(run: Run) -> list[Finding]:
    """Give the least factors and reserves of a run's crankshafts; sides without their pins' forces are left out."""
    mechanism = from_canonical(run.description)
    found: list[Finding] = []
    for side in mechanism.sides:
        if recorded(run, side):
            loading = of_run(run, side, mechanism.gravity)
            turn = last_turn(loading) if run.case in REPEATING else None
            found += of_loading(loading, mechanism, run.label, turn)
    return found


def of_linkage(closed: Linkage) -> list[Finding]:
    """Give the same for a turn standing still, in closed form."""
    found: list[Finding] = []
    for side in closed.sides:
        loading = standing_still(side, closed.mechanism)
        found += of_loading(loading, closed.mechanism, CASE, slice(None))
    return found


def least(found: Iterable[Finding]) -> list[Finding]:
    """Give of many runs' findings the least of each kind for every crankshaft, wherever along it that is."""
    best: dict[tuple[str, str], Finding] = {}
    for f in found:
        key = (f.where.partition(",")[0], f.what)
        if key not in best or f.value < best[key].value:
            best[key] = f
    return list(best.values())


def last_turn(loading: Loading) -> slice | None:
    """Give the last whole turn of the crank, its closing step perhaps missing; None where it turns less."""
    return whole_turn(loading.crank)


def whole_turn(crank: Array) -> slice | None:
    """Give the last whole turn in angles (n,), rad, its closing step perhaps missing; None where it turns less."""
    if len(crank) < 3:
        return None
    step = float(np.max(np.abs(np.diff(crank))))
    back = np.abs(crank - crank[-1])
    if float(back.max()) < TURN - 1.5 * step:
        return None
    beyond = np.flatnonzero(back > TURN - 0.5 * step)
    return slice(int(beyond[-1]) + 1 if len(beyond) else 0, None)


def of_loading(loading: Loading, mechanism: Mechanism, case: str, turn: slice | None) -> list[Finding]:
    """Give the least factors of a crankshaft.

    Parameters
    ----------
    loading : what acts on it.
    mechanism : whose use and keyways count.
    case : in words.
    turn : the instants that make a turn which comes again and again, or None where nothing does.
    """
    rows = stations(loading, mechanism, turn)
    side, use = loading.side, mechanism.use
    wanted = Limit(use.margin, "least", "wanted safety factor")
    found: list[Finding] = []
    worn = [r for r in rows if r.fatigue is not None and math.isfinite(r.fatigue.factor)]
    if worn:
        worst = min(worn, key=lambda r: r.least)
        assert worst.fatigue is not None
        found.append(Finding(FATIGUE, worst.fatigue.factor, "ratio", _where(worst), case, limit=wanted, source=GOODMAN,
                             note=_fatigue_words(side, worst)))  # fmt: skip
    found += _yield(loading, rows, case, wanted)
    welds = [(r, w) for r in rows for w in (r.toe, r.root) if w is not None and math.isfinite(w.reserve)]
    if welds:
        row, weld = min(welds, key=lambda p: p[1].reserve)
        found.append(Finding(WELD, weld.reserve, "ratio", _where(row), case, limit=WANTED, source=MINER,
                             note=weld_words(weld)))  # fmt: skip
    return found


def _where(row: Stressed) -> str:
    return f"{names.crankshaft(row.side)}, {row.label}"


def _yield(loading: Loading, rows: Sequence[Stressed], case: str, wanted: Limit) -> list[Finding]:
    worst = min(rows, key=lambda r: r.yielding.factor)
    if not math.isfinite(worst.yielding.factor):
        return []
    at, material = worst.yielding, loading.side.crank.material
    note = f"{shown(at.stress, 'stress')} of {shown(material.strength, 'stress')}, {material.name}"
    if stands(loading.side, "shaft") is None:
        note += "; its strength in fatigue is not known"
    return [
        Finding(YIELD, at.factor, "ratio", _where(worst), case, *loading.when(at.index), wanted, MISES, note)
    ]


def _fatigue_words(side: Side, row: Stressed) -> str:
    found, stood = row.fatigue, stands(side, row.part)
    assert found is not None
    assert stood is not None
    made = " x ".join(f"{f.name} {f.value:.3g}" for f in stood.factors if f.value != 1)
    seat = notch(side)
    raised = (
        f", {seat.name} Kf {seat.bending.value:.3g}, Kfs {seat.torsion.value:.3g}"
        if row.kind == "keyseat"
        else ""
    )
    return (
        f"amplitude {shown(found.amplitude, 'stress')} and mean {shown(found.mean, 'stress')} (von Mises{raised}); "
        f"stands {shown(stood.limit, 'stress')} = {shown(stood.specimen.value, 'stress')} x {made}; {RUSTS}"
    )


def weld_words(weld: WeldLife) -> str:
    """Say what a weld's life rests on: class and slope, partial factor, stress range, turns, and the life."""
    normal, shear = curves(weld.weld)
    if weld.endless:
        life = "all ranges are below what it stands for ever"
    elif math.isinf(weld.years):
        life = "lasts without end"
    else:
        life = f"lasts {weld.years:.3g} years"
    return (
        f"{weld.weld.place}, {weld.weld.code} class {weld.weld.normal / 1e6:.0f} slope {normal.slope:g} (shear "
        f"{weld.weld.shear / 1e6:.0f} slope {shear.slope:g}), {weld.partial.name} {weld.partial.value:g}, damage sum "
        f"{weld.allowed.value:g}; ranges {shown(weld.normal, 'stress')} and {shown(weld.shear, 'stress')} in shear, "
        f"{weld.turns:.3g} turns a year for {weld.wanted:g} years; {life}"
    )


if __name__ == "__main__":
    script(findings, __doc__)
