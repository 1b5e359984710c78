"""Who reaches the rim or the handle."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from analysis import reach
from models.loading import load
from models.mechanism import Mechanism
from models.people import PERCENTILES, by_age, people
from models.resolve import mechanism

MODELS = Path(str(files("models")))


@pytest.fixture(scope="module")
def moth() -> Mechanism:
    return mechanism(load(MODELS / "moth.toml"))


def wheel(given: Mechanism, kind: str, height: float, radius: float) -> Mechanism:
    return replace(given, wheel=replace(given.wheel, kind=kind, height=height, radius=radius))


@pytest.mark.parametrize(
    ("low", "high", "share"),
    [
        (0.0, 2.0, 1.0),
        (1.0, 2.0, 0.5),
        (1.0, 1.2, 1 / 6),
        (0.8, 1.2, 1 / 3),
        (1.5, 2.0, 0.0),
        (0.0, 0.5, 0.0),
    ],
)
def test_the_share_of_a_circle_between_two_heights(low: float, high: float, share: float) -> None:
    """A circle of .4 m about 1 m: half a radius above the centre is at 60 deg from the top."""
    assert reach.share_within(1.0, 0.4, low, high) == pytest.approx(share)


def test_every_stature_of_every_age_is_judged(moth: Mechanism) -> None:
    rows = reach.rows(moth.wheel)
    assert [(r.person.name, r.percentile) for r in rows] == [
        (p.name, k) for p in by_age() for k in PERCENTILES
    ]
    for row in rows:
        counted = moth.wheel.height + moth.wheel.radius * np.cos(np.linspace(0, 2 * np.pi, 20001)[:-1])
        inside = float(np.mean((counted >= row.low) & (counted <= row.high)))
        # Counting 20000 points finds each of the up to four ends to one of them.
        assert row.share == pytest.approx(inside, abs=4 / 20000)
        assert row.bent >= row.share


def test_a_handle_must_stay_in_reach_all_the_way_up(moth: Mechanism) -> None:
    """The grip's highest place is put between what the child of 4 and the child of 5 reach, each median."""
    four, five = (people()[n].overhead * people()[n].stature[1] for n in ("child4", "child5"))
    found = reach.of_mechanism(wheel(moth, "handle", (four + five) / 2 - 0.2, 0.2))
    assert found[0].what == "highest place of the grip"
    assert found[0].value == pytest.approx((four + five) / 2)
    assert "child of 5 (50th percentile of stature)" in found[0].note
    share = {f.what: f.value for f in found}
    assert share["share of the handle's turn within reach of the child of 5"] == 1
    assert 0.5 < share["share of the handle's turn within reach of the child of 4"] < 1


def test_of_a_rim_any_part_will_do(moth: Mechanism) -> None:
    """A disc whose lowest place is above the child of 3 and within reach of the child of 4, median."""
    three, four = (people()[n].overhead * people()[n].stature[1] for n in ("child3", "child4"))
    found = reach.of_mechanism(wheel(moth, "disc", (three + four) / 2 + 0.4, 0.4))
    assert "child of 4 (50th percentile of stature)" in found[0].note
    arc = {f.what: f for f in found}
    assert arc["arc of the rim within reach of the child of 3"].value == 0
    mine = arc["arc of the rim within reach of the child of 4"]
    # The arc below reach: R (1 - cos(arc / 2)) is its height.
    assert 0.4 * (1 - np.cos(mine.value / 2)) == pytest.approx((four - three) / 2)
    assert mine.dimension == "angle"


def test_a_wheel_at_the_ankles_needs_a_stoop(moth: Mechanism) -> None:
    man = people()["man"]
    height = (man.knee + man.knuckle) / 2 * man.stature[1]
    row = next(r for r in reach.rows(wheel(moth, "disc", height, 0.05).wheel)
               if r.person is man and r.percentile == 50)  # fmt: skip
    assert (row.share, row.bent) == (0, 1)


def test_reach_ranges_of_standards_stand_beside_without_a_verdict(moth: Mechanism) -> None:
    found = reach.of_mechanism(wheel(moth, "handle", 0.9, 0.38))
    beside = [f for f in found if "local authority" in f.note]
    # 2010 ADA Standards 308: 380 to 1220 mm (read): all but the arc above, acos(320 / 380) to either side.
    assert beside[0].value == pytest.approx(1 - np.arccos(320 / 380) / np.pi)
    assert [f.limit for f in beside] == [None] * 4
    # Children's ranges, 510-915, 455-1015 and 405-1120 mm (read, advisory 308.1), grow with age.
    assert beside[1].value < beside[2].value < beside[3].value < beside[0].value
