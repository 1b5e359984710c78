"""From a description to a mechanism: which fields a question needs, and what the rest is taken to be."""

from models.drive import Stage
from models.mechanism import (
    LiftPoint,
    Mechanism,
    Off,
    Panel,
    Plate,
    PointMass,
    PostTube,
    Rod,
    Rubbing,
    Side,
)
from models.resolve_crank import crankshaft
from models.resolve_drive import limiter, wheel
from models.resolve_drive import stages as settled_stages
from models.resolve_fixing import bolting, hinges, lock
from models.resolve_keys import key_angles, keyways
from models.resolve_making import use
from models.resolve_rods import rod_making
from models.resolve_structure import structure
from models.sculpture import Difference, HingeLine, PanelDifference, Sculpture, Throw
from models.sculpture import Panel as PanelTable
from models.settling import PRACTICE, Settling
from models.settling import Lacking as Lacking

ABOVE = 0.15
"""How far a post reaches above the crank's axis unless its height is given, m."""


def mechanism(sculpture: Sculpture) -> Mechanism:
    """Settle every number of a sculpture.

    Raises
    ------
    Lacking
        When fields without a default are not given.
    DescriptionError
        When a value makes no mechanism.
    """
    s = Settling(sculpture)
    turned = wheel(s)
    sides = _sides(s, whole=True)
    crank = sculpture.crank
    height = s.need(crank.height if crank else None, "crank.height", 1.0)
    rubbing = _friction(s)
    ends = sculpture.rod_ends
    swivel = s.take(ends.swivel if ends else None, "rod_ends.swivel", "13 deg", "angle",
                    "standard series, 13 to 15 deg; memory")  # fmt: skip
    gravity = s.take(sculpture.site.gravity if sculpture.site else None, "site.gravity", "9.81 m/s2",
                     "acceleration", PRACTICE)  # fmt: skip
    found = settled_stages(s)
    tube = _post(s, height)
    lifts = tuple(LiftPoint(x.name, x.forward, x.out, x.up) for x in sculpture.lift)
    used = use(s, turned.radius)
    made = rod_making(s, sides[0].crank.pin)
    held = hinges(s), bolting(s, turned), lock(s, turned)
    carried = structure(s)
    s.finish("the simulation")
    return Mechanism(
        sculpture.name, gravity, height, sides, turned, found, limiter(s), tube, lifts, rubbing, swivel,
        keyways(s), tuple(s.defaults), used, made, *held, carried,
    )  # fmt: skip


def sides(sculpture: Sculpture) -> tuple[Side, ...]:
    """Settle what the motion needs: panels, hinges, yoke pins, throws and rods.

    Raises
    ------
    Lacking
        When one of them is not given.
    """
    s = Settling(sculpture)
    found = _sides(s, whole=False)
    s.finish("the motion")
    return found


def plates(sculpture: Sculpture) -> tuple[Plate, ...]:
    """Settle the panels' plates, which need nothing but outlines and thicknesses.

    Raises
    ------
    Lacking
        When no panel is given.
    """
    s = Settling(sculpture)
    s.need(sculpture.panel or None, "panel", [])
    found = tuple(_plate(s, p, PanelDifference()) for p in sculpture.panel)
    s.finish("the mass")
    return found


def stages(sculpture: Sculpture) -> tuple[Stage, ...]:
    """Settle the stages of the drive."""
    s = Settling(sculpture)
    found = settled_stages(s)
    s.finish("the chain fit")
    return found


def post(sculpture: Sculpture) -> PostTube | None:
    """Give the post, if there is one; without a crank height it reaches as far above the axis as is usual."""
    crank = sculpture.crank
    return _post(Settling(sculpture), crank.height if crank else None)


def _post(s: Settling, crank_height: float | None) -> PostTube | None:
    p = s.sculpture.post
    if p is None:
        return None
    if crank_height is None:
        return PostTube(p.outside, p.wall, ABOVE)
    # Kept as the difference of two heights, so that the default written down is the same to the last bit.
    height = s.number(p.height, "post.height", crank_height + ABOVE, "length",
                      "150 mm above the crank's axis; assumption")  # fmt: skip
    return PostTube(p.outside, p.wall, height - crank_height)


def _friction(s: Settling) -> Rubbing:
    f = s.sculpture.friction
    return Rubbing(
        s.number(f.bush if f else None, "friction.bush", 0.12, "ratio"),
        s.number(f.rod_end if f else None, "friction.rod_end", 0.12, "ratio"),
        s.number(f.hinge if f else None, "friction.hinge", 0.2, "ratio"),
        s.number(f.bearing if f else None, "friction.bearing", 0.01, "ratio",
                 "rolling bearings about .002, more with seals; assumption"),
        s.take(f.wheel_drag if f else None, "friction.wheel_drag", "0.3 N m", "torque"),
        s.number(f.static if f else None, "friction.static", 1.2, "ratio", "static over sliding; assumption"),
        s.number(f.low if f else None, "friction.low", 0.5, "ratio", "factor for the low estimate; assumption"),
        s.number(f.high if f else None, "friction.high", 2.0, "ratio",
                 "factor for the high estimate; assumption"),
    )  # fmt: skip


