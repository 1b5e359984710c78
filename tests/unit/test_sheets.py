"""The four sheets: well formed, nothing from outside, what a description says escaped, the findings' figures."""

import base64
import hashlib
import math
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from sheets_facts import MODELS, facts, of

from analysis import chain_fit, masses, study
from analysis.commands import run as command
from analysis.parts.basis import Basis
from analysis.parts.choice import Check, Line, Sizing, Table
from analysis.parts.hinges import BOLT
from analysis.schedule import Schedule, schedule
from analysis.shafts import shafts
from analysis.sheets import poses
from analysis.sheets.engineer import BASE, BEARINGS, CASES, engineer, line_table
from analysis.sheets.facts import Facts, size, turned
from analysis.sheets.layout import Blanks, Drawing, Listing, Sheet, Words, css_text, dotted, html
from analysis.sheets.maintenance import MEASURED, OFTEN, maintenance
from analysis.sheets.rigger import CENTRES, LIFTS, MASSES, SLINGS, TIES, rigger
from analysis.sheets.shop import shop
from analysis.sheets.shop_panels import CORNERS, HOLES, PANELS
from analysis.sheets.shop_shaft import BARS, KEYWAYS, WEBS, WEIGHTS, arm_free, bars  # fmt: skip
from analysis.sheets.shop_shaft import BEARINGS as PLACES
from analysis.sheets.shop_wheel import BOLTS, LINKS, PIECES, RIM, SPROCKETS, TUBES
from analysis.sheets.writing import sheets, write_sheets
from analysis.structure import tipping
from analysis.summary import CAUTIONS
from models.cases import cases
from models.loading import DescriptionError, changed, load, loads
from models.sculpture import Sculpture
from models.shown import shown
from sim import names
from sim.mass import crank_pieces
from sim.sprocket import pitch_radius
from sim.whole import centre_of_gravity

HOSTILE = "</style><script>alert(1)</script>\"&'${x}\\}$_^".replace("/", "").replace("\\", "")
"""As bad as a name may be: dots and slashes are refused by the schema."""
VOID = ("meta", "br", "wbr", "link", "img", "hr", "input", "source")


