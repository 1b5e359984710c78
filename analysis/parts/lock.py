"""The pin that locks the wings in a storm or on the road, and what it holds at the wheel against at the crankshafts.

What it must hold is the torque of the wings in the cases in which the piece stands with its wheel locked. A pin at the
wheel holds it through the drive: the torque there is smaller by the reduction, and chains, keys and couplings carry it
all the time; a pin at a crankshaft carries that side's torque itself.
"""

from dataclasses import dataclass

import numpy as np

from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, Table, line
from analysis.parts.hubs import hubs, slips, torque
from analysis.parts.pins import (
    PinLoad,
    between_plates,
    modulus,
    overhung,
    pin_checks,
    rounds,
    shear_resistance,
    system_of,
)
from analysis.parts.worst import Worst, among
from models.fixing import STEEL, Lock
from models.mechanism import Mechanism
from models.parts.catalogue import SYSTEMS
from models.people import people
from models.resolve_fixing import CRANK_RADIUS, RIM
from models.shown import shown
from models.units import quantity
from sim import names
from sim.arrays import Array
from sim.run import Run

PIN = "locking pin"
LOCKED = ("gust-locked", "hang-held", "hang-locked", "lifted")
"""Kinds of case in which the piece stands with its wings locked."""
PUSHES = "adult"
"""Who pushes the locked wheel."""
PLACES = ("wheel", "crank")


@dataclass(frozen=True)
class Held:
    """What a lock at a place must hold.

    Attributes
    ----------
    lock : where and how.
    worst : torque of the wings about the axis of the place, N m, with its case; None where no case says.
    push : torque there of an adult who pushes the wheel meanwhile, N m.
    """

    lock: Lock
    worst: Worst | None
    push: float

    @property
    def torque(self) -> float:
        """To be held, N m: both work the same way."""
        return self.push + (0.0 if self.worst is None else self.worst.value)

    @property
    def force(self) -> float:
        """On the pin, N."""
        return self.torque / self.lock.radius


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the pin of the lock that the description has; without one there is a table alone."""
    lock = basis.mechanism.lock
    if lock is None:
        return ()
    held = holds(basis, lock)
    if held.worst is None:
        return ()
    return tuple(_line(basis, held, system) for system in SYSTEMS)


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give the pins for both places, in single and double shear."""
    rows: list[tuple[str, ...]] = [
        ("at", "radius", "torque of the wings", "case", "with a push at the wheel", "on the pin", "shear",
         "shear alone asks", "bending alone asks", *(f"{s} pin" for s in SYSTEMS), "it holds")
    ]  # fmt: skip
    m = basis.mechanism
    for at in PLACES:
        for planes in (1, 2):
            lock = as_usual(m, at, planes)
            held = holds(basis, lock)
            said = f"{lock.at}{'' if lock.at == 'wheel' else ', each side'}"
            if held.worst is None:
                rows.append((said, shown(lock.radius, "length"), "not known: no case with the wheel locked was run", "",
                             "", "", "", "", "", *("" for _ in SYSTEMS), holding(m, at)))  # fmt: skip
                continue
            pins = (_line(basis, held, s) for s in SYSTEMS)
            rows.append((
                said, shown(lock.radius, "length"), shown(held.worst.value, "torque"), held.worst.case,
                shown(held.torque, "torque"), shown(held.force, "force"), "single" if planes == 1 else "double",
                *(shown(d, "length") for d in diameters(pin_load(lock, held.force), m.use.margin)),
                *(p.chosen.size if p.chosen else "none will do" for p in pins), holding(m, at),
            ))  # fmt: skip
    return (Table("Locking the wings", tuple(rows), _note(basis)),)


def as_usual(m: Mechanism, at: str, planes: int) -> Lock:
    """Give the lock at a place: as described where it is there, else as is usual; sheared in so many planes."""
    if m.lock is not None and m.lock.at == at:
        return Lock(at, m.lock.radius, m.lock.pin, planes, m.lock.plate, m.lock.gap)
    radius = RIM * m.wheel.radius if at == "wheel" else quantity(CRANK_RADIUS, "length")
    return Lock(at, radius, None, planes)


def holds(basis: Basis, lock: Lock) -> Held:
    """Give what a lock must hold: at the wheel all sides through the reduction, at a crankshaft the worse side.

    Somebody may push the wheel meanwhile. Through play in the drive one crankshaft's pin may get all of that.
    """
    m = basis.mechanism

    def turned(run: Run) -> Array | None:
        sides = [torque(run, m, h) for h in hubs(m) if h.name.endswith("crankshaft")]
        there = [t for t in sides if t is not None]
        if not there:
            return None
        if lock.at == "wheel":
            # Friction would help to hold: it is not counted on.
            return np.sum(there, axis=0) / m.reduction
        return np.max(np.abs(there), axis=0)

    push = people()[PUSHES].push * m.wheel.radius
    return Held(
        lock,
        among(basis.loads, LOCKED, turned),
        push if lock.at == "wheel" else push * m.reduction,
    )


