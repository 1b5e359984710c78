"""Where a built-up crankshaft is cut to look at its stress, and what each cut carries.

Cuts of the shaft stand at its bearings, mid-span, counterweights and ends, over the keyseat, and at the faces of the
webs, where welds end; cuts of pins and webs at the same welds and in the middle of a pin. Between them the moment is
at most a little larger, by the bar's own weight. The frame runs to the middle of a web's thickness and to the axes of
shaft and pin: the cuts lie off by half the thickness, and by half the bar.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from models.mechanism import Panel, Side
from sim.arrays import Array
from sim.shaft.crank import NEAR, CrankFrame, crank_frame

Part = Literal["shaft", "pin", "web"]
Kind = Literal["plain", "keyseat", "weld"]
SECTION = (5, 3, 4)
"""Where a section's moments about x, y and z are among what a member carries: its y runs along the member as the
member's x does, its z is the member's y and its x the member's z."""
TENSION = 0


@dataclass(frozen=True)
class Cut:
    """A place of a crankshaft.

    Attributes
    ----------
    part : which it cuts.
    label : in words.
    out : place along the shaft, m.
    kind : "plain", "keyseat", or "weld" where a weld's toe is.
    places : numbers of members and the share, 0 to 1, of the way along each: more than one where loads jump, or where
        the worst of a stretch is meant.
    """

    part: Part
    label: str
    out: float
    kind: Kind
    places: tuple[tuple[int, float], ...]


def carried(loads: Array, member: int, share: float) -> tuple[Array, Array]:
    """Give the moment (n, 3), N m, and axial force (n,), N, of a section as `analysis.strength.section` has them.

    Parameters
    ----------
    loads : (n, m, 2, 6) as `Bent.end_loads` gives them; between nodes they change along a straight line.
    member, share : which member, and how far along it.
    """
    here = (1 - share) * loads[:, member, 0] + share * loads[:, member, 1]
    return here[:, list(SECTION)], here[:, TENSION]


@lru_cache(maxsize=64)
def cuts(side: Side) -> tuple[Cut, ...]:
    """Give the cuts of a side's crankshaft from the inner end outwards."""
    frame = crank_frame(side)
    bars = _bars(frame)
    throws = sorted(side.panels, key=lambda p: p.throw_out)
    found: list[Cut] = [*_keyseat(side, bars[0])]
    for k, bar in enumerate(bars):
        before = throws[k - 1] if k > 0 else None
        after = throws[k] if k < len(throws) else None
        found += bar.cuts(frame, before, after, side.crank.cheek.thickness / 2)
        found += [] if after is None else _throw(frame, after)
    return tuple(found)


@dataclass(frozen=True)
class _Bar:
    """A bar of the shaft between two webs: numbers of its members, and where they begin and end, m."""

    members: tuple[int, ...]
    edges: tuple[float, ...]

    def at(self, out: float) -> tuple[tuple[int, float], ...]:
        """Give what lies at a place: a point of one member, or the ends of the two that meet there."""
        found: list[tuple[int, float]] = []
        for k, (a, b) in zip(self.members, pairwise(self.edges), strict=True):
            if a - NEAR <= out <= b + NEAR:
                share = min(1.0, max(0.0, (out - a) / (b - a)))
                found.append((k, share))
        return tuple(found)

    def cuts(
        self, frame: CrankFrame, before: Panel | None, after: Panel | None, half: float
    ) -> Iterator[Cut]:
        """Give its cuts; `half` is half a web's thickness."""
        start, end = self.edges[0], self.edges[-1]
        middle = (start + end) / 2
        if before is not None:
            out = min(start + half, middle)
            words = f"shaft at the outer web of panel '{before.name}'"
            yield Cut("shaft", words, out, "weld", self.at(out))
        # What sits in a web's own thickness is looked at where its weld ends.
        near = start - NEAR if before is None else start + half
        far = end + NEAR if after is None else end - half
        for words, out in _plain(frame):
            if near < out < far:
                yield Cut("shaft", words, out, "plain", self.at(out))
        if after is not None:
            out = max(end - half, middle)
            words = f"shaft at the inner web of panel '{after.name}'"
            yield Cut("shaft", words, out, "weld", self.at(out))


