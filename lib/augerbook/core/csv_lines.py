"""CSV as people type it: lines with their numbers, separated by commas, semicolons or tabs."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


def filled_lines(text: str) -> list[tuple[int, str]]:
    """Return the lines that hold anything, each with its number counted from one; a byte-order mark is left out."""
    lines = text.lstrip("\ufeff").splitlines()
    return [(place, line) for place, line in enumerate(lines, 1) if line.strip()]


def separator_of(first_line: str) -> str:
    """Return what separates the columns, by the first line: a semicolon or a tab where there is one, else a comma."""
    return next((mark for mark in ";\t" if mark in first_line), ",")


def typed_rows(text: str) -> list[tuple[int, list[str]]]:
    """Return the cells of each line that holds anything, with the number of the line."""
    filled = filled_lines(text)
    separator = separator_of(filled[0][1]) if filled else ","
    return [(place, next(csv.reader([line], delimiter=separator))) for place, line in filled]


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
            faults.append(f"line {place}: {len(cells)} values instead of {len(names)}")
            continue
        values.append([_number(place, *pair, faults) for pair in zip(names, cells, strict=True)])
    return np.array(values, dtype=np.float64).reshape(-1, len(names)), faults


def _number(place: int, name: str, cell: str, faults: list[str]) -> float:
    try:
        return float(cell)
    except ValueError:
        faults.append(f"line {place}, {name}: '{cell.strip():.30}' is not a number with a decimal point")
        return math.nan
