"""Bad input ends in one clear line a problem, with exit code 2, and nothing is written."""

import os
import re
from importlib.resources import files
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from refusal import Refusal

from analysis.questions import answers
from models.loading import MOST, DescriptionError, changed, load, loads, setting
from models.outline import Outline
from models.resolve import mechanism

MODELS = Path(str(files("models")))
MANTA = (MODELS / "manta.toml").read_text("utf-8")
INNER = '{ unit = "mm", points = [[-380, 0], [420, 0], [360, 500], [-260, 500]] }'
LONG = "0x" + "F" * 6000  # more digits than Python agrees to print


def manta(old: str, new: str) -> str:
    """Give the demo's text with one thing in it changed."""
    assert old in MANTA
    return MANTA.replace(old, new, 1)


def outlined(new: str) -> str:
    return manta(INNER, new)


@pytest.fixture
def refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    """Give a function from a description's text or bytes to how `check` refuses it."""

    def refuse(text: str | bytes, *arguments: str) -> Refusal:
        (tmp_path / "piece.toml").write_bytes(text.encode() if isinstance(text, str) else text)
        return Refusal(tmp_path, capsys, "check", "piece.toml", *arguments)

    return refuse


VALUES = {
    "wrong unit": (manta('"900 mm"', '"900 kg"'), 'wheel.height: "kg" is a unit of mass'),
    "unknown unit": (manta('"900 mm"', '"900 mmm"'), "wheel.height: 'mmm' is not a known unit"),
    "bare number": (manta('"900 mm"', "900"), "wheel.height: a length needs its unit"),
    "date": (manta('"900 mm"', "1979-05-27"), "wheel.height: a length cannot be a date"),
    "unknown key": (manta("diameter = ", "diametre = "), "there is no 'diametre' here; did you mean 'diameter'?"),
    "unknown table": (MANTA + "\n[kranc]\nx = 1\n", "there is no 'kranc' here; did you mean 'crank'?"),
    "negative mass": (manta('"1.5 kg"', '"-1.5 kg"'), "wheel.hub.mass: '-1.5 kg' is out of range"),
    "no mass": (manta('thickness = "4 mm"', 'thickness = "4 mm"\nmass = "0 kg"'), "panel 'inner', mass: '0 kg'"),
    "zero teeth": (manta("[13, 38]", "[0, 38]"), "stage 1, teeth 1: 0 is out of range; write a number of at least 6"),
    "teeth as text": (manta("[13, 38]", '["13", 38]'), "stage 1, teeth 1: '13' is not a bare number"),
    "broken teeth": (manta("[13, 38]", "[13.5, 38]"), "stage 1, teeth 1: 13.5 is not a bare number"),
    "endless teeth": (manta("[13, 38]", f"[{LONG}, 38]"), "stage 1, teeth 1: a number of that length"),
    "three sprockets": (manta("[13, 38]", "[13, 38, 40]"), "stage 1, teeth: 3 entries are too many"),
    "three sides": ("sides = 3\n" + MANTA, "sides: 3 is out of range; write a number of at most 2"),
    "true sides": ("sides = true\n" + MANTA, "sides: True is not a bare number"),
    "material": (manta('"304 stainless"', '"303 stainles"'), "material: material '303 stainles' is not known; did"),
    "no material": (manta('"304 stainless"', '""'), "material: material '' is not known"),
    "kind": (manta('"disc"', '"disk"'), "wheel.kind: 'disk' is not one of its values; write 'disc' or 'handle'"),
    "handle's radius": (manta('kind = "disc"', 'kind = "disc"\nradius = "1 m"'), "wheel: a disc has no radius"),
    "panel twice": (manta('name = "outer"', 'name = "inner"'), "panel: panel 'inner' is listed twice"),
    "blank name": (manta('name = "outer"', 'name = " "'), "name: ' ' is not a name"),
    "name of lines": (manta('name = "Harbour manta"', 'name = "a\\nb"'), "name: 'a\\nb' is not a name"),
    "control in a unit": (manta('pin = "12 mm"', 'pin = "12 m\\u001b[31m"'), "crank.pin: 'm\\x1b[31m' is not a known"),
    "control in a key": ('"a\\nb\\u001b" = 1\n' + MANTA, "a\\nb\\x1b: there is no 'a\\nb\\x1b' here"),
    "one bearing": (manta('["250 mm", "930 mm"]', '["250 mm"]'), "crank.bearings: a rigid shaft on 1 bearing has"),
    "many stages": (MANTA + "\n[[stage]]\nteeth = [6, 400]\n" * 9, "stage: 11 entries are too many; write at most 6"),
    "geared to nothing": (MANTA + "\n[[stage]]\nteeth = [6, 400]\n" * 3, "stage: the chain stages make"),
    "no bore": (manta('wall = "6.3 mm"', 'wall = "110 mm"'), "post: the post's wall leaves no bore"),
    "bush of text": (MANTA + '\n[friction]\nbush = "0.1"\n', "friction.bush: '0.1' is not a bare number"),
    "bush of true": (MANTA + "\n[friction]\nbush = true\n", "friction.bush: True is not a bare number"),
    "slippery": (MANTA + "\n[friction]\nbush = -0.1\n", "friction.bush: -0.1 is out of range"),
    "a table of one": ('name = "x"\n[panel]\nname = "y"\n', "panel: {'name': 'y'} is not a list"),
    "empty": ("", "name: it is not given; write name = ..."),
    "not TOML": ("name = Manta\n", "at line 1, column 8: not TOML"),
    "twice in TOML": (MANTA + '\n[rods]\ndiameter = "12 mm"\n', "not TOML"),
    "deep lists": ("x = " + "[" * 20_000 + "]" * 20_000 + "\n" + MANTA, "too deeply nested"),
    "deep names": (".".join("a" * 5000) + " = 1\n" + MANTA, "too deeply nested"),
    "long integer": ("sides = " + "9" * 6000 + "\n" + MANTA, "too long a number"),
    "other hinge": (manta('up = "650 mm"', 'above = "650 mm"'), "panel.inner.hinge.above: the innermost hinge is"),
    "nobody": (MANTA + '\n[right.panel.middle]\nmass = "1 kg"\n', "a side differs in panel 'middle', which does not"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "words"), VALUES.values(), ids=VALUES)
