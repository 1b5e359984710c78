"""From a TOML file to a sculpture, with all that is wrong with it said at once."""

import copy
import difflib
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, cast, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from models.sculpture import Sculpture, Source

LARGEST = 2_000_000
"""Bytes. A description is a page or two; a megabyte is something else."""
MOST = 50
"""Problems told at once; more of them than that have one cause, and nobody reads on."""


class DescriptionError(Exception):
    """A description that cannot be used.

    Attributes
    ----------
    lines : one line per problem, each `FILE: where: what is wrong; what to write instead`.
    """

    def __init__(self, lines: Sequence[str]) -> None:
        told = [one_line(line) for line in lines[:MOST]]
        if len(lines) > MOST:
            told.append(f"and {len(lines) - MOST} more problems; mend these first")
        super().__init__("\n".join(told))
        self.lines = tuple(told)

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel whole between processes, subclasses with arguments of their own too."""
        return _again, (type(self), self.args, self.__dict__)


def _again(
    kind: type[DescriptionError], arguments: tuple[Any, ...], state: dict[str, Any]
) -> DescriptionError:
    error = kind.__new__(kind)
    error.args = arguments
    error.__dict__.update(state)
    return error


def one_line(words: str) -> str:
    """Give words without line breaks and control characters, which a name or key in a file may contain."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in words)


def load(path: str | Path, changes: Mapping[str, object] | None = None) -> Sculpture:
    """Load a description.

    Parameters
    ----------
    path : a TOML file.
    changes : values to use instead of the file's, by dotted name: `{"wheel.diameter": "600 mm"}`; panels by
        name (`panel.outer.thickness`), stages by number (`stage.1.teeth`).

    Raises
    ------
    DescriptionError
        With every problem found.
    """
    file = Path(path)
    label = file.name or str(path)
    try:
        if not file.exists():
            raise DescriptionError([f"{label}: there is no such file; check the name and the folder"])
        if file.is_dir():
            raise DescriptionError([f"{label}: this is a folder; name the description in it"])
        if not file.is_file():
            raise DescriptionError([f"{label}: this is a device or a pipe; name a TOML file"])
        if file.stat().st_size > LARGEST:
            raise DescriptionError(
                [f"{label}: {file.stat().st_size / 1e6:.1f} MB is no description; name a TOML file"]
            )
        # Some editors put a byte order mark in front.
        text = file.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise DescriptionError(
            [f"{label}: this is not text in UTF-8; name a description in TOML, or save it as UTF-8"]
        ) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "the name is not a file name"
        raise DescriptionError([f"{label}: it cannot be read ({reason}); check the name"]) from None
    return loads(text, label, file.resolve().parent, changes)


def loads(
    text: str,
    label: str = "description",
    folder: Path | None = None,
    changes: Mapping[str, object] | None = None,
) -> Sculpture:
    """Load a description from its text; see `load`. `folder` is where its DXF files lie."""
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise DescriptionError([f"{label}: {_toml_words(error)}"]) from None
    except (RecursionError, ValueError):
        raise DescriptionError([f"{label}: too deeply nested or too long a number; see a starter"]) from None
    return from_document(document, Source(label=label, folder=folder, text=text, document=document), changes)


def changed(sculpture: Sculpture, changes: Mapping[str, object]) -> Sculpture:
    """Give a sculpture with some values of its description changed; see `load` for how they are named."""
    return from_document(sculpture.source.document, sculpture.source, changes)


def from_document(
    document: Mapping[str, Any], source: Source, changes: Mapping[str, object] | None = None
) -> Sculpture:
    """Check a document against the schema.

    Raises
    ------
    DescriptionError
        With every problem found.
    """
    try:
        return _checked(copy.deepcopy(dict(document)), source, changes)
    except RecursionError:
        raise DescriptionError([f"{source.label}: too deeply nested; see a starter"]) from None


