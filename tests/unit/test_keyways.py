"""Keyways of a description: signs by hand and by vectors, what follows from them, and what is refused."""

from pathlib import Path

import numpy as np
import pytest
from examples import MANTA, MOTH
from refusal import Refusal

from analysis.drawing import drawing
from analysis.sweep import tolerances
from models.keyways import Keyways, folded
from models.loading import DescriptionError, changed, load, loads
from models.mechanism import Mechanism, from_canonical
from models.resolve import mechanism, sides
from sim.arrays import rotation
from sim.builders import linkage
from sim.identity import canonical

DEG = np.pi / 180
Y, UP = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
KEYED = {"left": "0 deg", "right": "180 deg", "centre": ["0 deg", "180 deg"]}


def keys(left: float, right: float, centre: tuple[float, float] | None, measured: float = 0.0) -> Keyways:
    """Give keyways from degrees."""
    cut = None if centre is None else (centre[0] * DEG, centre[1] * DEG)
    return Keyways(left * DEG, right * DEG, cut, measured * DEG)


def settled(keyways: dict[str, object] | None, **more: object) -> Mechanism:
    changes = {name.replace("__", "."): value for name, value in more.items()}
    return mechanism(load(MANTA, {"keyways": keyways, **changes} if keyways else changes))


# --- Signs ---


@pytest.mark.parametrize(
    ("left", "right", "centre", "lead"),
    [
        (0, 180, (0, 180), 0),
        (0, 180, (0, 181), 1),  # the centre shaft carries the right crank 1 deg too far forward
        (0, 180, (1, 180), -1),  # and here the left one
        (0, 181, (0, 180), -1),  # a keyway 1 deg further on the crank: the crank sits 1 deg further back
        (1, 180, (0, 180), 1),
        (30, 30, (77, 77), 0),  # a mark of its own is nobody's phase
        (0, 350, (0, -11), -1),
        (0, 0, (0, 180), 180),
        (0, 0, (180, 0), 180),
        (720, -180, (0, 179.5), -0.5),
    ],
)
def test_who_leads_by_hand(left: float, right: float, centre: tuple[float, float], lead: float) -> None:
    found = keys(left, right, centre).lead
    assert found is not None
    assert found / DEG == pytest.approx(lead, abs=1e-9)


def test_the_lead_is_where_the_keys_put_the_throws() -> None:
    """Put keys in: turn each crank about +y until its keyway lies over the centre shaft's, and look at its throw."""
    left, right, centre = 12.0, 190.0, (3.0, 182.5)
    throws = []
    for own, shaft in zip((left, right), centre, strict=True):
        slot = rotation(Y, shaft * DEG) @ UP
        keyway = rotation(Y, own * DEG) @ UP
        # Turned by p, the crank's keyway comes to lie over the slot.
        p = np.arctan2(np.cross(keyway, slot) @ Y, keyway @ slot)
        np.testing.assert_allclose(rotation(Y, p) @ keyway, slot, atol=1e-12)
        throws.append(rotation(Y, p) @ UP)
    ahead = np.arctan2(np.cross(*throws) @ Y, throws[0] @ throws[1])
    assert keys(left, right, centre).lead == pytest.approx(ahead, abs=1e-12)
    assert ahead / DEG == pytest.approx(1.5)


def test_counter_clockwise_on_the_bench_is_positive() -> None:
    """Who looks at the end nearer the left wing sees what is positive go counter-clockwise."""
    looking = -Y
    to_the_right = np.cross(looking, UP)
    seen = rotation(Y, 10 * DEG) @ UP
    assert seen @ to_the_right == pytest.approx(-np.sin(10 * DEG))  # from straight up to the left
    # So does the throw: forward, the way in which the crank turns forward.
    pin = linkage(settled(None)).sides[0].course(np.array([10 * DEG]))[0].pin.value[0]
    assert pin[0] > 0
    assert pin[[0, 2]] / 0.08 == pytest.approx(seen[[0, 2]])


@pytest.mark.parametrize("angle", [-np.pi, np.pi, 3 * np.pi, 0.0, 0.3, -0.3, 7.0])
def test_folded(angle: float) -> None:
    found = folded(angle)
    assert -np.pi < found <= np.pi
    assert np.exp(1j * found) == pytest.approx(np.exp(1j * angle))


