"""Units: a description's texts to SI floats, and SI floats to what a report shows.

All arithmetic is exact (`fractions.Fraction`); the only rounding is the final conversion to float, so
"7 mm" and "0.7 cm" are the same number to the last bit.

The sizes of the units are in `models.unit_sizes`.
"""

from __future__ import annotations

import difflib
import re
from fractions import Fraction

from models.unit_sizes import EXAMPLES, FOOT, INCH, OTHER_SPELLINGS, SIGNS_IN_UNITS, UNITS


class DescriptionFault(ValueError):
    """Something in a description that its maker has to change.

    Attributes
    ----------
    what : str
        What is wrong.
    instead : str
        What to write instead.
    """

    def __init__(self, what: str, instead: str) -> None:
        super().__init__(what, instead)
        self.what = what
        self.instead = instead

    def __str__(self) -> str:
        return f"{self.what}; {self.instead}"


class UnitError(DescriptionFault):
    """A text that is not a quantity of the dimension asked for."""


_LONGEST_TEXT = 80
# A float ends at 1.8e308. Fraction("1e999999999") would build a number of a thousand million digits.
_LARGEST_EXPONENT = 400

_DECIMAL = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_RATIO = r"[0-9]+\s*/\s*[0-9]+"
_NUMBER = rf"(?:[0-9]+(?:\s+|-){_RATIO}|{_RATIO}|{_DECIMAL})"
_ONE_QUANTITY = re.compile(rf"([+-]?)\s*({_NUMBER})\s*(.*)", re.DOTALL)
_FEET_AND_INCHES = re.compile(
    rf"([+-]?)\s*({_NUMBER})\s*(?:ft\s*|['′’]-?\s*)({_NUMBER})\s*(?:in|[\"″”])",
)
_NOT_FINITE = re.compile(r"[+-]?\s*(?:nan|inf|infinity|∞)(?![a-z])", re.IGNORECASE)


BARE = ("ratio", "count")
"""What has no unit."""
DIMENSIONS = tuple(UNITS)
"""What has one."""


def quantity(text: object, dimension: str) -> float:
    """Return the SI value of a quantity written as text.

    Parameters
    ----------
    text : object
        What the description says; good if it is a text such as "760 mm", "3 1/8 in" or "8 ft 6 in".
    dimension : str
        One of the dimensions this module lists: "length", "mass", "angle", and so on.

    Returns
    -------
    float
        The value in the unit `unit_of` gives, rounded once.

    Raises
    ------
    UnitError
        If the text is anything but a finite number with a unit of this dimension.
    LookupError
        If there is no such dimension, which is a fault in the program and not in the description.
    """
    known(dimension)
    written = _text(text, dimension)
    both = _FEET_AND_INCHES.fullmatch(written) if dimension == "length" else None
    if both:
        sign, feet, inches = both.groups()
        exact = FOOT * _number(feet, dimension) + INCH * _number(inches, dimension)
    else:
        sign, number, unit = _parted(written, dimension)
        exact = _number(number, dimension) * _size(unit, dimension, number)
    return _rounded(-exact if sign == "-" else exact, written)


def size_of(unit: str, dimension: str) -> Fraction:
    """Return the exact size of a unit in SI: ``size_of("mm", "length")`` is 1/1000.

    Parameters
    ----------
    unit : str
        Any spelling `quantity` takes after a number.
    dimension : str
        The dimension the unit must have.

    Returns
    -------
    Fraction
        In the unit `unit_of` gives; pi is good to 62 decimals.

    Raises
    ------
    UnitError
        If the unit is unknown or of another dimension.
    LookupError
        If there is no such dimension.
    """
    known(dimension)
    return _size(_text(unit, dimension), dimension, "1")


def unit_of(dimension: str) -> str:
    """Return the symbol of the SI unit used inside, "1" for "ratio" and "count".

    Raises
    ------
    LookupError
        If there is no such dimension.
    """
    if dimension in BARE:
        return "1"
    known(dimension)
    return next(iter(UNITS[dimension]))


def known(dimension: str) -> None:
    """Refuse a dimension that there is not, with `LookupError`."""
    if dimension not in UNITS:
        raise LookupError(f"no dimension {dimension!r}; there are {', '.join(UNITS)}")


def _text(text: object, dimension: str) -> str:
    """Return the text stripped and with plain signs, or refuse what is no text or hopeless as a whole."""
    a_length = _with_article(dimension)
    example = EXAMPLES[dimension]
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        raise _unit_missing(f"{float(text):.12g}" if abs(text) < 10**12 else "", dimension)
    if not isinstance(text, str):
        kind = "nothing" if text is None else f"a {type(text).__name__}"
        raise UnitError(f"{a_length} cannot be {kind}", f'write a text with number and unit, "{example}"')
    if len(text) > _LONGEST_TEXT:
        raise UnitError(f"{len(text)} characters are too long for {a_length}", f'write it like "{example}"')
    written = text.strip().replace("−", "-")
    if not written:
        raise UnitError(f"{a_length} is empty", f'write it like "{example}"')
    if _NOT_FINITE.match(written):
        raise UnitError(f"{written!r} is not a finite number", f'write {a_length} like "{example}"')
    comma = re.match(r"[+-]?\s*[0-9]+(?:,[0-9]+)+", written)
    if comma:
        raise _comma(written, comma.group())
    return written


