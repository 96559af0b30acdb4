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


def work(piece: Piece) -> Worked:
    """Bring some heads to rest and compute what is asked for; an output that lacks an input is NaN for all of them."""
    network, heads = piece.network, len(next(iter(piece.columns.values())))
    plan = network.plan(frozenset({*piece.values, *piece.columns}), frozenset(piece.choices.items()), frozenset())
    columns, at_rest = dict(piece.columns), np.ones(heads, dtype=np.bool_)
    if network.circles and all({c.assumed, c.found} <= plan.known for c in network.circles):
        point = fixed_point(
            network, piece.values, piece.choices, rounds=piece.rounds, vary=piece.columns, enough=AT_REST
        )
        columns |= point.values
        at_rest = point.at_rest
    asked = [q for q in piece.outputs if q in plan.known]
    found = network.compile(asked, list(columns), piece.values, piece.choices)(*columns.values())
    values = np.full((len(piece.outputs), heads), np.nan)
    for quantity, row in zip(asked, found, strict=True):
        values[piece.outputs.index(quantity)] = row
    return Worked(values, at_rest, piece.place)
