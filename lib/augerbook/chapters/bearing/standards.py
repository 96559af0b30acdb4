"""What the bearing standards give as tables and as formulas for numbers in newtons and millimetres."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from sympy import Rational

#: ISO 281, Table 3: thrust factor Y of deep-groove bearings over the relative axial load f0 Fa / C0; read in
#: nsk_rolling, pages B 8-9. The radial factor is 0.56 in every row.
RELATIVE_AXIAL_LOADS = (0.172, 0.345, 0.689, 1.03, 1.38, 2.07, 3.45, 5.17, 6.89)
AXIAL_FACTORS = (2.30, 1.99, 1.71, 1.55, 1.45, 1.31, 1.15, 1.04, 1.00)
RADIAL_FACTOR = Rational(56, 100)
#: The ratio Fa / Fr at which the standard changes branch; here the larger branch counts, which is nearly the same.
AXIAL_LIMITS = (0.19, 0.22, 0.26, 0.28, 0.30, 0.34, 0.38, 0.42, 0.44)

#: ISO 281: rating factor of today's steel for deep-groove and thrust ball bearings.
STEEL_FACTOR = 1.3


def interpolate_axial_factor(relative_load: ArrayLike) -> NDArray[np.float64]:
    """Return Y of ISO 281 for f0 Fa / C0 (plain numbers), constant beyond the ends of the table."""
    return np.asarray(np.interp(np.asarray(relative_load, dtype=np.float64), RELATIVE_AXIAL_LOADS, AXIAL_FACTORS))


def ratings_from_geometry(
    static_factor: ArrayLike, dynamic_factor: ArrayLike, ball_count: ArrayLike, ball_diameter: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return static and dynamic rating in N from the ball diameter in m; the factors are for N and mm."""
    ball, count = np.asarray(ball_diameter) * 1e3, np.asarray(ball_count)
    static = np.asarray(static_factor) * count * ball**2
    dynamic = STEEL_FACTOR * np.asarray(dynamic_factor) * count ** (2 / 3) * ball**1.8
    return np.asarray(static), np.asarray(dynamic)