def _checked(whole: dict[str, Any], source: Source, changes: Mapping[str, object] | None) -> Sculpture:
    """Put the changes into a document and check it."""
    problems = [
        f"{source.label}: {name}: {words}"
        for name, value in copy.deepcopy(dict(changes or {})).items()
        if (words := _put(whole, name, value)) is not None
    ]
    if problems:
        raise DescriptionError(problems)
    try:
        sculpture = Sculpture.model_validate(whole, context={"folder": source.folder})
    except ValidationError as error:
        found = error.errors(include_url=False)
        lines = [f"{source.label}: {_line(details, whole)}" for details in found]
        raise DescriptionError(list(dict.fromkeys(lines))) from None
    # The text of a changed description is that of its file: the changes are in the document.
    sculpture._source = Source(  # pyright: ignore[reportPrivateUsage]
        label=source.label, folder=source.folder, text=source.text, document=whole
    )
    return sculpture


def setting(text: str) -> tuple[str, object]:
    """Read `name=value` as given on a command line.

    Raises
    ------
    DescriptionError
        When there is no name or no value.
    """
    name, equals, value = text.partition("=")
    name, value = name.strip(), value.strip()
    if not (name and equals and value):
        raise DescriptionError([f'"{text}": not a setting; write wheel.diameter="600 mm"'])
    try:
        return name, tomllib.loads(f"value = {value}")["value"]
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return name, value


def _put(document: dict[str, Any], name: str, value: object) -> str | None:
    """Put a value into a document; give words where its name leads nowhere."""
    at: Any = document
    parts = name.split(".")
    for depth, part in enumerate(parts):
        last = depth == len(parts) - 1
        if isinstance(at, list):
            items = cast("list[Any]", at)
            names, index = _index(items, part)
            if not 0 <= index < len(items):
                known = ", ".join(n for n in names if n) or f"1 to {len(items)}"
                return f"there is no '{part}' in {'.'.join(parts[:depth])}; use one of: {known}"
            if last:
                items[index] = value
                continue
            if parts[:depth] == ["crank", "bearings"] and isinstance(items[index], str):
                # A bearing written as its place alone: what else it has makes it a table.
                items[index] = {"out": items[index]}
            at = items[index]
        elif isinstance(at, dict):
            table = cast("dict[str, Any]", at)
            if last:
                table[part] = value
            else:
                at = table.setdefault(part, {})
        else:
            return (
                f"'{'.'.join(parts[:depth])}' is a single value and has no '{part}'; name that value itself"
            )
    return None


def given(document: Mapping[str, Any], name: str) -> object:
    """Give what a document has under a dotted name, as `load` takes them for changes; None where it has nothing."""
    at: Any = document
    for part in name.split("."):
        if isinstance(at, list):
            items = cast("list[Any]", at)
            _, index = _index(items, part)
            if not 0 <= index < len(items):
                return None
            at = items[index]
        elif isinstance(at, dict):
            at = cast("dict[str, Any]", at).get(part)
        else:
            return None
    return cast("object", at)


def _index(items: Sequence[Any], part: str) -> tuple[list[str], int]:
    """Give the names of a list's tables, and the index that a name or a number from 1 on stands for, or one beyond."""
    names = [str(cast("dict[str, Any]", i).get("name", "")) if isinstance(i, dict) else "" for i in items]
    number = int(part) if part.isascii() and part.isdigit() and len(part) < 4 else 0
    return names, names.index(part) if part in names else number - 1


def _toml_words(error: tomllib.TOMLDecodeError) -> str:
    """Say where the TOML is broken."""
    words = str(error)
    place = words[words.rfind("(") + 1 : -1] if words.endswith(")") else "somewhere"
    reason = words[: words.rfind("(")].strip() if words.endswith(")") else words
    return f"{place}: not TOML ({reason}); texts need quotes, tables need [brackets]"


def _line(details: ErrorDetails, document: object) -> str:
    """Turn one of the schema's errors into a line a maker understands."""
    where = _where(details["loc"], document)
    what, instead = _words(details)
    return f"{where + ': ' if where else ''}{what}; {instead}"


