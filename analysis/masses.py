"""Masses and centres of gravity.

Usage: python -m analysis.masses RUN...
"""

import numpy as np

from analysis.finding import Finding
from analysis.script import script
from models.mechanism import Mechanism, Plate, from_canonical
from sim import names
from sim.builders import Linkage, linkage
from sim.closed_form import moving_parts
from sim.layout import shaft_places
from sim.mass import MassProperties, crank_mass, plate_mass, rod_mass, sprocket_mass, wheel_mass
from sim.run import Run

EXACT = "outline's exact moments times thickness and density"
CASE = "geometry"


def findings(run: Run) -> list[Finding]:
    """Give the masses of a run's sculpture."""
    return of_linkage(linkage(from_canonical(run.description)))


def of_plates(plates: tuple[Plate, ...]) -> list[Finding]:
    """Give mass and centre of gravity of each panel from outlines and thicknesses alone."""
    found: list[Finding] = []
    for plate in plates:
        piece = plate_mass(plate)
        name = f"{plate.name} panel"
        source = EXACT if plate.mass is None else "mass as given, spread as the outline"
        found += [
            Finding("mass", piece.mass, "mass", name, CASE, source=source),
            Finding("centre of gravity, out from the hinge line", float(piece.com[1]), "length", name, CASE,
                    source=EXACT),
            Finding("centre of gravity, forward", float(piece.com[0]), "length", name, CASE, source=EXACT),
        ]  # fmt: skip
    return found


def of_linkage(closed: Linkage) -> list[Finding]:
    """Give the masses of all that moves, and its common centre of gravity over the turn."""
    mechanism = closed.mechanism
    side = mechanism.sides[0]
    found = of_plates(tuple(p.plate for p in side.panels))
    for panel in side.panels:
        found.append(
            Finding("mass", rod_mass(panel.rod).mass, "mass", f"{panel.name} rod with its rod ends", CASE)
        )
    found.append(Finding("mass", crank_mass(side).mass, "mass", f"{side.name} crankshaft", CASE,
                         note="shaft, pins, webs, counterweights, coupling"))  # fmt: skip
    found += _other_side(closed)
    found.append(Finding("mass", wheel_mass(mechanism.wheel).mass, "mass", names.WHEEL, CASE))
    total, moment = moving_mass(closed)
    low, high = float(moment.min()) / total, float(moment.max()) / total
    ground = mechanism.crank_height
    found += [
        Finding("mass of all that moves", total, "mass", "whole piece", CASE,
                note="without post, chains, shaft bars between the stages, guards"),
        Finding("lowest centre of gravity of all that moves, above ground", ground + low, "length",
                "whole piece", CASE),
        Finding("highest centre of gravity of all that moves, above ground", ground + high, "length",
                "whole piece", CASE),
    ]  # fmt: skip
    return found


def _other_side(closed: Linkage) -> list[Finding]:
    """Give the masses of the second side's panels that are not those of the first."""
    if len(closed.sides) == 1:
        return []
    first, second = (s.side for s in closed.sides)
    return [
        Finding("mass", plate_mass(b.plate).mass, "mass", f"{b.name} panel on the {second.name}", CASE,
                source=EXACT if b.plate.mass is None else "mass as given, spread as the outline",
                note=f"differs from the {first.name} side")
        for a, b in zip(first.panels, second.panels, strict=True)
        if plate_mass(a.plate).mass != plate_mass(b.plate).mass
    ]  # fmt: skip


def moving_mass(closed: Linkage) -> tuple[float, np.ndarray]:
    """Give the mass, kg, of all that moves, and its moment of height (n,), kg m, about the crank's axis."""
    crank = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    total, moment = 0.0, np.zeros(len(crank))
    for side in closed.sides:
        for part in moving_parts(side, crank):
            total += part.mass
            moment = moment + part.mass * part.com.value[:, 2]
    for height, piece in drive_pieces(closed.mechanism):
        total += piece.mass
        moment = moment + piece.mass * height
    return total, moment


def drive_pieces(mechanism: Mechanism) -> list[tuple[float, MassProperties]]:
    """Give the wheel and the sprockets, each with its height over the crank's axis, m.

    A shaft between two stages is taken to be at the height that its chains' centre distances give.
    """
    low = mechanism.wheel.height - mechanism.crank_height
    found = [(low, wheel_mass(mechanism.wheel))]
    places = shaft_heights(mechanism)
    for k, stage in enumerate(mechanism.stages):
        found.append((places[k], sprocket_mass(stage.driver, stage)))
        found.append((places[k + 1], sprocket_mass(stage.driven, stage)))
    return found


def shaft_heights(mechanism: Mechanism) -> list[float]:
    """Give the heights of wheel shaft, shafts between and centre shaft over the crank's axis, m."""
    places, _ = shaft_places(mechanism)
    return [up for _, up in places]


if __name__ == "__main__":
    script(findings, __doc__)
