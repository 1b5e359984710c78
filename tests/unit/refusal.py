"""How a command refuses bad input."""

import os
import re
from pathlib import Path

import pytest

from analysis import commands


def listing(folder: Path) -> list[tuple[str, int, int]]:
    return sorted((str(p), p.lstat().st_mtime_ns, p.lstat().st_size) for p in folder.rglob("*"))


class Refusal:
    """What a command said of a file that it refused, with nothing written and no traceback."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str], *arguments: str) -> None:
        before = listing(folder)
        here = Path.cwd()
        os.chdir(folder)
        try:
            self.code = commands.run(arguments)
        finally:
            os.chdir(here)
        said = capsys.readouterr()
        assert self.code == 2
        assert said.out == ""
        assert listing(folder) == before
        self.lines = said.err.splitlines()
        assert self.lines
        for line in self.lines:
            assert re.fullmatch(r"[^:]+: .+; .+", line), line
            assert line.isprintable()

    @property
    def line(self) -> str:
        assert len(self.lines) == 1, self.lines
        return self.lines[0]
