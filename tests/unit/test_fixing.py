"""Hinges, fasteners and lock of a description: as written, left open, and refused."""

from dataclasses import replace
from pathlib import Path

import pytest

from models.fixing import Bolting, Hinges, Lock
from models.loading import DescriptionError, load
from models.materials import material
from models.mechanism import Mechanism, from_canonical
from models.resolve import mechanism
from models.written import written
from sim.identity import canonical

MODELS = Path(__file__).parents[2] / "models"
OWN = ("hinges.", "fasteners.", "lock.")


def settled(name: str = "manta", **changes: object) -> Mechanism:
    return mechanism(load(MODELS / f"{name}.toml", {k.replace("__", "."): v for k, v in changes.items()}))


def test_left_open() -> None:
    m = settled(wheel__hub={"mass": "1.5 kg", "diameter": "90 mm"})
    assert m.lock is None
    assert m.bolting == replace(Bolting("A2-70", 4), circle=m.bolting.circle)
    assert m.bolting.circle == pytest.approx(0.063)
    assert [p.name for p in m.hinges.plates] == ["304 stainless", "304 stainless"]
    assert m.hinges == replace(Hinges(), plates=m.hinges.plates)
    sources = {d.field: d.source for d in m.defaults if d.field.startswith(OWN)}
    assert {"hinges.material", "hinges.count", "hinges.share", "hinges.knuckles", "hinges.reach",
            "fasteners.grade"} <= set(sources)  # fmt: skip
    assert all("assumption" in s for s in sources.values())


def test_as_written() -> None:
    m = settled(
        hinges={"pin": "14 mm", "material": "1045 steel", "count": 3, "span": "500 mm", "knuckles": 5,
                "knuckle": "20 mm", "gap": "0.5 mm", "wear": "2e-6 mm3/(N m)", "leaf": "6 mm", "bolts": 6,
                "bolt": "8 mm", "reach": "30 mm", "rows": "35 mm", "pitch": "45 mm", "edge": "18 mm"},
        fasteners={"grade": "8.8"},
        wheel__hub={"mass": "1.5 kg", "diameter": "90 mm", "bolts": 6, "circle": "70 mm"},
        lock={"at": "crank", "radius": "90 mm", "pin": "16 mm", "shear": "double", "plate": "8 mm", "gap": "1 mm"},
    )  # fmt: skip
    h = m.hinges
    expected = Hinges(material("1045 steel"), h.plates, 3, 0.5, 5, 0.02, 0.0005, 2e-15, 0.006, 6, 0.008, 0.03, 0.035,
                      0.045, 0.018)  # fmt: skip
    assert h == replace(expected, wear=h.wear)
    assert h.wear == pytest.approx(2e-15)
    assert m.bolting == Bolting("8.8", 6, 0.07)
    assert m.lock == Lock("crank", 0.09, 0.016, 2, 0.008, 0.001)
    assert m.sides[0].panels[0].hinge_pin == 0.014
    assert not [d for d in m.defaults if d.field.startswith(OWN)]
    assert from_canonical(canonical(m)) == replace(m, defaults=())


def test_the_wheels_bolts_are_those_of_its_hub() -> None:
    hub = {"mass": "1.5 kg", "diameter": "90 mm", "bolts": 6, "circle": "72 mm"}
    m = settled(wheel__hub=hub)
    assert (m.bolting.wheel, m.bolting.circle) == (6, pytest.approx(0.072))


def test_a_default_written_down_is_the_same_piece() -> None:
    m = settled(lock__at="wheel")
    for d in m.defaults:
        if d.field.startswith(OWN):
            value = d.value if isinstance(d.value, str) else written(d.value, d.dimension)
            value = int(d.value) if d.dimension == "count" else value
            given: dict[str, object] = {"lock__at": "wheel", d.field: value}
            assert canonical(settled("manta", **given)) == canonical(m), d.field


def test_a_group_of_knuckles() -> None:
    h = Hinges(knuckles=5, knuckle=0.02, gap=0.001, bolts=6, pitch=0.03, reach=0.02, rows=0.04)
    assert (h.planes, h.length) == (4, pytest.approx(0.104))
    assert h.pattern == ((-0.03, 0.02), (0.0, 0.02), (0.03, 0.02), (-0.03, 0.06), (0.0, 0.06), (0.03, 0.06))


def test_the_lock_at_each_place() -> None:
    assert settled(lock={"at": "wheel"}).lock == Lock("wheel", 0.304)
    assert settled(lock={"at": "crank"}).lock == Lock("crank", 0.1)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            {"hinges.knuckles": 4},
            "hinges.knuckles: a group of 4 knuckles leaves an end of the pin without hold",
        ),
        ({"hinges.bolts": 5}, "hinges.bolts: 5 bolts make no two rows alike; write an even number"),
        ({"hinges.count": 1}, "hinges.count"),
        ({"hinges.bolt": "7 mm"}, "hinges.bolt: there is no coarse thread of that diameter; the nearest is"),
        ({"hinges.span": "5"}, "hinges.span"),
        ({"hinges.wear": "2 mm"}, "hinges.wear"),
        ({"hinges.material": "butter"}, "hinges.material: material 'butter' is not known"),
        ({"hinges.hinge": "2 mm"}, "hinges"),
        ({"fasteners.grade": "4.6"}, "fasteners.grade"),
        (
            {"wheel.hub.diameter": "1 m", "wheel.hub.bolts": 6, "wheel.hub.circle": "900 mm"},
            "the wheel's bolts lie outside it",
        ),
        ({"lock": {"radius": "90 mm"}}, "lock"),
        ({"lock": {"at": "post"}}, "lock.at"),
        ({"lock": {"at": "wheel", "radius": "400 mm"}}, "lock.radius: the pin lies outside the wheel"),
    ],
)
def test_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(DescriptionError) as refused:
        mechanism(load(MODELS / "manta.toml", change))
    assert words in str(refused.value)
    assert "manta.toml: " in str(refused.value)


def test_many_faults_come_at_once() -> None:
    with pytest.raises(DescriptionError) as refused:
        load(MODELS / "manta.toml", {"hinges.bolts": 3, "hinges.knuckles": 2, "lock": {"at": "post"}})
    assert len(str(refused.value).splitlines()) == 3
