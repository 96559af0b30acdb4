"""Weighings as people write them down: read from CSV in any of its dialects, with every fault named by its line.

A line is one weighing: which screw, what was caught (mass), in how many turns; and where they were noted, when it
began, how warm the block was, how full the hopper. Nothing is left out in silence: a line that cannot be read is a
fault, and one that is planned but not weighed yet is counted.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from augerbook.core.csv_lines import separator_of, table_text, unshown
from augerbook.core.units import to_si, unit_fault
from augerbook.tables import data_path

Array = NDArray[np.float64]

#: Columns with the unit that they are shown in; None for words.
COLUMNS: dict[str, str | None] = {
    "screw": None,
    "time": "min",
    "mass": "g",
    "turns": "1",
    "temperature": "degC",
    "hopper": None,
    "block": None,
}
_NEEDED = ("screw", "mass", "turns")
#: What a turn brings, in kg, in any head of this kind; far beyond it columns are mixed up.
_LEAST_TURN, _MOST_TURN = 1e-9, 0.02
#: What a block that melts plastic may have, in K: beyond it another column stands under its name.
_COLDEST, _HOTTEST, _ZERO = 313.15, 673.15, 273.15
#: A time of the day, as the printed sheet asks for it: hours, minutes, and seconds if need be.
_CLOCK = re.compile(r"\s*(\d{1,3}):([0-5]\d)(?::([0-5]\d))?\s*")
#: Screws compared at most: of twenty there are 190 pairs, and a sentence for each.
MOST_SCREWS = 20
#: Faults told at once: the rest is counted.
_TOLD = 12
#: Characters and lines taken; a longer text is no trial.
_MOST_TEXT, _MOST_LINES = 60_000_000, 1_000_000
#: A number whose commas may stand between thousands.
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+")
_HEADER = re.compile(r"(?P<name>[^\[\]()]+?)\s*(?:[\[(]\s*(?P<unit>[^\[\]()]*?)\s*[\])])?")
_LAYOUT = (
    "expected a first line 'screw, time [min], mass [g], turns, temperature [degC], hopper, block', then one line for "
    "each weighing; screw, mass and turns are needed"
)


class WeighingsError(ValueError):
    """Weighings that cannot be used. ``faults`` holds one sentence each."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        told = list(self.faults[:_TOLD])
        if len(self.faults) > _TOLD:
            told.append(f"and {len(self.faults) - _TOLD} more lines with faults")
        super().__init__("\n".join(told))


@dataclass(frozen=True)
class Weighings:
    """Weighings in the order of the lines.

    Attributes:
        screw: name of the screw of each weighing.
        mass: kg.
        turns: plain numbers.
        time: since some moment, in s; NaN where not noted.
        temperature: of the block, in K; NaN where not noted.
        hopper: its state in words; empty where not noted.
        lines: the line of the text that each stands on, counted from one.
        waiting: lines that are planned but not weighed yet.
        notes: lines that begin with '#'.
        block: the block of the plan that each was weighed in, in words; empty where it is not known, and without any
            where no column names them.
    """

    screw: tuple[str, ...]
    mass: Array
    turns: Array
    time: Array
    temperature: Array
    hopper: tuple[str, ...]
    lines: tuple[int, ...]
    waiting: tuple[int, ...] = ()
    notes: tuple[str, ...] = field(default=())
    block: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.screw)

    @property
    def per_turn(self) -> Array:
        """Mass that a turn brought, in kg."""
        found: Array = self.mass / self.turns
        return found

    @property
    def screws(self) -> tuple[str, ...]:
        """The names of the screws, in the order in which they first come."""
        return tuple(dict.fromkeys(self.screw))

    @property
    def in_blocks(self) -> bool:
        """Whether two blocks or more are named."""
        return len({block for block in self.block if block}) > 1

    def of(self, screw: str) -> NDArray[np.bool_]:
        """Return which weighings are of one screw."""
        return np.array([name == screw for name in self.screw], dtype=np.bool_)

    def by_screw(self) -> dict[str, Array]:
        """Return the masses a turn (kg) of each screw."""
        names = np.array(self.screw, dtype=object)
        return {screw: self.per_turn[names == screw] for screw in self.screws}


