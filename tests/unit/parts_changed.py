"""What the choice of parts rests on with a description changed in what moves no load: pins, bolts, keys, the lock."""

from dataclasses import replace

from parts_basis import MODELS, demo

from analysis.parts.basis import Basis
from models.loading import load
from models.resolve import mechanism


def judged(name: str, changes: dict[str, object]) -> Basis:
    """Give the basis of an example with its loads as they are and its description changed."""
    basis = demo(name)
    settled = mechanism(load(MODELS / f"{name}.toml", changes))
    linkage = replace(basis.linkage, mechanism=settled)
    return replace(basis, loads=replace(basis.loads, linkage=linkage))
