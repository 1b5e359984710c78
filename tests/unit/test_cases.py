"""Load cases of the project and of a description, and what they come to for a sculpture."""

from functools import cache

import numpy as np
import pytest
from examples import MANTA, MOTH

from models.cases import KINDS, MOST, Case, cases, standard
from models.loading import DescriptionError, changed, load, loads
from models.people import people
from models.resolve import mechanism
from sim.builders import Linkage, linkage
from sim.engines.base import Stepping
from sim.engines.exudyn import ExudynEngine
from sim.expanding import _MAKERS, expanded, hardest, left_standing, wheel_speed
from sim.scenarios import Crank, Gust, HangHeld, Jam, LetGo, Lifted, Turn
from sim.statics import statics
from sim.whole import holding_torque, potential_energy
from sim.wind import Wind

ELASTIC = '[crank.coupling]\nkind = "elastic"\nstiffness = "400 N m/rad"\n'


WAYS = {"slope": pytest.approx(np.radians(10)), "lee": 0.0}
"""What the project's own gusts say of slope and lee, and a case of one's own that does not."""


def described(text: str) -> dict[str, Case]:
    return cases(loads(MOTH + text))


def faults(text: str) -> tuple[str, ...]:
    with pytest.raises(DescriptionError) as caught:
        described(text)
    return caught.value.lines


@cache
def manta() -> Linkage:
    return linkage(mechanism(load(MANTA)))


def moth(text: str = "") -> Linkage:
    return linkage(mechanism(loads(MOTH + text)))


# --- What a description may say ---


def test_every_kind_has_a_case_of_the_project_with_a_source() -> None:
    assert {c.kind for c in standard().values()} == set(KINDS) == set(_MAKERS)
    assert all(c.source for c in standard().values())
    for c in standard().values():
        assert set(c.figures) <= set(KINDS[c.kind])
        assert not c.person or c.person in people()


def test_a_description_adds_a_case() -> None:
    found = described('[[case]]\nname = "storm"\nkind = "gust"\nwind = "72 km/h"\ndirections = 4\n')
    assert found["storm"] == Case(
        "storm", "gust", "the description", "", {**WAYS, "wind": 20.0, "directions": 4.0}
    )
    assert found["storm"].count("directions") == 4
    assert {**standard(), "storm": found["storm"]} == found


def test_a_description_changes_a_figure_and_keeps_the_others() -> None:
    found = described('[[case]]\nname = "gust"\nwind = "30 m/s"\nsource = "the site\'s engineer"\n')
    assert found["gust"].figures == {**WAYS, "wind": 30.0, "directions": 8.0}
    assert found["gust"].source == "the site's engineer"
    assert found["gust-locked"] == standard()["gust-locked"]


def test_a_wheel_speed_takes_the_place_of_a_hand_speed() -> None:
    found = described('[[case]]\nname = "spun"\nspeed = "60 rpm"\n')["spun"]
    assert found.figures == pytest.approx({"speed": 2 * np.pi})
    assert found.person == "vigorous"


def test_the_words_of_a_case() -> None:
    found = standard()
    assert found["hanging"].words == "2 people, each 100 kg (220 lb), reach up to 2300 mm (90.6 in)"
    assert found["spun"].words == "vigorous adult, hand speed 4 m/s (13 ft/s)"
    assert found["broken"].words == ""