def pin_load(lock: Lock, force: float) -> PinLoad:
    """Give what the pin of a lock carries for a force on it, N."""
    if lock.planes == 2:
        return PinLoad(force / 2, between_plates(force, lock.plate, lock.plate, lock.gap), force, lock.plate)
    return PinLoad(force, overhung(force, lock.plate, lock.gap), force, lock.plate)


def holding(m: Mechanism, at: str) -> str:
    """Say what a lock at a place holds through, and what it does when that fails."""
    if at == "crank":
        return "each side by itself, without the drive: what fails there changes nothing; one pin a side"
    chains = any(s.kind == "chain" for s in m.stages)
    parts = "chains, keys and couplings" if chains else "keys and couplings"
    stir = "a chain's slack lets the wings stir, " if chains else ""
    weak = gives_way(m)
    if weak is not None:
        # What is meant to slip under a push slips under the wind as well.
        stir += f"the {weak[1]} slips at {shown(weak[0], 'torque')} at the wheel and lets the wings go, "
    return (
        f"through the drive: {parts} carry the torque of the wings all the time, {stir}and where one of them "
        "fails nothing holds the wings behind it"
    )


def gives_way(m: Mechanism) -> tuple[float, str] | None:
    """Give the torque at the wheel, N m, at which something between a lock there and the wings slips, with its name.

    A wheel that is locked holds the wings by no more than that, whatever its pin stands; None where nothing slips.
    """
    crank = next(h for h in hubs(m) if h.name.endswith("crankshaft"))
    least = slips(m, crank)
    return None if least is None else (least[0] / crank.turns, least[1])


def diameters(load: PinLoad, margin: float) -> tuple[float, float]:
    """Give the diameters, m, that shear alone and bending alone ask of a pin: `pin_checks` solved for them."""
    one = shear_resistance(1.0, STEEL)
    bends = 0.8 * modulus(1.0) * STEEL.strength
    return (margin * load.plane / one) ** (1 / 2), (load.moment / bends) ** (1 / 3)


def _line(basis: Basis, held: Held, system: str) -> Line:
    m, lock, worst = basis.mechanism, held.lock, held.worst
    assert worst is not None

    def checks(diameter: float) -> tuple[Check, ...]:
        own = pin_checks(
            diameter, pin_load(lock, held.force), STEEL, STEEL, m.use.margin, worst.case, worst.crank
        )
        weak = gives_way(m) if lock.at == "wheel" else None
        if weak is None:
            return own
        return (
            *own,
            Check(f"torque of the wings before the {weak[1]} slips, times {m.use.margin:g}",
                  m.use.margin * worst.value, weak[0], "torque", worst.case,
                  "slip torque of the description, as felt at the wheel", worst.crank,
                  "no pin helps: lock the crankshafts instead"),
        )  # fmt: skip

    described = None
    if lock.pin is not None and lock is m.lock and system == system_of(lock.pin):
        described = Sizing(shown(lock.pin, "length"), checks(lock.pin), "the description")
    count = 1 if lock.at == "wheel" else len(m.sides)
    return line(
        PIN, f"at the {lock.at}", rounds(system), lambda row: checks(row.diameter), system=system, count=count,
        described=described,
        notes=(
            f"{'single' if lock.planes == 1 else 'double'} shear at {shown(lock.radius, 'length')} from the "
            f"axis, plates of "
            f"{shown(lock.plate, 'length')} with {shown(lock.gap, 'length')} between two; pin and plates of "
            f"{STEEL.name} "
            "(assumption)",
            f"an adult's push at the wheel is counted on top, {shown(held.push, 'torque')} here",
            f"it holds {holding(m, lock.at)}",
            "the pin must not shake out or be drawn by visitors: a padlock or a spring clip; common "
            "practice, no source",
        ),
    )  # fmt: skip


def _note(basis: Basis) -> str:
    m = basis.mechanism
    ran = [g.name for g in basis.loads.campaign.groups if g.case.kind in LOCKED and g.runs]
    cases = ", ".join(ran) if ran else "no case was run"
    described = "not described; " if m.lock is None else ""
    chains = [names.stage(k) for k, s in enumerate(m.stages, 1) if s.kind == "chain"]
    through = f"; between the wheel and the wings are {', '.join(chains)}" if chains else ""
    return (
        f"The lock is {described}cases: {cases}; torque at the wheel is that of both sides at the crank over "
        f"{m.reduction:.4g}, friction not counted on{through}. Pins of {STEEL.name}, shear, bending and "
        f"pressure, with a "
        f"margin of {m.use.margin:g} on shear; radius {shown(RIM * m.wheel.radius, 'length')} at the wheel and "
        f"{CRANK_RADIUS} at a crankshaft unless described: assumption. What carries the pin is for the "
        f"structural engineer."
    )
