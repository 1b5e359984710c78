"""Rod ends: what acts off the rod's middle, and room for an eye that swivels."""

import math
from typing import Any

import pytest
from rod_eyes import eye, settled, size

from analysis.parts import rod_ends
from analysis.parts.rod_ends import Asked, checks
from analysis.parts.rod_loads import Eye
from models.mechanism import Mechanism
from models.parts.rod_ends import RodEnd


def judged(row: RodEnd, sitting: Eye, made: Mechanism) -> dict[str, Any]:
    return {c.what: c for c in checks(Asked(sitting, made, row.system), row)}


def test_what_acts_off_the_rods_middle_bends_the_thread_too() -> None:
    """1 mm off at 100 N with shock 2 is .2 N m more on the thread, as on the bar that it sits on."""
    straight, off = (
        judged(size("12 mm"), eye(100.0), settled("moth", (("rods.eccentric", text),)))
        for text in ("0 mm", "1 mm")
    )
    d = size("12 mm").screw.stress_diameter
    more = off[rod_ends.SHANK].demand - straight[rod_ends.SHANK].demand
    assert more == pytest.approx(32 * 2 * 100 * 1e-3 / (math.pi * d**3), rel=1e-9)
    assert off[rod_ends.FATIGUE].demand > straight[rod_ends.FATIGUE].demand


def test_an_eye_that_swivels_needs_more_room_than_its_ball() -> None:
    """12 mm: eye 12 mm wide and 32 mm over all; at 13 deg it is 11.7 + 7.2 mm wide, its ball 16 mm."""
    made = settled("moth", (("crank.web.gap", "17 mm"),))
    found = judged(size("12 mm"), eye(swivel=math.radians(13)), made)
    assert found[rod_ends.BETWEEN].holds
    assert not found[rod_ends.TILTED].holds
    assert found[rod_ends.TILTED].demand == pytest.approx(18.89e-3, abs=1e-5)
    assert judged(size("12 mm"), eye(swivel=0.0), made)[rod_ends.TILTED].holds
    assert rod_ends.TILTED not in judged(size("12 mm"), eye(at="yoke"), made)
