"""Fits the flow law to a maker's own rheometer data: reads the text, tells its faults, and writes a build's lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.optimize import least_squares

from augerbook.chapters.melt.models import viscosity
from augerbook.core.csv_lines import in_order, typed_numbers, typed_rows
from augerbook.core.quantity import Quantity
from augerbook.core.units import number
from augerbook.head.plastic import (
    VISCOSITY_INPUTS,
    activation_energy,
    critical_stress,
    power_index,
    reference_temperature,
    transition,
    wlf_slope,
    wlf_span,
    zero_viscosity,
)

#: What stands above the columns, and what each number may be (the last is exclusive of nonsense, not of surprise).
HEADER = ("rate [1/s]", "temperature [degC]", "viscosity [Pa*s]")
_LIMITS = ((1e-6, 1e7), (-50.0, 450.0), (1e-3, 1e9))
_FEWEST = 4
#: What is fitted, the first two as logarithms, and about how far each moves in a step (SI).
_FITTED, _LOGARITHMS = (zero_viscosity, critical_stress, power_index, activation_energy), 2
_SCALE = (1.0, 1.0, 0.2, 3e4)
#: A parameter that comes so near to its bound, in these scales, has come to rest on it.
_NEAR = 1e-4


def _range_of(quantity: Quantity) -> tuple[float, float]:
    """Return the least and the most (SI) that a build may give, and that the fit may find."""
    low, high = map(quantity.si, quantity.limits)
    if quantity is power_index and transition.low is not None:
        # In Cross's law the transition is 1 less the power index, and a build gives both.
        high = min(high, 1 - transition.low)
    return float(low), float(high)


_RANGES = tuple(_range_of(quantity) for quantity in _FITTED)
#: Bounds of the fit, in the order of `_FITTED`.
_LOW, _HIGH = (
    tuple(math.log(ends[side]) if place < _LOGARITHMS else ends[side] for place, ends in enumerate(_RANGES))
    for side in (0, 1)
)


class DataError(ValueError):
    """Rheometer data that cannot be fitted; the message names each line and the reason."""


class Row(NamedTuple):
    """One measurement in SI: rate (1/s), temperature (K), viscosity (Pa s)."""

    rate: float
    temperature: float
    viscosity: float


@dataclass(frozen=True)
class Fit:
    """What a fit has found.

    Attributes:
        values: the parameters of the flow law in SI, in the order of `melt.VISCOSITY_INPUTS`.
        misfit: root mean square of the relative misfit.
        worst: the largest relative misfit, and the number of its measurement (from 1).
        notes: what the data could not tell, in sentences.
    """

    values: dict[Quantity, float]
    misfit: float
    worst: tuple[float, int]
    notes: tuple[str, ...]

    def viscosity(self, rate: float, temperature: float) -> float:
        """Return the fitted viscosity (Pa s) at a rate (1/s) and a temperature (K)."""
        return float(viscosity(rate, temperature, *(self.values[q] for q in VISCOSITY_INPUTS)))

    def build_lines(self) -> str:
        """Return the lines for the section ``[plastic]`` of a build; take out its ``melt_data``."""
        lines = ["[plastic]"]
        for quantity in VISCOSITY_INPUTS:
            unit = "" if quantity.unit == "1" else f" {quantity.unit}"
            lines.append(f'{quantity.key} = "{number(float(quantity.shown(self.values[quantity])), 4)}{unit}"')
        return "\n".join(lines)


def read_rheometer(text: str) -> list[Row]:
    """Read lines of rate, temperature and viscosity below the header of `HEADER`.

    The columns may be separated by commas, semicolons or tabs, the last two with decimal commas as well. Empty lines
    and lines that begin with '#' are left out.

    Raises:
        DataError: all faults at once, one in a line.
    """
    lines, faults = typed_rows(text)
    if not lines:
        raise DataError(
            "\n".join(faults or [f"no data: expected the header '{', '.join(HEADER)}' and measurements below it"])
        )
    (first, header), *measured = lines
    header = [cell.strip() for cell in header]
    if tuple(header) != HEADER:
        faults.append(f"line {first}: found '{', '.join(header)}', expected the header '{', '.join(HEADER)}'")
    values, unread = typed_numbers(measured, HEADER)
    faults += unread
    full = [(place, cells) for place, cells in measured if len(cells) == len(HEADER)]
    for (place, cells), row in zip(full, values, strict=True):
        for cell, value, name, (low, high) in zip(cells, row, HEADER, _LIMITS, strict=True):
            if math.isfinite(value) and not low <= value <= high:
                faults.append(
                    f"line {place}, {name}: found {cell.strip()}, expected a value between {low:g} and {high:g}"
                )
    if faults:
        raise DataError("\n".join(in_order(faults)))
    return [Row(rate, float(reference_temperature.si(at)), viscosity) for rate, at, viscosity in values.tolist()]


def _on_bounds(found: np.ndarray, quantities: Sequence[Quantity]) -> list[str]:
    """Return a sentence for each of these parameters that has come to rest on a bound."""
    notes = []
    for quantity, place, low, high, scale, ends in zip(_FITTED, found, _LOW, _HIGH, _SCALE, _RANGES, strict=True):
        for bound, end, words in zip((low, high), ends, ("least", "most"), strict=True):
            if quantity in quantities and abs(float(place) - bound) < _NEAR * scale:
                notes.append(
                    f"the {quantity.name_in_words} has stopped at {quantity.text(end)}, the {words} that a build may "
                    "give: what fits best lies beyond it, and the other values make up for that. Look at the units "
                    "and at the misfit; this law may not suit these data"
                )
    return notes


def fit_viscosity(rows: Sequence[Row]) -> Fit:
    """Fit Cross's law, with Arrhenius for the temperature, to measurements by least squares of the logarithms.

    The reference temperature is the middle one of those measured. With one temperature the activation energy stays 0,
    and a note says so. No value leaves what a build may give; a note tells of each that has stopped there.

    Raises:
        DataError: there are too few measurements, or they lie at one rate only.
    """
    if len(rows) < _FEWEST:
        raise DataError(f"{len(rows)} measurements: at least {_FEWEST} are needed for four parameters")
    rate, at, measured = (np.array(column) for column in zip(*rows, strict=True))
    if np.ptp(np.log(rate)) < math.log(3):
        raise DataError("all measurements lie at nearly one rate: thinning shows only over rates that differ threefold")
    different = np.unique(np.round(at, 2))
    reference = float(different[len(different) // 2])
    one_temperature = len(different) < 2

    def values(p: np.ndarray) -> dict[Quantity, float]:
        n = float(p[2])
        return {
            zero_viscosity: math.exp(p[0]), critical_stress: math.exp(p[1]), power_index: n,
            transition: 1 - n, reference_temperature: reference, wlf_slope: 0.0, wlf_span: 100.0,
            activation_energy: 0.0 if one_temperature else float(p[3]),
        }  # fmt: skip

    def misfit(p: np.ndarray) -> np.ndarray:
        return np.log(viscosity(rate, at, *(values(p)[q] for q in VISCOSITY_INPUTS)) / measured)

    start = (float(np.log(measured.max())), math.log(5e4), 0.4, 60e3)
    found = least_squares(misfit, np.clip(start, _LOW, _HIGH), bounds=(_LOW, _HIGH), x_scale=_SCALE)
    left = np.abs(np.expm1(found.fun))
    notes = []
    if one_temperature:
        notes.append("one temperature only: the activation energy is left at 0, the fit holds at that temperature")
    if rate.min() * values(found.x)[zero_viscosity] > values(found.x)[critical_stress]:
        notes.append("all rates lie in the thinning part: the viscosity at rest is extrapolated")
    if rate.max() * values(found.x)[zero_viscosity] < values(found.x)[critical_stress]:
        notes.append("no rate lies well in the thinning part: critical stress and power index are extrapolated")
    notes += _on_bounds(found.x, _FITTED[:-1] if one_temperature else _FITTED)
    return Fit(values(found.x), float(np.sqrt(np.mean(left**2))), (float(left.max()), int(left.argmax()) + 1),
               tuple(notes))  # fmt: skip
