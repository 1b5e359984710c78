"""Rods: which bar each panel needs, how long it is cut, and how far it can be set.

A rod is a straight bar between two balls. Its push acts off its middle by what workmanship leaves and by what the
balls' friction adds, mu r, and bends it the same way at both ends. Blocked panels do not choose it.
"""

import math
from dataclasses import dataclass, replace

from analysis.parts import rod_ends
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, Table, line
from analysis.parts.rod_ends import SYSTEMS, Asked, System
from analysis.parts.rod_fitting import Fitting, fitting
from analysis.parts.rod_loads import Eye, Load, eyes
from analysis.strength.columns import round_strut
from models.materials import material
from models.parts.rod_ends import RodEnd
from models.resolve_rods import ROOM
from models.shown import shown
from models.stock import shaft_stock

FAMILY = "rod"
TAPPED = "bar around its tapped hole"
THREADED = "bar for its thread"
BUCKLING = "push, until it yields as it bends"
EULER = "push against Euler's load"
STRESS = "stress at its end, pulled and bent by the ball's friction"
STRUTS = 3.0
"""Euler's load over the largest push: common practice, no source."""
HEAVIER = 1.2
"""Weight of a bar over that of the description's from which its loads have to be found again; assumption."""
NEAR = 1e-5
"""Difference between a description's bar and one in stock, m, below which they are the same."""


@dataclass(frozen=True)
class Bar:
    """A round bar: its size in words, system of measures, diameter, m, and source."""

    size: str
    system: str
    diameter: float
    source: str


@dataclass(frozen=True)
class Wanted:
    """What is asked of a panel's rod.

    Attributes
    ----------
    crank, yoke : its two eyes; all loads are the worse of both.
    asked : as of its rod end at the crank, for friction and system.
    end : its rod ends, alike at both eyes, or None where none will do.
    """

    crank: Eye
    yoke: Eye
    asked: Asked
    end: RodEnd | None

    @property
    def push(self) -> Load:
        """The largest push in all cases but blocked ones."""
        return max(self.crank.ever.push, self.yoke.ever.push, key=lambda x: x.value)

    @property
    def along(self) -> Load:
        """The largest pull or push in all cases but blocked ones."""
        return max(self.crank.ever.along, self.yoke.ever.along, key=lambda x: x.value)

    @property
    def across(self) -> float:
        """Moment at the middle of what acts across it in all cases but blocked ones, its weight and inertia, N m.

        Q L / 8 with what both eyes carry of it: as if spread evenly, and never less where it leans to one end.
        """
        spread = self.crank.ever.across.value + self.yoke.ever.across.value
        return spread * self.crank.panel.rod.length / 8

    @property
    def rubbing(self) -> float:
        """How far off its middle the balls' friction makes a rod's push act, m; the description's ball without one."""
        if self.end is not None:
            return self.asked.friction(self.end, 1.0, standing=True)
        r = self.asked.mechanism.friction
        return r.rod_end * r.high * r.static * self.crank.panel.rod.ball / 2

    @property
    def fitted(self) -> Fitting | None:
        """How it is screwed together."""
        if self.end is None:
            return None
        return fitting(self.end, self.asked.mechanism.rod_making, self.crank.panel.rod.length)


def lines(basis: Basis) -> tuple[Line, ...]:
    """Choose a bar for the rods of every panel in both systems of measures."""
    return tuple(_line(basis, wanted) for wanted in wants(basis))


def wants(basis: Basis) -> tuple[Wanted, ...]:
    """Give what is asked of the rods of every panel, in both systems, with the rod ends that were chosen."""
    found = eyes(basis)
    chosen = rod_ends.of_eyes(basis, found)
    wanted: list[Wanted] = []
    for crank, yoke in zip(found[::2], found[1::2], strict=True):
        for system in SYSTEMS:
            both = [x for x in chosen if x.where in (crank.where, yoke.where) and x.system == system]
            ends = [rod_ends.size_of(basis, x) for x in both]
            sized = [e for e in ends if e is not None]
            end = max(sized, key=lambda e: e.bore) if sized and len(sized) == len(both) else None
            wanted.append(Wanted(crank, yoke, Asked(crank, basis.mechanism, system), end))
    return tuple(wanted)


