"""Outlines from DXF drawings, written here with ezdxf."""

import math
import os
import subprocess
import sys

import ezdxf
import pytest
from ezdxf.layouts import Modelspace
from hypothesis import given
from hypothesis import strategies as st

from models.dxf import read_outline
from models.outline import OutlineError, moments, outline

MM, INCH, METRE = 4, 1, 6
PLATE = [(0, 0), (300, 0), (300, 200), (0, 200)]


@pytest.fixture
def drawn(tmp_path):
    """Give a function that draws, saves and reads."""

    def read(draw, units=MM, unit=None, version="R2010", fmt="asc"):
        document = ezdxf.new(version, units=units)
        draw(document.modelspace())
        path = tmp_path / "plate.dxf"
        document.saveas(path, fmt=fmt)
        return read_outline(path, unit)

    return read


def plate(space: Modelspace):
    space.add_lwpolyline(PLATE, close=True)


def refused(call, *words):
    with pytest.raises(OutlineError) as caught:
        call()
    for word in words:
        assert word in str(caught.value)
    assert caught.value.instead


def test_polyline_in_millimetres_gives_the_floats_of_millimetres(drawn):
    assert drawn(plate) == outline([(0, 0), (0.3, 0), (0.3, 0.2), (0, 0.2)])


@pytest.mark.parametrize("version", ["R2000", "R2018"])
@pytest.mark.parametrize("fmt", ["asc", "bin"])
def test_text_and_binary_of_old_and_new_versions(drawn, version, fmt):
    assert moments(drawn(plate, version=version, fmt=fmt)).area == pytest.approx(0.06, rel=1e-14)


@pytest.mark.parametrize(
    # DXF Reference, HEADER, $INSUNITS (memory); US survey foot 1200/3937 m (NIST SP 811, memory).
    ("code", "metres"),
    [
        (1, 0.0254),
        (2, 0.3048),
        (4, 0.001),
        (5, 0.01),
        (6, 1.0),
        (9, 25.4e-6),
        (10, 0.9144),
        (14, 0.1),
        (21, 1200 / 3937),
    ],
)
def test_unit_of_the_file(drawn, code, metres):
    """Rounding of a few products: 1e-14."""
    shape = drawn(lambda space: space.add_lwpolyline([(0, 0), (8, 0), (8, 4)], close=True), units=code)
    assert moments(shape).area == pytest.approx(16 * metres**2, rel=1e-14)


def test_unit_stated(drawn):
    refused(lambda: drawn(plate, units=0), "plate.dxf", "does not say its unit", 'unit = "mm"')
    inches = drawn(
        lambda space: space.add_lwpolyline([(0, 0), (8, 0), (8, 4)], close=True), units=0, unit="in"
    )
    assert moments(inches).area == pytest.approx(16 * 0.0254**2, rel=1e-14)
    assert drawn(plate, units=MM, unit="mm") == drawn(plate)
    refused(lambda: drawn(plate, units=INCH, unit="mm"), "its own unit is in", "'mm' is stated")
    refused(lambda: drawn(plate, units=0, unit="kg"), "unit stated", "mass")
    refused(lambda: drawn(plate, units=0, unit="2 mm"), "unit stated")
    refused(lambda: drawn(plate, units=19), "astronomical")
    refused(lambda: drawn(plate, units=17, unit="mm"), "astronomical")


def test_r12_has_no_unit(drawn):
    def old(space):
        space.add_polyline2d(PLATE, close=True)

    refused(lambda: drawn(old, version="R12", units=0), "does not say its unit")
    assert moments(drawn(old, version="R12", units=0, unit="mm")).area == pytest.approx(0.06, rel=1e-14)


def test_circle_keeps_its_area(drawn):
    """pi r^2 (memory); rounding of a thousand terms: 1e-13."""

    def disc(space):
        space.add_circle((10, 20), 150)
        space.add_circle((10, 20), 6)

    found = moments(drawn(disc))
    assert found.area == pytest.approx(math.pi * (0.15**2 - 0.006**2), rel=1e-13)
    assert found.centroid == pytest.approx((0.01, 0.02), abs=1e-15)


def slot(space, sense=1):
    """A slot of two half circles of radius 20 and straights of 100."""
    corners = [(0, 0, 0), (100, 0, 1), (100, 40, 0), (0, 40, 1)]
    if sense < 0:
        corners = [(0, 40, 0), (100, 40, -1), (100, 0, 0), (0, 0, -1)]
    space.add_lwpolyline(corners, format="xyb", close=True)


