"""A drive, bearings, post or friction that cannot be are refused in one line each."""

from pathlib import Path

import pytest
from refusal import Refusal

from models.loading import DescriptionError, loads
from models.resolve import mechanism

BARE = """
name = "Bare"
[crank]
height = "2 m"
[wheel]
kind = "disc"
diameter = "700 mm"
thickness = "10 mm"
[[panel]]
name = "wing"
outline = { unit = "mm", points = [[-320, 0], [360, 0], [420, 380], [-180, 560]] }
thickness = "3 mm"
hinge = { out = "70 mm", up = "420 mm" }
yoke_pin = { out = "180 mm", below = "40 mm" }
throw = { radius = "75 mm", out = "340 mm" }
rod = "380 mm"
"""
"""Webs of 40 mm gap and 10 mm thickness: the throw takes from 310 to 370 mm of the shaft."""


def refusals(text: str = "", **changes: object) -> tuple[str, ...]:
    named = {name.replace("__", "."): value for name, value in changes.items()}
    with pytest.raises(DescriptionError) as refusal:
        mechanism(loads(BARE + text, "piece.toml", None, named))
    return refusal.value.lines


STAGE = "[[stage]]\nteeth = [15, 45]\n"
TENSIONER = 'tensioner = { force = "60 N", rate = "2 N/mm", travel = "15 mm" }\n'
REFUSED = {
    "slack twice": (
        STAGE + 'slack = "2 mm"\nsideways = "40 mm"',
        "stage 1: slack and sideways say the same thing twice; write one of the two: excess length, or movement",
    ),
    "tight and slack": (
        STAGE + 'slack = "2 mm"\ntight = "50 N"',
        "stage 1: a chain with tight leaves no room for slack; write one of the two, slack or tight",
    ),
    "tight and sideways": (STAGE + 'sideways = "2 mm"\ntight = "50 N"', "write one of the two, sideways or tight"),
    "tight and tensioner": (STAGE + TENSIONER + 'tight = "50 N"', "write one of the two, tight or tensioner"),
    "tensioner and slack": (STAGE + TENSIONER + 'slack = "2 mm"', "write one of the two, slack or tensioner"),
    "tensioner and sideways": (STAGE + TENSIONER + 'sideways = "2 mm"', "one of the two, sideways or tensioner"),
    "tensioner without rate": (
        STAGE + 'tensioner = { force = "60 N", travel = "15 mm" }',
        "stage 1, tensioner.rate: it is not given; write rate = ...",
    ),
    "tensioner without travel": (
        STAGE + 'tensioner = { force = "60 N", rate = "2 N/mm" }',
        "stage 1, tensioner.travel: it is not given; write travel = ...",
    ),
    "direct with links": (
        STAGE + 'kind = "direct"\nlinks = 100',
        'stage 1: a direct stage has no links; remove links, or write kind = "chain"',
    ),
    "direct and holes": (STAGE + 'kind = "direct"\nholes = "1 mm"', "a direct stage has no holes; remove holes"),
    "holes nearer": (STAGE + 'holes = "-1 mm"', "stage 1, holes: '-1 mm' is out of range; write a length from 0 mm"),
    "adjustment bare": (STAGE + "adjustment = 10", "stage 1, adjustment: a length needs its unit; write \"10 mm\""),
    "overlength in words": (STAGE + 'overlength = "1 %"', "stage 1, overlength"),
    "direct and tight": (STAGE + 'kind = "direct"\ntight = "50 N"', "a direct stage has no tight; remove tight"),
    "belt": (STAGE + 'kind = "belt"', "stage 1, kind: 'belt' is not one of its values; write 'chain' or 'direct'"),
    "chordal as text": (STAGE + 'chordal = "yes"', "stage 1, chordal: 'yes' is neither true nor false; write true or"),
    "chordal as number": (STAGE + "chordal = 1", "stage 1, chordal: 1 is neither true nor false"),
    "no efficiency": (STAGE + "efficiency = 0", "stage 1, efficiency: 0 is out of range; write a number above 0"),
    "more out than in": (STAGE + "efficiency = 1.1", "stage 1, efficiency: 1.1 is out of range; write a number of at"),
    "bare tension": (STAGE + "tight = 50", 'stage 1, tight: a force needs its unit; write "50 N"'),
    "damping in N s/m": (STAGE + 'damping = "5 N s/m"', "stage 1, damping: 'N s/m' is not a known unit of time per"),
    "three slips": (STAGE + 'slips = ["1 N m", "2 N m", "3 N m"]', 'stage 1, slips: slips has 3 entries; write ["40'),
    "wrong slip": (STAGE + 'slips = { drivers = "1 N m" }', "there is no 'drivers' here; did you mean 'driver'?"),
    "one shaft bearing": (STAGE + 'shaft = { bearings = ["1 m"] }', "stage 1, shaft.bearings: 1 entries are too few"),
    "shaft on one place": (
        STAGE + 'shaft = { bearings = ["100 mm", "110 mm"] }',
        "stage 1, shaft.bearings: the two bearings are in one place; put them at least 20 mm apart",
    ),
    "limiter nowhere": (
        STAGE + '[limiter]\nat = "stage 2"\ntorque = "20 N m"',
        'limiter: there is no stage 2 to sit at; write at = "wheel" or "stage 1"',
    ),
    "limiter without stages": (
        '[limiter]\nat = "stage 1"\ntorque = "20 N m"',
        'limiter: there is no stage 1 to sit at; write at = "wheel"',
    ),
    "limiter at the hand": (
        '[limiter]\nat = "hand"\ntorque = "20 N m"',
        "limiter.at: 'hand' is no place for a limiter; write at = \"wheel\" or at = \"stage 1\"",
    ),
    "limiter at a number": ('[limiter]\nat = 1\ntorque = "20 N m"', "limiter.at: 1 is no place for a limiter"),
    "limiter without torque": ('[limiter]\nat = "wheel"', "limiter.torque: it is not given"),
    "elastic without stiffness": (
        '[crank.coupling]\nkind = "elastic"',
        'crank.coupling: an elastic coupling needs its stiffness; write stiffness = "900 N m/rad"',
    ),
    "stiff clamp": (
        '[crank.coupling]\nstiffness = "900 N m/rad"',
        'crank.coupling: a clamp has no stiffness; remove stiffness, or write kind = "elastic"',
    ),
    "clamp with play": ('[crank.coupling]\nkind = "clamp"\nbacklash = "1 deg"', "a clamp has no backlash; remove"),
    "play without stiffness": (
        '[crank.coupling]\nkind = "double-cardan"\nbacklash = "1 deg"',
        "crank.coupling: backlash of a coupling that does not wind up says nothing; write stiffness = \"5 kN m/rad\" "
        "too, or remove backlash",
    ),
    "damping without stiffness": (
        '[crank.coupling]\nkind = "double-cardan"\ndamping = "1 N m s/rad"',
        "damping of a coupling that does not wind up says nothing; write stiffness",
    ),
    "crosses of a clamp": (
        '[crank.coupling]\nlength = "90 mm"',
        'a clamp coupling has no length between crosses; remove length, or write kind = "double-cardan"',
    ),
    "crosses of a spider": (
        '[crank.coupling]\nkind = "elastic"\nstiffness = "900 N m/rad"\nlength = "90 mm"',
        "crank.coupling: an elastic coupling has no length between crosses; remove length",
    ),
    "no such coupling": (
        '[crank.coupling]\nkind = "cardan"',
        "crank.coupling.kind: 'cardan' is not one of its values; write 'clamp', 'elastic' or 'double-cardan'",
    ),
    "bare limit": ('[crank.coupling]\nangular = 1', "crank.coupling.angular: an angle needs its unit; write"),
    "limit below nothing": (
        '[crank.coupling]\nparallel = "-1 mm"',
        "crank.coupling.parallel: '-1 mm' is out of range; write a length from 0 mm to 10 m",
    ),
    "stiffness of a spring": (
        '[crank.coupling]\nkind = "elastic"\nstiffness = "900 N/m"',
        'crank.coupling.stiffness: "N/m" is a unit of stiffness, where a torsional stiffness is asked for',
    ),
    "lift twice": (
        '[[lift]]\nname = "top"\nup = "1 m"\n[[lift]]\nname = "top"\nup = "2 m"',
        "lift: lift 'top' is listed twice; give each lift a name of its own",
    ),
    "lift without up": ('[[lift]]\nname = "top"', "lift 'top', up: it is not given; write up = ..."),
    "sliding above static": ("[friction]\nstatic = 0.9", "friction.static: 0.9 is out of range; write a number of at"),
    "low above one": ("[friction]\nlow = 1.5", "friction.low: 1.5 is out of range; write a number of at most 1"),
    "high below one": ("[friction]\nhigh = 0.5", "friction.high: 0.5 is out of range; write a number of at least 1"),
    "case of one": ("[case]\nx = 1", "case: {'x': 1} is not a list"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "words"), REFUSED.values(), ids=REFUSED)
