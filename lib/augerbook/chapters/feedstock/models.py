"""Water that diffuses out of a ball or a flake whose surface is kept at one concentration, and what air can hold.

Everything about diffusion is in the dimensionless time F = D t / a**2, with a the radius of the ball or half the
thickness of the flake. Both solutions exist in two forms that are exact: one converges fast early, the other late.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import constants
from scipy.special import erfc

Array = NDArray[np.float64]

#: Where the two forms change over. Three terms of the early and eight of the late one are exact to 1e-12 there.
_EARLY_BALL, _EARLY_FLAKE = 0.05, 0.2
_EARLY_TERMS, _LATE_TERMS = 3, 8

# Oxygen and two hydrogens, in kg/mol: standard atomic weights.
_WATER = 15.999e-3 + 2 * 1.008e-3


def water_molar_mass() -> float:
    """Return the molar mass of water in kg/mol."""
    return _WATER


#: Water at its triple point: temperature in K, pressure in Pa.
TRIPLE_POINT = (273.16, 611.657)
#: Heat of evaporation in J/kg at 0 °C, and what it falls by each kelvin: a line through the steam table to 120 °C.
EVAPORATION, EVAPORATION_SLOPE = 2.501e6, 2.38e3


def saturation_pressure(temperature: ArrayLike) -> Array:
    """Return the pressure in Pa of water vapour over (below 0 °C: supercooled) water at ``temperature`` in K.

    The equation of Clausius and Clapeyron, integrated for a heat of evaporation that falls along a line. It lies
    within 1 % of the steam table from 0 to 65 °C and 3.3 % below it at 120 °C.
    """
    t, (t_3, p_3) = np.asarray(temperature, dtype=np.float64), TRIPLE_POINT
    vapour = constants.R / _WATER
    at_zero = (EVAPORATION + EVAPORATION_SLOPE * constants.zero_Celsius) / vapour
    return np.asarray(p_3 * (t_3 / t) ** (EVAPORATION_SLOPE / vapour) * np.exp(at_zero * (1 / t_3 - 1 / t)))


#: Diffusivity of vapour in air in m**2/s at 25 °C; it grows with the power 3/2 of the temperature. Bergman and others,
#: Fundamentals of Heat and Mass Transfer, 7th ed., Table A.8; both from memory.
_VAPOUR_IN_AIR, _VAPOUR_AT = 0.26e-4, 298.15


def heap_diffusivity(temperature: float, saturated: float, loose_density: float, voids: float) -> float:
    """Return the diffusivity (m**2/s) with which water gets out of a heap of granules in air that stands still.

    The grains hold nearly all of the water, and only the vapour between them moves. That the voids are few and winding
    counts with their power 3/2 (Bruggeman's law, from memory).

    Args:
        temperature: of the heap, in K.
        saturated: water in the grains in air that can hold no more, share of their mass.
        loose_density: of the heap, in kg/m**3.
        voids: share of air in the heap.
    """
    vapour = float(saturation_pressure(temperature)) * _WATER / (constants.R * temperature)
    in_voids = _VAPOUR_IN_AIR * (temperature / _VAPOUR_AT) ** 1.5 * voids**1.5
    return in_voids * vapour / (loose_density * saturated)


def steam_volumes(moisture: float, temperature: float, density: float) -> float:
    """Return how many volumes of steam at air pressure the water in one volume of plastic makes.

    Args:
        moisture: share of the mass that is water.
        temperature: in K.
        density: of the plastic, in kg/m**3.
    """
    moles = density * moisture / _WATER
    return float(moles * constants.R * temperature / constants.atm)


def _ierfc(x: Array) -> Array:
    """Integral of the complementary error function from ``x`` to infinity."""
    return np.asarray(np.exp(-(x**2)) / np.sqrt(np.pi) - x * erfc(x))


def left_in_ball(fourier: ArrayLike) -> Array:
    """Return the share of the water that is left in a ball at ``fourier`` = D t / radius**2 (plain numbers)."""
    f = np.asarray(fourier, dtype=np.float64)[..., None]
    early, late = np.clip(f, 0.0, _EARLY_BALL), np.maximum(f, _EARLY_BALL)
    root, n = np.sqrt(early), np.arange(1, _EARLY_TERMS + 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        images = np.where(root > 0, _ierfc(n / root), 0.0).sum(axis=-1, keepdims=True)
    at_first = 1 - 6 * root * (1 / np.sqrt(np.pi) + 2 * images) + 3 * early
    m = np.arange(1, _LATE_TERMS + 1)
    at_last = 6 / np.pi**2 * (np.exp(-((m * np.pi) ** 2) * late) / m**2).sum(axis=-1, keepdims=True)
    return np.asarray(np.where(f < _EARLY_BALL, at_first, at_last)[..., 0])


def left_in_flake(fourier: ArrayLike) -> Array:
    """Return the share of the water left in a flake at ``fourier`` = D t / (thickness / 2)**2 (plain numbers)."""
    f = np.asarray(fourier, dtype=np.float64)[..., None]
    early, late = np.clip(f, 0.0, _EARLY_FLAKE), np.maximum(f, _EARLY_FLAKE)
    root, n = np.sqrt(early), np.arange(1, _EARLY_TERMS + 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        images = np.where(root > 0, (-1.0) ** n * _ierfc(n / root), 0.0).sum(axis=-1, keepdims=True)
    at_first = 1 - 2 * root * (1 / np.sqrt(np.pi) + 2 * images)
    odd = 2 * np.arange(_LATE_TERMS) + 1
    at_last = 8 / np.pi**2 * (np.exp(-((odd * np.pi / 2) ** 2) * late) / odd**2).sum(axis=-1, keepdims=True)
    return np.asarray(np.where(f < _EARLY_FLAKE, at_first, at_last)[..., 0])


def profile_in_ball(place: ArrayLike, fourier: float) -> Array:
    """Return the concentration left, from 1 to 0, at ``place`` = distance from the centre over the radius."""
    r = np.maximum(np.abs(np.asarray(place, dtype=np.float64)), 1e-4)[..., None]
    if fourier <= 0:
        return np.asarray(np.where(r < 1, 1.0, 0.0)[..., 0])
    if fourier < _EARLY_BALL:
        odd, width = 2 * np.arange(_EARLY_TERMS) + 1, 2 * np.sqrt(fourier)
        early = (erfc((odd - r) / width) - erfc((odd + r) / width)).sum(axis=-1)
        return np.asarray(1 - early / r[..., 0])
    n = np.arange(1, _LATE_TERMS + 1)
    terms = -((-1.0) ** n) / n * np.sin(n * np.pi * r) * np.exp(-((n * np.pi) ** 2) * fourier)
    return np.asarray(2 / np.pi * terms.sum(axis=-1) / r[..., 0])


def profile_in_flake(place: ArrayLike, fourier: float) -> Array:
    """Return the concentration left, from 1 to 0, at ``place`` = distance from the middle over half the thickness."""
    x = np.abs(np.asarray(place, dtype=np.float64))[..., None]
    if fourier <= 0:
        return np.asarray(np.where(x < 1, 1.0, 0.0)[..., 0])
    if fourier < _EARLY_FLAKE:
        n, width = np.arange(_EARLY_TERMS), 2 * np.sqrt(fourier)
        early = (-1.0) ** n * (erfc((2 * n + 1 - x) / width) + erfc((2 * n + 1 + x) / width))
        return np.asarray(1 - early.sum(axis=-1))
    n = np.arange(_LATE_TERMS)
    k = (2 * n + 1) * np.pi / 2
    return np.asarray(((-1.0) ** n * 2 / k * np.cos(k * x) * np.exp(-(k**2) * fourier)).sum(axis=-1))


def _inverse(left: Callable[[ArrayLike], Array], slowest: float) -> Callable[[ArrayLike], Array]:
    """Return the time at which a share is left, read from a table of ``left``; beyond it one exponential rules."""
    times = np.concatenate([[0.0], np.geomspace(1e-8, 4.0, 6000)])
    shares = left(times)

    def time(share: ArrayLike) -> Array:
        """Return D t / size**2 at which a share of the water is left (plain numbers)."""
        s = np.asarray(share, dtype=np.float64)
        with np.errstate(divide="ignore", invalid="ignore"):
            # Straight between the points over the square root of time early, and over the logarithm of the share late.
            early = np.interp(1 - s, 1 - shares, np.sqrt(times)) ** 2
            late = np.interp(-np.log(s), -np.log(shares), times)
            beyond = times[-1] + np.log(shares[-1] / s) / slowest
        found = np.where(s > 0.5, early, np.where(s < shares[-1], beyond, late))
        return np.asarray(np.select([np.isnan(s), s <= 0, s >= 1], [np.nan, np.inf, 0.0], found))

    return time


#: The dimensionless time after which a given share of the water is left; none is ever left: infinite.
time_for_ball = _inverse(left_in_ball, float(np.pi**2))
time_for_flake = _inverse(left_in_flake, float(np.pi**2 / 4))
