"""The command from wanted motion to dimensions: its answers hold when written in, and it refuses and admits plainly."""

import json
import re
import tomllib
from pathlib import Path

import numpy as np
import pytest
from refusal import Refusal
from saying import MANTA, MOTH, said

from analysis import motion
from analysis.fit import answers
from analysis.fit_wishes import Asked, limits, wishes
from analysis.questions import answers as questions
from models.loading import changed, load
from models.resolve import mechanism, sides
from sim.balance import unbalanced
from sim.builders import linkage
from sim.linkage import close
from sim.whole import holding_torque

TENTH = np.radians(0.1)


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def manta() -> dict[str, object]:
    """Answer to the demo's own motion with the least transmission angle of the textbook, which the demo misses."""
    found = answers(load(MANTA), Asked({}, {}))
    return json.loads(json.dumps(found.table()))


def test_the_demo_can_be_had_with_a_better_transmission_angle(manta: dict[str, object]) -> None:
    described = motion.of_sides((close(sides(load(MANTA))[0]),), 1.0)
    at = {(f.where, f.what): f.value for f in described}
    assert at["left outer", "least transmission angle"] < motion.TRANSMISSION.value
    assert len(manta["answers"]) == 4
    for a in manta["answers"]:
        inner, outer = a["panels"]
        for p in (inner, outer):
            assert p["transmission"] >= motion.TRANSMISSION.value
            assert p["low"] == pytest.approx(at[f"left {p['name']}", "lowest panel angle"], abs=TENTH)
            assert p["high"] == pytest.approx(at[f"left {p['name']}", "highest panel angle"], abs=TENTH)
        assert outer["lag"] == pytest.approx(at["left outer", "lag behind the inner panel"], abs=TENTH)
        assert a["touching"] == []


def test_answers_hold_when_written_in(manta: dict[str, object]) -> None:
    """Every answer, as its lines in the file: what `check` then finds is what was promised."""
    for a in manta["answers"]:
        text = Path(MANTA).read_text("utf-8")
        for name, own in a["fields"].items():
            head, mark, rest = text.partition(f'name = "{name}"')
            block, bracket, tail = rest.partition("\n[[")
            for field, value in own.items():
                line = f"{field} = {_toml(value)}"
                block, count = re.subn(rf"^{field} = .*$", line, block, flags=re.M)
                assert count == 1
            text = head + mark + block + bracket + tail
        Path("piece.toml").write_text(text, "utf-8")
        at = {(f.where, f.what): f.value for f in questions(load("piece.toml"))[0].findings}
        for p in a["panels"]:
            where = f"left {p['name']}"
            assert at[where, "lowest panel angle"] == pytest.approx(p["low"], abs=1e-9)
            assert at[where, "highest panel angle"] == pytest.approx(p["high"], abs=1e-9)
            assert at[where, "least transmission angle"] == pytest.approx(p["transmission"], abs=1e-9)
            eyes = [at[f"{where} rod end at {eye}", "largest swivel"] for eye in ("crank", "yoke")]
            assert max(eyes) == pytest.approx(p["swivel"], abs=1e-9)
        assert at["left outer", "lag behind the inner panel"] == pytest.approx(
            a["panels"][1]["lag"], abs=1e-9
        )


def test_answers_differ_and_stand_in_order(manta: dict[str, object]) -> None:
    given = manta["answers"]
    torques = [a["torque"] for a in given]
    assert torques == sorted(torques)
    assert "least torque" in given[0]["best"]
    assert min(min(p["swivel"] for p in a["panels"]) for a in given) > 0
    widest = [max(p["swivel"] for p in a["panels"]) for a in given]
    assert "smallest swivel" in given[widest.index(min(widest))]["best"]
    for k, a in enumerate(given):
        for b in given[:k]:
            assert max(_difference(a["fields"][n], b["fields"][n]) for n in ("inner", "outer")) >= 0.1 - 1e-9


def test_torque_is_that_of_the_whole_piece(manta: dict[str, object]) -> None:
    a = manta["answers"][0]
    written = changed(
        load(MANTA), {f"panel.{n}.{k}": v for n, own in a["fields"].items() for k, v in own.items()}
    )
    whole = linkage(mechanism(written))
    held = np.abs(holding_torque(whole, unbalanced(whole).crank)).max()
    assert a["torque"] == pytest.approx(held, rel=1e-9)
    assert a["hand"] == pytest.approx(held / whole.mechanism.wheel.radius, rel=1e-9)


