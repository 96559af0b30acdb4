"""What can be computed from what is given, and in which order: the same for all values of the same quantities."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.relation import Node

Lacking = frozenset[Quantity | Choice | Series]


@dataclass(frozen=True)
class Step:
    """One node in an order of computation: its arguments, and which of its outputs are taken from it."""

    node: Node
    needs: tuple[Quantity | Series, ...]
    takes: tuple[Quantity, ...]

    @cached_property
    def _places(self) -> tuple[tuple[int, Quantity], ...]:
        return tuple((place, q) for place, q in enumerate(self.node.outputs) if q in self.takes)

    def run(self, known: Mapping[Any, Any]) -> dict[Quantity, Any]:
        """Compute what is taken from the node."""
        results = self.node.array(*[known[q] for q in self.needs])
        return {quantity: results[place] for place, quantity in self._places}


@dataclass(frozen=True)
class Plan:
    """What can be computed from a set of given quantities and choices.

    Attributes:
        steps: in order of computation.
        known: what is given or computed.
        missing: for each result that cannot be computed, the inputs and choices it lacks.
        concerned: the nodes computed that matter under the choices.
    """

    steps: tuple[Step, ...]
    known: frozenset[Quantity | Series]
    missing: Mapping[Quantity | Series, Lacking]
    concerned: tuple[Node, ...]

    @cached_property
    def makers(self) -> dict[Quantity | Series, Step]:
        """For each computed quantity the step that takes it."""
        return {quantity: step for step in self.steps for quantity in step.takes}


class LazyValues(Mapping[Any, Any]):
    """What is given, and what follows from it by a plan: computed when it is asked for, and once.

    A picture of the screw must not wait for the temperatures along the tube. Iterating gives everything, the given
    first, the rest in order of computation.
    """

    def __init__(self, plan: Plan, given: Mapping[Any, Any]) -> None:
        # NumPy's floats: a division by zero is infinite or not defined, where Python's would end the computation.
        self._exact = {q: np.float64(v) if isinstance(q, Quantity) else v for q, v in given.items()}
        self._given = tuple(given)
        self._makers = plan.makers

    def exact(self, item: Quantity | Series) -> Any:
        """Return the value as the nodes compute with it: a NumPy float, or a tuple of arrays for a series.

        Raises:
            KeyError: it is neither given nor computed.
        """
        if item not in self._exact:
            with np.errstate(all="ignore"):
                self._compute(self._makers[item])
        return self._exact[item]

    def _compute(self, step: Step) -> None:
        for need in step.needs:
            if need not in self._exact:
                self._compute(self._makers[need])
        self._exact.update(step.run(self._exact))

    def __getitem__(self, item: Any) -> Any:
        value = self.exact(item)
        return float(value) if isinstance(item, Quantity) else value

    def __contains__(self, item: object) -> bool:
        return item in self._exact or item in self._makers

    def __iter__(self) -> Iterator[Any]:
        yield from self._given
        yield from self._makers

    def __len__(self) -> int:
        return len(self._given) + len(self._makers)


def lacking_of(missing: Mapping[Quantity | Series, Lacking], *quantities: Quantity) -> Lacking:
    """Return what must be given for all ``quantities`` to be known: themselves when they are inputs."""
    return frozenset(item for quantity in quantities for item in missing.get(quantity, frozenset({quantity})))


def lacking_in_words(lacking: Iterable[Quantity | Choice | Series | Lookup]) -> str:
    """Say what must be given, by name."""
    return "needs " + ", ".join(sorted(item.name_in_words for item in lacking))
