"""Figures of single load cases and of what tames a piece: that they show what they were given."""

from dataclasses import replace

import numpy as np
import pytest
from examples import MANTA

from analysis.figures.cases import chain_tensions, gust_speeds
from analysis.figures.tamed import SHOWN, tamed, with_disc
from analysis.questions import closed
from models.loading import changed, load
from sim.builders import Linkage
from sim.identity import canonical
from sim.run import Channel, Run, extrema
from sim.whole import holding_torque

WIND = 25.0


@pytest.fixture(scope="module")
def manta() -> Linkage:
    return closed(load(MANTA))


def run_of(
    linkage: Linkage, case: str, scenario: dict[str, object], channels: dict[str, Channel], time
) -> Run:
    return Run(
        id="0123456789ab", sculpture=linkage.mechanism.name, case=case, label=f"{case} made by hand",
        scenario=scenario, settings={}, versions={}, description=canonical(linkage.mechanism), text="",
        status="finished", reason="", rested=False, time=time, channels=channels,
        extrema=extrema(channels, time, np.zeros(len(time))), peaks=(),
    )  # fmt: skip


def blown(linkage: Linkage, toward: float, speed: float) -> Run:
    time = np.linspace(0, 10, 101)
    wheel = speed * np.sin(np.pi * time / 10)
    channels = {"angles/wheel/speed": Channel(wheel, "rad/s", "wheel")}
    return run_of(linkage, "gust", {"wind": WIND, "direction": toward}, channels, time)


def words(figure) -> str:
    figure.canvas.draw()
    found = [t.get_text() for t in figure.texts]
    for ax in figure.axes:
        found += [t.get_text() for t in ax.texts] + [
            ax.get_title(loc="left"),
            ax.get_xlabel(),
            ax.get_ylabel(),
        ]
        found += [t.get_text() for t in ax.get_legend().get_texts()] if ax.get_legend() else []
    return "\n".join(found)


def inside(figure) -> None:
    """Check that no text of a figure runs over its edge."""
    figure.canvas.draw()
    drawer = figure.canvas.get_renderer()
    width, height = figure.canvas.get_width_height()
    texts = [*figure.texts]
    for ax in figure.axes:
        texts += [*ax.texts, ax.title, ax._left_title, ax.xaxis.label, ax.yaxis.label]
        texts += [*ax.get_xticklabels(), *ax.get_yticklabels()]
        texts += ax.get_legend().get_texts() if ax.get_legend() else []
    for text in (t for t in texts if t.get_text() and t.get_visible()):
        box = text.get_window_extent(drawer)
        assert box.x0 >= 0, text.get_text()
        assert box.y0 >= 0, text.get_text()
        assert box.x1 <= width, text.get_text()
        assert box.y1 <= height, text.get_text()


def test_gusts_show_speed_over_time_and_peak_by_direction(manta: Linkage) -> None:
    given = [blown(manta, np.radians(a), s) for a, s in ((0, 2.0), (90, -5.0), (180, 1.0))]
    figure = gust_speeds(given)
    over, rose = figure.axes
    curves = [line for line in over.lines if len(line.get_ydata()) > 10]
    # Rim speed is the wheel's times .38 m (read from the description).
    assert [float(np.abs(c.get_ydata()).max()) for c in curves] == pytest.approx([0.76, 1.9, 0.38])
    ((around, sizes),) = [line.get_data() for line in rose.lines]
    assert np.degrees(around) == pytest.approx([0, 90, 180, 0])
    assert sizes == pytest.approx([0.76, 1.9, 0.38, 0.76])
    assert "25 m/s" in words(figure)
    assert "does not stir" not in words(figure)
    inside(figure)


def test_eight_gusts_are_told_apart(manta: Linkage) -> None:
    figure = gust_speeds([blown(manta, np.radians(45 * k), 1.0 + k) for k in range(8)])
    curves = [line for line in figure.axes[0].lines if len(line.get_ydata()) > 10]
    assert len({(c.get_color(), str(c._unscaled_dash_pattern)) for c in curves}) == 8
    inside(figure)


def test_a_wheel_that_stands_in_every_gust_is_said_to(manta: Linkage) -> None:
    figure = gust_speeds([blown(manta, 0.0, 1e-4), blown(manta, 1.0, 0.0)])
    assert "the wheel does not stir" in words(figure)
    inside(figure)


