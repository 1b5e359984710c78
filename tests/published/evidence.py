"""One check against a number from outside, and its row in README.md.

A row carries the test it belongs to. So each test compares its own rows, whichever process runs it and
whatever else is left out of the run; `test_table.py` finds the rows of tests that are gone.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

TABLE = Path(__file__).with_name("README.md")
COMMAND = "python -m pytest tests/published --remake-table"
HEADING = f"""\
# Checks from outside the project

Each row is a number that was not made by this program, and what the program gives for it. "Read" means the
number was seen in a copy of the source; "computed" that it was worked out anew, apart from this program,
from the source's statement of the problem; "memory" that it was recalled and not checked; "common practice"
that it is a fact of the trade without a source. What the program gives is rounded to what the tolerance makes
meaningful. The tests fail when this table and they disagree; after a change write it again with

    {COMMAND}

"""
COLUMNS = ("test", "check", "source (how seen)", "expected", "got", "tolerance and its reason")
GOT = COLUMNS.index("got")
SEEN = ("read", "computed", "memory", "common practice")

Value = float | str | Sequence[float] | np.ndarray
Row = tuple[str, ...]


@dataclass
class Outside:
    """The checks that one test has made."""

    test: str
    rows: list[Row] = field(default_factory=list)

    def __call__(
        self,
        statement: str,
        *,
        source: str,
        seen: str,
        expected: Value,
        got: Value,
        reason: str,
        absolute: float | None = None,
        relative: float | None = None,
    ) -> None:
        """Collect a check and assert it.

        A list is compared by its worst entry, and a relative tolerance then is a share of its largest one.
        Words, whole numbers and truths are compared exactly when no tolerance is given.
        """
        assert seen in SEEN, f"'{seen}' is no way to have seen a number; one of {', '.join(SEEN)}"
        assert statement.strip(), "say what is checked"
        assert source.strip(), "say where the number comes from"
        assert reason.strip(), "say why the tolerance is what it is"
        assert statement not in (r[1] for r in self.rows), f"two checks of one test say '{statement}'"
        given = [t for t in (absolute, relative) if t is not None]
        if not given:
            tolerance, wrong, allowed = "exact", 0.0 if _same(expected, got) else math.inf, 0.0
        else:
            assert len(given) == 1, "give either an absolute tolerance or a relative one"
            want, have = np.asarray(expected, dtype=float), np.asarray(got, dtype=float)
            assert want.shape == have.shape, f"{want.shape} numbers wanted, {have.shape} found"
            allowed = given[0] if absolute is not None else given[0] * float(np.max(np.abs(want)))
            wrong = float(np.max(np.abs(have - want)))
            tolerance = f"{given[0]:.3g} " + ("absolute" if absolute is not None else "relative")
        self.rows.append(
            (self.test, statement, f"{source} ({seen})", _shown(expected, None), _shown(got, allowed),
             f"{tolerance}: {reason}")
        )  # fmt: skip
        assert wrong <= allowed, (
            f"{statement}: {got} instead of {expected}, off by {wrong:.3g} where {allowed:.3g} is allowed"
        )


def _same(expected: Value, got: Value) -> bool:
    return bool(np.array_equal(np.asarray(expected), np.asarray(got)))


def _shown(value: Value, allowed: float | None) -> str:
    """Give a value in words: to twelve digits, or to the first digit that a tolerance allows to move.

    Twelve, since what is expected may be worked out here, with a last digit that differs between machines.
    """
    if isinstance(value, str | bool | np.bool_):
        return str(value)
    flat = np.ravel(np.asarray(value, dtype=float))
    if allowed:
        digits = -math.floor(math.log10(allowed))
        shown = [f"{round(x, digits) + 0.0:.12g}" for x in flat.tolist()]
    else:
        shown = [f"{x:.12g}" for x in flat]
    return shown[0] if np.ndim(value) == 0 else f"({', '.join(shown)})"


def line(row: Row) -> str:
    """Give a row as a line of the table."""
    return "| " + " | ".join(" ".join(cell.split()).replace("|", "&#124;") for cell in row) + " |"


def cells(text: str) -> Row:
    """Give the row that a line of the table holds."""
    return tuple(cell.strip().replace("&#124;", "|") for cell in text.strip().strip("|").split("|"))


def table() -> list[Row]:
    """Read the rows of README.md."""
    if not TABLE.exists():
        return []
    found = [x for x in TABLE.read_text(encoding="utf-8").splitlines() if x.startswith("|")]
    return [cells(x) for x in found[2:]]


def disagreements(test: str, rows: list[Row], written: list[Row]) -> list[str]:
    """Say where the rows of a test and those written for it differ, but for what the program gave."""

    def told(row: Row) -> Row:
        return tuple(cell for k, cell in enumerate(cells(line(row))) if k != GOT)

    have = {told(r) for r in rows}
    want = {told(r) for r in written if r[0] == test}
    return [f"README.md lacks: {' | '.join(r)}" for r in sorted(have - want)] + [
        f"README.md lists, but the test does not say: {' | '.join(r)}" for r in sorted(want - have)
    ]


def whole(rows: list[Row]) -> str:
    """Give README.md for all rows."""
    ruled = "|" + "---|" * len(COLUMNS)
    return HEADING + "\n".join([line(COLUMNS), ruled, *map(line, sorted(rows))]) + "\n"
