"""What slack each chain comes out with: what adds to it, what it does laid flat and hung, and what takes it up.

A check of the run as described, and a table with it and with runs of 1, 2, 3 and 4 m of the same sprockets. Whoever
has the chain in hand measures by pushing at mid-strand: the table says what to expect.
"""

import math
from collections.abc import Callable, Sequence

import numpy as np

from analysis.chain_fit import EXACT, SLACK, WEAR, tooth_height, wrap_in_gear
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, Table
from analysis.parts.run_slack import (
    ADJUSTED,
    PUSH,
    allowed,
    as_described,
    free,
    lasting,
    lower_teeth,
    measure,
    needed,
    of_stage,
    push_range,
    taken,
    upright,
    wear_limit,
    working_pull,
)
from models.drive import Stage
from models.shown import shown
from sim import names
from sim.chain import ChainFault, centres_for_links, excess_from_sideways, wrap_angles
from sim.chain_slack import Slack, even_links, flat_pull, lifting

FAMILY = "chain run"
RUNS = (1.0, 2.0, 3.0, 4.0)
"""Centre distances of the table, m."""
LOOSE = 0.02
"""The same for a drive that is level and does not reverse: half of 4 % from side to side (makers' guidance, read)."""
LEAN = math.radians(30)
"""Lean of an idler, where none is described, rad; assumption."""
GUIDANCE = (
    "2 % of span from side to side, half of it to one side, for upright or reversing drives; makers, read"
)
TAKE_UP = "what 1 % of span to one side leaves, and what adjustment or tensioner takes up"
DROP = "half the excess against its teeth above the pitch circle; beyond it the chain can jump: assumption"


def checks(stage: Stage, found: Slack, lower: int | None) -> tuple[Check, ...]:
    """Give whether a run comes out within its slack.

    Parameters
    ----------
    stage : with its tolerances, and what takes up slack.
    found : what adds to its excess.
    lower : teeth of the lower sprocket of a run that hangs; None for a level one.
    """
    up, (new, worn) = taken(stage, found.per_centre), needed(found, stage)
    wanted = f"wanted: shafts movable by {shown(new, 'length')} for a new chain, by {shown(worn, 'length')} for life"
    if stage.tight > 0:
        return (
            Check("movement of the shafts apart until it is worn out, set tight", worn, stage.adjustment, "length",
                  "geometry", EXACT, note=f"{wanted}; the description gives {shown(stage.adjustment, 'length')}"),
        )  # fmt: skip
    left, kept = max(0.0, found.most - up.length), allowed(stage, found)
    life = lasting(found, stage) if up.length > 0 else found.old
    worn_words = f"wear of {100 * up.wear:.2g} %" + (
        " or two links taken out as it wears" if up.length > 0 else ""
    )
    made = [
        Check("movement at mid-span of a new chain at full tolerance", found.sideways(left), SLACK * found.span,
              "length", "geometry", GUIDANCE, note=f"{shown(left, 'length')} of chain left over; {up.words}; {wanted}"),
        Check("chain to take up until worn out, with tolerance and holes", max(0.0, life), kept + up.length, "length",
              "geometry", TAKE_UP, note=f"{worn_words}; {up.words}; {wanted}"),
    ]  # fmt: skip
    if stage.tensioner is not None:
        return tuple(made)
    made.append(
        Check("chain short, of nominal length with the holes farthest apart", max(0.0, -found.least), 0.0, "length",
              "geometry", EXACT, note="it would have to be stretched on: drill closer by the holes' tolerance")
    )  # fmt: skip
    if lower is not None:
        made.append(Check(f"drop below the lower sprocket, {lower} teeth, new chain at full tolerance", left / 2,
                          tooth_height(lower, stage.pitch), "length", "geometry", DROP))  # fmt: skip
    return tuple(made)


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give for every chain whether its run comes out within its slack.

    Parameters
    ----------
    basis : the sculpture, and the pulls in use.
    """
    found: list[Line] = []
    for k, stage in enumerate(basis.mechanism.stages, 1):
        one = as_described(basis, k)
        if one is None:
            continue
        hangs = upright(basis.mechanism, k)
        sizing = Sizing(
            "as described", checks(stage, one, lower_teeth(basis.mechanism, k) if hangs else None), EXACT
        )
        good, bad = (sizing, None) if sizing.holds else (None, sizing)
        words = (measure(stage, one, hangs), _tensioner_words(stage))
        found.append(Line(FAMILY, names.stage(k), 1, "", good, bad, sizing, words))
    return tuple(found)


def _tensioner_words(stage: Stage) -> str:
    if stage.tensioner is not None:
        return "the drive reverses, so that its idler sees the taut strand too: it gives until its stop"
    return (
        "shafts or a plate in slots, set and locked, suit a drive that reverses; a sprung idler gives when the strand "
        "that it sits on is pulled (common practice, no source)"
    )


# --- The tables ---


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give for every chain what adds to its slack, as described and for runs of 1 to 4 m, and the wheel's lost motion.

    Parameters
    ----------
    basis : the sculpture, and the pulls in use.
    """
    found = [run_table(basis, k) for k, s in enumerate(basis.mechanism.stages, 1) if s.kind == "chain"]
    return (*found, lost_motion(basis)) if found else ()


