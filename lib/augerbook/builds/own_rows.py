"""Screws, bearings and materials of a maker's own: rows from CSV files beside the builds, in the form of the tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeAlias

from augerbook.builds.build import misfits, usable_rows
from augerbook.core.csv_lines import table_text
from augerbook.core.network import Network
from augerbook.core.quantity import Lookup
from augerbook.tables import Column, Row, TableError, read_table, rows_typed

#: Rows of a maker's own beside those of a lookup's table, by name.
OwnRows: TypeAlias = Mapping[Lookup, Mapping[str, Row]]
#: A file of more bytes is no list of what lies in somebody's drawer.
_MOST_BYTES = 200_000


@dataclass(frozen=True)
class OwnTables:
    """What the CSV files of a folder hold.

    Attributes:
        rows: for each lookup the rows that it can take, by name.
        files: name of each file that there is, with the names of its sound rows.
        faults: a sentence for each fault; it names file and line.
    """

    rows: OwnRows = field(default_factory=dict)
    files: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    faults: tuple[str, ...] = ()


def own_file(table: str) -> str:
    """Return the name of the file with a maker's own rows for a table of the handbook."""
    return f"my_{table}.csv"


def own_header(table: str) -> str:
    """Return the first line of such a file: the columns of the table, without those that only say where from."""
    columns = [column for column in read_table(table).columns if column.name != "provenance"]
    return ",".join(_headed(column) for column in columns)


def _headed(column: Column) -> str:
    return column.name if column.unit is None else f"{column.name} [{column.unit}]"


def tables_looked_up(network: Network) -> dict[str, list[Lookup]]:
    """Return the lookups of each table that a build may take rows from."""
    by_table: dict[str, list[Lookup]] = {}
    for lookup in network.lookups.values():
        by_table.setdefault(lookup.table, []).append(lookup)
    return by_table


def columns_wanted(lookups: Iterable[Lookup]) -> dict[str, str]:
    """Return the columns of numbers that lookups take, each with the unit of the value that it fills."""
    return {column: quantity.unit for lookup in lookups for quantity, column in lookup.fills.items()}


def read_own_tables(folder: Path, network: Network) -> OwnTables:
    """Read the CSV files of a maker's own in a folder: "my_screws.csv" and so on, one for each table.

    A cell may be empty where a figure is not known. A line with a fault costs that line alone, and what cannot be read
    is told, not raised.
    """
    rows: dict[Lookup, Mapping[str, Row]] = {}
    files: dict[str, tuple[str, ...]] = {}
    faults: list[str] = []
    for table, lookups in tables_looked_up(network).items():
        path = folder / own_file(table)
        try:
            if not path.is_file():
                continue
            text = _text(path)
        except (OSError, ValueError) as error:
            faults.append(f"{path.name}: {getattr(error, 'strerror', None) or error}")
            files[path.name] = ()
            continue
        found, told = rows_typed(text, columns_wanted(lookups), path.name, filled=False)
        faults += told
        sound = []
        for name, row in found.items():
            wrong = _wrong(row, table, lookups)
            faults += [f"{path.name}, line {row.line}, '{name:.60}': {fault}" for fault in wrong]
            if not wrong:
                sound.append(name)
        files[path.name] = tuple(sound)
        for lookup in lookups:
            if fitting := {name: found[name] for name in sound if not misfits(lookup, found[name])}:
                rows[lookup] = fitting
    return OwnTables(rows, files, tuple(faults))


def _text(path: Path) -> str:
    size = path.stat().st_size
    if size > _MOST_BYTES:
        raise ValueError(f"has {size / 1000:.0f} kB, and at most {_MOST_BYTES / 1000:.0f} kB are read")
    try:
        return table_text(path.read_bytes())
    except ValueError:
        raise ValueError("is no text: save it as CSV in UTF-8") from None


def _wrong(row: Row, table: str, lookups: list[Lookup]) -> list[str]:
    """Return what keeps a row from being taken: a name of the handbook's, nothing told, or figures that none can have.

    A row that one lookup can take and another cannot (a screw too small to be one, and good to compare with) is sound.
    """
    if row.name in read_table(table).rows:
        return ["a row of the handbook has this name: give yours another"]
    try:
        if all(row.si(column) is None for lookup in lookups for column in lookup.fills.values()):
            return ["the row tells nothing: it has no figures"]
        wrong = [misfits(lookup, row) for lookup in lookups]
    except TableError as error:
        return [str(error)]
    return [] if [] in wrong else wrong[0]


def rows_offered(lookup: Lookup, own: OwnRows) -> dict[str, Row]:
    """Return the rows that a list offers for a lookup, by name: those of its table, then a maker's own."""
    table = read_table(lookup.table)
    return {name: table.row(name) for name in usable_rows(lookup)} | dict(own.get(lookup, {}))
