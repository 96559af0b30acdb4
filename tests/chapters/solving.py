"""A head solved from values as people write them, and results read back in the same way."""

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from augerbook.builds.build import Build
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity


def solved_at(values: Mapping[str, float]) -> Solution:
    """Solve the head for values by key, in the units shown to people; results may be given as well."""
    quantities = whole_head().quantities
    return whole_head().solve({quantities[key]: quantities[key].si(value) for key, value in values.items()})


@lru_cache(maxsize=128)
def changed(name: str, **changes: float) -> Build:
    """A shipped build with other values, in the units shown to people; for the same values the same, solved once."""
    build = shipped_build(name)
    for key, shown in changes.items():
        quantity = whole_head().quantities[key]
        build = build.with_value(quantity, float(quantity.si(shown)))
    return build


def shown_in(solution: Solution, keys: str) -> list[float]:
    """Some solved values, their keys between spaces, in the units shown to people."""
    quantities = whole_head().quantities
    return [float(quantities[key].shown(solution[quantities[key]])) for key in keys.split()]


def heads_near(
    build: Build, heads: int, random: np.random.Generator
) -> dict[Quantity, np.ndarray[tuple[int], np.dtype[np.float64]]]:
    """Heads like a build: uncertain inputs drawn from their spreads (SI), but what a circle finds; any usual nozzle."""
    drawn = {
        q: random.triangular(low, build.values[q], high, heads)
        for q, (low, high) in build.ends.items()
        if q not in build.network.assumed and low < high
    }
    drawn[build.network.quantities["nozzle_diameter"]] = random.uniform(0.4e-3, 1e-3, heads)
    return drawn
