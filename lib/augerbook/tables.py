"""Reads what lies in ``data/``: the tables of screws, bearings and materials, and the list of references.

A table is a CSV file. Each column of numbers names its unit in its header, ``pitch [mm]`` or ``e [1]``; an
empty cell means that the figure is not known. Whatever is wrong with a file is said with its line and column.
"""

from __future__ import annotations

import csv
import difflib
import math
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from types import MappingProxyType

from augerbook.core.csv_lines import filled_lines, separator_of, unshown, with_points
from augerbook.core.units import UnitError, known_unit, si_factor_and_offset, unit_fault

#: The only columns that hold text. Any other header needs a unit.
TEXT_COLUMNS = ("name", "kind", "provenance", "note")

#: What may stand in a provenance instead of ``key: place``.
PLAIN_PROVENANCE = ("from memory", "common practice", "judgement")

REFERENCE_KINDS = ("book", "standard", "paper", "catalogue", "web")

# An installed wheel carries its own copy of the data; in the repository they lie at the top, where readers
# look for them.
_DATA_FOLDERS = (Path(__file__).parent / "data", Path(__file__).parents[2] / "data")

_HEADER = re.compile(r"(?P<name>[^\[\]]*?)\s*(?:\[(?P<unit>[^\[\]]*)\])?")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)


class TableError(LookupError):
    """Something asked for is not in the data, or a data file has a fault; the message says where and what."""


@dataclass(frozen=True)
class Column:
    """A column of a table. ``unit`` is None for text, ``"1"`` for plain numbers."""

    name: str
    unit: str | None


@dataclass(frozen=True, eq=False)
class Row:
    """A row of a table: the cells as written, its numbers in SI base units, and the line of the file it stands in."""

    table: str
    name: str
    _cells: Mapping[str, str]
    _numbers: Mapping[str, float | None]
    line: int = 0

    def si(self, column: str) -> float | None:
        """Return the number in ``column`` in SI base units; None where it is not known.

        Raises:
            TableError: there is no such column of numbers.
        """
        if column not in self._numbers:
            near = _nearest(column, self._numbers)
            raise TableError(f"table {self.table} has no column of numbers '{column}'{near}")
        return self._numbers[column]

    def text(self, column: str) -> str:
        """Return the cell in ``column`` as written in the file; empty where nothing is written.

        Raises:
            TableError: there is no such column.
        """
        if column not in self._cells:
            raise TableError(f"table {self.table} has no column '{column}'{_nearest(column, self._cells)}")
        return self._cells[column]


@dataclass(frozen=True, eq=False)
class Table:
    """A table: its columns in the order of the file, and its rows by name in the order of the file."""

    name: str
    columns: tuple[Column, ...]
    rows: Mapping[str, Row]

    def row(self, name: str) -> Row:
        """Return the row called ``name``.

        Raises:
            TableError: there is none; the message names the nearest ones.
        """
        if name not in self.rows:
            raise TableError(f"table {self.name} has no row '{name}'{_nearest(name, self.rows)}")
        return self.rows[name]

    def si(self, column: str) -> tuple[float | None, ...]:
        """Return ``column`` from top to bottom in SI base units; None where a number is not known."""
        return tuple(row.si(column) for row in self.rows.values())


@dataclass(frozen=True)
class Reference:
    """A work that can be cited. Fields that nobody has seen are empty."""

    key: str
    title: str
    kind: str
    author: str = ""
    edition: str = ""
    year: int | None = None
    publisher: str = ""
    note: str = ""
    #: Where anyone can read it: ``https://doi.org/...`` or the address of a page.
    address: str = ""

    def cite(self) -> str:
        """Return the work on one line, such as ``Budynas, Nisbett: Title, 9th ed., 2011``."""
        line = f"{self.author}: {self.title}" if self.author else self.title
        if self.edition:
            line += f", {self.edition} ed."
        return f"{line}, {self.year}" if self.year else line

    def linked(self) -> str:
        """Return the same in Markdown, as a link to where it can be read, or to the list of sources of the handbook."""
        target = f"<{self.address}>" if re.search(r"[()]", self.address) else self.address
        return f"[{self.cite()}]({target or 'C_sources.ipynb'})"


def data_path(*parts: str) -> Path:
    """Return the path of something in the data folder, such as ``data_path("tables", "screws.csv")``.

    Raises:
        TableError: there is no data folder.
    """
    for folder in _DATA_FOLDERS:
        if folder.is_dir():
            return folder.joinpath(*parts)
    looked = " or ".join(str(folder) for folder in _DATA_FOLDERS)
    raise TableError(f"the data folder is missing: expected {looked}. Install augerbook again.")


def list_tables() -> tuple[str, ...]:
    """Return the names that `read_table` knows, in alphabetical order."""
    return tuple(sorted(path.stem for path in data_path("tables").glob("*.csv")))


