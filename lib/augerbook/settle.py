"""Goes round the one circle of the head: the torque heats the plastic, and the softened plastic makes the torque."""

from __future__ import annotations

import math

from augerbook.build import Build
from augerbook.subjects.bearing import screw_speed
from augerbook.subjects.operating import needed_torque, operating_speed
from augerbook.subjects.thrust import running_torque

#: Rounds that bring the shipped builds to rest; the tests measure it.
ROUNDS = 8


def settled(build: Build, rounds: int = ROUNDS) -> Build:
    """Return the build with the running torque and speed of its operating point in place of those it assumes.

    Where there is no operating point it stays as the last round left it. A value beyond its range is taken at the
    range's end.
    """
    for _ in range(rounds):
        speed, torque = build.solution.get(operating_speed), build.solution.get(needed_torque)
        if speed is None or torque is None or not math.isfinite(speed + torque):
            break
        for quantity, found in ((running_torque, torque), (screw_speed, speed)):
            low, high = (quantity.si(end) for end in (quantity.low, quantity.high))
            build = build.with_value(quantity, float(min(max(found, low), high)))
    return build
