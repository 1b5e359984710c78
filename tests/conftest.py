"""Options of the whole test command."""

import pytest
from hypothesis import settings

# How long an example takes says more of the machine than of the program: no deadline in any test.
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")


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
