"""Air and water beside a warm wall: what a film coefficient is computed from."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from scipy import constants, special

#: Air at sea level: gas constant of dry air (J/kg/K), specific heat (J/kg/K; 1005 to 1011 from 0 to 100 degC).
_GAS, _HEAT = 287.053, 1006.0


class AirBesideAWall(NamedTuple):
    """Air at one temperature and the pressure of sea level.

    Attributes:
        viscosity: kinematic (m2/s).
        conductivity: W/m/K.
        prandtl: viscosity over the diffusivity of heat.
    """

    viscosity: Any
    conductivity: Any
    prandtl: Any


def air_at(temperature: Any) -> AirBesideAWall:
    """Return dry air at a temperature (K), floats or arrays; viscosity after Sutherland."""
    t = np.asarray(temperature, dtype=np.float64)
    sticky = 1.458e-6 * t**1.5 / (t + 110.4)
    conducts = 2.64638e-3 * t**1.5 / (t + 245.4 * 10.0 ** (-12.0 / t))
    kinematic = sticky * _GAS * t / constants.atm
    return AirBesideAWall(kinematic[()], conducts[()], (_HEAT * sticky / conducts)[()])


def stefan_boltzmann() -> float:
    """Return what a black body radiates (SI: W/m2/K4)."""
    return float(constants.Stefan_Boltzmann)


def water_conductivity() -> float:
    """Return the conductivity of water at 25 degC (SI: W/m/K)."""
    return 0.6065


def round_fin(film: Any, root: Any, tip: Any, thickness: Any, conductivity: Any) -> Any:
    """Return the share of a round fin's heat that its own conductivity lets through; SI floats or arrays.

    Args:
        film: film coefficient on the fin (W/m2/K).
        root, tip: diameters where the fin begins and ends (m).
        thickness: of the fin (m).
        conductivity: of the fin (W/m/K).

    The edge counts as half a thickness more of fin.
    """
    inner, outer = np.asarray(root) / 2, np.asarray(tip) / 2 + np.asarray(thickness) / 2
    steep = np.sqrt(2 * np.asarray(film, dtype=np.float64) / (np.asarray(conductivity) * thickness))
    a, b = steep * inner, steep * outer
    top = special.k1(a) * special.i1(b) - special.i1(a) * special.k1(b)
    bottom = special.i0(a) * special.k1(b) + special.k0(a) * special.i1(b)
    return (2 * inner / (steep * (outer**2 - inner**2)) * top / bottom)[()]
