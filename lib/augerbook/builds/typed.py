"""A value as a person types it beside a slider: a number, with or without unit, with a decimal point or comma."""

from __future__ import annotations

import math
import re

from augerbook.builds.build import outside_in_words, within
from augerbook.core.quantity import Quantity
from augerbook.core.units import UnitError, parse_number_with_unit, to_si

#: A comma that may divide thousands: three figures behind it, and more than a zero before it.
_THOUSANDS = re.compile(r"\s*[+-]?[1-9]\d{0,2},\d{3}(?!\d)")
_BARE = re.compile(r"\s*[+-]?[\d.,]+(?:[eE][+-]?\d+)?\s*")


def typed_si(quantity: Quantity, text: str) -> float:
    """Return what ``text`` says in SI; without a unit it is in the quantity's shown unit.

    Raises:
        UnitError: it is no number, has a unit of another kind, lies outside of the range, or can be read in two ways;
            the message completes "The text ...".
    """
    if not text.strip():
        raise UnitError("is empty: type a number")
    si = _read(quantity, text)
    if not math.isfinite(si) or not within(quantity, si):
        raise UnitError(f"is outside the range: {outside_in_words(quantity)}")
    if _THOUSANDS.match(text) and within(quantity, _read(quantity, text.replace(",", ""))):
        raise UnitError("can be read in two ways: write a decimal point, and nothing between thousands")
    return si


def _read(quantity: Quantity, text: str) -> float:
    text = text.replace("\u2212", "-")  # the minus sign of typography
    value, unit = parse_number_with_unit(text, decimal_comma=True)
    # Beside a label with a unit a bare number is in that unit; in a file, where no label stands, it would be refused.
    return float(quantity.si(value)) if _BARE.fullmatch(text) else to_si(value, unit, quantity.unit)