def test_a_wrong_value_is_one_line(refused, text: str, words: str) -> None:
    assert words in refused(text).line
    assert refused(text).line.startswith("piece.toml: ")


OUTLINES = {
    "crossing": ('{ unit = "mm", points = [[0, 0], [400, 300], [400, 0], [0, 300]] }', "crosses or touches itself"),
    "in one line": ('{ unit = "mm", points = [[0, 0], [1, 1], [2, 2]] }', "encloses no area"),
    "two points": ('{ unit = "mm", points = [[0, 0], [1, 1]] }', "2 distinct points"),
    "no unit": ("{ points = [[0, 0], [1, 0], [0, 1]] }", "does not say its unit"),
    "wrong unit": ('{ unit = "kg", points = [[0, 0], [1, 0], [0, 1]] }', "unit of mass"),
    "texts": ('{ unit = "mm", points = [["0 mm", 0], [1, 0], [0, 1]] }', "point 1 is not two bare numbers"),
    "no points": ("{ }", "neither points nor a file"),
    "no table": ('"wing.dxf"', "an outline is a table"),
    "unknown": ('{ unit = "mm", pionts = [] }', "an outline has no 'pionts'"),
    "both": ('{ file = "wing.dxf", points = [[0, 0], [1, 0], [0, 1]] }', "both a file and points"),
    "far": ('{ unit = "m", points = [[0, 0], [101, 0], [0, 1]] }', "point 2 is not within 100 m"),
    "endless": (f'{{ unit = "m", points = [[0, {LONG}], [1, 0], [0, 1]] }}', "point 1 is not within 100 m"),
    "tiny": ('{ unit = "mm", points = [[0, 0], [1e-150, 0], [0, 1e-150]] }', "1e-150 by 1e-150 mm in size"),
    "hole outside": (
        '{ unit = "mm", points = [[0, 0], [9, 0], [0, 9]], holes = [[[7, 7], [8, 8], [7, 8]]] }',
        "hole 1 reaches outside",
    ),
    "missing file": ('{ file = "wing.dxf" }', "drawing 'wing.dxf'"),
    "folder": ('{ file = "." }', "it is a folder"),
    "number": ("{ file = 3 }", "not a file name"),
    "absolute": ('{ file = "/etc/passwd" }', "lies outside the description's folder"),
    "climbing": ('{ file = "../wing.dxf" }', "lies outside the description's folder"),
    "climbing late": ('{ file = "sub/../../wing.dxf" }', "lies outside the description's folder"),
}  # fmt: skip


