"""A record of dying vibration as people type it: what can be wrong with it, and how it is read from CSV."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from augerbook.core.csv_lines import TypedTableError, in_order, typed_numbers, typed_rows
from augerbook.core.units import number, to_si, unit_fault

Array = NDArray[np.float64]

#: Fewer readings, or fewer crossings of the middle, hold no frequency and damping that could be trusted.
LEAST_SAMPLES, LEAST_CROSSINGS = 12, 4
#: More readings make a build longer than a post can be, and tell no more.
MOST_SAMPLES = 1000
#: So many equal readings in a row at an end of the scale are no crest any more, nor are so many about equal ones
#: (within this share of the range) in crests that should be lower and lower.
_FLAT, _CROWD, _ALIKE = 3, 4, 5e-4
#: The first wave must swing this far, as a share of the largest swing: what comes before the tap does not.
_FIRST_SWING = 0.5
_HEADER = re.compile(
    r"(?P<name>time|displacement|acceleration|reading)(?:\s+[a-z]+)?\s*"
    r"(?:\[(?P<unit>[^\[\]]+)\]|\((?P<bracketed>[^()]+)\))?",
    re.IGNORECASE,
)
_DIGITS = re.compile(r"\s*[+-]?\d+\s*"), re.compile(r"\d+\s*")
#: Readings that lie this near to their middle, as a share of their range, are on neither side of it; beyond the other
#: share they surely swing.
_NEAR, _FAR = 0.02, 0.15
#: What phones call the acceleration of free fall, where a unit that is a mass would be taken for it.
_FREE_FALL = ("g", "gn", "g0", "g_0")
_LAYOUT = (
    "expected a first line 'time [s], acceleration [m/s**2]', 'time [s], displacement [mm]' or 'time [s], reading', "
    "then one line for each reading"
)
_MEASURES = {"displacement": "mm", "acceleration": "m/s**2"}


class DecayRecordError(TypedTableError):
    """A record that cannot be used."""


def decay_record_faults(time: Array, reading: Array) -> list[str]:
    """Return a sentence for each fault of a record, none when frequency and damping can be found from it.

    Args:
        time: when each reading was taken, in s; the steps need not be even.
        reading: acceleration or displacement, in any one unit, about any middle.
    """
    if not (np.isfinite(time).all() and np.isfinite(reading).all()):
        return ["every time and every reading must be a finite number"]
    if len(time) < LEAST_SAMPLES:
        return [f"{len(time)} readings are too few: give at least {LEAST_SAMPLES}, better forty over five waves"]
    if len(time) > MOST_SAMPLES:
        return [
            f"{len(time)} readings are too many: at most {MOST_SAMPLES} are taken. Leave out what comes after the "
            "first ten waves or so, or keep every second or third reading, as long as ten or more are left in a wave"
        ]
    faults = []
    for row, (before, after) in enumerate(pairwise(time), 2):
        if after <= before:
            faults.append(f"row {row}: the time {_ms(after)} does not come after {_ms(before)}: order the rows by time")
    span = float(np.ptp(reading))
    if faults or span == 0:
        return faults or ["all readings are alike: nothing moved, or the sensor did not listen"]
    swing = reading - (reading.max() + reading.min()) / 2
    line = np.polyval(np.polyfit(time - time[0], reading, 1), time - time[0])
    level = max((swing, reading - line), key=_crossings)  # with a drift taken out, or as it is
    for words, end in (("largest", reading.max()), ("smallest", reading.min())):
        if told := _cut_off(reading, level, float(end), span):
            faults.append(
                f"the {words} reading, {number(float(end))}, {told}: the crests are cut off or "
                "rounded too coarsely. Take a wider range of the sensor or a smaller push, or leave the first waves out"
            )
    third = len(swing) // 3
    early, late = (float(np.std(part)) for part in (reading[:third], reading[-third:]))
    if late_by := _begins_before(time, level):
        faults.append(
            f"the vibration sets in {_ms(late_by)} after the record begins: the record begins before the tap. Leave "
            "out what comes before the largest swing"
        )
    elif late >= early:
        faults.append(
            "the vibration grows instead of dying away: begin the record after the push and end it before the next "
            "one; with the motors off. If it really grows by itself, something drives it: switch off"
        )
    crossings = _crossings(level)
    if crossings < LEAST_CROSSINGS and not faults:
        faults.append(
            f"the readings cross their middle {crossings} times, which is less than two waves: record for longer, or "
            "begin sooner after the push"
        )
    return faults


def read_decay_csv(text: str) -> tuple[Array, Array]:
    """Read a record from CSV: one line for each reading with its time, and a displacement or an acceleration.

    The columns may be separated by commas, semicolons or tabs, the last two with decimal commas as well; lines that
    begin with '#' are notes. The unit of the readings does not matter for
    frequency and damping; it is only asked to measure what the header says.

    The time may stand in either column. A phone's header such as 'Time (s)' is read, 'g' is taken for the acceleration
    of free fall, and where commas part both decimals and columns each line must have all four parts.

    Returns:
        Time in s and the readings as they stand, as a build takes them.

    Raises:
        DecayRecordError: with every fault, each naming its line.
    """
    rows, unread = typed_rows(text)
    if not rows:
        raise DecayRecordError(unread or [f"the text is empty: {_LAYOUT}"])
    place, unit = _time_unit(*rows[0])
    names = ("time", "reading") if place == 0 else ("reading", "time")
    joined = _joined(rows[1:])
    if joined is None:
        broken = next(place for place, cells in rows[1:] if len(cells) == 3)
        raise DecayRecordError([
            f"line {broken}: 3 values instead of 2: commas separate both decimals and columns. Write decimal "
            "points, or part the columns with semicolons or tabs"
        ])  # fmt: skip
    values, faults = typed_numbers(joined, names)
    if faults := in_order([*unread, *faults]):
        raise DecayRecordError(faults)
    time, reading = values.T[[place, 1 - place]]
    if len(time) > 1 and (np.diff(reading) > 0).all() and not (np.diff(time) > 0).all():
        raise DecayRecordError([
            f"line {rows[0][0]}: the column called time goes up and down, and the other one only up: their names are "
            "swapped"
        ])  # fmt: skip
    time = time * to_si(1.0, unit, "s")
    found = decay_record_faults(time, reading)
    if found:
        raise DecayRecordError(found)
    return time, reading


def _time_unit(line: int, header: list[str]) -> tuple[int, str]:
    """Return the column of the time and its unit; the header must be one of those that are known."""
    told = f"line {line}: '{', '.join(header):.60}'"
    matches = [_HEADER.fullmatch(cell.strip()) for cell in header]
    found = [match for match in matches if match]
    names = [match["name"].lower() for match in found]
    if len(header) > 2 and "time" in names:
        raise DecayRecordError([
            f"{told}: {len(header)} columns: keep the time and the one reading along the rail, and leave the others out"
        ])  # fmt: skip
    if len(found) != 2 or len(matches) != 2 or names.count("time") != 1:
        raise DecayRecordError([f"{told}: {_LAYOUT}"])
    place = names.index("time")
    unit = ""
    for match, name in zip(found, names, strict=True):
        given = (match["unit"] or match["bracketed"] or "").strip()
        expected = "s" if name == "time" else _MEASURES.get(name, "")
        if not given and name == "time":
            raise DecayRecordError([f"{told}: say the unit of the time, such as 'time [s]' or 'time [ms]'"])
        unit = given if name == "time" else unit
        if not (given and expected) or (name == "acceleration" and given.lower() in _FREE_FALL):
            continue
        if reason := unit_fault(given, expected):
            raise DecayRecordError([f"line {line}: {name} [{given:.30}]: {reason}"])
    return place, unit


def _joined(rows: list[tuple[int, list[str]]]) -> list[tuple[int, list[str]]] | None:
    """Return rows of two cells, decimals put back together where commas parted them too; None where that is unclear."""
    counts = {len(cells) for _, cells in rows}
    whole, part = _DIGITS
    parted = [
        len(cells) in (3, 4)
        and all(whole.fullmatch(c) for c in cells[::2])
        and all(part.fullmatch(c.lstrip()) or (len(cells) == 3 and whole.fullmatch(c)) for c in cells[1::2])
        for _, cells in rows
    ]
    if not rows or 2 in counts or not all(parted):
        return rows
    if 3 in counts:
        return None
    return [(place, [f"{a}.{b}", f"{c}.{d}"]) for place, (a, b, c, d) in rows]


def _crossings(swing: Array) -> int:
    """Return how many times readings cross their middle, what is too near to it left out."""
    return int(np.count_nonzero(np.diff(np.sign(swing[np.abs(swing) > _NEAR * np.ptp(swing)])) != 0))


def _cut_off(reading: Array, level: Array, end: float, span: float) -> str:
    """Say what an end of the scale tells of crests that are cut off; empty where they are not.

    In a vibration that dies away no later crest comes to the height of the largest one.
    """
    away = np.abs(reading - end)
    equal, alike = away <= 1e-9 * span, away <= _ALIKE * span
    if (flat := _longest_run(equal)) >= _FLAT:
        return f"stands {flat} times in a row"
    half_wave = np.cumsum(np.diff(np.sign(level), prepend=np.sign(level[0])) != 0)
    if equal.sum() >= _FLAT and (crests := len(set(half_wave[equal].tolist()))) > 1:
        return f"comes back in {crests} crests"
    if (times := int(alike.sum())) >= _CROWD and (crests := len(set(half_wave[alike].tolist()))) > 1:
        return f"is reached {times} times in {crests} crests"
    return ""


def _begins_before(time: Array, level: Array) -> float:
    """Return by how much (s) the vibration sets in after the record begins; zero where it fills the first wave."""
    largest = int(np.abs(level).argmax())
    after = level[largest:]
    far = np.flatnonzero(np.abs(after) > _FAR * np.ptp(level))  # what is left of the swing later may be noise
    turns = time[largest:][far[1:]][np.diff(np.sign(after[far])) != 0]
    if len(turns) < 2:
        return 0.0
    wave = 2 * float(np.median(np.diff(turns)))
    first = np.abs(level[time <= time[0] + wave]).max()
    return float(time[largest] - time[0]) if first < _FIRST_SWING * np.abs(level[largest]) else 0.0


def _longest_run(marked: NDArray[np.bool_]) -> int:
    longest = run = 0
    for mark in marked:
        run = run + 1 if mark else 0
        longest = max(longest, run)
    return longest


def _ms(seconds: float) -> str:
    return f"{number(float(seconds) * 1e3, 4)} ms"
