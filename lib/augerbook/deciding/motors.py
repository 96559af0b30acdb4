"""What a build gives of its motor by hand, carried over to another motor, current or gear."""

from __future__ import annotations

import math
from collections.abc import Container, Mapping, Sequence

import numpy as np

from augerbook.builds.build import Build, within
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.head.drive import gear_ratio, motor, set_current

#: With these what a build gives of the drive by hand becomes another.
DRIVES: frozenset[Quantity | Choice | Lookup] = frozenset({motor, set_current, gear_ratio})


def carried(base: Build, builds: Sequence[Build], given: Container[object] = ()) -> list[Build | None]:
    """Let what ``base`` gives of the motor by hand follow the other motor, current or gear of each build.

    A torque is carried over in proportion, a temperature by its difference, each with its spread; estimates stay such.

    Args:
        base: the build at hand.
        builds: builds made from it, whatever else is another in them.
        given: what these give anew themselves; it stays as they have it.

    Returns:
        Each build with it; None where what such a motor gives is not known, so that nothing can be said of it.
    """
    found: Mapping[Quantity, Quantity] = {
        pair.assumed: pair.found
        for pair in base.network.findings
        if pair.assumed in base.values and pair.assumed not in given and pair.found in base.solution.values
    }
    if not found or not builds:
        return list(builds)
    network = base.network
    behind = (q for q in network.upstream(found.values(), base.values, base.choices) if q in base.values)
    columns = {q: [one.values.get(q, math.nan) for one in (base, *builds)] for q in behind if isinstance(q, Quantity)}
    results = network.compile(list(found.values()), list(columns), base.values, base.choices)(
        *map(np.array, columns.values())
    )
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
