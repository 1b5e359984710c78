"""Runs as HDF5 files: one file a run, under its final name only when whole.

Every dataset has `units` and `long_name`, every dimension a scale, so that readers of the netCDF-4 flavour of
HDF5 open it too. In front of the HDF5 stands a block with the digest of all that follows, which HDF5 readers pass over:
a damaged file can take the library that reads it down with it, so damage is found before it is opened.
"""

import contextlib
import hashlib
import json
import os
import re
from collections.abc import Mapping
from io import BufferedRandom, BufferedReader
from pathlib import Path
from typing import Any, cast

import h5py as _h5py
import numpy as np

from sim.arrays import Array
from sim.identity import FORMAT, FORMAT_VERSION
from sim.run import Channel, Extreme, Peak, Run, RunFileError

h5py: Any = _h5py
"""Without type information of its own."""

BLOCK = 512
"""Bytes in front of the HDF5: the least that the format allows there."""
SEAL = b"wingwright run; SHA-256 of what follows after 512 bytes: "
AXES = {3: ("axis", ("x", "y", "z")), 4: ("component", ("w", "x", "y", "z"))}
TEXTS = ("description", "text", "scenario", "settings", "versions")


def run_path(folder: Path, sculpture: str, case: str, run_id: str) -> Path:
    """Give the file of a run: readable first, unique by its id."""
    slug = re.sub(r"[^a-z0-9]+", "-", sculpture.lower()).strip("-")[:40] or "sculpture"
    return folder / f"{slug}-{case}-{run_id}.h5"


