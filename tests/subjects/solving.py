"""A head solved from values as people write them, and results read back in the same way."""

from collections.abc import Mapping

from augerbook.core.network import Solution
from augerbook.subjects import head


def solved_at(values: Mapping[str, float]) -> Solution:
    """Solve the head for values by key, in the units shown to people; results may be given as well."""
    quantities = head().quantities
    return head().solve({quantities[key]: quantities[key].si(value) for key, value in values.items()})


def shown_in(solution: Solution, keys: str) -> list[float]:
    """Some solved values, their keys between spaces, in the units shown to people."""
    quantities = head().quantities
    return [float(quantities[key].shown(solution[quantities[key]])) for key in keys.split()]
