"""What a command prints when it succeeds."""

from importlib.resources import files
from pathlib import Path

import pytest

from analysis import commands

ROOT = Path(str(files("models"))).parent
MOTH = str(ROOT / "models" / "moth.toml")
MANTA = str(ROOT / "models" / "manta.toml")
FAST = ("--case", "turn", "--speed", "470 rpm")
"""A turn of the moth's wheel at this speed takes an eighth of a second of simulated time."""


def said(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> str:
    """Run a command that succeeds in silence but for its output."""
    assert commands.run(arguments) == code
    found = capsys.readouterr()
    assert found.err == ""
    return found.out


def valid_findings(found: list[dict[str, object]]) -> None:
    assert found
    for f in found:
        assert f.keys() >= {
            "what",
            "value",
            "unit",
            "where",
            "case",
            "limit",
            "beyond",
            "crank_deg",
            "margin",
        }
        assert isinstance(f["value"], float | int)
        assert f["unit"]
        assert f["where"]
        assert f["case"]
        if f["limit"] is not None:
            assert isinstance(f["limit"], dict)
            assert f["limit"].keys() == {"value", "side", "source"}
            # Beyond a limit of nothing a share of it is infinite, for which JSON has no word.
            assert isinstance(f["margin"], float) or (f["margin"] is None and f["limit"]["value"] == 0)
