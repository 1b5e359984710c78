"""Chains by strength: what is asked of a size, and which one the demo takes."""

import math
from dataclasses import replace

import pytest
from parts_basis import demo

from analysis.parts import chain_run, chains
from analysis.parts.chains import Asked, Pull, checks, notes, plate_pull
from models.drive import DriveShaft, Stage
from models.parts.catalogue import catalogue
from models.parts.chains import CHAINS, of_pitch, overlength
from models.parts.sprockets import largest_bore, largest_hub, root_diameter

ROWS = {c.size: c for c in catalogue(CHAINS)}
SHAFT = DriveShaft((-0.1, 0.1), 0.0254)
STAGE = Stage(
    kind="chain", driver=15, driven=45, pitch=0.0127, width=0.0072, centres=0.6, links=None, slack=None, sideways=None,
    tight=0.0, tensioner=None, rigidity=955e3, damping=5.0, weight=0.62, efficiency=0.98, chordal=False, out=0.0,
    shaft=SHAFT, slips=(None, None),
)  # fmt: skip
ASKED = Asked(
    number=1, stage=STAGE, used=Pull(1000.0, "turn", 0.0), met=Pull(1500.0, "gust", None),
    bound=Pull(6000.0, "blocked", None), hung=2.0, speed=0.1, turning=math.pi, shafts=(SHAFT, SHAFT), margin=1.5,
    gravity=9.81,
)  # fmt: skip


def found(size: str, asked: Asked = ASKED) -> dict[str, tuple[float, float]]:
    return {c.what: (c.demand, c.allowed) for c in checks(asked, ROWS[size])}


def test_pull_and_what_is_allowed() -> None:
    got = found("40")
    hung = ROWS["40"].mass * (9.81 * 2.0 + 0.1**2)
    strength = ROWS["40"].strength
    assert got["pull in use"] == pytest.approx((1000 + hung, strength / 9))
    assert got["worst pull met"] == pytest.approx((1500 + hung, strength / 7))
    assert got["pull with a panel blocked, upper bound"] == pytest.approx((6000 + hung, strength / 2))
    dynamic = ROWS["40"].dynamic
    assert dynamic is not None
    assert got["pull in use against fatigue"] == pytest.approx((1000 + hung, dynamic / 1.5))
    assert got["pull in use by its power rating"][1] == pytest.approx(plate_pull(15, math.pi, 0.0127) / 1.5)


def test_the_pull_falls_as_the_pitch_grows() -> None:
    # The same torque on the same teeth of half as large a pitch pulls twice as hard.
    small, large = found("25")["pull in use"][0], found("40")["pull in use"][0]
    assert small == pytest.approx(2000, rel=0.01)
    assert large == pytest.approx(1000, rel=0.02)


def test_what_no_run_tells_is_not_asked() -> None:
    got = found("40", replace(ASKED, used=None, met=None, bound=None))
    assert set(got) == {"shaft in the 15-tooth sprocket's bore", "shaft in the 45-tooth sprocket's bore"}


def test_metric_chains_have_no_power_rating() -> None:
    assert "pull in use by its power rating" not in found("08B")


def test_notes() -> None:
    plain = notes(ASKED, False)
    assert any("nothing limits its pull" in n for n in plain)
    assert not any("nothing limits" in n for n in notes(ASKED, True))
    assert not any("rare" in n or "offset link" in n for n in plain)
    steep = notes(replace(ASKED, stage=replace(STAGE, driven=90)), True)
    assert any(n.startswith("6 to 1 in one stage is rare") for n in steep)
    strange = notes(replace(ASKED, stage=replace(STAGE, pitch=0.015)), True)
    assert any("15 mm (0.591 in) is no pitch" in n for n in strange)
    assert not any("is no pitch" in n for n in plain)
    odd = notes(replace(ASKED, stage=replace(STAGE, links=125)), True)
    assert any("offset link is the weak one" in n for n in odd)
    assert any("nothing is said of working pull" in n for n in notes(replace(ASKED, used=None), True))


def test_of_pitch() -> None:
    assert [c.size for c in of_pitch(0.0127)] == ["40", "08B"]
    assert [c.size for c in of_pitch(0.00953)] == ["35", "06B"]
    assert of_pitch(0.03) == ()