def read_weighings(text: str | bytes) -> Weighings:
    """Read weighings from CSV, the columns parted by semicolons, tabs or commas, in any order.

    Numbers have a decimal point or, where columns are not parted by commas or the cell is quoted, a decimal comma; all
    of a table alike, and nothing between thousands. A mass, a time and a temperature need their unit in the first line.
    Lines that begin with '#' and a space are notes.

    Raises:
        WeighingsError: with every fault, each naming its line.
    """
    try:
        text = table_text(text) if isinstance(text, bytes) else text
    except ValueError as error:
        raise WeighingsError(["this is no text: save the table as CSV in UTF-8"]) from error
    text = text.removeprefix("\ufeff")
    if len(text) > _MOST_TEXT:
        raise WeighingsError([f"the text has {len(text):,} characters: more than {_MOST_TEXT:,} are no weighings"])
    if strange := unshown(text):
        raise WeighingsError([f"line {place}: {words}" for place, words in strange])
    notes, filled = _sorted_out(text)
    if not filled:
        raise WeighingsError([f"there is nothing to read: {_LAYOUT}"])
    if len(filled) > _MOST_LINES:
        raise WeighingsError([f"{len(filled):,} lines: more than {_MOST_LINES:,} are not taken"])
    separator = separator_of(filled[0][1])
    places = [place for place, _ in filled]
    reader = csv.reader(io.StringIO("\n".join(line for _, line in filled)), delimiter=separator, strict=True)
    try:
        rows = list(reader)
    except csv.Error as error:
        at = _odd_line(filled, places[min(reader.line_num, len(places)) - 1])
        raise WeighingsError([f"{at}: not a line of CSV ({error}); is a quotation mark left open?"]) from error
    if len(rows) != len(places):
        raise WeighingsError(
            [f"{_odd_line(filled, places[0])}: a quotation mark is left open, so that lines run into each other"]
        )
    return _sound(_columns(rows, places, separator), notes, separator)


def _sorted_out(text: str) -> tuple[list[str], list[tuple[int, str]]]:
    """Return the notes, and the lines that hold anything with their numbers."""
    notes: list[str] = []
    filled: list[tuple[int, str]] = []
    separator, columns = ",", 0
    for place, line in enumerate(text.splitlines(), 1):
        if line.lstrip(' \t"').startswith("#") and _is_note(_split(line, separator), columns):
            # A sheet that saves the plan again puts a note with commas in it between quotation marks.
            note = line.strip()
            notes.append((note.strip('",;\t ') if note.startswith('"') else note).lstrip("# "))
        elif line.strip(" \t;,"):
            if not filled:
                separator = separator_of(line)
                columns = len(_split(line, separator))
            filled.append((place, line))
    return notes, filled


def _split(line: str, separator: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=separator))
    except csv.Error:  # a cell without end: told when all lines are read
        return [line]


def _is_note(cells: list[str], columns: int) -> bool:
    """Say whether a line that begins with '#' is a note, below a first line of so many columns.

    A screw may be called #8, as inch screws are, or "#8, coarse": such a line is a weighing, and one that has too few
    cells or too many is a fault. A note has a space behind its '#', or is a single word or sentence without commas.
    """
    beside = any(cell.strip() for cell in cells[1:])
    if cells[0].strip().startswith("# ") or not columns:
        return not (beside and len(cells) == columns)
    return not beside and len(cells) != columns


def _odd_line(filled: list[tuple[int, str]], otherwise: int) -> str:
    """Name the first line with a quotation mark that has no partner, or another where each has one."""
    odd = (place for place, line in filled if line.count('"') % 2)
    return f"line {next(odd, otherwise)}"


def invented_weighings(name: str) -> Weighings:
    """Return one of the invented sets of weighings that come with the handbook: a file of ``data/trials``."""
    return read_weighings(data_path("trials", f"{name}.csv").read_bytes())


@dataclass(frozen=True)
class _Table:
    """Cells by column, and the line of each row."""

    cells: dict[str, tuple[str, ...]]
    units: dict[str, str]
    lines: tuple[int, ...]


def _columns(rows: list[list[str]], places: list[int], separator: str) -> _Table:
    names, units = _header(rows[0], places[0])
    wide = [(place, len(row)) for row, place in zip(rows[1:], places[1:], strict=True) if len(row) != len(names)]
    if wide:
        hint = "; with decimal commas, separate the columns by semicolons" if separator == "," else ""
        raise WeighingsError(
            [f"line {place}: {count} cells instead of {len(names)}{hint if count > len(names) else ''}"
             for place, count in wide]
        )  # fmt: skip
    if len(rows) < 2:
        raise WeighingsError([f"there is a first line, but no weighing below it: {_LAYOUT}"])
    cells = dict(zip(names, zip(*rows[1:], strict=True), strict=True))
    return _Table(cells, units, tuple(places[1:]))