def run_table(basis: Basis, number: int) -> Table:
    """Give what adds to the slack of a stage's chain, as described and for other runs of its sprockets.

    Parameters
    ----------
    basis, number : as of `as_described`.
    """
    m = basis.mechanism
    stage, working, hangs = m.stages[number - 1], working_pull(basis, number), upright(m, number)
    columns: dict[str, Slack | None] = {"as described": as_described(basis, number)}
    for far in RUNS:
        try:
            links = even_links((stage.driver, stage.driven), stage.pitch, far)
            columns[f"{far:g} m"] = of_stage(stage, links, None, working, hangs, m.gravity)
        except ChainFault:
            columns[f"{far:g} m"] = None
    rows: list[tuple[str, ...]] = [("", *columns)]
    for head, cell in _rows(stage, lower_teeth(m, number), hangs, m.gravity):
        rows.append((head, *("-" if s is None else cell(s) for s in columns.values())))
    note = (
        "Excess chain length, and in brackets the movement at mid-span from straight to one side when one strand takes "
        "it alone. Runs of 1 to 4 m have the even number of links nearest to them, at its exact centres. Judged by "
        "the whole movement of a slack strand from side to side that makers advise (read): 2 % of the span for upright "
        "or reversing drives, as a hand-turned one is, and 4 % else; from straight to one side half of it. "
        f"New chain: 0 to +{100 * stage.overlength:.3g} % (ASME B29.1 table, read, or the description). Working "
        f"pull {shown(working, 'force')}, E A {shown(stage.rigidity, 'force')}. Wear: {100 * WEAR:.2g} % on fixed "
        f"centres, {100 * ADJUSTED:.2g} % else (makers, read). Push: {shown(PUSH, 'force')} at mid-strand; lifting "
        "chain takes some of it (last row), which is left out."
    )
    return Table(f"Stage {number} chain: slack of the run", tuple(rows), note)


Cell = Callable[[Slack], str]


