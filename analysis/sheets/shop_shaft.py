"""The shop's tables of the crankshafts: bars, webs, bearings, keyways, counterweights; and of the drive's shafts."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from analysis import clocking
from analysis.drawing.parts import drive_shafts, sided
from analysis.parts.choice import Table
from analysis.sheets.counterweights import Segment, SquarePlate, segment, square_plate
from analysis.sheets.facts import GIVEN, Facts, found, size, source, turned
from models.mechanism import Crankshaft, Mechanism, Side, Weight
from models.shown import shown
from models.stock import PlateSize, plate_stock
from sim.shaft.crank import bearing_joints
from sim.weights import arm_reach, arm_root

BARS = "Bars of the crankshaft"
WEBS = "Webs of the crankshaft"
BEARINGS = "Bearings along the crankshaft"
KEYWAYS = "Keyways"
WEIGHTS = "Counterweights from plate"
DRIVE = "Shafts of the drive"
THROUGH = (
    "from web face to web face; with the webs let onto the bar it is longer by a web's thickness at each web"
)


@dataclass(frozen=True)
class Bar:
    """A bar of the crankshaft.

    Attributes
    ----------
    name : "shaft" or "pin", and which.
    start, end : places along the shaft, m.
    diameter : m.
    webs : at how many of its ends a web sits.
    """

    name: str
    start: float
    end: float
    diameter: float
    webs: int

    @property
    def length(self) -> float:
        """From face to face, m."""
        return self.end - self.start


def sides(facts: Facts) -> tuple[Side, ...]:
    """Give the sides that the shop makes something else for: one where they are mirror images."""
    m = facts.mechanism
    return m.sides[:1] if facts.loads.mirrored else m.sides


def bars(side: Side) -> Iterator[Bar]:
    """Give the bars of a side's crankshaft from the inner end outwards, as their masses are counted."""
    c = side.crank
    throws = sorted(side.panels, key=lambda p: p.throw_out)
    edges = [c.ends[0]]
    for p in throws:
        edges += [p.throw_out - c.cheek.half, p.throw_out + c.cheek.half]
    edges.append(c.ends[1])
    count = len(throws)
    for k, (start, end) in enumerate(zip(edges[::2], edges[1::2], strict=True)):
        if end - start > 1e-9:
            yield Bar(f"shaft {k + 1}", start, end, c.shaft, (k > 0) + (k < count))
        if k < count:
            at, half = throws[k].throw_out, c.cheek.gap / 2
            yield Bar(f"pin of throw '{throws[k].name}'", at - half, at + half, c.pin, 2)


def owner(facts: Facts, side: Side) -> str:
    """Say whose something is where the sides differ, with a space after it; nothing where they are alike."""
    return "" if len(sides(facts)) == 1 else f"{side.name} "


def alike(facts: Facts) -> str:
    """Say for which sides a table holds, as the end of its note."""
    if len(facts.mechanism.sides) == 1:
        return " One side only."
    return " For one side; the other is its mirror image." if facts.loads.mirrored else " The sides differ."


def bar_table(facts: Facts) -> Table:
    """Give the bars to cut."""
    m = facts.mechanism
    rows: list[tuple[str, ...]] = []
    for side in sides(facts):
        thick = side.crank.cheek.thickness
        for bar in bars(side):
            field = "crank.pin" if bar.name.startswith("pin") else "crank.shaft"
            rows.append(
                (
                    owner(facts, side) + bar.name,
                    size(bar.diameter),
                    size(bar.start),
                    size(bar.end),
                    size(bar.length),
                    size(bar.length + bar.webs * thick),
                    source(m, field),
                )
            )
    head = ("bar", "diameter", "from, out", "to, out", "between faces", "through webs", "source of diameter")
    stock = sides(facts)[0].crank.material
    return Table(
        BARS,
        (head, *rows),
        f"{stock.name}. {THROUGH.capitalize()}. Allow for facing the ends." + alike(facts),
    )


