"""Values as a description writes them, whatever their dimension."""

from models.units import BARE, DIMENSIONS, DescriptionFault, quantity, unit_of


def read(value: object) -> tuple[float, str]:
    """Give the SI value and the dimension of a value as written: a quantity with its unit, or a bare number.

    Where a unit serves two dimensions ("N m"), it is the one that `models.units` lists first.

    Raises
    ------
    DescriptionFault
        When it is neither.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value), "count" if isinstance(value, int) else "ratio"
    for dimension in DIMENSIONS:
        try:
            return quantity(value, dimension), dimension
        except DescriptionFault:
            continue
    raise DescriptionFault(
        f"'{value}' is neither a quantity nor a number", 'write number and unit, "600 mm", or a bare number'
    )


def written(value: float, dimension: str) -> object:
    """Give an SI value as a description writes it, to 12 digits; a bare number where the dimension has no unit."""
    if dimension == "count":
        return round(value)
    return float(f"{value:.12g}") if dimension in BARE else f"{value:.12g} {unit_of(dimension)}"