@pytest.mark.parametrize(("outline", "words"), OUTLINES.values(), ids=OUTLINES)
def test_a_wrong_outline_is_one_line(refused, outline: str, words: str) -> None:
    line = refused(outlined(outline)).line
    assert line.startswith("piece.toml: panel 'inner', outline: ")
    assert words in line


SPELLINGS = ["nan", "+nan", "-nan", "inf", "+inf", "-inf"]
TEXTS = [
    "nan m",
    "NaN mm",
    "-nan in",
    "inf mm",
    "Infinity m",
    "-inf",
    "∞ mm",
    "1e400 m",
    "-1e999999 mm",
    "1e-400 m",
]


@pytest.mark.parametrize("spelling", SPELLINGS)
def test_what_is_not_finite_is_refused_as_toml_literal(refused, spelling: str) -> None:
    assert "wheel.height" in refused(manta('"900 mm"', spelling)).line
    assert (
        "point 1 is not two finite numbers"
        in refused(outlined(INNER.replace("-380, 0", f"{spelling}, 0"))).line
    )
    assert "friction.hinge" in refused(MANTA + f"\n[friction]\nhinge = {spelling}\n").line
    assert "stage 1, teeth 1" in refused(manta("[13, 38]", f"[{spelling}, 38]")).line
    hole = INNER.replace(" }", f", holes = [[[0, 100], [10, {spelling}], [20, 200]]] }}")
    assert "point 2 is not two finite numbers" in refused(outlined(hole)).line


@pytest.mark.parametrize("text", TEXTS)
def test_what_is_not_finite_is_refused_as_text(refused, text: str) -> None:
    assert "wheel.height" in refused(manta('"900 mm"', f'"{text}"')).line
    assert "friction.hinge" in refused(MANTA + f'\n[friction]\nhinge = "{text}"\n').line
    assert "point 1" in refused(outlined(INNER.replace("-380, 0", f'"{text}", 0'))).line
    # On the command line a value may come without its quotes.
    assert "wheel.height" in refused(MANTA, "--set", f"wheel.height={text}").line


def test_all_problems_come_at_once(refused) -> None:
    text = (
        manta('"900 mm"', '"900 kg"')
        .replace("[13, 38]", "[0, 38]")
        .replace('diameter = "760', 'diametre = "760')
    )
    text = (
        text.replace('"1.5 kg"', '"-1.5 kg"')
        .replace("[-380, 0]", "[nan, 0]")
        .replace('"304 stainless"', '"tin"', 1)
    )
    found = refused(text).lines
    for words in (
        "wheel.height",
        "stage 1",
        "'diametre'",
        "wheel.hub.mass",
        "panel 'inner', outline",
        "'tin'",
    ):
        assert sum(words in line for line in found) == 1, words
    assert len(found) == 6


def test_very_many_problems_are_counted() -> None:
    with pytest.raises(DescriptionError) as refusal:
        loads("\n".join(f"k{k} = 1" for k in range(MOST + 49)) + '\nname = "x"')
    assert len(refusal.value.lines) == MOST + 1
    assert refusal.value.lines[-1] == "and 49 more problems; mend these first"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("missing.toml", "missing.toml: there is no such file; check the name and the folder"),
        ("sub", "sub: this is a folder; name the description in it"),
        (".", ".: this is a folder; name the description in it"),
        ("pipe", "pipe: this is a device or a pipe; name a TOML file"),
        ("loop", "loop: there is no such file; check the name and the folder"),
        ("x" * 5000, f"{'x' * 5000}: it cannot be read (File name too long); check the name"),
        ("a\0b", "a\\x00b: there is no such file; check the name and the folder"),
    ],
    ids=["missing", "folder", "here", "pipe", "loop", "long", "null"],
)  # fmt: skip
def test_a_wrong_file_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, words: str
) -> None:
    (tmp_path / "sub").mkdir()
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "loop").symlink_to("loop")
    assert Refusal(tmp_path, capsys, "check", name).line == words


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (bytes(range(256)) * 8, "this is not text in UTF-8"),
        (MANTA.encode("utf-16"), "this is not text in UTF-8"),
        (b"\x00\x01\x02" * 99, "not TOML"),
        (b"#" * 10_000_000, "10.0 MB is no description"),
    ],
    ids=["rubbish", "UTF-16", "nulls", "10 MB"],
)
def test_wrong_content_is_one_line(refused, content: bytes, words: str) -> None:
    assert words in refused(content).line


