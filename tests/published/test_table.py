"""README.md against the tests that exist, and the machinery against itself."""

import subprocess
import sys
from pathlib import Path

import pytest
from evidence import TABLE, Outside, Row, disagreements, line, table, whole


@pytest.fixture
def made() -> Outside:
    """Give the rows of a test that does not exist."""
    checks = Outside("test_x.py::test_y")
    checks("a length", source="book | p. 1", seen="read", expected=2.0, got=2.004, absolute=0.01,
           reason="printed so")  # fmt: skip
    checks("places", source="book", seen="memory", expected=(1.0, -4.0), got=(1.003, -4.0), relative=1e-3,
           reason="step")  # fmt: skip
    checks("a count", source="book", seen="read", expected=3, got=3, reason="a whole number")
    return checks


@pytest.fixture
def kept(request: pytest.FixtureRequest) -> list[Row]:
    """Give the rows of README.md, unless this run is to write them anew."""
    if request.config.getoption("--remake-table"):
        pytest.skip("README.md is about to be written")
    return table()


def test_no_row_without_its_test(kept: list[Row]) -> None:
    """pytest is asked in a process of its own, since this run may be a part."""
    asked = [
        sys.executable,
        "-m",
        "pytest",
        "--collect-only",
        "-q",
        "-o",
        "addopts=",
        "-p",
        "no:cacheprovider",
    ]
    told = subprocess.run(
        [*asked, str(TABLE.parent)], capture_output=True, text=True, check=True, cwd=TABLE.parents[2]
    ).stdout
    exist = {x.removeprefix("tests/published/") for x in told.splitlines() if "::" in x}
    assert len(exist) > 10
    assert {row[0] for row in kept} <= exist


def test_table_is_sorted_and_whole(kept: list[Row]) -> None:
    """Written anew from its own rows, README.md is the same file: no edit by hand, no line lost."""
    assert TABLE.read_text(encoding="utf-8") == whole(kept)


def test_rows_read_back_as_written(made: Outside, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("evidence.TABLE", tmp_path / "README.md")
    (tmp_path / "README.md").write_text(whole(made.rows))
    assert disagreements(made.test, made.rows, table()) == []
    assert "| 2 | 2 |" in line(made.rows[0])  # 2.004, rounded to the tolerance


def test_missing_foreign_and_changed_rows_are_found(made: Outside) -> None:
    rows = made.rows
    assert len(disagreements(made.test, rows, rows[1:])) == 1
    assert len(disagreements(made.test, rows[1:], rows)) == 1
    for column, told in ((3, "2.1"), (5, "0.1 absolute: printed so")):
        other = (*rows[0][:column], told, *rows[0][column + 1 :])
        assert len(disagreements(made.test, rows, [other, *rows[1:]])) == 2
    other = (*rows[0][:4], "2.01", rows[0][5])  # what another machine got is no disagreement
    assert disagreements(made.test, rows, [other, *rows[1:]]) == []


def test_a_wrong_number_fails() -> None:
    checks = Outside("test_x.py::test_y")
    for wrong in (
        {"expected": 1.0, "got": 1.02, "absolute": 0.01},
        {"expected": 100.0, "got": 102.0, "relative": 0.01},
        {"expected": (1.0, 2.0), "got": (1.0, 2.1), "relative": 0.01},
        {"expected": 1.0, "got": float("nan"), "absolute": 0.01},
        {"expected": 3, "got": 4},
    ):
        with pytest.raises(AssertionError, match="instead of"):
            checks(str(wrong), source="book", seen="read", reason="a try", **wrong)