def _comma(written: str, number: str) -> UnitError:
    """Return the fault of a comma in a number: a decimal one, or one between thousands."""
    rest = written[len(number) :]
    with_point = f'"{number.replace(",", ".")}{rest}"'
    without = f'"{number.replace(",", "")}{rest}"'
    thousands = re.fullmatch(r"[+-]?\s*[1-9][0-9]{0,2}(,[0-9]{3})+", number)
    several = number.count(",") > 1
    choice = without if several else f"{with_point} or {without}" if thousands else with_point
    return UnitError(
        f"{written!r} has a comma in its number", f"write a decimal point and no other mark: {choice}"
    )


def _unit_missing(number: str, dimension: str) -> UnitError:
    example_number, unit = EXAMPLES[dimension].split(" ", 1)
    return UnitError(
        f"{_with_article(dimension)} needs its unit",
        f'write "{number or example_number} {unit}", or whichever is meant of {_accepted(dimension)}',
    )


def _parted(written: str, dimension: str) -> tuple[str, str, str]:
    """Return sign, number and unit of a text with one number."""
    example = EXAMPLES[dimension]
    parts = _ONE_QUANTITY.fullmatch(written)
    if parts is None:
        raise UnitError(
            f"{written!r} does not begin with a number", f'write number and unit, like "{example}"'
        )
    sign, number, unit = parts.groups()
    if not unit:
        raise _unit_missing(written, dimension)
    if re.match(r"[0-9.,]", unit):
        raise UnitError(
            f"the number in {written!r} cannot be read",
            f'write one number without gaps, like "{example}", or "3 1/8" with a fraction',
        )
    if re.search(r"(?:\s[+-]?|['′’\"″”°]-?)[0-9]", unit):
        raise UnitError(
            f"{written!r} holds more than one number",
            f'write one number and one unit, like "{example}" (only feet and inches add up: "8 ft 6 in")',
        )
    return sign, number, unit


def _number(written: str, dimension: str) -> Fraction:
    """Return the exact value of an unsigned number: decimal, fraction, or whole number and fraction."""
    if "/" in written:
        *whole, above, below = (int(digits) for digits in re.findall("[0-9]+", written))
        if below == 0:
            raise UnitError(
                f"{written!r} divides by zero",
                f'write {_with_article(dimension)} like "{EXAMPLES[dimension]}"',
            )
        return sum(whole) + Fraction(above, below)
    exponent = re.search(r"[eE]([+-]?[0-9]+)", written)
    if exponent and abs(int(exponent.group(1))) > _LARGEST_EXPONENT:
        raise _out_of_range(written)
    return Fraction(written)


def _rounded(exact: Fraction, written: str) -> float:
    """Return the nearest float; what would become infinite, or zero without being zero, is refused."""
    try:
        value = float(exact)
    except OverflowError:
        raise _out_of_range(written) from None
    if value == 0 and exact != 0:
        raise _out_of_range(written)
    return value


def _out_of_range(written: str) -> UnitError:
    return UnitError(f"{written!r} is beyond what a number here can hold", "check the exponent and the unit")


def _size(unit: str, dimension: str, number: str) -> Fraction:
    """Return the exact size of a unit, or refuse it with the likeliest reason."""
    plain = _plain(unit)
    units = UNITS[dimension]
    if plain in units:
        return units[plain]
    wanted = _with_article(dimension)
    as_force = re.sub(r"\b(lb|kg)\b", r"\1f", plain)
    as_force = OTHER_SPELLINGS.get(as_force, as_force)
    if as_force in units:
        raise UnitError(
            f'"{unit}" takes a unit of mass for one of force', f'write "{number} {as_force}" for {wanted}'
        )
    others = [other for other in UNITS if plain in UNITS[other]]
    if others:
        raise UnitError(
            f'"{unit}" is a unit of {_words(others[0])}, where {wanted} is asked for',
            f"write it in {_accepted(dimension)}",
        )
    near = _nearest(plain, list(units))
    raise UnitError(
        f"{unit!r} is not a known unit of {_words(dimension)}",
        f'write "{number} {near}", or use one of {_accepted(dimension)}'
        if near
        else f"write it in {_accepted(dimension)}",
    )


def _plain(unit: str) -> str:
    """Return the spelling the table uses: "N·m" and "N-m" become "N m", "m^2" and "m²" become "m2"."""
    plain = unit.translate(SIGNS_IN_UNITS)
    plain = re.sub(r"\^([23])", r"\1", plain)
    plain = re.sub(r"(?<=[a-zA-Z])-(?=[a-zA-Z])", " ", plain)
    plain = re.sub(r"\s*/\s*", "/", " ".join(plain.split()))
    for torque in ("Nmm", "kNm", "Nm", "lbf in", "lbf ft"):
        if plain.startswith((f"{torque}/", f"{torque} s/")):
            return plain.replace(torque, OTHER_SPELLINGS[torque], 1)
    return OTHER_SPELLINGS.get(plain, plain)


def _nearest(unit: str, units: list[str]) -> str:
    """Return the most similar unit, capitals aside, or an empty text."""
    by_small_letters = {u.casefold(): u for u in reversed(units)}
    near = difflib.get_close_matches(unit.casefold(), by_small_letters, n=1, cutoff=0.5)
    return by_small_letters[near[0]] if near else ""


def _words(dimension: str) -> str:
    return dimension.replace("_", " ")


def _with_article(dimension: str) -> str:
    return f"{'an' if dimension[0] in 'aeiou' else 'a'} {_words(dimension)}"


def _accepted(dimension: str) -> str:
    *others, last = UNITS[dimension]
    return f"{', '.join(others)} or {last}"
