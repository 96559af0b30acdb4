"""What can be computed from what is given, and in which order: the same for all values of the same quantities."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from augerbook.core.quantity import Choice, Quantity, Series
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
    def used(self) -> tuple[Node, ...]:
        """The nodes computed."""
        return tuple(step.node for step in self.steps)


def lacking_in_words(missing: Mapping[Quantity | Series, Lacking], quantity: Quantity) -> str:
    """Say what must be given for ``quantity`` to be known: itself when it is an input."""
    lacking = missing.get(quantity, frozenset({quantity}))
    return "needs " + ", ".join(sorted(item.name_in_words for item in lacking))
