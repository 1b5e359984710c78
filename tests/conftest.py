"""Options of the whole test command."""

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--remake-table",
        action="store_true",
        help="write tests/published/README.md, the table of every check from outside the project",
    )
    parser.addoption(
        "--remake-numbers",
        action="store_true",
        help="write tests/regression/numbers.json, this program's own figures",
    )
