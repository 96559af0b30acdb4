"""A maker's build: read from TOML, held as values, changed value by value, written back.

Nothing in a build file is evaluated: numbers and known units are parsed, names are looked up in tables.
"""

from __future__ import annotations

import copyreg
import json
import math
import os
import secrets
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from augerbook.core.markup import one_line
from augerbook.core.network import Network, Solution
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.units import with_unit
from augerbook.head import part_titles
from augerbook.tables import Row, read_table

#: The version of the file format; a reader refuses others by name.
FORMAT = 1
#: What a build on one line is called there.
ONE_LINE = "build"
#: Section for results that were measured and replace what the handbook would compute.
MEASURED = "measured"
#: What the same section is called in a citation on one line: most of it was computed there, and none claims more.
RESULTS = "results"
#: What a value with a spread consists of, and the mark of what nobody measured or chose.
SPREAD, ESTIMATED = ("nominal", "low", "high"), "estimated"
#: What a build is called that has no name.
UNNAMED = "unnamed build"
#: Characters of a name or a note that are kept.
LONGEST_WORDS = 200


@dataclass(frozen=True)
class Entry:
    """One value in SI with its optional spread.

    Attributes:
        estimated: nobody measured or chose it; it always has a spread.
    """

    nominal: float
    low: float | None = None
    high: float | None = None
    estimated: bool = False

    def __post_init__(self) -> None:
        if self.estimated and (self.low is None or self.high is None):
            raise ValueError("an estimate has a spread: give low and high")

    def moved_to(self, nominal: float) -> Entry:
        """Return the entry at another nominal value; an estimate stays one.

        The spread keeps its proportion; to zero and away from it, where there is none, its width.
        """
        if self.low is None or self.high is None:
            return Entry(nominal)
        if self.nominal == 0 or nominal == 0:
            low, high = (end + nominal - self.nominal for end in (self.low, self.high))
        else:
            low, high = sorted(end * nominal / self.nominal for end in (self.low, self.high))
        return Entry(nominal, low, high, self.estimated)