def _header(cells: list[str], line: int) -> tuple[list[str], dict[str, str]]:
    names: list[str] = []
    units: dict[str, str] = {}
    faults: list[str] = []
    for cell in cells:
        match = _HEADER.fullmatch(cell.strip())
        name = match["name"].strip().lower() if match else ""
        if not match or name not in COLUMNS:
            faults.append(f"line {line}: '{cell.strip():.40}' is no column known here: {_LAYOUT}")
            continue
        if name in names:
            faults.append(f"line {line}: the column '{name}' stands there twice")
        names.append(name)
        wanted, given = COLUMNS[name], match["unit"] or ""
        if wanted is None or (wanted == "1" and not given):
            continue
        if not given:
            faults.append(f"line {line}, {name}: the unit is missing: write '{name} [{wanted}]' if it is that")
            continue
        unit = "degC" if name == "temperature" and given == "C" else given  # to pint a coulomb
        if reason := unit_fault(unit, wanted):
            faults.append(f"line {line}: {name} [{given:.30}] {reason}")
        else:
            units[name] = unit
    if not faults:
        faults = [f"line {line}: the column '{name}' is missing: {_LAYOUT}" for name in _NEEDED if name not in names]
    if faults:
        raise WeighingsError(faults)
    return names, units


def _sound(table: _Table, notes: list[str], separator: str) -> Weighings:
    """Turn cells into numbers and hold them against what weighings can be."""
    lines = np.array(table.lines)
    cells = table.cells
    empty = np.array([not (m.strip() or t.strip()) for m, t in zip(cells["mass"], cells["turns"], strict=True)])
    kept = np.flatnonzero(~empty)
    waiting = tuple(lines[empty].tolist())
    if not kept.size:
        raise WeighingsError([f"{len(waiting)} weighings are planned and none is filled in: type masses and turns"])
    lines = lines[kept]
    picked = {name: list(column) for name, column in cells.items()}
    if waiting:
        picked = {name: [column[row] for row in kept] for name, column in picked.items()}
    measured: dict[str, list[str]] = {
        name: picked[name] for name in ("mass", "turns", "time", "temperature") if name in picked
    }
    faults = _commas(measured, lines, separator)
    numbers: dict[str, Array] = {name: _numbers(name, cells, lines, table, faults) for name, cells in measured.items()}
    screws = [cell.strip() for cell in picked["screw"]]
    for row in (row for row, name in enumerate(screws) if not name):
        faults.setdefault(int(lines[row]), f"line {lines[row]}: the name of the screw is missing")
    _judge(lines, numbers, faults)
    if (count := len(set(screws))) > MOST_SCREWS and not faults:
        faults[0] = (
            f"there are {count} names of screws, and at most {MOST_SCREWS} are compared: is another column meant?"
        )
    if faults:
        raise WeighingsError([faults[line] for line in sorted(faults)])
    nothing = np.full(len(lines), np.nan)
    return Weighings(
        screw=tuple(screws),
        mass=numbers["mass"],
        turns=numbers["turns"],
        time=numbers.get("time", nothing),
        temperature=numbers.get("temperature", nothing),
        hopper=tuple(cell.strip() for cell in picked.get("hopper", [""] * len(lines))),
        lines=tuple(lines.tolist()),
        waiting=waiting,
        notes=tuple(notes),
        block=tuple(cell.strip() for cell in picked.get("block", [])),
    )


def _commas(measured: dict[str, list[str]], lines: NDArray[np.int_], separator: str) -> dict[int, str]:
    """Return a fault, by its line, for the first comma of each column that need not be a decimal one.

    It stands between thousands where other numbers of the table have a decimal point. Where commas part the columns, a
    number such as "1,204" may have either; one such as "0,53" anywhere in the table tells which.
    """
    marked = {name: "".join(cells) for name, cells in measured.items()}
    if not any("," in joined for joined in marked.values()):
        return {}
    pointed = any("." in joined for joined in marked.values())
    with_comma = [cell.strip() for name in marked for cell in measured[name] if "," in cell]
    unclear = separator == "," and all(_THOUSANDS.fullmatch(cell) for cell in with_comma)
    if not pointed and not unclear:
        return {}
    faults: dict[int, str] = {}
    for name in (name for name, joined in marked.items() if "," in joined):
        at, cell = next(pair for pair in zip(lines.tolist(), measured[name], strict=True) if "," in pair[1])
        cell = cell.strip()
        if pointed:
            words = (
                "has a comma, and other numbers of the table have a decimal point: write all of them alike, and "
                "nothing between thousands"
            )
        else:
            words = (
                f"may be {cell.replace(',', '')} or {cell.replace(',', '.', 1)}: write the one that it is, with a "
                "point or with nothing in place of the comma"
            )
        faults.setdefault(at, f"line {at}, {name}: '{cell:.30}' {words}")
    return faults


