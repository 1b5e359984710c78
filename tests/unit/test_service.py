"""What comes off to reach a part: by the order of parts along made-up shafts, and along those of the examples."""

from pathlib import Path

import pytest

from analysis.parts.service import (
    chains,
    crank_bearings,
    hinge_pins,
    inner_room,
    insert,
    rod_ends,
    said,
    split,
)
from analysis.parts.shaft_order import Item, OnShaft, WayOff, crankshaft, drive_shafts, room, way_off
from models.loading import load
from models.mechanism import Mechanism
from models.resolve import mechanism

MODELS = Path(__file__).parents[2] / "models"


def settled(name: str = "manta", **changes: object) -> Mechanism:
    return mechanism(load(MODELS / f"{name}.toml", {k.replace("__", "."): v for k, v in changes.items()}))


def shaft(*items: Item, ends: tuple[float, float] | None = (0.0, 1.0)) -> OnShaft:
    return OnShaft("shaft", tuple(sorted(items, key=lambda x: x.out)), ends)


COUPLING = Item("coupling", "coupling", 0.05, 0.02)
FIRST = Item("first bearing", "bearing", 0.2, 0.01)
THROW = Item("inner throw", "throw", 0.4, 0.03)
MIDDLE = Item("middle bearing", "bearing", 0.5, 0.01)
OUTER = Item("outer throw", "throw", 0.7, 0.03)
LAST = Item("last bearing", "bearing", 0.9, 0.01)
WHOLE = shaft(COUPLING, FIRST, THROW, MIDDLE, OUTER, LAST)


def test_a_part_at_an_end_slides_off() -> None:
    assert way_off(WHOLE, LAST) == WayOff(True, (), "high")
    assert said(way_off(WHOLE, LAST), WHOLE) == "nothing: it slides off the end"
    assert split(way_off(WHOLE, LAST), "bush") == "not needed"


def test_of_three_bearings_the_one_between_the_throws_is_the_third() -> None:
    """The radial bearing is the one farthest off, whichever place it has in the description."""
    m = settled(crank__bearings=["250 mm", "600 mm", "930 mm"])
    rows = {r[0].split(" (")[0]: r[3] for r in crank_bearings(m, m.sides[0])}
    assert rows["left bearing 3"].startswith("needed: a split bush")
    assert rows["left radial bearing"] == "not needed"
    assert [x.out for x in crankshaft(m.sides[0]).items if x.name == "left radial bearing"] == [
        pytest.approx(0.93)
    ]


def test_what_is_before_it_comes_off_first_from_the_end_inwards() -> None:
    assert way_off(WHOLE, FIRST) == WayOff(True, (COUPLING,), "low")
    second = Item("second bearing", "bearing", 0.3, 0.01)
    found = way_off(shaft(COUPLING, FIRST, second, THROW, LAST), second)
    assert found.off == (COUPLING, FIRST)
    assert "saves taking off coupling, first bearing" in split(found, "bush")


def test_between_two_throws_nothing_slides() -> None:
    found = way_off(WHOLE, MIDDLE)
    assert not found.slides
    assert found.trapped == (THROW, OUTER)
    assert said(found, WHOLE).startswith("it cannot be slid off: inner throw and outer throw are welded on")
    assert split(found, "bush") == "needed: a split bush in a split housing"
    assert "split bearing" in split(found, "ball")


def test_without_the_outer_throw_it_comes_off_past_the_last_bearing() -> None:
    assert way_off(shaft(COUPLING, FIRST, THROW, MIDDLE, LAST), MIDDLE) == WayOff(True, (LAST,), "high")


def test_room_reaches_to_the_next_part_or_the_end_of_the_bar() -> None:
    assert room(WHOLE, FIRST) == (pytest.approx(0.12), pytest.approx(0.16))
    assert room(WHOLE, LAST) == (pytest.approx(0.16), pytest.approx(0.09))
    assert room(shaft(FIRST, ends=None), FIRST) == (float("inf"), float("inf"))


def test_parts_that_overlap_leave_no_room() -> None:
    tight = Item("tight", "bearing", 0.205, 0.01)
    assert room(shaft(FIRST, tight), FIRST)[1] == 0.0


