"""What a description says of what carries a piece: as written, left open, and refused."""

from pathlib import Path

import pytest

from models.loading import DescriptionError, changed, load
from models.mechanism import Mechanism, from_canonical
from models.resolve import mechanism
from models.structure import Structure
from sim.identity import canonical

MODELS = Path(__file__).parents[2] / "models"
POST = {"outside": "114 mm", "wall": "5 mm"}
BASE = {"width": "300 mm", "thickness": "16 mm", "bolts": 6, "circle": "240 mm"}


def moth(**changes: object) -> Mechanism:
    return mechanism(load(MODELS / "moth.toml", changes))


def test_what_is_not_described_is_left_out() -> None:
    assert moth().structure == Structure()


def test_a_run_gives_it_back() -> None:
    for name in ("manta", "manta_stand"):
        m = mechanism(load(MODELS / f"{name}.toml"))
        assert m.structure != Structure()
        assert from_canonical(canonical(m)).structure == m.structure


def test_an_old_run_without_it_reads_as_not_described() -> None:
    m = moth()
    text = canonical(m).replace(
        ',"structure":{"arm":null,"body":null,"post":null,"pressure":null,"stand":null}', ""
    )
    assert "structure" not in text
    assert from_canonical(text).structure == Structure()


def test_it_moves_nothing() -> None:
    whole = load(MODELS / "manta.toml")
    bare = changed(whole, {"arm.outside": "70 mm", "body.thickness": "8 mm", "post.cap": "5 mm"})
    a, b = mechanism(whole), mechanism(bare)
    assert a.structure != b.structure
    assert (a.sides, a.wheel, a.stages, a.post) == (b.sides, b.wheel, b.stages, b.post)


def test_defaults_carry_their_source() -> None:
    shape = {"width": "200 mm", "height": "300 mm", "thickness": "8 mm"}
    m = moth(arm={"outside": "60 mm"}, body=shape, post=POST | {"base": BASE})
    named = {d.field: d for d in m.defaults}
    for field in ("arm.wall", "arm.up", "arm.forward", "arm.material", "arm.weld.toe", "body.material", "body.up",
                  "post.material", "post.base.material", "post.base.length", "post.weld.partial"):  # fmt: skip
        assert named[field].source
    arm, body, post = m.structure.arm, m.structure.body, m.structure.post
    assert arm is not None
    assert (arm.wall, arm.bracket) == (0.0, None)
    assert body is not None
    assert sorted(body.outline.exterior) == [(-0.1, 0.0), (-0.1, 0.3), (0.1, 0.0), (0.1, 0.3)]
    assert post is not None
    assert post.base is not None
    assert (post.base.length, post.base.material.name) == (0.3, "A36 steel")


def test_four_bolts_may_stand_in_the_corners() -> None:
    base = moth(post=POST | {"base": BASE | {"bolts": 4, "circle": "400 mm"}}).structure.post
    assert base is not None
    assert base.base is not None
    assert base.base.circle == pytest.approx(0.4)


def test_feet_one_by_one_or_as_a_rectangle() -> None:
    stand = moth(stand={"width": "1 m", "length": "600 mm"}).structure.stand
    assert stand is not None
    assert sorted(stand.feet) == [(-0.3, -0.5), (-0.3, 0.5), (0.3, -0.5), (0.3, 0.5)]
    feet = [{"forward": f"{x} mm", "out": f"{y} mm"} for x, y in ((400, 0), (-200, 300), (-200, -300))]
    three = moth(stand={"foot": feet}).structure.stand
    assert three is not None
    assert three.feet == ((0.4, 0.0), (-0.2, 0.3), (-0.2, -0.3))
    assert (three.mass, three.height) == (None, None)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"arm": {"outside": "60 mm", "wall": "30 mm"}}, "the arm's wall leaves no bore"),
        ({"arm": {"wall": "3 mm"}}, "arm.outside"),
        ({"arm": {"outside": "60 mm", "material": "acetal", "weld": {"toe": "EN toe"}}}, "remove arm.weld.toe"),
        ({"arm": {"outside": "60 mm", "weld": {"toe": "IIW toe aluminium"}}}, "aluminium and the arm is of steel"),
        ({"body": {"thickness": "8 mm", "width": "1 m"}}, "the body plate has no shape; write width and height"),
        ({"body": {"thickness": "8 mm", "width": "1 m", "height": "1 m",
                   "outline": {"unit": "mm", "points": [[0, 0], [9, 0], [9, 9]]}}}, "keep one of them"),
        ({"post": POST | {"base": BASE | {"bolts": 2}}}, "at least 3"),
        ({"post": POST | {"base": BASE | {"circle": "500 mm"}}}, "the bolt circle is larger than the base plate"),
        ({"post": POST | {"base": BASE | {"circle": "320 mm"}}}, "the bolt circle is larger than the base plate"),
        ({"post": POST | {"base": BASE | {"circle": "100 mm"}}}, "its bolts would stand inside the post"),
        ({"stand": {"width": "1 m"}}, "nobody says what the stand stands on"),
        ({"stand": {"width": "1 m", "length": "1 m", "foot": [{"forward": "1 m", "out": "0 m"}]}}, "keep one of them"),
        ({"stand": {"foot": [{"forward": "1 m", "out": "0 m"}, {"forward": "2 m", "out": "0 m"}]}}, "has 2 feet"),
        ({"stand": {"foot": [{"forward": f"{x} m", "out": "1 m"} for x in range(3)]}}, "feet lie in one line"),
        ({"site": {"pressure": "30 kPa"}}, "write a pressure between 1 Pa and 20 kPa"),
        ({"site": {"pressure": 900}}, "needs its unit"),
    ],
)  # fmt: skip
def test_what_carries_nothing_is_refused(changes: dict[str, object], says: str) -> None:
    with pytest.raises(DescriptionError) as refused:
        moth(**changes)
    assert len(refused.value.lines) == 1
    assert says in refused.value.lines[0]