class Reader(HTMLParser):
    """Reads a page, keeps its tags and texts, and notes what is not closed."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.faults: list[str] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        self.faults += self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}>")

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] != "style":
            self.words.append(data)


@pytest.fixture(scope="module")
def manta() -> Facts:
    return facts()


@pytest.fixture(scope="module")
def pages(manta: Facts) -> dict[str, str]:
    return {s.name: html(s) for s in sheets(manta)}


def rows(sheet: Sheet, title: str) -> dict[str, tuple[str, ...]]:
    """Rows of a table by their first cell."""
    return {r[0]: r[1:] for r in sheet.tables[title].rows[1:]}


def millimetres(words: str) -> list[float]:
    return [float(x.replace("−", "-")) for x in re.findall(r"([−0-9.]+)\N{NO-BREAK SPACE}mm", words)]


# --- The pages ---


def test_pages_are_well_formed_and_fetch_nothing(pages: dict[str, str]) -> None:
    assert list(pages) == ["engineer", "rigger", "shop", "maintenance"]
    for text in pages.values():
        page = Reader(text)
        assert page.faults == []
        assert "http:" not in text
        assert "https:" not in text
        assert {tag for tag, _ in page.tags} & {
            "script",
            "link",
            "img",
            "iframe",
            "object",
            "form",
            "a",
        } == set()
        for tag, attrs in page.tags:
            assert "style" not in attrs  # the policy would refuse it
            assert not [a for a in attrs if a.startswith("on")], tag
            assert str(attrs.get("href", "#")).startswith("#")
        ids = [str(a["id"]) for _, a in page.tags if "id" in a]
        assert len(ids) == len(set(ids))
        used = re.findall(r"url\(#([^)]+)\)", text) + [
            str(a["href"])[1:] for _, a in page.tags if "href" in a
        ]
        assert set(used) <= set(ids)


def test_the_policy_allows_the_pages_own_style_and_nothing_else(pages: dict[str, str]) -> None:
    for text in pages.values():
        styles = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
        assert len(styles) == text.count("<style") == 1
        digest = base64.b64encode(hashlib.sha256(styles[0].encode()).digest()).decode()
        (policy,) = (
            a["content"] for t, a in Reader(text).tags if a.get("http-equiv") == "Content-Security-Policy"
        )
        assert (
            policy == f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
        )
        assert text.index("Content-Security-Policy") < text.index("<style")


def test_pages_print_with_repeated_headings_and_whole_rows(pages: dict[str, str]) -> None:
    for text in pages.values():
        assert "@page" in text
        assert re.search(r"thead \{ display: table-header-group", text)
        assert re.search(r"tr \{ break-inside: avoid", text)
        page = Reader(text)
        tables = [t for t, _ in page.tags if t == "table"]
        assert tables
        assert len(tables) == len([t for t, _ in page.tags if t == "thead"])


def test_the_same_piece_gives_the_same_pages_without_a_date(manta: Facts, pages: dict[str, str]) -> None:
    assert {s.name: html(s) for s in sheets(manta)} == pages
    assert not [t for t in pages.values() if re.search(r"\b20[0-9]{2}-[0-9]{2}-[0-9]{2}\b", t)]


def test_every_sheet_has_units_cautions_what_is_assumed_and_what_is_not_covered(manta: Facts) -> None:
    for sheet in sheets(manta):
        lists = {b.title: b.items for b in sheet.blocks if isinstance(b, Listing)}
        assert lists["Cautions"] == CAUTIONS
        assert any("origin" in line for line in lists["Units and axes"])
        covered = " ".join(lists["Not covered"])
        assert "earthquake" in covered
        assert "local codes" in covered
        assumed = sheet.tables["Assumed, since the description does not say"]
        assert (
            "crank.runout",
            "0 mm (0 in)",
            "assumption; measure it",
        ) in assumed.rows


def test_rows_are_as_long_as_their_headings(manta: Facts) -> None:
    for f in (manta, facts("moth"), facts(changes=(("sides", 1),))):
        for sheet in sheets(f):
            titles = [b.title for b in sheet.blocks]
            assert len(titles) == len(set(titles))
            for table in sheet.tables.values():
                assert {len(r) for r in table.rows} == {len(table.rows[0])}, table.title
                assert len(table.rows) > 1, table.title


def test_a_hostile_name_stays_a_name() -> None:
    made = facts(changes=(("name", HOSTILE), ("wheel.hub.bolts", 4), ("wheel.hub.circle", "60 mm")))
    for sheet in sheets(made):
        text = html(sheet)
        page = Reader(text)
        assert page.faults == []
        assert "script" not in {t for t, _ in page.tags}
        assert HOSTILE in page.words  # and is shown as it is written
        assert HOSTILE not in text.split("<body>")[1]


def test_a_hostile_panel_is_drawn_and_written() -> None:
    document = load(MODELS / "moth.toml").source.text.replace('name = "wing"', f"name = '''{HOSTILE}'''")
    assert HOSTILE in document
    for sheet in sheets(of(loads(document, "hostile.toml"), ("gust-locked",))):
        page = Reader(html(sheet))
        assert page.faults == []
        assert "script" not in {t for t, _ in page.tags}


def test_words_for_a_style_sheet_cannot_leave_their_text() -> None:
    assert css_text("Moth 3: a") == r"Moth\0000203\00003a\000020a"
    assert re.fullmatch(r"(?:[A-Za-z0-9]|\\[0-9a-f]{6})*", css_text(HOSTILE + "é\n\"'\\</style>"))


def test_dotted_names_may_break_and_numbers_may_not() -> None:
    assert dotted("crank.web.gap") == "crank.<wbr>web.<wbr>gap"
    assert dotted("25.4 mm, a. b, .5") == "25.4 mm, a. b, .5"
    assert dotted("<b>x.y") == "&lt;b&gt;x.<wbr>y"


def test_every_kind_of_block_is_written() -> None:
    blocks = (Words("W", ("one & two",)), Listing("L", ("<i>",), ticked=True), Blanks("B", ("Name",)),
              Table("T", (("a", "b"), ("1", "2")), "noted"), Drawing("D", "<svg></svg>", "below"))  # fmt: skip
    text = html(Sheet("x", "Sheet", "Piece", "purpose", blocks))
    assert Reader(text).faults == []
    for words in (
        "one &amp; two",
        "&lt;i&gt;",
        "<dt>Name</dt>",
        "<td>2</td>",
        "noted",
        "<svg></svg>",
        "below",
    ):
        assert words in text


def test_drawings_have_titles(manta: Facts) -> None:
    drawn = [b for s in sheets(manta) for b in s.blocks if isinstance(b, Drawing)]
    assert len(drawn) >= 8
    for drawing in drawn:
        assert drawing.svg.startswith("<svg ")
        assert re.search(
            r"<svg [^>]*>\s*<title id=\"[^\"]+\">" + re.escape(drawing.title) + "</title>", drawing.svg
        )
        assert "<style" not in drawing.svg
        assert "style=" not in drawing.svg


def test_they_are_written_into_a_folder(manta: Facts, tmp_path) -> None:
    made = write_sheets(manta, tmp_path / "there")
    assert [p.name for p in made] == ["engineer.html", "rigger.html", "shop.html", "maintenance.html"]
    assert made[2].read_text("utf-8").startswith("<!DOCTYPE html>")


def test_the_command_says_what_is_lacking(tmp_path, capsys) -> None:
    lacking = tmp_path / "part.toml"
    lacking.write_text('name = "x"\n', "utf-8")
    assert command(["sheets", str(lacking), "--runs", str(tmp_path / "runs")]) == 2
    assert "needs it" in capsys.readouterr().err
    assert not (tmp_path / "runs").exists()


def test_the_command_studies_and_writes_all_four(tmp_path, capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    # A study of few cases stands in for the whole one, which takes minutes; all else is the command's own.
    def few(sculpture: Sculpture, *, runs: Path, done: object) -> study.Study:
        assert runs == tmp_path / "runs"
        assert callable(done)
        made = study.brief_study(sculpture, only=["gust-locked"], angles=1)
        still = shafts(made.linkage, cases(sculpture), fastest=10.0)
        return replace(made, schedule=schedule(Basis(made.loads, still, made.whip, made.strength)))

    monkeypatch.setattr(study, "study", few)
    line = [
        "sheets",
        str(MODELS / "moth.toml"),
        "--runs",
        str(tmp_path / "runs"),
        "--set",
        "name=\"Named '<b>'\"",
    ]
    assert command(line) == 0
    said = capsys.readouterr().out
    for name in ("engineer", "rigger", "shop", "maintenance"):
        path = tmp_path / "runs" / "moth-sheets" / f"{name}.html"
        assert str(path) in said
        assert "Named &#39;&lt;b&gt;&#39;" in path.read_text("utf-8")
    assert "licensed people" in said


# --- The shop's figures ---


def test_lengths_and_angles_are_written_for_a_saw() -> None:
    assert size(0.4064) == "406.4\N{NO-BREAK SPACE}mm (16.000\N{NO-BREAK SPACE}in)"
    assert size(-1e-9) == "0.0\N{NO-BREAK SPACE}mm (0.000\N{NO-BREAK SPACE}in)"
    assert turned(-math.radians(40)) == "−40.00°"


def test_bars_weigh_what_the_masses_count(manta: Facts) -> None:
    side = manta.mechanism.sides[0]
    made = list(bars(side))
    counted = sum(math.pi / 4 * b.diameter**2 * b.length for b in made) * side.crank.material.density
    webs = 2 * sum(p.throw_radius + 0.05 for p in side.panels) * 0.05 * 0.01 * side.crank.material.density
    whole = sum(p.mass for _, p in crank_pieces(side)) - 4.0 - 0.6  # counterweight and coupling
    assert counted + webs == pytest.approx(whole)
    table = rows(shop(manta), BARS)
    assert millimetres(table["shaft 2"][3]) == [410.0]
    assert millimetres(table["shaft 2"][4]) == [430.0]
    assert millimetres(table["pin of throw 'outer'"][3]) == [50.0]
    assert sum(millimetres(r[3])[0] for r in table.values()) == pytest.approx(760 - 4 * 10)


def test_webs_holes_are_a_throw_apart(manta: Facts) -> None:
    table = rows(shop(manta), WEBS)
    assert millimetres(table["'outer', 2 alike"][1]) == [200.0]
    assert "−40.00° from throw 'inner'" in table["'outer', 2 alike"][3]
    assert millimetres(table["'outer', 2 alike"][4]) == [800.0, 860.0]
    assert "250.0\N{NO-BREAK SPACE}mm" in table["'outer', 2 alike"][0]  # 200 and half of 50 beyond each hole


def test_bearings_are_placed_from_post_and_bar(manta: Facts) -> None:
    table = rows(shop(manta), PLACES)
    inner = manta.mechanism.sides[0].crank.ends[0]
    for row, out in zip(table.values(), (0.25, 0.93), strict=True):
        assert millimetres(row[1]) == [1e3 * out]
        assert millimetres(row[2]) == pytest.approx([1e3 * (out - inner)])


def test_three_bearings_have_the_names_that_their_loads_have() -> None:
    three = facts(changes=(("crank.bearings", ("250 mm", "590 mm", "930 mm")),))
    listed = [r[0] for r in shop(three).tables[PLACES].rows[1:]]
    assert [re.findall("'(.*)'", x)[0] for x in listed] == ["locating bearing", "bearing 3", "radial bearing"]


def test_sprockets_and_links_are_those_of_the_chain_fit(manta: Facts) -> None:
    sheet = shop(manta)
    sprockets = rows(sheet, SPROCKETS)
    assert sprockets["stage 2 driven"][1] == "40"
    for name, teeth in (("stage 1 driver", 13), ("stage 2 driven", 40)):
        assert millimetres(sprockets[name][3])[0] == pytest.approx(
            2e3 * float(pitch_radius(teeth, 0.0127)), abs=0.05
        )
    links = [r for r in sheet.tables[LINKS].rows if r[1] == "links"]
    fits = [f for f in chain_fit.of_mechanism(manta.mechanism) if f.what == "links"]
    assert [(r[0], r[2]) for r in links] == [(f.where, f.shown) for f in fits]
    assert [f.value for f in fits] == [412, 92]


def test_a_rim_of_twelve(manta: Facts) -> None:
    table = rows(shop(manta), RIM)
    assert set(table) == {str(n) for n in PIECES}
    twelve = table["12"]
    assert twelve[0] == "15.00°"
    long = 760 * math.sin(math.radians(15))
    across = 20 * math.tan(math.radians(15))
    assert [millimetres(x)[0] for x in twelve[1:4]] == pytest.approx(
        [long, long + across, long - across], abs=0.06
    )


def test_bolts_are_placed_where_described_and_said_to_lack_where_not() -> None:
    hub = {"mass": "1.5 kg", "diameter": "90 mm"}
    bare = of(changed(load(MODELS / "manta.toml"), {"wheel.hub": hub}), schedule=Schedule((), ()))
    assert "none described" in next(iter(rows(shop(bare), BOLTS)))
    made = facts(changes=(("wheel.hub.bolts", 6), ("wheel.hub.circle", "70 mm")))
    holes = rows(shop(made), BOLTS)
    at = np.array([[millimetres(x)[0] for x in row] for row in holes.values()])
    assert at.shape == (6, 2)
    assert np.linalg.norm(at, axis=1) == pytest.approx(np.full(6, 35.0), abs=0.1)
    assert at[0] == pytest.approx((0, 35))
    assert any("Bolt circle" in b.title for b in shop(made).blocks if isinstance(b, Drawing))


@pytest.mark.parametrize(
    ("hub", "words"),
    [
        ({"mass": "1 kg", "bolts": 6}, "no circle"),
        ({"mass": "1 kg", "circle": "70 mm"}, "without bolts"),
        ({"mass": "1 kg", "diameter": "60 mm", "bolts": 6, "circle": "70 mm"}, "outside the hub"),
    ],
)
def test_bolts_that_cannot_be_are_refused(hub: dict[str, object], words: str) -> None:
    with pytest.raises(DescriptionError, match=words):
        changed(load(MODELS / "manta.toml"), {"wheel.hub": hub})


def test_counterweights_are_cut_for_the_mass_that_is_described(manta: Facts) -> None:
    (title,) = (t for t in shop(manta).tables if t.startswith(WEIGHTS))
    table = rows(shop(manta), title)
    density = manta.mechanism.sides[0].crank.material.density
    for label, thickness in (("20 mm", 0.02), ("3/4 in", 0.01905)):
        edge = 1e-3 * millimetres(table[label][0])[0]
        assert edge**2 * thickness * density == pytest.approx(
            4.0, rel=2e-3
        )  # written to a tenth of a millimetre
        near = 1e-3 * millimetres(table[label][1])[0]
        assert near + edge / 2 == pytest.approx(0.15, abs=1e-4)
        outside = 1e-3 * millimetres(table[label][2])[0]
        chord = 1e-3 * millimetres(table[label][4])[0]
        half = math.acos(chord / outside)
        area = outside**2 * (half - math.sin(half) * math.cos(half))
        assert area * thickness * density == pytest.approx(4.0, rel=5e-3)
        assert 2 / 3 * (outside * math.sin(half)) ** 3 / area == pytest.approx(0.15, rel=5e-3)
    lower = rows(shop(facts(changes=(("arm.up", "-500 mm"),))), title)
    assert lower["6 mm"][0] == "reaches into the shaft"  # a square of 4 kg, 6 mm thick, is .29 m wide


def test_counterweights_that_meet_the_arm_are_not_told_to_be_cut(manta: Facts) -> None:
    # The arm's axis is .3 m under the crank's, its tube 88.9 mm thick: .2556 m are free beside it.
    (title,) = (t for t in shop(manta).tables if t.startswith(WEIGHTS))
    table = rows(shop(manta), title)
    for label, thickness in (("12 mm", 0.012), ("15 mm", 0.015), ("20 mm", 0.02)):
        side = math.sqrt(4.0 / (7850 * thickness))
        sweeps = math.hypot(0.15 + side / 2, side / 2)
        assert (table[label][0] == "reaches the arm") == (sweeps > 0.3 - 0.0889 / 2)
    assert table["15 mm"][:2] == ("reaches the arm", "")
    assert "6 mm" not in table  # its segment sweeps .274 m
    side = manta.mechanism.sides[0]
    assert arm_free(manta.mechanism, side, 0.74) == pytest.approx(0.25555)
    assert arm_free(manta.mechanism, side, 0.94) == math.inf  # beyond its end
    assert arm_free(facts("moth").mechanism, side, 0.74) == math.inf
    heavy = facts(changes=(("crank.counterweight.1.mass", "12 kg"),))
    drawn = next(
        b for b in shop(heavy).blocks if isinstance(b, Drawing) and b.title.startswith("Counterweight")
    )
    assert "The square plate reaches into the shaft: do not cut it so." in drawn.note


def test_panels_areas_masses_and_holes(manta: Facts) -> None:
    sheet = shop(manta)
    panels = rows(sheet, PANELS)
    found = {f.where: f for f in masses.of_linkage(manta.linkage) if f.what == "mass"}
    for name in ("inner", "outer"):
        assert panels[name][-1] == found[f"{name} panel"].shown
    assert panels["inner"][3] == shown((0.8 + 0.62) / 2 * 0.5, "area")
    corners = rows(sheet, f"{CORNERS} 'inner'")
    assert [millimetres(x)[0] for x in corners["3"]] == [360, 500, 620]
    # 496 mm of a 620 mm edge from -260 to 360 mm: groups at -198 and 298 mm, bolts 40 mm apart in each row.
    holes = rows(sheet, f"{HOLES} 'outer'")
    # Both panels are drilled alike: the outer one's hinge line is forward by nothing.
    assert holes["1"][1] == holes["1"][2] == "−218.0, −178.0 mm"
    assert holes["2"][1] == "278.0, 318.0 mm"
    note = sheet.tables[f"{HOLES} 'outer'"].note
    assert "Two rows, 25.0" in note.replace("\N{NO-BREAK SPACE}", " ")
    assert "the rows 475.0" in note.replace("\N{NO-BREAK SPACE}", " ")


def test_holes_of_two_panels_meet_where_the_hinge_line_is_forward() -> None:
    made = facts(changes=(("panel.outer.hinge.forward", "10 mm"),))
    holes = rows(shop(made), f"{HOLES} 'outer'")["1"]
    own, before = (
        [float(x.replace("−", "-")) for x in re.findall(r"[−0-9.]+", words)] for words in holes[1:]
    )
    assert np.array(before) - own == pytest.approx(np.full(2, 10.0))


def test_holes_are_those_that_the_schedule_judges() -> None:
    changes = (("hinges.count", 3), ("hinges.bolts", 6), ("hinges.span", "400 mm"), ("hinges.pitch", "35 mm"))
    bolt = Line(BOLT, "inner hinge", 48, "metric", Sizing("M8", ()), None)
    sheet = shop(facts(changes=changes, lines=(bolt,)))
    holes = rows(sheet, f"{HOLES} 'inner'")
    assert [holes[k][1] for k in "123"] == [
        "−215.0, −180.0, −145.0 mm", "−15.0, 20.0, 55.0 mm", "185.0, 220.0, 255.0 mm"
    ]  # fmt: skip
    assert "bolts: M8, by the parts schedule" in sheet.tables[f"{HOLES} 'inner'"].note
    assert "M8" not in sheet.tables[f"{HOLES} 'outer'"].note


def test_keyways_are_told_with_what_to_cut() -> None:
    assert "not described" in rows(shop(facts()), KEYWAYS)["all"][0]
    made = facts(changes=(("keyways.left", "10 deg"), ("keyways.right", "25 deg")))
    table = rows(shop(made), KEYWAYS)
    assert table["left crankshaft, from its direction of throw angle 0"][0] == "10.00°"
    assert "a right one's inner end" in shop(made).tables[KEYWAYS].note
    assert table["right keyway to cut in the centre shaft, from its left one"][0] == "15 deg"


def test_rods_and_post(manta: Facts) -> None:
    table = rows(shop(manta), TUBES)
    assert millimetres(table["rod of panel 'outer', eye to eye"][2]) == [600.0]
    assert millimetres(table["post, ground to top"][2]) == [3150.0]
    made = facts(tables=(Table("Rods: bars to cut", (("rod", "length"), ("outer", "512 mm"))),))
    assert shop(made).tables["Rods: bars to cut"].rows[1] == ("outer", "512 mm")


def test_sides_that_differ_are_both_told() -> None:
    made = facts(changes=(("right.panel.outer.rod", "610 mm"),))
    table = rows(shop(made), TUBES)
    assert "rod of panel 'outer', eye to eye" in table
    listed = [r for r in shop(made).tables[TUBES].rows if r[0].startswith("rod of panel 'outer'")]
    assert [(r[1], millimetres(r[3])) for r in listed] == [("1, left", [600.0]), ("1, right", [610.0])]
    assert "right shaft 1" in rows(shop(made), BARS)


# --- The rigger's figures ---


def test_masses_add_up_to_the_whole(manta: Facts) -> None:
    whole = poses.whole(manta.linkage)
    assert sum(n * m for _, n, m, _ in poses.parts(manta.linkage)) == pytest.approx(whole.mass)
    table = rows(rigger(manta), MASSES)
    assert table["all of this"][2] == shown(whole.mass, "mass")
    found = {f.where: f.shown for f in masses.of_linkage(manta.linkage) if f.what == "mass"}
    assert table["outer panel"][:2] == ("2", found["outer panel"])
    assert table["crankshaft"][:2] == ("2", found["left crankshaft"])
    one = rows(rigger(facts(changes=(("right.panel.outer.thickness", "5 mm"),))), MASSES)
    assert one["left outer panel"][0] == one["right outer panel"][0] == "1"
    assert table["wheel"][1] == found[names.WHEEL]


def test_centre_of_gravity_without_wings_is_that_of_the_rest(manta: Facts) -> None:
    whole, bare = poses.whole(manta.linkage), poses.without_wings(manta.linkage)
    parts = {n: (c, m) for n, c, m, _ in poses.parts(manta.linkage)}
    wings = sum(c * m for n, (c, m) in parts.items() if n.endswith((" panel", " rod")))
    assert whole.mass - bare.mass == pytest.approx(wings)
    # Mirror images: wings pull the centre to neither side, so that both moments about the middle are the wheel's.
    assert whole.mass * whole.places[:, 1] == pytest.approx(bare.mass * bare.places[:, 1])
    # Wings are above the rest.
    assert np.all(whole.places[:, 2] > bare.places[:, 2])
    low, high = whole.range
    table = rigger(manta).tables[CENTRES].rows
    over = next(r for r in table if r[0].startswith("whole") and r[1] == "over the turn")
    assert over[4] == f"{shown(low[2], 'length')} to {shown(high[2], 'length')}"


def test_masses_and_centres_are_those_that_a_lift_rests_on() -> None:
    for made in (facts(), facts("moth"), facts("manta_stand")):
        mass, places = centre_of_gravity(made.linkage, poses.TURN)
        whole = poses.whole(made.linkage)
        assert whole.mass == pytest.approx(mass)
        off = whole.places - places - np.array([0.0, 0.0, made.mechanism.crank_height])
        assert np.linalg.norm(off, axis=1) == pytest.approx(np.zeros(360), abs=1e-9)


def test_it_rests_where_its_weights_are_lowest(manta: Facts) -> None:
    whole = poses.whole(manta.linkage)
    # A disc is balanced: the least energy is the lowest centre of gravity.
    assert poses.resting(manta.linkage) == int(np.argmin(whole.places[:, 2]))
    assert poses.highest(manta.linkage) == int(np.argmax(whole.places[:, 2]))


def test_what_holding_takes_is_that_of_the_runs(manta: Facts) -> None:
    table = [r for r in rigger(manta).tables[TIES].rows if r[0] == "hung"]
    (run,) = manta.loads.campaign.of("lifted")
    torque = float(np.abs(run[f"torques/{names.HAND}/torque"]).max())
    kept = {r[1]: (r[2], r[3]) for r in table}
    extremes = [abs(run.extreme(f"torques/{names.HAND}/torque", k).value) for k in ("max", "min")]
    assert max(extremes) >= torque * (1 - 1e-9)
    assert kept["torque at the wheel"] == (
        shown(max(extremes), "torque"),
        shown(1.5 * max(extremes), "torque"),
    )
    rim = shown(max(extremes) / 0.38, "force")
    assert kept["tie at the rim, r 380 mm (15 in)"][0] == rim
    yoke = max(
        f.value for f in manta.loads.envelope.by_case["lifted"] if f.where.endswith("outer rod end at yoke")
    )
    assert kept["tie at outer yoke pin"][0] == shown(yoke, "force")


def test_lift_points_carry_the_whole_piece(manta: Facts) -> None:
    row = rows(rigger(manta), LIFTS)["post top"]
    mass = poses.whole(manta.linkage).mass
    assert row[1] == f"{shown(mass, 'mass')}, {shown(mass * 9.81, 'force')}"
    assert "none described: write [[lift]]" in rows(rigger(facts("moth")), LIFTS)
    assert "not found" in next(r for r in rigger(facts("moth")).tables[TIES].rows if r[0] == "hung")[1]


def test_two_slings_hold_the_weight(manta: Facts) -> None:
    weight = poses.whole(manta.linkage).mass * 9.81
    table = rows(rigger(manta), SLINGS)
    for angle, (share, pull) in table.items():
        steep = math.sin(math.radians(float(angle.rstrip("°"))))
        assert 2 * float(share) * steep == pytest.approx(1, abs=2e-3)  # upward pulls balance the weight
        assert pull == shown(weight / 2 / steep, "force")


def test_reach_holds_every_pose(manta: Facts) -> None:
    low, high = poses.reach(manta.linkage)
    assert low.shape == high.shape == (360, 3)
    assert float(low[:, 2].min()) == pytest.approx(-3.0)  # the ground
    # Level and straight a wing would reach .09 + .5 + .76 m out: it never does by more.
    assert 1.2 < float(high[:, 1].max()) < 0.09 + 0.5 + 0.76
    assert high[:, 1] == pytest.approx(-low[:, 1])


# --- Maintenance and the engineer ---


def wearing(family: str, where: str, allowed: float) -> Line:
    check = Check("wear", 0.1e-3, allowed, "length", "in use", "Archard; invented", years=10.0)
    return Line(family, where, 4, "metric", Sizing("12", (check,)), None)


def test_reach_holds_what_carries_the_piece(manta: Facts) -> None:
    # The body plate's top: its lower edge 150 mm over the crank's axis, 540 mm high; the wings hang lower at rest.
    low, high = poses.reach(manta.linkage)
    rest = poses.resting(manta.linkage)
    assert high[rest, 2] == pytest.approx(0.69)
    assert rows(rigger(manta), "Overall dimensions")[f"at rest, crank at {rest}°, ground to top"][
        0
    ].startswith("3690")
    assert low[:, 2] == pytest.approx(np.full(360, -3.0))
    stand = of(changed(load(MODELS / "moth.toml"), {"stand": {"width": "3 m", "length": "2 m"}}), only=())
    low, high = poses.reach(stand.linkage)
    assert (high - low).min(axis=0)[:2] == pytest.approx([2, 3])


def test_intervals_and_limits_come_from_the_schedule(manta: Facts) -> None:
    made = facts(
        lines=(
            wearing("rod end", "outer rod end at yoke", 0.15e-3),
            wearing("bush", "locating bearing", 2e-5),
        )
    )
    sheet = maintenance(made)
    often = [r[:3] for r in sheet.tables[OFTEN].rows[1:]]
    assert often == [
        ("bush, locating bearing: 12 (chosen, metric)", "2 years", "6 months"),
        ("rod end, outer rod end at yoke: 12 (chosen, metric)", "15 years", "12 months"),
    ]
    measured = rows(sheet, MEASURED)
    assert millimetres(measured["play of each rod end, pushed and pulled along the rod"][1]) == [0.15]
    bush = measured["crankshaft bush 1, clearance on the diameter, lifting the shaft"]
    assert millimetres(bush[1]) == [0.02]
    assert "more than when new" in bush[1]  # nothing is described of its clearance when new
    loose = [{"out": place, "clearance": "0.06 mm"} for place in ("250 mm", "930 mm")]
    other = of(changed(load(MODELS / "manta.toml"), {"crank.bearings": loose}), schedule=made.schedule)
    fitted = rows(maintenance(other), MEASURED)
    said = fitted["crankshaft bush 1, clearance on the diameter, lifting the shaft"][1]
    assert millimetres(said) == [0.08]
    assert "more than" not in said
    assert measured["play of each rod end, pushed and pulled along the rod"][2] == "Archard; invented"
    nothing = maintenance(manta)
    assert rows(nothing, OFTEN)["no part of the schedule has a wear that is known"][0] == "not known"
    assert "not known" in rows(nothing, MEASURED)["play of each rod end, pushed and pulled along the rod"][1]


def test_chains_are_measured_over_twenty_pitches(manta: Facts) -> None:
    measured = rows(maintenance(manta), MEASURED)
    name = next(n for n in measured if n.startswith("stage 1 chain, 20 pitches"))
    assert millimetres(measured[name][0]) == [254.0]
    assert millimetres(measured[name][1])[0] == pytest.approx(254 * 1.015, abs=0.06)
    sideways = next(n for n in measured if n.startswith("stage 1 chain, sideways"))
    fit = chain_fit.fitted(manta.mechanism.stages[0])
    assert measured[sideways][0] == size(fit.sideways)
    assert "beyond it from the start" in measured[sideways][1]  # as the study says of this demo


def test_the_pull_at_the_rim_is_that_of_the_slow_turn(manta: Facts) -> None:
    (run,) = manta.loads.campaign.of("turn")
    most = float(run[f"torques/{names.HAND}/torque"].max())
    name = "largest pull at the rim, turned slowly forward, on a spring balance"
    assert rows(maintenance(manta), MEASURED)[name][0].startswith(shown(most / 0.38, "force"))


def test_the_engineer_gets_the_schedules_base_loads(manta: Facts) -> None:
    base = Table("Loads on the base", (("case", "Fz, N"), ("dead", "-2110")), "unfactored")
    assert base.title.lower().startswith(BASE)
    sheet = engineer(facts(tables=(base,)))
    assert sheet.tables["Loads on the base"] is base
    assert "Base reactions" not in {b.title for b in sheet.blocks}
    assert engineer(manta, (base,)).tables["Loads on the base"] is base
    lacking = {b.title: b for b in engineer(manta).blocks}
    assert "Not found" in str(lacking["Base reactions"])
    assert any(isinstance(b, Blanks) and "Name" in b.labels for b in sheet.blocks)


def test_forces_on_post_and_arms_are_those_of_the_loads(manta: Facts) -> None:
    table = engineer(manta).tables[BEARINGS].rows[1:]
    listed = {(r[0], r[1]): r for r in table}
    met = manta.loads.met
    expected = {
        key for key in met
        if key[1] in ("largest force", "largest moment")
        and (key[0].endswith("bearing") or key[0] in ("left inner hinge", "right inner hinge"))
    }  # fmt: skip
    assert set(listed) == expected
    for key, row in listed.items():
        assert row[2] == met[key].shown
        vector = manta.loads.vector(met[key])
        assert vector is not None
        assert row[3].startswith(", ".join(str(round(x)) for x in vector))
        assert row[5] in ("slow-turn", "gust-locked", "lifted")


def test_forces_on_a_handles_bearings_are_told_and_that_weights_are_in_them() -> None:
    moth = facts("moth")
    table = engineer(moth).tables[BEARINGS]
    listed = {r[0]: r for r in table.rows[1:] if r[1] == "largest force"}
    assert listed["wheel bearings"][2] == moth.loads.met["wheel bearings", "largest force"].shown
    assert "not in addition to the dead weight" in table.note


def test_the_engineer_is_told_of_a_stand() -> None:
    check = Check(
        "overturning over its left edge", 900.0, 600.0, "torque", "hanging-locked", "statics; invented"
    )
    stand = Line(tipping.FAMILY, "on its feet", 1, "", None, None, Sizing("4 feet", (check,), "description"))
    told = engineer(facts("moth", lines=(stand,))).tables["What carries the piece, for information"]
    assert any("left edge" in r[2] for r in told.rows[1:])


def test_the_engineer_is_told_of_everything_that_fails() -> None:
    least, fails, holds = (
        Check(what, demand, 1.0, "stress", "gust-locked", "invented", note=f"{what}'s note")
        for what, demand in (("lean", 3.0), ("stress", 2.0), ("throat", 0.5))
    )
    arm = Line("bearing arm", "arm", 1, "", None, None, Sizing("bar", (holds, fails, least), "description"))
    (row,) = line_table("arms", (arm,)).rows[1:]
    assert row[2].startswith("lean ")
    assert "stress 2 Pa" in row[2]
    assert "stress's note" in row[2]
    assert "throat" not in row[2]


def test_load_cases_are_told_with_figures_and_reasons() -> None:
    table = rows(engineer(facts("moth")), CASES)
    assert "write [[lift]]" in table["lifted"][2]
    assert "40 m/s" in table["gust-locked"][1]
    assert all(r[3] for r in table.values())
