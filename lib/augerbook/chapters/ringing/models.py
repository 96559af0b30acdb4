"""The nozzle after a corner in time, and what a line as wide as it is shows of it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def step_response(turned: Array, damping: float) -> Array:
    """Return how far a damped oscillator has followed a step of force, over where it comes to rest.

    Args:
        turned: time since the step times the angular frequency, plain numbers; zero before the step.
        damping: damping ratio, below one.
    """
    root = math.sqrt(1 - damping**2)
    after = np.maximum(turned, 0.0)
    rest: Array = 1 - np.exp(-damping * after) * (np.cos(root * after) + damping / root * np.sin(root * after))
    return rest


def after_a_corner(
    time: Array, acceleration: float, ramp: float, frequencies: tuple[float, float], shares: tuple[float, float],
    damping: float,
) -> Array:  # fmt: skip
    """Return how far the nozzle is off the wall after a stop of that direction, in m, outwards counted positive.

    The stop lasts for the ramp and ends at time zero, at the corner. Both ways of ringing have the same damping ratio.

    Args:
        time: in s, from the corner on.
        acceleration: in m/s**2.
        ramp: duration of the stop, in s.
        frequencies: lower and upper frequency, in Hz.
        shares: share of each in the nozzle's motion.
        damping: damping ratio.
    """
    off = np.zeros_like(time)
    for frequency, share in zip(frequencies, shares, strict=True):
        turning = 2 * math.pi * frequency
        begun, ended = (step_response(turning * (time + since), damping) for since in (ramp, 0.0))
        off = off + share * acceleration / turning**2 * (begun - ended)
    return off


def way_along(time: Array, speed: float, acceleration: float) -> Array:
    """Return how far along the new wall the nozzle has come, in m, when it speeds up from rest at the corner.

    Args:
        time: in s, from the corner on.
        speed: in m/s.
        acceleration: in m/s**2.
    """
    ramp = speed / acceleration
    within = np.minimum(time, ramp)
    way: Array = acceleration * within**2 / 2 + speed * (time - within)
    return way


def outer_edge(places: Array, along: Array, off: Array, width: float) -> Array:
    """Return the outer edge of a line whose middle was laid along a path, over where a straight one has it.

    The line is taken for what a round stamp as wide as the line covers. All lengths in m.

    Args:
        places: where the edge is asked for, along the wall.
        along, off: the path of the middle.
        width: of the line.
    """
    half = width / 2
    reach = half**2 - (places[:, None] - along[None, :]) ** 2
    tops = np.where(reach >= 0, off[None, :] + np.sqrt(np.maximum(reach, 0.0)), -np.inf)
    edge: Array = tops.max(axis=1) - half
    return edge