def _plain(frame: CrankFrame) -> list[tuple[str, float]]:
    """Give the words and places, inwards first, of what is looked at on the shaft besides welds and keyseat."""
    on = {s.label: s.out for s in frame.stations if frame.on_shaft[s.node]}
    found = [(f"shaft, {label}", out) for label, out in on.items()]
    found += [(f"shaft, counterweight {k}", w.out) for k, w in enumerate(frame.side.crank.weights, 1)]
    return sorted(found, key=lambda f: f[1])


def _bars(frame: CrankFrame) -> tuple[_Bar, ...]:
    """Give the bars of the shaft, from the inner end outwards."""
    found: list[list[int]] = [[]]
    for k, m in enumerate(frame.frame.members):
        if m.name == "shaft":
            found[-1].append(k)
        elif found[-1]:
            found.append([])
    y = frame.frame.nodes[:, 1]
    return tuple(
        _Bar(
            tuple(bar),
            tuple(float(y[k]) for k in (_ends(frame, bar[0])[0], *(_ends(frame, b)[1] for b in bar))),
        )
        for bar in found
        if bar
    )


def _ends(frame: CrankFrame, member: int) -> tuple[int, int]:
    m = frame.frame.members[member]
    return m.a, m.b


def _keyseat(side: Side, bar: _Bar) -> Iterator[Cut]:
    """Give the stretch that has the keyseat: from the inner end to the first bearing, or to the first web."""
    if side.crank.making.keyseat == "none":
        return
    start, end = bar.edges[0], bar.edges[-1]
    stop = min([s.out for s in side.crank.stations if start + NEAR < s.out < end], default=end)
    ends = [(k, share) for k, (a, b) in zip(bar.members, pairwise(bar.edges), strict=True)
            for share, at in ((0.0, a), (1.0, b)) if at <= stop + NEAR and a < stop - NEAR]  # fmt: skip
    yield Cut("shaft", "shaft, keyseat", stop, "keyseat", tuple(ends))


def _throw(frame: CrankFrame, panel: Panel) -> Iterator[Cut]:
    """Give the cuts of a throw's webs and pin."""
    c = frame.side.crank
    members = frame.frame.members
    name = f"panel '{panel.name}'"
    number = {m.name: k for k, m in enumerate(members) if not m.name.startswith("pin")}
    first, second = (k for k, m in enumerate(members) if m.name == f"pin of {name}")
    half = c.cheek.thickness / 2
    face = c.cheek.gap / 2

    def web(which: str, at: Literal["shaft", "pin"]) -> Cut:
        k = number[f"{which} web of {name}"]
        bar = (c.shaft if at == "shaft" else c.pin) / 2
        near = min(0.5, bar / members[k].length)
        # The inner web runs from the shaft to the pin, the outer one back.
        share = near if (at == "shaft") == (which == "inner") else 1 - near
        out = panel.throw_out + (face + half) * (1 if which == "outer" else -1)
        return Cut("web", f"{which} web of {name} at the {at}", out, "weld", ((k, share),))

    def pin(which: str) -> Cut:
        k, share = (first, half / members[first].length) if which == "inner" else (
            second, 1 - half / members[second].length)  # fmt: skip
        out = panel.throw_out + face * (1 if which == "outer" else -1)
        return Cut("pin", f"pin of {name} at its {which} web", out, "weld", ((k, share),))

    yield web("inner", "shaft")
    yield web("inner", "pin")
    yield pin("inner")
    yield Cut("pin", f"pin of {name}, middle", panel.throw_out, "plain", ((first, 1.0), (second, 0.0)))
    yield pin("outer")
    yield web("outer", "pin")
    yield web("outer", "shaft")
