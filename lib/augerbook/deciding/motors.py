"""What a build gives of its motor by hand, carried over to another motor, current or gear."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from augerbook.builds.build import Build, within
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.head.drive import gear_ratio, motor, set_current

#: With these what a build gives of the drive by hand becomes another.
DRIVES: frozenset[Quantity | Choice | Lookup] = frozenset({motor, set_current, gear_ratio})


def columns_of(builds: Sequence[Build]) -> dict[Quantity, NDArray[np.float64]]:
    """Return what differs between builds that give the same inputs, one column each (SI); one column at least."""
    first = builds[0].values
    known = [q for q in first if isinstance(q, Quantity)]
    differ = [q for q in known if any(other.values[q] != first[q] for other in builds[1:])] or known[:1]
    return {q: np.array([other.values[q] for other in builds]) for q in differ}


def carried(base: Build, builds: Sequence[Build]) -> list[Build | None]:
    """Let what ``base`` gives of the motor by hand follow the other motor, current or gear of each build.

    A torque is carried over in proportion, a temperature by its difference, each with its spread; estimates stay such.

    Args:
        base: the build at hand.
        builds: builds that give the same inputs, of the drive others.

    Returns:
        Each build with it; None where what such a motor gives is not known, so that nothing can be said of it.
    """
    found: Mapping[Quantity, Quantity] = {
        pair.assumed: pair.found
        for pair in base.network.findings
        if pair.assumed in base.values and pair.found in base.solution.values
    }
    if not found or not builds:
        return list(builds)
    columns = columns_of([base, *builds])
    results = base.network.compile(list(found.values()), list(columns), base.values, base.choices)(*columns.values())
    moved: list[Build | None] = list(builds)
    for assumed, result in zip(found, results, strict=True):
        at, was = base.values[assumed], float(result[0])
        for place, now in enumerate(map(float, result[1:])):
            if (build := moved[place]) is None or now == was:
                continue
            then = at + now - was if assumed.on_a_scale else at * now / was
            known = math.isfinite(then) and within(assumed, then)
            moved[place] = build.with_found(assumed, then) if known else None
    return moved