# --- Cut ---


@pytest.mark.parametrize(
    ("left", "right", "cut"), [(0, 180, 180), (0, -10, 350), (12, 190, 178), (190, 12, 182)]
)
def test_the_key_to_cut_by_hand(left: float, right: float, cut: float) -> None:
    found = keys(left, right, None)
    assert found.lead is None
    assert found.cut() / DEG == pytest.approx(cut)


def test_no_turn_is_cut_where_rounding_leaves_one() -> None:
    assert keys(0.1 + 0.2, 0.3, None).cut() == 0
    assert keys(0.3, 0.1 + 0.2, None).cut() == 0


@pytest.mark.parametrize("start", [0.0, 3.0, -170.0])
def test_a_centre_shaft_cut_as_told_parts_nobody(start: float) -> None:
    """Round trip: measure, cut what is told, write it in."""
    before = settled({"left": "12.3 deg", "right": "-171.9 deg", "centre": ["3 deg", "182.5 deg"]})
    assert before.keyways is not None
    assert abs(before.sides[1].key_angle) > DEG
    second = start + before.keyways.cut() / DEG
    after = settled(
        {"left": "12.3 deg", "right": "-171.9 deg", "centre": [f"{start} deg", f"{second!r} deg"]}
    )
    assert [s.key_angle for s in after.sides] == [0.0, 0.0]


def test_a_centre_shaft_cut_for_a_wanted_lead_gives_it() -> None:
    wanted = settled({"left": "12 deg", "right": "190 deg"}, right__key_angle="90 deg")
    assert wanted.keyways is not None
    assert wanted.sides[1].key_angle == pytest.approx(90 * DEG)
    cut = wanted.keyways.cut(90 * DEG)
    assert cut / DEG == pytest.approx(268)
    assert keys(12, 190, (0, cut / DEG)).lead == pytest.approx(90 * DEG)


# --- Settled ---


def test_the_phase_of_the_sides_follows_from_the_keyways() -> None:
    made = settled({**KEYED, "centre": ["0 deg", "181 deg"], "measured": "0.3 deg"})
    assert made.keyways is not None
    assert made.keyways.centre == pytest.approx((0, 181 * DEG))
    assert (made.keyways.left, made.keyways.right) == (0, pytest.approx(np.pi))
    assert made.keyways.measured == pytest.approx(0.3 * DEG)
    assert made.sides[0].key_angle == 0
    assert made.sides[1].key_angle == pytest.approx(DEG)
    turn = np.linspace(0, 2 * np.pi, 90)
    left, right = linkage(made).sides
    for a, b in zip(left.course(turn + DEG), right.course(turn), strict=True):
        np.testing.assert_allclose(a.angle.value, b.angle.value, atol=1e-12)
    assert [s.key_angle for s in sides(load(MANTA, {"keyways": KEYED}))] == [0, 0]


def test_key_angles_stay_without_keyways_or_with_a_shaft_to_cut() -> None:
    assert settled(None).keyways is None
    for keyed in (None, {"left": "5 deg", "right": "9 deg"}):
        made = settled(keyed, left__key_angle="-2 deg", right__key_angle="3 deg")
        assert [s.key_angle / DEG for s in made.sides] == pytest.approx([-2, 3])


def test_how_well_it_is_measured_is_a_default() -> None:
    made = settled(KEYED)
    (default,) = (d for d in made.defaults if d.field == "keyways.measured")
    assert default.value == pytest.approx(0.5 * DEG)
    assert "assumption" in default.source
    assert not any(d.field.startswith("keyways") for d in settled(None).defaults)
    assert not any(d.field.startswith("keyways") for d in settled({**KEYED, "measured": "0.3 deg"}).defaults)


@pytest.mark.parametrize("keyed", [None, KEYED, {"left": "1 rad", "right": "2 rad"}])
def test_a_record_gives_them_back(keyed: dict[str, object] | None) -> None:
    made = settled(keyed)
    back = from_canonical(canonical(made))
    assert (back.keyways, back.sides) == (made.keyways, made.sides)
    assert canonical(back) == canonical(made)


