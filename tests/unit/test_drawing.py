"""The drawing of what was understood: that it shows the sizes of the description, and can be read."""

import math

import pytest
from examples import MANTA, MOTH

from analysis.drawing import drawing, outline_drawing
from analysis.drawing.sheet import degrees, millimetres, short, spread
from analysis.style import SMALL, save
from models.loading import load, loads
from models.resolve import mechanism, plates
from sim.builders import linkage
from sim.layout import shaft_places

UNEQUAL = {"right.key_angle": "8 deg", "right.panel.outer.thickness": "5 mm", "stage.2.centres": "300 mm"}
CROWDED = {
    "crank.counterweight": [
        {"mass": "3 kg", "radius": "100 mm", "angle": f"{angle} deg", "out": f"{out} mm"}
        for angle, out in ((140, 750), (150, 450), (160, 500), (-170, 600))
    ],
    "name": "WWW: a sculpture whose name is wider than the title block is",
}


PLACED = {
    "crank.bearings": [
        {"out": "150 mm"},
        {"out": "930 mm", "on": "arm", "stiffness": "2 kN/mm"},
        {"out": "590 mm"},
    ],
    "wheel.out": "310 mm",
    "stage.1.out": "0 mm",
    "limiter": {"at": "stage 1", "torque": "60 N m"},
    "stage.2.slips": ["40 N m", "60 N m"],
}


def _sculpture(which):
    if which == "moth":
        return loads(MOTH)
    changes = {"manta": {}, "unequal": UNEQUAL, "crowded": CROWDED, "placed": PLACED}
    return load(MANTA, changes[which])


@pytest.fixture(scope="module")
def drawn():
    """Give the drawings, made once."""
    made = {}

    def give(which):
        if which not in made:
            made[which] = drawing(linkage(mechanism(_sculpture(which))))
        return made[which]

    return give


def _texts(figure):
    return [t for ax in figure.axes for t in ax.texts if t.get_text().strip()]


def _words(figure):
    return [t.get_text() for t in _texts(figure)]


def _clashes(figure):
    """Give pairs of texts whose boxes overlap, and texts that leave the sheet."""
    renderer = figure.canvas.get_renderer()
    boxes = [(t.get_text(), t.get_window_extent(renderer)) for t in _texts(figure)]
    found = [
        (a, b)
        for k, (a, x) in enumerate(boxes)
        for b, y in boxes[:k]
        if min(x.x1, y.x1) > max(x.x0, y.x0) and min(x.y1, y.y1) > max(x.y0, y.y0)
    ]
    wide, high = figure.bbox.width, figure.bbox.height
    return found + [a for a, x in boxes if x.x0 < 0 or x.y0 < 0 or x.x1 > wide or x.y1 > high]


@pytest.mark.parametrize("which", ["manta", "moth", "unequal", "crowded", "placed"])
def test_no_text_lies_on_another_or_leaves_the_sheet(drawn, which):
    assert _clashes(drawn(which)) == []


@pytest.mark.parametrize("dpi", [72, 121, 200])
def test_texts_stay_apart_at_other_resolutions(dpi):
    """Hinted letters are a little wider or narrower at other resolutions; 121 dpi makes 2000 pixels of A3."""
    figure = drawing(linkage(mechanism(_sculpture("manta"))))
    figure.set_dpi(dpi)
    assert _clashes(figure) == []


@pytest.mark.parametrize("which", ["manta", "moth", "unequal", "crowded", "placed"])
def test_type_is_legible_at_printed_size(drawn, which):
    assert SMALL >= 8  # pt, the least the makers were promised
    assert min(t.get_fontsize() for t in _texts(drawn(which))) >= SMALL


# Sizes as they stand in models/manta.toml (read).
MANTA_SIZES = (
    "800 × 500", "620 × 760", "90 hinge inner", "350 yoke pin inner", "1350 tip", "throw inner 350",
    "throw outer 830", "arm bearing 250", "arm bearing 930", "counterweight 740", "rod 600", "wheel Ø 760",
    "crank's axis 3000", "wheel's axis 900", "inner hinge 3650", "post Ø 219.1", "219.1 × 6.3", "760 (29.9 in) × 12",
    "13 teeth", "38 teeth", "15 teeth", "40 teeth", "stage 1: centres 2450", "stage 2: centres 406.4",
    "throw outer\nr 200, −40°", "throw inner\nr 80, 0°", "counterweight 4 kg\nr 150, 140°", "25.4, 12",
    "50 × 10, 50", "0.6 kg, Ø 65", "elastic, 900 N m/rad", "250, 930",
)  # fmt: skip


