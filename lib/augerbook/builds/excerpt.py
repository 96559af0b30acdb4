"""The few values of a build that one result follows from directly."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from augerbook.builds.build import Build, Entry
from augerbook.core.example import last_steps
from augerbook.core.quantity import Quantity, Series

#: Significant digits of a computed value that is handed on as if it were measured.
_DIGITS = 7


def excerpt(build: Build, result: Quantity) -> Build:
    """Return a build of the same name that holds just what the last step to ``result`` takes.

    What is given keeps its digits and its spread. What is computed on the way stands as if it had been measured, to
    seven digits.

    Raises:
        ValueError: the build has no value for the result, or it is given.
    """
    solution = build.solution
    if result not in solution.values or result in solution.given:
        raise ValueError(f"{result.name_in_words} is not computed in this build: nothing leads to it")
    nodes = last_steps(build.network, result, solution, build.choices)
    reached = {q for node in nodes for q in node.outputs}
    taken = [item for node in nodes for item in node.needs(build.choices) if item not in reached]
    entries: dict[Quantity, Entry] = {}
    rows: dict[Series, tuple[NDArray[np.float64], ...]] = {}
    for item in taken:
        if isinstance(item, Series):
            rows[item] = solution.values[item]
        elif item in solution.given:
            low, high = build.ends.get(item, (None, None))
            entries[item] = Entry(build.values[item], low, high)
        else:
            entries[item] = Entry(_rounded(item, solution[item]))
    chosen = {node.choice: build.choices[node.choice] for node in nodes if node.choice is not None}
    return Build(build.name, "", entries, chosen, {}, build.network, rows)


def _rounded(quantity: Quantity, si: float) -> float:
    shown: Any = quantity.shown(si)
    return float(quantity.si(float(f"{float(shown):.{_DIGITS}g}")))
