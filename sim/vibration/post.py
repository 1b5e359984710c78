"""How the post sways: a tube clamped to the ground, with what it carries.

Bending alone, by the same elements as the shafts. The ground gives, and so do foot plate and anchors: the true
frequency is lower, which is the structural engineer's matter. A tube sways alike fore and aft and sideways.
"""

import numpy as np

from sim.builders import Linkage
from sim.closed_form import moving_parts
from sim.layout import shaft_places
from sim.mass import sprocket_mass, wheel_mass
from sim.vibration.lateral import Lump, Section, Support, lateral_modes

MODULUS = 200e9
"""Young's modulus, Pa, of a post whose material nobody gave: steel."""
STEEL = 7850.0
"""Its density, kg/m3."""
POSES = 180


def sway(closed: Linkage) -> float | None:
    """Give the post's first natural frequency, rad/s, or None where there is no post."""
    bar = post_bar(closed)
    if bar is None:
        return None
    section, lumps = bar
    return float(lateral_modes((section,), lumps, (Support(0.0, clamped=True),), 1).frequencies[0])


def post_bar(closed: Linkage) -> tuple[Section, tuple[Lump, ...]] | None:
    """Give the tube, from the ground up, and what it carries, or None where there is no post.

    Wings, rods and cranks count at the highest their common centre of gravity comes to, wheel and sprockets at their
    own axes; what lies higher than the post's top at its top, what lies below the ground is left out.
    """
    m = closed.mechanism
    if m.post is None:
        return None
    top = m.crank_height + m.post.above
    stock = None if m.structure.post is None else m.structure.post.material
    modulus, density = (MODULUS, STEEL) if stock is None else (stock.modulus, stock.density)
    tube = Section(0.0, top, m.post.outside, modulus, density, m.post.bore)
    crank = np.linspace(0, 2 * np.pi, POSES, endpoint=False)
    parts = [p for side in closed.sides for p in moving_parts(side, crank)]
    total = sum(p.mass for p in parts)
    height = np.sum([p.mass * p.com.value[:, 2] for p in parts], axis=0) / total
    masses = [(float(np.max(height)), total)]
    places, _ = shaft_places(m)
    masses.append((places[0][1], wheel_mass(m.wheel).mass))
    for k, stage in enumerate(m.stages):
        for teeth, (_, up) in ((stage.driver, places[k]), (stage.driven, places[k + 1])):
            masses.append((up, sprocket_mass(teeth, stage).mass))
    lumps = tuple(Lump(min(top, m.crank_height + up), mass) for up, mass in masses if m.crank_height + up > 0)
    return tube, lumps