def _where(location: tuple[int | str, ...], document: object) -> str:
    """Name a place: panels by their name, stages by their number."""
    words: list[str] = []
    fields: list[str] = []
    at = document
    for part in location:
        if isinstance(part, int):
            items = _items(at)
            item = items[part] if part < len(items) else None
            name = _fields(item).get("name")
            called = f"'{name}'" if isinstance(name, str) and name else str(part + 1)
            if fields:
                fields[-1] = f"{fields[-1]} {called}"
            words.append(".".join(fields))
            fields = []
            at = item
        else:
            fields.append(part)
            at = _fields(at).get(part)
    if fields:
        words.append(".".join(fields))
    return ", ".join(words)


def _items(value: object) -> list[object]:
    return cast("list[object]", value) if isinstance(value, list) else []


def _fields(value: object) -> dict[str, object]:
    return cast("dict[str, object]", value) if isinstance(value, dict) else {}


def _words(details: ErrorDetails) -> tuple[str, str]:
    """Say what is wrong and what to write instead."""
    kind, context = details["type"], details.get("ctx", {})
    location = details["loc"]
    given = details["input"]
    name = str(location[-1]) if location else ""
    if kind == "description":
        return str(context["what"]), str(context["instead"])
    if kind == "missing":
        return "it is not given", f"write {name} = ..."
    if kind == "extra_forbidden":
        known = _known(location[:-1])
        near = difflib.get_close_matches(name, known, 1, 0.6)
        return f"there is no '{name}' here", (
            f"did you mean '{near[0]}'?" if near else f"known are: {', '.join(known) or 'none'}"
        )
    if kind in {"literal_error", "enum"}:
        return f"{_short(given)} is not one of its values", f"write {context.get('expected', '')}"
    if kind in {"model_type", "model_attributes_type", "dict_type"}:
        return f"{_short(given)} is not a table", "write its fields in a table, { ... } or [...]"
    if kind == "list_type":
        return f"{_short(given)} is not a list", "write [ ... ], or [[double brackets]] for a table of many"
    if kind in {"string_type", "string_too_short", "string_too_long", "string_pattern_mismatch"}:
        return f"{_short(given)} is not a name", "write 1 to 60 letters without dots or slashes, in quotes"
    if kind.startswith(("int_", "float_")) or kind == "finite_number":
        return f"{_short(given)} is not a bare number of the kind meant here", "write a plain number, no unit"
    if kind == "bool_type":
        return f"{_short(given)} is neither true nor false", "write true or false, without quotes"
    if kind == "greater_than":
        return f"{_short(given)} is out of range", f"write a number above {context['gt']}"
    if kind in {"greater_than_equal", "less_than_equal"}:
        bound = context.get("ge", context.get("le"))
        side = "least" if "ge" in context else "most"
        return f"{_short(given)} is out of range", f"write a number of at {side} {bound}"
    if kind in {"too_short", "too_long"} and "actual_length" in context:
        side, bound = ("least", "min_length") if kind == "too_short" else ("most", "max_length")
        return f"{context['actual_length']} entries are too {'few' if side == 'least' else 'many'}", (
            f"write at {side} {context[bound]}"
        )
    if kind in {"too_short", "too_long", "tuple_type", "missing_argument", "unexpected_positional_argument"}:
        return f"{_short(given)} has not the number of entries meant here", "see the README's example"
    message = details["msg"][:1].lower() + details["msg"][1:]
    return f"{_short(given)}: {message}", "see the README's example"


def _short(value: object) -> str:
    """Show what was given, cut to a readable length."""
    try:
        words = repr(value)
    except ValueError:  # a whole number of thousands of digits
        return "a number of that length"
    return words if len(words) <= 40 else words[:37] + "..."


def _known(location: tuple[int | str, ...]) -> list[str]:
    """Name the fields that the schema has at a place."""
    model: type[BaseModel] | None = Sculpture
    for part in location:
        if isinstance(part, int) or model is None:
            continue
        field = model.model_fields.get(part)
        if field is not None:
            model = _table_in(field.annotation)
        # A name between a table of tables and its fields, as in [right.panel.outer], changes nothing.
    return list(model.model_fields) if model is not None else []


def _table_in(annotation: object) -> type[BaseModel] | None:
    """Find the table among the parts of a type."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in get_args(annotation):
        found = _table_in(part)
        if found is not None:
            return found
    return None
