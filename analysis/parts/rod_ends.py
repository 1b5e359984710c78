"""Rod ends: which size every eye needs, by load, wear, swivel and the fatigue of its thread.

Blocked panels do not choose it: their loads are an upper bound, and are told in a note.
"""

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from analysis.parts import ball_joints as ball
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, line
from analysis.parts.rod_fitting import fitting
from analysis.parts.rod_loads import IN_USE, Eye, eyes
from analysis.strength.endurance import SHIGLEY
from models.loading import DescriptionError
from models.mechanism import Mechanism
from models.parts.rod_ends import ROD_ENDS, RodEnd
from models.shown import shown
from models.strengths import strengths
from models.units import quantity

FAMILY = "rod end"
System = Literal["metric", "inch"]
SYSTEMS: tuple[System, ...] = ("metric", "inch")
STATIC = "static load with shock margin"
SIDEWAYS = "force across the shank with shock margin"
REVERSING = "load that reverses in use"
ONE_WAY = "load that comes and goes in use"
DYNAMIC = "load in use against the dynamic rating"
BORE = "pin in the bore"
BETWEEN = "ball between the webs"
TILTED = "eye between the webs as it swivels"
ENGAGED = "engaged thread"
SWIVEL = "swivel over the turn"
WEAR = "wear of the liner until it is replaced"
PRESSURE = "pressure times speed"
SHANK = "stress in the thread, pulled and bent by the ball's friction"
FATIGUE = "reversing stress at the thread's root with safety factor"
REVERSED, PULSED = 5.0, 3.0
"""Static rating over a load in use that changes direction, and over one that keeps it: a maker's guidance (read)."""
ACROSS = 0.1
"""Share of the static rating across the shank: a maker's guidance (read)."""
SAME = 1e-5
"""Difference between a pin and a bore, m, below which they are the same size."""


@dataclass(frozen=True)
class Asked:
    """What is asked of a rod end.

    Attributes
    ----------
    eye : where it sits, with its loads.
    mechanism : the sculpture, settled.
    system : of measures.
    """

    eye: Eye
    mechanism: Mechanism
    system: System

    @property
    def pin(self) -> float:
        """The pin that it sits on, m; a yoke's pin is taken as thick as the crank's."""
        return self.mechanism.sides[0].crank.pin

    @property
    def screw_material(self) -> str:
        """What the male thread is of: the rod end's shank, or the rod."""
        made = self.mechanism.rod_making
        return made.end_material if made.ends == "tapped" else made.material

    def friction(self, row: RodEnd, force: float, *, standing: bool = False) -> float:
        """Give the moment, N m, of a ball's friction on its shank, by the high estimate.

        Parameters
        ----------
        row : the size.
        force : on the ball, N.
        standing : whether it has to break loose.
        """
        rubbing = self.mechanism.friction
        coefficient = rubbing.rod_end * rubbing.high * (rubbing.static if standing else 1.0)
        return ball.friction_moment(coefficient, force, row.ball)


def lines(basis: Basis) -> tuple[Line, ...]:
    """Choose a rod end for every eye in both systems of measures."""
    return of_eyes(basis, eyes(basis))


def of_eyes(basis: Basis, found: tuple[Eye, ...]) -> tuple[Line, ...]:
    """Choose a rod end for each of some eyes in both systems of measures, where the catalogue has both.

    Raises
    ------
    DescriptionError
        When a maker's catalogue has none of the series and kind.
    """
    made = basis.mechanism.rod_making
    systems: list[System] = [system for system in SYSTEMS if _rows(basis, system)]
    if not systems:
        raise DescriptionError([
            f"{ROD_ENDS.name}: there are no {made.kind} rod ends of series '{made.series}' in the catalogue; "
            "add rows of them, or write another rod_ends.kind or rod_ends.series"
        ])  # fmt: skip
    return tuple(_line(basis, Asked(eye, basis.mechanism, system)) for eye in found for system in systems)


def checks(asked: Asked, row: RodEnd) -> tuple[Check, ...]:
    """Give everything that is asked of a size.

    Parameters
    ----------
    asked : of it.
    row : the size.
    """
    return _fits(asked, row) + _carries(asked, row) + _lasts(asked, row) + _shank(asked, row)


