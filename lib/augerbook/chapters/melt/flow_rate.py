"""The melt flow rate that data sheets print (ISO 1133), from a flow law: to hold one against the other.

A load on a piston presses melt through a short die, and what comes out in ten minutes is weighed. That is a single
point of the flow curve, at a low rate. As the standard does, the entrance of the die is left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from scipy.constants import g as gravity
from scipy.optimize import brentq

from augerbook.chapters.melt.models import temperature_shift, wall_state

#: Bore and length of the standard's die, and the foot of its piston (m).
DIE_DIAMETER, DIE_LENGTH, PISTON_DIAMETER = 2.095e-3, 8e-3, 9.474e-3
#: Apparent rates (1/s) between which the flow is sought: far beyond what any rheometer of this kind can weigh.
_SLOWEST, _FASTEST = 1e-9, 1e9


def die_stress(load: float) -> float:
    """Return the shear stress (Pa) at the wall of the die under a load (kg)."""
    pressure = load * gravity / (math.pi * PISTON_DIAMETER**2 / 4)
    return pressure * DIE_DIAMETER / (4 * DIE_LENGTH)


def melt_flow_rate(flow_law: Sequence[float], at: float, load: float, density: float) -> float:
    """Return the melt flow rate (kg/s; 1 g in 10 minutes is 1/600 000 of that) of a melt that sticks to the wall.

    Args:
        flow_law: the parameters of the flow law in SI, in the order of `melt.FLOW_LAW`.
        at: temperature of the melt (K).
        load: mass on the piston (kg).
        density: of the melt (kg/m3).
    """
    zero, critical, index, transition, reference, slope, span, activation = flow_law
    moved = temperature_shift(at, reference, slope, span, activation)
    wanted = die_stress(load)

    def too_much(log_rate: float) -> float:
        wall = wall_state(math.exp(log_rate), moved, math.inf, zero, critical, index, transition)
        return math.log(float(wall.stress) / wanted)

    apparent = math.exp(brentq(too_much, math.log(_SLOWEST), math.log(_FASTEST), xtol=1e-10))
    return apparent * math.pi * (DIE_DIAMETER / 2) ** 3 / 4 * density
