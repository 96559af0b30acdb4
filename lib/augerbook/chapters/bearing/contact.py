"""Balls pressed into grooves: Hertz's elastic contact, and the balance of a deep-groove bearing under pure thrust.

Everything is scaled with the ball: lengths in ball diameters, forces in stress times ball diameter squared.
A ball that is pressed by Q until both races together have come nearer by s obeys Q / Dw^2 = K (s / Dw)^(3/2);
K is called the contact modulus here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline
from scipy.special import ellipe, ellipkm1

#: Through-hardened bearing steel, from memory of makers' catalogues; other bearing steels lie within 4 %.
STEEL_MODULUS = 208e9
STEEL_POISSON = 0.3
#: Two bodies of this steel pressed together: E / (2 (1 - nu^2)).
PAIR_MODULUS = STEEL_MODULUS / (2 * (1 - STEEL_POISSON**2))


def _ellipses() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return ratio of curvatures, approach and mean pressure scale of contact ellipses from round to slender.

    The gap of the unloaded bodies is A x^2 + B y^2. With the half-axes b <= a, m = 1 - (b / a)^2 and Hertz's
    pressure p0 sqrt(1 - (x/a)^2 - (y/b)^2), the surface moves by (p0 b / E*) (K(m) - x^2 (K - E) / (m a^2) - ...):
    A, B and the approach can be read off (Johnson, Contact Mechanics, section 4.2).
    """
    rest = np.logspace(-7, np.log10(0.98), 400)[::-1]  # (b / a)^2
    m = 1 - rest
    first, second = ellipkm1(rest), ellipe(m)
    ratio = (second / rest - first) / (first - second)  # B / A
    half_axis = (3 * (first - second) / (2 * np.pi * m)) ** (1 / 3)  # a (A E* / Q)^(1/3)
    approach = 3 * first / (2 * np.pi * half_axis)  # delta (E* / Q)^(2/3) A^(-1/3)
    pressure = 3 / (2 * np.pi * half_axis**2 * np.sqrt(rest))  # p0 / (Q^(1/3) (A E*)^(2/3))
    return np.log(ratio), np.log(approach), np.log(pressure)


_RATIO, _APPROACH, _PRESSURE = _ellipses()
_approach_of = CubicSpline(_RATIO, _APPROACH, extrapolate=False)
_pressure_of = CubicSpline(_RATIO, _PRESSURE, extrapolate=False)


def point_contact(along: ArrayLike, across: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return approach and peak pressure of a contact of two elastic bodies with the gap A x^2 + B y^2.

    Args:
        along: the smaller coefficient A, 1/m.
        across: the larger coefficient B, 1/m.

    Returns:
        delta (E* / Q)^(2/3), in m^(-1/3), and p0 / (Q^(1/3) E*^(2/3)), in m^(-2/3); NaN for B / A below 1.02.
    """
    a = np.asarray(along, dtype=np.float64)
    slender = np.log(np.asarray(across, dtype=np.float64) / a)
    return np.exp(_approach_of(slender)) * a ** (1 / 3), np.exp(_pressure_of(slender)) * a ** (2 / 3)


def contact_modulus(ball_over_circle: ArrayLike, groove_ratio: ArrayLike) -> NDArray[np.float64]:
    """Return the contact modulus K in Pa of a steel ball between two grooves.

    Args:
        ball_over_circle: Dw cos(alpha) / Dpw: how far the races bend round the axis; 0 for a thrust ball bearing.
        groove_ratio: groove radius over ball diameter, the same in both races.
    """
    bend = np.asarray(ball_over_circle, dtype=np.float64)
    along_groove = 1 - 1 / (2 * np.asarray(groove_ratio, dtype=np.float64))
    inner, _ = point_contact(along_groove, 1 / (1 - bend))
    outer, _ = point_contact(along_groove, 1 / (1 + bend))
    return np.asarray(PAIR_MODULUS * (inner + outer) ** -1.5)


def loaded_contact(
    thrust: ArrayLike,
    ball_count: ArrayLike,
    ball_diameter: ArrayLike,
    modulus: ArrayLike,
    groove_distance: ArrayLike,
    free_angle: ArrayLike,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return contact angle (rad) and approach s (m) of each ball of a deep-groove bearing under pure thrust.

    Solves Fa = Z Q sin(alpha) with Q = K Dw^2 (s / Dw)^(3/2) and cos(alpha) = A cos(alpha0) / (A + s), where A is
    the distance between the centres of the grooves when the balls just touch. In logarithms the equation is nearly
    a straight line (slope between 1.5 and 2), so that Newton's steps, each leaving less than a third of the error
    and soon far less, need no safeguard; eight reach rounding.
    """
    count, ball = np.asarray(ball_count, dtype=np.float64), np.asarray(ball_diameter, dtype=np.float64)
    distance = np.asarray(groove_distance, dtype=np.float64) / ball
    reach = distance * np.cos(free_angle)
    with np.errstate(divide="ignore", invalid="ignore"):
        wanted = np.log(np.asarray(thrust, dtype=np.float64) / (count * np.asarray(modulus) * ball**2))
        log_s = wanted / 1.5
        for _ in range(8):
            s = np.exp(log_s)
            cosine = reach / (distance + s)
            sine_squared = 1 - cosine**2
            slope = 1.5 + s / (distance + s) * cosine**2 / sine_squared
            log_s = log_s - (1.5 * log_s + np.log(sine_squared) / 2 - wanted) / slope
        s = np.exp(log_s)
    # Without thrust nothing is pressed; a thrust that is not known leaves both unknown.
    free = np.asarray(thrust) <= 0
    angle = np.where(free, free_angle, np.arccos(np.clip(reach / (distance + s), -1, 1)))
    return angle, np.where(free, 0.0, s) * ball
