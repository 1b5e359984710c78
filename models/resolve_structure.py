"""Arms, body plate, post, stand and site wind, settled."""

from models.making import Weld
from models.materials import Material
from models.outline import outline
from models.resolve_making import weld_class
from models.sculpture_structure import BasePlate as BaseTable
from models.sculpture_structure import TubeWeld
from models.settling import Settling
from models.strengths import strengths
from models.structure import Arm, BasePlate, Body, PostMaking, Stand, Structure
from models.weld_classes import weld_classes

STOCK = "A36 steel"
"""What is taken where no material is given."""


def structure(s: Settling) -> Structure:
    """Settle what carries a piece; what is not described stays None."""
    site = s.sculpture.site
    return Structure(_arm(s), _body(s), _post(s), _stand(s), site.pressure if site else None)


def _arm(s: Settling) -> Arm | None:
    a = s.sculpture.arm
    if a is None:
        return None
    stock = s.stock(a.material, "arm.material", STOCK)
    return Arm(
        a.outside,
        s.take(a.wall, "arm.wall", "0 mm", "length", "a solid bar; assumption"),
        stock,
        s.take(a.up, "arm.up", "0 mm", "length", "level with the crankshaft; assumption"),
        s.take(a.forward, "arm.forward", "0 mm", "length"),
        (a.bracket.width, a.bracket.thickness) if a.bracket else None,
        _weld(s, a.weld, "arm.weld", stock),
    )


def _body(s: Settling) -> Body | None:
    b = s.sculpture.body
    if b is None:
        return None
    half, high = (b.width or 0.0) / 2, b.height or 0.0
    shape = b.outline or outline([(-half, 0.0), (half, 0.0), (half, high), (-half, high)])
    return Body(
        shape,
        b.thickness,
        s.stock(b.material, "body.material", STOCK),
        s.take(b.up, "body.up", "0 mm", "length", "from the crank's axis on; assumption"),
    )


def _post(s: Settling) -> PostMaking | None:
    p = s.sculpture.post
    if p is None:
        return None
    stock = s.stock(p.material, "post.material", STOCK)
    base = _base(s, p.base, stock, p.outside) if p.base else None
    # What nobody describes the making of has no welds to judge either.
    weld = _weld(s, p.weld, "post.weld", stock) if p.base or p.weld else Weld(None, None)
    return PostMaking(stock, p.cap, base, weld)


def _base(s: Settling, b: BaseTable, post: Material, outside: float) -> BasePlate:
    if b.circle <= outside:
        s.faults.append(
            "post.base.circle: its bolts would stand inside the post; write the diameter of their circle"
        )
    if b.material is None:
        s.note("post.base.material", post.name, "as the post; assumption")
    stock = s.stock(b.material or post.name, "post.base.material", post.name)
    length = s.number(b.length, "post.base.length", b.width, "length", "as wide as long; assumption")
    return BasePlate(b.width, length, b.thickness, stock, b.bolts, b.circle, b.bolt)


def _weld(s: Settling, given: TubeWeld | None, at: str, stock: Material) -> Weld:
    """Settle the fillet all round a tube; None for a class where none is known for the material."""
    w, known = given or TubeWeld(), strengths().get(stock.name)
    kind = known.kind if known else None
    toe = weld_class(s, w.toe, f"{at}.toe", "toe", kind, None)
    root = weld_class(s, w.root, f"{at}.root", "root", kind, weld_classes()[toe].code if toe else None)
    partial = s.number(
        w.partial, f"{at}.partial", Weld().partial, "ratio",
        "over people, and cracks under paint are not seen: safe life, high consequence, EN 1993-1-9:2005, table 3.1 "
        "(memory)",
    )  # fmt: skip
    return Weld(toe, root, w.throat, 1, partial)


def _stand(s: Settling) -> Stand | None:
    t = s.sculpture.stand
    if t is None:
        return None
    half, ahead = (t.width or 0.0) / 2, (t.length or 0.0) / 2
    corners = ((ahead, half), (-ahead, half), (-ahead, -half), (ahead, -half))
    return Stand(tuple((f.forward, f.out) for f in t.foot) or corners, t.mass, t.height)