def read_table(name: str | Path) -> Table:
    """Read a table of the handbook by its name, or any file in the same form by its path.

    Tables of the handbook are read once and kept.

    Raises:
        TableError: there is no such table, or its file has a fault.
    """
    return _read_file(name) if isinstance(name, Path) else _read_named(name)


@cache
def _read_named(name: str) -> Table:
    known = list_tables()
    if name not in known:
        raise TableError(f"there is no table '{name}'{_nearest(name, known)}")
    return _read_file(data_path("tables", f"{name}.csv"))


def _read_file(path: Path) -> Table:
    try:
        # A spreadsheet may have saved the file with a byte order mark in front: utf-8-sig drops it.
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise TableError(f"{path.name}: there is no such file ({path})") from None
    except UnicodeDecodeError:
        raise TableError(f"{path.name}: is not UTF-8 text: save it as CSV in UTF-8") from None
    reader = csv.reader(text.splitlines(), strict=True)
    try:
        columns = _read_header(path, 1, next(reader, []))
        rows: dict[str, Row] = {}
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            row = _read_row(path, reader.line_num, columns, cells)
            if row.name in rows:
                raise _fault(path, reader.line_num, "name", f"'{row.name}' again", "each name once")
            rows[row.name] = row
    except csv.Error as error:
        raise TableError(f"{path.name}, line {reader.line_num}: not a line of CSV ({error})") from None
    return Table(path.stem, columns, MappingProxyType(rows))


def rows_typed(
    text: str, wanted: Mapping[str, str], name: str = "pasted", *, filled: bool = True
) -> tuple[Mapping[str, Row], tuple[str, ...]]:
    """Read rows that somebody typed or pasted in the form of a table: CSV, a unit in each header of numbers.

    Where they are from need not be said. Commas, semicolons or tabs may part the cells. A line with a fault costs
    that line alone.

    Args:
        text: the header and one line for each row.
        wanted: columns of numbers that must be there, each with a unit of the kind that it must have.
        name: what the text is called in messages.
        filled: whether each of these cells must hold a number; an empty one means that the figure is not known.

    Returns:
        The rows that are sound by name, in their order, and a sentence for each fault, which names its line.
    """
    path, lines = Path(name), filled_lines(text)
    if not lines:
        return {}, ()
    separator = separator_of(lines[0][1])
    rows: dict[str, Row] = {}
    faults: list[str] = []
    try:
        columns = _read_header(path, lines[0][0], _cells(path, *lines[0], separator), sourced=False)
        units = {column.name: column.unit for column in columns}
        if absent := [column for column in wanted if column not in units]:
            raise _fault(path, lines[0][0], absent[0], "no such column", f"all of {', '.join(wanted)}")
        for column, unit in wanted.items():
            if unit_fault(units[column] or "1", unit):
                raise _fault(path, lines[0][0], column, f"the unit '{units[column]}'", f"one such as '{unit}'")
    except TableError as error:
        return {}, (str(error),)
    for place, line in lines[1:]:
        try:
            cells = _cells(path, place, line, separator)
            if separator != ",":
                cells = [*cells[:1], *with_points(cells[1:])]  # a name keeps its comma
            row = _read_row(path, place, columns, cells, sourced=False)
            for column in wanted:
                if filled and not row.text(column):
                    raise _fault(path, place, column, "an empty cell", "a number")
            if row.name in rows:
                raise _fault(path, place, "name", f"'{row.name}' again", "each name once")
            rows[row.name] = row
        except TableError as error:
            faults.append(str(error))
    return rows, tuple(faults)


def _cells(path: Path, line: int, text: str, separator: str) -> list[str]:
    if strange := unshown(text):
        raise TableError(f"{path.name}, line {line}: {strange[0][1]}")
    try:
        return next(csv.reader([text], delimiter=separator, strict=True))
    except csv.Error as error:
        raise TableError(f"{path.name}, line {line}: not a line of CSV ({error})") from None


def _read_header(path: Path, line: int, headers: list[str], *, sourced: bool = True) -> tuple[Column, ...]:
    columns: list[Column] = []
    for header in headers:
        match = _HEADER.fullmatch(header.strip())
        if match is None or not match["name"]:
            raise _fault(path, line, header, f"'{header}'", "a name and a unit, such as 'pitch [mm]'")
        name, unit = match["name"] if sourced else match["name"].lower(), match["unit"]
        if any(name == column.name for column in columns):
            raise _fault(path, line, name, "this column again", "each column once")
        if name in TEXT_COLUMNS:
            if unit is not None:
                raise _fault(path, line, name, f"the unit '{unit}'", "text, which has no unit")
        elif unit is None:
            raise _fault(path, line, name, "a column without unit", f"such as '{name} [mm]', or '{name} [1]'")
        else:
            _check_unit(path, line, name, unit)
        columns.append(Column(name, unit))
    names = [column.name for column in columns]
    if not names or names[0] != "name":
        raise _fault(path, line, names[0] if names else "1", "no column 'name'", "'name' as the first column")
    if sourced and "provenance" not in names:
        raise _fault(path, line, "provenance", "no such column", "a column that says where each figure is from")
    return tuple(columns)


