"""Do both sides share their phase? Keyways as measured, what a keyway that is off does, and winding up under load.

A side's crank follows the shaft that drives it at a distance: behind by what its coupling and its half of the centre
shaft are wound up under the side's torque, of a standing piece with the friction of turning forward slowly, and by
half the backlash. Where a falling wing outruns the drive, its crank jumps ahead through the backlash, or through what
is wound up where the torque falls faster than the coupling is stiff; the jump itself is taken as done at once.
Angles are positive by the right hand about +y; a side that leads is ahead of the other while turning forward.
"""

from dataclasses import dataclass

import numpy as np

from analysis import motion
from analysis.finding import Finding
from models.drive import Coupling
from models.keyways import Keyways
from models.mechanism import Mechanism
from models.shown import shown
from sim.arrays import Array
from sim.builders import Linkage
from sim.linkage import SideLinkage
from sim.statics import statics

CASE = "geometry"
SLOWLY = "turned forward slowly"
KEYS = "keyways"
COUPLINGS = "couplings and centre shaft"
PHASE = "phase error of the crankshafts"
UNSURE = "uncertainty of the phase error"
CUT = "right keyway to cut in the centre shaft, from its left one"
RATE = "degrees of its angle for each degree of keyway"
RATE_INNER = "degrees of its angle to the inner panel for each degree of keyway"
BEHIND = "largest difference of winding up between the sides"
UNDER_LOAD = "largest difference between left and right under load"
FROM_LOAD = "part of it from winding up"
MEASURED = "measured keyways"
IMPLICIT = "implicit derivative of the closed loops"
STATICS = "closed-form statics, friction of turning forward"
ALIKE = 1e-6
"""Angle, rad, below which a difference is rounding."""
AROUND = np.linspace(-2 * np.pi, 3 * np.pi, 5 * len(motion.TURN) // 2 + 1)
"""Crank angles, rad, from one turn before the first to half a turn beyond the last that is asked for."""


@dataclass(frozen=True)
class Behind:
    """How far a side's crank is behind the shaft that drives it, at n crank angles.

    Attributes
    ----------
    torque : (n,) N m that the crank is driven with.
    coupling : (n,) rad, wound up and half the backlash.
    shaft : (n,) rad of the centre shaft, from where it is driven to the coupling.
    stiffness : of both in series, N m/rad; infinite where neither gives.
    """

    torque: Array
    coupling: Array
    shaft: Array
    stiffness: float

    @property
    def angle(self) -> Array:
        """Both together (n,), rad."""
        return self.coupling + self.shaft


@dataclass(frozen=True)
class Clocking:
    """The two sides over a turn of the shaft that drives them.

    Attributes
    ----------
    turn : (n,) crank angles, rad, of a drive that does not wind up.
    panels : names from the body outwards.
    rate : (2, panels, n) what a panel's angle changes for its side's key angle, rad per rad, left side first.
    loaded : (2, panels, n) the same where the key angle also changes the load and with it what is wound up; not a
        number where the crank jumps.
    keyed : (panels, n) left panel's angle less the right one's, rad, nothing wound up.
    wound : (panels, n) the same turned slowly under load.
    behind : of each side at the crank angles `turn` of its own.
    lead : (n,) angle, rad, by which winding up lets the right crank lead the left one.
    """

    turn: Array
    panels: tuple[str, ...]
    rate: Array
    loaded: Array
    keyed: Array
    wound: Array
    behind: tuple[Behind, Behind]
    lead: Array


def clocking(closed: Linkage) -> Clocking:
    """Give the two sides over a turn.

    Raises
    ------
    ValueError
        When the sculpture has one side.
    """
    if len(closed.sides) != 2:
        raise ValueError(f"'{closed.mechanism.name}' has one side: nothing to share its phase with")
    left, right = (_turned(closed, side) for side in closed.sides)
    return Clocking(
        turn=motion.TURN,
        panels=tuple(p.name for p in closed.sides[0].side.panels),
        rate=np.stack([left.rate, right.rate]),
        loaded=np.stack([left.loaded, right.loaded]),
        keyed=left.keyed - right.keyed,
        wound=left.wound - right.wound,
        behind=(left.behind, right.behind),
        lead=right.at - left.at,
    )


@dataclass(frozen=True)
class _Turned:
    """A side over a turn: its part (panels, n) of what `Clocking` has, and the angles (n,) at which it stands."""

    rate: Array
    loaded: Array
    keyed: Array
    wound: Array
    behind: Behind
    at: Array


def _turned(closed: Linkage, side: SideLinkage) -> _Turned:
    here, at = behind(closed, side, motion.TURN), followed(closed, side, motion.TURN)
    plain, wound = side.course(motion.TURN), side.course(at)
    rate = np.stack([c.angle.first for c in plain])
    slope = _slope(here.torque, motion.TURN) / here.stiffness
    # The crank stands at p = c + e - w(p) for a key angle e: dp/de = 1 / (1 + w'), none where it jumps.
    gain = np.divide(1.0, 1 + slope, out=np.full_like(slope, np.nan), where=slope > -1)
    keyed, under_load = (np.stack([c.angle.value for c in courses]) for courses in (plain, wound))
    return _Turned(rate, rate * gain, keyed, under_load, here, at)


def behind(closed: Linkage, side: SideLinkage, crank: Array) -> Behind:
    """Give how far a side's crank is behind, turned forward slowly.

    Parameters
    ----------
    closed : the sculpture.
    side : one of its sides.
    crank : crank angles (n,), rad, at which the side stands.
    """
    m = closed.mechanism
    held = statics(side, crank, m.gravity, m.friction)
    torque = held.torque + held.friction
    coupling = side.side.crank.coupling
    gives = [0.0 if coupling.stiffness is None else 1 / coupling.stiffness, 1 / shaft_stiffness(m, side)]
    total = sum(gives)
    return Behind(torque, torque * gives[0] + np.sign(torque) * coupling.backlash / 2, torque * gives[1],
                  np.inf if total == 0 else 1 / total)  # fmt: skip


def shaft_stiffness(mechanism: Mechanism, side: SideLinkage) -> float:
    """Give the torsional stiffness, N m/rad, of the centre shaft from where it is driven to a side's coupling.

    G J / l with J = pi d^4 / 32 (de Saint-Venant, round section) and G = E / (2 (1 + nu)) of the drive's
    stock; l from the plane of the last chain, or of the wheel
    where there is no stage, to the crankshaft's inner end. Infinite where that is nothing.
    """
    crank, stages = side.side.crank, mechanism.stages
    plane = stages[-1].out if stages else mechanism.wheel.out
    diameter = stages[-1].shaft.diameter if stages else crank.shaft
    length = abs(side.side.sign * crank.ends[0] - plane)
    shear = mechanism.drive_stock.shear_modulus
    return np.inf if length == 0 else shear * np.pi * diameter**4 / 32 / length


def followed(closed: Linkage, side: SideLinkage, turn: Array) -> Array:
    """Give the crank angles (n,) at which a side stands as the drive turns forward slowly through angles (n,), rad.

    The drive is at p + w(p) when the crank is at p and behind by w; where that falls as p grows the crank cannot
    stand still and goes on at once to where it rises above what it was.

    Parameters
    ----------
    closed : the sculpture.
    side : one of its sides.
    turn : from 0 to one turn.
    """
    drive = AROUND + behind(closed, side, AROUND).angle
    return np.interp(turn, np.maximum.accumulate(drive), AROUND)


def _slope(values: Array, turn: Array) -> Array:
    """Give the derivative (n,) of periodic values at evenly spaced angles, by central differences."""
    return (np.roll(values, -1) - np.roll(values, 1)) / (2 * (turn[1] - turn[0]))


def of_linkage(closed: Linkage) -> list[Finding]:
    """Give what the keyways say, what one that is off does, and what winds up; nothing for one side.

    How far the panels are apart with nothing wound up is a finding of `motion.of_linkage`.
    """
    if len(closed.sides) == 1:
        return []
    found = clocking(closed)
    return [*of_keyways(closed.mechanism), *_rates(found), *_under_load(closed.mechanism, found)]


def of_keyways(mechanism: Mechanism) -> list[Finding]:
    """Give the phase error that measured keyways make, how sure it is, and the key angle to cut; none where not given.

    The uncertainty is the root of the sum of squares of the readings' (JCGM 100:2008, 5.1.2, all factors 1; memory).
    """
    keys = mechanism.keyways
    if keys is None:
        return []
    left, right = (s.key_angle for s in mechanism.sides)
    wanted = right - left if keys.centre is None else 0.0
    rss, most = np.sqrt(keys.readings) * keys.measured, keys.readings * keys.measured
    found: list[Finding] = []
    if keys.lead is not None:
        words = f"{leads(keys.lead)}; within {shown(rss, 'angle')} as the root of the sum of squares of four readings"
        found = [
            Finding(PHASE, abs(keys.lead), "angle", KEYS, CASE, source=MEASURED, note=words),
            Finding(UNSURE, float(rss), "angle", KEYS, CASE, source=MEASURED,
                    note=f"root of the sum of squares of {keys.readings} readings of {shown(keys.measured, 'angle')} "
                    f"each; all off the worst way {shown(most, 'angle')}"),
        ]  # fmt: skip
    found.append(
        Finding(CUT, keys.cut(wanted), "angle", KEYS, CASE, source=MEASURED, note=_cut_words(keys, wanted))
    )
    return found


def _cut_words(keys: Keyways, wanted: float) -> str:
    """Say which way the keyway is counted, what to write in, and how sure it is."""
    start = 0.0 if keys.centre is None else keys.centre[0]
    first, second = (f'"{np.degrees(a):.6g} deg"' for a in (start, (start + keys.cut(wanted)) % (2 * np.pi)))
    aim = (
        "both sides share their phase" if wanted == 0 else f"{leads(wanted)} by {shown(abs(wanted), 'angle')}"
    )
    return (
        f"counter-clockwise seen with the end nearer the left wing toward you; then {aim}, within "
        f"{shown(np.sqrt(2) * keys.measured, 'angle')} by the two crankshafts' readings, and what the cut is off "
        f"beside; written centre = [{first}, {second}]"
    )


def leads(lead: float) -> str:
    """Say which side leads where the right crank is ahead of the left one by an angle."""
    if lead == 0:
        return "neither side leads"
    return f"the {'right' if lead > 0 else 'left'} side leads"


def _rates(found: Clocking) -> list[Finding]:
    """Give the largest change of each panel's angle for its side's keyway, whichever side's is larger."""
    made: list[Finding] = []
    for j, name in enumerate(found.panels):
        made.append(_rate(RATE, name, found.turn, found.rate[:, j], found.loaded[:, j]))
        if j > 0:
            relative = (x[:, j] - x[:, 0] for x in (found.rate, found.loaded))
            made.append(_rate(RATE_INNER, name, found.turn, *relative))
    return made


def _rate(what: str, panel: str, turn: Array, rate: Array, loaded: Array) -> Finding:
    size = np.abs(rate).max(axis=0)
    k = int(np.argmax(size))
    jumps = bool(np.isnan(loaded).any())
    most = float(np.nanmax(np.abs(loaded), initial=0.0))
    winding = f"with what winds up under load {most:.3g}"
    winding += ", beyond which the crank jumps at some angles" if jumps else ""
    return Finding(what, float(size[k]), "ratio", panel, CASE, None, float(turn[k]), source=IMPLICIT,
                   note=f"of its crank against the other side or the rest of the mechanism; {winding}")  # fmt: skip


def _under_load(mechanism: Mechanism, found: Clocking) -> list[Finding]:
    """Give how far winding up parts the sides, and the panels' difference with it."""
    k = int(np.argmax(np.abs(found.lead)))
    lead = float(found.lead[k])
    words = [
        f"{s.name} {_most(s.crank.coupling, b)}" for s, b in zip(mechanism.sides, found.behind, strict=True)
    ]
    made = [
        Finding(BEHIND, abs(lead), "angle", COUPLINGS, SLOWLY, None, float(found.turn[k]), source=STATICS,
                note=f"{leads(lead if abs(lead) > ALIKE else 0.0)}; at most behind the drive: {', '.join(words)}")
    ]  # fmt: skip
    for j, name in enumerate(found.panels):
        for what, apart, note in (
            (UNDER_LOAD, found.wound[j], "keyways, what differs in the sides, and winding up"),
            (FROM_LOAD, found.wound[j] - found.keyed[j], "winding up alone, where it is largest"),
        ):
            k = int(np.argmax(np.abs(apart)))
            made.append(
                Finding(what, float(abs(apart[k])), "angle", name, SLOWLY, None, float(found.turn[k]),
                        source=STATICS, note=f"{_higher(float(apart[k]))}; {note}")
            )  # fmt: skip
    return made


def _most(coupling: Coupling, wound: Behind) -> str:
    """Say how much of what winds up, at most, is the coupling's and how much the centre shaft's."""
    gap = f" with {shown(coupling.backlash / 2, 'angle')} of backlash" if coupling.backlash else ""
    own, shaft = (shown(float(np.abs(x).max()), "angle") for x in (wound.coupling, wound.shaft))
    return f"{own} by its coupling{gap} and {shaft} by the centre shaft"


def _higher(apart: float) -> str:
    """Say whose panel is higher where the left one's angle less the right one's is so much."""
    if abs(apart) <= ALIKE:
        return "they move as one"
    return f"the {'left' if apart > 0 else 'right'} one is higher"