WRONG = {
    "no name": ('kind = "broken"', "case 1: it has no name"),
    "empty name": ('name = " "\nkind = "broken"', "it has no name"),
    "comma": ('name = "a,b"\nkind = "broken"', "none that a command can take"),
    "no kind": ('name = "x"', "case 'x': it has no kind; write one of: turn, crank"),
    "unknown kind": ('name = "x"\nkind = "earthquake"', "there is no kind of case 'earthquake'"),
    "kind of list": ('name = "x"\nkind = ["gust"]', "there is no kind of case ['gust']"),
    "other kind": ('name = "gust"\nkind = "turn"', "one of the project's own, of kind 'gust'"),
    "unknown figure": (
        'name = "gust"\nangles = 3',
        "has no 'angles'; known are: wind, directions, slope, lee",
    ),
    "misspelt": ('name = "gust"\nwinds = "3 m/s"', "has no 'winds'; did you mean 'wind'?"),
    "lacking": ('name = "x"\nkind = "turn"', "a case of kind 'turn' needs speed; write speed = ..."),
    "no speed": ('name = "x"\nkind = "stop"\nwithin = "1 s"', "needs person or speed or hand_speed"),
    "two speeds": ('name = "adult"\nspeed = "3 rpm"\nhand_speed = "1 m/s"', "both speed and hand_speed"),
    "bare": ('name = "gust"\nwind = 3', "wind: a speed needs its unit"),
    "negative": ('name = "gust"\nwind = "-3 m/s"', "wind: '-3 m/s' is out of range; write 0.1 m/s to 90 m/s"),
    "too fast": (
        'name = "adult"\nspeed = "1e9 rpm"',
        "speed: '1e9 rpm' is out of range; write 0.1 rpm to 950",
    ),
    "count": ('name = "let-go"\nangles = 1.5', "angles: 1.5 is no such count; write 1 to 360"),
    "true count": ('name = "let-go"\nangles = true', "angles: True is no such count"),
    "many": ('name = "let-go"\nangles = 361', "angles: 361 is no such count"),
    "no share": ('name = "gust"\nlee = 1.5', "lee: 1.5 is no share; write a bare number, 0 to 1"),
    "true share": ('name = "gust"\nlee = true', "lee: True is no share"),
    "steep": ('name = "gust"\nslope = "90 deg"', "slope: '90 deg' is out of range; write 0 deg to 60 deg"),
    "nobody": ('name = "adult"\nperson = "king"', "there is no person 'king'; write one of: child"),
    "person of list": ('name = "adult"\nperson = ["child"]', "there is no person ['child']"),
    "source": ('name = "adult"\nsource = 3', 'its source is no text; write source = "..."'),
}


@pytest.mark.parametrize(("text", "words"), WRONG.values(), ids=WRONG)
def test_a_wrong_case_is_one_line(text: str, words: str) -> None:
    (line,) = faults(f"[[case]]\n{text}\n")
    assert line.startswith("description: case ")
    assert words in line


def test_all_that_is_wrong_with_all_cases_comes_at_once() -> None:
    twice = '[[case]]\nname = "x"\nkind = "broken"\n' * 2
    found = faults('[[case]]\nname = "gust"\nwind = 3\ndirections = 0\nsun = 1\n' + twice)
    assert len(found) == 4
    assert "case 'x': it is listed twice" in found[-1]


def test_too_many_cases_are_one_line() -> None:
    (line,) = faults("".join(f'[[case]]\nname = "c{k}"\nkind = "broken"\n' for k in range(MOST + 1)))
    assert line == f"description: case: {MOST + 1} cases are too many; write at most {MOST}"


# --- What a case comes to ---


def test_a_hand_speed_is_the_rims() -> None:
    closed = manta()
    found = cases(load(MANTA))
    # 4 m/s at a rim of 380 mm, and an adult's comfortable speed (read from the descriptions).
    assert wheel_speed(found["spun"], closed) == pytest.approx(4 / 0.38)
    assert wheel_speed(found["let-go"], closed) == pytest.approx(people()["adult"].speed / 0.38)
    assert wheel_speed(found["slow-turn"], closed) == pytest.approx(np.pi / 3)


def test_let_go_goes_all_the_way_round() -> None:
    made = expanded(cases(load(MANTA))["let-go"], manta()).scenarios
    assert all(isinstance(s, LetGo) for s in made)
    releases = [s.release for s in made if isinstance(s, LetGo)]
    assert releases == pytest.approx(np.linspace(0, 2 * np.pi, 24, endpoint=False))


def test_a_crank_without_a_speed_is_left_to_the_person() -> None:
    found = cases(load(MANTA))
    assert expanded(found["child"], manta()).scenarios == (Crank("child", None),)
    assert expanded(found["slow-turn"], manta()).scenarios == (Turn(pytest.approx(np.pi / 3)),)


def test_gusts_find_a_piece_where_friction_holds_it() -> None:
    closed = manta()
    made = expanded(cases(load(MANTA))["gust"], closed).scenarios
    assert [np.degrees(s.direction) for s in made if isinstance(s, Gust)] == pytest.approx(range(0, 360, 45))
    for s in made:
        assert isinstance(s, Gust)
        assert held(closed, s.start)
        assert abs(np.degrees(s.slope)) == pytest.approx(10)
        assert s.lee in (0.0, 1.0)


def held(closed: Linkage, crank: float) -> bool:
    m, at = closed.mechanism, np.array([crank])
    rubs = sum(statics(s, at, m.gravity, m.friction).friction[0] for s in closed.sides)
    return abs(holding_torque(closed, at)[0]) <= m.friction.static * (
        rubs / m.reduction + m.friction.wheel_drag
    )