def test_a_wrong_drive_is_one_line(text: str, words: str) -> None:
    (line,) = refusals(text)
    assert line.startswith("piece.toml: ")
    assert words in line


@pytest.mark.parametrize(
    ("bearings", "words"),
    [
        (["250 mm"], "crank.bearings: a rigid shaft on 1 bearing has nothing to hold it; write two places or more"),
        ([], "crank.bearings: 0 entries are too few; write at least 1"),
        (["1 m"] * 7, "crank.bearings: 7 entries are too many; write at most 6"),
        (["250 mm", "600 mm", "610 mm"], "crank.bearings: two bearings are in one place; put them at least 20 mm"),
        (["250 mm", "345 mm", "600 mm"], "crank.bearings: the bearing at 345 mm sits inside the throw of panel 'wing'"),
        (["250 mm", 600], 'crank.bearings 2, out: a length needs its unit; write "600 mm"'),
        (["250 mm", {"on": "arm"}], "crank.bearings 2, out: it is not given; write out = ..."),
        (["250 mm", {"out": "1 m", "on": "wall"}], "bearings 2, on: 'wall' is not one of its values; write 'post' or"),
        (["250 mm", {"out": "1 m", "stifness": "1 N/m"}], "there is no 'stifness' here; did you mean 'stiffness'?"),
    ],
)  # fmt: skip
def test_wrong_bearings_are_one_line(bearings: list[object], words: str) -> None:
    (line,) = refusals(crank__bearings=bearings)
    assert words in line


def test_check_tells_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "piece.toml").write_text(BARE + STAGE + TENSIONER + 'tight = "50 N"\n')
    assert "one of the two, tight or tensioner" in Refusal(tmp_path, capsys, "check", "piece.toml").line


def test_a_shaft_that_is_not_there() -> None:
    (line,) = refusals(wheel__shaft={"diameter": "30 mm"})
    assert "wheel.shaft: without a stage the wheel sits on the crankshafts; remove it, or write a" in line
