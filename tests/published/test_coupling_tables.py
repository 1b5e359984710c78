"""Couplings of the catalogue against what others print of them."""

from evidence import Outside

from models.parts.catalogue import catalogue
from models.parts.couplings import COUPLINGS

SIZES = {(c.kind, c.insert, c.system, c.size): c for c in catalogue(COUPLINGS)}


def test_spiders_of_92_shore_a(outside: Outside) -> None:
    sizes = ("19", "24", "28", "38", "42", "48")
    outside(f"rated torque of spider couplings {', '.join(sizes)} with an insert of 92 Shore A, N m",
            source="a company standard for hydraulic drives, 2001", seen="read", expected=(10, 35, 95, 190, 265, 310),
            got=[SIZES["spider", "92 Shore A", "metric", s].rated for s in sizes], relative=1e-9,
            reason="the same figure")  # fmt: skip


def test_harder_inserts_hold_more() -> None:
    for (kind, insert, system, size), row in SIZES.items():
        if kind == "spider" and insert == "92 Shore A":
            harder = [SIZES[kind, i, system, size].rated for i in ("98 Shore A", "64 Shore D")]
            assert row.rated < harder[0] < harder[1], size


def test_clamps_grip_by_friction(outside: Outside) -> None:
    """T = mu z F d with the screws' preload spread over two lines of contact: half of mu N d each side."""
    got = SIZES["clamp", "none", "metric", "25"].rated
    outside("grip of a two-part clamp on 25 mm with four M6 screws of 16 kN at friction .12, N m",
            source="friction of two halves in line contact", seen="computed", expected=2 * 0.12 * 4 * 16e3 * 0.025 / 2,
            got=got, relative=0.01, reason="rounded to 1 N m")  # fmt: skip