def _fits(asked: Asked, row: RodEnd) -> tuple[Check, ...]:
    eye = asked.eye
    yoke = "; the yoke's pin is taken as thick as the crank's: assumption" if eye.at == "yoke" else ""
    found = [
        Check(BORE, row.bore if abs(row.bore - asked.pin) <= SAME else asked.pin, row.bore, "length", "geometry",
              f"bore at least crank.pin{yoke}"),
        Check(SWIVEL, eye.swivel.value, row.swivel, "angle", eye.swivel.case,
              "least larger swivel of both eyes over the rod's spin, closed form; the size's own limit",
              eye.swivel.crank, "spacers beside the ball must be no wider than its faces"),
    ]  # fmt: skip
    if eye.at == "crank":
        gap = asked.mechanism.sides[0].crank.cheek.gap
        lean = eye.swivel.value
        room = row.housing * math.cos(lean) + row.head * math.sin(lean)
        found += [
            Check(BETWEEN, row.width, gap, "length", "geometry", "crank.web.gap"),
            Check(TILTED, room, gap, "length", eye.swivel.case,
                  "width cos a + outside diameter sin a of the eye; crank.web.gap", eye.swivel.crank),
        ]  # fmt: skip
    made = asked.mechanism.rod_making
    fitted = fitting(row, made, eye.panel.rod.length)
    if fitted is not None:
        found.append(
            Check(ENGAGED, fitted.least, fitted.most, "length", "geometry",
                  f"rods.engagement, {made.engagement:g} diameters of {row.thread}; what it has, less a thin nut's "
                  "height on a threaded shank")
        )  # fmt: skip
    return tuple(found)


def _carries(asked: Asked, row: RodEnd) -> tuple[Check, ...]:
    eye, shock = asked.eye, asked.mechanism.use.shock
    across, used = eye.ever.across, eye.used
    factor, words = (REVERSED, "5 to 8 where the load changes direction") if eye.reverses else (
        PULSED, "3 to 5 where it comes and goes in one direction")  # fmt: skip
    found = [
        Check(STATIC, shock * eye.met.value, row.static, "force", eye.met.case,
              f"largest force times use.shock {shock:g}; {row.source}", eye.met.crank),
        Check(SIDEWAYS, shock * across.value, ACROSS * row.static, "force", across.case,
              "at most .1 of the static rating across the shank: a maker's guidance (read)", across.crank),
        Check(REVERSING if eye.reverses else ONE_WAY, used.value, row.static / factor, "force", used.case,
              f"static rating over {factor:g}, the least of {words}: a maker's guidance (read)", used.crank),
    ]  # fmt: skip
    if row.dynamic is not None:
        found.append(Check(DYNAMIC, used.value, row.dynamic, "force", used.case, row.source, used.crank))
    return tuple(found)


def _lasts(asked: Asked, row: RodEnd) -> tuple[Check, ...]:
    duty, made = asked.eye.duty, asked.mechanism.rod_making
    pace = duty.size * duty.turn * duty.speed
    k = int(np.argmax(pace))
    found = [
        Check(PRESSURE, ball.pressure_speed(float(pace[k]), row.housing), made.pressure_speed, "pressure_speed",
              IN_USE, "F omega / (2 w) at its largest; limit rod_ends.pressure_speed", float(duty.crank[k]))
    ]  # fmt: skip
    if row.wear_depth is not None:
        depth = made.interval * wear(asked, row)
        found.append(
            Check(WEAR, depth, row.wear_depth, "length", IN_USE,
                  f"{ball.ARCHARD} and k of rod_ends.wear, over {made.interval:g} years; limit: .15 mm, to which an "
                  "acceptance test of aircraft liners lets them wear (read)", years=made.interval)
        )  # fmt: skip
    return tuple(found)


def _shank(asked: Asked, row: RodEnd) -> tuple[Check, ...]:
    use, name = asked.mechanism.use, asked.screw_material
    yielding, force = ball.yield_of(name), use.shock * asked.eye.ever.along.value
    off = asked.mechanism.rod_making.eccentric
    moment = asked.friction(row, use.shock * asked.eye.met.value, standing=True) + off * force
    stress = ball.thread_stress(row.screw, force, moment)
    found = [
        Check(SHANK, stress, yielding / use.margin, "stress", asked.eye.met.case,
              f"F/As + 32 M/(pi d^3) with use.shock, high static friction and rods.eccentric; yield of {name} over "
              "use.margin",
              asked.eye.met.crank, f"pull alone {shown(force / row.screw.stress_area, 'stress')}")
    ]  # fmt: skip
    strength = strengths().get(name)
    if strength is not None:
        working = asked.eye.working
        over = ball.Range(working.pull.value, working.push.value,
                          asked.friction(row, asked.eye.used.value) + off * working.along.value)  # fmt: skip
        limit = ball.thread_limits(row.screw, strength, yielding).endurance
        reversing = limit / ball.thread_safety(row.screw, over, strength, yielding)
        found.append(
            Check(FATIGUE, use.margin * reversing, limit, "stress", working.along.case,
                  f"equivalent by Goodman, {SHIGLEY}, eq. 6-46 (read), times use.margin, at the root of a thread of "
                  f"{name}; {ball.CUT_SOURCE}", working.along.crank, "the worst in use as if it came in every turn")
        )  # fmt: skip
    return tuple(found)


