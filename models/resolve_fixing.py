"""How what moves is held, settled: hinges, bolts and the lock.

Lengths that shape a hinge's leaf are noted as texts: they move neither the motion nor the feel of the wheel, which
is what numbers left open are weighed by.
"""

from models.drive import Wheel
from models.fixing import Bolting, Hinges, Lock
from models.parts.catalogue import catalogue
from models.parts.fasteners import FASTENERS
from models.sculpture_fixing import Fasteners
from models.sculpture_fixing import Hinges as HingesTable
from models.settling import ASSUMED, Settling
from models.units import quantity

CIRCLE = 0.7
"""Share of the hub's diameter on which the wheel's bolts sit."""
RIM = 0.8
"""Share of the wheel's radius at which a pin locks it."""
EXACT = 2e-5
"""How far a bolt's diameter may be off a thread's, m: inches as they are rounded to millimetres."""
CRANK_RADIUS = "100 mm"
"""Radius at which a pin locks a crankshaft, in a disc or an arm keyed to it."""


def hinges(s: Settling) -> Hinges:
    """Settle the hinges."""
    h = s.sculpture.hinges or HingesTable()
    usual = Hinges()
    if h.bolt is not None and not any(abs(f.diameter - h.bolt) < EXACT for f in catalogue(FASTENERS)):
        near = min(catalogue(FASTENERS), key=lambda f: abs(f.diameter - h.bolt) if h.bolt else 0.0)
        s.faults.append(f"hinges.bolt: there is no coarse thread of that diameter; the nearest is {near.size}, "
                        f'write bolt = "{1000 * near.diameter:.6g} mm"')  # fmt: skip
    made = s.stock(h.material, "hinges.material", "A36 steel")
    plates = tuple(
        s.stock(p.material or s.sculpture.material, "material", "A36 steel") for p in s.sculpture.panel
    )
    if h.span is None:
        s.note(
            "hinges.span",
            "0.8 of the hinge edge",
            ".8 of the part of the edge that both panels share; assumption",
        )
    return Hinges(
        material=made,
        plates=plates,
        count=int(s.number(h.count, "hinges.count", usual.count, "count")),
        span=h.span,
        knuckles=int(s.number(h.knuckles, "hinges.knuckles", usual.knuckles, "count",
                              "the pin in double shear; assumption")),
        knuckle=_length(s, h.knuckle, "hinges.knuckle", "30 mm"),
        gap=_length(s, h.gap, "hinges.gap", "1 mm"),
        wear=h.wear,
        leaf=_length(s, h.leaf, "hinges.leaf", "5 mm"),
        bolts=int(s.number(h.bolts, "hinges.bolts", usual.bolts, "count")),
        bolt=h.bolt,
        reach=_length(s, h.reach, "hinges.reach", "25 mm"),
        rows=_length(s, h.rows, "hinges.rows", "25 mm"),
        pitch=_length(s, h.pitch, "hinges.pitch", "40 mm"),
        edge=_length(s, h.edge, "hinges.edge", "15 mm"),
    )  # fmt: skip


def bolting(s: Settling, wheel: Wheel) -> Bolting:
    """Settle what is common to the bolts; the wheel's are those of its hub, else a share of it."""
    f = s.sculpture.fasteners or Fasteners()
    usual = Bolting()
    if f.grade is None:
        s.note("fasteners.grade", usual.grade, "stainless, as it stands outdoors; assumption")
    if wheel.bolts:
        # The hub's own holes are what the shop drills: the same bolts cannot sit anywhere else.
        if f.wheel not in (None, wheel.bolts):
            s.faults.append(
                f"fasteners.wheel: wheel.hub has {wheel.bolts} bolts; write the same, or one of both"
            )
        if f.circle is not None and abs(f.circle - wheel.circle) > EXACT:
            s.faults.append("fasteners.circle: wheel.hub has another circle; write the same, or one of both")
        return Bolting(f.grade or usual.grade, wheel.bolts, wheel.circle)
    circle = CIRCLE * wheel.hub_diameter
    if f.circle is None:
        s.note("fasteners.circle", f"{1000 * circle:.6g} mm", f"{CIRCLE:g} of the hub's diameter; assumption")
    elif f.circle >= 2 * wheel.radius:
        s.faults.append("fasteners.circle: the wheel's bolts lie outside it; write a circle within the wheel")
    return Bolting(
        f.grade or usual.grade,
        int(s.number(f.wheel, "fasteners.wheel", usual.wheel, "count")),
        circle if f.circle is None else f.circle,
    )


def lock(s: Settling, wheel: Wheel) -> Lock | None:
    """Settle the lock, if there is one."""
    x = s.sculpture.lock
    if x is None:
        return None
    if x.at == "wheel" and x.radius is not None and x.radius >= wheel.radius:
        s.faults.append("lock.radius: the pin lies outside the wheel; write less than its radius")
    text = f"{1000 * RIM * wheel.radius:.6g} mm" if x.at == "wheel" else CRANK_RADIUS
    if x.shear is None:
        s.note("lock.shear", "single")
    return Lock(
        x.at,
        _length(s, x.radius, "lock.radius", text),
        x.pin,
        2 if x.shear == "double" else 1,
        _length(s, x.plate, "lock.plate", "10 mm"),
        _length(s, x.gap, "lock.gap", "2 mm"),
    )


def _length(s: Settling, given: float | None, name: str, text: str) -> float:
    if given is not None:
        return given
    s.note(name, text, ASSUMED)
    return quantity(text, "length")
