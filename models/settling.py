"""Filling in what a description leaves open, and noting where each value comes from."""

from dataclasses import dataclass, field
from typing import TypeVar

from models.loading import DescriptionError
from models.materials import Material, material
from models.mechanism import Default
from models.sculpture import Sculpture
from models.units import DescriptionFault, quantity

T = TypeVar("T")
ASSUMED = "assumption"
PRACTICE = "common practice, no source"


class Lacking(DescriptionError):
    """A question cannot be answered yet: the description lacks fields.

    Attributes
    ----------
    fields : the dotted names of what is lacking.
    """

    def __init__(self, label: str, question: str, fields: list[str]) -> None:
        super().__init__([f"{label}: {f}: {question} needs it; write {f}" for f in fields])
        self.fields = tuple(fields)


@dataclass
class Settling:
    """Takes values, filling in defaults and noting what is lacking."""

    sculpture: Sculpture
    defaults: list[Default] = field(default_factory=list[Default])
    lacking: list[str] = field(default_factory=list[str])
    faults: list[str] = field(default_factory=list[str])

    def take(self, given: float | None, name: str, text: str, dimension: str, source: str = ASSUMED) -> float:
        """Give the value, or the default written as a maker would write it."""
        return self.number(given, name, quantity(text, dimension), dimension, source)

    def number(
        self, given: float | None, name: str, value: float, dimension: str, source: str = ASSUMED
    ) -> float:
        """Give the value, or the default."""
        if given is not None:
            return given
        if not any(d.field == name for d in self.defaults):
            self.defaults.append(Default(name, value, dimension, source))
        return value

    def note(self, name: str, value: str, source: str = ASSUMED) -> None:
        """Note a default that is a word."""
        if not any(d.field == name for d in self.defaults):
            self.defaults.append(Default(name, value, "text", source))

    def need(self, given: T | None, name: str, stand_in: T) -> T:
        """Give the value, or note that it is lacking (the stand-in is never used: `finish` refuses)."""
        if given is None:
            self.lacking.append(name)
            return stand_in
        return given

    def stock(self, given: str | None, name: str, default: str) -> Material:
        """Find a material, or note that it is not known."""
        if given is None:
            self.note(name, default)
        try:
            return material(given or default)
        except DescriptionFault as error:
            self.faults.append(f"{name}: {error.what}; {error.instead}")
            return material(default)

    def finish(self, question: str) -> None:
        """Refuse when something is lacking or wrong."""
        label = self.sculpture.source.label
        if self.faults:
            raise DescriptionError(list(dict.fromkeys(f"{label}: {f}" for f in self.faults)))
        if self.lacking:
            raise Lacking(label, question, list(dict.fromkeys(self.lacking)))
