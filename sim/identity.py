"""What makes a run the same run: everything that decides its result, and nothing else."""

import hashlib
import json
import subprocess
from collections.abc import Mapping
from dataclasses import asdict
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

from models.mechanism import Mechanism

FORMAT = "wingwright run"
FORMAT_VERSION = 2


def canonical(mechanism: Mechanism) -> str:
    """Give the settled description as JSON: SI units, sorted keys, numbers that read back to the same bits.

    Which values were defaults is left out: a default written down is the same sculpture.
    """
    table = asdict(mechanism)
    del table["defaults"]
    return json.dumps(table, sort_keys=True, separators=(",", ":"), allow_nan=False)


def run_id(description: str, scenario: Mapping[str, Any], settings: Mapping[str, Any], engine: str) -> str:
    """Give the first 12 hex digits of the SHA-256 over all that decides a result.

    Parameters
    ----------
    description : canonical JSON.
    scenario, settings : as recorded in the run.
    engine : name and version.
    """
    whole = json.dumps(
        {
            "description": description,
            "scenario": scenario,
            "settings": settings,
            "engine": engine,
            "format": FORMAT_VERSION,
            "code": code(),
        },
        sort_keys=True,
    )
    return hashlib.sha256(whole.encode()).hexdigest()[:12]


ROOT = Path(__file__).resolve().parent.parent


SOURCES = {"models": ("*.py", "people.toml", "materials.toml"), "sim": ("**/*.py",)}
"""What decides a run: packages and the files in them."""
JUDGING = ("*.toml", "parts/*.toml")
"""Tables of `models` that decide what is found in runs: strengths, classes, kinds, sizes."""


@cache
def code(root: Path = ROOT, further: str = "") -> str:
    """Give the SHA-256 of the source of `models` and `sim` under a folder: another program is another result.

    Parameters
    ----------
    root : the folder.
    further : another package that decides a result too, such as what is found in runs.
    """
    digest = hashlib.sha256()
    more = {further: ("**/*.py",), "models": (*SOURCES["models"], *JUDGING)} if further else {}
    for package, patterns in {**SOURCES, **more}.items():
        for file in sorted({f for p in patterns for f in (root / package).glob(p)}):
            digest.update(str(file.relative_to(root)).encode() + file.read_bytes())
    return digest.hexdigest()


@cache
def versions() -> dict[str, str]:
    """Give the versions that a run records: this program's, its commit's and its libraries'."""
    named = {name: version(name) for name in ("wingwright", "exudyn", "numpy", "h5py")}
    return {**named, "commit": _commit(), "code": code()}


def _commit() -> str:
    """Give the commit that this program was taken from, or "unknown".

    An installed copy may lie inside its own checkout or inside somebody else's: only a checkout that holds the
    very same source can say.
    """
    command = ["git", "-C", str(ROOT), "rev-parse", "--show-toplevel", "HEAD"]
    try:
        made = subprocess.run(command, capture_output=True, text=True, timeout=5, check=False)
    except (OSError, subprocess.SubprocessError):
        return "unknown"
    found = made.stdout.split("\n")
    if made.returncode != 0 or len(found) < 2 or code(Path(found[0])) != code():
        return "unknown"
    return found[1]
