"""How large the grains are, by mass: from a sieve table, or from a lognormal law that a sieve has cut.

Both kinds answer the same questions. Sizes are mesh widths in metres; shares are fractions of the mass. A power
of the size weighs the grains anew: 0 by mass, -2 by the area they show in a cut, -3 by their number.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import least_squares
from scipy.special import log_ndtr, ndtri_exp

Array = NDArray[np.float64]

#: The pan of a sieve table holds grains down to this share of its finest mesh (judgement). Spread evenly over the
#: logarithm of size, their harmonic mean is then nearly half that mesh, as textbooks take it.
PAN_FLOOR = 0.25
#: Bounds of the fitted laws: sizes in parts of the coarsest mesh, then spread and exponent.
_SIZE_BOUNDS, _SPREAD_BOUNDS, _EXPONENT_BOUNDS = (0.02, 1.0), (0.03, 2.0), (0.3, 25.0)


class Sizes(Protocol):
    """What any description of the sizes can say; arguments broadcast.

    Attributes:
        coarsest: mesh up to which the sizes are known, in m.
        finest: size below which there is no grain, in m.
    """

    coarsest: Array
    finest: Array

    def share_below(self, size: ArrayLike, power: int = 0) -> Array:
        """Return the share of the grains smaller than ``size``, weighed by mass * size ** power."""

    def mean_power(self, power: int) -> Array:
        """Return the mean of size ** power by mass."""

    def size_at(self, share: ArrayLike, power: int = 0) -> Array:
        """Return the size that ``share`` of the grains stays below, weighed by mass * size ** power."""


class SievedSizes:
    """Sizes from a sieve table, the mass of each class spread evenly over the logarithm of size.

    Weighed by size ** k, the mass below a size is then straight in size ** k / k (in the logarithm for k = 0) from
    mesh to mesh: all questions are interpolations.

    Args:
        mesh: mesh of each sieve in m, from coarse to fine; the last is the pan, 0.
        share: share of the mass that stays on each; the first 0.
        cut: mesh that all grains have passed, in m; what the table has above it is left out.
    """

    def __init__(self, mesh: ArrayLike, share: ArrayLike, cut: ArrayLike = np.inf) -> None:
        self._edges = np.array(mesh, dtype=np.float64)[::-1]
        self._edges[0] = PAN_FLOOR * self._edges[1]
        mass = np.asarray(share, dtype=np.float64)[:0:-1]
        self._density = mass / mass.sum() / np.diff(np.log(self._edges))
        self._cut = np.minimum(cut, self._edges[-1])
        self.coarsest, self.finest = self._edges[-1], self._edges[int(np.argmax(mass > 0))]
        self._curves: dict[int, tuple[Array, Array]] = {}

    def _curve(self, power: int) -> tuple[Array, Array]:
        """Return the scale on which the mass below, weighed by size ** power, is straight; and that mass."""
        if power not in self._curves:
            scale = _straightened(self._edges, power)
            self._curves[power] = scale, np.concatenate([[0.0], np.cumsum(self._density * np.diff(scale))])
        return self._curves[power]

    def _below(self, size: ArrayLike, power: int) -> Array:
        return np.asarray(np.interp(_straightened(np.asarray(size, dtype=np.float64), power), *self._curve(power)))

    def share_below(self, size: ArrayLike, power: int = 0) -> Array:
        """Return the share of the grains smaller than ``size`` (m), weighed by mass * size ** power."""
        return np.asarray(self._below(np.minimum(size, self._cut), power) / self._below(self._cut, power))

    def mean_power(self, power: int) -> Array:
        """Return the mean of size ** power by mass, in m ** power."""
        return np.asarray(self._below(self._cut, power) / self._below(self._cut, 0))

    def size_at(self, share: ArrayLike, power: int = 0) -> Array:
        """Return the size (m) that ``share`` of the grains stays below, weighed by mass * size ** power."""
        scale, below = self._curve(power)
        reached = np.interp(np.asarray(share) * self._below(self._cut, power), below, scale)
        return np.asarray(np.exp(reached) if power == 0 else (power * reached) ** (1 / power))


def _straightened(size: Array, power: int) -> Array:
    return np.asarray(np.log(size) if power == 0 else size**power / power)


def sieved_sizes(columns: tuple[Array, Array], cut: ArrayLike) -> SievedSizes:
    """Return the sizes of a sieve table; the models of one build share them."""
    if np.ndim(cut) > 0:
        return SievedSizes(*columns, cut)
    return _sieved_sizes(*(tuple(column.tolist()) for column in columns), float(np.asarray(cut)))


# A table changes seldom, the values around it at every move of a slider: sizes and fits are kept.
@lru_cache(maxsize=64)
def _sieved_sizes(mesh: tuple[float, ...], share: tuple[float, ...], cut: float) -> SievedSizes:
    return SievedSizes(mesh, share, cut)


class LognormalSizes:
    """Sizes of a lognormal law by mass, cut off at a mesh.

    Logarithms of probabilities are used throughout: where the cut lies far below the median, they stay exact.

    Args:
        median: median by mass before the cut, in m.
        spread: standard deviation of the natural logarithm of size before the cut.
        cut: mesh that all grains have passed, in m.
    """

    def __init__(self, median: ArrayLike, spread: ArrayLike, cut: ArrayLike = np.inf) -> None:
        self._median, self._spread = np.asarray(median, dtype=np.float64), np.asarray(spread, dtype=np.float64)
        self._cut = np.asarray(cut, dtype=np.float64)
        self._reach = np.log(self._cut / self._median) / self._spread
        self.coarsest, self.finest = self._cut, np.zeros_like(self._cut)

    def share_below(self, size: ArrayLike, power: int = 0) -> Array:
        """Return the share of the grains smaller than ``size`` (m), weighed by mass * size ** power."""
        smaller = np.minimum(np.asarray(size, dtype=np.float64), self._cut)
        place, tilt = np.log(smaller / self._median) / self._spread, power * self._spread
        return np.asarray(np.exp(log_ndtr(place - tilt) - log_ndtr(self._reach - tilt)))

    def mean_power(self, power: int) -> Array:
        """Return the mean of size ** power by mass, in m ** power."""
        tilt = power * self._spread
        return np.asarray(
            self._median**power * np.exp(tilt**2 / 2 + log_ndtr(self._reach - tilt) - log_ndtr(self._reach))
        )

    def size_at(self, share: ArrayLike, power: int = 0) -> Array:
        """Return the size (m) that ``share`` of the grains stays below, weighed by mass * size ** power."""
        tilt = power * self._spread
        place = ndtri_exp(np.log(np.asarray(share, dtype=np.float64)) + log_ndtr(self._reach - tilt))
        return np.asarray(self._median * np.exp(self._spread * (tilt + place)))


def flakes_wider_than(size: ArrayLike, sizes: Sizes, thickness: ArrayLike, *, power: int) -> Array:
    """Return the mean by mass of volume ** power, flakes up to ``size`` left out, in m ** (3 * power).

    Each flake holds what a round disc as wide as its mesh does, or a ball of that mesh if that is less. So a power of 1
    gives the mean volume (from size 0 on), and -1 how many flakes there are in each volume of plastic.

    Args:
        size, thickness: in m.
    """
    ball, disc = np.pi / 6, np.pi / 4 * np.asarray(thickness)
    narrow = np.asarray(size, dtype=np.float64)
    # Where ball * x**3 and disc * x**2 are the same.
    wide = np.maximum(narrow, disc / ball)

    def between(low: ArrayLike, high: ArrayLike, exponent: int) -> Array:
        return sizes.mean_power(exponent) * (sizes.share_below(high, exponent) - sizes.share_below(low, exponent))

    balls, discs = between(narrow, wide, 3 * power), between(wide, np.inf, 2 * power)
    return np.asarray(ball**power * balls + disc**power * discs)


def rosin_rammler_below(size: ArrayLike, scale: ArrayLike, exponent: ArrayLike, cut: ArrayLike = np.inf) -> Array:
    """Return the share of the mass below ``size`` after Rosin and Rammler, cut off at a mesh.

    Args:
        size, cut: in m.
        scale: size that 63.2 % of the mass stays below before the cut, in m.
        exponent: the larger, the more even the grains.
    """
    smaller, all_of_it = (np.minimum(s, cut) / np.asarray(scale) for s in (np.asarray(size), np.asarray(cut)))
    return np.asarray(np.expm1(-(smaller ** np.asarray(exponent))) / np.expm1(-(all_of_it ** np.asarray(exponent))))


def fit_lognormal(columns: tuple[Array, Array]) -> tuple[float, float, float]:
    """Fit a lognormal law, cut at the coarsest mesh, to a sieve table.

    Returns:
        Median in m and spread before the cut, and the largest difference of the shares below a mesh.
    """
    return _fit_lognormal(*(tuple(column.tolist()) for column in columns))


def fit_rosin_rammler(columns: tuple[Array, Array]) -> tuple[float, float, float]:
    """Fit Rosin and Rammler's law, cut at the coarsest mesh, to a sieve table.

    Returns:
        Scale in m and exponent before the cut, and the largest difference of the shares below a mesh.
    """
    return _fit_rosin_rammler(*(tuple(column.tolist()) for column in columns))


@lru_cache(maxsize=64)
def _fit_lognormal(mesh: tuple[float, ...], share: tuple[float, ...]) -> tuple[float, float, float]:
    def law(size: Array, scale: float, shape: float) -> Array:
        return LognormalSizes(scale, shape, mesh[0]).share_below(size)

    return _fit(law, mesh, share, shape_start=0.5, shape_bounds=_SPREAD_BOUNDS)


@lru_cache(maxsize=64)
def _fit_rosin_rammler(mesh: tuple[float, ...], share: tuple[float, ...]) -> tuple[float, float, float]:
    def law(size: Array, scale: float, shape: float) -> Array:
        return rosin_rammler_below(size, scale, shape, mesh[0])

    return _fit(law, mesh, share, shape_start=2.0, shape_bounds=_EXPONENT_BOUNDS)


class _Law(Protocol):
    def __call__(self, size: Array, scale: float, shape: float) -> Array: ...


def below_meshes(share: ArrayLike) -> Array:
    """Return the share of the mass below each mesh of a sieve table, the pan left out.

    Args:
        share: of the mass that stays on each mesh, the coarsest first, the pan last; their sum may miss one.
    """
    return np.asarray(1 - np.cumsum(share)[:-1] / np.sum(share))


def _fit(
    law: _Law,
    mesh: tuple[float, ...],
    share: tuple[float, ...],
    *,
    shape_start: float,
    shape_bounds: tuple[float, float],
) -> tuple[float, float, float]:
    """Least squares of the shares below each mesh, over the logarithms of scale and shape."""
    inner = np.array(mesh[1:-1])
    below = below_meshes(share)[1:]
    start = float(SievedSizes(mesh, share).size_at(0.5))
    lower = np.log([_SIZE_BOUNDS[0] * mesh[0], shape_bounds[0]])
    upper = np.log([_SIZE_BOUNDS[1] * mesh[0], shape_bounds[1]])
    guess = np.clip(np.log([start, shape_start]), lower + 1e-9, upper - 1e-9)
    found = least_squares(lambda p: law(inner, *np.exp(p)) - below, guess, bounds=(lower, upper), xtol=1e-12)
    scale, shape = np.exp(found.x)
    return float(scale), float(shape), float(np.abs(found.fun).max())
