"""A record of dying vibration as people type it: what can be wrong with it, and how it is read from CSV."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from augerbook.core.csv_lines import in_order, typed_numbers, typed_rows
from augerbook.core.units import number, to_si, unit_fault

Array = NDArray[np.float64]

#: Fewer readings, or fewer crossings of the middle, hold no frequency and damping that could be trusted.
LEAST_SAMPLES, LEAST_CROSSINGS = 12, 4
#: So many equal readings in a row at an end of the scale are no crest any more.
_FLAT = 3
_HEADER = re.compile(r"(?P<name>time|displacement|acceleration|reading)\s*(?:\[(?P<unit>[^\[\]]+)\])?")
_LAYOUT = (
    "expected a first line 'time [s], acceleration [m/s**2]', 'time [s], displacement [mm]' or 'time [s], reading', "
    "then one line for each reading"
)
_MEASURES = {"displacement": "mm", "acceleration": "m/s**2"}


class DecayRecordError(ValueError):
    """A record that cannot be used. ``faults`` holds one sentence each."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(faults))


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
    faults = []
    for row, (before, after) in enumerate(pairwise(time), 2):
        if after <= before:
            faults.append(f"row {row}: the time {_ms(after)} does not come after {_ms(before)}: order the rows by time")
    span = float(np.ptp(reading))
    if faults or span == 0:
        return faults or ["all readings are alike: nothing moved, or the sensor did not listen"]
    for words, end in (("largest", reading.max()), ("smallest", reading.min())):
        if (flat := _longest_run(np.abs(reading - end) <= 1e-9 * span)) >= _FLAT:
            faults.append(
                f"the {words} reading, {number(float(end))}, stands {flat} times in a row: the crests are cut off or "
                "rounded too coarsely. Take a wider range of the sensor or a smaller push, or leave the first waves out"
            )
    swing = reading - (reading.max() + reading.min()) / 2
    third = len(swing) // 3
    early, late = (float(np.std(part)) for part in (reading[:third], reading[-third:]))
    if late >= early:
        faults.append(
            "the vibration grows instead of dying away: begin the record after the push and end it before the next "
            "one; with the motors off. If it really grows by itself, something drives it: switch off"
        )
    crossings = int(np.count_nonzero(np.diff(np.sign(swing[np.abs(swing) > 0.02 * span])) != 0))
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

    Returns:
        Time in s and the readings as they stand, as a build takes them.

    Raises:
        DecayRecordError: with every fault, each naming its line.
    """
    rows, unread = typed_rows(text)
    if not rows:
        raise DecayRecordError(unread or [f"the text is empty: {_LAYOUT}"])
    unit = _time_unit(rows[0][1])
    values, faults = typed_numbers(rows[1:], ("time", "reading"))
    if faults := in_order([*unread, *faults]):
        raise DecayRecordError(faults)
    time, reading = values.T
    time = time * to_si(1.0, unit, "s")
    found = decay_record_faults(time, reading)
    if found:
        raise DecayRecordError(found)
    return time, reading


def _time_unit(header: list[str]) -> str:
    """Return the unit of the time; the header must be one of those that are known."""
    told = f"line 1: '{', '.join(header):.60}'"
    matches = [_HEADER.fullmatch(cell.strip()) for cell in header]
    found = [match for match in matches if match]
    if len(found) != 2 or len(matches) != 2 or found[0]["name"] != "time" or found[1]["name"] == "time":
        raise DecayRecordError([f"{told}: {_LAYOUT}"])
    for match, expected in zip(found, ("s", _MEASURES.get(found[1]["name"], "")), strict=True):
        given = (match["unit"] or "").strip()
        if not given and match["name"] == "time":
            raise DecayRecordError([f"{told}: say the unit of the time, such as 'time [s]' or 'time [ms]'"])
        if not (given and expected):
            continue
        if reason := unit_fault(given, expected):
            raise DecayRecordError([f"line 1: {match['name']} [{given:.30}]: {reason}"])
    return str(found[0]["unit"]).strip()


def _longest_run(marked: NDArray[np.bool_]) -> int:
    longest = run = 0
    for mark in marked:
        run = run + 1 if mark else 0
        longest = max(longest, run)
    return longest


def _ms(seconds: float) -> str:
    return f"{number(float(seconds) * 1e3, 4)} ms"
