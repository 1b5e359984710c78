"""What must come off to replace each part that wears, worked out from where things sit on their shafts."""

import math

from analysis.parts.basis import Basis
from analysis.parts.choice import Table
from analysis.parts.hinge_lines import hinge_lines
from analysis.parts.shaft_order import Item, OnShaft, WayOff, crankshaft, drive_shafts, room, way_off
from models.bearing_kinds import bearing_kinds
from models.mechanism import Mechanism, Side
from models.shown import shown
from sim import names

ROLLING_SPLIT = "a split bearing in a split housing, made for just this; a plain one never"
Row = tuple[str, ...]
HEADINGS = ("part that wears", "comes off first", "room along the shaft", "a split part in place")


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give a row for each part that wears."""
    m = basis.mechanism
    sides = m.sides[:1] if basis.loads.mirrored else m.sides
    rows: list[Row] = [HEADINGS]
    for side in sides:
        rows += [*_rod_ends(side), *_crank_bearings(side), *_hinges(m, side), _insert(m, side)]
    for shaft in drive_shafts(m):
        rows += _drive(shaft)
    rows += _chains(m)
    both = " Both sides alike: the left one is named." if basis.loads.mirrored and len(m.sides) > 1 else ""
    note = (
        "Worked out from the places of parts on their shafts; throws are welded on and never come off, counterweights are "
        "taken to be bolted on. Wings must be locked or let down, and the wheel held, before a rod, a chain, a coupling or "
        f"a hinge is opened.{both}"
    )
    return (Table("Service: what comes off to replace a part", tuple(rows), note),)


# --- Crankshafts ---


def _crank_bearings(side: Side) -> list[Row]:
    shaft = crankshaft(side)
    found: list[Row] = []
    for item in shaft.items:
        if item.kind != "bearing":
            continue
        station = next(s for s in side.crank.stations if s.out == item.out)
        label = bearing_kinds()[station.kind].label
        found.append((f"{item.name} ({label})", said(way_off(shaft, item), shaft), moves(shaft, item),
                      split(way_off(shaft, item), station.kind)))  # fmt: skip
    return found


def said(way: WayOff, shaft: OnShaft) -> str:
    """Say what comes off before a part slides off its shaft."""
    if way.slides:
        names_of = ", ".join(x.name for x in way.off)
        return f"{names_of}; then it slides off" if way.off else "nothing: it slides off the end"
    between = " and ".join(x.name for x in way.trapped)
    return f"it cannot be slid off: the {between} are welded on either side of it; else the {shaft.name} comes out whole"


def split(way: WayOff, kind: str) -> str:
    """Say whether a split part is needed, by the kind of bearing."""
    plain = kind == "bush"
    if way.slides and not way.off:
        return "not needed"
    if way.slides:
        saved = ", ".join(x.name for x in way.off)
        return f"{'a split bush' if plain else 'a split bearing'} in a split housing saves taking off {saved}"
    return "needed: a split bush in a split housing" if plain else f"needed: {ROLLING_SPLIT}"


def moves(shaft: OnShaft, item: Item) -> str:
    """Say how far a part can be moved along its shaft either way."""
    low, high = room(shaft, item)
    ways = (low, "to the shaft's low end"), (high, "to its high end")
    if shaft.ends is not None:
        ways = (low, "inward"), (high, "outward")
    return ", ".join(
        f"{shown(x, 'length')} {way}" if math.isfinite(x) else f"free {way}: its end is not described"
        for x, way in ways
    )


def _rod_ends(side: Side) -> list[Row]:
    """Give the rod ends at the crank, between the webs of their throw, and at the yoke."""
    found: list[Row] = []
    gap, shaft = side.crank.cheek.gap, crankshaft(side)
    for panel in side.panels:
        throw = next(x for x in shaft.items if x.name == f"{panel.name} throw")
        way = way_off(shaft, throw) if _ends_bar(shaft, throw) else None
        first = (
            f"it sits on the pin between the webs of the {panel.name} throw, {shown(gap, 'length')} apart: "
            "welded in, the pin cannot be drawn and the eye not slid over a web"
        )
        if way is not None and way.slides:
            first += "; an end of the shaft is near, which does not help: both webs are welded"
        found.append((names.crank_eye(side.name, panel.name), first,
                      f"{shown(gap, 'length')} between the webs",
                      "needed: a split eye, or a pin that is bolted into its webs"))  # fmt: skip
        found.append((names.yoke_eye(side.name, panel.name), "the yoke's pin, and the rod's nut at this end",
                      "as the yoke leaves, which is not described", "not needed"))  # fmt: skip
    return found


def _ends_bar(shaft: OnShaft, throw: Item) -> bool:
    return not shaft.before(throw) or not shaft.beyond(throw)


# --- Hinges ---


def _hinges(m: Mechanism, side: Side) -> list[Row]:
    """Give the hinge pins, which are drawn along their line: outward past the ends, or into the room between groups."""
    found: list[Row] = []
    length = m.hinges.length
    for hinge in hinge_lines(m, side):
        between = hinge.span / (m.hinges.count - 1) - length
        inward = (
            f"{shown(between, 'length')} between two groups, enough to draw a pin of {shown(length, 'length')}"
            if between >= length
            else f"{shown(max(0.0, between), 'length')} between two groups, less than a pin's {shown(length, 'length')}: the "
            "outer ones are drawn past the ends, ones between others not"
        )
        held = [p.name for p in side.panels[hinge.number :]]
        first = f"{' and '.join(held)} held up: the pin carries {'it' if len(held) == 1 else 'them'}"
        found.append((f"{hinge.joint}, pins and knuckles", first, inward, "not needed: a pin for each group"))
    return found


# --- Couplings, drive shafts, chains ---


def _insert(m: Mechanism, side: Side) -> Row:
    """Give a coupling's insert: one half has to slide back along its shaft."""
    shaft = crankshaft(side)
    half = next(x for x in shaft.items if x.kind == "coupling")
    _, outward = room(shaft, half)
    beyond = shaft.beyond(half)
    stops = f" to the {beyond[0].name}" if beyond else ""
    centre = drive_shafts(m)[-1:] if m.stages else ()
    inner = ""
    if centre:
        bearing = (
            max(x.out for x in centre[0].items if x.kind == "bearing")
            if side.sign > 0
            else -min(x.out for x in centre[0].items if x.kind == "bearing")
        )
        clear = side.crank.ends[0] - bearing
        inner = (
            f"; {shown(max(0.0, clear), 'length')} from the centre shaft's bearing to the crankshaft's end"
        )
    enough = "enough to slide the half off its shaft's end" if outward >= 2 * half.half else (
        "less than the half is long: the insert must come out sideways, or the shaft moves"
    )  # fmt: skip
    kind = side.crank.coupling.kind
    what = "insert" if kind == "elastic" else "whole"
    return (
        f"{names.coupling(side.name)}, {what} ({kind})",
        f"its set screws, then a half slides outward along the {shaft.name}",
        f"{shown(outward, 'length')}{stops}, {enough} (a half as long as the shaft is thick: assumption){inner}",
        "an insert in two parts, or one that wraps around, needs no sliding"
        if kind == "elastic"
        else "a split clamp",
    )


def _drive(shaft: OnShaft) -> list[Row]:
    found: list[Row] = []
    for item in shaft.items:
        if item.kind not in ("bearing", "sprocket"):
            continue
        way = way_off(shaft, item)
        what = "a split bearing in a split housing" if item.kind == "bearing" else "a split sprocket"
        saves = f"{what} saves taking off {', '.join(x.name for x in way.off)}" if way.off else "not needed"
        found.append((f"{item.name} on the {shaft.name}" if item.kind == "sprocket" else item.name,
                      said(way, shaft), moves(shaft, item), saves))  # fmt: skip
    return found


def _chains(m: Mechanism) -> list[Row]:
    return [
        (names.stage(k), "its connecting link: the chain comes off in place, the wings held at the crankshafts",
         "none needed", "a chain with a connecting link is one")
        for k, stage in enumerate(m.stages, 1)
        if stage.kind == "chain"
    ]  # fmt: skip