def test_windows_line_ends_change_nothing() -> None:
    plain = mechanism(loads(MANTA))
    assert mechanism(loads(MANTA.replace("\n", "\r\n"))) == plain


def test_a_byte_order_mark_is_skipped(tmp_path: Path) -> None:
    (tmp_path / "piece.toml").write_bytes(b"\xef\xbb\xbf" + MANTA.encode())
    assert mechanism(load(tmp_path / "piece.toml")) == mechanism(loads(MANTA))


# --- Drawings ---


def drawing(path: Path, *, closed: bool = True, size: float = 400.0) -> None:
    made = ezdxf.new(units=4)
    made.modelspace().add_lwpolyline([(0, 0), (size, 0), (size, 300), (0, 300)], close=closed)
    made.saveas(path)


def test_a_drawing_beside_the_description_is_read(tmp_path: Path) -> None:
    (tmp_path / "sub").mkdir()
    drawing(tmp_path / "sub" / "wing.dxf")
    (tmp_path / "piece.toml").write_text(outlined('{ file = "sub/wing.dxf" }'))
    shape = load(tmp_path / "piece.toml").panel[0].outline
    assert isinstance(shape, Outline)
    assert set(shape.exterior) == {(0.0, 0.0), (0.4, 0.0), (0.4, 0.3), (0.0, 0.3)}


def test_a_drawing_elsewhere_is_refused_by_any_road(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "home"
    home.mkdir()
    drawing(tmp_path / "wing.dxf")
    (home / "wing.dxf").symlink_to(tmp_path / "wing.dxf")
    (home / "up").symlink_to(tmp_path)
    (home / "round").symlink_to("round")
    for name in ("../wing.dxf", str(tmp_path / "wing.dxf"), "wing.dxf", "up/wing.dxf"):
        (home / "piece.toml").write_text(outlined(f'{{ file = "{name}" }}'))
        line = Refusal(home, capsys, "check", "piece.toml").line
        assert line == (
            f"piece.toml: panel 'inner', outline: '{name}' lies outside the description's folder; "
            "put the file beside the description"
        )
    (home / "piece.toml").write_text(outlined('{ file = "round" }'))
    assert "'round' leads nowhere; check the name" in Refusal(home, capsys, "check", "piece.toml").line


@pytest.mark.parametrize("kind", ["rubbish", "text", "cut short", "open", "huge", "empty"])
def test_a_bad_drawing_is_one_line(tmp_path: Path, refused, kind: str) -> None:
    path = tmp_path / "wing.dxf"
    drawing(path, closed=kind != "open", size=3e5 if kind == "huge" else 400.0)
    if kind == "rubbish":
        path.write_bytes(bytes(range(256)) * 20)
    if kind == "text":
        path.write_text("a wing\n")
    if kind == "cut short":
        path.write_bytes(path.read_bytes()[:3000])
    if kind == "empty":
        path.write_bytes(b"")
    assert "panel 'inner', outline: " in refused(outlined('{ file = "wing.dxf" }')).line


# --- Rods that do not reach ---


def test_a_rod_too_short_is_told_with_all_that_mends_it(refused) -> None:
    # The interval is that of the closure equation: the largest least distance and the least largest distance
    # between crank pin and the yoke pin's circle over the turn; computed here on a finer grid of its own.
    crank = np.linspace(0, 2 * np.pi, 100_001)
    pin = np.stack([0.08 * np.sin(crank), np.full_like(crank, 0.35), 0.08 * np.cos(crank)], -1)
    from_hinge = pin - np.array([0.0, 0.09, 0.65])
    arm, across = np.hypot(0.26, 0.055), np.hypot(from_hinge[:, 1], from_hinge[:, 2])
    least, most = np.hypot(from_hinge[:, 0], across - arm), np.hypot(from_hinge[:, 0], across + arm)
    rod = 'rod = "600 mm"                    # eye'
    text = manta(rod, 'rod = "505 mm" # eye')
    line = refused(text).line
    found = re.fullmatch(
        r"piece.toml: left side, panel 'inner': rod 0\.5050 m cannot reach between crank angles (\d+) and (\d+) deg; "
        r"longer than (\d\.\d{4}) m and shorter than (\d\.\d{4}) m would",
        line,
    )
    assert found is not None, line
    bad = np.degrees(crank[least >= 0.505])
    # Printed to whole degrees; the samples behind them are a quarter of a degree apart.
    assert float(found[1]) == pytest.approx(bad.min(), abs=0.8)
    assert float(found[2]) == pytest.approx(bad.max(), abs=0.8)
    # Printed to a tenth of a millimetre.
    assert float(found[3]) == pytest.approx(least.max(), abs=0.6e-4)
    assert float(found[4]) == pytest.approx(most.min(), abs=0.6e-4)


@pytest.mark.parametrize(
    ("length", "closes"), [(0.5091, False), (0.5093, True), (0.8922, True), (0.8924, False)]
)
def test_the_interval_told_is_the_one_that_closes(length: float, closes: bool) -> None:
    # Its ends are .5092 and .8923 m, computed in the test above.
    sculpture = loads(MANTA, changes={"panel.inner.rod": f"{length} m"})
    outer = changed(sculpture, {"panel": sculpture.source.document["panel"][:1]})
    told = [line for answer in answers(outer) for line in answer.faults]
    assert (not told) is closes


def test_a_linkage_that_no_rod_closes_says_so(refused) -> None:
    line = refused(manta('radius = "80 mm"', 'radius = "600 mm"')).line
    assert "left side, panel 'inner': rod 0.6000 m cannot reach between crank angles" in line
    assert "no rod length closes the whole turn" in line


# --- Changes by name ---


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("wheel.raduis=600 mm", "piece.toml: wheel.raduis: there is no 'raduis' here; did you mean 'radius'?"),
        ("panel.iner.rod=600 mm", "there is no 'iner' in panel; use one of: inner, outer"),
        ("panel.3.rod=600 mm", "there is no '3' in panel; use one of: inner, outer"),
        ("stage.0.pitch=12 mm", "there is no '0' in stage; use one of: 1 to 2"),
        ("wheel.height.x=3", "'wheel.height' is a single value and has no 'x'"),
        ("panel=3", "panel: 3 is not a list"),
        ("..=3", "there is no '' here"),
        ("wheel.height=3", "wheel.height: a length needs its unit"),
        ("wheel.height=nan", "wheel.height: a length needs its unit"),
        ("stage.1.teeth=[0, 38]", "stage 1, teeth 1: 0 is out of range"),
        ("wheel.height", '"wheel.height": not a setting; write wheel.diameter="600 mm"'),
        ("wheel.height=", '"wheel.height=": not a setting'),
        ("=3", '"=3": not a setting'),
    ],
)  # fmt: skip
def test_a_wrong_setting_is_one_line(refused, change: str, words: str) -> None:
    assert words in refused(MANTA, "--set", change).line