SLOT_AREA = (100 * 40 + math.pi * 20**2) * 1e-6


@pytest.mark.parametrize("sense", [1, -1])
def test_bulges(drawn, sense):
    found = drawn(lambda space: slot(space, sense))
    assert moments(found).area == pytest.approx(SLOT_AREA, rel=1e-13)
    assert moments(found).centroid == pytest.approx((0.05, 0.02), abs=1e-14)
    # Half circles reach to -20 and 120; corners may stand off the arc by 0.01 mm, as asked.
    assert min(x for x, _ in found.exterior) == pytest.approx(-0.02, abs=1e-5)
    assert max(x for x, _ in found.exterior) == pytest.approx(0.12, abs=1e-5)


@pytest.mark.parametrize("bulge", [0.1, -0.1, 0.9, 1.7, -0.5])
def test_one_bulge_adds_its_segment(drawn, bulge):
    """Segment R^2 (s - sin s) / 2, sweep s = 4 atan(bulge), R = chord / (2 sin(s/2)) (memory).

    To the right of the edge for a positive bulge: outside a counter-clockwise plate.
    """
    found = drawn(
        lambda space: space.add_lwpolyline(
            [(0, 0, 0), (300, 0, bulge), (300, 200, 0), (0, 200, 0)], format="xyb", close=True
        )
    )
    sweep = 4 * math.atan(abs(bulge))
    radius = 0.2 / (2 * math.sin(sweep / 2))
    segment = radius**2 * (sweep - math.sin(sweep)) / 2
    assert moments(found).area == pytest.approx(0.06 + math.copysign(segment, bulge), rel=1e-13)


def test_old_polyline_with_bulges(drawn):
    corners = [(0, 0, 0, 0, 0), (100, 0, 0, 0, 1), (100, 40, 0, 0, 0), (0, 40, 0, 0, 1)]
    found = drawn(lambda space: space.add_polyline2d(corners, format="xyseb", close=True))
    assert moments(found).area == pytest.approx(SLOT_AREA, rel=1e-13)


def test_lines_and_arcs_in_any_order_and_sense(drawn):
    """The slot from loose pieces, ends up to 0.008 mm apart, within the 0.01 mm joined.

    Straights of 100 mm and half circles 40 mm high move by 0.008 mm at most: 0.008 x (2 x 100 + 2 x 40) mm2.
    """

    def pieces(space):
        space.add_line((100, 40.005), (0.004, 40))
        space.add_arc((100, 20), 20, -90, 90)
        space.add_line((100, 0), (0, 0.006))
        space.add_arc((0, 20), 20, 90, 270)
        space.add_line((50, 20), (50, 20.0005))

    assert moments(drawn(pieces)).area == pytest.approx(SLOT_AREA, abs=2.3e-6)
    assert moments(drawn(pieces)).area != pytest.approx(SLOT_AREA, rel=1e-9)


def test_open_polyline_that_closes_with_a_line(drawn):
    def pieces(space):
        space.add_lwpolyline(PLATE)
        space.add_line((0, 200), (0, 0))

    assert moments(drawn(pieces)).area == pytest.approx(0.06, rel=1e-14)


def test_ellipse_and_spline_within_their_chord_error(drawn):
    """pi a b (memory). Chords of 0.01 mm lose (2/3) 0.01 mm of area per length at most; Ramanujan's
    circumference of a 100 x 50 mm ellipse is 484 mm (computed)."""
    loss = 2 / 3 * 1e-5 * 0.4845
    ellipse = moments(drawn(lambda space: space.add_ellipse((0, 0), (100, 0), 0.5))).area
    assert math.pi * 0.005 - loss <= ellipse < math.pi * 0.005

    def half_and_spline(space):
        space.add_ellipse((0, 0), (100, 0), 0.5, 0, math.pi)
        # A cubic Bezier whose control points lie in line: a straight edge, whatever its parameter.
        space.add_open_spline([(-100, 0), (-50, 0), (50, 0), (100, 0)])

    half = moments(drawn(half_and_spline)).area
    assert (math.pi * 0.005 - loss) / 2 <= half < math.pi * 0.0025


