"""Bars in stock for a crankshaft: what is chosen holds, and the next thinner breaks what is named."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from analysis import shaft_stock, shaft_strength
from analysis.shaft_limits import deflection_limit, slope_limit
from analysis.shaft_strength import WELD
from analysis.strength.stock import Choice
from models.loading import load
from models.mechanism import Mechanism
from models.resolve import mechanism
from models.stock import shaft_stock as sizes_of
from sim.builders import Linkage, linkage
from sim.shaft.loading import standing_still

MODELS = Path(__file__).parents[2] / "models"


def settled(name: str = "moth", **changes: Any) -> Mechanism:
    """Settle an example; `crank__pin` stands for `crank.pin`."""
    named = {field.replace("__", "."): value for field, value in changes.items()}
    return mechanism(load(MODELS / f"{name}.toml", named))


def with_bars(shaft: str, pin: str, **further: Any) -> Linkage:
    """Give the moth with other bars in its own bushes, which are as long as its own shaft is thick."""
    bushes = [{"out": place, "length": "25.4 mm"} for place in ("150 mm", "330 mm")]
    return linkage(settled(crank__shaft=shaft, crank__pin=pin, crank__bearings=bushes, **further))


def failing(closed: Linkage) -> set[str]:
    """Name what a moth fails, found without the choice: by its findings, its slopes and its deflections."""
    m, found = closed.mechanism, set[str]()
    found |= {f.what for f in shaft_strength.of_linkage(closed) if f.beyond}
    shape = standing_still(closed.sides[0], m).shape()
    side, crank = shape.crank.side, shape.crank
    for k, s in enumerate(side.crank.stations, 1):
        if shape.slope(crank.node(f"bearing {k}")).max() > slope_limit(side, s).value:
            found.add(f"slope in bearing {k}")
    for label in ("mid-span", "throw of panel 'wing'"):
        for station in crank.stations:
            moved = np.linalg.norm(shape.deflection(station.node)[:, [0, 2]], axis=1).max()
            if station.label == label and moved > deflection_limit(m, side, station.out).value:
                found.add("deflection")
    return found


@pytest.mark.parametrize("system", ["metric", "inch"])
def test_the_bars_chosen_hold_and_the_next_thinner_break_what_is_named(system: Any) -> None:
    found = shaft_stock.bars(with_bars("25.4 mm", "12 mm"), system)
    shaft, pin = found.with_it, found.together
    assert shaft.size is not None
    assert shaft.smaller is not None
    assert pin is not None
    assert failing(with_bars(shaft.size.label, pin.label)) == set()
    lost = failing(with_bars(shaft.smaller.label, pin.label))
    assert shaft.governs in lost
    assert lost == {name for name, m in shaft.smaller_margins.items() if m < 0}
    stock = sizes_of(system)
    thinner = stock[stock.index(pin) - 1]
    assert found.governs == "welds on the pins"
    assert all(WELD in failing(with_bars(s.label, thinner.label)) for s in stock if 0.015 < s.diameter < 0.05)


def test_with_pins_as_they_are_no_shaft_will_do() -> None:
    found = shaft_stock.bars(with_bars("25.4 mm", "12 mm"), "metric")
    assert found.shaft.size is None
    assert found.shaft.governs == "welds on the pins"
    assert found.pin.size == found.together
    assert isinstance(found.pin, Choice)


def test_better_welds_need_thinner_bars_and_heavier_loads_thicker_ones() -> None:
    def pin(**changes: Any) -> float:
        chosen = shaft_stock.bars(with_bars("25.4 mm", "12 mm", **changes), "metric").together
        assert chosen is not None
        return chosen.diameter

    usual = pin()
    assert pin(crank__weld__toe="EN toe", crank__weld__partial=1.0) < usual
    assert pin(panel__wing__thickness="5 mm", crank__web__thickness="20 mm") > usual


def test_webs_that_are_too_weak_are_named() -> None:
    thin = linkage(settled("moth", crank__web__thickness="4 mm"))
    found = shaft_stock.bars(thin, "metric")
    assert found.together is None
    assert found.governs == found.with_it.governs != ""
    (finding, _) = shaft_stock.of_linkage(thin)
    assert finding.what == shaft_stock.NONE
    assert "not even the thickest" in finding.note


def test_webs_without_room_for_any_bar_are_refused() -> None:
    with pytest.raises(ValueError, match="widen them"):
        shaft_stock.bars(linkage(settled("moth", crank__web__width="8 mm")), "metric")


def test_the_manta_runs_in_bearings_that_align_themselves() -> None:
    closed = linkage(settled("manta"))
    found = shaft_stock.of_linkage(closed)
    assert [f.what for f in found] == 2 * [shaft_stock.SHAFT, shaft_stock.PIN]
    assert all("self-aligning" in f.note for f in found)
    assert found[0].value > 0.02
    assert found[1].value > 0.012
