"""Granules for a picture: circles with the sizes of the grains that fill a space without lying on each other."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Side of the square of grains that is laid next to itself, in medians.
_TILE = 14.0
#: A circle is held against an edge at these heights, in radii, where it reaches that far.
_HEIGHTS = ((-0.8, 0.6), (0.0, 1.0), (0.8, 0.6))


@dataclass(frozen=True)
class Space:
    """What lies between two edges that are functions of the height: rows (y, x) upwards, and a slope's lengthening."""

    left: Floats
    right: Floats
    steep: float = 1.0

    def holds(self, x: Floats, y: Floats, radius: Floats) -> NDArray[np.bool_]:
        """Which circles lie in it."""
        low, high = self.left[0, 0], self.left[-1, 0]
        inside = (y - radius >= low) & (y <= high)
        for height, reach in _HEIGHTS:
            level = y + height * radius
            near = self.steep * reach * radius
            inside &= x - near >= np.interp(level, self.left[:, 0], self.left[:, 1])
            inside &= x + near <= np.interp(level, self.right[:, 0], self.right[:, 1])
        return inside


def strung(curve: Floats, grain: float, whole: Callable[[float], int]) -> tuple[Floats, float]:
    """Return places (n, 2) of grains side by side along a curve (m, 2) from end to end, and how far they are apart.

    Args:
        curve: close points.
        grain: size of a grain.
        whole: makes their number a whole one: rounds it up, or to the nearest.
    """
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(curve, axis=0).T))])
    count = max(2, 1 + whole(walked[-1] / grain))
    at = np.linspace(0.0, walked[-1], count)
    places = np.column_stack([np.interp(at, walked, curve[:, axis]) for axis in (0, 1)])
    return places, float(walked[-1] / (count - 1))


@lru_cache(maxsize=32)
def _square(spread: float, largest: float) -> tuple[Floats, Floats]:
    """Centres and radii, in medians, of a lognormal heap in a square that fits to itself; the largest laid first."""
    random = np.random.default_rng(7)
    sizes = np.sort(np.clip(np.exp(spread * random.standard_normal(700)), 0.5, largest))[::-1]
    centres, radii = np.empty((0, 2)), np.empty(0)
    for radius in sizes / 2:
        tries = random.random((40, 2)) * _TILE
        off = np.abs(tries[:, None] - centres[None])
        off = np.minimum(off, _TILE - off)
        clear = (np.hypot(off[..., 0], off[..., 1]) - radii >= radius).all(axis=1)
        if clear.any():
            centres, radii = np.vstack([centres, tries[clear.argmax()]]), np.append(radii, radius)
    return centres, radii


def lay_granules(space: Space, median: float, spread: float, largest: float, places: int = 1) -> tuple[Floats, Floats]:
    """Return centres (n, 2) and radii (n,) of granules in a space, in its unit.

    The square of grains is laid at several ``places``: what one leaves empty, another may fill.
    """
    ratio = min(max(largest / median, 1.0), 6.0)
    centres, radii = _square(round(min(max(spread, 0.0), 1.2), 1), round(ratio, 1))
    side = _TILE * median
    edges = np.vstack([space.left, space.right])
    (low_y, low_x), (high_y, high_x) = edges.min(axis=0), edges.max(axis=0)
    laid, sizes = np.empty((0, 2)), np.empty(0)
    for place in range(places):
        right, up = (0.37 * place) % 1.0, (0.61 * place) % 1.0
        columns = np.arange(math.floor(low_x / side - right), math.ceil(high_x / side - right)) + right
        rows = np.arange(math.floor(low_y / side - up), math.ceil(high_y / side - up)) + up
        corners = np.array([(column, row) for column in columns for row in rows]).reshape(-1, 1, 2) * side
        spots = (corners + centres * median).reshape(-1, 2)
        near = (spots[:, 0] > low_x) & (spots[:, 0] < high_x) & (spots[:, 1] > low_y) & (spots[:, 1] < high_y)
        spots, radius = spots[near], np.tile(radii * median, len(corners))[near]
        fits = space.holds(spots[:, 0], spots[:, 1], radius)
        spots, radius = spots[fits], radius[fits]
        if place:
            clear = apart(spots, radius, laid, sizes)
            spots, radius = spots[clear], radius[clear]
        laid, sizes = np.vstack([laid, spots]), np.concatenate([sizes, radius])
    return laid, sizes


def apart(spots: Floats, radii: Floats, others: Floats, other_radii: Floats) -> NDArray[np.bool_]:
    """Which circles touch none of the others."""
    off = spots[:, None] - others[None]
    clear: NDArray[np.bool_] = ((off**2).sum(axis=-1) >= (radii[:, None] + other_radii) ** 2).all(axis=1)
    return clear
