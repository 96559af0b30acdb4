"""CSV as people type it: lines with their numbers, separated by commas, semicolons or tabs."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

_LINE = re.compile(r"line (\d+)")
#: What no text has that can be shown: control characters but tab and line ends, and halves of a character.
_UNSHOWN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")
_LINE_END = re.compile(r"\r\n|\r|\n")
_DECIMAL_COMMA = re.compile(r"^(\s*[+-]?\d*),(\d+\s*)$")


class TypedTableError(ValueError):
    """A table that cannot be used. ``faults`` holds one sentence each."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(faults))


def table_text(data: bytes) -> str:
    """Return the text of a table as spreadsheets save it: UTF-8, UTF-16 where it is marked so, else Windows' western.

    Raises:
        ValueError: it is no text in any of them.
    """
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16")
    if b"\x00" in data:
        raise ValueError("it holds zeros, as no text does")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252")


def unshown(text: str) -> list[tuple[int, str]]:
    """Return the lines that hold what cannot be shown, each with its number and what is wrong with it, in words."""
    if not _UNSHOWN.search(text):
        return []
    return [
        (
            place,
            f"the character U+{ord(found[0]):04X} in it cannot be shown: type the line anew, or save the table as "
            "CSV in UTF-8",
        )
        for place, line in enumerate(_LINE_END.split(text), 1)
        if (found := _UNSHOWN.search(line))
    ]


def filled_lines(text: str) -> list[tuple[int, str]]:
    """Return the lines that hold anything, each with its number counted from one; a byte-order mark is left out."""
    lines = text.lstrip("\ufeff").splitlines()
    return [(place, line) for place, line in enumerate(lines, 1) if line.strip()]


def separator_of(first_line: str) -> str:
    """Return what separates the columns, by the first line: a semicolon or a tab where there is one, else a comma."""
    return next((mark for mark in ";\t" if mark in first_line), ",")


def typed_rows(text: str) -> tuple[list[tuple[int, list[str]]], list[str]]:
    """Return the cells of each line that holds anything, with the number of the line, and a sentence for each fault.

    Lines that begin with '#' are notes and left out. Decimal commas become points where no comma parts the cells.
    """
    filled = [(place, line) for place, line in filled_lines(text) if not line.lstrip().startswith("#")]
    separator = separator_of(filled[0][1]) if filled else ","
    rows: list[tuple[int, list[str]]] = []
    faults: list[str] = []
    for place, line in filled:
        try:
            cells = next(csv.reader([line], delimiter=separator, strict=True))
        except csv.Error as error:
            faults.append(f"line {place}: not a line of CSV ({error})")
            continue
        rows.append((place, cells if separator == "," else with_points(cells)))
    return rows, faults


def with_points(cells: Sequence[str]) -> list[str]:
    """Return cells with a decimal point in place of a decimal comma, where no comma parts them."""
    return [_DECIMAL_COMMA.sub(r"\1.\2", cell) for cell in cells]


def typed_numbers(
    rows: Sequence[tuple[int, Sequence[str]]], names: Sequence[str]
) -> tuple[NDArray[np.float64], list[str]]:
    """Return the numbers of rows, as typed and one column for each name, and a sentence for each fault.

    A fault names its line; the numbers are good for something only without any.
    """
    faults: list[str] = []
    values: list[list[float]] = []
    for place, cells in rows:
        if len(cells) != len(names):
            count = "1 value" if len(cells) == 1 else f"{len(cells)} values"
            faults.append(f"line {place}: {count} instead of {len(names)}")
            continue
        values.append([_number(place, *pair, faults) for pair in zip(names, cells, strict=True)])
    return np.array(values, dtype=np.float64).reshape(-1, len(names)), faults


def in_order(faults: Iterable[str]) -> list[str]:
    """Return faults that name their line in the order of the lines."""

    def line(fault: str) -> int:
        named = _LINE.match(fault)
        return int(named[1]) if named else 0

    return sorted(faults, key=line)


def _number(place: int, name: str, cell: str, faults: list[str]) -> float:
    try:
        value = math.nan if "_" in cell else float(cell)  # to Python alone 1_0 is ten
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        faults.append(f"line {place}, {name}: '{cell.strip():.30}' is not a number with a decimal point")
    return value
