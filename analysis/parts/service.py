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
        rows += [*rod_ends(side), *crank_bearings(m, side), *hinge_pins(m, side), insert(m, side)]
    for shaft in drive_shafts(m):
        rows += _drive(shaft)
    rows += chains(m)
    both = " Both sides alike: the left one is named." if basis.loads.mirrored and len(m.sides) > 1 else ""
    note = (
        "Worked out from the places of parts on their shafts; throws are welded on and never come off, "
        "counterweights are "
        "taken to be bolted on. Wings must be locked or let down, and the wheel held, before a rod, a "
        "chain, a coupling or "
        f"a hinge is opened.{both}"
    )
    return (Table("Service: what comes off to replace a part", tuple(rows), note),)


# --- Crankshafts ---


def crank_bearings(m: Mechanism, side: Side) -> list[Row]:
    """Give the bearings of a crankshaft."""
    shaft = crankshaft(side)
    found: list[Row] = []
    for item in shaft.items:
        if item.kind != "bearing":
            continue
        station = next(s for s in side.crank.stations if s.out == item.out)
        label, way = bearing_kinds()[station.kind].label, way_off(shaft, item)
        first = said(way, shaft)
        if way.end == "low":
            first += f" at the inner end, where {gap_words(m, side)}: it needs {shown(2 * item.half, 'length')} there, "
            first += "or the crankshaft moved outward"
        found.append((f"{item.name} ({label})", first, moves(shaft, item), split(way, station.kind)))
    return found


def gap_words(m: Mechanism, side: Side) -> str:
    """Say what room there is past a crankshaft's inner end."""
    if m.stages:
        clear = shown(inner_room(m, side), "length")
        return f"the centre shaft's end is not described and its bearing is {clear} away"
    if len(m.sides) > 1:
        return f"the other crankshaft's end is {shown(inner_room(m, side), 'length')} away, less what the wheel takes"
    return "nothing is described"


def inner_room(m: Mechanism, side: Side) -> float:
    """Give the distance from a crankshaft's inner end to what is next on the line: the centre shaft's bearing, or
    without a stage the other crankshaft, m; 0 where it reaches past it.
    """  # noqa: D205
    if m.stages:
        bearings = [side.sign * x for x in m.stages[-1].shaft.bearings]
        return max(0.0, side.crank.ends[0] - max(bearings))
    return max(0.0, sum(s.crank.ends[0] for s in m.sides))


def said(way: WayOff, shaft: OnShaft) -> str:
    """Say what comes off before a part slides off its shaft."""
    if way.slides:
        names_of = ", ".join(x.name for x in way.off)
        return f"{names_of}; then it slides off" if way.off else "nothing: it slides off the end"
    between = " and ".join(x.name for x in way.trapped)
    return (
        f"it cannot be slid off: {between} are welded on, one on either side of it; "
        f"without a split part the {shaft.name} has to be cut"
    )


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


def rod_ends(side: Side) -> list[Row]:
    """Give the rod ends at the crank, between the webs of their throw, and at the yoke."""
    found: list[Row] = []
    gap = shown(side.crank.cheek.gap, "length")
    for panel in side.panels:
        found.append((
            names.crank_eye(side.name, panel.name),
            f"it sits on the pin between the webs of the {panel.name} throw, which are welded: the pin "
            f"cannot be drawn and the "
            "eye not slid over a web",
            f"{gap} between the webs",
            "needed: a split eye, or a pin that is bolted into its webs",
        ))  # fmt: skip
        way = "along the hinge" if panel.pin_along else "across the hinge"
        found.append((names.yoke_eye(side.name, panel.name), f"the yoke's pin, drawn {way}, the panel held up",
                      "as the yoke leaves, which is not described", "not needed"))  # fmt: skip
    return found


# --- Hinges ---


def hinge_pins(m: Mechanism, side: Side) -> list[Row]:
    """Give the hinge pins, which are drawn along their line: outward past the ends, or into the room between groups."""
    found: list[Row] = []
    length = m.hinges.length
    for hinge in hinge_lines(m, side):
        between = hinge.span / (m.hinges.count - 1) - length
        inward = (
            f"{shown(between, 'length')} between two groups, enough to draw a pin of {shown(length, 'length')}"
            if between >= length
            else f"{shown(max(0.0, between), 'length')} between two groups, less than a pin's "
            f"{shown(length, 'length')}: the "
            "outer ones are drawn past the ends, ones between others not"
        )
        held = [p.name for p in side.panels[hinge.number :]]
        first = f"{' and '.join(held)} held up: the pin carries {'it' if len(held) == 1 else 'them'}"
        found.append((f"{hinge.joint}, pins and knuckles", first, inward, "not needed: a pin for each group"))
    return found


# --- Couplings, drive shafts, chains ---


def insert(m: Mechanism, side: Side) -> Row:
    """Give a coupling's insert: one half has to slide back along its shaft."""
    shaft, kind = crankshaft(side), side.crank.coupling.kind
    half = next(x for x in shaft.items if x.kind == "coupling")
    _, outward = room(shaft, half)
    beyond = shaft.beyond(half)
    stops = f" to the {beyond[0].name}" if beyond else ""
    inner = f"; past its inner end {gap_words(m, side)}"
    opens = "the insert must come out sideways" if kind == "elastic" else "it has to open"
    enough = f"less than the half is long: {opens}, or the shaft moves"
    if outward >= 2 * half.half:
        enough = "enough to slide the half off its shaft's end"
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


def chains(m: Mechanism) -> list[Row]:
    """Give the chains, which open at a link."""
    return [
        (names.stage(k), "its connecting link: the chain comes off in place, the wings held at the crankshafts",
         "none needed", "a chain with a connecting link is one")
        for k, stage in enumerate(m.stages, 1)
        if stage.kind == "chain"
    ]  # fmt: skip