def test_spline_area(drawn):
    """Cubic Bezier (0,0) (0,3) (3,3) (3,0) x 100 mm over its chord: with y = 9 t (1-t), x' = 18 t (1-t), area
    integral 162 t^2 (1-t)^2 = 162/30 = 5.4 (computed by hand). Its length is below 6 x 100 mm."""

    def hump(space):
        space.add_open_spline([(0, 0), (0, 300), (300, 300), (300, 0)])
        space.add_line((0, 0), (300, 0))

    area = moments(drawn(hump)).area
    assert 0.054 - 2 / 3 * 1e-5 * 0.6 <= area < 0.054


def test_seen_from_below(drawn):
    """An entity whose extrusion points down has x reversed (DXF Reference, OCS; memory)."""
    down = {"extrusion": (0, 0, -1)}

    def mirrored_plate(space):
        space.add_lwpolyline(
            [(0, 0, 0), (-100, 0, -1), (-100, 40, 0), (0, 40, -1)], format="xyb", close=True, dxfattribs=down
        )
        space.add_circle((-30, 20), 5, dxfattribs=down)

    found = moments(drawn(mirrored_plate))
    assert found.area == pytest.approx(SLOT_AREA - math.pi * 25e-6, rel=1e-13)
    middle = (SLOT_AREA * 0.05 - math.pi * 25e-6 * 0.03) / (SLOT_AREA - math.pi * 25e-6)
    assert found.centroid == pytest.approx((middle, 0.02), abs=1e-14)

    def mirrored_arcs(space):
        space.add_arc((-100, 20), 20, 90, 270, dxfattribs=down)
        space.add_arc((0, 20), 20, -90, 90, dxfattribs=down)
        space.add_line((0, 0), (100, 0))
        space.add_line((0, 40), (100, 40))

    assert moments(drawn(mirrored_arcs)).area == pytest.approx(SLOT_AREA, rel=1e-12)


def test_blocks_are_unfolded(drawn):
    """Two holes from a block in a block, one mirrored, in a plate from a block turned by 30 deg."""

    def nested(space):
        hole = space.doc.blocks.new("HOLE")
        hole.add_lwpolyline([(-2, 0, 1), (2, 0, 1)], format="xyb", close=True)
        plate_block = space.doc.blocks.new("PLATE")
        plate_block.add_lwpolyline(PLATE, close=True)
        plate_block.add_blockref("HOLE", (50, 50))
        plate_block.add_blockref("HOLE", (250, 50), dxfattribs={"xscale": -2, "yscale": 2})
        space.add_blockref("PLATE", (1000, 0), dxfattribs={"rotation": 30})

    shape = drawn(nested)
    assert len(shape.holes) == 2
    # Rotation rounds coordinates of a metre to 1e-16: 1e-12 of the area with margin.
    assert moments(shape).area == pytest.approx(0.06 - math.pi * (4 + 16) * 1e-6, rel=1e-12)


def test_rows_and_columns_of_a_block(drawn):
    def grid(space):
        space.doc.blocks.new("HOLE").add_circle((0, 0), 5)
        space.add_lwpolyline(PLATE, close=True)
        rows = {"row_count": 3, "column_count": 4, "row_spacing": 50, "column_spacing": 60}
        space.add_blockref("HOLE", (50, 50), dxfattribs=rows)

    shape = drawn(grid)
    assert len(shape.holes) == 12
    assert moments(shape).area == pytest.approx(0.06 - 12 * math.pi * 25e-6, rel=1e-12)


def test_squeezed_block_of_a_circle_is_an_ellipse(drawn):
    def squeezed(space):
        space.doc.blocks.new("DISC").add_circle((0, 0), 100)
        space.add_blockref("DISC", (0, 0), dxfattribs={"yscale": 0.5})

    loss = 2 / 3 * 1e-5 * 0.4845
    assert math.pi * 0.005 - loss <= moments(drawn(squeezed)).area < math.pi * 0.005


def test_words_dimensions_and_hidden_lines_are_not_edges(drawn):
    def annotated(space):
        plate(space)
        space.add_text("2 off, 3 mm 5083").set_placement((400, 100))
        space.add_mtext("deburr")
        space.add_point((900, 0))
        space.add_linear_dim(base=(0, -30), p1=(0, 0), p2=(300, 0)).render()
        space.doc.layers.add("OLD").off()
        space.doc.layers.add("FROZEN").freeze()
        space.add_circle((800, 0), 50, dxfattribs={"layer": "old"})
        space.add_circle((800, 0), 50, dxfattribs={"layer": "FROZEN"})
        space.add_circle((800, 0), 50, dxfattribs={"invisible": 1})

    assert drawn(annotated) == drawn(plate)


