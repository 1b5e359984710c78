"""Figures of a crankshaft: that they show what bends, and say how much larger it is drawn."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

from analysis.figures.shaft import along, scale, shaft_shape, whip_orbit
from analysis.figures.shaft_loads import centre_bearing, shaft_loads
from models.loading import changed, load
from models.mechanism import Station
from models.resolve import mechanism
from sim.builders import linkage
from sim.shaft.loading import Loading, standing_still
from sim.shaft.stress import equivalent

MODELS = Path(__file__).parents[2] / "models"


def still(name: str, side: int = 0, **values: object) -> Loading:
    changes = {key.replace("__", "."): value for key, value in values.items()}
    closed = linkage(mechanism(changed(load(MODELS / f"{name}.toml"), changes)))
    return standing_still(closed.sides[side], closed.mechanism)


def texts(figure: Figure) -> str:
    found = [t.get_text() for t in figure.texts]
    for ax in figure.axes:
        found += [
            ax.get_title(loc="left"),
            ax.get_xlabel(),
            ax.get_ylabel(),
            *(t.get_text() for t in ax.texts),
        ]
        if ax.get_legend() is not None:
            found += [t.get_text() for t in ax.get_legend().get_texts()]
    return "\n".join(found)


@pytest.mark.parametrize(
    ("largest", "room", "factor"),
    [
        (4.3e-3, 0.091, 20),
        (0.0, 1.0, 1),
        (0.2, 0.1, 1),
        (1e-3, 1e-2, 10),
        (1.9e-4, 0.03, 100),
        (1e-3, 0.0099, 5),
    ],
)
def test_scales_are_round(largest: float, room: float, factor: int) -> None:
    assert scale(largest, room) == factor


def test_the_bent_line_runs_through_the_nodes_and_turns_with_them() -> None:
    shape = still("manta").shape()
    for member in shape.crank.frame.members:
        line = along(shape, member, 40, 3.0)
        for at, node in ((0, member.a), (-1, member.b)):
            moved = shape.moved[40, 6 * node : 6 * node + 3]
            assert line[at] == pytest.approx(shape.crank.frame.nodes[node] + 3 * moved, abs=1e-15)
    # A cubic is the bent bar itself where nothing loads it between its ends: its middle lies on the frame's own cut.
    coarse = still("manta")
    fine = replace(
        coarse, side=replace(coarse.side, crank=replace(coarse.side.crank, elements=16)), gravity=0.0
    )
    rough = replace(coarse, gravity=0.0).shape()
    bar = next(m for m in rough.crank.frame.members if m.name == "shaft" and m.length > 0.065)
    middle = along(rough, bar, 40, 1.0)[4]
    cut = fine.shape()
    node = int(
        np.argmin(
            np.linalg.norm(cut.crank.frame.nodes - (rough.crank.frame.nodes[[bar.a, bar.b]].mean(0)), axis=1)
        )
    )
    assert cut.crank.frame.nodes[node] == pytest.approx(rough.crank.frame.nodes[[bar.a, bar.b]].mean(0))
    # Shear bends no cubic: it is a hundredth of the sag between two nodes here, and the sag a hundredth of it all.
    assert middle == pytest.approx(
        cut.crank.frame.nodes[node] + cut.moved[40, 6 * node : 6 * node + 3], abs=2e-7
    )


def test_the_shape_says_where_when_and_how_much_larger() -> None:
    loading = still("manta")
    said = texts(shaft_shape(loading, "standing still"))
    assert "4.3 mm at the pin of 'outer'" in said
    assert "deflections drawn 20 times as large" in said
    assert "crank angle 314 deg" in said
    for words in (
        "seen from the front",
        "seen from below",
        "coupling's end",
        "bearing, numbered",
        "inner",
        "outer",
    ):
        assert words in said
    assert "seen from behind" in texts(shaft_shape(still("manta", side=1), "standing still"))


def test_the_drawn_deflection_is_the_factor_times_the_true_one() -> None:
    loading = still("moth")
    shape = loading.shape()
    figure = shaft_shape(loading, "x")
    node = shape.crank.node("inner end")
    moved = np.stack([shape.deflection(k) for k in range(len(shape.crank.on_shaft))], 1)
    n = int(np.argmax(np.hypot(moved[:, :, 0], moved[:, :, 2]).max(axis=1)))
    bent = next(line for line in figure.axes[0].lines if line.get_label() == "bent, drawn larger")
    assert bent.get_ydata()[0] == pytest.approx(100 * 1000 * moved[n, node, 2])


def test_paths_are_those_of_the_nodes() -> None:
    loading = still("manta", crank__runout="2 mm")
    shape = loading.shape()
    figure = whip_orbit(loading, "standing still")
    assert [ax.get_title(loc="left") for ax in figure.axes] == [
        "mid-span", "throw of panel 'inner'", "throw of panel 'outer'"
    ]  # fmt: skip
    limits = {(ax.get_xlim(), ax.get_ylim()) for ax in figure.axes}
    assert len(limits) == 1  # one scale
    path = next(line for line in figure.axes[0].lines if line.get_label().startswith("shaft;"))
    middle = 1000 * shape.deflection(shape.crank.node("mid-span"))
    assert path.get_ydata() == pytest.approx(middle[:, 2])
    circle = next(line for line in figure.axes[0].lines if line.get_label().startswith("turns"))
    assert np.hypot(circle.get_xdata(), circle.get_ydata()) == pytest.approx(np.full(181, 1.0))
    assert len(whip_orbit(still("moth"), "x").axes) == 1


def test_moments_and_stress_along_the_shaft_reach_from_least_to_most() -> None:
    loading = still("manta")
    shape = loading.shape()
    figure = shaft_loads(loading, "standing still")
    stress = equivalent(shape.crank.frame.members, shape.end_loads) / 1e6
    drawn = max(float(np.max(line.get_ydata())) for line in figure.axes[2].lines[:-1])
    assert drawn == pytest.approx(stress.max())
    pins = [k for k, m in enumerate(shape.crank.frame.members) if m.name.startswith("pin of panel 'outer'")]
    tops = [float(np.max(line.get_ydata())) for line in figure.axes[2].lines]
    assert any(top == pytest.approx(stress[:, pins].max()) for top in tops)
    said = texts(figure)
    for words in ("bars", "crank pins", "webs, shaft to pin", "bearing 2", "A36 steel yields at 250 MPa"):
        assert words in said


def test_both_shafts_are_drawn_to_one_scale() -> None:
    loading = still("manta")
    figure = centre_bearing(loading, "standing still")
    without, with_ = figure.axes
    assert without.get_ylim() == with_.get_ylim()
    assert without.get_title(loc="left") == "without\nshaft 2.6 mm at most"
    assert with_.get_title(loc="left") == "with a centre bearing at 590 mm\nshaft 0.54 mm at most"
    third = replace(loading.side.crank, stations=(*loading.side.crank.stations, Station(0.6, "arm", None)))
    own = texts(centre_bearing(replace(loading, side=replace(loading.side, crank=third)), "x"))
    assert "as described" in own
    short = replace(loading.side.crank, stations=(Station(0.34, "arm", None), Station(0.36, "arm", None)))
    with pytest.raises(ValueError, match="no bar"):
        centre_bearing(replace(loading, side=replace(loading.side, crank=short)), "x")