def _rows(stage: Stage, lower: int, hangs: bool, gravity: float) -> Sequence[tuple[str, Cell]]:
    """Give the rows of a table of runs: heads, and how each is found."""

    def both(of: Callable[[Slack], float]) -> Cell:
        return lambda s: f"{_mm(of(s))} ({_mm(s.sideways(of(s)))})"

    def odd(s: Slack) -> str:
        try:
            return _mm(centres_for_links(stage.driver, stage.driven, stage.pitch, s.links + 1))
        except ChainFault:
            return "-"

    lean = LEAN if stage.tensioner is None else stage.tensioner.lean
    high = tooth_height(lower, stage.pitch)

    def take(of: int) -> Cell:
        return lambda s: (
            f"{_mm(needed(s, stage)[of])} or {_mm(needed(s, stage)[of] * s.per_centre / (2 * math.sin(lean)))}"
        )

    return (
        ("links", lambda s: f"{s.links}{' odd, offset link' if s.links % 2 else ''}"),
        ("centre distance, as drawn", lambda s: _mm(s.centres)),
        ("centre distance at which they are exact", lambda s: _mm(
            centres_for_links(stage.driver, stage.driven, stage.pitch, s.links))),
        ("centre distance of one link more", odd),
        ("chain for 1 mm of centre distance", lambda s: _mm(s.per_centre / 1000)),
        ("choice of links", both(lambda s: s.left)),
        (f"holes {_mm(stage.holes)} nearer", both(lambda s: s.holes)),
        ("new chain, half its tolerance", both(lambda s: s.new / 2)),
        ("new chain, all its tolerance", both(lambda s: s.new)),
        ("hung strands' own weight", both(lambda s: s.hung)),
        ("stretch of the taut strand in use", both(lambda s: s.working)),
        (f"wear to {100 * wear_limit(stage):.2g} %", both(lambda s: s.worn)),
        ("in all: new, nominal", both(lambda s: s.nominal)),
        ("in all: new, half its tolerance", both(lambda s: s.half)),
        ("in all: new, worst", both(lambda s: s.most)),
        ("in all: worn", both(lambda s: s.old)),
        ("1 % of span to one side", both(lambda s: float(excess_from_sideways(SLACK * s.span, s.span)))),
        ("fixed centres, new: nominal, half its tolerance, worst", lambda s: _verdicts(s, SLACK)),
        ("against 2 % to one side, for a level drive that does not reverse", lambda s: _verdicts(s, LOOSE)),
        (f"shafts apart, or idler's travel leaning {math.degrees(lean):.3g} deg: new", take(0)),
        ("the same until worn out, two links taken out as it wears", take(1)),
        (f"hung: drop below the lower sprocket, {lower} teeth {_mm(high)} high; nominal, worst",
         lambda s: f"{_mm(max(0.0, s.nominal) / 2)}, {_mm(s.most / 2)}" + ("" if hangs else " if it hung")),
        ("hung: its teeth still engaged, worst", lambda s: _engaged(stage, s, lower)),
        ("laid flat: sag of the lower strand; nominal, worst",
         lambda s: f"{_mm(s.sideways(s.nominal))}, {_mm(s.sideways(s.most))}"),
        ("laid flat: pull of its own weight, worst", lambda s: shown(
            flat_pull(stage.weight * gravity, s.span, s.sideways(s.most)), "force") if s.most > 0 else "taut"),
        ("pushed at mid-strand: least to most", lambda s: " to ".join(_mm(y) for y in push_range(stage, s)[::2])),
        ("of the push, what lifts chain at most", lambda s: shown(
            lifting(push_range(stage, s)[2], stage.weight * gravity), "force")),
    )  # fmt: skip


def _engaged(stage: Stage, s: Slack, lower: int) -> str:
    a, b = wrap_angles(stage.driver, stage.driven, stage.pitch, s.centres)
    wrap = float(a if lower == stage.driver else b)
    left = wrap_in_gear(wrap, max(0.0, s.most / 2), tooth_height(lower, stage.pitch))
    return f"{left / math.tau * lower:.1f} of {wrap / math.tau * lower:.1f}"


def _verdicts(s: Slack, share: float) -> str:
    """Say of a new chain, nominal, at half its tolerance and at worst, whether it is within a share of its span."""
    said = ("holds" if s.sideways(e) <= share * s.span else "FAILS" for e in (s.nominal, s.half, s.most))
    return f"{', '.join(said)} ({_mm(share * s.span)} allowed)"


def _mm(length: float) -> str:
    return f"{1000 * length:.2f} mm" if abs(length) < 0.1 else f"{1000 * length:.1f} mm"


def lost_motion(basis: Basis) -> Table:
    """Give how far the wheel turns free when it reverses: as drawn, new at full tolerance, and worn.

    Parameters
    ----------
    basis : the sculpture.
    """
    m = basis.mechanism
    rows: list[tuple[str, ...]] = [("", "as drawn", "new, worst", "worn")]
    total, turns = np.zeros(3), 1.0
    for k, stage in enumerate(m.stages, 1):
        if stage.kind == "chain":
            found = as_described(basis, k)
            angle = np.zeros(3) if found is None else free(stage, found) * turns
            total += angle
            words = "nothing fixes it, not counted" if found is None else _how(stage)
            rows.append((f"stage {k} chain{words}", *(shown(float(a), "angle") for a in angle)))
        turns *= stage.driven / stage.driver
    backlash = max((s.crank.coupling.backlash for s in m.sides), default=0.0) * turns
    rows.append(("coupling", *(shown(backlash, "angle"),) * 3))
    total += backlash
    rows.append(("at the wheel", *(shown(float(a), "angle") for a in total)))
    rows.append(("along its circle", *(shown(float(a) * m.wheel.radius, "length") for a in total)))
    note = (
        "Excess over the driver's travel radius times the reduction before it. Without what gives under load; nothing "
        "is taken up on the way to worn, unless a tensioner or a tight chain does."
    )
    return Table("Lost motion of the wheel on reversing", tuple(rows), note)


def _how(stage: Stage) -> str:
    if stage.tight > 0:
        return ", tight"
    return ", its tensioner gives" if stage.tensioner is not None else ""
