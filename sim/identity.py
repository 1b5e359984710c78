"""What makes a run the same run: everything that decides its result, and nothing else."""

import hashlib
import json
import math
import subprocess
from collections.abc import Mapping
from dataclasses import asdict
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

from models.mechanism import Mechanism

FORMAT = "wingwright run"
FORMAT_VERSION = 1


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


@cache
def code() -> str:
    """Give the SHA-256 of the source of `models` and `sim`: another program is another result."""
    root = Path(__file__).resolve().parent.parent
    digest = hashlib.sha256()
    for package, patterns in (("models", ("*.py", "people.toml", "materials.toml")), ("sim", ("**/*.py",))):
        for file in sorted(f for p in patterns for f in (root / package).glob(p)):
            digest.update(str(file.relative_to(root)).encode() + file.read_bytes())
    return digest.hexdigest()


@cache
def versions() -> dict[str, str]:
    """Give the versions that a run records: this program's, its commit's and its libraries'."""
    root = Path(__file__).resolve().parent.parent
    try:
        made = subprocess.run(
            ["git", "-C", str(root), "rev-parse", "HEAD"],
            capture_output=True,
            text=True,
            timeout=5,
            check=False,
        )
        commit = made.stdout.strip() if made.returncode == 0 else "unknown"
    except (OSError, subprocess.SubprocessError):
        commit = "unknown"
    named = {name: version(name) for name in ("wingwright", "exudyn", "numpy", "h5py")}
    return {**named, "commit": commit, "code": code()}


def plain(value: object) -> object:
    """Give a number as JSON can keep it (no infinities), or the value itself."""
    return None if isinstance(value, float) and not math.isfinite(value) else value
