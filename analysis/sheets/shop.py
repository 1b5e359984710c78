"""The shop's sheet: what is cut, drilled and set, with drawings."""

from analysis.sheets import shop_drawings as drawings
from analysis.sheets import shop_panels as panels
from analysis.sheets import shop_shaft as shaft
from analysis.sheets import shop_wheel as wheel
from analysis.sheets.facts import Facts, cautions, ending, of_schedule
from analysis.sheets.layout import Block, Listing, Sheet

FIELDS = (
    "crank.*", "wheel.*", "stage.*.kind", "stage.*.pitch", "stage.*.width", "stage.*.out", "stage.*.centres",
    "stage.*.slack", "stage.*.shaft.*", "rods.*", "rod_ends.*", "hinges.*", "post.*", "panel.*", "material", "sides",
    "keyways.*",
)  # fmt: skip
UNCOVERED = (
    "welds: procedures, sizes and order, and what welding pulls out of line",
    "fits, tolerances, threads and finishes but where a table names them",
    "burrs and sharp edges: break every edge that a hand can reach",
)
BEFORE = (
    "Compare the drawings with the piece before cutting; the study's drawing.png has all of it.",
    "Load case of every size here: geometry. No load chose any, but where a table of the parts schedule says so.",
    "Nothing here is to scale on paper: do not measure a print.",
    "Holes and bores are given as the size of what goes through them: fits are the shop's.",
)


def shop(facts: Facts) -> Sheet:
    """Write the shop's sheet."""
    flat = (
        block
        for name, hinge, before in panels.each(facts)
        for block in (
            drawings.panel(name, hinge.panel),
            panels.corner_table(name, hinge.panel),
            panels.hole_table(facts, name, hinge, before),
        )
    )
    blocks: list[Block | None] = [
        cautions(),
        Listing("Before cutting", BEFORE),
        drawings.shaft(facts),
        shaft.bar_table(facts),
        shaft.bearing_table(facts),
        drawings.throws(facts),
        shaft.web_table(facts),
        shaft.keyway_table(facts),
        drawings.counterweight(facts),
        *shaft.weight_tables(facts),
        shaft.drive_table(facts),
        wheel.sprocket_table(facts),
        wheel.chain_table(facts),
        panels.panel_table(facts),
        *flat,
        wheel.tube_table(facts),
        *of_schedule(facts, "rod", "key", "torque at the hubs", "hinge lines", "sprocket", "stage"),
        drawings.rim(facts),
        wheel.rim_table(facts),
        *wheel.hub_tables(facts),
        drawings.bolts(facts),
    ]
    return Sheet(
        "shop",
        "Shop sheet",
        facts.mechanism.name,
        "What to cut, drill and set, from the description. The maker answers for the piece; this is no approval.",
        (*(b for b in blocks if b is not None), *ending(facts, FIELDS, UNCOVERED)),
    )
