"""What the commands share: how they print, complain, show progress and leave."""

import contextlib
import json
import math
import sys
from collections.abc import Callable, Generator, Iterable
from dataclasses import asdict
from typing import TYPE_CHECKING, cast

from models.loading import DescriptionError, one_line
from models.sculpture import Sculpture

if TYPE_CHECKING:
    from analysis.finding import Finding

CAUTION = (
    "Moving public art can crush and shear. Figures serve the maker's judgement; structure, local codes and "
    "playground rules belong to licensed people."
)


def complain(lines: Iterable[str]) -> None:
    """Print lines of what is wrong."""
    for line in lines:
        print(one_line(line), file=sys.stderr)


def print_json(value: object) -> None:
    """Print data as JSON."""
    print(json.dumps(_finite(value), indent=2, allow_nan=False))


def _finite(value: object) -> object:
    """Give data for JSON, which has no word for what is not a finite number but null."""
    if isinstance(value, dict):
        return {name: _finite(item) for name, item in cast("dict[str, object]", value).items()}
    if isinstance(value, list | tuple):
        return [_finite(item) for item in cast("list[object]", value)]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def verdict(found: "Iterable[Finding]", strict: bool) -> int:
    """Give the exit code: 1 where it is asked for and a finding is beyond its limit."""
    return 1 if strict and any(f.beyond for f in found) else 0


def default_table(sculpture: Sculpture) -> list[dict[str, object]]:
    """Give a sculpture's defaults as plain data, none while it is not whole."""
    from models.resolve import mechanism

    try:
        return [asdict(d) for d in mechanism(sculpture).defaults]
    except DescriptionError:
        return []


@contextlib.contextmanager
def progress(words: str) -> Generator[Callable[[float, float], None]]:
    """Show a bar on a terminal, nothing elsewhere."""
    if not sys.stderr.isatty():
        yield lambda _done, _total: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(words, total=1.0)
        yield lambda done, total: bar.update(task, completed=done, total=total)
