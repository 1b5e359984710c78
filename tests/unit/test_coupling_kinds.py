"""Kinds of couplings in the drive: what is simulated of each, and that what they allow moves nothing."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from analysis import drive_line
from analysis.drawing import drawing
from analysis.questions import closed
from models.coupling_kinds import coupling_kinds
from models.loading import changed, load
from sim import names
from sim.run import Run
from sim.scenarios import LetGo, Turn
from sim.scenarios.base import gives
from sim.scenarios.jam import gives_way
from sim.simulate import calculated

MODELS = Path(str(files("models")))
RPM = np.pi / 30
MANTA = load(MODELS / "manta.toml", {"stage.1.kind": "direct", "stage.2.kind": "direct"})
SIZE = {"mass": "0.6 kg", "diameter": "65 mm"}
CARDAN = {"kind": "double-cardan", **SIZE, "length": "90 mm"}
GIVES = {"stiffness": "900 N m/rad", "damping": "1.8 N m s/rad", "backlash": "0.5 deg"}
DOINGS = [Turn(30 * RPM), LetGo(60 * RPM, np.radians(300))]


def run(coupling: dict[str, object], doing: Turn | LetGo, method: str) -> Run:
    return calculated(changed(MANTA, {"crank.coupling": coupling}), doing, method=method)


def alike(one: Run, other: Run) -> None:
    assert one.channels.keys() == other.channels.keys()
    for name in one.channels:
        np.testing.assert_array_equal(one[name], other[name], err_msg=name)


@pytest.mark.parametrize("doing", DOINGS, ids=lambda d: d.case)
def test_a_double_cardan_moves_as_a_clamp_does(doing: Turn | LetGo) -> None:
    alike(run(CARDAN, doing, "reduced"), run({"kind": "clamp", **SIZE}, doing, "reduced"))


def test_so_it_does_in_the_engine() -> None:
    alike(run(CARDAN, DOINGS[0], "engine"), run({"kind": "clamp", **SIZE}, DOINGS[0], "engine"))


@pytest.mark.parametrize("doing", DOINGS, ids=lambda d: d.case)
def test_one_that_gives_moves_as_an_elastic_one_does(doing: Turn | LetGo) -> None:
    alike(
        run({**CARDAN, **GIVES}, doing, "reduced"),
        run({"kind": "elastic", **SIZE, **GIVES}, doing, "reduced"),
    )


def test_what_it_allows_moves_nothing() -> None:
    elastic = {"kind": "elastic", **SIZE, **GIVES}
    alike(
        run(elastic, DOINGS[0], "reduced"),
        run({**elastic, "angular": "3 deg", "parallel": "2 mm"}, DOINGS[0], "reduced"),
    )


@pytest.mark.parametrize(("more", "soft"), [({}, False), (GIVES, True)])
def test_whether_anything_gives(more: dict[str, object], soft: bool) -> None:
    linkage = closed(changed(MANTA, {"crank.coupling": {**CARDAN, **more}}))
    assert gives(linkage) is soft
    assert gives_way(linkage, "left") is soft


def test_only_an_insert_is_judged_as_one() -> None:
    rated = {**CARDAN, **GIVES, "rated": "90 N m"}
    found = drive_line.findings(run(rated, DOINGS[0], "reduced"))
    assert {f.what for f in found if f.where == names.coupling("left")} == {
        drive_line.PEAK,
        drive_line.REVERSING,
    }


def test_the_drawing_says_what_it_allows() -> None:
    said = [
        t.get_text()
        for ax in drawing(closed(changed(MANTA, {"crank.coupling": CARDAN}))).axes
        for t in ax.texts
    ]
    text = "\n".join(said)
    assert "double-cardan" in text
    assert "25°*, 38*" in text  # 90 mm times sin(25 deg)
    plain = drawing(closed(changed(MANTA, {"crank.coupling": {"kind": "clamp", **SIZE}})))
    assert not any("allows" in t.get_text() for ax in plain.axes for t in ax.texts)


def test_every_kind_says_where_its_figures_come_from() -> None:
    kinds = coupling_kinds()
    assert sorted(kinds) == ["clamp", "double-cardan", "elastic"]
    for kind in kinds.values():
        wanted = {"angular", "backlash", "reversing", *(["parallel"] if kind.parallel is not None else [])}
        assert kind.sources.keys() == wanted
        assert all(kind.sources.values())
    assert kinds["double-cardan"].offset(0.1) == pytest.approx(0.1 * np.sin(np.radians(25)))
    assert kinds["elastic"].offset(0.1) == kinds["elastic"].parallel == 0.4e-3
    assert [kinds[k].reversing for k in sorted(kinds)] == [True, True, False]