@pytest.mark.parametrize(
    ("keyed", "words"), [(KEYED, "0°, 180°; 0.5°*"), ({"left": "7 deg", "right": "0 deg"}, "to be cut")]
)
def test_the_drawing_says_what_was_measured(keyed: dict[str, object], words: str) -> None:
    figure = drawing(linkage(settled(keyed)))
    said = [t.get_text() for ax in figure.axes for t in ax.texts]
    assert any(words in text for text in said)


def test_tolerances_are_those_of_the_readings() -> None:
    piece = load(MANTA, {"keyways": {**KEYED, "measured": "0.3 deg"}})
    usual = tolerances.usual(linkage(mechanism(piece)))
    ours = [t for t in usual if t.field.startswith("keyways.")]
    assert [t.field for t in ours] == [f"keyways.{k}" for k in ("left", "right", "centre.1", "centre.2")]
    assert [t.off for t in ours] == pytest.approx([0.3 * DEG] * 4)
    assert not any(t.field.endswith("key_angle") for t in usual)
    for t, sign in zip(ours, (1, -1, -1, 1), strict=True):
        closed = linkage(mechanism(piece))
        made = mechanism(changed(piece, tolerances.changes(piece, closed, [t], [1.0])))
        assert made.sides[1].key_angle / DEG == pytest.approx(sign * 0.3)
    to_cut = load(MANTA, {"keyways": {"left": "1 deg", "right": "2 deg"}})
    assert any(t.field == "right.key_angle" for t in tolerances.usual(linkage(mechanism(to_cut))))


# --- Refused ---

REFUSED = {
    "key angle too": (
        {"keyways": KEYED, "right.key_angle": "1 deg"},
        "piece.toml: right.key_angle is given beside keyways.centre, from which it follows; remove right.key_angle, "
        "or remove keyways.centre to have it cut for that angle",
    ),
    "left key angle too": (
        {"keyways": KEYED, "left.key_angle": "0 deg"},
        "piece.toml: left.key_angle is given beside keyways.centre, from which it follows; remove left.key_angle, ",
    ),
    "one side": (
        {"keyways": KEYED, "sides": 1},
        "piece.toml: keyways are given but the sculpture has one side, which shares its phase with none; remove "
        "[keyways]",
    ),
    "without right": ({"keyways": {"left": "1 deg"}}, "keyways.right: it is not given; write right = ..."),
    "bare": (
        {"keyways": {**KEYED, "left": 90.5}},
        'keyways.left: an angle needs its unit; write "90.5 deg", or whichever',
    ),
    "one of two": (
        {"keyways": {**KEYED, "centre": ["0 deg"]}},
        "keyways.centre: 1 entries are too few; write at least 2",
    ),
    "three": (
        {"keyways": {**KEYED, "centre": ["0 deg"] * 3}},
        "keyways.centre: 3 entries are too many; write at most 2",
    ),
    "not a list": ({"keyways": {**KEYED, "centre": "180 deg"}}, "keyways.centre: '180 deg' is not a list"),
    "a length": (
        {"keyways": {**KEYED, "right": "3 mm"}},
        'keyways.right: "mm" is a unit of length, where an angle is asked for',
    ),
    "below nothing": (
        {"keyways": {**KEYED, "measured": "-1 deg"}},
        "keyways.measured: '-1 deg' is out of range; write an angle from 0 deg to 90 deg",
    ),
    "misspelt": (
        {"keyways": {**KEYED, "center": ["0 deg", "0 deg"]}},
        "there is no 'center' here; did you mean 'centre'?",
    ),
}


@pytest.mark.parametrize(("changes", "words"), REFUSED.values(), ids=REFUSED)
def test_wrong_keyways_are_one_line(changes: dict[str, object], words: str) -> None:
    piece = loads(MOTH.replace("sides = 1\n", ""), "piece.toml")
    with pytest.raises(DescriptionError) as caught:
        mechanism(changed(piece, changes))
    (line,) = caught.value.lines
    assert line.startswith("piece.toml: ")
    assert words in line


def test_check_tells_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    keyed = '[keyways]\nleft = "0 deg"\nright = "0 deg"\n'
    (tmp_path / "piece.toml").write_text(MOTH + keyed)
    assert "remove [keyways]" in Refusal(tmp_path, capsys, "check", "piece.toml").line
