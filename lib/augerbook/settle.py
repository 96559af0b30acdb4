"""Goes round the one circle of the head: the torque heats the plastic, and the softened plastic makes the torque."""

from __future__ import annotations

import math
from dataclasses import dataclass

from augerbook.builds.build import Build
from augerbook.builds.estimates import as_guessed, with_estimates
from augerbook.core.fixed_point import fixed_point, within_range
from augerbook.core.network import NetworkError
from augerbook.core.quantity import Quantity

#: Rounds that bring the shipped builds to rest; the tests measure it.
ROUNDS = 8


@dataclass(frozen=True)
class Settled:
    """A build with what its operating point finds in place of what it assumed.

    Attributes:
        build: as the last round left it.
        unrest: what keeps it from rest, in words; empty where it is at rest.
    """

    build: Build
    unrest: str


def found_at_work(build: Build) -> dict[Quantity, float]:
    """Return what the operating point finds, in SI, under the names of those values that the build assumes for it.

    Empty where there is no operating point.
    """
    circles, known = build.network.circles, build.solution
    if not all(circle.found in known.values and math.isfinite(known[circle.found]) for circle in circles):
        return {}
    return {circle.assumed: known[circle.found] for circle in circles}


def found_elsewhere(build: Build) -> dict[Quantity, float]:
    """Return in SI what chapters find for inputs that the build gives by hand, as far as it has what that takes."""
    known = build.solution
    return {
        pair.assumed: known[pair.found]
        for pair in build.network.findings
        if pair.assumed in build.values and pair.found in known.values and math.isfinite(known[pair.found])
    }


def with_found(build: Build) -> Build:
    """Take what chapters find over into the build; a value beyond its range is taken at the range's end."""
    for quantity, value in found_elsewhere(build).items():
        build = build.with_found(quantity, float(within_range(quantity, value)))
    return build


def settle(build: Build, rounds: int = ROUNDS) -> Settled:
    """Take what the operating point finds over into the build, again and again until it stays.

    A value beyond its range is taken at the range's end. Where they do not settle, or there is no operating
    point, the answer says so.
    """
    try:
        point = fixed_point(build.network, build.values, build.choices, rounds=rounds)
    except NetworkError as error:
        return Settled(build, str(error))
    for quantity, (value,) in point.values.items():
        if value != build.values[quantity]:
            build = build.with_found(quantity, float(value))
    return Settled(build, point.in_words())


def settled(build: Build, rounds: int = ROUNDS) -> Build:
    """Return the build as the last round left it; see `settle` for whether that is rest."""
    return settle(build, rounds).build


def estimated_at_rest(build: Build, rounds: int = ROUNDS) -> Build:
    """Return the build with what is lacking estimated, and its estimates of the circle as the operating point has them.

    What the build says itself stays; where nothing settles the first estimates stand.
    """
    guessed = with_estimates(build)
    try:
        point = fixed_point(guessed.network, guessed.values, guessed.choices, rounds=rounds)
    except NetworkError:
        return guessed
    # The circle goes round over what was estimated just now, not over an estimate that a person looked at and kept.
    new = {q: entry for q, entry in guessed.entries.items() if entry.estimated and q not in build.entries}
    if not point.at_rest[0]:
        return guessed
    for quantity, (value,) in point.values.items():
        if quantity in new:
            guessed = guessed.with_found(quantity, as_guessed(quantity, float(value)))
    return guessed