def test_it_shows_the_sizes_of_the_description(drawn):
    assert [size for size in MANTA_SIZES if size not in _words(drawn("manta"))] == []


def test_it_shows_the_planes_of_wheel_and_chains(drawn):
    words = _words(drawn("manta"))
    # Assumed: the wheel 120 mm beyond the post of 219.1 mm, planes 40 mm apart about its axis (computed).
    for place in ("229.5 wheel, right", "20 stage 1, right", "20 stage 2, left", "229.5 right*"):
        assert place in words
    placed = _words(drawn("placed"))
    assert "310 wheel, left" in placed
    assert "0 stage 1" in placed
    assert "310 left" in placed
    assert not any(w.endswith("wheel, right") for w in placed)


def test_it_shows_every_bearing_and_what_holds_it(drawn):
    words = _words(drawn("placed"))
    for label in ("bearing 150", "arm bearing 590", "arm bearing 930", "150, 930, 590", "post*, arm, arm*",
                  "rigid, 2000, rigid"):  # fmt: skip
        assert label in words
    assert words.count("locating bearing") == 1
    assert words.count("bearing on an arm") == 2


def _boxes(figure):
    """Give the crossed boxes' centres on the sheet, mm, with half their size."""
    found = []
    for patch in figure.axes[0].patches + [a for a in figure.axes[0].artists if hasattr(a, "get_xy")]:
        corners = patch.get_xy()
        if len(corners) == 5 and patch.get_facecolor()[:3] == (1, 1, 1):
            low, high = corners.min(axis=0), corners.max(axis=0)
            if math.isclose(*(high - low), rel_tol=1e-9):
                found.append((*((low + high) / 2), (high[0] - low[0]) / 2))
    return found


@pytest.mark.parametrize(("which", "bearings"), [("manta", 2), ("placed", 3)])
def test_bearings_are_drawn_in_both_views(drawn, which, bearings):
    boxes = _boxes(drawn(which))
    # Front and top, left and right; the drive's three shafts have two each, in the front view alone.
    assert sum(half == pytest.approx(1.4) for *_, half in boxes) == 4 * bearings
    assert sum(half == pytest.approx(0.8) for *_, half in boxes) == 6


def test_it_shows_name_reduction_and_directions(drawn):
    words = _words(drawn("manta"))
    assert "Harbour manta" in words
    # 38/13 * 40/15 = 7.79487 (computed)
    assert any(w.startswith("Reduction 7.795 : 1, 38/13 × 40/15") for w in words)
    assert any("not to scale between views" in w for w in words)
    assert {"forward", "up", "left", "+ turns forward", "crank angle 0, up"} <= set(words)


def test_assumed_values_are_marked(drawn):
    words = _words(drawn("manta"))
    assert "500*" in words  # the outer hinge's place is taken from the inner panel's far edge
    assert "10*" in words  # hinge pin, not in the description
    assert "500" not in words
    assert any(w.startswith("* not in the description") for w in words)


def test_without_defaults_nothing_is_marked():
    figure = drawing(linkage(mechanism(_sculpture("moth"))), defaults=())
    assert not any("*" in w for w in _words(figure))


def test_it_shows_what_may_slip(drawn):
    words = _words(drawn("placed"))
    assert "driven hub of stage 1, 60 N m" in words
    assert "driver 40 N m, driven 60 N m" in words


def test_a_handle_on_the_crankshaft(drawn):
    words = _words(drawn("moth"))
    # read from MOTH above
    for size in (
        "handle r 150",
        "throw wing\nr 45, 7°",
        "rod 230",
        "crank's axis 600",
        "330 × 400",
        "0.5 kg*",
    ):
        assert size in words
    assert any(w.startswith("Handle on the crankshaft") and "one side, 1 panel" in w for w in words)
    assert not any("teeth" in w or "wheel's axis" in w for w in words)


