"""Does it flap as meant? Panel angles, phases, swivel at the rod ends, transmission angle.

Usage: python -m analysis.motion RUN...
"""

import numpy as np

from analysis.finding import Finding, Limit
from analysis.script import script
from models.mechanism import from_canonical
from sim.builders import Linkage, linkage
from sim.linkage import PanelCourse, SideLinkage, phase
from sim.run import Run
from sim.swivel import swivel

GEOMETRY = "geometry"
CLOSED = "loop closure in closed form"
TURN = np.linspace(0, 2 * np.pi, 1440, endpoint=False)
STANDARD_SWIVEL = np.radians(13)
"""Swivel that standard rod ends allow, 13 to 15 deg (memory), where a description does not say."""
APART = "largest difference between left and right"
TRANSMISSION = Limit(
    np.radians(40), "least", "textbook advice for linkages at speed, memory; a slow piece may go lower"
)


def findings(run: Run) -> list[Finding]:
    """Give what the motion of a run's sculpture is over the turn."""
    return of_linkage(linkage(from_canonical(run.description)))


def of_linkage(closed: Linkage) -> list[Finding]:
    """Give the findings of a linkage; see `of_sides`."""
    return of_sides(closed.sides, closed.mechanism.swivel_limit)


def of_sides(sides: tuple[SideLinkage, ...], swivel_limit: float) -> list[Finding]:
    """Give the findings of closed sides; a side that mirrors the first is not repeated.

    Parameters
    ----------
    sides : one or two.
    swivel_limit : of the rod ends, rad.
    """
    found: list[Finding] = []
    first: list[PanelCourse] = []
    for side in sides:
        courses = side.course(TURN)
        mirrors = bool(first) and all(
            np.allclose(a.angle.value, b.angle.value, atol=1e-12) for a, b in zip(first, courses, strict=True)
        )
        if mirrors:
            continue
        if first:
            found += apart(first, list(courses))
        for course in courses:
            found += _panel(side.side.name, course, courses[0], swivel_limit)
        first = first or list(courses)
    return found


def _panel(side: str, course: PanelCourse, inner: PanelCourse, swivel_limit: float) -> list[Finding]:
    name = f"{side} {course.panel.name}"
    angle = course.angle.value
    low, high = int(np.argmin(angle)), int(np.argmax(angle))
    at_crank, at_yoke = swivel(course)
    found = [
        Finding("lowest panel angle", float(angle[low]), "angle", name, GEOMETRY, None, float(TURN[low]),
                source=CLOSED, note="from level, up positive"),
        Finding("highest panel angle", float(angle[high]), "angle", name, GEOMETRY, None,
                float(TURN[high]), source=CLOSED),
    ]  # fmt: skip
    if course is not inner:
        lag = (phase(angle) - phase(inner.angle.value) + np.pi) % (2 * np.pi) - np.pi
        found.append(
            Finding("lag behind the inner panel", float(lag), "angle", name, GEOMETRY,
                    source=f"{CLOSED}; first harmonic", note="of the crank's turn; negative leads")
        )  # fmt: skip
    for where, values in (("rod end at crank", at_crank), ("rod end at yoke", at_yoke)):
        k = int(np.argmax(values))
        found.append(
            Finding("largest swivel", float(values[k]), "angle", f"{name} {where}", GEOMETRY, None,
                    float(TURN[k]), Limit(swivel_limit, "most", "the description's rod ends"),
                    "least larger swivel of the two ends over the rod's spin, closed form")
        )  # fmt: skip
    k = int(np.argmin(course.transmission))
    found.append(
        Finding("least transmission angle", float(course.transmission[k]), "angle", name, GEOMETRY, None,
                float(TURN[k]), TRANSMISSION, CLOSED, "between rod and yoke arm; 90 deg pushes best, 0 locks")
    )  # fmt: skip
    return found


def apart(left: list[PanelCourse], right: list[PanelCourse]) -> list[Finding]:
    """Give for each panel the largest difference of its angle between two sides, at evenly spaced crank angles.

    Parameters
    ----------
    left, right : the panels' courses at the angles `TURN`, innermost first.
    """
    found: list[Finding] = []
    for a, b in zip(left, right, strict=True):
        differs = np.abs(a.angle.value - b.angle.value)
        k = int(np.argmax(differs))
        found.append(
            Finding(APART, float(differs[k]), "angle", a.panel.name, GEOMETRY, None, float(TURN[k]),
                    source=CLOSED)
        )  # fmt: skip
    return found


if __name__ == "__main__":
    script(findings, __doc__)
