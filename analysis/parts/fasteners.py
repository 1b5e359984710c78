"""Groups of bolts, as far as the description knows them: the wheel on its hub, and bearing housings on their supports.

What the description does not know of (couplings, sprockets on hubs, yokes, the post's foot) is listed, not guessed.
"""

import math

import numpy as np

from analysis.bearing_loads import LARGEST
from analysis.drive_line import PEAK
from analysis.finding import Finding
from analysis.parts.basis import Basis
from analysis.parts.bolt_group import bolt_checks, bolt_circle, resists, shears, worst_bolt
from analysis.parts.choice import Check, Line, Table, line
from analysis.parts.hubs import hubs, slips, torque
from analysis.parts.worst import bound, met
from models.parts.catalogue import SYSTEMS
from models.parts.fasteners import FASTENERS, Fastener
from models.people import people
from models.shown import shown
from sim import names
from sim.mass import wheel_mass

WHEEL, HOUSING = "wheel bolt", "bearing housing bolt"
FEET, HEIGHT = 4.0, 1.5
"""Distance of a housing's two bolts, and height of the shaft above its feet, over the shaft's diameter: about those of
two-bolt pillow blocks for shafts of 20 to 40 mm; assumption."""
BOLTS = 2
"""Of a housing; assumption."""
LEANS = "adult"
"""Who pushes sideways at the wheel's rim, as hard as along it; assumption."""


def lines(basis: Basis) -> tuple[Line, ...]:
    """Give the bolts of the wheel's hub and of all bearing housings."""
    found = [_wheel(basis, system) for system in SYSTEMS] if basis.mechanism.wheel.kind == "disc" else []
    for joints, where, shaft in _housings(basis):
        found += [x for system in SYSTEMS if (x := _housing(basis, joints, where, shaft, system)) is not None]
    return tuple(found)


def tables(basis: Basis) -> tuple[Table, ...]:
    """List the bolted joints of which nothing is known."""
    m = basis.mechanism
    rows: list[tuple[str, ...]] = [("joint", "carries at most", "what is not known")]
    for side in m.sides:
        own = m.sides if basis.loads.mirrored else (side,)
        f = _most([basis.loads.met.get((names.coupling(s.name), PEAK)) for s in own])
        kind = side.crank.coupling.kind
        rows.append((f"{names.coupling(side.name)} ({kind})", "not known" if f is None else f.shown,
                     "its bolts or set screws: its maker's sheet says size and tightening torque"))  # fmt: skip
    for hub in hubs(m):
        if hub.kind in ("driver", "driven"):
            worst = met(basis.loads, lambda run, h=hub: torque(run, m, h))
            rows.append((f"sprocket on {hub.name}", "not known" if worst is None else shown(worst.value, "torque"),
                         "welded or bolted, and on which circle: nothing describes it"))  # fmt: skip
    if m.wheel.kind == "handle":
        rows.append(
            ("handle on its shaft", "see the wheel's hub among the keys", "how the arm is clamped or bolted")
        )
    rows.append(("yokes on panels, post on its foot, arms on the post", "the joints' forces are in the study",
                 "their bolts or welds: for the structural engineer"))  # fmt: skip
    return (Table("Bolted joints that are not described", tuple(rows),
                  "Not guessed here. Ask the maker of the part, or the engineer who answers for the "
                  "structure."),)  # fmt: skip


# --- The wheel on its hub ---


def _wheel(basis: Basis, system: str) -> Line:
    m, b = basis.mechanism, basis.mechanism.bolting
    hub = hubs(m)[0]
    worst, most = (of(basis.loads, lambda run: torque(run, m, hub)) for of in (met, bound))
    weight = wheel_mass(m.wheel).mass * m.gravity
    places = bolt_circle(b.wheel, b.circle)
    side = people()[LEANS].push
    # Tilted about a line through the middle: the farthest bolt is pulled by M r / sum of r cos squared, 2 M / (n r).
    pull = 2 * side * m.wheel.radius / (b.wheel * b.circle / 2)
    grade = b.grade if system == "metric" else "grade 5"
    margin = m.use.margin

    def checks(row: Fastener) -> tuple[Check, ...]:
        found: list[Check] = []
        turned = 0.0 if worst is None else worst.value
        case, crank = ("standing still", None) if worst is None else (worst.case, worst.crank)
        stood = resists(row)
        shear = most_sheared(places, margin * weight, margin * turned)
        found += bolt_checks(row, type(stood)(shear, margin * pull), case, crank,
                             f"loads times {margin:g}: torque, weight, and {shown(side, 'force')} sideways "
                             f"at the rim")  # fmt: skip
        if most is not None:
            limit = slips(m, hub)
            held = most.value if limit is None else min(most.value, limit[0])
            alone = type(stood)(most_sheared(places, weight, held), 0.0)
            found += [
                Check("shear of the worst bolt, blocked: upper bound", alone.shear, stood.shear, "force", most.case,
                      "shared by the elastic method; resistance as of shear and pull", most.crank)
            ]  # fmt: skip
        return tuple(found)

    return line(
        WHEEL, "wheel on its hub", basis.series(FASTENERS, system, grade=grade), checks, system=system, count=b.wheel,
        notes=(
            f"{grade}; {b.wheel} on a circle of {shown(b.circle, 'length')}, as described or assumed "
            f"([fasteners] wheel, "
            "circle); a wheel that is welded to its hub has none",
            "somebody who pushes sideways at the rim as hard as an adult pushes along it: assumption; "
            "people who climb on "
            "the wheel are not counted",
        ),
    )  # fmt: skip