def test_sides_that_differ_are_both_in_the_schedule(drawn):
    words = _words(drawn("unequal"))
    assert words.count("left") >= 2
    assert words.count("right") >= 2
    assert "right side keyed 8°" in words
    assert "5" in words  # mm, the right outer panel's thickness
    assert "left" not in [w for w in _words(drawn("manta")) if w.startswith("right")]


def test_a_drive_that_does_not_close_says_so(drawn):
    # 2450 - 300 = 2150 mm, more than the 2100 mm between the heights of wheel and crank (computed)
    assert any(w.startswith("Note: centres of 2450 mm and 300 mm") for w in _words(drawn("unequal")))


def test_outlines_alone_show_masses_and_centres_of_gravity():
    figure = outline_drawing(plates(load(MANTA)))
    words = _words(figure)
    # A trapezium: area 0.5 (0.80 + 0.62) * 0.5 = 0.355 m2, times 4 mm and 7900 or 8000 kg/m3: 11.2 or 11.4 kg.
    # Its centroid lies h/3 (a + 2b)/(a + b) = 0.5/3 * (0.8 + 1.24)/1.42 = 239.4 mm out (computed).
    assert any(w.startswith("inner: 11.") for w in words)
    assert any("out 239.4" in w for w in words)
    assert _clashes(figure) == []


def test_one_plate_alone_is_drawn():
    assert any(w.startswith("wing: ") for w in _words(outline_drawing(plates(loads(MOTH)))))


def test_saved_twice_it_is_the_same_file(tmp_path):
    paths = []
    for name in ("a", "b"):
        figure = outline_drawing(plates(loads(MOTH)))
        paths.append(save(figure, tmp_path / name / "plates"))
    (svg, png), (svg_again, png_again) = paths
    assert (svg.suffix, png.suffix) == (".svg", ".png")
    assert svg.read_bytes() == svg_again.read_bytes()
    assert png.read_bytes() == png_again.read_bytes()
    assert b"<dc:date>" not in svg.read_bytes()


def _places(changes, text=None):
    return shaft_places(mechanism(load(MANTA, changes) if text is None else loads(text, changes=changes)))


def test_two_stages_close_the_triangle():
    places, note = _places({})
    wheel, between, crank = places
    assert note is None
    assert crank == (0.0, 0.0)
    assert wheel == pytest.approx((0.0, -2.1))  # 900 mm less 3 m (read)
    # Distances are the centres as written (read); 1e-12 m is rounding.
    assert math.dist(wheel, between) == pytest.approx(2.45, abs=1e-12)
    assert math.dist(between, crank) == pytest.approx(0.4064, abs=1e-12)
    assert between[0] > 0


def test_a_shaft_between_below_the_crank():
    (wheel, between, _), note = _places({"stage.1.centres": "1900 mm"})
    assert note is None
    assert math.dist(wheel, between) == pytest.approx(1.9, abs=1e-12)
    assert math.hypot(*between) == pytest.approx(0.4064, abs=1e-12)
    # (2.1^2 + 0.4064^2 - 1.9^2) / (2 * 2.1) = 0.22980 m from the crank toward the wheel (computed)
    assert between[1] == pytest.approx(-0.2298, abs=1e-4)


def test_a_wheel_above_the_crank():
    (wheel, between, _), note = _places({"wheel.height": "5100 mm"})
    assert note is None
    assert wheel == pytest.approx((0.0, 2.1))
    assert math.dist(wheel, between) == pytest.approx(2.45, abs=1e-12)
    assert math.hypot(*between) == pytest.approx(0.4064, abs=1e-12)


def test_level_shafts_with_equal_centres():
    changes = {"wheel.height": "3 m", "stage.1.centres": "500 mm", "stage.2.centres": "500 mm"}
    places, note = _places(changes)
    assert note is None
    assert places[1] == pytest.approx((0.5, 0.0))


