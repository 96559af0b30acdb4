"""Reads a build file and tells every fault at once, in words for the person who typed it."""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from augerbook.build import FORMAT, MEASURED, Build, Entry
from augerbook.core.network import Network
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.units import UnitError, parse_number_with_unit, plain_unit, to_si
from augerbook.subjects.parts import PARTS
from augerbook.tables import TableError, read_table

_SIZE_LIMIT = 64_000
_ROW_LIMIT = 60
_BLOCKS = (
    re.compile(r"```(?:toml)?\s*\n(.*?)```", re.DOTALL),
    re.compile(r"\[code\](.*?)\[/code\]", re.DOTALL),
)
_FORMAT_LINE = re.compile(r"^[ \t]*format[ \t]*=", re.MULTILINE)
_TOP_KEYS = ("format", "name", "note")
_SPREAD_KEYS = ("nominal", "low", "high")


class BuildError(ValueError):
    """A build that cannot be read. ``faults`` holds one sentence each."""

    def __init__(self, faults: Iterable[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(self.faults))


def read(text: str, network: Network) -> Build:
    """Read a build from TOML or from a post with one TOML block in it.

    Raises:
        BuildError: with every fault found.
    """
    if len(text) > _SIZE_LIMIT:
        raise BuildError([f"the text has {len(text)} characters; a build file has at most {_SIZE_LIMIT}"])
    try:
        document = tomllib.loads(_block(text))
    except tomllib.TOMLDecodeError as error:
        raise BuildError([f"this is not a TOML build file: {error}"]) from error
    except RecursionError as error:
        raise BuildError(["this is not a TOML build file: it is nested too deeply"]) from error
    return _Reader(network).read(document)


def _block(text: str) -> str:
    """Return the TOML in a post: a fenced block, or all from the line ``format = ...`` on."""
    for pattern in _BLOCKS:
        for body in pattern.findall(text):
            if _FORMAT_LINE.search(body):
                return str(body)
    start = _FORMAT_LINE.search(text)
    if start is None or _is_toml(text[: start.start()]):
        return text
    return text[start.start() :]


def _is_toml(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
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
        if document.get("format") != FORMAT:
            given = document.get("format", "nothing")
            self.faults.append(
                f"format = {given!s:.40}: this handbook reads build files with the line 'format = {FORMAT}'"
            )
        for key, value in document.items():
            if key in _TOP_KEYS:
                if key != "format" and not isinstance(value, str):
                    self.faults.append(f"{key}: expected a text in quotes")
            elif not isinstance(value, dict):
                self._unknown(key, _TOP_KEYS, "outside the sections")
            elif key in PARTS or key == MEASURED:
                self._section(key, value)
            else:
                self._unknown(f"[{key}]", [f"[{part}]" for part in (*PARTS, MEASURED)], "as a section")
        name, note = (str(document.get(key) or "")[:200] for key in ("name", "note"))
        build = Build(name or "unnamed build", note, self.entries, self.chosen, self.names, self.network, self.rows)
        if not self.faults:
            self.faults += build.clashes()
        if self.faults:
            raise BuildError(self.faults)
        return build

    def _unknown(self, key: str, known: Iterable[str], where: str) -> None:
        near = difflib.get_close_matches(key, list(known), n=1, cutoff=0.5)
        hint = f"; did you mean '{near[0]}'?" if near else ""
        self.faults.append(f"'{key:.60}' is not known {where}{hint}")

    def _section(self, section: str, body: dict[str, Any]) -> None:
        for key, value in body.items():
            where = f"{section}.{key:.60}"
            item = self.network.declared.get(key)
            if item is None:
                self._unknown(key, self.network.declared, f"in [{section}]")
            elif (item.part or MEASURED) != section:
                self.faults.append(f"{where}: belongs in the section [{item.part or MEASURED}]")
            elif isinstance(item, Quantity):
                self._quantity(where, item, value)
            elif isinstance(item, Choice):
                self._choice(where, item, value)
            elif isinstance(item, Series):
                self._series(where, item, value)
            else:
                self._name(where, item, value)

    def _choice(self, where: str, choice: Choice, value: Any) -> None:
        if value in choice.options:
            self.chosen[choice] = value
            return
        options = ", ".join(f"'{option}'" for option in choice.options)
        self.faults.append(f"{where} = {value!r:.60}: expected one of {options}")

    def _name(self, where: str, lookup: Lookup, value: Any) -> None:
        try:
            read_table(lookup.table).row(str(value))
        except TableError as error:
            self.faults.append(f"{where} = {value!r:.60}: {error}")
        else:
            self.names[lookup] = str(value)

    def _series(self, where: str, series: Series, value: Any) -> None:
        width = len(series.columns)
        sample = ", ".join(f'"{_sample(q)}"' for q in series.columns)
        if not isinstance(value, list) or not 1 <= len(value) <= _ROW_LIMIT:
            self.faults.append(f"{where}: expected 1 to {_ROW_LIMIT} rows such as [[{sample}], ...]")
            return
        before = len(self.faults)
        rows = []
        for index, row in enumerate(value, start=1):
            if not isinstance(row, list) or len(row) != width:
                self.faults.append(f"{where}, row {index}: expected {width} values such as [{sample}]")
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
        if set(value) != set(_SPREAD_KEYS):
            self.faults.append(f"{where}: a spread has exactly the keys nominal, low and high")
            return
        nominal, low, high = (self._number(f"{where}.{key}", quantity, value[key]) for key in _SPREAD_KEYS)
        if nominal is None or low is None or high is None:
            return
        if not low <= nominal <= high or not low < high:
            self.faults.append(f"{where}: expected low <= nominal <= high with low < high")
            return
        self.entries[quantity] = Entry(nominal, low, high)

    def _number(self, where: str, quantity: Quantity, value: Any) -> float | None:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            self.faults.append(f'{where}: expected a text such as "{_sample(quantity)}"')
            return None
        text = value if isinstance(value, str) else repr(value)
        try:
            number, unit = parse_number_with_unit(text)
        except UnitError as error:
            self.faults.append(f"{where}: {error}")
            return None
        try:
            si = to_si(number, unit, quantity.unit)
        except UnitError as error:
            self.faults.append(f'{where} = "{text}" {error}, such as "{_sample(quantity)}"')
            return None
        return si if self._plausible(where, text, quantity, si) else None

    def _plausible(self, where: str, text: str, quantity: Quantity, si: float) -> bool:
        shown = float(quantity.shown(si))
        if not math.isfinite(shown):
            self.faults.append(f'{where} = "{text}": expected a finite number')
            return False
        if quantity.low is None or quantity.high is None:
            if quantity.is_positive and shown <= 0:
                self.faults.append(f'{where} = "{text}": expected a value above zero')
                return False
            return True
        # Twelve digits are written: a value at the very end of its range must not fail for the thirteenth.
        slack = 1e-9 * (quantity.high - quantity.low)
        if quantity.low - slack <= shown <= quantity.high + slack:
            return True
        unit = plain_unit(quantity.unit)
        self.faults.append(
            f'{where} = "{text}": expected {quantity.low:g} to {quantity.high:g} {unit}'.rstrip()
            + f" for the {quantity.meaning}"
        )
        return False


def _sample(quantity: Quantity) -> str:
    middle = 1.0 if quantity.low is None or quantity.high is None else (quantity.low + quantity.high) / 2
    return f"{middle:.3g} {plain_unit(quantity.unit)}".strip()
