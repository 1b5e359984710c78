"""A description may be partial, and neither spelling nor a default written down changes what it says."""

from importlib.resources import files
from pathlib import Path

import pytest
from refusal import Refusal

from analysis import commands
from analysis.questions import answers
from models.loading import changed, loads
from models.mechanism import Default
from models.resolve import Lacking, mechanism, plates
from models.units import BARE, unit_of
from sim.identity import canonical

MODELS = Path(str(files("models")))
MANTA = (MODELS / "manta.toml").read_text("utf-8")
MOTH = (MODELS / "moth.toml").read_text("utf-8")
DRIVE = (
    MOTH
    + """
[post]
outside = "168.3 mm"
wall = "6 mm"
[[stage]]
kind = "direct"
teeth = [20, 40]
[[stage]]
teeth = [15, 30]
tensioner = { force = "60 N", rate = "2 N/mm", travel = "15 mm" }
[crank.coupling]
kind = "elastic"
stiffness = "900 N m/rad"
"""
)
INNER = '{ unit = "mm", points = [[-380, 0], [420, 0], [360, 500], [-260, 500]] }'

PLATES = f"""
name = "Draft"
[[panel]]
name = "inner"
outline = {INNER}
thickness = "4 mm"
"""
CHAIN = """
name = "Draft"
[[stage]]
teeth = [13, 38]
centres = "2450 mm"
"""


def answered(text: str) -> dict[str, tuple[bool, tuple[str, ...]]]:
    return {a.question.split(",")[0]: (bool(a.findings), a.lacking) for a in answers(loads(text))}


def test_outlines_alone_give_masses() -> None:
    found = answered(PLATES)
    assert found["how heavy is it?"] == (True, ())
    assert found["does it flap as meant?"] == (
        False,
        tuple(f"panel.inner.{f}" for f in ("hinge.out", "hinge.up", "yoke_pin", "throw", "rod")),
    )
    assert not found["who can turn it"][0]
    assert {"wheel", "crank.height", "panel.inner.rod"} <= set(found["who can turn it"][1])
    # Trapezium of 800 and 620 mm by 500 mm, 4 mm thick; A36 of 7850 kg/m3 is the default; computed by hand.
    plate = plates(loads(PLATES))[0]
    (mass,) = (f.value for a in answers(loads(PLATES)) for f in a.findings if f.what == "mass")
    assert mass == pytest.approx(0.71 * 0.5 * 0.004 * 7850, rel=1e-12)
    assert plate.name == "inner"


def test_teeth_and_centres_alone_give_the_chain_fit() -> None:
    found = answered(CHAIN)
    assert found["do the chains fit?"] == (True, ())
    assert found["how heavy is it?"] == (False, ("panel",))
    assert found["does it flap as meant?"] == (False, ("panel",))


def test_a_name_alone_is_a_description() -> None:
    found = answered('name = "Draft"')
    assert found["does it flap as meant?"] == (False, ("panel",))
    assert found["who can turn it"] == (False, ("wheel", "panel", "crank.height"))


@pytest.mark.parametrize(
    ("field", "cut"),
    [
        ("wheel.diameter", 'diameter = "760 mm"'),
        ("wheel.thickness", 'thickness = "12 mm"'),
        ("crank.height", 'height = "3 m"'),
        ("panel.inner.hinge.up", ', up = "650 mm"'),
        ("panel.outer.throw", 'throw = { radius = "200 mm", angle = "-40 deg", out = "830 mm" }'),
        ("panel.inner.rod", 'rod = "600 mm"                    # eye'),
    ],
)
def test_each_lacking_field_is_named(field: str, cut: str) -> None:
    assert cut in MANTA
    text = MANTA.replace(cut, "" if cut.startswith(",") else "#", 1)
    with pytest.raises(Lacking) as refusal:
        mechanism(loads(text, "piece.toml"))
    assert refusal.value.fields == (field,)
    assert refusal.value.lines == (f"piece.toml: {field}: the simulation needs it; write {field}",)


