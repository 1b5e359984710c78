"""Keys: their section by the shaft, their length by torque, in shear and by the pressure on their sides.

The worst torque met counts with the wanted margin, the upper bound with a panel or crank blocked as it is. Metric keys
have round ends, which do not carry; inch keys are cut from square bar.
"""

import math
from dataclasses import dataclass, replace

from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Table, line
from analysis.parts.hubs import Hub, hubs, slips, torque
from analysis.parts.worst import Worst, bound, met
from models.materials import Material, material
from models.mechanism import Mechanism
from models.parts.catalogue import SYSTEMS
from models.parts.keys import KEYS, Key, for_shaft
from models.shown import shown

KEY = "key"
STOCK = material("A36 steel")
"""What keys are taken to be of: key steel is at least as strong as this; assumption."""
SHEAR = 1 / math.sqrt(3)
"""Yield in shear over that in tension, von Mises."""
LONGEST = 1.5
"""Length of a key over its shaft's diameter, at most."""
FORMULA = "2 T / (d b l) and 2 T / (d t l); Shigley, 9th ed., sec. 7-7 (read second hand)"
RULE = "not above 1.5 shaft diameters, lest the far end carries nothing (read in a course page)"
TOO_SHORT = (
    "no key as long as the shaft allows will do: two keys opposite each other carry up to twice as much, "
    "else a thicker "
    "shaft, stronger stock, or a torque limiter; common practice, no source"
)
LENGTHS = (6, 8, 10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 36, 40, 45, 50, 56, 63, 70, 80, 90, 100)
"""Lengths of metric keys, mm: DIN 6885-1 (memory; the least and the longest of a section read second hand)."""
STEP = 0.25 * 0.0254
"""Steps in which inch key bar is cut, m; assumption."""


@dataclass(frozen=True)
class KeyLength:
    """A key of a length.

    Attributes
    ----------
    size, system, source : as of all families.
    key : its section.
    length : over all, m.
    """

    size: str
    system: str
    source: str
    key: Key
    length: float

    @property
    def carries(self) -> float:
        """The length that carries, m: between round ends for metric keys, all of an inch key."""
        return self.length - self.key.width if self.system == "metric" else self.length


def lengths(key: Key, shaft: float) -> tuple[KeyLength, ...]:
    """Give the lengths of a key, shortest first, up to the first that is too long for its shaft.

    Parameters
    ----------
    key : its section.
    shaft : diameter, m.
    """
    if key.system == "metric":
        low, high = key.shortest or 0.0, key.longest or math.inf
        sizes = [(n / 1000, f"{key.size} x {n}") for n in LENGTHS if low - 1e-9 <= n / 1000 <= high + 1e-9]
    else:
        sizes = [(k * STEP, f"{key.size} x {k * 0.25:g} in") for k in range(2, 25)]
    fitting = [(n, size) for n, size in sizes if n <= LONGEST * shaft]
    chosen = sizes[: len(fitting) + 1]
    return tuple(KeyLength(size, key.system, key.source, key, n) for n, size in chosen)


def key_stresses(
    torque: float, shaft: float, width: float, side: float, length: float
) -> tuple[float, float]:
    """Give the shear stress in a key and the pressure on its side, Pa.

    Parameters
    ----------
    torque : N m.
    shaft : diameter, m.
    width : of the key, m.
    side : depth in which its side bears, m.
    length : that carries, m.

    Returns
    -------
    2 T / (d b l) and 2 T / (d t l): the force acts at the shaft's surface.
    """
    force = 2 * torque / shaft
    return force / (width * length), force / (side * length)


