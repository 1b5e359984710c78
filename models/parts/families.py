"""Every family of parts that has a catalogue, by the name of its file."""

import difflib
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

from models.loading import DescriptionError
from models.parts.bushes import BUSHES
from models.parts.catalogue import Family, catalogue
from models.parts.chains import CHAINS
from models.parts.couplings import COUPLINGS
from models.parts.fasteners import FASTENERS
from models.parts.keys import KEYS
from models.parts.rod_ends import ROD_ENDS
from models.parts.rolling_bearings import ROLLING_BEARINGS
from models.sculpture import Sculpture

FAMILIES: dict[str, Family[Any]] = {
    f.name: f for f in (ROD_ENDS, BUSHES, ROLLING_BEARINGS, FASTENERS, KEYS, COUPLINGS, CHAINS)
}
"""A new family is a module and a CSV in this folder, and one entry here."""


def family(name: str, option: str) -> Family[Any]:
    """Find a family; `option` is where it was named.

    Raises
    ------
    DescriptionError
        When there is none such; with the nearest name.
    """
    if name in FAMILIES:
        return FAMILIES[name]
    near = difflib.get_close_matches(name, FAMILIES, 1, 0.5)
    hint = f"did you mean '{near[0]}'?" if near else f"write one of: {', '.join(FAMILIES)}"
    raise DescriptionError([f"{option}: there is no catalogue '{name[:60]}'; {hint}"])


def own_text(name: str) -> str:
    """Give the project's own catalogue of a family as CSV, to begin one of one's own with; see `family`."""
    return files("models").joinpath("parts", f"{family(name, 'catalogue').name}.csv").read_text("utf-8")


def makers(sculpture: Sculpture, given: Mapping[str, Path] | None = None) -> dict[str, Path]:
    """Give the files of makers' catalogues by family, each read and found good before minutes of work rest on it.

    Parameters
    ----------
    sculpture : whose `[catalogues]` names files beside its description.
    given : others, which take their place.

    Raises
    ------
    DescriptionError
        With every fault of every file.
    """
    source = sculpture.source
    files = {
        name: (f"{source.label}: catalogues.{name}", (source.folder or Path()) / file)
        for name, file in sculpture.catalogues.items()
    }
    files |= {name: ("--catalogue", path) for name, path in (given or {}).items()}
    faults: list[str] = []
    for name, (where, path) in files.items():
        try:
            catalogue(family(name, where), path)
        except DescriptionError as error:
            faults += error.lines
    if faults:
        raise DescriptionError(faults)
    return {name: path for name, (_, path) in files.items()}
