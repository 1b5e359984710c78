"""What a description says of its drive, bearings, post and friction: as written, left open, and refused."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from models.coupling_kinds import coupling_kinds
from models.drive import Coupling, DriveShaft, Limiter, Stage, Tensioner
from models.loading import changed, load, loads
from models.mechanism import LiftPoint, Mechanism, Station, from_canonical
from models.resolve import Lacking, mechanism, post, stages
from sim.identity import canonical

MODELS = Path(str(files("models")))
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


STAGE = "[[stage]]\nteeth = [15, 45]\n"


def settled(text: str = "", **changes: object) -> Mechanism:
    named = {name.replace("__", "."): value for name, value in changes.items()}
    return mechanism(loads(BARE + text, "piece.toml", None, named))


def chain(words: str = "") -> Stage:
    return settled(f"[[stage]]\nteeth = [15, 45]\n{words}\n").stages[0]


def source(made: Mechanism, field: str) -> str:
    (found,) = (d.source for d in made.defaults if d.field == field)
    return found


# --- Chain stages ---


def test_a_chain_as_written() -> None:
    made = chain(
        'kind = "chain"\npitch = "5/8 in"\ncentres = "500 mm"\nsideways = "40 mm"\nrigidity = "1200 kN"\n'
        + 'damping = "3 s/m"\nweight = "1 kg/m"\nefficiency = 0.95\nchordal = true\nout = "-30 mm"\nwidth = "9 mm"\n'
        + 'shaft = { diameter = "30 mm", bearings = ["-50 mm", "70 mm"] }\nslips = ["40 N m", "60 N m"]\n'
        + 'holes = "0.8 mm"\nadjustment = "20 mm"\noverlength = 0.001'
    )
    shaft = DriveShaft((-0.05, 0.07), 0.03)
    assert made == Stage(
        "chain", 15, 45, 0.015875, 0.009, 0.5, None, None, 0.04, 0.0, None, 1.2e6, 3.0, 1.0, 0.95, True,
        -0.03, shaft, (40.0, 60.0), 0.0008, 0.02, 0.001,
    )  # fmt: skip


def test_what_a_chain_leaves_open() -> None:
    # .61 to .64 kg/m at half-inch pitch: ASME B29.1 table, read. The rest as the sources of the defaults say.
    made = settled("[[stage]]\nteeth = [15, 45]\n")
    stage = made.stages[0]
    assert (stage.kind, stage.pitch, stage.tight, stage.tensioner, stage.chordal, stage.slips) == (
        "chain", 0.0127, 0.0, None, False, (None, None),
    )  # fmt: skip
    # Products of a few factors, each rounded once: hence 1e-15.
    assert stage.rigidity == 955e3
    assert (stage.damping, stage.weight, stage.efficiency) == (5.0, 0.62, 0.98)
    assert stage.centres == pytest.approx(40 * 0.0127, rel=1e-15)
    assert (stage.links, stage.slack, stage.sideways) == (None, None, None)
    for field, words in {
        "centres": "30 to 50 pitches; memory",
        "rigidity": "1.05 mm/m per kN, a calculator after a maker's data (read, low authority)",
        "damping": "Hunt and Crossley",
        "weight": "ASME B29.1 table, .61 to .64 kg/m at half-inch pitch, read",
        "efficiency": "between 95 and 99 %, makers and textbooks, read",
        "kind": "assumption",
        "chordal": "assumption",
        "holes": "holes marked out and drilled; assumption",
        "adjustment": "fixed centres; assumption",
        "overlength": "+0.019 in/ft, 0.16 %, never shorter, chain 40; ASME B29.1 table, read",
        "out": "assumption",
        "shaft.diameter": "assumption",
        "shaft.bearings.1": "assumption",
        "shaft.bearings.2": "assumption",
    }.items():
        assert words in source(made, f"stage.1.{field}"), field


def test_elastic_stretch_is_what_the_source_says() -> None:
    assert 1e3 / chain().rigidity == pytest.approx(1.05e-3, rel=5e-3)  # the source's two decimals


def test_the_rebound_is_what_the_source_says() -> None:
    # m x'' = -k x (1 + chi x') (Hunt and Crossley, J. Applied Mechanics 42, 1975; memory) keeps
    # v / chi - ln(1 + chi v) / chi^2 + k x^2 / (2 m), so the speeds before and after give it one value.
    chi, before = chain().damping, 0.1
    after = np.linspace(0.01, 0.1, 9001)
    kept = after * -1 / chi - np.log(1 - chi * after) / chi**2
    found = float(np.interp(before / chi - np.log(1 + chi * before) / chi**2, kept, after))
    # "Three quarters" is good to a hundredth.
    assert found / before == pytest.approx(0.75, abs=0.01)


def test_another_pitch_scales_with_its_square() -> None:
    made = settled('[[stage]]\nteeth = [15, 45]\npitch = "1 in"\n')
    assert made.stages[0].rigidity == pytest.approx(4 * chain().rigidity, rel=1e-14)
    assert made.stages[0].weight == pytest.approx(4 * 0.62, rel=1e-14)
    for field in ("rigidity", "weight"):
        assert "scaled from half-inch pitch with the pitch squared" in source(made, f"stage.1.{field}")


@pytest.mark.parametrize(
    ("words", "centres", "slack"),
    [
        ('links = 100\nslack = "2 mm"', None, 0.002),
        ('links = 100\nsideways = "20 mm"', None, None),
        ('links = 100\ntight = "50 N"', None, None),
        ("links = 100", None, 0.0),
        ('slack = "2 mm"', 0.508, 0.002),
        ('sideways = "20 mm"', 0.508, None),
        ('centres = "450 mm"\nlinks = 100', 0.45, None),
        ('centres = "450 mm"', 0.45, None),
    ],
)
def test_a_chain_has_centres_or_links_and_what_they_leave(
    words: str, centres: float | None, slack: float | None
) -> None:
    made = chain(words)
    # 40 pitches of 12.7 mm are 508 mm.
    assert made.centres == (None if centres is None else pytest.approx(centres, rel=1e-15))
    assert made.slack == slack


def test_large_sprockets_do_not_meet_at_their_default_centres() -> None:
    made = settled("[[stage]]\nteeth = [400, 400]\n").stages[0]
    # Pitch radius p / (2 sin(pi / N)): 809 mm for 400 teeth of 12.7 mm, computed; twice that between axes.
    radius = 0.0127 / 2 / np.sin(np.pi / 400)
    assert made.centres is not None
    assert made.centres > 2 * radius


def test_a_tight_chain() -> None:
    made = chain('tight = "50 N"')
    assert (made.tight, made.tensioner, made.slack, made.sideways) == (50.0, None, None, None)


def test_a_tensioner() -> None:
    made = settled(
        "[[stage]]\nteeth = [15, 45]\n"
        'tensioner = { force = "60 N", rate = "2 N/mm", travel = "15 mm" }\n'
    )  # fmt: skip
    # 30 deg are pi / 6, rounded once by the units and twice here.
    assert made.stages[0].tensioner == Tensioner(60.0, 2000.0, 0.015, pytest.approx(np.pi / 6, rel=1e-15))
    assert source(made, "stage.1.tensioner.lean") == "assumption"
    leaning = chain('tensioner = { force = "60 N", rate = "2 N/mm", travel = "15 mm", lean = "20 deg" }')
    assert leaning.tensioner is not None
    assert leaning.tensioner.lean == pytest.approx(np.pi / 9, rel=1e-15)


def test_links_on_a_tensioner_fix_no_distance() -> None:
    with pytest.raises(Lacking) as refused:
        chain('links = 100\ntensioner = { force = "60 N", rate = "2 N/mm", travel = "15 mm" }')
    assert refused.value.fields == ("stage.1.centres",)


@pytest.mark.parametrize(
    ("words", "slips"),
    [
        ('slips = ["40 N m", "60 N m"]', (40.0, 60.0)),
        ('slips = { driver = "40 N m", driven = "60 N m" }', (40.0, 60.0)),
        ('slips = { driven = "60 N m" }', (None, 60.0)),
        ('slips = { driver = "40 N m" }', (40.0, None)),
    ],
)
def test_hubs_that_slip(words: str, slips: tuple[float | None, float | None]) -> None:
    assert chain(words).slips == slips


def test_a_direct_stage_needs_only_teeth() -> None:
    made = settled('[[stage]]\nkind = "direct"\nteeth = [20, 50]\n')
    stage = made.stages[0]
    assert (stage.kind, stage.driver, stage.driven, stage.centres, stage.links, stage.slack) == (
        "direct", 20, 50, None, None, None,
    )  # fmt: skip
    assert (stage.rigidity, stage.damping, stage.weight, stage.chordal) == (0.0, 0.0, 0.0, False)
    assert made.reduction == 2.5
    of_chain = ("kind", "centres", "rigidity", "damping", "weight", "chordal")
    assert not {f"stage.1.{f}" for f in of_chain} & {d.field for d in made.defaults}


def test_planes_shafts_and_wheel_lie_about_the_post() -> None:
    text = "[[stage]]\nteeth = [15, 45]\n" * 3
    made = settled(text + '[post]\noutside = "200 mm"\nwall = "6 mm"\n', crank__shaft="30 mm")
    assert [s.out for s in made.stages] == pytest.approx([-0.04, 0.0, 0.04], abs=1e-15)
    assert {s.shaft for s in made.stages} == {DriveShaft((-0.1, 0.1), 0.03)}
    assert made.wheel.shaft == DriveShaft((-0.1, 0.1), 0.03)
    assert made.wheel.out == pytest.approx(-0.22, abs=1e-15)
    thick = settled(text + '[post]\noutside = "300 mm"\nwall = "6 mm"\n')
    assert thick.stages[0].shaft.bearings == (-0.15, 0.15)
    assert thick.wheel.out == pytest.approx(-0.27, abs=1e-15)
    assert settled(text).wheel.out == pytest.approx(-0.22, abs=1e-15)  # no post counts as 200 mm
    assert source(thick, "wheel.out").endswith("assumption")


def test_a_wheel_without_a_stage_sits_on_the_crankshaft() -> None:
    made = settled()
    assert (made.wheel.out, made.wheel.slip, made.stages, made.limiter) == (0.0, None, (), None)
    assert not any(d.field.startswith("wheel.shaft") for d in made.defaults)


def test_a_wheel_as_written() -> None:
    made = settled(
        "[[stage]]\nteeth = [15, 45]\n",
        wheel__out="-250 mm",
        wheel__slip="30 N m",
        wheel__shaft={"diameter": "40 mm", "bearings": ["-200 mm", "200 mm"]},
    ).wheel
    assert (made.out, made.slip, made.shaft) == (-0.25, 30.0, DriveShaft((-0.2, 0.2), 0.04))


# --- Limiter, couplings, bearings ---


@pytest.mark.parametrize(("at", "place"), [("wheel", 0), ("stage 1", 1), ("stage 2", 2)])
def test_a_limiter(at: str, place: int) -> None:
    text = "[[stage]]\nteeth = [15, 45]\n" * 2
    assert settled(text, limiter={"at": at, "torque": "20 N m"}).limiter == Limiter(place, 20.0)


def test_a_coupling_is_a_clamp() -> None:
    made = settled(crank__coupling={"mass": "0.6 kg", "diameter": "65 mm"})
    assert made.sides[0].crank.coupling == Coupling(
        "clamp", 0.6, 0.065, None, 0.0, 0.0, None, 5.0, 0.0, 0.0, None
    )
    assert source(made, "crank.coupling.kind") == "assumption"
    assert source(made, "crank.coupling.service") == "for sudden reversal; makers' guidance, read"
    assert settled().sides[0].crank.coupling == Coupling(
        "clamp", 0.0, 0.05, None, 0.0, 0.0, None, 5.0, 0.0, 0.0, None
    )


def test_an_elastic_coupling() -> None:
    made = settled(crank__coupling={"kind": "elastic", "stiffness": "900 N m/rad"})
    found = made.sides[1].crank.coupling
    # 2 ms times the stiffness.
    damping = pytest.approx(1.8, rel=1e-15)
    assert found == Coupling("elastic", 0.0, 0.05, 900.0, damping, 0.0, None, 5.0, np.pi / 180, 0.4e-3, None)
    for field in ("damping", "backlash"):
        assert "assumption" in source(made, f"crank.coupling.{field}")
    whole = {"kind": "elastic", "stiffness": "900 N m/rad", "damping": "0.5 N m s/rad", "mass": "0.6 kg",
             "diameter": "65 mm", "backlash": "0.5 rad", "rated": "90 N m", "service": 3, "angular": "0.01 rad",
             "parallel": "0.2 mm"}  # fmt: skip
    assert settled(crank__coupling=whole).sides[0].crank.coupling == Coupling(
        "elastic", 0.6, 0.065, 900.0, 0.5, 0.5, 90.0, 3.0, 0.01, 0.2e-3, None
    )


@pytest.mark.parametrize("field", ["angular", "parallel"])
@pytest.mark.parametrize("kind", [{"kind": "elastic", "stiffness": "900 N m/rad"}, {"kind": "clamp"}])
def test_what_a_coupling_allows_has_its_kinds_source(kind: dict[str, object], field: str) -> None:
    made = settled(crank__coupling=kind)
    assert source(made, f"crank.coupling.{field}") == coupling_kinds()[str(kind["kind"])].sources[field]


def test_a_double_cardan_is_rigid_unless_it_says_otherwise() -> None:
    """Two joints of 25 deg each, twice its diameter apart: an offset of that times sin(25 deg)."""
    made = settled(crank__coupling={"kind": "double-cardan", "diameter": "40 mm"})
    found = made.sides[0].crank.coupling
    angle = np.radians(25)
    offset = pytest.approx(0.08 * np.sin(angle), rel=1e-15)
    assert found == Coupling("double-cardan", 0.0, 0.04, None, 0.0, 0.0, None, 5.0, angle, offset, 0.08)
    assert source(made, "crank.coupling.length") == "twice the diameter; assumption"
    assert "read in an excerpt" in source(made, "crank.coupling.angular")
    assert "sine of each joint's angle" in source(made, "crank.coupling.parallel")


def test_a_double_cardan_as_its_maker_says() -> None:
    whole = {"kind": "double-cardan", "length": "90 mm", "angular": "30 deg", "stiffness": "5 kN m/rad"}
    made = settled(crank__coupling=whole)
    found = made.sides[0].crank.coupling
    assert (found.stiffness, found.damping) == (5000.0, pytest.approx(10.0))
    # Half of a right angle's sine.
    assert (found.length, found.parallel) == (0.09, pytest.approx(0.045))
    assert found.backlash == pytest.approx(np.radians(0.3))
    assert "assumption" in source(made, "crank.coupling.backlash")
    tight = settled(crank__coupling={**whole, "parallel": "5 mm", "backlash": "0 deg"})
    assert (tight.sides[1].crank.coupling.parallel, tight.sides[1].crank.coupling.backlash) == (0.005, 0.0)
    back = from_canonical(canonical(tight))
    assert back.sides == tight.sides


def test_bearings_as_written() -> None:
    elastic = {"out": "590 mm", "on": "arm", "stiffness": "2 kN/mm"}
    made = settled(crank__bearings=["250 mm", elastic, {"out": "150 mm"}])
    crank = made.sides[0].crank
    # Without a post its radius counts as 100 mm: the innermost bearing, at 150 mm, is within 60 mm of it.
    assert crank.stations == (
        Station(0.25, "arm", None),
        Station(0.59, "arm", 2e6),
        Station(0.15, "post", None),
    )
    assert crank.bearings == (0.25, 0.59)  # the locating one and the one farthest from it
    assert source(made, "crank.bearings.1.on") == source(made, "crank.bearings.3.on") == "assumption"
    assert not any(d.field == "crank.bearings.2.on" for d in made.defaults)
    assert (crank.ends[0], crank.ends[1]) == pytest.approx((0.09, 0.61), abs=1e-15)


@pytest.mark.parametrize(("place", "on"), [("159 mm", "post"), ("161 mm", "arm"), ("-159 mm", "post")])
def test_only_the_innermost_bearing_near_the_post_is_on_it(place: str, on: str) -> None:
    stations = settled(crank__bearings=["430 mm", place]).sides[0].crank.stations
    assert [s.on for s in stations] == ["arm", on]


def test_the_post_decides_what_is_near_it() -> None:
    text = '[post]\noutside = "300 mm"\nwall = "6 mm"\n'
    stations = settled(text, crank__bearings=["200 mm", "430 mm"]).sides[0].crank.stations
    assert [s.on for s in stations] == ["post", "arm"]


def test_bearings_left_open_stand_beyond_the_webs() -> None:
    made = settled()
    stations = made.sides[0].crank.stations
    assert [s.out for s in stations] == pytest.approx([0.25, 0.43], abs=1e-15)  # 60 mm beyond 310 and 370 mm
    assert [(s.on, s.stiffness) for s in stations] == [("arm", None)] * 2
    assert "60 mm beyond the webs; assumption" in source(made, "crank.bearings.1")


def test_a_bearing_written_as_its_place_takes_more_by_name() -> None:
    stiff = changed(load(MODELS / "manta.toml"), {"crank.bearings.2.stiffness": "2 kN/mm"})
    assert mechanism(stiff).sides[0].crank.stations == (Station(0.25, "arm", None), Station(0.93, "arm", 2e6))


# --- Post, lifting points, friction ---


def test_the_post_reaches_above_the_crank() -> None:
    text = '[post]\noutside = "200 mm"\nwall = "6 mm"\n'
    made = settled(text)
    assert made.post is not None
    # 150 mm above an axis at 2 m; the difference of the two heights is rounded in the last bits of 2 m.
    assert made.post.above == pytest.approx(0.15, abs=1e-15)
    assert "assumption" in source(made, "post.height")
    tall = settled(text, post__height="3.25 m").post
    assert tall is not None
    assert (tall.above, tall.bore) == (1.25, pytest.approx(0.188, rel=1e-15))


def test_a_post_without_a_crank_height_is_still_a_post() -> None:
    found = post(loads('name = "Draft"\n[post]\noutside = "200 mm"\nwall = "6 mm"\n'))
    assert found is not None
    assert found.above == 0.15
    assert post(loads('name = "Draft"')) is None


def test_lifting_points() -> None:
    text = '[[lift]]\nname = "top"\nup = "150 mm"\n[[lift]]\nname = "arm"\nforward = "20 mm"\nout = "-1 m"\nup = "0 m"'
    assert settled(text).lifts == (LiftPoint("top", 0.0, 0.0, 0.15), LiftPoint("arm", 0.02, -1.0, 0.0))
    assert settled().lifts == ()


def test_friction_left_open_and_written() -> None:
    made = settled()
    f = made.friction
    assert (f.bearing, f.static, f.low, f.high) == (0.01, 1.2, 0.5, 2.0)
    for field in ("bearing", "static", "low", "high"):
        assert source(made, f"friction.{field}").endswith("assumption")
    given = {"bearing": 0.02, "static": 1, "low": 0.7, "high": 1.5}
    f = settled(friction=given).friction
    assert (f.bearing, f.static, f.low, f.high) == (0.02, 1, 0.7, 1.5)


def test_load_cases_are_let_through() -> None:
    assert loads(BARE + '[[case]]\nname = "gust"\nanything = 3\n').case == [{"name": "gust", "anything": 3}]


# --- Partial, recorded, and as started from ---


def test_stages_alone_are_settled() -> None:
    (stage,) = stages(loads(f'name = "Draft"\n{STAGE}tight = "50 N"\n'))
    assert (stage.tight, stage.out, stage.shaft) == (50.0, 0.0, DriveShaft((-0.1, 0.1), 0.0254))


def test_nothing_of_the_drive_is_lacking_but_the_wheel() -> None:
    with pytest.raises(Lacking) as refusal:
        mechanism(loads(BARE.replace("[wheel]", "[rods]").split("[rods]")[0] + STAGE))
    assert refusal.value.fields == ("wheel", "panel")


SPELLED = {
    'tight = "50 N"': 'tight = "0.05 kN"',
    'rigidity = "1200 kN"': 'rigidity = "1.2e6 N"',
    'damping = "5 s/m"': 'damping = "0.005 s/mm"',
    'weight = "0.62 kg/m"': 'weight = "62e-2 kg/m"',
    'out = "-25.4 mm"': 'out = "-1 in"',
    'slips = ["40 N m", "60 N m"]': 'slips = { driver = "40000 N mm", driven = "0.06 kN m" }',
    'rate = "2 N/mm"': 'rate = "2 kN/m"',
    'lean = "36 deg"': 'lean = "0.1 turn"',
    'damping = "0.5 N m s/rad"': 'damping = "500 N·mm·s/rad"',
    'stiffness = "900 N m/rad"': 'stiffness = "0.9 kNm/rad"',
    'bearings = ["254 mm", "600 mm"]': 'bearings = [{ out = "10 in" }, { out = "60 cm" }]',
    'height = "3.2 m"': 'height = "3200 mm"',
    'up = "152.4 mm"': 'up = "1/2 ft"',
}
EVERYTHING = """
[[stage]]
teeth = [13, 38]
tight = "50 N"
rigidity = "1200 kN"
damping = "5 s/m"
weight = "0.62 kg/m"
out = "-25.4 mm"
slips = ["40 N m", "60 N m"]
[[stage]]
teeth = [15, 40]
tensioner = { force = "60 N", rate = "2 N/mm", travel = "15 mm", lean = "36 deg" }
[crank.coupling]
kind = "elastic"
damping = "0.5 N m s/rad"
stiffness = "900 N m/rad"
[post]
outside = "200 mm"
wall = "6 mm"
height = "3.2 m"
[limiter]
at = "stage 2"
torque = "20 N m"
[[lift]]
name = "top"
up = "152.4 mm"
"""


def test_spelling_does_not_change_a_single_bit() -> None:
    text = BARE.replace("[crank]", '[crank]\nbearings = ["254 mm", "600 mm"]') + EVERYTHING
    other = text
    for old, new in SPELLED.items():
        assert old in other, old
        other = other.replace(old, new)
    assert canonical(mechanism(loads(other))) == canonical(mechanism(loads(text)))


def test_a_record_gives_it_all_back() -> None:
    made = settled(EVERYTHING)
    back = from_canonical(canonical(made))
    assert (back.stages, back.limiter, back.lifts, back.sides) == (
        made.stages,
        made.limiter,
        made.lifts,
        made.sides,
    )


def options() -> list[str]:
    """Give the starter with each of its commented options in turn: a line, or a table with its lines."""
    lines = (MODELS / "starter.toml").read_text("utf-8").splitlines()
    is_option = [line.startswith("# ") and (" = " in line or line.startswith("# [")) for line in lines]
    found: list[str] = []
    k = 0
    while k < len(lines):
        end = k + 1
        if is_option[k] and lines[k].startswith("# ["):
            while end < len(lines) and is_option[end] and not lines[end].startswith("# ["):
                end += 1
        # The second outline stands instead of the first, and the second panel is an ellipsis.
        if is_option[k] and not lines[k].startswith(("# outline", "# [[panel]]", '# name = "outer"')):
            found.append("\n".join([*lines[:k], *(x[2:] for x in lines[k:end]), *lines[end:]]))
        k = end
    return found


def test_every_option_of_the_starter_is_one() -> None:
    found = options()
    assert len(found) > 30
    plain = mechanism(load(MODELS / "starter.toml"))
    for text in found:
        assert isinstance(mechanism(loads(text)), Mechanism)
    assert plain.stages[0].kind == "chain"
