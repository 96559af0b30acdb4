"""Heads at work, many at a time: circles brought to rest, then whatever is asked for, as arrays.

A piece of work is plain data and may be computed by any process: it names its network and holds numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from augerbook.core.fixed_point import AT_REST, fixed_point
from augerbook.core.network import Network
from augerbook.core.quantity import Choice, Quantity

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Piece:
    """Some heads that have the same kinds and the same inputs given, and what is asked of them.

    Attributes:
        network: pickled as the place where another process finds it.
        values: SI values that all of these heads share, short tables among them.
        choices: the kinds that they share.
        columns: SI values that differ from head to head, 1-D and equally long.
        outputs: what is asked for.
        rounds: how often the circles (torque heats, heat softens) are gone round.
        place: which heads these are, for whoever puts the pieces together.
    """

    network: Network
    values: Mapping[Any, Any]
    choices: Mapping[Choice, str]
    columns: Mapping[Quantity, Array]
    outputs: tuple[Quantity, ...]
    rounds: int
    place: tuple[int, int]


@dataclass(frozen=True)
class Worked:
    """What came of a piece.

    Attributes:
        values: SI, one row for each output asked for, one column for each head; NaN where a head has none.
        at_rest: whether the circles of a head came to rest; where not, its numbers are those of the last round.
        place: the place of the piece.
    """

    values: Array
    at_rest: NDArray[np.bool_]
    place: tuple[int, int]


def brought_to_rest(
    network: Network,
    values: Mapping[Any, Any],
    choices: Mapping[Choice, str],
    columns: Mapping[Quantity, Array],
    *,
    rounds: int,
    enough: float,
) -> tuple[dict[Quantity, Array], NDArray[np.bool_]]:
    """Return the columns with what the circles find in place of what they assume, and whether each head is at rest.

    Heads that lack what a circle needs stay as they are. Arguments as for `augerbook.core.fixed_point.fixed_point`.
    """
    known = network.plan(frozenset({*values, *columns}), frozenset(choices.items()), frozenset()).known
    if not network.circles or not all({c.assumed, c.found} <= known for c in network.circles):
        return dict(columns), np.ones(len(next(iter(columns.values()))), dtype=np.bool_)
    point = fixed_point(network, values, choices, rounds=rounds, vary=columns, enough=enough)
    return {**columns, **point.values}, point.at_rest


def work(piece: Piece) -> Worked:
    """Bring some heads to rest and compute what is asked for; an output that lacks an input is NaN for all of them."""
    network, heads = piece.network, len(next(iter(piece.columns.values())))
    columns, at_rest = brought_to_rest(
        network, piece.values, piece.choices, piece.columns, rounds=piece.rounds, enough=AT_REST
    )
    plan = network.plan(frozenset({*piece.values, *columns}), frozenset(piece.choices.items()), frozenset())
    asked = [q for q in piece.outputs if q in plan.known]
    found = network.compile(asked, list(columns), piece.values, piece.choices)(*columns.values())
    values = np.full((len(piece.outputs), heads), np.nan)
    for quantity, row in zip(asked, found, strict=True):
        values[piece.outputs.index(quantity)] = row
    return Worked(values, at_rest, piece.place)
