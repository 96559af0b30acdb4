"""Goes round the one circle of the head: the torque heats the plastic, and the softened plastic makes the torque."""

from __future__ import annotations

import math

from augerbook.builds.build import Build
from augerbook.chapters.operating import needed_torque, operating_speed
from augerbook.core.quantity import Quantity
from augerbook.head.drive import running_torque, screw_speed

#: Rounds that bring the shipped builds to rest; the tests measure it.
ROUNDS = 8


def found_at_work(build: Build) -> dict[Quantity, float]:
    """Return torque (N m) and speed (1/s) of the operating point under the names of those that the build assumes.

    Empty where there is no operating point.
    """
    pairs, known = {running_torque: needed_torque, screw_speed: operating_speed}, build.solution
    if not all(q in known.values and math.isfinite(known[q]) for q in pairs.values()):
        return {}
    return {assumed: known[q] for assumed, q in pairs.items()}


def settled(build: Build, rounds: int = ROUNDS) -> Build:
    """Return the build with the running torque and speed of its operating point in place of those it assumes.

    Where there is no operating point it stays as the last round left it. A value beyond its range is taken at the
    range's end.
    """
    for _ in range(rounds):
        for quantity, found in found_at_work(build).items():
            low, high = (quantity.si(end) for end in (quantity.low, quantity.high))
            build = build.with_value(quantity, float(min(max(found, low), high)))
    return build