@pytest.mark.parametrize(
    ("first", "said"), [("1000 mm", "do not reach"), ("3000 mm", "too unequal to close a triangle")]
)
def test_a_triangle_that_cannot_close_is_a_straight_line(first, said):
    places, note = _places({"stage.1.centres": first})
    assert said in (note or "")
    assert [x for x, _ in places] == [0.0, 0.0, 0.0]
    assert -2.1 < places[1][1] < 0.0


def _one_stage(centres):
    return (
        MANTA.read_text()
        .replace('"2450 mm"', f'"{centres}"')
        .replace('[[stage]]\nteeth = [15, 40]\npitch = "12.7 mm"\ncentres = "406.4 mm"\n', "")
    )


def test_one_stage_puts_the_wheel_forward():
    (wheel, crank), note = _places({}, _one_stage("2300 mm"))
    assert note is None
    assert math.dist(wheel, crank) == pytest.approx(2.3, abs=1e-12)
    assert wheel[0] > 0
    assert wheel[1] == pytest.approx(-2.1)


def test_one_stage_straight_under():
    places, note = _places({}, _one_stage("2100 mm"))
    assert note is None
    # A root magnifies rounding: sqrt(1e-16 * 2 * 2.1^2) = 3e-8 m.
    assert places[0] == pytest.approx((0.0, -2.1), abs=1e-7)


def test_one_stage_too_short():
    places, note = _places({}, _one_stage("2000 mm"))
    assert "do not reach the 2100 mm" in (note or "")
    assert places == ((0.0, pytest.approx(-2.1)), (0.0, 0.0))


def test_centres_that_follow_from_links_and_slack():
    changes = {"stage.2": {"teeth": [15, 40], "links": 94, "slack": "0 mm"}}
    places, note = _places(changes)
    assert note is None
    # L/p = 2 C + (N1 + N2)/2 + ((N2 - N1)/(2 pi))^2 / C: with 94 links 33.01 pitches, 419.3 mm (computed; the
    # handbook's approximate form, good to 0.1 mm here).
    assert math.hypot(*places[1]) == pytest.approx(0.4193, abs=2e-4)


def test_lacking_centres_are_named():
    # 20 links do not reach round 15 and 40 teeth, whatever the distance.
    places, note = _places({"stage.2": {"teeth": [15, 40], "links": 20}})
    assert "stage 2 has no centre distance" in (note or "")
    assert len(places) == 3


def test_centres_that_nobody_gives_are_forty_pitches():
    places, note = _places({"stage.2": {"teeth": [15, 40]}})
    assert note is None
    # 40 half-inch pitches, textbook advice 30 to 50 (memory); to rounding
    assert math.hypot(*places[1]) == pytest.approx(40 * 0.0127, abs=1e-12)


def test_three_stages_lie_on_a_line():
    stage = {"teeth": [15, 30], "centres": "700 mm"}
    places, note = _places({"stage": [stage, stage, stage]})
    assert "straight line" in (note or "")
    # thirds of 2.1 m (computed)
    assert [up for _, up in places] == pytest.approx([-2.1, -1.4, -0.7, 0.0])


def test_no_stage():
    assert _places({}, MOTH) == (((0.0, 0.0),), None)
    places, note = _places({"wheel.height": "900 mm"}, MOTH)
    assert places == ((0.0, pytest.approx(0.3)),)
    assert "no chain stage joins the wheel" in (note or "")


def test_spread_moves_only_what_is_too_near():
    assert spread([0.0, 10.0, 20.0], 3.0) == [0.0, 10.0, 20.0]
    assert spread([20.0, 5.0, 6.0], 4.0) == [20.0, 3.5, 7.5]
    found = spread([1.0, 1.0, 1.0, 2.0], 2.0)
    assert min(b - a for a, b in zip(sorted(found), sorted(found)[1:], strict=False)) >= 2.0 - 1e-12
    assert sum(found) == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("length", "words"), [(0.4064, "406.4"), (3.0, "3000"), (-0.055, "−55"), (-1e-9, "0"), (0.00635, "6.3")]
)
def test_millimetres(length, words):
    assert millimetres(length) == words


def test_degrees_and_short_names():
    assert degrees(math.radians(-40)) == "−40°"
    assert degrees(-1e-9) == "0°"
    assert short("wing", 4) == "wing"
    assert short("winglet", 4) == "win…"