def _sides(s: Settling, whole: bool) -> tuple[Side, ...]:
    s.need(s.sculpture.panel or None, "panel", [])
    count = int(s.number(s.sculpture.sides, "sides", 2, "count", "the other side mirrors"))
    ahead = key_angles(s)
    names = (("left", 1, ahead[0], s.sculpture.left), ("right", -1, ahead[1], s.sculpture.right))[:count]
    return tuple(_side(s, name, sign, key, d or Difference(), whole) for name, sign, key, d in names)


def _side(s: Settling, name: str, sign: int, key: float, differs: Difference, whole: bool) -> Side:
    panels: list[Panel] = []
    for table in s.sculpture.panel:
        change = differs.panel.get(table.name, PanelDifference())
        panels.append(_panel(s, _differing(table, change), change, panels[-1] if panels else None))
    crank = crankshaft(s, tuple(panels), whole)
    return Side(name, sign, key, tuple(panels), crank)


def _differing(table: PanelTable, change: PanelDifference) -> PanelTable:
    """Give a panel with the linkage of its own side."""
    updates: dict[str, object] = {} if change.rod is None else {"rod": change.rod}
    given = ((table.hinge or HingeLine(), change.hinge, "hinge"), (table.yoke_pin, change.yoke_pin, "yoke_pin"),
             (table.throw, change.throw, "throw"))  # fmt: skip
    for usual, own, name in given:
        if usual is not None and own is not None:
            updates[name] = usual.model_copy(
                update={field: value for field, value in own if value is not None}
            )
    return table.model_copy(update=updates) if updates else table


def _plate(s: Settling, table: PanelTable, change: PanelDifference) -> Plate:
    stock = s.stock(table.material or s.sculpture.material, "material", "A36 steel")
    lumps = tuple(PointMass(x.mass, x.forward, x.out, x.above) for x in table.lump)
    thickness = change.thickness or table.thickness
    # A plate that differs in thickness is another plate: a mass weighed on its twin does not hold for it.
    mass = change.mass or (table.mass if change.thickness is None else None)
    return Plate(table.name, table.outline, thickness, stock.density, mass, lumps)


def _panel(s: Settling, table: PanelTable, change: PanelDifference, before: Panel | None) -> Panel:
    at = f"panel.{table.name}"
    forward, out, up = _hinge(s, table, before)
    yoke, throw = table.yoke_pin, table.throw
    for given, name in ((yoke, "yoke_pin"), (throw, "throw")):
        s.need(given, f"{at}.{name}", None)
    along = yoke is None or yoke.axis != "across"
    rods, ends, hinges = s.sculpture.rods, s.sculpture.rod_ends, s.sculpture.hinges
    stock = s.stock(rods.material if rods else None, "rods.material", "A36 steel")
    rod = Rod(
        s.need(table.rod, f"{at}.rod", 1.0),
        s.take(rods.diameter if rods else None, "rods.diameter", "12 mm", "length"),
        stock.density,
        s.take(ends.mass if ends else None, "rod_ends.mass", "0.1 kg", "mass"),
        s.take(ends.ball if ends else None, "rod_ends.ball", "20 mm", "length"),
        s.take(ends.clocking if ends else None, "rod_ends.clocking", "90 deg" if along else "0 deg", "angle"),
    )
    if yoke is not None and yoke.axis is None:
        s.note(f"{at}.yoke_pin.axis", "along")
    return Panel(
        _plate(s, table, change),
        forward,
        out,
        up,
        s.take(yoke.forward if yoke else None, f"{at}.yoke_pin.forward", "0 mm", "length"),
        yoke.out if yoke else 1.0,
        s.take(yoke.below if yoke else None, f"{at}.yoke_pin.below", "0 mm", "length"),
        along,
        throw.radius if throw else 1.0,
        s.take(throw.angle if throw else None, f"{at}.throw.angle", "0 deg", "angle"),
        throw.out if throw else 1.0,
        rod,
        table.seen.panel if table.seen else None,
        table.seen.crank if table.seen else 0.0,
        s.take(hinges.pin if hinges else None, "hinges.pin", "10 mm", "length"),
        _off(throw),
    )


def _off(throw: Throw | None) -> Off:
    given = throw.misaligned if throw else None
    return Off() if given is None else Off(given.offset or 0.0, given.angle or 0.0, given.toward or 0.0)


def _hinge(s: Settling, table: PanelTable, before: Panel | None) -> tuple[float, float, float]:
    """Give the hinge line's place: from the crank's axis, or on the panel before."""
    at = f"panel.{table.name}.hinge"
    h = table.hinge
    forward = s.take(h.forward if h else None, f"{at}.forward", "0 mm", "length")
    if before is None:
        if h is not None and h.above is not None:
            s.faults.append(f"{at}.above: the innermost hinge is measured from the crank's axis; write up")
        return forward, s.need(h.out if h else None, f"{at}.out", 1.0), s.need(
            h.up if h else None, f"{at}.up", 1.0
        )  # fmt: skip
    if h is not None and h.up is not None:
        s.faults.append(f"{at}.up: this hinge is measured on the panel before; write above")
    far = max(y for _, y in before.plate.outline.exterior)
    edge = f"the far edge of panel '{before.name}'"
    return (
        forward,
        s.number(h.out if h else None, f"{at}.out", far, "length", edge),
        s.take(h.above if h else None, f"{at}.above", "0 mm", "length"),
    )
