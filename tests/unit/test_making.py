"""How a crankshaft is made and how much it is used: as written, left open, and refused."""

from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest

from analysis import shaft_strength
from analysis.shaft_limits import grounds, toe
from analysis.shaft_strength import FATIGUE, WELD, YIELD
from analysis.strength.endurance import FINISHES
from analysis.strength.notches import KEYSEATS
from analysis.strength.slopes import BEND
from analysis.strength.welds import CAUTIOUS, turns_a_year
from models.loading import DescriptionError, changed, load
from models.making import Finish, Keyseat, Making, Use, Weld
from models.mechanism import Mechanism, from_canonical
from models.resolve import mechanism
from models.written import written
from sim.builders import linkage
from sim.identity import canonical

MODELS = Path(__file__).parents[2] / "models"
D = 0.0254
"""Diameter of the moth's shaft, m."""


def settled(name: str = "moth", **changes: Any) -> Mechanism:
    """Settle an example; `crank__pin` stands for `crank.pin`."""
    named = {field.replace("__", "."): value for field, value in changes.items()}
    return mechanism(load(MODELS / f"{name}.toml", named))


def test_the_words_of_a_description_are_those_of_the_tables() -> None:
    assert set(get_args(Finish)) == set(FINISHES)
    assert set(get_args(Keyseat)) - {"none"} == set(KEYSEATS)
    assert (Weld().partial, Use().deflection) == (CAUTIOUS.value, BEND[1].value)
    assert Use(hours=40, speed=6.0).turns(3.0) == pytest.approx(turns_a_year(2.0, 40))


def test_making_and_use_as_written() -> None:
    made = settled(
        crank__surface="ground", crank__keyseat={"kind": "sled-runner"},
        crank__weld={"toe": "EN toe", "throat": "5 mm", "faces": 2, "partial": 1.15},
        crank__bearings=["150 mm", {"out": "330 mm", "kind": "ball"}, {"out": "400 mm", "length": "40 mm"}],
        use={"hours": 200, "years": 20.5, "speed": "60 rpm", "margin": 2, "deflection": 0.002},
    )  # fmt: skip
    crank = made.sides[1].crank
    # The root's class is of the toe's code.
    assert crank.making == Making("ground", "sled-runner", Weld("EN toe", "EN root", 0.005, 2, 1.15))
    assert made.use == Use(200, 20.5, pytest.approx(2 * np.pi), 2, 0.002)
    assert [(s.kind, s.length) for s in crank.stations] == [("bush", D), ("ball", D), ("bush", 0.04)]
    back = from_canonical(canonical(made))
    assert (back.sides, back.use) == (made.sides, made.use)
    assert not {d.field for d in made.defaults} & {"crank.surface", "crank.weld.toe", "use.hours",
                                                   "crank.bearings.2.kind", "crank.bearings.3.length"}  # fmt: skip


def test_making_and_use_left_open() -> None:
    made = settled()
    sources = {d.field: d.source for d in made.defaults}
    for field in ("crank.surface", "crank.keyseat.kind", "crank.weld.faces", "crank.bearings.1.kind",
                  "crank.bearings.2.length", "use.hours", "use.years", "use.speed"):  # fmt: skip
        assert "assumption" in sources[field]
    assert "memory" in sources["use.margin"]
    assert "memory" in sources["use.deflection"]
    assert toe(made.sides[0]) is not None
    # .6 m/s or what an adult finds comfortable, at a radius of 220 mm.
    assert made.use.speed == pytest.approx(1.0 / 0.22, abs=5e-4)


def test_a_default_written_down_is_the_same_piece() -> None:
    made = settled()
    for d in made.defaults:
        if d.field.startswith(("use.", "crank.weld", "crank.surface", "crank.keyseat")):
            value = d.value if isinstance(d.value, str) else written(d.value, d.dimension)
            assert canonical(mechanism(load(MODELS / "moth.toml", {d.field: value}))) == canonical(made), (
                d.field
            )


def test_other_materials() -> None:
    light = settled(crank__material="6061-T6 aluminium")
    assert light.sides[0].crank.making.weld.toe == "IIW toe aluminium"
    assert {f.what for f in shaft_strength.of_linkage(linkage(light))} == {FATIGUE, YIELD, WELD}
    plastic = settled(crank__material="acetal")
    assert plastic.sides[0].crank.making.weld.toe is None
    found = shaft_strength.of_linkage(linkage(plastic))
    assert {f.what for f in found} == {YIELD}
    assert all("fatigue is not known" in f.note for f in found)
    assert grounds(plastic)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"crank.surface": "painted"}, "crank.surface: 'painted' is not one of its values"),
        ({"crank.keyseat.kind": "round"}, "'round' is not one of its values"),
        ({"crank.weld.toe": "EN root"}, "'EN root' is no weld class of the toe; write one of: EN toe"),
        ({"crank.weld.root": "better"}, "'better' is no weld class of the root"),
        ({"crank.weld.faces": 3}, "write a number of at most 2"),
        ({"crank.weld.partial": 0.5}, "write a number of at least 1"),
        (
            {"crank.weld.toe": "IIW toe aluminium"},
            "is for aluminium and the crankshaft is of steel; write one of",
        ),
        ({"crank.material": "acetal", "crank.weld.toe": "EN toe"}, "remove crank.weld.toe"),
        ({"crank.bearings.1.kind": "air"}, "there is no bearing of kind 'air'; write one of: bush, ball"),
        ({"crank.bearings.1.length": "0 mm"}, "write a length between"),
        ({"use.hours": 9000}, "write a number of at most 8784"),
        ({"use.hours": "500 h"}, "write a plain number, no unit"),
        ({"use.years": 0}, "write a number above 0"),
        ({"use.speed": 3}, "needs its unit"),
        ({"use.margin": 0.9}, "write a number of at least 1"),
        ({"use.deflection": 0.5}, "write a number of at most 0.1"),
    ],
)
def test_what_makes_no_crankshaft_is_refused(changes: dict[str, object], says: str) -> None:
    moth = load(MODELS / "moth.toml", {"crank.bearings": ["150 mm", "330 mm"]})
    with pytest.raises(DescriptionError) as refused:
        mechanism(changed(moth, changes))
    assert len(refused.value.lines) == 1
    assert says in refused.value.lines[0]