def most_sheared(places: tuple[tuple[float, float], ...], force: float, moment: float) -> float:
    """Give the largest shear of a bolt, N, for a force through the middle, N, which may come from any side of the
    turning wheel, and a torque, N m.
    """  # noqa: D205
    ways = np.linspace(0, 2 * math.pi, 72, endpoint=False)
    return max(
        float(
            np.max(np.linalg.norm(shears(places, (force * math.cos(a), force * math.sin(a)), moment), axis=1))
        )
        for a in ways
    )


# --- Bearing housings ---


def _housings(basis: Basis) -> list[tuple[tuple[str, ...], str, float]]:
    """Give all bearings: joints that are alike, where, and their shaft's diameter."""
    m = basis.mechanism
    found: list[tuple[tuple[str, ...], str, float]] = []
    by_side = [_of_crank(side.name, len(side.crank.stations)) for side in m.sides]
    shafts = [side.crank.shaft for side in m.sides]
    if basis.loads.mirrored:
        first = m.sides[0].name
        found += [
            (joints, joints[0].removeprefix(f"{first} "), shafts[0]) for joints in zip(*by_side, strict=True)
        ]
    else:
        found += [((j,), j, shaft) for joints, shaft in zip(by_side, shafts, strict=True) for j in joints]
    for k in range(len(m.stages) + 1 if m.stages else 0):
        shaft = m.wheel.shaft if k == 0 else m.stages[k - 1].shaft
        for which in (0, 1):
            name = names.shaft_bearing(k, len(m.stages), which)
            found.append(((name,), name, shaft.diameter))
    return found


def _of_crank(side: str, count: int) -> tuple[str, ...]:
    further = tuple(names.further(side, k) for k in range(3, count + 1))
    return (names.locating(side), names.radial(side), *further)


def _housing(basis: Basis, joints: tuple[str, ...], where: str, shaft: float, system: str) -> Line | None:
    m = basis.mechanism
    worst = _most([basis.loads.met.get((j, LARGEST)) for j in joints])
    if worst is None:
        return None
    force = m.use.margin * worst.value
    half = FEET * shaft / 2
    places = ((0.0, -half), (0.0, half))
    grade = m.bolting.grade if system == "metric" else "grade 5"
    note = f"force times {m.use.margin:g}, from its worst side"

    def checks(row: Fastener) -> tuple[Check, ...]:
        load = worst_bolt(places, force, 0.0, 0.0, resists(row), HEIGHT * shaft)
        return bolt_checks(row, load, basis.loads.case(worst), worst.crank, note)

    blocked = _most([basis.loads.bound.get((j, LARGEST)) for j in joints])
    notes = [
        f"{grade}; {BOLTS} a housing, {shown(2 * half, 'length')} apart across the shaft, which lies "
        f"{shown(HEIGHT * shaft, 'length')} above its feet: about as pillow blocks of that bore have them; assumption",
        "a housing's own slots ask for a thread: take that where it is thicker",
    ]
    if blocked is not None:
        notes.append(f"with a panel or crank blocked up to {blocked.shown}: an upper bound in which only a "
                     f"rod gives, bounded "
                     "by a torque limiter or a slipping hub; it does not choose the size")  # fmt: skip
    return line(HOUSING, where, basis.series(FASTENERS, system, grade=grade), checks, system=system,
                count=BOLTS * len(joints), notes=tuple(notes))  # fmt: skip


def _most(found: list[Finding | None]) -> Finding | None:
    return max((f for f in found if f is not None), key=lambda f: f.value, default=None)
