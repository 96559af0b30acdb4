"""Numbers behind the bearing plate that have no closed form: series for rectangles, and finite-element coefficients.

The coefficients are the only numbers here that were computed beforehand. Each table says how; the tests
``tests/chapters/test_plate_fem.py`` and ``tests/chapters/test_plate_shear.py`` compute them again.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import RegularGridInterpolator
from scipy.special import zeta

Array = NDArray[np.float64]

#: Odd terms of the series. The short side is the first one, so that each is smaller than the last by exp(pi).
_TERMS = np.arange(1, 25, 2)

# Finite elements: scikit-fem, ElementTriMorley (thin plate), a quarter of the plate with two planes of symmetry, the
# seat a rigid disc that stays level, Poisson's ratio 0.3 (0.25 and 0.36 change deflections by 2 % and stresses by 1 %).
# Meshes of 48 and 96 elements on the short half-side: deflections extrapolated from both with the square of the element
# size, stresses from the finer one, right within 2 %.
# Deflection: w D / (F l^2) for bolts and posts; for the strip over that of a wide beam, F l^3 / (48 D w).
# Stress: largest bending stress times t^2 / F for bolts and posts; for the strip over 1.5 F l / (w t^2). Where a post
# holds a point the stress of a thin plate has no bound: that spot is left out.

#: Seat diameter over span, the columns of every table below.
SEAT_OVER_SPAN = (0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5)
#: How far the plate reaches beyond the bolts, in spans. From 0.1 to 0.25 it changes the deflection by 5 % with
#: bolts and by 10 % with posts, softer with less.
OVERHANG = 0.15

#: Four bolts whose heads hold the plate flat, by head diameter over span.
HEAD_OVER_SPAN = (0.10, 0.15, 0.20)
_BOLTS_DEFLECTION = (
    (0.01059, 0.00955, 0.00851, 0.00753, 0.00661, 0.00577, 0.00500, 0.00432, 0.00371),
    (0.00940, 0.00841, 0.00744, 0.00653, 0.00569, 0.00492, 0.00423, 0.00362, 0.00307),
    (0.00835, 0.00742, 0.00652, 0.00567, 0.00490, 0.00420, 0.00357, 0.00302, 0.00253),
)
_BOLTS_STRESS = (
    (2.66, 2.60, 2.50, 2.42, 2.31, 2.21, 2.10, 1.99, 1.89),
    (2.15, 2.09, 2.02, 1.94, 1.85, 1.76, 1.67, 1.58, 1.49),
    (2.07, 1.76, 1.70, 1.63, 1.55, 1.47, 1.39, 1.31, 1.23),
)
#: Four posts that hold the plate at points and tilt with it.
_POSTS_DEFLECTION = (0.02663, 0.02480, 0.02285, 0.02086, 0.01890, 0.01700, 0.01519, 0.01349, 0.01189)
_POSTS_STRESS = (2.82, 2.47, 2.20, 1.99, 1.83, 1.71, 1.61, 1.52, 1.44)

#: A strip on two supported edges, by width over span.
WIDTH_OVER_SPAN = (0.6, 0.8, 1.0, 1.5)
_STRIP_DEFLECTION = (
    (0.915, 0.801, 0.680, 0.565, 0.461, 0.371, 0.294, 0.229, 0.175),
    (0.945, 0.844, 0.735, 0.624, 0.520, 0.424, 0.340, 0.267, 0.205),
    (0.991, 0.894, 0.787, 0.679, 0.574, 0.476, 0.387, 0.307, 0.238),
    (1.193, 1.079, 0.958, 0.837, 0.719, 0.606, 0.502, 0.407, 0.322),
)
_STRIP_STRESS = (
    (2.78, 2.43, 2.12, 1.83, 1.58, 1.38, 1.21, 1.07, 0.94),
    (2.90, 2.57, 2.30, 2.04, 1.80, 1.59, 1.41, 1.25, 1.10),
    (3.04, 2.73, 2.46, 2.22, 1.99, 1.78, 1.60, 1.44, 1.28),
    (3.70, 3.28, 2.97, 2.71, 2.47, 2.25, 2.06, 1.89, 1.73),
)

# How far plates shear, over F / (2 pi kappa G t) with kappa = 5/6: a round one has ln(span / seat). Finite elements:
# scikit-fem, quadratic triangles, the plate of Reissner and Mindlin, meshes of 32 elements on the shorter half side.
# What it sinks beyond the thin plate of the tables above at a thickness of half the free width. Thinner plates have a
# larger share of it (edges and bolt heads make a plate softer in proportion to its thickness, shear with the square of
# it): there bending and shear together come out up to 5 % too stiff against these elements, 4 % against solid bodies.
# Posts press along a circle of a tenth of the span, since points would shear without bound.
_STRIP_SHEAR = (
    (3.925, 4.045, 4.192, 4.155, 3.920, 3.531, 3.103, 2.700, 2.330),
    (3.182, 3.060, 3.049, 3.061, 2.978, 2.825, 2.578, 2.304, 2.031),
    (2.884, 2.627, 2.525, 2.468, 2.414, 2.319, 2.178, 2.023, 1.839),
    (2.755, 2.405, 2.185, 2.028, 1.910, 1.817, 1.714, 1.609, 1.499),
)
_BOLTS_SHEAR = (
    (4.267, 3.879, 3.594, 3.358, 3.160, 2.982, 2.830, 2.679, 2.542),
    (3.910, 3.513, 3.215, 2.970, 2.758, 2.574, 2.406, 2.245, 2.107),
    (3.647, 3.241, 2.932, 2.686, 2.469, 2.279, 2.113, 1.953, 1.815),
)
_POSTS_SHEAR = (3.168, 2.771, 2.481, 2.263, 2.084, 1.939, 1.819, 1.711, 1.639)
#: Sides of a rectangle held all round, short over long. Its shear reach is ln(2 radius / seat), with a radius over its
#: short side that hardly depends on the seat: found with one of 0.3 short sides, from 0.1 to 0.5 right within 10 % on
#: supported edges and 3 % on clamped ones.
SHORT_OVER_LONG = (0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
_SUPPORTED_RADIUS = (0.971, 0.976, 1.006, 1.055, 1.086, 1.075, 1.023, 0.944, 0.856)
_CLAMPED_RADIUS = (0.776, 0.776, 0.776, 0.770, 0.747, 0.706, 0.658, 0.613, 0.577)


def _between(rows: tuple[float, ...], table: tuple[tuple[float, ...], ...]) -> RegularGridInterpolator:
    return RegularGridInterpolator((rows, SEAT_OVER_SPAN), np.array(table), bounds_error=False, fill_value=np.nan)


def _rounded(*ratios: ArrayLike) -> Array:
    # 10 mm over 100 mm is a hair below 0.1 in floats: it must not fall off the table.
    return np.round(np.stack(ratios, axis=-1), 9)


_BOLTS = tuple(_between(HEAD_OVER_SPAN, table) for table in (_BOLTS_DEFLECTION, _BOLTS_STRESS, _BOLTS_SHEAR))
_STRIP = tuple(_between(WIDTH_OVER_SPAN, table) for table in (_STRIP_DEFLECTION, _STRIP_STRESS, _STRIP_SHEAR))
_POSTS = (_POSTS_DEFLECTION, _POSTS_STRESS, _POSTS_SHEAR)


def bolt_coefficients(span: ArrayLike, seat: ArrayLike, head: ArrayLike) -> tuple[Array, Array, Array]:
    """Return deflection and stress coefficient and shear reach of a plate on four bolts, NaN outside the table.

    Args:
        span, seat, head: side of the bolt square, diameter of the seat, diameter of the heads, in m.
    """
    span, seat, head = np.broadcast_arrays(span, seat, head)
    at = _rounded(head / span, seat / span)
    deflection, stress, shear = (table(at).reshape(span.shape) for table in _BOLTS)
    return deflection, stress, shear


def post_coefficients(span: ArrayLike, seat: ArrayLike) -> tuple[Array, Array, Array]:
    """Return deflection and stress coefficient and shear reach of a plate on four posts that tilt (plain numbers).

    ``span`` and ``seat`` in m, or both in any one unit; NaN outside the table.
    """
    at = _rounded(np.asarray(seat) / np.asarray(span))[..., 0]
    deflection, stress, shear = (np.interp(at, SEAT_OVER_SPAN, row, left=np.nan, right=np.nan) for row in _POSTS)
    return deflection, stress, shear


def strip_factors(span: ArrayLike, width: ArrayLike, seat: ArrayLike) -> tuple[Array, Array, Array]:
    """Return deflection and stress of a strip over those of a wide beam, and its shear reach.

    Lengths in m; NaN outside the table.
    """
    span, width, seat = np.broadcast_arrays(span, width, seat)
    at = _rounded(width / span, seat / span)
    deflection, stress, shear = (table(at).reshape(span.shape) for table in _STRIP)
    return deflection, stress, shear


def rectangle_reaches(span: ArrayLike, width: ArrayLike, seat: ArrayLike) -> tuple[Array, Array]:
    """Return the shear reach of a rectangle that rests on its four edges, and of a clamped one (lengths in m)."""
    short, long = np.minimum(span, width), np.maximum(span, width)
    supported, clamped = (
        np.log(2 * short / np.asarray(seat) * np.interp(short / long, SHORT_OVER_LONG, row))
        for row in (_SUPPORTED_RADIUS, _CLAMPED_RADIUS)
    )
    return supported, clamped


def navier(span: ArrayLike, width: ArrayLike) -> tuple[Array, Array, Array]:
    """Return what Navier's series says about the middle of a rectangle that is supported all round.

    The double series of sines is summed in closed form along the long side, which leaves one quick series.

    Args:
        span, width: the sides, in m.

    Returns:
        alpha: deflection under a force at the middle, w D / (F s^2), with s the short side.
        radius: radius in m of the round plate whose middle looks the same: there the bending moment falls as
            F / (2 pi) ln(radius / r).
        lengthwise: 0 for a square, 1 for an endless strip: how much more the plate bends across its short side.
    """
    short, long = np.minimum(span, width), np.maximum(span, width)
    half = np.pi / 2 * np.expand_dims(long / short, -1) * _TERMS
    small = np.exp(-2 * half)
    lost = 2 * small / (1 + small)  # 1 - tanh(half), without losing its digits
    bent = half * lost * (2 - lost)  # half / cosh(half)^2
    alpha = (7 * zeta(3) / 8 - ((lost + bent) / _TERMS**3).sum(-1)) / (2 * np.pi**3)
    radius = 2 * short / np.pi * np.exp(-2 * (lost / _TERMS).sum(-1))
    return alpha, radius, 1 - 4 * (bent / _TERMS).sum(-1)


#: Sides, long over short, from which on a plate counts as endless: the far edges change nothing in the fifth digit.
_ENDLESS = 4.0


def clamped_edges(long: ArrayLike, cosines: int = 16) -> Array:
    """Return what the clamped edges of a rectangle with a short side of one make of its middle.

    Timoshenko's superposition: the supported plate, and moments along the edges, each a sum of cosines, that bring the
    slope there to zero. The other edges feel a cosine's slope as a sum of all cosines, so they are found together.

    Args:
        long: the long side, shape (M,).
        cosines: how many along each edge.

    Returns:
        Shape (5, M): deflection w D / (F s^2); radius of the clamped round plate with the same moments round its
        middle; unevenness of bending, as for `navier`; the same of the tent ln(1 / r) / (2 pi) + ... that a level
        seat adds; moment at the middle of the long edge over the force. The last two are right within 3e-5, the
        others within 1e-7.
    """
    long = np.asarray(long, dtype=float)
    odd = np.arange(1, 2 * cosines, 2)
    signs = (-1.0) ** (odd // 2)  # of sin(odd pi / 2)
    halves = np.stack([np.full_like(long, 0.5), long / 2])  # the way from the middle to each pair of edges
    waves = np.pi * odd / (2 * halves[::-1, :, None])  # along these edges: cosines that vanish at the corners
    at = waves * halves[..., None]
    flat, fading = np.tanh(at), 1 / np.cosh(at)
    # Slopes at the edges: by their own moments, by those of the other edges, by the force, by the tent of a seat.
    own = -(flat + at * fading**2) / (2 * waves)
    steep = waves * signs
    both = (waves[0, :, :, None] ** 2 + waves[1, :, None, :] ** 2) ** 2
    crossed = -4 * steep[0, :, :, None] * steep[1, :, None, :] / both
    slopes = np.zeros((*long.shape, 2 * cosines, 2 * cosines))
    first, second, diagonal = slice(cosines), slice(cosines, None), np.arange(cosines)
    slopes[:, diagonal, diagonal], slopes[:, diagonal + cosines, diagonal + cosines] = own
    slopes[:, first, second] = crossed / (2 * halves[1])[:, None, None]
    slopes[:, second, first] = np.swapaxes(crossed, 1, 2)
    lift = halves[..., None] * flat * fading / (2 * waves)  # what a cosine of moments lifts the middle
    across = 2 * halves[::-1, :, None]
    loads = np.stack([-lift / across, -fading / across], axis=-1)
    moments = np.linalg.solve(slopes, -np.concatenate([loads[0], loads[1]], axis=1))
    by_force, by_tent = np.moveaxis(np.stack([moments[:, first], moments[:, second]]), -1, 0)
    alpha, radius, lengthwise = navier(1.0, long)
    # The tent over a supported rectangle: that over an endless strip, less what the far edges take off.
    tent = 2 * np.pi**2 / 3 - 8 * np.pi * (waves[1] * (1 - flat[1])).sum(-1)
    saddle = 4 * np.pi * (1 - at * flat) * fading * np.array([1.0, -1.0])[:, None, None]
    moment_sum = (by_force * fading).sum((0, 2))
    return np.stack([
        alpha + (by_force * lift).sum((0, 2)),
        radius * np.exp(0.5 + 2 * np.pi * moment_sum),
        lengthwise + (by_force * saddle).sum((0, 2)),
        tent + (by_tent * saddle).sum((0, 2)),
        -by_force[0].sum(-1),
    ])  # fmt: skip


@cache
def _clamped_curves() -> Array:
    # One polynomial for each number, in short over long side from 1 / _ENDLESS to 1: solving once serves all plates.
    places = chebyshev.chebpts1(25)
    solved = clamped_edges(1 / (1 / _ENDLESS + (1 - 1 / _ENDLESS) * (places + 1) / 2))
    return np.asarray(chebyshev.chebfit(places, solved.T, len(places) - 1))


def clamped_rectangle(span: ArrayLike, width: ArrayLike) -> tuple[Array, Array, Array, Array, Array]:
    """Return the five numbers of `clamped_edges` for a plate of any size; the radius in m.

    They are read from polynomials through 25 plates, which adds an error below 1e-8.

    Args:
        span, width: the sides, in m.
    """
    short, long = np.minimum(span, width), np.maximum(span, width)
    over = np.maximum(short / long, 1 / _ENDLESS)
    place = 2 * (over - 1 / _ENDLESS) / (1 - 1 / _ENDLESS) - 1
    alpha, radius, uneven, tent, moment = chebyshev.chebval(place, _clamped_curves())
    return alpha, radius * short, uneven, tent, moment
