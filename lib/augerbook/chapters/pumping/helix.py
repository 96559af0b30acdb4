"""By how much a real screw departs from a film that is flat everywhere: factors from finite elements.

Lubrication takes the film as locally flat and unwraps it into a plane. Flanks of 30 degrees and a deep ring are
neither. A table holds what Stokes' equations on the helix give over what lubrication gives, for drag, back flow and
torque of a centred screw. Between its screws the logarithms of the factors are interpolated evenly, over the logarithms
of gap and pitch, over depth and angle. A rod without a flight is a flat film: there the factors are one.
"""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RegularGridInterpolator

from augerbook.tables import read_table

Array = NDArray[np.float64]

TABLE = "helix_factors"
#: Where the table's screws lie: sizes over the radius of the bore, then the angle of a flank.
AXES = ("tip_gap_over_radius", "depth_over_radius", "pitch_over_radius", "flank_half_angle")
#: How far the table reaches on each axis, as numbers and as degrees; and by what share a screw may lie beyond an end:
#: the factors change by a few per cent over that, which is no more than the interpolation is off.
REACH = {AXES[0]: (0.03, 0.5), AXES[1]: (0.0, 0.46), AXES[2]: (0.3, 1.4), AXES[3]: (15.0, 45.0)}
BEYOND = 1 / 5
FACTORS = ("drag_factor", "back_factor", "torque_factor")


class Factors(NamedTuple):
    """What the helix makes of drag, back flow and torque, over lubrication; plain numbers."""

    drag: Any
    back: Any
    torque: Any


def _even(tip_gap: Any, depth: Any, pitch: Any, angle: Any) -> Array:
    """Return the coordinates on which the table is interpolated, (..., 4)."""
    plain = (np.asarray(value, dtype=np.float64) for value in (tip_gap, depth, pitch, angle))
    gap, deep, lead, slope = plain
    return np.stack(np.broadcast_arrays(np.log(gap), deep, np.log(lead), slope), axis=-1)


@cache
def _interpolator() -> RegularGridInterpolator:
    rows = list(read_table(TABLE).rows.values())
    places = np.array([[row.si(axis) for axis in AXES] for row in rows])
    found = np.log(np.array([[row.si(factor) for factor in FACTORS] for row in rows], dtype=np.float64))
    axes = [np.unique(column) for column in places.T]
    axes[1] = np.concatenate([[0.0], axes[1]])
    grid = np.full((*(axis.size for axis in axes), len(FACTORS)), np.nan)
    grid[tuple(np.searchsorted(axis, column) for axis, column in zip(axes, places.T, strict=True))] = found
    grid[:, 0] = 0.0
    return RegularGridInterpolator((np.log(axes[0]), axes[1], np.log(axes[2]), axes[3]), grid)


def helix_factors(tip_gap: Any, depth: Any, pitch: Any, flank_angle: Any, radius: Any) -> Factors:
    """Return the factors for a centred screw in a bore of that radius; lengths in m, the angle in rad, broadcast.

    A screw beyond the table counts as the nearest one in it.
    """
    at = _even(tip_gap / radius, depth / radius, pitch / radius, flank_angle)
    table = _interpolator()
    low, high = (np.array([axis[end] for axis in table.grid]) for end in (0, -1))
    # An input that is not defined stays so; the interpolator would refuse it.
    known = np.asarray(np.isfinite(at))
    inside = np.where(known, np.clip(at, low, high), low)
    found = np.where(np.asarray(known.all(axis=-1))[..., None], np.exp(table(inside)), np.nan)
    return Factors(*np.moveaxis(found, -1, 0))