def _check_unit(path: Path, line: int, column: str, unit: str) -> None:
    fault = _fault(path, line, column, f"the unit '{unit}'", "a known unit, such as 'mm', 'kg/m**3' or '1'")
    if not unit.strip():
        raise fault
    try:
        known_unit(unit)
    except UnitError:
        raise fault from None


def _read_row(path: Path, line: int, columns: tuple[Column, ...], cells: list[str], *, sourced: bool = True) -> Row:
    if len(cells) != len(columns):
        raise TableError(
            f"{path.name}, line {line}: found {len(cells)} cells, expected {len(columns)}, as in the header"
            " (a comma inside a text needs quotes round the text)"
        )
    texts = {column.name: cell.strip() for column, cell in zip(columns, cells, strict=True)}
    for required in ("name", "provenance") if sourced else ("name",):
        if not texts[required]:
            raise _fault(path, line, required, "an empty cell", _EXPECTED[required])
    numbers = {
        column.name: _to_si(path, line, column.name, texts[column.name], column.unit)
        for column in columns
        if column.unit is not None
    }
    return Row(path.stem, texts["name"], MappingProxyType(texts), MappingProxyType(numbers), line)


_EXPECTED = {
    "name": "a name",
    "provenance": f"'key: place' with a key of references.toml, or one of: {', '.join(PLAIN_PROVENANCE)}",
}


def _to_si(path: Path, line: int, column: str, text: str, unit: str) -> float | None:
    if not text:
        return None
    if not _NUMBER.fullmatch(text) or not math.isfinite(float(text)):
        raise _fault(path, line, column, f"'{text}'", "a number with a decimal point, or nothing if unknown")
    factor, offset = si_factor_and_offset(known_unit(unit))
    return factor * float(text) + offset


def _fault(path: Path, line: int, column: str, found: str, expected: str) -> TableError:
    return TableError(f"{path.name}, line {line}, column '{column}': found {found}, expected {expected}")


def _nearest(name: str, known: Iterable[str]) -> str:
    names = list(known)
    folded = {candidate.casefold(): candidate for candidate in names}
    near = difflib.get_close_matches(name.casefold(), folded, n=3, cutoff=0.6)
    if near:
        return "; did you mean " + " or ".join(f"'{folded[candidate]}'" for candidate in near) + "?"
    return "; known: " + ", ".join(f"'{candidate}'" for candidate in names)


def references(file: Path | None = None) -> Mapping[str, Reference]:
    """Return the works of ``data/references.toml``, or of another file in the same form, by their keys.

    Raises:
        TableError: the file is missing or has a fault.
    """
    return _own_references() if file is None else _read_references(file)


@cache
def _own_references() -> Mapping[str, Reference]:
    return _read_references(data_path("references.toml"))


def _read_references(path: Path) -> Mapping[str, Reference]:
    try:
        entries = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise TableError(f"{path.name}: there is no such file ({path})") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise TableError(f"{path.name}: not readable as TOML: {error}") from None
    return MappingProxyType({key: _reference(path, key, entry) for key, entry in entries.items()})


def _reference(path: Path, key: str, entry: object) -> Reference:
    if not isinstance(entry, dict):
        raise TableError(f"{path.name}: found '{key}' outside a table, expected [{key}] and its fields below")
    known = [field.name for field in fields(Reference) if field.name != "key"]
    for field, value in entry.items():
        if field not in known:
            raise TableError(f"{path.name}, [{key}]: found '{field}', expected one of {', '.join(known)}")
        kind_of_value = int if field == "year" else str
        if type(value) is not kind_of_value or value == "":
            wanted = "a whole number" if field == "year" else "a text in quotes that is not empty"
            raise TableError(f"{path.name}, [{key}], {field}: found {value!r}, expected {wanted}")
    for required in ("title", "kind"):
        if required not in entry:
            raise TableError(f"{path.name}, [{key}]: found no '{required}', expected one in each entry")
    if entry["kind"] not in REFERENCE_KINDS:
        kinds = ", ".join(REFERENCE_KINDS)
        raise TableError(f"{path.name}, [{key}], kind: found '{entry['kind']}', expected one of {kinds}")
    address = entry.get("address", "https://")
    if not address.startswith(("https://", "http://")) or any(mark in address for mark in " |<>\"'"):
        raise TableError(f"{path.name}, [{key}], address: found '{address}', expected https://doi.org/... or a page")
    return Reference(key=key, **entry)