def test_a_wish_within_limits_of_its_own(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ("fit", MOTH, "--range", "wing=-20 deg to 35 deg", "--most-throw", "80 mm", "--most-rod", "17 in",
             "--least-transmission", "45 deg", "--most-swivel", "12 deg", "--most-out", "180 mm",
             "--most-below", "30 mm", "--round", "1/32 in", "--strict")  # fmt: skip
    found = json.loads(said(capsys, *asked, "--json"))
    assert found["found"] >= 1
    assert Path(found["figure"]).stat().st_size > 20_000
    assert Path(found["figure"]).with_suffix(".svg").exists()
    for a, text in zip(found["answers"], found["descriptions"], strict=True):
        (p,) = a["panels"]
        assert (p["low"], p["high"]) == pytest.approx(np.radians([-20, 35]), abs=2 * TENTH)
        assert p["transmission"] >= np.radians(45)
        assert p["swivel"] <= np.radians(12)
        lines = tomllib.loads(text)
        assert lines == a["fields"]["wing"]
        throw, pin = lines["throw"], lines["yoke_pin"]
        sizes = {k: float(v.removesuffix(" in")) for k, v in
                 {"throw": throw["radius"], "rod": lines["rod"], **pin}.items()}  # fmt: skip
        assert all(s * 32 == pytest.approx(round(s * 32), abs=1e-6) for s in sizes.values())
        assert sizes["throw"] <= 80 / 25.4
        assert sizes["rod"] <= 17
        assert sizes["out"] <= 180 / 25.4
        assert 0 <= sizes["below"] <= 30 / 25.4
        assert throw["out"] == "240 mm"
    assert said(capsys, *asked, "--json") == json.dumps(found, indent=2) + "\n"  # the same every time


def test_what_it_says(capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, "fit", MOTH)
    for words in ("wanted: wing -26.4 to 23.4 deg", "clear of each other", "Drawn: runs/moth-fit.png",
                  "To write in for answer 1:", "least torque", "1.5 times the largest described; assumption",
                  "standard rod ends; memory"):  # fmt: skip
        assert words in out
    assert Path("runs/moth-fit.png").exists()


def test_what_cannot_be_had_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ("fit", MOTH, "--range", "wing=-80 deg to 80 deg", "--most-throw", "40 mm")
    out = said(capsys, *asked)
    assert "NOT FOUND within these limits. The nearest that was found:" in out
    assert "longest throw" in out
    assert "do not move it as wanted" in out
    said(capsys, *asked, "--strict", code=1)
    found = json.loads(said(capsys, *asked, "--json"))
    assert found["found"] == 0
    (a,) = found["answers"]
    assert a["best"] == []
    (p,) = a["panels"]
    assert p["high"] - p["low"] < np.radians(80)
    assert p["transmission"] >= np.radians(40) - 1e-3


def test_a_part_of_a_description_is_enough(capsys: pytest.CaptureFixture[str]) -> None:
    """Outline, hinge and a first guess that does not even close."""
    Path("part.toml").write_text(
        'name = "Part"\n[[panel]]\nname = "wing"\nthickness = "3 mm"\n'
        'outline = { unit = "mm", points = [[-300, 0], [300, 0], [300, 500], [-300, 500]] }\n'
        'hinge = { out = "70 mm", up = "420 mm" }\nyoke_pin = { out = "180 mm", below = "40 mm" }\n'
        'throw = { radius = "75 mm", out = "240 mm" }\nrod = "200 mm"\n'
        'seen = { panel = "-120 deg" }\n'
    )
    found = json.loads(said(capsys, "fit", "part.toml", "--range", "wing=-10 deg to 30 deg",
                            "--most-rod", "500 mm", "--json"))  # fmt: skip
    assert found["found"] > 3
    for a in found["answers"]:
        assert a["torque"] is None
        assert a["touching"] is None
        # The angle seen belonged to another fold: the answer brings its own.
        written = changed(load("part.toml"), {f"panel.wing.{k}": v for k, v in a["fields"]["wing"].items()})
        c = close(sides(written)[0]).course(motion.TURN)[0]
        assert (c.angle.value.min(), c.angle.value.max()) == pytest.approx(np.radians([-10, 30]), abs=TENTH)
        assert "seen" in a["fields"]["wing"]
    assert "not looked at: not whole" in said(capsys, "fit", "part.toml", "--range", "wing=-10 deg to 30 deg",
                                              "--most-rod", "500 mm")  # fmt: skip


def test_defaults_come_from_the_description() -> None:
    sculpture = load(MANTA)
    wanted = wishes(sculpture, Asked({"inner": (-0.1, 0.2)}, {}))
    assert (wanted["inner"].low, wanted["inner"].high, wanted["inner"].lag) == (-0.1, 0.2, None)
    assert np.degrees(wanted["outer"].lag) == pytest.approx(91.3, abs=0.1)
    _, (inner, outer) = limits(sculpture, Asked({}, {}))
    assert inner.out[1] == pytest.approx(0.5)
    assert outer.out[1] == pytest.approx(0.76)
    assert inner.throw[1] == outer.throw[1] == pytest.approx(0.3)
    assert np.degrees(inner.swivel) == pytest.approx(30)
    assert np.degrees(limits(load(MOTH), Asked({}, {}))[1][0].swivel) == pytest.approx(13)


WRONG = {
    "no panel": (("--range", "wing"), '--range: \'wing\' is not panel=value; write --range "inner=-25 deg to 35 deg"'),
    "unknown": (("--range", "tail=1 deg to 9 deg"), "--range: there is no panel 'tail'; write one of: wing"),
    "twice": (("--range", "wing=1 deg to 9 deg", "--range", "wing=1 deg to 8 deg"), "--range: 'wing' is given twice"),
    "one angle": (("--range", "wing=20 deg"), "--range: '20 deg' is no range; write \"-25 deg to 35 deg\""),
    "backwards": (("--range", "wing=20 deg to 5 deg"), "--range: '20 deg to 5 deg' cannot be had; write angles from"),
    "too far": (("--range", "wing=20 deg to 95 deg"), "--range: '20 deg to 95 deg' cannot be had"),
    "bare": (("--range", "wing=-20 to 30 deg"), '--range: an angle needs its unit; write "-20 deg"'),
    "lag of the innermost": (("--lag", "wing=90 deg"), "--lag: 'wing' is the innermost panel, which lags are counted"),
    "long lag": (("--set", "x=1", "--lag", "wing=400 deg"), "moth.toml: x: there is no 'x' here"),
    "steep": (("--least-transmission", "90 deg"), "--least-transmission: '90 deg' is out of range; write an angle"),
    "stiff": (("--most-swivel", "0 deg"), "--most-swivel: '0 deg' is out of range; write an angle from 1 deg"),
    "short": (("--most-throw", "1 mm"), "--most-throw: '1 mm' is out of range; write a length between 11 mm"),
    "mass": (("--most-rod", "1 kg"), '--most-rod: "kg" is a unit of mass, where a length is asked'),
    "nan": (("--most-out", "nan mm"), "--most-out: 'nan mm' is not a finite number"),
    "negative": (("--most-below", "-5 mm"), "--most-below: '-5 mm' is out of range"),
    "coarse": (("--round", "50 mm"), "--round: '50 mm' is out of range; write a length between .001 mm and 10 mm"),
}  # fmt: skip


@pytest.mark.parametrize(("options", "words"), WRONG.values(), ids=WRONG)
def test_a_wrong_option_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: tuple[str, ...], words: str
) -> None:
    assert words in Refusal(tmp_path, capsys, "fit", MOTH, *options).line