@pytest.mark.parametrize("text", [PLATES, CHAIN, 'name = "Draft"'], ids=["outlines", "chain", "name"])
def test_check_accepts_partial_descriptions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("piece.toml").write_text(text)
    assert commands.run(["check", "piece.toml"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert "not yet: it needs" in said.out


def test_simulate_names_what_is_lacking(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "piece.toml").write_text(PLATES)
    said = Refusal(tmp_path, capsys, "simulate", "piece.toml")
    assert "piece.toml: wheel: the simulation needs it; write wheel" in said.lines
    assert "piece.toml: panel.inner.rod: the simulation needs it; write panel.inner.rod" in said.lines


OTHER_WORDS = {
    'height = "3 m" ': 'height = "300 cm" ',
    'shaft = "1 in"': 'shaft = "25.4 mm"',
    'pin = "12 mm"': 'pin = "1.2 cm"',
    '"250 mm", "930 mm"': '"0.25 m", "93 cm"',
    'mass = "0.6 kg"': 'mass = "600 g"',
    'angle = "140 deg"': 'angle = "140°"',
    'diameter = "760 mm"': 'diameter = "0.76 m"',
    'pitch = "12.7 mm"': 'pitch = "1/2 in"',
    'centres = "2450 mm"': 'centres = "245e1 mm"',
    'centres = "406.4 mm"': 'centres = "1 ft 4 in"',
    'mass = "90 g"': 'mass = "0.090 kg"',
    'swivel = "30 deg"': 'swivel = "+30.0 deg"',
    '"mm", points = [[-380, 0], [420, 0], [360, 500], [-260, 500]]':
        '"cm", points = [[-38, 0], [42.0, 0], [36, 50], [-26, 5e1]]',
    '"mm", points = [[-260, 0], [360, 0], [120, 620], [-60, 760]]':
        '"m", points = [[-0.26, 0], [0.36, 0], [0.12, 0.62], [-0.06, 0.76]]',
    'angle = "0 deg", out = "350 mm"': 'angle = "0 rad", out = "13 99/127 in"',
    'rod = "600 mm"                    # eye': 'rod = "0.6 m" # eye',
}  # fmt: skip


def test_spelling_does_not_change_a_single_bit() -> None:
    text = MANTA
    for old, new in OTHER_WORDS.items():
        assert old in text, old
        text = text.replace(old, new)
    assert canonical(mechanism(loads(text))) == canonical(mechanism(loads(MANTA)))


def as_written(default: Default) -> object:
    if default.dimension == "text":
        return {"true": True, "false": False}.get(str(default.value), default.value)
    if default.dimension in BARE:
        return int(default.value) if default.dimension == "count" else default.value
    return f"{default.value!r} {unit_of(default.dimension)}"


@pytest.mark.parametrize("text", [MANTA, MOTH, DRIVE], ids=["manta", "moth", "drive"])
def test_a_default_written_down_changes_nothing(text: str) -> None:
    sculpture = loads(text)
    settled = mechanism(sculpture)
    changes: dict[str, object] = {}
    for default in settled.defaults:
        name, _, last = default.field.rpartition(".")
        if last in ("1", "2"):  # the places of two bearings, or of a bar's two ends, are one list
            pair = changes.setdefault(name, [])
            assert isinstance(pair, list)
            pair.append(as_written(default))
        else:
            changes[default.field] = as_written(default)
    written = mechanism(changed(sculpture, changes))
    assert written.defaults == ()
    assert canonical(written) == canonical(settled)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("wheel.diameter", "760.0001 mm"),
        ("friction.bush", 0.1200001),
        ("stage.1.teeth", [13, 39]),
        ("name", "B"),
    ],
)
def test_another_value_is_another_sculpture(field: str, value: object) -> None:
    sculpture = loads(MANTA)
    assert canonical(mechanism(changed(sculpture, {field: value}))) != canonical(mechanism(sculpture))
