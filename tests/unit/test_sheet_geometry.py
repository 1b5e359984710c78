"""What the shop cuts, against figures built up in other ways: placed pieces, polygons, sums over bits of plate."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, affinity, union_all

from analysis.parts.bolt_group import bolt_circle
from analysis.parts.choice import Check, Sizing, line
from analysis.sheets.counterweights import segment, square_plate
from analysis.sheets.rims import Rim
from analysis.sheets.shop_drawings import segment_points
from analysis.sheets.shop_panels import perimeter
from analysis.sheets.wear import LONGEST, SHARE, lasting, spell
from models.outline import outline
from models.stock import plate_stock

STEEL = 7850.0
counts = st.integers(3, 60)
radii = st.floats(0.1, 2.0)


def trapezium(rim: Rim) -> Polygon:
    """A piece as it is cut: outer edge up, its middle at the origin."""
    w, o, i = rim.bar / 2, rim.outer / 2, rim.inner / 2
    return Polygon([(-o, w), (o, w), (i, -w), (-i, -w)])


@given(counts, radii, st.floats(0.001, 0.03))
def test_pieces_of_a_rim_close(count: int, radius: float, bar: float) -> None:
    rim = Rim(count, radius, bar)
    # Each piece begins where the one before ends, turned by twice the mitre: after all of them one is back.
    at, way, reached = np.zeros(2), 0.0, []
    for _ in range(count):
        at = at + rim.centreline * np.array([math.cos(way), math.sin(way)])
        reached.append(at)
        way += 2 * rim.mitre
    assert np.linalg.norm(at) < 1e-9 * radius * count
    assert way == pytest.approx(2 * math.pi)
    middle = np.mean(reached, axis=0)
    assert np.linalg.norm(np.array(reached) - middle, axis=1) == pytest.approx(np.full(count, radius))


@pytest.mark.parametrize("count", [5, 8, 12, 24])
def test_pieces_of_a_rim_meet_without_gap_or_overlap(count: int) -> None:
    rim = Rim(count, 0.38, 0.02)
    placed = [
        affinity.rotate(affinity.translate(trapezium(rim), 0, rim.flat), 360 * k / count, origin=(0, 0))
        for k in range(count)
    ]
    whole = union_all([p.buffer(1e-9) for p in placed])
    assert whole.area == pytest.approx(sum(p.area for p in placed), rel=1e-6)  # nothing overlaps
    assert len(whole.interiors) == 1  # and nothing gapes: one ring with one hole
    assert max(math.hypot(x, y) for x, y in whole.exterior.coords) == pytest.approx(rim.farthest, abs=1e-7)
    assert min(math.hypot(x, y) for x, y in whole.interiors[0].coords) > rim.inside - 1e-7
    assert rim.sag == pytest.approx(rim.radius - (rim.inside + rim.bar / 2))


def test_a_rims_known_figures() -> None:
    square = Rim(4, math.sqrt(2) / 2, 0.1)  # of a square of edge 1 everything is plain
    assert (square.centreline, square.outer, square.inner) == pytest.approx((1.0, 1.1, 0.9))
    assert math.degrees(square.mitre) == pytest.approx(45)
    assert math.degrees(Rim(12, 0.38, 0.02).mitre) == pytest.approx(15)
    six = Rim(6, 0.38, 0.02)
    assert six.centreline == pytest.approx(0.38)  # a hexagon's edge is its radius
    # Cut from one bar, each turned over: the area of bar that is used up is that of the pieces and cuts, and one end.
    used = sum(trapezium(six).area for _ in range(6)) / 0.02 + 6 * 0.003
    assert six.stock(0.003) == pytest.approx(used + 0.02 * math.tan(six.mitre))


def test_a_rim_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="three"):
        Rim(2, 0.3, 0.02)
    with pytest.raises(ValueError, match="wider"):
        Rim(8, 0.01, 0.03)


def test_holes_of_a_bolt_circle() -> None:
    assert np.array(bolt_circle(4, 0.1)) == pytest.approx(
        np.array([(0, 0.05), (0.05, 0), (0, -0.05), (-0.05, 0)]), abs=1e-15
    )
    holes = np.array(bolt_circle(5, 0.12))
    assert np.linalg.norm(holes, axis=1) == pytest.approx(np.full(5, 0.06))
    apart = np.linalg.norm(holes - np.roll(holes, -1, axis=0), axis=1)
    assert apart == pytest.approx(np.full(5, 0.12 * math.sin(math.pi / 5)))


@given(st.floats(0.2, 20), st.floats(0.03, 0.5), st.sampled_from(plate_stock("metric") + plate_stock("inch")))
def test_a_segment_has_its_mass_and_its_centre(mass: float, radius: float, stock) -> None:
    disc = segment(mass, radius, stock.thickness, STEEL)
    shape = Polygon(segment_points(disc, 4001))
    assert shape.area * stock.thickness * STEEL == pytest.approx(mass, rel=1e-5)
    assert shape.centroid.y == pytest.approx(radius, rel=1e-5)
    assert shape.centroid.x == pytest.approx(0, abs=1e-9)
    low, high = shape.bounds[0], shape.bounds[2]
    if disc.nearest >= 0:
        assert high - low == pytest.approx(disc.width, rel=1e-9)
        assert shape.bounds[3] - shape.bounds[1] == pytest.approx(disc.height, rel=1e-5)
    assert (disc.area, disc.centroid) == pytest.approx((shape.area, shape.centroid.y), rel=1e-5)


def test_half_a_disc_is_one_of_its_segments() -> None:
    # Its centre of gravity is 4 R / (3 pi) from the axis.
    mass = STEEL * 0.02 * math.pi / 2 * 0.2**2
    disc = segment(mass, 4 * 0.2 / (3 * math.pi), 0.02, STEEL)
    assert (disc.outside, disc.half) == pytest.approx((0.2, math.pi / 2))
    assert disc.nearest == pytest.approx(0, abs=1e-9)


@given(st.floats(0.2, 20), st.floats(0.03, 0.5), st.floats(0.004, 0.05))
def test_a_square_plate_has_its_mass_and_its_centre(mass: float, radius: float, thickness: float) -> None:
    plate = square_plate(mass, radius, thickness, STEEL)
    # Summed over bits of plate.
    grid = (np.arange(50) + 0.5) / 50 * plate.side
    across, along = np.meshgrid(grid - plate.side / 2, plate.nearest + grid)
    bit = STEEL * thickness * (plate.side / 50) ** 2
    assert bit * across.size == pytest.approx(mass)
    assert (across.mean(), along.mean()) == pytest.approx((0, radius), abs=1e-9)
    corner = np.hypot(across, along).max()
    assert corner < plate.farthest < corner + plate.side / 50


def test_a_counterweight_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="positive"):
        segment(0.0, 0.1, 0.01, STEEL)
    with pytest.raises(ValueError, match="positive"):
        square_plate(1.0, -0.1, 0.01, STEEL)


def test_plates_in_stock() -> None:
    assert [s.label for s in plate_stock("inch")][:2] == ["1/4 in", "5/16 in"]
    for system in ("metric", "inch"):
        sizes = [s.thickness for s in plate_stock(system)]
        assert sizes == sorted(sizes)
        assert all(s.source for s in plate_stock(system))


def test_an_outlines_perimeter() -> None:
    shape = outline(
        [(-0.3, 0), (0.4, 0), (0.4, 0.3), (-0.3, 0.3)], [[(0, 0.1), (0.1, 0.1), (0.1, 0.2), (0, 0.2)]]
    )
    assert perimeter(shape) == pytest.approx(2.0 + 0.4)


# --- Intervals from wear ---


def worn(demand: float, allowed: float, years: float | None = None) -> Check:
    return Check("wear of the lining", demand, allowed, "length", "in use", "Archard", years=years)


def test_a_life_follows_from_wear_that_grows_evenly() -> None:
    # .1 mm in 4 years of .15 mm: six years.
    assert worn(0.1e-3, 0.15e-3, 4.0).lasts == pytest.approx(6.0)
    assert worn(0.0, 0.15e-3, 10.0).lasts == math.inf
    assert worn(0.1e-3, 0.15e-3).lasts is None


class Row:
    def __init__(self, size: str, depth: float) -> None:
        self.size, self.system, self.source, self.depth = size, "metric", "invented", depth


def test_intervals_are_a_share_of_the_life_and_a_year_at_most() -> None:

    def checks(row: Row) -> tuple[Check, ...]:
        return (worn(0.5e-3, row.depth, 10.0),)

    made = line(
        "bush", "crankshaft", [Row("20 x 25", 0.4e-3), Row("25 x 30", 0.6e-3)], checks, system="metric"
    )
    (own,) = lasting([made])
    assert own.part == "bush, crankshaft: 25 x 30 (chosen, metric)"
    assert own.years == pytest.approx(12.0)
    assert own.interval == LONGEST == 1.0
    described = line("bush", "crankshaft", [Row("25 x 30", 0.6e-3)], checks, system="metric",
                     described=Sizing("18", (worn(5e-3, 1e-3, 10.0),)))  # fmt: skip
    (short,) = lasting([made, described])  # what is chosen for the same place is not built in
    assert short.years == pytest.approx(2.0)
    assert short.interval == pytest.approx(SHARE * 2.0)
    assert "18 (described)" in short.part


def test_times_are_said_never_longer_than_they_are() -> None:
    assert spell(math.inf) == "does not wear"
    assert spell(12.39) == "12.3 years"
    assert spell(1.0) == "12 months"
    assert spell(0.49) == "5 months"
    assert spell(0.1) == "36 days"
    assert spell(0.001) == "every day"