def test_all_wrong_options_come_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = Refusal(
        tmp_path, capsys, "fit", MANTA, "--range", "inner=1", "--lag", "inner=3 deg", "--lag", "outer=400 deg",
        "--most-throw", "3", "--round", "1 s",
    )  # fmt: skip
    assert [line.split(":")[0] for line in found.lines] == [
        "--range",
        "--lag",
        "--most-throw",
        "--round",
        "--lag",
    ]


def test_a_guess_that_does_not_close_needs_the_whole_wish(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = ("--set", "panel.outer.rod=200 mm")
    line = Refusal(tmp_path, capsys, "fit", MANTA, *broken).line
    assert line == (
        "--range: 'outer' has none, and as described its loop does not close; "
        'write --range "outer=-10 deg to 40 deg"'
    )
    line = Refusal(tmp_path, capsys, "fit", MANTA, *broken, "--range", "outer=0 deg to 40 deg").line
    assert line.endswith('write --lag "outer=90 deg"')


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {_toml(v)}" for k, v in value.items()) + " }"
    return json.dumps(value)


def _difference(one: dict[str, object], other: dict[str, object]) -> float:
    """Give the largest difference of two panels' dimensions, as the command states it."""

    def number(text: object) -> float:
        return float(str(text).split(" ")[0])

    def share(a: float, b: float) -> float:
        return abs(a - b) / max(a, b)

    pins = [np.array([number(x["yoke_pin"]["out"]), number(x["yoke_pin"]["below"])]) for x in (one, other)]
    turned = abs(number(one["throw"]["angle"]) - number(other["throw"]["angle"]))
    return max(
        share(*(number(x["throw"]["radius"]) for x in (one, other))),
        share(*(number(x["rod"]) for x in (one, other))),
        float(np.linalg.norm(pins[0] - pins[1])) / max(float(np.linalg.norm(p)) for p in pins),
        min(turned, 360 - turned) / 150,
    )