def test_paper_space_is_not_read(drawn):
    def on_paper(space):
        space.doc.layout("Layout1").add_lwpolyline(PLATE, close=True)

    refused(lambda: drawn(on_paper), "no lines in its modelspace", "LWPOLYLINE")


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (lambda _: None, ["no lines"]),
        (lambda s: s.add_text("plate"), ["no lines"]),
        (
            lambda s: s.add_lwpolyline(PLATE),
            ["1 line is left open", "(0, 0) mm", "(0, 200) mm", "200 mm apart"],
        ),
        (
            lambda s: (plate(s), s.add_line((10, 10), (20, 10)), s.add_arc((50, 50), 10, 0, 90)),
            ["2 lines are left open", "(10, 10) mm to (20, 10) mm", "(60, 50) mm to (50, 60) mm"],
        ),
        (
            lambda s: (s.add_lwpolyline(PLATE), s.add_line((0, 200), (0, 0.02))),
            ["left open", "0.02 mm apart", "within 0.01 mm"],
        ),
        (
            lambda s: (s.add_lwpolyline(PLATE), s.add_line((0, 200), (0, 0)), s.add_line((0, 0), (50, 50))),
            ["3 lines meet at (0, 0) mm", "drawn twice"],
        ),
        (lambda s: (s.add_line((0, 0), (5, 5)), s.add_line((0, 0), (5, 5))), ["no area", "drawn twice"]),
        (lambda s: (plate(s), plate(s)), ["drawn twice"]),
        (lambda s: (plate(s), s.add_circle((100, 100), 20), s.add_circle((100, 100), 20)), ["same hole"]),
        (lambda s: (plate(s), s.add_circle((500, 100), 20)), ["two plates"]),
        (lambda s: (plate(s), s.add_circle((300, 100), 20)), ["crosses the largest"]),
        (
            lambda s: (plate(s), s.add_circle((100, 100), 40), s.add_circle((100, 100), 20)),
            ["one within the other"],
        ),
        (
            lambda s: (plate(s), s.add_circle((100, 100), 40), s.add_circle((150, 100), 20)),
            ["overlap or touch"],
        ),
        (lambda s: s.add_lwpolyline([(0, 0), (9, 9), (9, 0), (0, 9)], close=True), ["crosses", "4.5 4.5 mm"]),
        (lambda s: s.add_lwpolyline([(0, 0), (9, 9), (18, 18)], close=True), ["no area"]),
        (lambda s: (plate(s), s.add_solid([(0, 0), (9, 0), (9, 9)])), ["SOLID", "cannot be read as an edge"]),
        (lambda s: s.add_polymesh((3, 3)), ["POLYLINE", "cannot be read as an edge"]),
        (lambda s: s.add_line((0, 0, 0), (100, 0, 5)), ["rises out of the plane"]),
        (
            lambda s: s.add_polyline3d([(0, 0, 0), (9, 0, 0), (9, 9, 3)], close=True),
            ["rises out of the plane"],
        ),
        (lambda s: s.add_circle((0, 0), 5, dxfattribs={"extrusion": (0, 1, 1)}), ["tilted plane"]),
        (lambda s: s.add_circle((0, 0), 0), ["no radius"]),
        (lambda s: s.add_circle((0, 0), 1e12), ["farther off than 1000 m"]),
        (lambda s: s.add_lwpolyline([(0, 0), (1e7, 0), (0, 9)], close=True), ["farther off than 1000 m"]),
        (lambda s: s.add_lwpolyline([(0, 0), (math.nan, 0), (0, 9)], close=True), ["not a number"]),
        (
            lambda s: s.add_lwpolyline([(0, 0, math.inf), (9, 0, 0), (0, 9, 0)], format="xyb", close=True),
            ["plate.dxf"],
        ),
        (
            lambda s: s.add_lwpolyline([(0, 0, 1e15), (9, 0, 0), (0, 9, 0)], format="xyb", close=True),
            ["farther off"],
        ),
        (lambda s: s.add_arc((0, 0), 5, math.nan, 90), ["plate.dxf"]),
        (lambda s: s.add_ellipse((0, 0), (math.nan, 0), 0.5), ["not a number"]),
        (lambda s: s.add_ellipse((0, 0), (10, 0), 0.5, math.nan, 3), ["plate.dxf"]),
        (lambda s: s.add_open_spline([(0, 0), (math.nan, 1), (2, 2), (3, 0)]), ["not a number"]),
        (lambda s: s.add_blockref("GONE", (0, 0)), ["block 'GONE' is missing"]),
    ],
)
def test_refuses_a_drawing(drawn, draw, words):
    refused(lambda: drawn(draw), "plate.dxf", *words)