@dataclass(frozen=True, eq=False)
class Build:
    """A build: explicit values, choices and names looked up in tables. Immutable; changes give a new build.

    Two builds of one network are equal where they are written alike.

    Attributes:
        guessed: the choices and looked-up names that nobody made; values have their mark in their entry.
    """

    name: str
    note: str
    entries: Mapping[Quantity, Entry]
    chosen: Mapping[Choice, str]
    names: Mapping[Lookup, str]
    network: Network
    rows: Mapping[Series, tuple[NDArray[np.float64], ...]] = field(default_factory=dict)
    guessed: frozenset[Choice | Lookup] = frozenset()

    def __post_init__(self) -> None:
        # A mark goes with what it marks, whichever way that was taken out.
        object.__setattr__(self, "guessed", self.guessed & {*self.chosen, *self.names})
        # Both stand on one line of a forum post.
        object.__setattr__(self, "name", _shortened(self.name) or UNNAMED)
        object.__setattr__(self, "note", _shortened(self.note))
        # Builds share what they hold: whoever wrote into it would change all of them, the shipped ones too.
        for part in ("entries", "chosen", "names", "rows"):
            object.__setattr__(self, part, _read_only(getattr(self, part)))
        for column in (column for columns in self.rows.values() for column in columns):
            column.flags.writeable = False

    def __eq__(self, other: object) -> bool:
        # Of short tables, field by field, NumPy would answer with an array.
        return isinstance(other, Build) and self.network is other.network and self.toml() == other.toml()

    def __hash__(self) -> int:
        return hash(self.toml())

    def __getstate__(self) -> dict[str, Any]:
        # What was computed is computed again where it is needed: compiled functions cannot travel.
        return {one.name: getattr(self, one.name) for one in fields(self)}

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        self.__post_init__()  # arrays that have travelled can be written into

    @cached_property
    def values(self) -> Mapping[Quantity | Series, Any]:
        """Every given value in SI: from the tables, then those given in the build, which win."""
        values: dict[Quantity | Series, Any] = dict(self.rows)
        for lookup, name in self.names.items():
            row = read_table(lookup.table).row(name)
            for quantity, column in lookup.fills.items():
                found = row.si(column)
                if found is not None:
                    values[quantity] = found
        values.update({quantity: entry.nominal for quantity, entry in self.entries.items()})
        return _read_only(values)

    @cached_property
    def choices(self) -> Mapping[Choice, str]:
        """Every choice made, by a name looked up or in the build itself, which wins."""
        choices: dict[Choice, str] = {}
        for lookup, name in self.names.items():
            row = read_table(lookup.table).row(name)
            choices.update({choice: row.text(column) for choice, column in lookup.sets.items() if row.text(column)})
        return _read_only(choices | dict(self.chosen))

    @cached_property
    def ends(self) -> Mapping[Quantity, tuple[float, float]]:
        """Low and high in SI of each uncertain input."""
        uncertain = {
            quantity: (entry.low, entry.high)
            for quantity, entry in self.entries.items()
            if entry.low is not None and entry.high is not None
        }
        return _read_only(uncertain)

    @cached_property
    def solution(self) -> Solution:
        """Everything that follows from the build."""
        return self.network.solve(self.values, self.choices)

    def clashes(self) -> list[str]:
        """Return a sentence for each pair of values that cannot go together."""
        return self.network.clashes(self.values)

    def clashing(self) -> list[Quantity]:
        """Return the inputs whose values cannot go together, each once."""
        return self.network.clashing(self.values)

    def with_value(self, quantity: Quantity, si: float) -> Build:
        """Return the build with one value (SI) changed, its spread kept in proportion.

        What was only estimated is known from then on: the mark goes, and the spread of the guess with it.
        """
        if quantity in self.entries and self.entries[quantity].estimated:
            return replace(self, entries={**self.entries, quantity: Entry(si)})
        return self.with_found(quantity, si)

    def with_found(self, quantity: Quantity, si: float) -> Build:
        """Return the build with one value (SI) that was computed in place of what it says; an estimate stays one."""
        entry = self.entries.get(quantity, Entry(si)).moved_to(si)
        if entry.low is not None and entry.high is not None and quantity.low is not None and quantity.high is not None:
            # In another unit the end of a range may be its last digit beyond it, and is within all the same.
            least, most = min(quantity.si(quantity.low), si), max(quantity.si(quantity.high), si)
            low, high = max(entry.low, least), min(entry.high, most)
            fits = low < high and within(quantity, si)
            entry = Entry(si, low, high, entry.estimated) if fits else Entry(si)
        return replace(self, entries={**self.entries, quantity: entry})

    def with_known(self, quantity: Quantity) -> Build:
        """Return the build with one value taken for certain: its spread is left out."""
        return replace(self, entries={**self.entries, quantity: Entry(self.values[quantity])})

    def with_spread(self, quantity: Quantity, low: float, high: float) -> Build:
        """Return the build with other ends (SI) about one of its values.

        Raises:
            ValueError: the ends do not lie about the value.
        """
        nominal = self.values[quantity]
        if not low <= nominal <= high or not low < high:
            raise ValueError(f"{quantity.key}: {low} to {high} does not lie about {nominal}")
        entry = replace(self.entries.get(quantity, Entry(nominal)), low=low, high=high)
        return replace(self, entries={**self.entries, quantity: entry})

    def with_words(self, *, name: str | None = None, note: str | None = None) -> Build:
        """Return the build with another name or note, on one line each, as they are kept."""
        return replace(self, name=self.name if name is None else name, note=self.note if note is None else note)

    def with_choice(self, choice: Choice, option: str) -> Build:
        """Return the build with another choice."""
        return replace(self, chosen={**self.chosen, choice: option}, guessed=self.guessed - {choice})

    def with_rows(self, series: Series, columns: tuple[NDArray[np.float64], ...]) -> Build:
        """Return the build with another short table (SI columns), copied: nobody can write into it."""
        return replace(self, rows={**self.rows, series: tuple(column.copy() for column in columns)})

    def with_name(self, lookup: Lookup, name: str) -> Build:
        """Return the build with another row of a table; values it fills are no longer taken from the build."""
        bare = self.without_row(lookup)
        return replace(bare, names={**bare.names, lookup: name})

    def with_row(self, lookup: Lookup, row: Row) -> Build:
        """Return the build with the figures of a row that no table of the handbook has.

        They stand in the build one by one, without the name, so that whoever reads it has them too. What the row does
        not tell is not given, as with a row of a table.
        """
        bare = self.without_row(lookup)
        figures = {q: Entry(si) for q, column in lookup.fills.items() if (si := row.si(column)) is not None}
        kinds = {choice: row.text(column) for choice, column in lookup.sets.items() if row.text(column)}
        return replace(bare, entries={**bare.entries, **figures}, chosen={**bare.chosen, **kinds})

    def without_row(self, lookup: Lookup) -> Build:
        """Return the build without a row of a table, and without what stood in place of one or beside it."""
        entries = {q: entry for q, entry in self.entries.items() if q not in lookup.fills}
        chosen = {c: option for c, option in self.chosen.items() if c not in lookup.sets}
        names = {other: name for other, name in self.names.items() if other != lookup}
        guessed = self.guessed - {lookup, *lookup.sets}
        return replace(self, entries=entries, chosen=chosen, names=names, guessed=guessed)

    def has_row(self, lookup: Lookup, row: Row) -> bool:
        """Say whether all that a row tells stands in the build as the row has it, and none of it from a table."""
        if lookup in self.names:
            return False
        figures = [(q, si) for q, column in lookup.fills.items() if (si := row.si(column)) is not None]
        kinds = [(c, row.text(column)) for c, column in lookup.sets.items() if row.text(column)]
        return all(q in self.values and math.isclose(self.values[q], si, rel_tol=1e-9) for q, si in figures) and all(
            self.choices.get(choice) == option for choice, option in kinds
        )

    def says_any(self, lookup: Lookup) -> bool:
        """Whether any of the values or the kind that a row of its table would give is given."""
        return any(q in self.values for q in lookup.fills) or any(choice in self.choices for choice in lookup.sets)

    def named_row(self, lookup: Lookup) -> str:
        """Return what a look-up is called in a sentence: its row, or whether values stand in place of one."""
        return self.names.get(lookup) or ("own values" if self.says_any(lookup) else "not given")

    def leaves_row(self, lookup: Lookup) -> bool:
        """Say whether the build has another value or choice of its own than the row that it takes from a table.

        An estimate of how far a guessed row may be off is none.
        """
        row = read_table(lookup.table).row(self.names[lookup])
        figures = ((self.entries[q], row.si(column)) for q, column in lookup.fills.items() if q in self.entries)
        kinds = ((self.chosen[c], row.text(column)) for c, column in lookup.sets.items() if c in self.chosen)
        return any(option != known for option, known in kinds) or any(
            known is None or entry.low is not None or not math.isclose(entry.nominal, known, rel_tol=1e-9)
            for entry, known in figures
            if not entry.estimated
        )

    def toml(self) -> str:
        """Return the build as canonical TOML: the same build always gives the same text."""
        lines = self._head(self.note)
        for section in (*part_titles(), MEASURED):
            body = sorted(self._lines(section))
            if body:
                lines += ["", f"[{section}]", *body]
        return "\n".join(lines) + "\n"

    def one_line(self) -> str:
        """Return the build as TOML on one line, for a citation in a few lines; the reader takes it as well."""
        parts = self._head()
        for section in (*part_titles(), MEASURED):
            if body := sorted(" ".join(line.split()).replace(", ]", "]") for line in self._lines(section)):
                named = RESULTS if section == MEASURED else section
                parts.append(f"{named} = {{ {', '.join(body)} }}")
        return f"{ONE_LINE} = {{ {', '.join(parts)} }}"

    def _head(self, note: str = "") -> list[str]:
        lines = [f"format = {FORMAT}", f"name = {_quoted(self.name)}"]
        if note:
            lines.append(f"note = {_quoted(note)}")
        if self.guessed:
            lines.append(f"{ESTIMATED} = [{', '.join(_quoted(key) for key in sorted(k.key for k in self.guessed))}]")
        return lines

    def _lines(self, section: str) -> Iterator[str]:
        for named in (self.names, self.chosen):
            yield from (f"{k.key} = {_quoted(v)}" for k, v in named.items() if k.part == section)
        for series, columns in self.rows.items():
            if series.part == section:
                rows = [
                    "[" + ", ".join(_value_text(q, si) for q, si in zip(series.columns, row, strict=True)) + "]"
                    for row in zip(*columns, strict=True)
                ]
                yield f"{series.key} = [\n" + "".join(f"    {row},\n" for row in rows) + "]"
        for quantity, entry in self.entries.items():
            if (quantity.part or MEASURED) != section:
                continue
            if entry.low is None or entry.high is None:
                yield f"{quantity.key} = {_value_text(quantity, entry.nominal)}"
            else:
                ends = zip(SPREAD, (entry.nominal, entry.low, entry.high), strict=True)
                inside = ", ".join(f"{word} = {_value_text(quantity, si)}" for word, si in ends)
                yield f"{quantity.key} = {{ {inside}{f', {ESTIMATED} = true' if entry.estimated else ''} }}"

    def save(self, path: Path) -> None:
        """Write the build; an interrupted write leaves the old file as it was.

        A link stays one, and the file that it leads to is written. On every system the bytes are the same.

        Raises:
            OSError: the file cannot be written.
        """
        path = path.resolve()
        temporary = path.with_name(f"{path.name}.{secrets.token_hex(4)}.part")
        # Opened as any program opens a file: who may read it is for the person's own settings to say.
        handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
                file.write(self.toml())
            temporary.replace(path)
        except BaseException:
            temporary.unlink(missing_ok=True)
            raise