def wear(asked: Asked, row: RodEnd) -> float:
    """Give how deep a liner wears in a year, m, all of it where the force presses."""
    duty = asked.eye.duty
    return ball.worn(duty.pressed, duty.turns, row.housing, asked.mechanism.rod_making.wear)


def described(basis: Basis, asked: Asked) -> RodEnd | None:
    """Give the size that the description means, by its crank pin; None where it gives none of this system.

    Its ball and its swivel are the description's, where it gives them.
    """
    m = basis.mechanism
    left_open = {d.field for d in m.defaults}
    if "crank.pin" in left_open:
        return None
    rows = _rows(basis, asked.system)
    row = next((r for r in rows if abs(r.bore - asked.pin) <= SAME), None)
    if row is None:
        return None
    if "rod_ends.ball" not in left_open:
        row = replace(row, ball=asked.eye.panel.rod.ball)
    return row if "rod_ends.swivel" in left_open else replace(row, swivel=m.swivel_limit)


def size_of(basis: Basis, found: Line) -> RodEnd | None:
    """Give the row of the catalogue that a line chose; None where nothing will do."""
    rows = basis.rows(ROD_ENDS) if found.chosen else ()
    made = basis.mechanism.rod_making
    return next(
        (r for r in rows if found.chosen is not None and r.size == found.chosen.size
         and (r.system, r.series, r.kind) == (found.system, made.series, made.kind)), None,
    )  # fmt: skip


def _rows(basis: Basis, system: System) -> tuple[RodEnd, ...]:
    made = basis.mechanism.rod_making
    return basis.series(ROD_ENDS, system, series=made.series, kind=made.kind)


def _line(basis: Basis, asked: Asked) -> Line:
    given, eye = described(basis, asked), asked.eye
    own = None
    if given is not None:
        # It was found by its bore, which says nothing of how near it is to anything.
        own = Sizing(given.size, tuple(c for c in checks(asked, given) if c.what != BORE), given.source)
    rows = _rows(basis, asked.system)
    found = line(FAMILY, eye.where, rows, lambda r: checks(asked, r),
                 system=asked.system, count=eye.count, described=own)  # fmt: skip
    return replace(found, notes=_notes(asked, size_of(basis, found)))


def _notes(asked: Asked, row: RodEnd | None) -> tuple[str, ...]:
    made, eye = asked.mechanism.rod_making, asked.eye
    shank = "a tapped shank on the rod's own thread" if made.ends == "threaded" else "a threaded shank"
    found = [f"{made.series}, {made.kind}, with {shank}"]
    if row is not None:
        if row.bore > asked.pin + quantity("0.1 mm", "length"):
            found.append(f"its bore of {shown(row.bore, 'length')} is wider than crank.pin "
                         f"{shown(asked.pin, 'length')}: make the pin as thick, or sleeve it")  # fmt: skip
        found.append(_life(asked, row))
        if row.dynamic is None:
            found.append("no dynamic rating is known of it, so none is checked; no standard fixes ratings: "
                         "compare the maker's")  # fmt: skip
    if made.kind == "greased":
        found.append("wear of greased bronze is not known: grease it as its maker says, and look at its play")
    if asked.screw_material not in strengths():
        found.append(
            f"the fatigue strength of {asked.screw_material} is not known: the thread is not judged for it"
        )
    if eye.bound is not None:
        found.append(f"with a panel blocked it may carry up to {shown(eye.bound.value, 'force')}: an upper bound, in "
                     "which only that rod gives, and which does not choose the size; a torque limiter or a slipping "
                     "hub bounds it")  # fmt: skip
    found.append("a broken rod end drops a wing: look at every one at each inspection, and let a licensed engineer "
                 "judge them where people stand below")  # fmt: skip
    return tuple(found)


def _life(asked: Asked, row: RodEnd) -> str:
    if row.wear_depth is None:
        return "no wear depth is known of it"
    rate = wear(asked, row)
    if rate <= 0:
        return "its liner does not wear: nothing slides"
    years = row.wear_depth / rate
    visitors = float(f"{years * asked.mechanism.use.visitors:.2g}")
    return (
        f"its liner wears {shown(rate, 'length')} a year and is worn out after {years:.3g} years, some "
        f"{visitors:.0f} visitors; the rod then rattles by {shown(row.wear_depth, 'length')}"
    )