def checks(wanted: Wanted, bar: Bar) -> tuple[Check, ...]:
    """Give everything that is asked of a bar.

    Parameters
    ----------
    wanted : of it.
    bar : the size.
    """
    return _fits(wanted, bar) + _stands(wanted, bar)


def _fits(wanted: Wanted, bar: Bar) -> tuple[Check, ...]:
    end, made = wanted.end, wanted.asked.mechanism.rod_making
    if end is None:
        return ()
    if made.ends == "tapped":
        fit = Check(TAPPED, ROOM * end.thread_diameter, bar.diameter, "length", "geometry",
                    f"at least {ROOM:g} diameters of {end.thread}: assumption")  # fmt: skip
    else:
        fit = Check(THREADED, _not_above(end.thread_diameter, bar.diameter), bar.diameter, "length", "geometry",
                    f"{end.thread} is cut on it")  # fmt: skip
    return (fit,)


def _not_above(value: float, limit: float) -> float:
    """Give a value, or its limit where it is above it by rounding alone."""
    return min(value, limit) if value <= limit + NEAR else value


def _stands(wanted: Wanted, bar: Bar) -> tuple[Check, ...]:
    m, panel = wanted.asked.mechanism, wanted.crank.panel
    made, margin, stock = m.rod_making, m.use.margin, material(m.rod_making.material)
    strut = round_strut(panel.rod.length, bar.diameter, stock.modulus)
    off = made.eccentric + wanted.rubbing
    push, along = wanted.push, wanted.along
    found = [
        Check(BUCKLING, margin * push.value, strut.load(off, stock.strength, margin * wanted.across), "force",
              push.case, f"largest push times use.margin {margin:g}; secant formula, pinned ends, weight and inertia "
              f"across it as Q L / 8, times as much; yield of {stock.name}",
              push.crank, f"acting {shown(off, 'length')} off the middle, {shown(wanted.rubbing, 'length')} of it the "
              f"balls' friction by its high estimate; bent by {shown(wanted.across, 'torque')} across it"),
        Check(EULER, STRUTS * push.value, strut.euler, "force", push.case,
              f"largest push times {STRUTS:g}, common practice, no source; pi^2 E I / L^2", push.crank),
    ]  # fmt: skip
    hole = wanted.end.thread_diameter if wanted.end is not None and made.ends == "tapped" else 0.0
    if hole < bar.diameter:
        stress = _at_end(bar.diameter, hole, along.value, off * along.value)
        found.append(
            Check(STRESS, stress, stock.strength / margin, "stress", along.case,
                  f"F/A + M/W of the bar{' around the thread' if hole else ''}; yield of {stock.name} over use.margin",
                  along.crank)
        )  # fmt: skip
    return tuple(found)


def _at_end(outside: float, inside: float, force: float, moment: float) -> float:
    area = math.pi / 4 * (outside**2 - inside**2)
    section = math.pi / 32 * (outside**4 - inside**4) / outside
    return force / area + moment / section


def _line(basis: Basis, wanted: Wanted) -> Line:
    system = wanted.asked.system
    bars = [Bar(s.label, system, s.diameter, s.source) for s in shaft_stock(system)]
    panel, many = wanted.crank.panel, wanted.crank.count
    where = f"{panel.name} rod" if basis.loads.mirrored else wanted.crank.where.removesuffix(" end at crank")
    found = line(FAMILY, where, bars, lambda bar: checks(wanted, bar), system=system, count=many)
    own, notes = _described(basis, wanted), _notes(wanted)
    taken = next((b for b in bars if found.chosen is not None and b.size == found.chosen.size), None)
    if taken is not None and wanted.end is not None:
        notes = (*_heavier(taken, panel.rod.diameter), *notes)
    if wanted.end is None:
        # A bar that no rod end can be screwed to is no rod: its thread may ask for far more than its push does.
        if found.chosen is not None:
            notes = (f"no size: as a strut alone {found.chosen.size} would do", *notes)
        return replace(found, chosen=None, nearest=None, described=own, notes=notes)
    return replace(found, described=own, notes=notes)