@pytest.mark.parametrize("name", ["manta", "moth"])
def test_a_storm_sets_a_piece_off_that_was_left_near_its_top(name: str) -> None:
    closed = linkage(mechanism(load(MANTA.with_name(f"{name}.toml"))))
    around = potential_energy(closed, np.linspace(0, 2 * np.pi, 720, endpoint=False))
    swing = float(np.ptp(around))
    crank, fall, beyond = left_standing(closed, Wind(25.0, 0.0, np.radians(-10)))
    assert held(closed, crank)
    assert fall == pytest.approx(
        potential_energy(closed, np.array([crank]))[0] - around.min(), abs=1e-3 * swing
    )
    assert fall > 0.8 * swing
    assert beyond > 0
    assert moved(closed, 25.0, crank) > 1.0


def moved(closed: Linkage, wind: float, crank: float) -> float:
    gust = Gust(wind, 0.0, crank, slope=np.radians(-10))
    trace = ExudynEngine().simulate(gust.scene(closed), Stepping(2e-3, 8.0))
    return float(np.ptp(trace.spins["wheel"].angle))


def test_a_breeze_leaves_a_piece_where_it_was_left() -> None:
    crank, fall, beyond = left_standing(manta(), Wind(2.0, 0.0, np.radians(-10)))
    assert fall == 0
    assert beyond < 0
    assert moved(manta(), 2.0, crank) < 0.01


def test_a_piece_that_friction_holds_nowhere_is_found_at_its_lowest() -> None:
    none = {f"friction.{k}": 0 for k in ("bush", "rod_end", "hinge", "bearing")}
    closed = linkage(mechanism(changed(load(MANTA), {**none, "friction.wheel_drag": "0 N m"})))
    crank = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    lowest = crank[int(np.argmin(potential_energy(closed, crank)))]
    assert left_standing(closed, Wind(25.0, 0.0))[0] == pytest.approx(lowest)


def test_hardest_is_where_the_weights_drive_the_wheel() -> None:
    closed = manta()
    crank = np.linspace(0, 2 * np.pi, 3600, endpoint=False)
    least = float(holding_torque(closed, crank).min())
    assert least < 0
    # Whole degrees of a smooth curve: within a thousandth of its lowest.
    assert holding_torque(closed, np.array([hardest(closed)]))[0] == pytest.approx(least, rel=1e-3)


def test_nobody_hangs_where_the_tip_is_out_of_reach() -> None:
    made = expanded(standard()["hanging"], manta())
    assert made.scenarios == ()
    assert "above a reach of 2.30 m" in made.left_out
    assert made.left_out == expanded(standard()["hanging-free"], manta()).left_out
    low = expanded(standard()["hanging"], moth())
    (held,) = low.scenarios
    assert isinstance(held, HangHeld)
    assert (held.mass, held.person) == (200.0, "adult")
    (locked,) = expanded(standard()["hanging-locked"], moth()).scenarios
    assert isinstance(locked, HangHeld)
    assert locked.person == ""


def test_a_rigid_piece_is_not_jammed_and_an_elastic_one_is_in_every_part() -> None:
    rigid = expanded(standard()["jammed"], linkage(mechanism(changed(loads(MOTH), {"sides": 2}))))
    assert rigid.scenarios == ()
    assert "nothing elastic" in rigid.left_out
    made = expanded(standard()["jammed"], moth(ELASTIC), release=1.25)
    assert [s.part for s in made.scenarios if isinstance(s, Jam)] == ["crank", "wing"]
    (crank, _) = made.scenarios
    assert isinstance(crank, Jam)
    assert crank.start == 1.25


def test_a_piece_is_lifted_only_from_above_its_centre_of_gravity() -> None:
    def lift(*places: tuple[str, str]) -> str:
        return "".join(f'[[lift]]\nname = "{name}"\nup = "{up}"\n' for name, up in places)

    assert "write [[lift]]" in expanded(standard()["lifted"], moth()).left_out
    low = expanded(standard()["lifted"], moth(lift(("foot", "-400 mm"))))
    assert low.scenarios == ()
    assert low.left_out == "lift point 'foot' lies below the centre of gravity; put it higher"
    both = expanded(standard()["lifted"], moth(lift(("foot", "-400 mm"), ("lug", "900 mm"))))
    assert [s.point.name for s in both.scenarios if isinstance(s, Lifted)] == ["lug"]
    assert "'foot'" in both.left_out


def test_every_case_has_scenarios_or_a_reason() -> None:
    for closed in (manta(), moth(), moth(ELASTIC)):
        for case in standard().values():
            made = expanded(case, closed)
            assert bool(made.scenarios) != bool(made.left_out), case.name
            assert len({s.label for s in made.scenarios}) == len(made.scenarios)