def exact_number(quantity: Quantity, si: float) -> str:
    """Return an SI value in the shown unit with all its digits, as a build file has it, without the unit."""
    return f"{quantity.shown_number(si):.12g}"


_Key = TypeVar("_Key")
_Value = TypeVar("_Value")


def _read_only(part: Mapping[_Key, _Value]) -> MappingProxyType[_Key, _Value]:
    return part if isinstance(part, MappingProxyType) else MappingProxyType(part)


# What only reads travels to other processes as any mapping does, by itself too.
copyreg.pickle(MappingProxyType, lambda part: (_read_only, (dict(part),)))


def _value_text(quantity: Quantity, si: float) -> str:
    return _quoted(with_unit(exact_number(quantity, si), quantity.unit))


def _shortened(text: str) -> str:
    return one_line(text)[:LONGEST_WORDS].strip()


def _quoted(text: str) -> str:
    """Return a TOML string that keeps its meaning inside a post, where backticks and tags would mean something else."""
    quoted = json.dumps(text, ensure_ascii=False)
    for character in "`[]<>":
        quoted = quoted.replace(character, f"\\u{ord(character):04x}")
    return quoted


def within(quantity: Quantity, si: float) -> bool:
    """Say whether an SI value is within the plausible range; where there is none, whether it has a sign it can have."""
    if quantity.low is None or quantity.high is None:
        return not (quantity.is_positive and si <= 0) and not (quantity.is_nonnegative and si < 0)
    # Twelve digits are written: a value at the very end of its range must not fail for the thirteenth.
    slack = 1e-9 * (quantity.high - quantity.low)
    return bool(quantity.low - slack <= quantity.shown(si) <= quantity.high + slack)


