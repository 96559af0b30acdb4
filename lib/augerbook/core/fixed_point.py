"""Circles that a network cannot hold: something is assumed, something else finds it, and both must agree."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from augerbook.core.network import Choices, Network, NetworkError, Values
from augerbook.core.quantity import Quantity

Array = NDArray[np.float64]

#: A round that changes nothing by more than this share has settled.
AT_REST = 2e-3


@dataclass(frozen=True)
class FixedPoint:
    """Where going round the circles of a network has led.

    Attributes:
        values: what was assumed last, in SI, one number for each case.
        residuals: how far what was found then lies from it, as a share; infinite where nothing was found.
        rounds: how many rounds were made.
    """

    values: Mapping[Quantity, Array]
    residuals: Mapping[Quantity, Array]
    rounds: int

    @property
    def at_rest(self) -> NDArray[np.bool_]:
        """Whether another round would change next to nothing, for each case."""
        rests: NDArray[np.bool_] = np.max(list(self.residuals.values()), axis=0) <= AT_REST
        return rests

    def in_words(self, case: int = 0) -> str:
        """Say what keeps one case from rest; empty where it is at rest."""
        if self.at_rest[case]:
            return ""
        worst, apart = max(((q, float(r[case])) for q, r in self.residuals.items()), key=lambda pair: pair[1])
        if not np.isfinite(apart):
            return f"no {worst.name_in_words} was found that could be assumed"
        made = "1 round" if self.rounds == 1 else f"{self.rounds} rounds"
        return (
            f"after {made} the {worst.name_in_words} found still differs by {100 * apart:.2g} % from the one assumed: "
            "they do not settle"
        )


def within_range(quantity: Quantity, found: ArrayLike) -> Array:
    """Return what was found, in SI, with what lies beyond the range of its quantity taken at the range's end."""
    low, high = map(quantity.si, quantity.limits)
    return np.clip(np.asarray(found, dtype=np.float64), low, high)


def fixed_point(
    network: Network,
    values: Values,
    choices: Choices,
    *,
    rounds: int,
    vary: Mapping[Quantity, Array] | None = None,
    enough: float = 0.0,
) -> FixedPoint:
    """Put what the circles of a network find in place of what they assume, again and again.

    Args:
        values: SI values of the inputs, the first assumptions among them.
        vary: inputs that differ from case to case, 1-D SI arrays of one length: a thousand cases are one call
            a round.
        enough: a case that a round has changed by no more than this share is left alone; 0 goes all rounds.

    A value beyond the range of its input is taken at the range's end. Where nothing is found the last assumption stays.

    Raises:
        NetworkError: what the circles need is not given; the message names it.
    """
    columns = {q: np.atleast_1d(np.asarray(column, dtype=np.float64)) for q, column in (vary or {}).items()}
    cases = len(next(iter(columns.values()))) if columns else 1
    circles, start = network.circles, {**values, **columns}
    if absent := [circle.assumed.name_in_words for circle in circles if circle.assumed not in start]:
        raise NetworkError(f"nothing is assumed for the {' and the '.join(absent)}")
    assumed = {c.assumed: np.array(np.broadcast_to(start[c.assumed], cases), dtype=np.float64) for c in circles}
    others = {q: column for q, column in columns.items() if q not in assumed}
    # What differs from case to case but hangs on nothing assumed is computed once, not in every round.
    if stays := _beside_the_circles(network, start, choices, others):
        others |= zip(stays, network.compile(stays, list(others), values, choices)(*others.values()), strict=True)
    sweep = network.compile([circle.found for circle in circles], [*assumed, *others], values, choices)

    def found(left: NDArray[np.intp]) -> dict[Quantity, Array]:
        results = sweep(*(a[left] for a in assumed.values()), *(column[left] for column in others.values()))
        return {circle.assumed: result for circle, result in zip(circles, results, strict=True)}

    residuals = {q: np.full(cases, np.inf) for q in assumed}
    moving = np.arange(cases)
    for _ in range(rounds):
        results = found(moving)
        known = np.isfinite(np.array(list(results.values()))).all(axis=0)
        for quantity, result in results.items():
            before = assumed[quantity][moving]
            residuals[quantity][moving] = _apart(result, before)
            assumed[quantity][moving] = np.where(known, within_range(quantity, result), before)
        if enough:
            apart = np.max([r[moving] for r in residuals.values()], axis=0)
            moving = moving[(apart > enough) & np.isfinite(apart)]  # where nothing is found nothing will ever move
    for quantity, result in found(moving).items():
        residuals[quantity][moving] = _apart(result, assumed[quantity][moving])
    return FixedPoint(assumed, residuals, rounds)


def _beside_the_circles(
    network: Network, start: Values, choices: Choices, others: Collection[Quantity]
) -> list[Quantity]:
    """Return what the circles need, differs from case to case with ``others``, and follows from nothing assumed."""
    moves = network.downstream(network.assumed, start.keys())
    differs = network.downstream(others, start.keys()) - moves
    known = network.plan(frozenset(start), frozenset(choices.items()), frozenset()).known
    chain = network.chain([circle.found for circle in network.circles], start, choices)
    needs = dict.fromkeys(q for node in chain if not moves.isdisjoint(node.outputs) for q in node.needs(choices))
    return [q for q in needs if isinstance(q, Quantity) and q in differs and q in known and q not in start]


def _apart(found: Array, assumed: Array) -> Array:
    """Return by which share what was found differs from what was assumed; infinite where nothing was found."""
    with np.errstate(all="ignore"):
        share = np.abs(found / assumed - 1)
    return np.where(np.isfinite(share), share, np.inf)