def test_the_crankshaft_of_the_demo() -> None:
    m = settled()
    whole = crankshaft(m.sides[0])
    assert [x.kind for x in whole.items] == ["coupling", "bearing", "throw", "weight", "throw", "bearing"]
    bearings = crank_bearings(m, m.sides[0])
    assert bearings[0][1].startswith("left coupling; then it slides off at the inner end")
    # The centre shaft's bearing is at 109.55 mm, the crankshaft's end at 190 mm.
    assert inner_room(m, m.sides[0]) == pytest.approx(0.190 - 0.10955)
    assert inner_room(m, m.sides[1]) == pytest.approx(0.190 - 0.10955)
    assert bearings[1][1] == "nothing: it slides off the end"


def test_a_centre_bearing_between_the_throws_has_to_be_split() -> None:
    m = settled(crank__bearings=["250 mm", "930 mm", "590 mm"])
    rows = {r[0]: r for r in crank_bearings(m, m.sides[0])}
    third = rows["left bearing 3 (plain bush)"]
    assert "inner throw and outer throw are welded on" in third[1]
    assert third[3] == "needed: a split bush in a split housing"
    ball = settled(crank__bearings=["250 mm", "930 mm", {"out": "590 mm", "kind": "ball"}])
    row = next(r for r in crank_bearings(ball, ball.sides[0]) if "bearing 3" in r[0])
    assert row[3].startswith("needed: a split bearing in a split housing")


def test_an_eye_on_a_welded_pin_is_trapped_between_its_webs() -> None:
    m = settled(crank__web={"width": "50 mm", "thickness": "10 mm", "gap": "44 mm"})
    row = next(r for r in rod_ends(m.sides[0]) if r[0] == "left outer rod end at crank")
    assert "between the webs of the outer throw" in row[1]
    assert row[2].startswith("44 mm")
    assert row[3].startswith("needed")


def test_the_drive_shafts_of_the_demo() -> None:
    wheel, between, centre = drive_shafts(settled())
    assert [x.kind for x in wheel.items] == ["wheel", "bearing", "sprocket", "bearing"]
    assert [x.kind for x in between.items] == ["bearing", "sprocket", "sprocket", "bearing"]
    assert [x.name for x in centre.items][::4] == ["right coupling", "left coupling"]
    right = next(x for x in wheel.items if x.kind == "bearing")
    assert [x.name for x in way_off(wheel, right).off] == ["wheel"]
    # A wheel on the left side of the post bars the other bearing.
    other = drive_shafts(settled(wheel__out="230 mm"))[0]
    assert other.items[-1].kind == "wheel"
    assert way_off(other, other.items[0]).off == ()


def test_a_coupling_needs_its_own_length_to_slide_back() -> None:
    near, far = (insert(settled(crank__bearings=[b, "930 mm"], crank__ends=["190 mm", "960 mm"]),
                         settled(crank__bearings=[b, "930 mm"], crank__ends=["190 mm", "960 mm"]).sides[0])
                 for b in ("240 mm", "280 mm"))  # fmt: skip
    assert "must come out sideways" in near[2]
    assert "enough to slide the half off" in far[2]


def test_hinge_pins_are_drawn_into_the_room_between_groups() -> None:
    m = settled()
    assert "enough to draw a pin" in hinge_pins(m, m.sides[0])[0][2]
    assert hinge_pins(m, m.sides[0])[0][1].startswith("inner and outer held up")
    tight = settled(hinges={"count": 5})
    # 640 mm in four parts of 160 mm less 92 mm each leaves 68 mm.
    assert hinge_pins(tight, tight.sides[0])[0][2].startswith("68 mm")
    assert "less than a pin's" in hinge_pins(tight, tight.sides[0])[0][2]


def test_chains_open_at_their_links() -> None:
    assert [r[0] for r in chains(settled())] == ["stage 1 chain", "stage 2 chain"]
    assert chains(settled("moth")) == []
    moth = settled("moth")
    assert drive_shafts(moth) == ()
    assert inner_room(moth, moth.sides[0]) == pytest.approx(0.18)