def test_gusts_without_runs(manta: Linkage) -> None:
    with pytest.raises(ValueError, match="no run of a gust"):
        gust_speeds([replace(blown(manta, 0.0, 1.0), case="turn")])


def pulled(linkage: Linkage, *, slack: bool) -> Run:
    time = np.linspace(0, 4, 801)
    hit = 300 * np.exp(-(((time - 2) / 0.02) ** 2))
    steady = np.full(len(time), 40.0)
    channels: dict[str, Channel] = {}
    for k, (a, b) in {1: (steady, hit), 2: (hit / 2, 0 * time)}.items():
        for strand, tension in (("a", a), ("b", b)):
            name = f"chains/stage {k} chain"
            channels[f"{name}/tension {strand}"] = Channel(tension, "N", "tension")
            taken = tension if slack and tension.max() > 100 else 0 * time
            channels[f"{name}/impact {strand}"] = Channel(taken, "N", "impact")
    return run_of(linkage, "let-go", {"speed": 1.0, "release": 0.0}, channels, time)


def test_chains_are_shown_around_their_hardest_pull_with_both_strands(manta: Linkage) -> None:
    figure = chain_tensions(pulled(manta, slack=True), 0.2)
    first, second = figure.axes
    for ax, peak in ((first, 300.0), (second, 150.0)):
        assert ax.get_xlim() == pytest.approx((1.8, 2.2))
        strands = [line for line in ax.lines if len(line.get_ydata()) > 10]
        assert len(strands) == 2
        assert max(float(np.max(s.get_ydata())) for s in strands) == pytest.approx(peak)
        assert all(np.abs(np.asarray(s.get_xdata()) - 2).max() <= 0.2 for s in strands)
        assert len({str(s._unscaled_dash_pattern) for s in strands}) == 2
    said = words(figure)
    assert "300 N in strand b, as its slack is taken up" in said
    assert "150 N in strand a, as its slack is taken up" in said
    inside(figure)


def test_a_pull_without_slack_is_not_called_a_take_up(manta: Linkage) -> None:
    said = words(chain_tensions(pulled(manta, slack=False)))
    assert "300 N in strand b, without slack before it" in said


def test_chains_of_a_piece_without(manta: Linkage) -> None:
    with pytest.raises(ValueError, match="has no chain"):
        chain_tensions(blown(manta, 0.0, 1.0))


def test_the_tamed_figure_shows_what_the_closed_form_gives(manta: Linkage) -> None:
    moth = load(MANTA.with_name("moth.toml"))
    wheeled = with_disc(moth, load(MANTA))
    handle, disc = closed(moth), closed(wheeled)
    assert disc.mechanism.wheel.kind == "disc"
    assert disc.mechanism.wheel.radius == manta.mechanism.wheel.radius
    assert disc.mechanism.wheel.height == handle.mechanism.wheel.height
    bare = closed(changed(load(MANTA), {"crank.counterweight": []}))
    time = np.linspace(0, 6, 601)
    gone = tuple(
        run_of(x, "let-go", {}, {"angles/wheel/speed": Channel(top * np.sin(time), "rad/s", "wheel")}, time)
        for x, top in ((handle, 40.0), (disc, 4.0))
    )
    figure = tamed(handle, disc, (gone[0], gone[1]), manta, bare)
    kick, speed, torque = figure.axes
    turn = np.linspace(0, 2 * np.pi, 721)
    drawn = [
        [line.get_ydata() for line in ax.lines if len(line.get_ydata()) > 10] for ax in (kick, speed, torque)
    ]
    # Handle .22 m, disc .38 m (read from the descriptions).
    assert drawn[0][0] == pytest.approx(holding_torque(handle, turn) / 0.22)
    assert drawn[0][1] == pytest.approx(holding_torque(disc, turn) / 0.38)
    assert np.abs(drawn[0][1]).max() < 0.7 * np.abs(drawn[0][0]).max()
    assert [float(d.max()) for d in drawn[1]] == pytest.approx([8.8, 1.52], rel=1e-4)  # sampled 1/100 s apart
    assert speed.get_xlim() == (0, SHOWN)
    assert drawn[2] == [pytest.approx(holding_torque(x, turn)) for x in (bare, manta)]
    assert np.abs(drawn[2][1]).max() < np.abs(drawn[2][0]).max()
    inside(figure)
