"""How a crankshaft is made and how much it is used, settled."""

import math

from models.making import Making, Use, Weld
from models.materials import Material
from models.people import people
from models.sculpture_making import Weld as WeldTable
from models.settling import Settling
from models.strengths import strengths
from models.weld_classes import Code, suited, weld_classes

HOURS = 8784
"""Of a year."""
_WELDED = {"crank": "the crankshaft", "arm": "the arm", "post": "the post"}
CAUTIOUS = "lowest class suited, and so the most cautious"


def making(s: Settling, stock: Material) -> Making:
    """Settle how a side's crankshaft is made.

    Parameters
    ----------
    s : takes the values.
    stock : the crankshaft's.
    """
    c = s.sculpture.crank
    usual = Making()
    surface, keyseat = (c.surface, c.keyseat.kind if c.keyseat else None) if c else (None, None)
    if surface is None:
        s.note("crank.surface", usual.surface, "bright bar as it comes; assumption")
    if keyseat is None:
        s.note("crank.keyseat.kind", usual.keyseat)
    return Making(surface or usual.surface, keyseat or usual.keyseat, _weld(s, c.weld if c else None, stock))


def _weld(s: Settling, given: WeldTable | None, stock: Material) -> Weld:
    usual, at = Weld(), "crank.weld"
    w = given or WeldTable()
    known = strengths().get(stock.name)
    toe = weld_class(s, w.toe, f"{at}.toe", "toe", known.kind if known else None, None)
    code = weld_classes()[toe].code if toe else None
    root = weld_class(s, w.root, f"{at}.root", "root", known.kind if known else None, code)
    if w.faces is None:
        s.number(None, f"{at}.faces", usual.faces, "count", "a weld on one face of each web; assumption")
    partial = s.number(
        w.partial, f"{at}.partial", usual.partial, "ratio",
        "a wing hangs on them, over people, and cracks under paint are not seen: safe life, high consequence, EN "
        "1993-1-9:2005, table 3.1 (memory)",
    )  # fmt: skip
    return Weld(toe, root, w.throat, w.faces or usual.faces, partial)


def weld_class(
    s: Settling, given: str | None, name: str, place: str, kind: str | None, code: Code | None
) -> str | None:
    """Settle a weld class; None where there is none for the material.

    Parameters
    ----------
    s : takes the values.
    given, name : the class as given, and the field's dotted name.
    place : "toe" or "root".
    kind : "steel" or "aluminium", or None for any other material.
    code : whose classes the default is taken from, or None.
    """
    if kind is None:
        if given is not None:
            s.faults.append(f"{name}: weld classes are known for steel and aluminium only; remove {name}")
        return None
    if given is not None:
        of = weld_classes()[given].material
        if of != kind:
            fitting = (w.name for w in weld_classes().values() if (w.material, w.place) == (kind, place))
            s.faults.append(
                f"{name}: class '{given}' is for {of} and {_WELDED.get(name.split('.')[0], 'it')} is of {kind}; "
                f"write one of: {', '.join(fitting)}"
            )
        return given
    found = suited(kind, place, code).name
    s.note(name, found, CAUTIOUS)
    return found


def use(s: Settling, radius: float) -> Use:
    """Settle how much a piece is used.

    Parameters
    ----------
    s : takes the values.
    radius : of the wheel's rim or the handle, m.
    """
    u, usual = s.sculpture.use, Use()
    # Rounded, so that the default written down is the same to the last bit.
    hand = round(people()["adult"].speed / radius, 3)
    speed = s.number(u.speed if u else None, "use.speed", hand, "angular_speed",
                     "an adult's comfortable hand speed; assumption")  # fmt: skip
    visit = s.number(u.turns if u else None, "use.turns", usual.visit, "ratio",
                     "turns of the wheel a visit; assumption")  # fmt: skip
    return Use(
        _hours(s, speed, visit),
        s.number(u.years if u else None, "use.years", usual.years, "ratio"),
        speed,
        s.number(u.margin if u else None, "use.margin", usual.margin, "ratio",
                 "1.5 to 2 for well-known materials and loads that are readily found: Vidosic (memory)"),
        s.number(u.deflection if u else None, "use.deflection", usual.deflection, "ratio",
                 "share of the distance of two bearings; general machine parts: Mott, table 20-1 (memory)"),
        s.number(u.shock if u else None, "use.shock", usual.shock, "ratio",
                 "on static ratings of bought parts, for loads that come suddenly; assumption"),
        visit,
    )  # fmt: skip


def _hours(s: Settling, speed: float, visit: float) -> float:
    """Give the hours a year during which somebody turns it: as given, or those of the visits."""
    u = s.sculpture.use
    if u is None or u.visits is None:
        return s.number(
            u.hours if u else None, "use.hours", Use().hours, "ratio", "hours of turning a year; assumption"
        )
    days = s.number(u.days, "use.days", 365.0, "ratio", "every day of the year; assumption")
    hours = u.visits * days * visit / (abs(speed) / math.tau * 3600)
    if hours > HOURS:
        s.faults.append(f"use.visits: they turn it for {hours:.0f} hours a year, which has {HOURS}; "
                        "write fewer visits, or fewer turns each")  # fmt: skip
    return hours