@dataclass(frozen=True)
class _Carried:
    """Hubs that are alike with what they carry."""

    where: str
    hubs: tuple[Hub, ...]
    met: Worst | None
    bound: Worst | None
    slip: tuple[float, str] | None

    @property
    def most(self) -> float | None:
        """The bound with a part blocked, N m, less where something slips before."""
        if self.bound is None:
            return None
        return self.bound.value if self.slip is None else min(self.bound.value, self.slip[0])


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give a key for every hub that has one, hubs of mirrored sides together."""
    found: list[Line] = []
    for carried in _carried(basis):
        if _keyed(basis.mechanism, carried.hubs[0]) and (carried.met or carried.bound):
            found += [x for system in SYSTEMS if (x := _line(basis, carried, system)) is not None]
    return tuple(found)


def tables(basis: Basis) -> tuple[Table, ...]:
    """Give the torque at every hub and the section of its key."""
    rows: list[tuple[str, ...]] = [
        (
            "hub",
            "shaft",
            "worst torque met",
            "case",
            "blocked: upper bound",
            "slips before",
            "metric key",
            "inch key",
        )
    ]
    for c in _carried(basis):
        hub = c.hubs[0]
        sections = [for_shaft(basis.series(KEYS, system), hub.shaft) for system in SYSTEMS]
        keyed = _keyed(basis.mechanism, hub)
        rows.append((
            c.where, shown(hub.shaft, "length"),
            "not known" if c.met is None else shown(c.met.value, "torque"), "" if c.met is None else c.met.case,
            "not known" if c.bound is None else shown(c.bound.value, "torque"),
            "nothing" if c.slip is None else f"{c.slip[1]}, {shown(c.slip[0], 'torque')} here",
            *(_no_key(hub) if not keyed else "none in the table" if k is None else k.size for k in sections),
        ))  # fmt: skip
    note = (
        "A clamped hub holds by friction and has no key to shear; what slips before bounds a push at the "
        "wheel, not wind or "
        "people on a locked wing. The shaft beside its keyseat is judged with the crankshafts. Hubs are "
        "keyed unless said."
    )
    return (Table("Torque at the hubs", tuple(rows), note),)


def _keyed(m: Mechanism, hub: Hub) -> bool:
    """Say whether a hub sits on a key.

    All do but those on crankshafts whose keyseat is described as none, and those that shall slip: a key would hold
    them, and with that the bound on all that comes after.
    """
    if hub.slip is not None:
        return False
    on_crank = hub.name.endswith("crankshaft") or (hub.kind == "wheel" and not m.stages)
    return not on_crank or m.sides[0].crank.making.keyseat != "none"


def _no_key(hub: Hub) -> str:
    return (
        "none: keyseat described as none" if hub.slip is None else "NONE: it shall slip, a key would hold it"
    )


def _carried(basis: Basis) -> list[_Carried]:
    m, loads = basis.mechanism, basis.loads
    found: list[_Carried] = []
    for hub in hubs(m):
        one = _Carried(
            hub.name,
            (hub,),
            met(loads, lambda run, h=hub: torque(run, m, h)),
            bound(loads, lambda run, h=hub: torque(run, m, h)),
            slips(m, hub),
        )
        found.append(one)
    return _together(found) if loads.mirrored else found


def _together(found: list[_Carried]) -> list[_Carried]:
    """Join the hubs of mirrored sides, with the worse of both."""
    kept: dict[str, _Carried] = {}
    for c in found:
        side = c.hubs[0].side
        where = c.where.removeprefix(f"{side} ") if side else c.where
        if where not in kept:
            kept[where] = replace(c, where=where)
            continue
        before = kept[where]
        kept[where] = _Carried(where, (*before.hubs, *c.hubs), _worse(before.met, c.met), _worse(before.bound, c.bound),
                               before.slip)  # fmt: skip
    return list(kept.values())


def _worse(a: Worst | None, b: Worst | None) -> Worst | None:
    return max((x for x in (a, b) if x is not None), key=lambda x: x.value, default=None)


def _line(basis: Basis, c: _Carried, system: str) -> Line | None:
    m, hub = basis.mechanism, c.hubs[0]
    key = for_shaft(basis.series(KEYS, system), hub.shaft)
    if key is None:
        return None
    stock = m.sides[0].crank.material if hub.name.endswith("crankshaft") else m.drive_stock
    rows = lengths(key, hub.shaft)

    def checks(row: KeyLength) -> tuple[Check, ...]:
        found: list[Check] = []
        if c.met is not None:
            found += _stands(row, hub, c.met.value, stock, m.use.margin, c.met.case, c.met.crank, "")
        if c.most is not None and c.bound is not None:
            found += _stands(row, hub, c.most, stock, 1.0, c.bound.case, c.bound.crank, _why(c))
        found.append(Check("length of the key", row.length, LONGEST * hub.shaft, "length", "geometry", RULE))
        return tuple(found)

    found = line(KEY, c.where, rows, checks, system=system, count=len(c.hubs), notes=_notes(hub, system, key))
    if found.chosen is None:
        found = replace(found, notes=(*found.notes, TOO_SHORT))
    return found


def _stands(
    row: KeyLength,
    hub: Hub,
    turned: float,
    stock: Material,
    margin: float,
    case: str,
    crank: float | None,
    note: str,
) -> list[Check]:
    sheared, pressed = key_stresses(turned, hub.shaft, row.key.width, row.key.side, row.carries)
    weakest = min(stock.strength, STOCK.strength)
    over = f" over {margin:g}" if margin != 1 else ""
    blocked = ", blocked: upper bound" if note else ""
    return [
        Check(f"shear of the key{blocked}", sheared, SHEAR * STOCK.strength / margin, "stress", case,
              f"{FORMULA}; .577 fy of {STOCK.name}{over} (key steel at least as strong: assumption)", crank, note),
        Check(f"pressure on its side{blocked}", pressed, weakest / margin, "stress", case,
              f"{FORMULA}; yield of the weakest of key, shaft and hub, the hub as the shaft "
              f"(assumption){over}", crank, note),
    ]  # fmt: skip


def _why(c: _Carried) -> str:
    if c.bound is None:
        return ""
    if c.slip is not None and c.slip[0] < c.bound.value:
        slip, most = shown(c.slip[0], "torque"), shown(c.bound.value, "torque")
        return f"{c.slip[1]} slips at {slip} here, before the {most} of the bound"
    return f"{shown(c.bound.value, 'torque')}: nothing slips before"


def _notes(hub: Hub, system: str, key: Key) -> tuple[str, ...]:
    ends = "round ends, which carry nothing" if system == "metric" else "cut square from bar"
    fit = (
        f"section by the shaft of {shown(hub.shaft, 'length')}; {ends}; the hub must be as long as the key at least",
        f"its side bears {shown(key.side, 'length')} deep, chamfers not taken off; a drive that reverses "
        f"wants the close fit "
        "(P9) and a set screw, or it hammers loose: common practice, no source",
    )
    if hub.kind == "coupling":
        return (
            *fit,
            "a clamp coupling without a key holds by its bolts alone: then its maker's slip torque counts",
        )
    return fit