def _heavier(bar: Bar, reckoned: float) -> tuple[str, ...]:
    """Say that a bar weighs more than that with which all loads were found, of a diameter reckoned, m."""
    times = (bar.diameter / reckoned) ** 2
    if times < HEAVIER:
        return ()
    return (
        f"all loads were found with rods of {shown(reckoned, 'length')}; this bar is {times:.2g} times as heavy: write "
        "it as rods.diameter and run the study again",
    )


def _described(basis: Basis, wanted: Wanted) -> Sizing | None:
    """Judge the bar that the description gives, in its own system of measures, with the rod ends that it gives."""
    diameter, system = wanted.crank.panel.rod.diameter, wanted.asked.system
    if any(d.field == "rods.diameter" for d in basis.mechanism.defaults) or system != _system(diameter):
        return None
    own = rod_ends.described(basis, wanted.asked)
    bar = Bar(shown(diameter, "length"), system, diameter, "the description")
    return Sizing(bar.size, checks(replace(wanted, end=own or wanted.end), bar), bar.source)


def _system(diameter: float) -> System:
    inch = any(abs(s.diameter - diameter) <= NEAR for s in shaft_stock("inch"))
    metric = any(abs(s.diameter - diameter) <= NEAR for s in shaft_stock("metric"))
    return "inch" if inch and not metric else "metric"


def _notes(wanted: Wanted) -> tuple[str, ...]:
    made, end, system = wanted.asked.mechanism.rod_making, wanted.end, wanted.asked.system
    found = [f"of {made.material}, straight, reckoned as one bar from eye to eye; a right-hand thread at one end and a "
             "left-hand thread at the other, with a nut against each rod end"]  # fmt: skip
    if end is None:
        found.append(f"no {system} rod end will do at both eyes, so its thread is not known and not checked")
    elif wanted.fitted is None:
        found.append(f"no tapped shank is known of a {end.size} rod end: how far it screws on is not checked")
    else:
        what = "tapped for" if made.ends == "tapped" else "threaded for"
        found.append(
            f"{what} {end.thread} of {end.size} rod ends at both eyes, the larger of the two sizes chosen"
        )
    bounds = [x.bound for x in (wanted.crank, wanted.yoke) if x.bound is not None]
    if bounds:
        most = max(b.value for b in bounds)
        found.append(f"with a panel blocked it may carry up to {shown(most, 'force')}: an upper bound, in which only "
                     "that rod gives, and which does not choose the bar; it would bend or buckle first, and a torque "
                     "limiter or a slipping hub bounds it")  # fmt: skip
    return tuple(found)


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give the tables of rods to cut, one for each system of measures in which rod ends were found."""
    wanted = wants(basis)
    return tuple(t for t in (_table(basis, [w for w in wanted if w.asked.system == s], s) for s in SYSTEMS)
                 if t is not None)  # fmt: skip


HEADINGS = ("rod", "count", "eye to eye", "rod end", "thread, one right, one left", "bar", "cut bar to",
            "thread each end", "screwed in", "longer or shorter by", "for one turn of the rod")  # fmt: skip


def _table(basis: Basis, wanted: list[Wanted], system: System) -> Table | None:
    made = basis.mechanism.rod_making
    rows: list[tuple[str, ...]] = []
    for w in wanted:
        fitted, end, chosen = w.fitted, w.end, _line(basis, w)
        if fitted is None or end is None:
            continue
        bar = chosen.chosen.size if chosen.chosen else "none will do"
        lengths = (fitted.bar, fitted.cut, fitted.engaged, fitted.each_way, fitted.per_turn)
        rows.append((chosen.where, str(chosen.count), shown(fitted.length, "length"), end.size, end.thread, bar,
                     *(shown(x, "length") for x in lengths)))  # fmt: skip
    if not rows:
        return None
    how = "tap" if made.ends == "tapped" else "cut"
    note = (
        f"{how} the thread deep enough for the whole range. Before an end has less than {made.engagement:g} diameters "
        "of thread, stop: mark the rod. Lock both nuts. With two right-hand threads a rod end has to come off its pin "
        "to set the length. Lengths follow from the generic rod ends of the catalogue: measure yours before you cut."
    )
    return Table(f"Rods to cut, {system}", (HEADINGS, *rows), note)