def test_overlength() -> None:
    share, source = overlength(0.0127)
    assert share == pytest.approx(0.019 / 12)
    assert "ASME B29.1 table, read" in source
    assert overlength(0.0254) == (0.0015, "+0.15 %, never shorter, chain 16B; ISO 606, memory")
    assert "assumption" in overlength(0.03)[1]


def test_room_for_a_shaft() -> None:
    # The hub stays within the plates, which reach half their height into the pitch polygon's flats.
    assert largest_bore(15, 0.0127) < largest_hub(15, 0.0127) < root_diameter(15, 0.0127, ROWS["40"].roller)
    flats = 0.0127 / math.tan(math.pi / 15)
    assert largest_hub(15, 0.0127) == pytest.approx(flats - 0.0127 - 0.03 * 0.0254)
    assert largest_hub(5, 0.003) == pytest.approx(0.003 * (1 / math.tan(math.pi / 5) - 1) - 0.03 * 0.0254)


def test_chains_of_the_demo() -> None:
    basis = demo()
    lines = {(x.where, x.system): x for x in chains.lines(basis)}
    assert {x.family for x in lines.values()} == {"chain"}
    for (where, system), line in lines.items():
        assert line.chosen is not None
        assert line.described is not None
        assert line.described.size == ("40" if system == "inch" else "08B")
        assert line.chosen.size == line.described.size
        assert line.nearest is not None
        assert line.nearest.size == ("35" if system == "inch" else "06B")
        assert where.startswith("stage ")
    assert {w for w, _ in lines} == {"stage 1 chain", "stage 2 chain"}
    first = lines["stage 1 chain", "inch"]
    assert first.governs is not None
    assert first.governs.what == "shaft in the 13-tooth sprocket's bore"
    assert any("torque limiter" in n for n in first.notes)
    # So many turns of the wheel a second, on 13 teeth of 12.7 mm.
    turns = basis.mechanism.use.speed / math.tau
    assert chains.asked(basis, 1).speed == pytest.approx(turns * 13 * 0.0127)
    assert chains.asked(basis, 2).speed == pytest.approx(turns * 13 / 38 * 15 * 0.0127)
    (table,) = chains.tables(basis)
    assert [r[2] for r in table.rows[1:]] == ["13", "38", "15", "40"]


def test_runs_of_the_demo() -> None:
    basis = demo()
    first, second = chain_run.lines(basis)
    assert first.chosen is None
    assert {f.what.split(",")[0] for f in first.findings if f.beyond} == {
        "movement at mid-span of a new chain at full tolerance",
        "chain to take up until worn out",
        "drop below the lower sprocket",
    }
    # Links on exact centres leave nothing for holes that are off.
    assert any(f.beyond and f.what.startswith("chain short") for f in second.findings)
    stages = chain_run.tables(basis)
    assert [t.title for t in stages] == [
        "Stage 1 chain: slack of the run",
        "Stage 2 chain: slack of the run",
        "Lost motion of the wheel on reversing",
    ]
    for table in stages:
        assert {len(r) for r in table.rows} == {len(table.rows[0])}
    assert stages[0].rows[0] == ("", "as described", "1 m", "2 m", "3 m", "4 m")
    links = next(r for r in stages[0].rows if r[0] == "links")
    assert links[1:] == ("412", "184", "340", "498", "656")
    # On exact centres a chain of nominal length holds; one at half its tolerance does not, whatever the run.
    fixed = next(r for r in stages[0].rows if r[0].startswith("fixed centres"))
    assert fixed[1].startswith("FAILS, FAILS, FAILS")
    assert all(cell.startswith("holds, FAILS, FAILS") for cell in fixed[2:])
    # Nor for a level drive that does not reverse, which may move twice as far.
    loose = next(r for r in stages[0].rows if r[0].startswith("against 2 % to one side"))
    assert all(cell.startswith("holds, FAILS, FAILS") for cell in loose[2:])


def test_a_piece_without_chains() -> None:
    basis = demo("moth")
    assert all(s.kind != "chain" for s in basis.mechanism.stages)
    assert chains.lines(basis) == ()
    assert chains.tables(basis) == ()
    assert chain_run.lines(basis) == ()
    assert chain_run.tables(basis) == ()
