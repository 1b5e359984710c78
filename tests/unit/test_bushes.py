"""Bushes: pressure, the edge under a leaning shaft, wear, and which sizes a shaft takes."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.parts.bushes import edge_pressure, of_shaft, pressure, worn
from models.parts.bushes import BUSHES
from models.parts.catalogue import catalogue

ROWS = catalogue(BUSHES)
sizes = st.floats(0.005, 0.1)


def test_pressure_is_force_over_projected_area() -> None:
    assert pressure(1000.0, 0.02, 0.025) == pytest.approx(2e6)
    with pytest.raises(ValueError, match="no area"):
        pressure(1.0, 0.02, 0.0)


@given(st.floats(1, 1e5), sizes, sizes, st.floats(1e-6, 0.05))
def test_the_edge_pressure_carries_the_force(force: float, bore: float, length: float, lean: float) -> None:
    ground = 1e13
    edge = edge_pressure(force, bore, length, lean, ground)
    along = np.linspace(0, length, 20001)
    # The shaft is a straight line on ground that gives in proportion: what is left of it below zero carries nothing.
    depth = np.maximum(edge - ground * lean * along, 0.0)
    carries = min(length, edge / (ground * lean))
    exact = bore * (edge * carries - ground * lean * carries**2 / 2)
    assert exact == pytest.approx(force, rel=1e-9)
    # The grid's own error is largest where few of its steps carry.
    steps = carries / (length / 20000)
    assert bore * np.trapezoid(depth, along) == pytest.approx(force, rel=1e-6 + 2 / steps**2)


def test_the_edge_pressure_without_lean_is_the_mean_and_grows_with_it() -> None:
    mean = pressure(500.0, 0.025, 0.02)
    found = [edge_pressure(500.0, 0.025, 0.02, lean) for lean in (0.0, 1e-6, 1e-5, 1e-4, 1e-3)]
    assert found[0] == mean
    assert found == sorted(found)
    # Where the far end just stops carrying both forms are twice the mean.
    edge = 2 * mean / (1e13 * 0.02)
    assert edge_pressure(500.0, 0.025, 0.02, edge) == pytest.approx(2 * mean)
    assert edge_pressure(500.0, 0.025, 0.02, edge * (1 + 1e-9)) == pytest.approx(2 * mean)


def test_wear_is_proportional_to_pressure_way_and_rate() -> None:
    # 1e-16 m3/(N m), 2 MPa, 36 km: 1e-16 x 2e6 x 36e3.
    assert worn(1e-16, 2e6 * 0.1, 360e3) == pytest.approx(7.2e-6)


def test_a_shaft_takes_the_next_bore_and_all_its_lengths() -> None:
    rows = [r for r in ROWS if r.system == "metric" and r.kind == "dry"]
    found = of_shaft(rows, 0.0254)
    assert {r.bore for r in found} == {0.028}
    assert [r.length for r in found] == sorted(r.length for r in rows if r.bore == 0.028)
    assert {r.bore for r in of_shaft(rows, 0.025)} == {0.025}
    assert of_shaft(rows, 0.2) == ()


def test_the_catalogue_says_where_each_row_is_from_and_has_both_systems_and_kinds() -> None:
    assert {(r.system, r.kind) for r in ROWS} == {
        (s, k) for s in ("metric", "inch") for k in ("dry", "oil-filled")
    }
    for r in ROWS:
        assert r.outside > r.bore
        assert any(word in r.source for word in ("read", "memory", "common practice", "assumption"))
        # Nothing is known of how fast oil-filled bronze wears.
        assert (r.wear is None) == (r.kind == "oil-filled")
        assert not math.isnan(r.pv)
