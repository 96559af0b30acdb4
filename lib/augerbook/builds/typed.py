"""What a person types beside a slider: a number, with or without unit and with point or comma, a fraction or a ratio.

Inches are written as on rulers and drills: ``5/16 in``, ``1 1/4"``, ``1-1/4 inch``. A spread is two such values.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from augerbook.builds.build import exact_number, outside_in_words, within
from augerbook.core.quantity import Quantity, Series
from augerbook.core.units import UnitError, parse_number_with_unit, to_si, with_unit

#: A comma that may divide thousands: three figures behind it, and more than a zero before it.
_THOUSANDS = re.compile(r"\s*[+-]?[1-9]\d{0,2},\d{3}(?!\d)")
_BARE = re.compile(r"\s*[+-]?(?:[\d.,]+(?:[eE][+-]?\d+)?|(?:\d+(?:\s+|-))?\d+\s*/\s*\d+)\s*")


def typed_si(quantity: Quantity, text: str) -> float:
    """Return what ``text`` says in SI; without a unit it is in the quantity's shown unit.

    Raises:
        UnitError: it is no number, has a unit of another kind, lies outside of the range, or can be read in two ways;
            the message completes "The text ...".
    """
    if not text.strip():
        raise UnitError("is empty: type a number")
    if _GIVE.search(text):
        raise UnitError("has a spread behind it: type the value alone here, and the spread beside it under All values")
    si = _read(quantity, text)
    if not math.isfinite(si) or not within(quantity, si):
        inches = f"; for inches write '{text.strip()} in'" if _means_inches(quantity, text) else ""
        raise UnitError(f"is outside the range: {outside_in_words(quantity)}{inches}")
    if _THOUSANDS.match(text) and within(quantity, _read(quantity, text.replace(",", ""))):
        raise UnitError("can be read in two ways: write a decimal point, and nothing between thousands")
    return si


def typed_spread(quantity: Quantity, text: str, nominal: float) -> tuple[float, float] | None:
    """Return low and high (SI) of a spread such as ``"0.2 to 0.35"``, ``"5/16 to 3/8 in"``; None for an empty text.

    A unit behind the second value alone holds for both. ``"± 0.1"`` is as much to either side of the value.

    Args:
        quantity: whose spread it is.
        text: as typed.
        nominal: the value (SI) that must lie between them.

    Raises:
        UnitError: no two values, or not about the nominal one; the message completes "The text ...".
    """
    if not text.strip():
        return None
    if len(text) > _LONGEST_SPREAD:
        raise UnitError("is too long for two numbers with units")
    if give := _GIVE.match(text):
        return _about(quantity, text[give.end() :], nominal)
    parts = [part.strip() for part in _BETWEEN.split(text)]
    if len(parts) == 1 and "/" not in text:
        parts = _STROKE.split(text.strip())
    if len(parts) != 2 or not all(parts):
        raise UnitError(
            "is not low to high, such as 0.2 to 0.35, or ± 0.1; leave it empty when the value is known exactly"
        )
    if _BARE.fullmatch(parts[0]) and (unit := _unit_of(parts[1])):
        parts[0] += f" {unit}"
    low, high = (typed_si(quantity, part) for part in parts)
    if not low < high:
        raise UnitError("does not go from low to high")
    at = with_unit(exact_number(quantity, nominal), quantity.unit)
    slack = 1e-9 * (high - low)
    if nominal < low - slack or nominal > high + slack:
        raise UnitError(f"does not lie about the value itself, {at}")
    return min(low, nominal), max(high, nominal)


def _about(quantity: Quantity, text: str, nominal: float) -> tuple[float, float]:
    """Return what lies as far to either side of a value (SI) as ``text`` says; per cent of a length are shares."""
    text = _plainly(text)
    value, unit = _number_with_unit(text)
    if unit == "percent" and quantity.unit != unit and not quantity.on_a_scale:
        give = abs(nominal) * value / 100
    else:
        unit = quantity.unit if _BARE.fullmatch(text) else unit
        give = to_si(value, unit, quantity.unit) - to_si(0.0, unit, quantity.unit)  # a scale's zero drops out
    low, high = nominal - give, nominal + give
    if not low < high:
        raise UnitError("is nothing above zero to either side")
    if not (within(quantity, low) and within(quantity, high)):
        raise UnitError(f"goes outside the range: {outside_in_words(quantity)}")
    return low, high


def spread_text(quantity: Quantity, low: float, high: float) -> str:
    """Return a spread (SI) as it is typed, in the shown unit, without the unit."""
    return f"{exact_number(quantity, low)} to {exact_number(quantity, high)}"


def typed_columns(series: Series, rows: Sequence[Sequence[str]]) -> tuple[tuple[NDArray[np.float64], ...], list[str]]:
    """Return the columns (SI) of a short table typed cell by cell, and a sentence for each fault, which names its row.

    The columns are good for something only without any fault.
    """
    faults: list[str] = []
    values: list[list[float]] = []
    for place, cells in enumerate(rows, 1):
        row = []
        for quantity, text in zip(series.columns, cells, strict=True):
            try:
                row.append(typed_si(quantity, text))
            except UnitError as error:
                row.append(math.nan)
                faults.append(f"row {place}, {quantity.name_in_words}: '{text:.30}' {error}")
        values.append(row)
    table = np.array(values, dtype=np.float64).reshape(-1, len(series.columns))
    columns = tuple(np.ascontiguousarray(column) for column in table.T)
    return columns, faults or series.check(*columns)


#: What stands between low and high. A bare stroke would be a minus, or part of 1-1/4.
_BETWEEN = re.compile(r"\s+to\s+|\s*\.\.+\s*|\s*\u2026\s*|\s*;\s*|\s*\u2013\s*|\s+-\s+")
#: Between two numbers without a fraction a stroke can be nothing else.
_STROKE = re.compile(r"(?<=[\d.])-(?=[\d.])")
_GIVE = re.compile(r"\s*(?:\u00b1|\+\s*/?\s*[-\u2212])")
_LONGEST_SPREAD = 120
_UNIT_BEHIND = re.compile(r"[\d.,/\s+-]*(?:[eE][+-]?\d+)?\s*(.*)", re.DOTALL)
#: A fraction as on a ruler, alone or behind whole ones. What follows it is the unit: 5 1/min is none.
_FRACTION = re.compile(
    r"\s*(?P<sign>[+-]?)(?:(?P<whole>\d{1,6})(?:\s+|-))?(?P<over>\d{1,6})\s*/\s*(?P<under>\d{1,6})(?![\d.,/])\s*(?P<unit>.*)",
    re.ASCII | re.DOTALL,
)
#: A ratio as gears have it on their plates.
_RATIO = re.compile(r"\s*(?P<of>\d{1,6}(?:\.\d{1,6})?)\s*:\s*(?P<to>\d{1,6}(?:\.\d{1,6})?)\s*", re.ASCII)
_INCH_MARK = re.compile(r"(?<=[\d.])\s*(?:\"|\u2033|\u201d|'')\s*$")
_ONE_SIGN = {
    "\u00bc": "1/4", "\u00bd": "1/2", "\u00be": "3/4", "\u215b": "1/8", "\u215c": "3/8", "\u215d": "5/8",
    "\u215e": "7/8",
}  # fmt: skip


def _unit_of(text: str) -> str:
    match = _UNIT_BEHIND.fullmatch(_plainly(text))
    return match[1] if match else ""


def _plainly(text: str) -> str:
    """Return a text with the signs of typography as one types them, and inches by name."""
    text = text.replace("\u2212", "-").replace("\u2044", "/")
    for sign, fraction in _ONE_SIGN.items():
        text = text.replace(sign, f" {fraction}")
    return _INCH_MARK.sub(" in", text)


def _read(quantity: Quantity, text: str) -> float:
    text = _plainly(text)
    value, unit = _number_with_unit(text)
    # Beside a label with a unit a bare number is in that unit; in a file, where no label stands, it would be refused.
    return float(quantity.si(value)) if _BARE.fullmatch(text) else to_si(value, unit, quantity.unit)


def _means_inches(quantity: Quantity, text: str) -> bool:
    """Whether a bare fraction of a length lies outside its range, and within as inches."""
    if quantity.unit != "mm" or "/" not in _plainly(text) or not _BARE.fullmatch(_plainly(text)):
        return False
    return within(quantity, _read(quantity, f"{text} in"))


def _number_with_unit(text: str) -> tuple[float, str]:
    """Return value and unit of a text in plain signs: a ratio, whose commas are points, a fraction, or a number."""
    points = text.replace(",", ".")
    part = fraction_with_unit(points if _RATIO.fullmatch(points) else text)
    return part or parse_number_with_unit(text, decimal_comma=True)


def fraction_with_unit(text: str) -> tuple[float, str] | None:
    """Return value and unit of a text that is a fraction or a ratio, ``"1 1/4 in"``, ``"14:1"``; None if it is none.

    Raises:
        UnitError: one that cannot be meant.
    """
    if ratio := _RATIO.fullmatch(text):
        if float(ratio["to"]) == 0:
            raise UnitError("divides by zero")
        return float(ratio["of"]) / float(ratio["to"]), parse_number_with_unit("1")[1]
    match = _FRACTION.fullmatch(text)
    if match is None:
        return None
    over, under = int(match["over"]), int(match["under"])
    if under == 0:
        raise UnitError("divides by zero")
    if match["whole"] and over >= under:
        raise UnitError(f"has {over}/{under} behind a whole number, where a fraction below one is expected")
    value = int(match["whole"] or 0) + over / under
    _, unit = parse_number_with_unit(f"1 {match['unit']}")
    return (-value if match["sign"] == "-" else value), unit
