"""Who can reach the rim, or the handle all the way round, standing upright on the ground before it.

What counts is height alone: from the hand that hangs down to the highest grip. The distance forward is taken as
reachable, which holds where one can step up to the wheel; shoes, tiptoes and a stoop are left out.
"""

from dataclasses import dataclass

import numpy as np

from analysis.finding import Finding
from models.drive import Wheel
from models.mechanism import Mechanism
from models.people import PERCENTILES, Person, by_age
from models.shown import shown
from sim import names

CASE = "geometry"
BODY = "shares of the stature, adults' applied to children; statures as tabled"
LOCAL = "whether it applies is for the local authority"
RANGES = (
    ("2010 ADA Standards 308.2 and 308.3, unobstructed (read)", 0.380, 1.220),
    ("advisory 308.1, ages 3 and 4 (read in the 2012 Texas copy)", 0.510, 0.915),
    ("advisory 308.1, ages 5 to 8 (read in the 2012 Texas copy)", 0.455, 1.015),
    ("advisory 308.1, ages 9 to 12 (read in the 2012 Texas copy)", 0.405, 1.120),
)
"""Reach ranges of standards: name, lowest and highest, m above ground."""


@dataclass(frozen=True)
class Reach:
    """What one stature of a profile reaches of a wheel.

    Attributes
    ----------
    person : the profile.
    percentile : of its stature.
    low, high : hand hanging down and highest grip, m above ground.
    share : of the circle, of rim or grip, that lies between.
    bent : the same down to the knee, with a stoop.
    """

    person: Person
    percentile: int
    low: float
    high: float
    share: float
    bent: float


def share_within(height: float, radius: float, low: float, high: float) -> float:
    """Give the share of an upright circle between two heights.

    The point at angle a from the top has the height h + R cos a, so the share is
    (acos((low - h) / R) - acos((high - h) / R)) / pi with both quotients kept within -1 and 1.

    Parameters
    ----------
    height, radius : of its centre above ground and of the circle, m.
    low, high : m above ground.
    """
    bottom, top = (float(np.clip((z - height) / radius, -1.0, 1.0)) for z in (low, high))
    return max(0.0, float(np.arccos(bottom) - np.arccos(top)) / np.pi)


def rows(wheel: Wheel) -> list[Reach]:
    """Give every profile of one age at each of its statures, youngest first, shortest first."""
    made: list[Reach] = []
    for person in by_age():
        for percentile, stature in zip(PERCENTILES, person.stature, strict=True):
            low, high = person.knuckle * stature, person.overhead * stature
            share = share_within(wheel.height, wheel.radius, low, high)
            bent = share_within(wheel.height, wheel.radius, person.knee * stature, high)
            made.append(Reach(person, percentile, low, high, share, bent))
    return made


def of_mechanism(mechanism: Mechanism) -> list[Finding]:
    """Give who reaches the wheel, and the reach ranges of standards beside it."""
    wheel = mechanism.wheel
    found = rows(wheel)
    profiles = [found[k : k + len(PERCENTILES)] for k in range(0, len(found), len(PERCENTILES))]
    return [
        _youngest(wheel, found),
        *(_of_profile(wheel, statures) for statures in profiles),
        *(_of_range(wheel, *each) for each in RANGES),
    ]


def _reaches(wheel: Wheel, row: Reach) -> bool:
    """Say whether a stature can turn the wheel round: a handle must stay in reach, of a rim any part will do."""
    return row.high >= wheel.height + wheel.radius if wheel.kind == "handle" else row.bent > 0


def _youngest(wheel: Wheel, found: list[Reach]) -> Finding:
    handle = wheel.kind == "handle"
    what = "highest place of the grip" if handle else "lowest place of the rim"
    value = wheel.height + (wheel.radius if handle else -wheel.radius)
    who: list[str] = []
    for percentile in PERCENTILES:
        able = (r.person.label for r in found if r.percentile == percentile and _reaches(wheel, r))
        who.append(f"{next(able, 'none')} ({percentile}th percentile of stature)")
    verb = "follows it all the way up" if handle else "reaches some of the rim"
    return Finding(what, value, "length", names.WHEEL, CASE, source=BODY,
                   note=f"youngest that {verb}: {', '.join(who)}")  # fmt: skip


def _of_profile(wheel: Wheel, statures: list[Reach]) -> Finding:
    short, middle, tall = statures
    label = middle.person.label
    needed = (
        f"{shown(wheel.height - wheel.radius, 'length')} to {shown(wheel.height + wheel.radius, 'length')}"
    )
    note = (
        f"median stature, upright: {shown(middle.low, 'length')} to {shown(middle.high, 'length')}, the "
        f"circle {needed}; {_extent(wheel, middle.bent)} with a stoop to the knee; {_extent(wheel, short.share)} "
        f"at the 10th and {_extent(wheel, tall.share)} at the 90th percentile"
    )
    return _extent_finding(wheel, f"within reach of the {label}", middle.share, BODY, note)


def _of_range(wheel: Wheel, name: str, low: float, high: float) -> Finding:
    share = share_within(wheel.height, wheel.radius, low, high)
    between = f"between {1e3 * low:.0f} and {1e3 * high:.0f} mm"
    return _extent_finding(wheel, between, share, name, LOCAL)


def _extent_finding(wheel: Wheel, where: str, share: float, source: str, note: str) -> Finding:
    if wheel.kind == "handle":
        what, value, dimension = f"share of the handle's turn {where}", share, "ratio"
    else:
        what, value, dimension = f"arc of the rim {where}", 2 * np.pi * share, "angle"
    return Finding(what, value, dimension, names.WHEEL, CASE, source=source, note=note)


def _extent(wheel: Wheel, share: float) -> str:
    return shown(share, "ratio") if wheel.kind == "handle" else shown(2 * np.pi * share, "angle")