def write_run(run: Run, path: Path) -> None:
    """Write a run under a temporary name, then rename it. What is left of an earlier try is removed."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with h5py.File(part, "w", userblock_size=BLOCK) as file:
            _fill(file, run)
        seal(part)
        os.replace(part, path)
    except FileNotFoundError:
        # Another process has finished the same run meanwhile and cleared this try away.
        if not path.is_file():
            raise
    finally:
        part.unlink(missing_ok=True)
    for old in path.parent.glob(f".{path.name}.*.part"):
        with contextlib.suppress(OSError):
            old.unlink()


def seal(path: Path) -> None:
    """Write the digest of a run into the block in front of it."""
    with path.open("r+b") as file:
        digest = _digest(file)
        file.seek(0)
        file.write((SEAL + digest + b"\n").ljust(BLOCK, b"\0"))


def _digest(file: BufferedReader | BufferedRandom) -> bytes:
    file.seek(BLOCK)
    return hashlib.file_digest(file, "sha256").hexdigest().encode()


def _check_seal(path: Path) -> None:
    """Refuse a file whose digest does not match with an OSError; one without a digest is not one of ours."""
    with path.open("rb") as file:
        head = file.read(BLOCK)
        if head.startswith(SEAL) and head[len(SEAL) :].split(b"\n")[0] != _digest(file):
            raise OSError("it is damaged: its digest does not match")


def open_run(path: str | Path) -> Run:
    """Open a run.

    Raises
    ------
    RunFileError
        When there is no such file, or it is not a run of a format known here.
    """
    file = Path(path)
    label = file.name or str(path)
    if file.is_dir():
        raise RunFileError(f"{label}: this is a folder; name a run in it")
    if not file.is_file():
        raise RunFileError(f"{label}: there is no such run; simulate first, or check the name")
    try:
        _check_seal(file)
        with h5py.File(file, "r") as h:
            if h.attrs.get("format") != FORMAT:
                raise RunFileError(f"{label}: this is not a recorded run; name a file under runs/")
            if int(h.attrs["format_version"]) != FORMAT_VERSION:
                raise RunFileError(f"{label}: recorded by another version; simulate it again")
            return _read(h)
    except (OSError, KeyError, ValueError, TypeError, AttributeError, RuntimeError) as error:
        # A damaged file can hold anything under a known name.
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise RunFileError(f"{label}: it cannot be read as a run ({reason}); simulate it again") from None


def _fill(file: Any, run: Run) -> None:
    file.attrs["format"] = FORMAT
    file.attrs["format_version"] = FORMAT_VERSION
    for name in ("id", "sculpture", "case", "label", "status", "reason"):
        file.attrs[name] = getattr(run, name)
    file.attrs["rested"] = int(run.rested)
    for name in TEXTS:
        value = getattr(run, name)
        text = value if isinstance(value, str) else json.dumps(dict(value), sort_keys=True)
        _dataset(file, name, text, "1", _TEXT_NAMES[name])
    time = _dataset(file, "time", run.time, "s", "time since the start")
    time.make_scale("time")
    scales: dict[int, Any] = {}
    for size, (name, letters) in AXES.items():
        labels = np.array(letters, dtype=h5py.string_dtype())
        scales[size] = _dataset(file, name, labels, "1", f"{name} of a vector")
        scales[size].make_scale(name)
    for name, channel in run.channels.items():
        data = _dataset(file, name, channel.values, channel.unit, channel.long_name)
        data.attrs["frame"] = channel.frame
        data.dims[0].attach_scale(time)
        if channel.values.ndim == 2:
            data.dims[1].attach_scale(scales[channel.values.shape[1]])
    _write_table(file, "extrema", "extreme", _extrema_columns(run))
    _write_table(file, "peaks", "peak", _peak_columns(run))


_TEXT_NAMES = {
    "description": "settled description, canonical JSON in SI units",
    "text": "description as written",
    "scenario": "what was done, JSON",
    "settings": "how it was stepped, JSON",
    "versions": "programs and commit, JSON",
}


def _dataset(file: Any, name: str, value: Any, unit: str, words: str) -> Any:
    big = not isinstance(value, str) and np.size(value) > 1000
    options: dict[str, Any] = {"compression": "gzip", "compression_opts": 1, "shuffle": True} if big else {}
    data = file.create_dataset(name, data=value, **options)
    data.attrs["units"] = unit
    data.attrs["long_name"] = words
    return data


def _extrema_columns(run: Run) -> dict[str, tuple[list[Any], str, str]]:
    e = run.extrema
    return {
        "channel": ([x.channel for x in e], "1", "channel"),
        "kind": ([x.kind for x in e], "1", "largest, max or min"),
        "value": ([x.value for x in e], "unit of its channel", "extreme value"),
        "x": ([x.vector[0] for x in e], "unit of its channel", "world x of the largest vector"),
        "y": ([x.vector[1] for x in e], "unit of its channel", "world y of the largest vector"),
        "z": ([x.vector[2] for x in e], "unit of its channel", "world z of the largest vector"),
        "when": ([x.time for x in e], "s", "time of the extreme"),
        "crank": ([x.crank for x in e], "rad", "crank angle at the extreme"),
    }


def _peak_columns(run: Run) -> dict[str, tuple[list[Any], str, str]]:
    p = run.peaks
    words = ("step h", "step h/2", "step h/4")
    columns: dict[str, tuple[list[Any], str, str]] = {
        "channel": ([x.channel for x in p], "1", "channel"),
        "kind": ([x.kind for x in p], "1", "largest, max or min"),
    }
    for k, word in enumerate(words):
        columns[f"value {k}"] = ([x.values[k] for x in p], "unit of its channel", f"peak with {word}")
    columns["order"] = ([x.order for x in p], "1", "order of convergence shown, NaN below rounding")
    return columns


def _write_table(file: Any, name: str, row: str, columns: Mapping[str, tuple[list[Any], str, str]]) -> None:
    group = file.create_group(name)
    count = len(columns["channel"][0])
    scale = _dataset(group, row, np.arange(count), "1", f"number of the {row}")
    scale.make_scale(row)
    for title, (values, unit, words) in columns.items():
        texts = title in {"channel", "kind"}
        array = np.array(values, dtype=h5py.string_dtype() if texts else float)
        _dataset(group, title, array, unit, words).dims[0].attach_scale(scale)


def _read(h: Any) -> Run:
    texts = {name: cast("bytes", h[name][()]).decode() for name in TEXTS}
    channels: dict[str, Channel] = {}

    def gather(name: str, item: Any) -> None:
        if isinstance(item, h5py.Dataset) and "frame" in item.attrs:
            a = item.attrs
            values = cast("Array", item[()])
            channels[name] = Channel(values, str(a["units"]), str(a["long_name"]), str(a["frame"]))

    h.visititems(gather)
    time = cast("Array", h["time"][()])
    if np.ndim(time) != 1 or any(len(c.values) != len(time) for c in channels.values()):
        raise ValueError("its channels do not match its time")
    json.loads(texts["description"])
    e, p = (_read_table(h[name]) for name in ("extrema", "peaks"))
    attrs = {name: str(h.attrs[name]) for name in ("id", "sculpture", "case", "label", "status", "reason")}
    return Run(
        **attrs,
        scenario=json.loads(texts["scenario"]),
        settings=json.loads(texts["settings"]),
        versions=json.loads(texts["versions"]),
        description=texts["description"],
        text=texts["text"],
        rested=bool(h.attrs["rested"]),
        time=time,
        channels=channels,
        extrema=tuple(
            Extreme(c, k, v, (x, y, z), t, a)
            for c, k, v, x, y, z, t, a in zip(
                *(e[n] for n in ("channel", "kind", "value", "x", "y", "z", "when", "crank")), strict=True
            )
        ),
        peaks=tuple(
            Peak(c, k, (a, b, d))
            for c, k, a, b, d in zip(
                *(p[n] for n in ("channel", "kind", "value 0", "value 1", "value 2")), strict=True
            )
        ),
    )


def _read_table(group: Any) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for name, data in group.items():
        values = data[()]
        found[name] = [v.decode() if isinstance(v, bytes) else float(v) for v in values]
    return found