def web_table(facts: Facts) -> Table:
    """Give the webs in coordinates of their own: origin in the shaft's hole, second coordinate toward the pin."""
    m = facts.mechanism
    rows: list[tuple[str, ...]] = []
    for side in sides(facts):
        c = side.crank
        throws = sorted(side.panels, key=lambda p: p.throw_out)
        for p in throws:
            half = (c.cheek.gap + c.cheek.thickness) / 2
            places = ", ".join(size(p.throw_out + s * half) for s in (-1, 1))
            rows.append(
                (
                    f"{owner(facts, side)}'{p.name}', 2 alike",
                    _blank(c, p.throw_radius),
                    f"(0, {size(p.throw_radius)})",
                    f"shaft {size(c.shaft)}, pin {size(c.pin)}",
                    f"{turned(p.throw_angle)} from straight up, "
                    f"{turned(p.throw_angle - throws[0].throw_angle)} from throw '{throws[0].name}'",
                    places,
                )
            )
    head = (
        "throw",
        "blank",
        "pin's hole from shaft's hole (across, toward pin)",
        "holes Ø, before fit",
        "angle",
        "middles of webs, out",
    )
    named = ", ".join(f"web {f} {source(m, f'crank.web.{f}')}" for f in ("width", "thickness", "gap"))
    return Table(
        WEBS,
        (head, *rows),
        f"Throw radius, angle and place: description; {named}. Holes are the bars' own "
        "diameters: clearance for slipping them on and for welding is the shop's." + alike(facts),
    )


def _blank(c: Crankshaft, radius: float) -> str:
    if c.cheek.outline is not None:
        return f"as the description's outline, {size(c.cheek.thickness)} thick"
    w = c.cheek.width
    return f"{size(w)} wide, {size(c.cheek.thickness)} thick, {size(radius + w)} long: half a width beyond each hole"


def bearing_table(facts: Facts) -> Table:
    """Give the bearings along the crankshafts and the drive's shafts."""
    m = facts.mechanism
    rows: list[tuple[str, ...]] = []
    for side in sides(facts):
        c = side.crank
        for k, s in enumerate(c.stations, 1):
            word = "locating" if k == 1 else "free along the shaft"
            if len(c.stations) > 2:
                # Loads are told by these names, which do not count along the shaft.
                word += f", '{bearing_joints(side)[k - 1].removeprefix(f'{side.name} ')}' in the loads"
            rows.append(
                (
                    f"{owner(facts, side)}{k}, {word}",
                    s.kind,
                    size(s.out),
                    size(s.out - c.ends[0]),
                    s.on,
                    f"place: {source(m, f'crank.bearings.{k}')}; kind: "
                    f"{source(m, f'crank.bearings.{k}.kind')}",
                )
            )
    head = ("bearing", "kind", "middle, out", "from the bar's inner end", "held by", "source")
    return Table(BEARINGS, (head, *rows), alike(facts).strip())


def drive_table(facts: Facts) -> Table | None:
    """Give the drive's shafts; None without a stage."""
    m = facts.mechanism
    rows: list[tuple[str, ...]] = []
    for k, bar in enumerate(drive_shafts(m)):
        shaft, field = (
            (m.wheel.shaft, "wheel.shaft") if k == 0 else (m.stages[k - 1].shaft, f"stage.{k}.shaft")
        )
        name = "wheel shaft" if k == 0 else "centre shaft" if k == len(m.stages) else f"shaft after stage {k}"
        # Only what is on it is known: ends beyond bearings and hubs are the shop's.
        rows.append(
            (
                name,
                size(shaft.diameter),
                f"{sided(bar.low)} to {sided(bar.high)}",
                size(bar.high - bar.low),
                " and ".join(sided(b) for b in shaft.bearings),
                f"diameter: {source(m, f'{field}.diameter')}; bearings: {source(m, f'{field}.bearings.1')}",
            )
        )
    if not rows:
        return None
    head = (
        "shaft",
        "diameter",
        "from the first to the last of what it carries, mm out",
        "that is",
        "bearings, mm out",
        "source",
    )
    return Table(
        DRIVE,
        (head, *rows),
        "Middles of wheel, sprockets, couplings and bearings: add half of the outermost hub or bearing at "
        "each end, and what collars and keys take.",
    )