def outside_in_words(quantity: Quantity) -> str:
    """Say which values are plausible for ``quantity``."""
    if quantity.low is not None:
        values = quantity.range_text
    else:
        values = "a value above zero" if quantity.is_positive else "zero or a value above it"
    return f"expected {values} for the {quantity.meaning}"


def misfits(lookup: Lookup, row: Row) -> list[str]:
    """Return a sentence for each figure or kind in a table's row that this handbook takes for implausible."""
    figures = ((quantity, row.si(column)) for quantity, column in lookup.fills.items())
    kinds = ((choice, row.text(column)) for choice, column in lookup.sets.items())
    return [
        f"its {quantity.name_in_words} is {quantity.text(si)}, {outside_in_words(quantity)}"
        for quantity, si in figures
        if si is not None and not within(quantity, si)
    ] + [
        f"its {choice.name_in_words} is '{option:.60}', expected one of "
        + ", ".join(f"'{known}'" for known in choice.options)
        for choice, option in kinds
        if option and option not in choice.options
    ]


def usable_rows(lookup: Lookup) -> list[str]:
    """Return the names in a lookup's table whose figures are all plausible here."""
    return [name for name, row in read_table(lookup.table).rows.items() if not misfits(lookup, row)]


def row_in_words(lookup: Lookup, row: Row) -> str:
    """Return a row's name with what a lookup tells beside it in lists: ``"608, deep groove, 8 x 22 x 7 mm"``."""
    told = [row.name]
    for item in lookup.tells:
        if isinstance(item, Choice):
            told.append(row.text(lookup.sets[item]))
            continue
        sizes = [(q, row.si(lookup.fills[q])) for q in item]
        if known := [f"{float(q.shown(si)):.4g}" for q, si in sizes if si is not None]:
            told.append(with_unit(" x ".join(known), item[0].unit))
    return ", ".join(part for part in told if part)
