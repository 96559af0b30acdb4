"""The plug at its end: wall and grains over the tip give way at once."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize.elementwise import find_root

Array = NDArray[np.float64]


def loose_exponent_of(
    tip_hold: Any,
    bore_hold: Any,
    tip_diameter: Any,
    bore_diameter: Any,
    turning_drag: Any,
    back_drag: Any,
    raise_arm: Any,
    plug_take: Any,
    ring_take: Any,
) -> Any:
    """Return the exponent (1/m) at which friction over the tip and at the wall is used up, both to the last.

    All are floats or arrays that broadcast, SI, per length and pressure on the walls. ``plug_take`` and ``ring_take``
    are the push for a unit of the exponent (m²). Where one of the circles gives way before the other helps, the value
    is what that circle alone bears, and belongs to no state of the plug.
    """
    given = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in (
        tip_hold, bore_hold, tip_diameter, bore_diameter, turning_drag, back_drag, raise_arm, plug_take, ring_take
    )))  # fmt: skip

    def sides(turn: Array, tip: Array, bore: Array, inner: Array, outer: Array, *rest: Array) -> tuple[Array, Array]:
        """Return the exponent that the plug presses and the one that the ring bears.

        ``turn`` is an angle: the torque is its cosine times the weaker hold. So the roots stay smooth at their ends.
        """
        drag, back, arm, plug, ring = rest
        torque = np.minimum(tip, bore) * np.cos(turn)
        over_tip = np.sqrt(np.maximum(tip**2 - torque**2, 0.0)) / (inner / 2)
        at_wall = np.sqrt(np.maximum(bore**2 - torque**2, 0.0)) / (outer / 2)
        return ((torque - drag) / arm - back - over_tip) / plug, (over_tip + at_wall) / ring

    def lacking(turn: Array, *parts: Array) -> Array:
        pressed, borne = sides(turn, *parts)
        return borne - pressed

    with np.errstate(all="ignore"):
        ends = np.zeros(given[0].shape), np.full(given[0].shape, np.pi / 2)
        found = find_root(lacking, ends, args=tuple(given))
        at = np.where(found.success, found.x, 0.0)
        return sides(at, *given)[1][()]
