"""Weighed runs as people type them, and what can be wrong with them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from augerbook.core.units import number

#: A run this many times away from the median, up or down, is a slip of the pen or another unit.
_FAR = 3.0


def weighing_faults(mass: NDArray[np.float64]) -> list[str]:
    """Return a sentence for each fault of a list of weighed runs, none when it is sound.

    Args:
        mass: what came out of each run in kg, shape (n,).
    """
    if not np.isfinite(mass).all():
        return ["every mass must be a finite number"]
    if len(mass) < 2:
        return [f"{len(mass)} weighing(s) say nothing about how far runs differ: weigh at least two, better five"]
    faults = [
        f"row {row}: the mass {_grams(m)} is not above zero: leave out a run that delivered nothing, and look why"
        for row, m in enumerate(mass, 1)
        if m <= 0
    ]
    if faults:
        return faults
    middle = float(np.median(mass))
    return [
        f"row {row}: the mass {_grams(m)} is more than three times away from the others, about {_grams(middle)}: "
        "look for a slipped decimal point, or leave the run out and say so"
        for row, m in enumerate(mass, 1)
        if not middle / _FAR <= m <= middle * _FAR
    ]


def _grams(kilograms: float) -> str:
    return f"{number(float(kilograms) * 1e3)} g"
