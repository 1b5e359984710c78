"""The fixture `outside` with which a test states a check, and what happens around it; see `evidence.py`."""

from collections.abc import Generator, Sequence

import pytest
from evidence import COMMAND, TABLE, Outside, Row, disagreements, table, whole

_MADE = pytest.StashKey[dict[str, list[Row]]]()
_LEFT = pytest.StashKey[int]()


def _name(item: pytest.Item) -> str:
    return f"{item.path.name}::{item.name}"


@pytest.fixture
def outside(request: pytest.FixtureRequest) -> Outside:
    """Give the call that states, collects and asserts one check."""
    return Outside(_name(request.node))


@pytest.hookimpl(wrapper=True)
def pytest_pyfunc_call(pyfuncitem: pytest.Function) -> Generator[None, object, object]:
    """After a test that passed, compare its rows with README.md, or keep them for a new one."""
    result = yield
    checks = pyfuncitem.funcargs.get("outside")
    if isinstance(checks, Outside):
        assert checks.rows, "the test asks for `outside` and checks nothing with it"
        if pyfuncitem.config.getoption("--remake-table"):
            pyfuncitem.config.stash.setdefault(_MADE, {})[checks.test] = checks.rows
        else:
            differ = disagreements(checks.test, checks.rows, table())
            assert not differ, "\n".join([*differ, f"if the test is right: {COMMAND}"])
    return result


def pytest_deselected(items: Sequence[pytest.Item]) -> None:
    """Remember that a run is not a whole one."""
    for item in items:
        item.config.stash[_LEFT] = item.config.stash.get(_LEFT, 0) + 1


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Write README.md if asked to, from a whole run that passed."""
    config = session.config
    if not config.getoption("--remake-table"):
        return
    made = config.stash.get(_MADE, {})
    files = {p.name for p in TABLE.parent.glob("test_*.py")} - {"test_table.py"}
    lost = sorted(files - {test.split("::")[0] for test in made})
    in_parts = any("::" in a for a in config.args) or config.stash.get(_LEFT, 0) > 0
    if exitstatus != 0 or in_parts or lost or hasattr(config, "workerinput"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
        why = f" (nothing from {', '.join(lost)})" if lost else ""
        print(
            f"\n{TABLE.name} was not written: it takes a run of all of them, in one process, that passes{why}"
        )
        return
    TABLE.write_text(whole([row for rows in made.values() for row in rows]), encoding="utf-8")
