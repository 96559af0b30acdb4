"""Candidates and draws put through the whole head: in this process, or by any executor that is handed in.

The heads are cut into pieces. Each piece that is done is kept: whoever stops early, or loses a worker, keeps the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, islice, pairwise
from math import prod

import numpy as np
from numpy.typing import NDArray

from augerbook.builds.build import Build
from augerbook.core.margin import Margin
from augerbook.core.quantity import Quantity
from augerbook.deciding.candidates import Candidate
from augerbook.deciding.draws import Draws
from augerbook.deciding.work import Piece, Worked, work
from augerbook.settle import ROUNDS

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Heads in a piece: a second or so of work, so that progress shows and a stop is heard.
HEADS_IN_A_PIECE = 1024
#: What a study may take in memory; a larger one is refused with the size it would take.
MOST_BYTES = 1_000_000_000
#: Pieces handed to an executor and not answered yet.
_AHEAD = 64
#: Seconds in which no worker answers at all before the rest is computed here: a piece takes one or a few.
PATIENCE = 120.0


@dataclass(frozen=True)
class Study:
    """What came of candidates and draws.

    Attributes:
        candidates: in the order of the rows.
        quantities: in the order of the first axis.
        draws: what was drawn; the first column is no draw but the build as given.
        values: SI, quantity by candidate by draw (the nominal one first); NaN where there is none, or not yet.
        at_rest: candidate by draw, whether the circles of the head came to rest.
        done: candidate by draw, whether that head has been computed.
        lost: what went wrong with pieces that were computed again here, in words.
    """

    candidates: tuple[Candidate, ...]
    quantities: tuple[Quantity, ...]
    draws: Draws
    values: Array
    at_rest: Flags
    done: Flags
    lost: tuple[str, ...] = ()

    def of(self, quantity: Quantity) -> Array:
        """Return the values of one quantity (SI), candidate by draw, without the nominal ones."""
        drawn: Array = self.values[self._places[quantity], :, 1:]
        return drawn

    def nominal(self, quantity: Quantity) -> Array:
        """Return the values of one quantity (SI) at the candidates as given, nothing drawn."""
        given: Array = self.values[self._places[quantity], :, 0]
        return given

    @cached_property
    def _places(self) -> dict[Quantity, int]:
        return {quantity: place for place, quantity in enumerate(self.quantities)}

    @cached_property
    def begun(self) -> Flags:
        """The candidates that have been through some draws at least."""
        return np.asarray(self.done[:, 1:].any(axis=1))

    @cached_property
    def counted(self) -> Flags:
        """The draws that every candidate begun has been through: only these compare like with like."""
        if not self.begun.any():
            return np.zeros(len(self.draws), dtype=np.bool_)
        return np.asarray(self.done[self.begun, 1:].all(axis=0))

    def in_draws(self, flags: Flags) -> Flags:
        """Return flags, candidate by draw with the nominal ones first, for the draws that are counted alone."""
        return np.asarray(flags[:, 1:][:, self.counted])

    @property
    def complete(self) -> bool:
        """Whether nothing was left out."""
        return bool(self.done.all())

    def holds(self, margins: Sequence[Margin], rows: slice | Sequence[int] = slice(None)) -> Flags:
        """Return whether each head stays within the limits of all margins, candidate by draw, nominal ones first.

        A head without a value, or whose circles did not come to rest, does not hold.

        Args:
            margins: what a head has to hold.
            rows: the candidates that are asked about.
        """
        held = self.at_rest[rows] & self.done[rows]
        for margin in margins:
            held = held & self.within(margin, rows)
        return held

    def within(self, margin: Margin, rows: slice | Sequence[int] = slice(None)) -> Flags:
        """Return whether each head is within the limit of one margin, whatever else, candidate by draw, nominal first.

        A head without a value is not.

        Args:
            margin: whose limit.
            rows: the candidates that are asked about.
        """
        return margin.holds(self.values[self._places[margin.quantity]][rows])


@dataclass(frozen=True)
class Progress:
    """A study so far: the same arrays fill up from step to step.

    Attributes:
        study: what there is.
        done, of: pieces done, and pieces in all.
    """

    study: Study
    done: int
    of: int


def pieces(
    candidates: Sequence[Candidate], drawn: Draws, quantities: Sequence[Quantity], heads: int = HEADS_IN_A_PIECE
) -> Iterator[Piece]:
    """Cut candidates and draws into pieces, in the order in which they are best done.

    First every candidate goes through its nominal head and the first draws, then every one through the next: whoever
    stops early has all of them on the same draws. A piece is drawn when it is asked for: the inputs of all candidates
    together would take more memory than what comes of them.
    """
    for start, end in pairwise(_edges(drawn, heads)):
        for row, candidate in enumerate(candidates):
            build = candidate.build
            part = _with_nominal(build, drawn, start, end)
            fixed = {q: value for q, value in build.values.items() if q not in part}
            yield Piece(build.network, fixed, build.choices, part, tuple(quantities), ROUNDS, (row, start))


def _edges(drawn: Draws, heads: int) -> list[int]:
    return [0, *range(heads + 1, len(drawn) + 1, heads), len(drawn) + 1]


def _with_nominal(build: Build, drawn: Draws, start: int, end: int) -> dict[Quantity, Array]:
    """Return the inputs (SI) of the heads from ``start`` to ``end``, of which number nought is the build as given."""
    rows = slice(max(start - 1, 0), end - 1)
    given = 1 if start == 0 else 0
    columns = {
        q: np.concatenate([np.full(given, build.values[q]), places]) for q, places in drawn.of(build, rows).items()
    }
    if not columns:
        # Nothing of this candidate is uncertain: all its draws are the same head.
        some = next(q for q in build.values if isinstance(q, Quantity))
        columns = {some: np.full(end - start, build.values[some])}
    return columns


def shape_kept(candidates: int, drawn: int, quantities: int) -> tuple[int, int, int]:
    """Return the shape of what a study keeps: quantity by candidate by head, the nominal one and the drawn ones.

    Raises:
        ValueError: it would take too much memory; the message says how much.
    """
    shape = (quantities, candidates, drawn + 1)
    if (size := 8 * prod(shape)) > MOST_BYTES:
        raise ValueError(
            f"{candidates:,} candidates with {drawn:,} draws and {quantities} results would take "
            f"{size / 1e9:.1f} GB of memory, and {MOST_BYTES / 1e9:g} GB are allowed: try fewer candidates or draws"
        )
    return shape


def in_steps(
    candidates: Sequence[Candidate],
    drawn: Draws,
    quantities: Sequence[Quantity],
    *,
    executor: Executor | None = None,
    heads: int = HEADS_IN_A_PIECE,
    patience: float = PATIENCE,
) -> Iterator[Progress]:
    """Put every candidate with every draw through the whole head, and yield what there is after each piece.

    Whoever stops asking stops the work; what has been done by then is in the last study. Arguments as for `run`.

    Raises:
        ValueError: as for `run`.
    """
    if not candidates:
        raise ValueError("no candidate can be built: nothing to put through the head")
    shape = shape_kept(len(candidates), len(drawn), len(quantities))
    values = np.full(shape, np.nan)
    at_rest, done = np.zeros(shape[1:], dtype=np.bool_), np.zeros(shape[1:], dtype=np.bool_)
    todo, of = pieces(candidates, drawn, quantities, heads), len(candidates) * (len(_edges(drawn, heads)) - 1)
    lost: list[str] = []
    results = _here(todo) if executor is None else _elsewhere(todo, executor, lost, patience)
    for count, worked in enumerate(results, 1):
        row, start = worked.place
        part = slice(start, start + worked.values.shape[1])
        values[:, row, part], at_rest[row, part], done[row, part] = worked.values, worked.at_rest, True
        study = Study(tuple(candidates), tuple(quantities), drawn, values, at_rest, done, tuple(lost))
        yield Progress(study, count, of)


def run(
    candidates: Sequence[Candidate],
    drawn: Draws,
    quantities: Sequence[Quantity],
    *,
    executor: Executor | None = None,
    heard: Callable[[int, int], bool] = lambda _done, _of: True,
    heads: int = HEADS_IN_A_PIECE,
    patience: float = PATIENCE,
) -> Study:
    """Put every candidate with every draw through the whole head.

    Args:
        candidates: what to try.
        drawn: the same draws for all of them.
        quantities: what to keep of each head.
        executor: who computes the pieces; None for this process. Where a worker dies its pieces are computed here.
        heard: called with pieces done and pieces in all after each one; answering False stops, and what is done stays.
        heads: how many heads make a piece.
        patience: after so many seconds without any answer, what is still waiting is computed here.

    Raises:
        ValueError: no candidates, or more than fits into memory; the message says how much it would take.
    """
    steps = in_steps(candidates, drawn, quantities, executor=executor, heads=heads, patience=patience)
    for step in steps:
        if not heard(step.done, step.of):
            break
    return step.study


def _here(todo: Iterable[Piece]) -> Iterator[Worked]:
    for piece in todo:
        yield work(piece)


def _elsewhere(todo: Iterator[Piece], executor: Executor, lost: list[str], patience: float) -> Iterator[Worked]:
    waiting: dict[Future[Worked], Piece] = {}
    again: list[Piece] = []
    try:
        while True:
            # So many ahead that no worker waits, and no more: each holds its inputs until it is answered.
            taken = 0
            for piece in islice(todo, max(0, _AHEAD - len(waiting))):
                taken += 1
                try:
                    waiting[executor.submit(work, piece)] = piece
                except Exception as error:  # a broken pool refuses more work, each kind with an error of its own
                    lost.append(f"{type(error).__name__}: {error}")
                    again.append(piece)
            if not waiting:
                yield from _here(again)
                again.clear()
                if not taken:
                    return
                continue
            answered, _ = wait(waiting, timeout=patience, return_when=FIRST_COMPLETED)
            if not answered:  # a cluster can lose a result, with the worker that held it, and never say so
                lost.append(f"no answer for {patience:g} s: {len(waiting)} pieces are computed here")
                yield from _here(chain(again, waiting.values(), todo))
                return
            for future in answered:
                piece = waiting.pop(future)
                try:
                    yield future.result()
                except Exception as error:  # whatever a worker died of, its piece is computed here
                    lost.append(f"{type(error).__name__}: {error}")
                    again.append(piece)
    finally:
        for future in waiting:
            future.cancel()


def outputs_of(margins: Sequence[Margin], aims: Sequence[Quantity]) -> tuple[Quantity, ...]:
    """Return what must be kept to judge the margins and to compare by the aims, each once."""
    return tuple(dict.fromkeys([*(margin.quantity for margin in margins), *aims]))
