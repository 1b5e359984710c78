"""Who turns the wheel: the table of people, and what somebody can push at a speed."""

import tomllib
from importlib.resources import files
from itertools import pairwise

import pytest

from models.people import by_age, people


def test_every_value_has_a_source_of_its_own() -> None:
    table = tomllib.loads(files("models").joinpath("people.toml").read_text("utf-8"))
    values = {"push", "power", "fastest", "reaction", "speed", "grip", "hang", "arm_mass", "stature"}
    body = set(table.pop("body"))
    assert body == {"shoulder", "overhead", "arm", "knuckle", "knee"}
    for name, row in table.items():
        assert set(row) - {"label", "age"} == values, name
    for person in people().values():
        assert set(person.sources) == values | body
        assert all(person.sources.values())


def test_a_profile_keeps_its_values_in_si() -> None:
    adult = people()["adult"]
    assert (adult.push, adult.power, adult.fastest, adult.speed) == (110.0, 75.0, 3.0, 1.0)
    assert (adult.reaction, adult.hang, adult.arm_mass) == (0.2, 100.0, 1.5)
    child = people()["child"]
    assert (child.label, child.push, child.power) == ("child of 5 or 6", 50.0, 30.0)
    assert (child.fastest, child.reaction, child.speed) == (1.5, 0.25, 0.6)
    assert child.source == "assumption"
    # 5 years, 10/50/90 percentile, cm: boys 103.7/109.9/115.4, girls 102.7/108.4/113.8 (read, a textbook appendix).
    # Their means are given to the millimetre: within half a millimetre and rounding.
    means = ((1.037 + 1.027) / 2, (1.099 + 1.084) / 2, (1.154 + 1.138) / 2)
    assert people()["child5"].stature == pytest.approx(means, abs=0.00051)


def test_percentiles_between_published_ones_follow_the_normal_distribution() -> None:
    # Men, 5/50/95 percentile 1.649/1.759/1.869 m (read, a course sheet); .7791 is 1.2816 / 1.6449, the deviates
    # of 90 and 95 % (memory, any table). Given to the millimetre.
    assert people()["man"].stature == pytest.approx(
        (1.759 - 0.7791 * 0.110, 1.759, 1.759 + 0.7791 * 0.110), abs=0.0006
    )


def test_profiles_of_one_age_come_youngest_first_and_grow() -> None:
    found = by_age()
    assert [p.name for p in found] == [
        "child3", "child4", "child5", "child6", "child8", "woman", "man", "vigorous"
    ]  # fmt: skip
    for a, b in pairwise(found):
        assert a.push < b.push
        assert a.power < b.power
        assert a.grip <= b.grip
        assert a.stature <= b.stature


def test_every_profile_is_a_body() -> None:
    for p in people().values():
        assert p.stature[0] < p.stature[1] < p.stature[2]
        assert 0 < p.knee < p.knuckle < p.shoulder < 1 < p.overhead
        # The hanging hand is an arm below the shoulder: the two come from two sources that agree to 1 %.
        assert p.shoulder - p.arm == pytest.approx(p.knuckle, abs=0.01)
        assert p.grip >= p.push or p.name == "child"
        assert 0 < p.speed < p.fastest
        assert p.push * p.speed * (1 - p.speed / p.fastest) > 0


def test_strength_falls_with_speed_and_is_held_by_power() -> None:
    adult = people()["adult"]
    assert adult.strength(0.0) == 110.0
    # Closed form: 110 (1 - 2/3) at 2 m/s; 75 W / 1.5 m/s = 50 N, below 110 / 2.
    assert adult.strength(2.0) == pytest.approx(110 / 3)
    assert adult.strength(1.5) == pytest.approx(50.0)
    assert adult.strength(3.0) == adult.strength(9.0) == 0.0
    for person in people().values():
        pushes = [person.strength(v * 0.1) for v in range(60)]
        assert pushes == sorted(pushes, reverse=True)