@pytest.mark.parametrize(
    ("change", "read"),
    [
        ("wheel.diameter=600 mm", ("wheel.diameter", "600 mm")),
        ('wheel.diameter="600 mm"', ("wheel.diameter", "600 mm")),
        ("stage.1.teeth=[13, 40]", ("stage.1.teeth", [13, 40])),
        (" friction.bush = 0.1 ", ("friction.bush", 0.1)),
    ],
)
def test_a_setting_is_read_with_or_without_quotes(change: str, read: tuple[str, object]) -> None:
    assert setting(change) == read


def test_a_change_leaves_the_original_alone() -> None:
    first = loads(MANTA)
    second = changed(
        first, {"panel.outer.thickness": "5 mm", "stage.2.teeth": [15, 45], "site.gravity": "9.8 m/s2"}
    )
    assert (second.panel[1].thickness, second.stage[1].teeth, first.stage[1].teeth) == (
        0.005,
        (15, 45),
        (15, 40),
    )
    assert mechanism(first) == mechanism(loads(MANTA))
    assert second.source.text == MANTA


def test_changes_stay_as_they_were_given() -> None:
    changes: dict[str, object] = {"wheel.hub": {"mass": "1 kg"}, "wheel.hub.diameter": "100 mm"}
    piece = loads(MANTA, changes=changes)
    assert piece.wheel is not None
    assert piece.wheel.hub is not None
    assert piece.wheel.hub.diameter == 0.1
    assert changes == {"wheel.hub": {"mass": "1 kg"}, "wheel.hub.diameter": "100 mm"}