def _numbers(name: str, cells: list[str], lines: NDArray[np.int_], table: _Table, faults: dict[int, str]) -> Array:
    """Return a column in SI; an empty cell is NaN where the column may be empty, else a fault."""
    joined = "".join(cells)
    if "," in joined:  # a decimal comma: others have been told
        cells = [cell.replace(",", ".") for cell in cells]
    try:
        if "_" in joined:  # Python would read 1_0 as ten
            raise ValueError
        values = np.array([float(cell) for cell in cells])
    except ValueError:
        if name == "time" and any(":" in cell for cell in cells):
            cells = _minutes(cells, lines, table, faults)
        values = np.array([_cell(name, *pair, faults) for pair in zip(lines, cells, strict=True)])
    for place in lines[np.isinf(values) | (np.isnan(values) if name in _NEEDED else False)]:
        faults.setdefault(int(place), f"line {place}, {name}: the number is not finite")
    unit = table.units.get(name, "1")
    return to_si(values, unit, str(COLUMNS[name]))


def _minutes(cells: list[str], lines: NDArray[np.int_], table: _Table, faults: dict[int, str]) -> list[str]:
    """Return times of the day, as the printed sheet asks for them, as numbers in the unit of the column."""
    found = [_CLOCK.fullmatch(cell) for cell in cells]
    unit = to_si(1.0, table.units.get("time", "min"), "min")
    for place, cell, match in zip(lines, cells, found, strict=True):
        if match is None and cell.strip():
            faults.setdefault(
                int(place),
                f"line {place}, time: '{cell.strip():.30}' is no time of the day as others of this column are: write "
                "all as hours:minutes (10:30), or all as a number since the trial began",
            )
    return [repr((3600 * int(m[1]) + 60 * int(m[2]) + int(m[3] or 0)) / unit) if m else "" for m in found]


def _cell(name: str, place: int, cell: str, faults: dict[int, str]) -> float:
    try:
        if "_" in cell:
            raise ValueError
        return float(cell)
    except ValueError:
        if not cell.strip():
            if name in _NEEDED:
                faults.setdefault(int(place), f"line {place}: the {name} is missing, though the weighing was begun")
            return math.nan
        hint = ""
        if re.search(r"[A-Za-z]", cell):
            hint = ": write the number alone, its unit stands in the first line, and each column under its name"
        faults.setdefault(int(place), f"line {place}, {name}: '{cell.strip():.30}' is not a number{hint}")
        return math.nan


def _judge(lines: NDArray[np.int_], numbers: dict[str, Array], faults: dict[int, str]) -> None:
    mass, turns = numbers["mass"], numbers["turns"]
    for place, value in zip(lines[mass < 0], mass[mass < 0], strict=True):
        faults.setdefault(
            int(place),
            f"line {place}: a mass of {value * 1e3:.4g} g is below zero: was the dish weighed after it was emptied?",
        )
    for place, value in zip(lines[turns <= 0], turns[turns <= 0], strict=True):
        faults.setdefault(int(place), f"line {place}: {value:g} turns: count the turns in which the plastic was caught")
    warmth = numbers.get("temperature", np.full(len(lines), np.nan))
    for place in lines[warmth < 0]:
        faults.setdefault(int(place), f"line {place}, temperature: nothing is colder than -273.15 °C")
    odd = (warmth < _COLDEST) | (warmth > _HOTTEST)
    for place, value in zip(lines[odd], warmth[odd], strict=True):
        faults.setdefault(
            int(place),
            f"line {place}, temperature: {value - _ZERO:.4g} °C is no block that melts plastic "
            f"({_COLDEST - _ZERO:g} to {_HOTTEST - _ZERO:g} °C): does another column stand under its name, or is the "
            "unit another?",
        )
    with np.errstate(all="ignore"):
        per_turn = mass / turns
        odd = (turns > 0) & (mass > 0) & ((per_turn > _MOST_TURN) | (per_turn < _LEAST_TURN))
    for place, value in zip(lines[odd], per_turn[odd], strict=True):
        faults.setdefault(
            int(place),
            f"line {place}: {value * 1e3:.3g} g a turn is no screw of this kind: are mass and turns swapped, or is the "
            "unit of the mass another?",
        )
    time = numbers.get("time")
    if time is None:
        return
    known = np.flatnonzero(np.isfinite(time))
    back = np.flatnonzero(np.diff(time[known]) < 0)
    for before, after in zip(known[back], known[back + 1], strict=True):
        faults.setdefault(
            int(lines[after]),
            f"line {lines[after]}: its time {time[after] / 60:.6g} min lies before the {time[before] / 60:.6g} min of "
            f"line {lines[before]}: keep the lines in the order of weighing, and count on over midnight",
        )
