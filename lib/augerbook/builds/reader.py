"""Reads a build file and tells every fault at once, in words for the person who typed it."""

from __future__ import annotations

import contextlib
import difflib
import math
import re
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from augerbook.builds.build import (
    ESTIMATED,
    FORMAT,
    LONGEST_WORDS,
    MEASURED,
    ONE_LINE,
    RESULTS,
    SPREAD,
    Build,
    Entry,
    misfits,
    outside_in_words,
    within,
)
from augerbook.builds.typed import fraction_with_unit
from augerbook.core.network import Network
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.units import UnitError, parse_number_with_unit, to_si, with_unit
from augerbook.head import part_titles
from augerbook.tables import TableError, read_table

#: Characters of a build file, or of a post with one in it.
SIZE_LIMIT = 64_000
#: What is said of a file that is none.
PLAIN_TEXT = "a build file is plain text (UTF-8)"
#: What begins and ends a block of a post. Each is looked for by itself: one pattern for both would read a post to its
#: end anew for each beginning without an end.
_BLOCKS = (
    (re.compile(r"```[^\n`]*\n"), re.compile("```")),
    (re.compile(r"\[code[^\[\]\n]*\]", re.IGNORECASE), re.compile(r"\[/code\]", re.IGNORECASE)),
)
#: Tables in tables that are gone into: a build has four levels, on one line five.
_DEEPEST = 12
#: Bits of a whole number: no value has so many digits, and of a few thousand Python refuses to write them.
_MOST_BITS = 256
#: Parts of a key, parted by points: the time that TOML takes for one grows with their square. A name or a note, which
#: is looked through as well, cannot have so many.
_MOST_PARTS = LONGEST_WORDS // 2
_KEY_PART = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*"""
_LONG_KEY = re.compile(rf"(?<![A-Za-z0-9_-])(?:{_KEY_PART}){{{_MOST_PARTS + 1}}}")
_FORMAT_LINE = re.compile(r"^[^\S\n]*format[^\S\n]*=", re.MULTILINE)
_QUOTED_FORMAT_LINE = re.compile(r"^(?:[ \t]*>)+[ \t]*format[ \t]*=", re.MULTILINE)
_QUOTE_MARKS = re.compile(r"^(?:[ \t]*> ?)+", re.MULTILINE)
_TOML_LINE = re.compile(r"\s*(?:#.*|[\[\]].*|[\w\"'.-]+\s*=.*|)")
# What forums and word processors make of quotes and spaces.
_TYPOGRAPHY = str.maketrans({"“": '"', "”": '"', "„": '"', "″": '"', "\u00a0": " ", "\u202f": " ", "\u200b": ""})
#: Faults that are told one by one, and searched for what may have been meant.
MOST_TOLD = 20
#: A build on one line, wherever it stands in a sentence.
_LINE = re.compile(rf"\b({ONE_LINE}\s*=\s*\{{\s*format\s*=.*\}})")
_TOP_KEYS = ("format", "name", "note")
#: What to look for where the text is no TOML; what TOML has to say against it follows.
_NO_BUILD = (
    'the text breaks off, or one of its lines is not of the form key = "value" or gives a value a second time; as it '
    "stands, this is not a TOML build file"
)


class BuildError(ValueError):
    """A build that cannot be read.

    Attributes:
        faults: one sentence each.
        told: the first of them, and how many more there are: what a page can show.
    """

    def __init__(self, faults: Iterable[str]) -> None:
        self.faults = tuple(faults)
        more = len(self.faults) - MOST_TOLD
        self.told = (*self.faults[:MOST_TOLD], *([f"and {more} more"] if more > 0 else []))
        super().__init__("\n".join(self.told))


def text_of_build(name: str, content: bytes) -> str:
    """Return the text of a build file; a byte-order mark is left out.

    Raises:
        BuildError: it is no text.
    """
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BuildError([f"{name} is no text file: {PLAIN_TEXT}"]) from error


def read(text: str, network: Network) -> Build:
    """Read a build from TOML or from a post with one TOML block in it.

    Raises:
        BuildError: with every fault found.
    """
    if len(text) > SIZE_LIMIT:
        raise BuildError([f"the text has {len(text)} characters; a build file has at most {SIZE_LIMIT}"])
    return _Reader(network).read(_document(_block(text.removeprefix("\ufeff"))))


def name_in(text: str) -> str:
    """Return the name that stands in a text, which need not be a build that can be read; empty where there is none."""
    try:
        name = _document(_block(text)).get("name")
    except BuildError:
        return ""
    return name if isinstance(name, str) else ""


def _document(block: str) -> dict[str, Any]:
    try:
        return _unwrapped(_toml(block))
    except _NotTomlError as error:
        plainly = block.translate(_TYPOGRAPHY)
        if plainly != block:
            with contextlib.suppress(_NotTomlError):
                return _unwrapped(_toml(plainly))
        raise BuildError([f"{_NO_BUILD}: {error}"]) from error


class _NotTomlError(ValueError):
    pass


def _unwrapped(document: dict[str, Any]) -> dict[str, Any]:
    """Return a build that stood on one line as it would stand in a file."""
    inside = document.get(ONE_LINE)
    return inside if isinstance(inside, dict) and set(document) == {ONE_LINE} else document


def _toml(text: str) -> dict[str, Any]:
    if _LONG_KEY.search(text):
        raise _NotTomlError(f"a key has more than {_MOST_PARTS} parts")
    try:
        document = tomllib.loads(text)
    except RecursionError as error:
        raise _NotTomlError("it is nested too deeply") from error
    except ValueError as error:  # besides its own error tomllib lets through that of a number with too many digits
        place = re.search(r"\(at line (\d+)", str(error))
        lines = text.strip().splitlines()
        line = text.splitlines()[int(place[1]) - 1].strip() if place else ""
        if lines and "end of document" in str(error):  # no line is numbered then: the text breaks off in the last one
            line = lines[-1].strip()
        raise _NotTomlError(f"{error}" + (f", in the line: {line:.60}" if line else "")) from error
    if fault := _unwritable(document):
        raise _NotTomlError(fault)
    return document


def _unwritable(document: dict[str, Any]) -> str:
    """Say what keeps a document from being written out again, as messages do with each of its values."""
    level: list[Any] = [document]
    for _ in range(_DEEPEST):
        if any(isinstance(value, int) and value.bit_length() > _MOST_BITS for value in level):
            return "a whole number in it has too many digits"
        holders = (
            value.values() if isinstance(value, dict) else value for value in level if isinstance(value, dict | list)
        )
        level = [value for inside in holders for value in inside]
        if not level:
            return ""
    return "it is nested too deeply"


def _block(text: str) -> str:
    """Return the TOML in a post: a fenced block, all from the line ``format = ...`` on, or a build on one line."""
    if _QUOTED_FORMAT_LINE.search(text):
        text = _QUOTE_MARKS.sub("", text)
    for begins, ends in _BLOCKS:
        for body in _between(text, begins, ends):
            if _FORMAT_LINE.search(body):
                return body
    start = _FORMAT_LINE.search(text)
    if start is None and (line := _LINE.search(text)):
        return line[1]
    if start is None or _is_toml(text[: start.start()]):
        return text
    return _before_signature(text[start.start() :])


def _between(text: str, begins: re.Pattern[str], ends: re.Pattern[str]) -> Iterator[str]:
    """Yield what stands between each beginning and the next end; the text is read once."""
    place = 0
    while (begin := begins.search(text, place)) and (end := ends.search(text, begin.end())):
        yield text[begin.end() : end.start()]
        place = end.end()


def _before_signature(text: str) -> str:
    """Cut off what a post says after its build: from the first paragraph on that is no TOML."""
    kept: list[str] = []
    for line in text.splitlines():
        if kept and not kept[-1].strip() and not _TOML_LINE.fullmatch(line):
            break
        kept.append(line)
    return "\n".join(kept) + "\n"


def _is_toml(text: str) -> bool:
    try:
        _toml(text)
    except _NotTomlError:
        return False
    return True


class _Reader:
    def __init__(self, network: Network) -> None:
        self.network = network
        self.faults: list[str] = []
        self.entries: dict[Quantity, Entry] = {}
        self.chosen: dict[Choice, str] = {}
        self.names: dict[Lookup, str] = {}
        self.rows: dict[Series, tuple[NDArray[np.float64], ...]] = {}

    def read(self, document: dict[str, Any]) -> Build:
        version = document.get("format")
        if type(version) is not int or version != FORMAT:
            given = "is missing" if version is None else f"= {_quoted(version)}"
            self.faults.append(f"format {given}: this handbook reads build files with the line 'format = {FORMAT}'")
        for key, value in document.items():
            if key == ESTIMATED:
                continue  # what it lists must have been read
            if key in _TOP_KEYS:
                if key != "format" and not isinstance(value, str):
                    self.faults.append(f"{key} = {_quoted(value)}: expected a text in quotes")
            elif key in part_titles() or key in (MEASURED, RESULTS):
                self._section(MEASURED if key == RESULTS else key, value)
            elif isinstance(value, dict):
                self._unknown(f"[{key:.60}]", [f"[{part}]" for part in (*part_titles(), MEASURED)])
            else:
                self._outside(key, value)
        name, note = (document.get(key) for key in ("name", "note"))
        build = Build(
            name if isinstance(name, str) else "", note if isinstance(note, str) else "",
            self.entries, self.chosen, self.names, self.network, self.rows,
            self._guessed(document.get(ESTIMATED, [])),
        )  # fmt: skip
        self.faults += build.clashes()
        if self.faults:
            raise BuildError(self.faults)
        return build

    def _guessed(self, value: Any) -> frozenset[Choice | Lookup]:
        """Read the list of choices and names that are estimated: each must stand in the file."""
        if not isinstance(value, list) or not all(isinstance(key, str) for key in value):
            self.faults.append(f'{ESTIMATED} = {_quoted(value)}: expected a list of names such as ["plate_support"]')
            return frozenset()
        made: dict[str, Choice | Lookup] = {choice.key: choice for choice in self.chosen}
        made.update({lookup.key: lookup for lookup in self.names})
        for key in (key for key in value if key not in made):
            item = self.network.declared.get(key)
            if isinstance(item, Quantity):
                self.faults.append(
                    f"{ESTIMATED} = {_quoted(key)}: mark a value beside itself, "
                    f"{key} = {{ nominal, low, high, {ESTIMATED} = true }}"
                )
            elif isinstance(item, Choice | Lookup):
                self.faults.append(f"{ESTIMATED} = {_quoted(key)}: the file does not say what it is estimated as")
            else:
                choices = [known.key for known in (*self.network.choices.values(), *self.network.lookups.values())]
                self._unknown(f"{ESTIMATED} = {_quoted(key)}", choices, key)
        return frozenset(made[key] for key in value if key in made)

    def _outside(self, key: str, value: Any) -> None:
        item = self.network.declared.get(key)
        if item is None:
            self._unknown(f"{key:.60} = {_quoted(value)}", (*_TOP_KEYS, ESTIMATED, *self.network.declared), key)
        else:
            self.faults.append(f"{key} = {_quoted(value)}: belongs in the section [{item.part or MEASURED}]")

    def _unknown(self, where: str, known: Iterable[str], key: str | None = None) -> None:
        names = list(known)
        near = self._nearest(key or where, names)
        hint = f"did you mean '{near}'?" if near else f"expected one of {', '.join(names)}"
        self.faults.append(f"{where}: there is no such name here; {hint}")

    def _section(self, section: str, body: Any) -> None:
        if not isinstance(body, dict):
            self.faults.append(f"{section} = {_quoted(body)}: expected a section [{section}] with values below it")
            return
        here = [k for k, known in self.network.declared.items() if (known.part or MEASURED) == section]
        elsewhere = [k for k, known in self.network.declared.items() if (known.part or MEASURED) != section]
        for key, value in body.items():
            where = f"{section}.{key:.60}"
            item = self.network.declared.get(key)
            if item is None:
                near = self._nearest(key, here) or self._nearest(key, elsewhere)
                self._unknown(f"{where} = {_quoted(value)}", [near] if near else here, key)
            elif (item.part or MEASURED) != section:
                self.faults.append(f"{where} = {_quoted(value)}: belongs in the section [{item.part or MEASURED}]")
            elif isinstance(item, Quantity):
                self._quantity(where, item, value)
            elif isinstance(item, Choice):
                self._choice(where, item, value)
            elif isinstance(item, Series):
                self._series(where, item, value)
            else:
                self._name(where, item, value)

    def _nearest(self, name: str, known: Sequence[str]) -> str:
        """Return what was meant, or nothing: the search takes too long for thousands of faults that nobody is told."""
        return _nearest(name, known) if len(self.faults) < MOST_TOLD else ""

    def _choice(self, where: str, choice: Choice, value: Any) -> None:
        if isinstance(value, str) and value in choice.options:
            self.chosen[choice] = value
            return
        near = self._nearest(str(value), list(choice.options))
        hint = f"; did you mean '{near}'?" if near else ""
        options = ", ".join(f"'{option}'" for option in choice.options)
        self.faults.append(f"{where} = {_quoted(value)}: expected one of {options}{hint}")

    def _name(self, where: str, lookup: Lookup, value: Any) -> None:
        try:
            row = read_table(lookup.table).row(str(value)[:60])
        except TableError as error:
            self.faults.append(f"{where} = {_quoted(value)}: {error}")
            return
        outside = misfits(lookup, row)
        self.faults += [f"{where} = {_quoted(value)}: {fault}" for fault in outside]
        if not outside:
            self.names[lookup] = row.name

    def _series(self, where: str, series: Series, value: Any) -> None:
        width = len(series.columns)
        sample = ", ".join(f'"{_sample(q)}"' for q in series.columns)
        if not isinstance(value, list) or not value:
            self.faults.append(f"{where} = {_quoted(value)}: expected rows such as [[{sample}], ...]")
            return
        before = len(self.faults)
        rows = []
        for index, row in enumerate(value, start=1):
            if not isinstance(row, list) or len(row) != width:
                self.faults.append(f"{where}, row {index} = {_quoted(row)}: expected {width} values such as [{sample}]")
            else:
                rows.append(
                    [self._number(f"{where}, row {index}", *pair) for pair in zip(series.columns, row, strict=True)]
                )
        if len(self.faults) > before:
            return
        columns = tuple(np.array(column, dtype=np.float64) for column in zip(*rows, strict=True))
        found = series.check(*columns)
        self.faults += [f"{where}: {fault}" for fault in found]
        if not found:
            self.rows[series] = columns

    def _quantity(self, where: str, quantity: Quantity, value: Any) -> None:
        if isinstance(value, dict):
            self._spread(where, quantity, value)
            return
        nominal = self._number(where, quantity, value)
        if nominal is not None:
            self.entries[quantity] = Entry(nominal)

    def _spread(self, where: str, quantity: Quantity, value: dict[str, Any]) -> None:
        estimated = value.get(ESTIMATED, False)
        if estimated is not False and estimated is not True:
            self.faults.append(f"{where}.{ESTIMATED} = {_quoted(estimated)}: expected true, or no such mark")
            return
        if set(value) - {ESTIMATED} != set(SPREAD):
            found = ", ".join(f"{key:.20}" for key in list(value)[:5]) or "nothing"
            self.faults.append(f"{where} = {{ {found} }}: a spread has exactly the keys nominal, low and high")
            return
        nominal, low, high = (self._number(f"{where}.{key}", quantity, value[key]) for key in SPREAD)
        if nominal is None or low is None or high is None:
            return
        if not low <= nominal <= high or not low < high:
            given = ", ".join(f"{key} = {_quoted(value[key])}" for key in SPREAD)
            self.faults.append(f"{where} = {{ {given} }}: expected low <= nominal <= high with low < high")
            return
        self.entries[quantity] = Entry(nominal, low, high, estimated)

    def _number(self, where: str, quantity: Quantity, value: Any) -> float | None:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            self.faults.append(f'{where} = {_quoted(value)}: expected a text such as "{_sample(quantity)}"')
            return None
        try:
            text = value if isinstance(value, str) else repr(value)
            si = to_si(*(fraction_with_unit(text) or parse_number_with_unit(text)), quantity.unit)
        except UnitError as error:
            self.faults.append(f'{where} = {_quoted(value)} {error}; write it as in "{_sample(quantity)}"')
            return None
        if not math.isfinite(si):
            self.faults.append(f"{where} = {_quoted(value)} is not a finite number")
            return None
        if not within(quantity, si):
            self.faults.append(f"{where} = {_quoted(value)}: {outside_in_words(quantity)}")
            return None
        return si


def _nearest(name: str, known: Sequence[str]) -> str:
    """Return the known name most like ``name``, or one that has it as a word; empty when there is none."""
    near = difflib.get_close_matches(name[:60], known, n=1, cutoff=0.6)
    return next(iter(near or [k for k in known if name in k.split("_")]), "")


def _quoted(value: Any) -> str:
    """Return a value as it would stand in the file, cut to what a message can hold."""
    if isinstance(value, dict):
        return "{ ... }"
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else f"{text[:60]}..."


def _sample(quantity: Quantity) -> str:
    middle = 1.0 if quantity.low is None or quantity.high is None else (quantity.low + quantity.high) / 2
    return with_unit(f"{middle:.3g}", quantity.unit)