def keyway_table(facts: Facts) -> Table:
    """Give the keyways, or say that none are described."""
    m = facts.mechanism
    if len(m.sides) < 2:
        return Table(KEYWAYS, (("keyway", "angle"), ("one side only", "nothing to align")))
    keys = m.keyways
    if keys is None:
        words = (
            "not described: measure both crankshafts' keyways, write [keyways], then cut the centre shaft's"
        )
        return Table(KEYWAYS, (("keyway", "angle"), ("all", words)))
    rows = [
        ("left crankshaft, from its direction of throw angle 0", turned(keys.left), GIVEN),
        ("right crankshaft, from its direction of throw angle 0", turned(keys.right), GIVEN),
        *(
            (f"centre shaft, {n}, from its mark", turned(a), GIVEN)
            for n, a in zip(("left", "right"), keys.centre or (), strict=False)
        ),
        ("each of these may be off by", turned(keys.measured), source(m, "keyways.measured")),
    ]
    said = found(KEYWAYS, clocking.of_keyways(m)).rows[1:]
    rows += [(what, value, f"{notes}") for _, what, value, _, notes in said]
    return Table(
        KEYWAYS,
        (("keyway", "angle", "source, notes"), *rows),
        "Counter-clockwise seen with the end nearer the left wing toward you: a left crankshaft's outer end, "
        "a right one's inner end, the centre shaft's left end. The two keyways of a coupling count as in line "
        "with each other (assumption: measure them). Keyways of the wheel's and the drive's hubs are free: they "
        "align nothing.",
    )


def weight_tables(facts: Facts) -> tuple[Table, ...]:
    """Give for each counterweight what plates it can be cut from; none where there are none."""
    made: list[Table] = []
    for side in sides(facts):
        for k, w in enumerate(side.crank.weights, 1):
            sizes = [x for system in ("metric", "inch") for x in plate_stock(system)]
            rows = _cut(w, side.crank, sizes, arm_free(facts.mechanism, side, w.out))
            head = (
                "plate",
                "square plate: edge",
                "its inner edge, outer corners from the axis",
                "segment of a disc: outside radius",
                "its width, height",
                "chord from the axis",
            )
            many = "" if len(side.crank.weights) == 1 else f"number {k}, "
            place = f"{size(w.radius)}, {turned(w.angle)}, {size(w.out)} out"
            title = f"{WEIGHTS}: {owner(facts, side)}{many}{shown(w.mass, 'mass')} at {place}"
            made.append(Table(title, (head, *rows), _weight_note(side.crank) + alike(facts)))
    return tuple(made)


def arm_free(m: Mechanism, side: Side, out: float) -> float:
    """Give the radius, m, that is free of the bearing arm at a place along a side's shaft; infinite beside none."""
    arm = m.structure.arm
    if arm is None:
        return math.inf
    root = arm_root(m)
    beside = any(root <= way * out <= root + long for way, long in arm_reach(m, side).items())
    return max(0.0, math.hypot(arm.up, arm.forward) - arm.outside / 2) if beside else math.inf


def fault(plate: SquarePlate | Segment, shaft: float, free: float) -> str:
    """Say what a counterweight's plate reaches, or "": the shaft of a diameter, m, or what leaves a radius, m, free."""
    if plate.nearest < shaft / 2:
        return "reaches into the shaft"
    return "reaches the arm" if plate.farthest >= free else ""


def _cut(w: Weight, c: Crankshaft, sizes: Sequence[PlateSize], free: float) -> Iterator[tuple[str, ...]]:
    """Give what a counterweight can be cut from, and what cannot be."""
    density = c.material.density
    if w.mass <= 0:
        yield ("none: its mass is nothing", "", "", "", "", "")
        return
    any_fits = False
    for stock in sizes:
        plate = square_plate(w.mass, w.radius, stock.thickness, density)
        disc = segment(w.mass, w.radius, stock.thickness, density)
        square = (size(plate.side), f"{size(plate.nearest)}, {size(plate.farthest)}")
        round_ = (size(disc.outside), f"{size(disc.width)}, {size(disc.height)}", size(disc.nearest))
        faults = fault(plate, c.shaft, free), fault(disc, c.shaft, free)
        if faults[0]:
            square = (faults[0], "")
        if faults[1]:
            round_ = (faults[1], "", "")
        if not all(faults):
            any_fits = True
            yield (stock.label, *square, *round_)
    if not any_fits:
        yield ("no stock thickness clears shaft and arm: pack plates", "", "", "", "", "")


def _weight_note(c: Crankshaft) -> str:
    return (
        f"Of {c.material.name}, {shown(c.material.density, 'density')}: the crankshaft's stock "
        "(assumption). Mass and centre of gravity are the counterweight's, holes and fastening not taken "
        "off: weigh it, and trim. Its radius is that of its centre of gravity. Clearances were found with "
        "a ball of this mass, the smallest that it can be: check what is farthest from the axis against "
        "hinges, rods, post, webs and brackets; only shaft and bearing arm are looked at here. Closed "
        "forms: area = mass / (density thickness), half chord^3 = 3/2 area radius. Thicknesses: common "
        "practice, no source."
    )