def test_open_ends_are_named_in_the_unit_of_the_file(drawn):
    refused(
        lambda: drawn(lambda space: space.add_lwpolyline([(0, 0), (8, 0), (8, 4)]), units=INCH),
        "(0, 0) in to (8, 4) in",
        "within 0.000394 in",
    )


def test_blocks_that_never_end(drawn):
    def within_itself(space):
        block = space.doc.blocks.new("A")
        block.add_blockref("A", (1, 0))
        space.add_blockref("A", (0, 0))

    refused(lambda: drawn(within_itself), "nested more than 16 deep")

    def bomb(space):
        space.doc.blocks.new("A").add_point((0, 0))
        huge = {"row_count": 30000, "column_count": 30000, "row_spacing": 1, "column_spacing": 1}
        space.add_blockref("A", (0, 0), dxfattribs=huge)

    refused(lambda: drawn(bomb), "more than 50000 entities")


def test_files_that_are_no_drawing(tmp_path):
    refused(lambda: read_outline(tmp_path / "none.dxf"), "there is no file", "check the name")
    refused(lambda: read_outline(tmp_path), "is a folder")
    refused(lambda: read_outline(tmp_path / "nul\0.dxf"), "there is no file")
    contents = {
        "empty.dxf": b"",
        "words.dxf": b"dear maker,\nthe plate is attached\n",
        "rubbish.dxf": bytes(range(256)) * 40,
        "almost.dxf": b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n 10\nabc\n",
        "cut.dxf": b"  0\nSECTION\n  2\nHEADER\n  9\n$INSUNITS\n",
        "binary.dxf": b"AutoCAD Binary DXF\r\n\x1a\x00" + bytes(range(200)),
    }
    for name, content in contents.items():
        (tmp_path / name).write_bytes(content)
        refused(lambda name=name: read_outline(tmp_path / name), name)
    (tmp_path / "plate.dwg").write_bytes(b"AC1032" + bytes(100))
    refused(lambda: read_outline(tmp_path / "plate.dwg"), "a DWG file", "export it as DXF")
    with (tmp_path / "large.dxf").open("wb") as file:
        file.truncate(10_000_001)
    refused(lambda: read_outline(tmp_path / "large.dxf"), "10.0 MB, more than the 10 MB")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_named_pipe_does_not_hang(tmp_path):
    os.mkfifo(tmp_path / "pipe.dxf")
    refused(lambda: read_outline(tmp_path / "pipe.dxf"), "there is no file")


@pytest.fixture(scope="module")
def small_drawing(tmp_path_factory):
    document = ezdxf.new("R12")
    document.header["$INSUNITS"] = MM
    space = document.modelspace()
    space.add_polyline2d(PLATE, close=True)
    space.add_circle((50, 50), 5)
    path = tmp_path_factory.mktemp("damaged") / "damaged.dxf"
    document.saveas(path)
    return path, path.read_bytes()


@given(data=st.data())
def test_a_damaged_drawing_is_read_or_refused(small_drawing, data):
    """Lines of the ENTITIES section replaced at random: never anything but an outline or an OutlineError."""
    path, whole = small_drawing
    lines = whole.split(b"\n")
    first = lines.index(b"ENTITIES")
    for _ in range(data.draw(st.integers(1, 4))):
        where = data.draw(st.integers(first, len(lines) - 1))
        lines[where] = data.draw(
            st.sampled_from([b"", b"0", b"nan", b"-1", b"1e308", b"LINE", b"70", b"\xff\x00", b"42"])
        )
    path.write_bytes(b"\n".join(lines))
    try:
        area = moments(read_outline(path, "mm")).area
    except OutlineError as fault:
        area = len(fault.what) * len(fault.instead)
    assert area > 0


def test_the_reader_is_imported_only_when_a_drawing_is_read():
    code = "import sys, models.dxf; sys.exit('ezdxf' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
