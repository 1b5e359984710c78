"""What sits on each shaft in which order, and what must come off for a part to be slid off an end.

Places count along the shaft. What is welded (the throws of a crankshaft) never comes off: a part between two of them
can only be opened where it sits.
"""

from dataclasses import dataclass

from models.mechanism import Mechanism, Side
from sim import names
from sim.shaft.crank import bearing_joints


@dataclass(frozen=True)
class Item:
    """A part on a shaft.

    Attributes
    ----------
    name : in words.
    kind : "bearing", "throw", "coupling", "sprocket", "wheel" or "weight".
    out : its middle along the shaft, m.
    half : half its width along the shaft, m; 0 where it is not described.
    """

    name: str
    kind: str
    out: float
    half: float = 0.0

    @property
    def fixed(self) -> bool:
        """Whether it is welded on."""
        return self.kind == "throw"


@dataclass(frozen=True)
class OnShaft:
    """A shaft with what sits on it.

    Attributes
    ----------
    name : in words.
    items : by place.
    ends : of its bar, m, or None where they are not described.
    """

    name: str
    items: tuple[Item, ...]
    ends: tuple[float, float] | None

    def before(self, item: Item) -> tuple[Item, ...]:
        """Give what sits between an item and the shaft's low end, the nearest to the item first."""
        return tuple(x for x in reversed(self.items) if x.out < item.out)

    def beyond(self, item: Item) -> tuple[Item, ...]:
        """Give what sits between an item and the shaft's high end, the nearest to the item first."""
        return tuple(x for x in self.items if x.out > item.out)


@dataclass(frozen=True)
class WayOff:
    """How a part comes off.

    Attributes
    ----------
    slides : whether it can be slid off an end.
    off : what has to come off first, from that end inwards.
    end : by which it comes off, "low" or "high"; "" where it does not slide.
    trapped : what is welded between it and the nearer end on either side; empty where it slides.
    """

    slides: bool
    off: tuple[Item, ...]
    end: str = ""
    trapped: tuple[Item, ...] = ()


def way_off(shaft: OnShaft, item: Item) -> WayOff:
    """Give the way off a shaft that takes least: by the end that nothing welded bars, with fewer parts before it.

    Parameters
    ----------
    shaft : with all that sits on it.
    item : one of its items.
    """
    ways = {"low": shaft.before(item), "high": shaft.beyond(item)}
    free = {end: way for end, way in ways.items() if not any(x.fixed for x in way)}
    if not free:
        first = tuple(next(x for x in way if x.fixed) for way in ways.values())
        return WayOff(False, (), trapped=first)
    end = min(free, key=lambda e: len(free[e]))
    return WayOff(True, tuple(reversed(free[end])), end)


def room(shaft: OnShaft, item: Item) -> tuple[float, float]:
    """Give how far a part can be slid along its shaft before it meets the next, m: toward the low and the high end.

    Beyond the last part it is as far as the bar reaches; infinite where its end is not described.
    """
    low, high = shaft.before(item), shaft.beyond(item)
    ends = shaft.ends or (-float("inf"), float("inf"))
    down = item.out - item.half - (low[0].out + low[0].half if low else ends[0])
    up = (high[0].out - high[0].half if high else ends[1]) - item.out - item.half
    return max(0.0, down), max(0.0, up)


def crankshaft(side: Side) -> OnShaft:
    """Give a crankshaft, places outwards from the post's axis: coupling, bearings, throws and counterweights.

    A coupling's half on it begins at its inner end and is taken to be as long as the shaft is thick; assumption.
    """
    c = side.crank
    half = c.shaft / 2
    items = [Item(f"{side.name} coupling", "coupling", c.ends[0] + half, half)]
    for name, station in zip(bearing_joints(side), c.stations, strict=True):
        items.append(Item(name, "bearing", station.out, station.length / 2))
    items += [Item(f"{p.name} throw", "throw", p.throw_out, c.cheek.half) for p in side.panels]
    items += [Item("counterweight", "weight", w.out) for w in c.weights]
    return OnShaft(names.crankshaft(side.name), tuple(sorted(items, key=lambda x: x.out)), c.ends)


def drive_shafts(m: Mechanism) -> tuple[OnShaft, ...]:
    """Give the drive's shafts, places along y: bearings, sprockets, wheel, couplings at the centre shaft's ends."""
    count = len(m.stages)
    found: list[OnShaft] = []
    for k in range(count + 1 if count else 0):
        shaft = m.wheel.shaft if k == 0 else m.stages[k - 1].shaft
        items = [
            Item(names.shaft_bearing(k, count, which), "bearing", shaft.bearings[which]) for which in (0, 1)
        ]
        if k == 0:
            items.append(Item(names.WHEEL, "wheel", m.wheel.out, m.wheel.thickness / 2))
        for number, word in ((k, "driven"), (k + 1, "driver")):
            if 1 <= number <= count:
                stage = m.stages[number - 1]
                items.append(Item(f"stage {number} {word} sprocket", "sprocket", stage.out, stage.width / 2))
        if k == count:
            # Each crankshaft's inner end is where the centre shaft's end meets it: both halves sit there.
            items += [Item(names.coupling(s.name), "coupling", s.sign * s.crank.ends[0]) for s in m.sides]
        name = names.WHEEL_SHAFT if k == 0 else names.stage_shaft(k, count)
        found.append(OnShaft(name, tuple(sorted(items, key=lambda x: x.out)), None))
    return tuple(found)
