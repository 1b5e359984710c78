"""The shop's tables of the wheel: rim, hub, bolt circle; and of sprockets, chains, tubes and rods."""

from analysis import chain_fit
from analysis.drawing.parts import sided
from analysis.parts.bolt_group import bolt_circle
from analysis.parts.choice import Table
from analysis.sheets.facts import GIVEN, Facts, found, size, source, turned
from analysis.sheets.rims import Rim
from analysis.sheets.shop_shaft import sides
from sim.sprocket import pitch_radius, sprocket_outside_diameter

RIM = "Rim of straight pieces"
HUB = "Wheel's hub"
BOLTS = "Holes of the hub's bolt circle"
SPROCKETS = "Sprockets: sizes"
LINKS = "Chains: links and lengths"
TUBES = "Tubes and rods"
PIECES = (6, 8, 10, 12, 16, 20, 24)
"""Numbers of pieces that are tabulated: assumption."""
KERF = 0.003
"""What a saw takes, m: assumption."""


def rim_table(facts: Facts) -> Table:
    """Give lengths and mitres of rims of so many pieces, or say why there are none."""
    w = facts.mechanism.wheel
    head = (
        "pieces",
        "each cut off square by",
        "along the middle",
        "along the outer edge",
        "along the inner edge",
        "middle of a piece inside the circle by",
        "wheel sweeps, diameter",
        "bar in all",
    )
    if w.kind == "handle":
        return Table(RIM, (head, ("none: a handle has no rim", *[""] * 7)))
    rows: list[tuple[str, ...]] = []
    for n in PIECES:
        if w.radius > w.bar:
            r = Rim(n, w.radius, w.bar)
            rows.append(
                (
                    str(n),
                    turned(r.mitre),
                    size(r.centreline),
                    size(r.outer),
                    size(r.inner),
                    size(r.sag),
                    size(2 * r.farthest),
                    size(r.stock(KERF)),
                )
            )
    if not rows:
        rows.append(("none: the bar is as wide as the wheel's radius", *[""] * 7))
    bar = (
        f"The rim bar described is {size(w.bar)} wide"
        if w.bar
        else "No rim bar is described: lengths are of its middle; at a width b the edges differ by b tan of the mitre"
    )
    return Table(
        RIM,
        (head, *rows),
        f"{bar}, source: description. Corners of the bars' middles lie on the wheel's circle, diameter "
        f"{size(2 * w.radius)}; a bent ring has its middle there too, and figures of the study are for it "
        "or the disc. N pieces are mitred at 180/N degrees (common practice, no source). Bar in all: "
        f"pieces turned over one after another, {size(KERF)} for each cut (assumption).",
    )


def hub_tables(facts: Facts) -> tuple[Table, ...]:
    """Give the hub's sizes, and the coordinates of its bolts or that none are described."""
    w, m = facts.mechanism.wheel, facts.mechanism
    rows = [
        ("hub's outside", size(w.hub_diameter), source(m, "wheel.hub.diameter")),
        (
            "bore for the shaft, before fit",
            size(w.shaft.diameter if m.stages else m.sides[0].crank.shaft),
            source(m, "wheel.shaft.diameter" if m.stages else "crank.shaft"),
        ),
        ("wheel's plane, mm out", sided(w.out), source(m, "wheel.out")),
        ("axis above ground", size(w.height), source(m, "wheel.height")),
    ]
    if w.kind == "disc":
        rows.insert(0, ("wheel: disc", f"Ø {size(2 * w.radius)}, {size(w.thickness)} thick", GIVEN))
    else:
        rows.insert(0, ("handle: axis to middle of grip", size(w.radius), GIVEN))
    hub = Table(HUB, (("what", "size", "source"), *rows))
    head = ("hole", "right of the axis", "above the axis")
    if not w.bolts:
        none = "none described; write bolts and circle in [wheel.hub]"
        return hub, Table(BOLTS, (head, (none, "", "")))
    holes = [(str(k), size(x), size(y)) for k, (x, y) in enumerate(bolt_circle(w.bolts, w.circle), 1)]
    return hub, Table(
        BOLTS,
        (head, *holes),
        f"{w.bolts} holes on a circle of {size(w.circle)}; source: description. Bolts' size and tightening "
        "are not judged.",
    )


def sprocket_table(facts: Facts) -> Table | None:
    """Give the sprockets; None without a stage."""
    m = facts.mechanism
    rows: list[tuple[str, ...]] = []
    for k, s in enumerate(m.stages, 1):
        for word, teeth in (("driver", s.driver), ("driven", s.driven)):
            outside = float(sprocket_outside_diameter(float(teeth), s.pitch))
            rows.append(
                (
                    f"stage {k} {word}",
                    s.kind,
                    str(teeth),
                    size(s.pitch),
                    size(2 * float(pitch_radius(float(teeth), s.pitch))),
                    size(outside),
                    size(s.width),
                    sided(s.out),
                )
            )
    if not rows:
        return None
    head = (
        "sprocket",
        "kind",
        "teeth",
        "pitch",
        "pitch diameter",
        "outside diameter",
        "width of teeth",
        "plane, mm out",
    )
    return Table(
        SPROCKETS,
        (head, *rows),
        "Pitch diameter p / sin(180°/N), outside diameter p (.6 + cot(180°/N)): ASME B29.1. Teeth: "
        "description. Pitches, widths and planes: see what is assumed.",
    )


def chain_table(facts: Facts) -> Table | None:
    """Give links, centres and excess of every chain; None where there is none."""
    fits = chain_fit.of_stages(facts.mechanism.stages, facts.mechanism.post)
    return found(LINKS, fits) if fits else None


def tube_table(facts: Facts) -> Table:
    """Give the post's tube and the rods' eye to eye lengths."""
    m = facts.mechanism
    rows: list[tuple[str, ...]] = []
    if m.post is not None:
        rows.append(
            (
                "post, ground to top",
                "1",
                f"tube Ø {size(m.post.outside)}, wall {size(m.post.wall)}",
                size(m.crank_height + m.post.above),
                f"description; top: {source(m, 'post.height')}",
            )
        )
    both = facts.loads.mirrored and len(m.sides) == 2
    for side in sides(facts):
        for p in side.panels:
            rows.append(
                (
                    f"rod of panel '{p.name}', eye to eye",
                    "2" if both else f"1, {side.name}",
                    f"bar Ø {size(p.rod.diameter)}",
                    size(p.rod.length),
                    f"description; diameter: {source(m, 'rods.diameter')}",
                )
            )
    return Table(
        TUBES,
        (("part", "how many", "stock", "length", "source"), *rows),
        "A rod is set to its eye to eye length in the rod ends; the bar's own length is in the table of "
        "rods where the parts schedule has one. A post that goes into the ground or a sleeve is longer.",
    )
