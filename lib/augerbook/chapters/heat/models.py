"""Temperatures of screw, plastic and tube along the head: three bodies side by side, solved with finite volumes.

Along the tube each slice of screw, plastic and tube has one temperature. Heat goes along each of them, across from
screw to plastic and from plastic to tube, and from the tube to the air. In the heated block the tube is as hot as the
block. The balances of all slices (``grid.py``) bend where the plastic softens and conducts better, so they are
solved by Newton's method: seven diagonals in each round, and what friction couples beyond them put in afterwards. A
few thick slices lead near the solution at a fifth of the cost; from there the thin ones need three rounds.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.lib.stride_tricks import as_strided
from scipy.linalg.lapack import dgbsv

from augerbook.chapters.heat.grid import BLOCK_SLICES, TUBE_SLICES, Array, Balances, Grid, Head, some_of
from augerbook.core.distinct import different

#: The temperatures count as settled when a further round would move none by more than this (K).
SETTLED = 1e-8
#: From such a step on (K) the imbalance says nothing more about the next one: Newton's method doubles the digits, and
#: the next step is shorter than the square of this one (in K); the tests measure it.
_NEAR = 1e-4
#: How a state that cannot last is left: warmed by so much (K), and followed with steps of so many seconds (as 1/s).
_NUDGE, _NUDGED_PACE = 2.0, 0.3
_ROUNDS = 300
#: The start: slices so many times as thick, until a round moves none by more than this (K), in so many rounds at most.
_THICKER, _ROUGH, _ROUGH_ROUNDS = 5, 5.0, 6
#: No round moves a temperature by more than this (K): near a state that is only just lost, Newton's steps go anywhere.
_FURTHEST = 100.0
#: How a build that does not settle is slowed down: step taken for so many seconds at first (as 1/s), shorter by so much
#: after each round that leaves so many times the imbalance, longer by so much after each one that does not.
_PACE, _SHORTER, _WORSE, _LONGER = 0.03, 4.0, 2.0, 3.0
#: Builds solved at a time, a piece of a study and more, and how many of these answers are kept: the operating point
#: asks again for what runs, after what pauses.
_AT_ONCE, _KEPT = 1280, 6
#: When no more than this share of them still moves, the others are left behind.
_GO_ON = 0.8
#: So many builds are eliminated side by side, column by column; fewer are quicker one after the other.
_MANY = 100


class Temperatures(NamedTuple):
    """Temperatures (K) of B builds in N slices, and where the heat goes (W).

    Attributes:
        place, width: middle and width of each slice from the throat, (B, N); the tube's slices come first.
        screw, plastic, tube: (B, N).
        from_block: what the heated block gives to tube and plastic, (B,).
        to_air: what the tube gives to the air or the cooler, (B,).
        to_bearing: what the screw conducts back to the bearing, (B,).
        carried: what the plastic carries out at the tip less what came in at the throat, by flow and conduction, (B,).
        residual: how far a further round would still move a temperature at most (K), (B,); infinite for a state that
            does not last.
    """

    place: Array
    width: Array
    screw: Array
    plastic: Array
    tube: Array
    from_block: Array
    to_air: Array
    to_bearing: Array
    carried: Array
    residual: Array


def newton_step(now: Balances, hold: Array | None = None) -> tuple[Array, Array]:
    """Return the step (B, N, 3) after which the balances would hold if they were straight (Newton's).

    ``hold`` is put onto the diagonal: the larger, the shorter the step. The second result is the sign of the
    determinant of the derivatives, (B,): negative where the state cannot last, see `temperatures`.
    """
    solve = _one_by_one if len(now.given) < _MANY else _side_by_side
    straight, turned, odd = solve(now, 0.0 if hold is None else hold)
    # The friction couples every slice with every other by a product, which the formula of Sherman and Morrison adds.
    by_step, by_itself = ((now.drawn * x[:, :, 1]).sum(axis=1) for x in (straight, turned))
    sign = np.where(odd, -1.0, 1.0) * np.sign(1.0 + by_itself)
    return straight - turned * (by_step / (1.0 + by_itself))[:, None, None], sign


def _one_by_one(now: Balances, hold: Array | float) -> tuple[Array, Array, Array]:
    """Return what the band gives for the balances and for ``spread``, (B, N, 3), and if its determinant is negative."""
    right = np.stack([-now.given, now.spread], axis=-1)
    diagonals = np.zeros((10, *now.given.shape))  # with room for what elimination fills in
    diagonals[3:] = now.band
    diagonals[6] += hold
    # A slice of the next build never couples to the last of this one.
    factors, swapped, found, _ = dgbsv(3, 3, diagonals.reshape(10, -1), right.reshape(-1, 2), overwrite_ab=True)
    found = found.reshape(right.shape)
    minuses = ((factors[6] < 0) ^ (swapped != np.arange(swapped.size))).reshape(len(right), -1)
    return found[..., 0], found[..., 1], np.count_nonzero(minuses, axis=1) % 2 == 1


def _side_by_side(now: Balances, hold: Array | float) -> tuple[Array, Array, Array]:
    """Return the same by elimination, each step of it for all builds at once, in the memory of ``now.band``.

    No rows are exchanged: what a body gives for its own temperature nearly always outweighs what it gets from others,
    and what rounding leaves is mended in the next round.
    """
    size, slices, bodies = now.given.shape
    count = slices * bodies
    band, right = now.band, np.empty((count, 2, size))
    band[3] += hold
    for side, values in enumerate((-now.given, now.spread)):
        right[:, side] = np.moveaxis(values, 0, -1).reshape(count, size)
    # A view, since the builds of a grid lie side by side in memory.
    diagonals = np.moveaxis(band, 1, -1).reshape(7, count, size)
    # The derivative of j + r by j + c, for r and c up to 3, stands in row 3 + r - c, column j + c.
    down, along, across = diagonals.strides
    # Of the last three squares only the corners inside the band are touched.
    squares = as_strided(diagonals[3:], (count, 4, 4, size), (along, down, along - down, across))
    product, sides = np.empty((3, 3, size)), np.empty((3, 2, size))
    for j in range(count):
        below = min(3, count - 1 - j)
        square, own, rest = squares[j, : below + 1, : below + 1], right[j], right[j + 1 : j + 1 + below]
        factor, corner = square[1:, :1], square[1:, 1:]
        factor /= square[0, 0]
        corner -= np.multiply(factor, square[:1, 1:], out=product[:below, :below])
        rest -= np.multiply(factor, own, out=sides[:below])
    for j in reversed(range(count)):
        below = min(3, count - 1 - j)
        own, ahead = right[j], squares[j, 0, 1 : below + 1, None]
        own -= np.multiply(ahead, right[j + 1 : j + 1 + below], out=sides[:below]).sum(axis=0)
        own /= diagonals[3, j]
    straight, turned = (np.moveaxis(right[:, side].reshape(slices, bodies, size), -1, 0) for side in (0, 1))
    return straight, turned, np.count_nonzero(diagonals[3] < 0, axis=0) % 2 == 1


def temperatures(head: Head, tube_slices: int = TUBE_SLICES, block_slices: int = BLOCK_SLICES) -> Temperatures:
    """Return the steady temperatures of one build or of several (1-D arrays of one length).

    With much friction a state can be steady and yet not last: a little more that is soft draws more heat of friction,
    which softens still more. Then one of the ways in which the temperatures can change grows by itself, and the
    determinant of the balances' derivatives is negative. Such a state is left, on the side where more is soft.
    """
    grid = Grid(head, tube_slices, block_slices)
    thick = Grid(head, max(2, round(tube_slices / _THICKER)), max(2, round(block_slices / _THICKER)))
    rough, _ = _newton(thick, thick.guess(), rounds=_ROUGH_ROUNDS, enough=_ROUGH, guessed=True)
    at, residual = _newton(grid, grid.from_thicker(rough, thick), rounds=_ROUNDS, enough=SETTLED)
    screw, plastic, tube = np.moveaxis(at, 2, 0)
    return Temperatures(grid.place, grid.width, screw, plastic, tube, *grid.flows(at), residual)


def _newton(grid: Grid, at: Array, *, rounds: int, enough: float, guessed: bool = False) -> tuple[Array, Array]:
    """Go from the temperatures ``at`` (B, N, 3) until a round moves none by more than ``enough`` (K).

    The first round of a mere guess (``guessed``) leaves the plastic's conductivity as it is, which leads near from
    anywhere. Returns the temperatures, and by how much a further round would still move one at most (K), (B,).
    """
    found, size = np.array(at), grid.shape[0]
    rows, room = np.arange(size), grid.room()
    residuals, residual, imbalance = (np.full(size, np.inf) for _ in range(3))
    pace, sign = np.zeros(size), np.ones(size)
    for number in range(rounds):
        now = grid.balances(at, follow=number > 0 or not guessed, room=room)
        left = np.abs(now.given).sum(axis=(1, 2))
        if number > 1:
            # A soft front that jumps to and fro leaves more imbalance than before, and where no state lasts Newton's
            # method seeks one that does not. Then let it creep, as if the bodies had to be warmed up in the time of a
            # step, and faster again as long as that helps.
            astray = (left > _WORSE * imbalance) | (sign < 0)
            slower, faster = np.maximum(_SHORTER * pace, _PACE), np.where(pace < _PACE / 100, 0.0, pace / _LONGER)
            pace = np.where(residual <= _NEAR, 0.0, np.where(astray, slower, faster))
        imbalance = left
        step, sign = newton_step(now, pace[:, None, None] * grid.inertia if pace.any() else None)
        # A build that has settled stays as it is, so that a build among many is the same as alone.
        settled = residual <= enough
        step[settled] = 0.0
        moved = np.abs(step).max(axis=(1, 2))  # of a step that was held back it says nothing
        step *= (_FURTHEST / np.maximum(moved, _FURTHEST))[:, None, None]
        ahead = np.where(pace > 0, np.maximum(moved, 2 * enough), np.where(moved <= _NEAR, moved**2, moved))
        residual = np.where(settled, residual, ahead)
        fleeting = (sign < 0) & (residual <= enough)
        step[(sign < 0) & ~fleeting] = 0.0
        residual[fleeting] = np.inf
        moving = residual > enough
        at = at + step
        if fleeting.any():
            at[fleeting, :, 1] += _NUDGE
            imbalance[fleeting], pace[fleeting] = np.inf, _NUDGED_PACE
        if np.count_nonzero(moving) <= _GO_ON * len(rows) or number == rounds - 1:
            found[rows], residuals[rows] = at, residual
            if not moving.any():
                break
            rows, residual, imbalance, pace, sign = (x[moving] for x in (rows, residual, imbalance, pace, sign))
            at, grid = some_of(at, moving), grid.of(moving)
            room = grid.room()
    return found, residuals


def soft_length(place: Array, temperature: Array, at_throat: Array, softening: Any, tube_length: Any) -> Array:
    """Return the length of tube (B,) beyond the first place from the throat at which a temperature is reached.

    Between slices the temperature is taken as a straight line. Nothing of the heated block counts.
    """
    z = np.concatenate([np.zeros((len(place), 1)), place], axis=1)
    above = np.concatenate([at_throat[:, None], temperature], axis=1) - np.reshape(softening, (-1, 1))
    soft = above >= 0
    index = np.where(soft.any(axis=1), soft.argmax(axis=1), z.shape[1] - 1)
    row, before = np.arange(len(z)), np.maximum(index - 1, 0)
    rise = above[row, index] - above[row, before]
    part = np.where(rise > 0, -above[row, before] / np.where(rise > 0, rise, 1.0), 1.0)
    reached = z[row, before] + np.clip(part, 0.0, 1.0) * (z[row, index] - z[row, before])
    first = np.where(index == 0, 0.0, np.where(soft.any(axis=1), reached, np.inf))
    return np.clip(np.reshape(tube_length, -1) - first, 0.0, None)


class Outcome(NamedTuple):
    """What the chapter keeps of the temperatures, SI."""

    softened_length: Any
    screw_soft_length: Any
    tip_temperature: Any
    screw_at_throat: Any
    block_heat: Any
    residual: Any
    to_air: Any
    to_bearing: Any
    carried: Any


def throat_of_screw(head: Head, screw: Array, place: Array) -> Array:
    """Return the screw's temperature at the throat (K) from that in its first slice, whose middle is at ``place``.

    The shank carries heat to the bearing evenly, so that the temperature falls along a straight line.
    """
    drive, shank = (np.asarray(v, dtype=np.float64).reshape(-1) for v in (head.drive_temperature, head.shank_length))
    return drive + (screw - drive) * shank / (shank + place)


def outcome(head: Head, found: Temperatures) -> Outcome:
    """Sum up temperatures; arrays (B,)."""
    at_throat = throat_of_screw(head, found.screw[:, 0], found.place[:, 0])
    enters = np.broadcast_to(np.asarray(head.throat_temperature, dtype=np.float64).reshape(-1), found.residual.shape)
    soft, length = head.softening_temperature, head.tube_length
    return Outcome(
        soft_length(found.place, found.plastic, enters, soft, length),
        soft_length(found.place, found.screw, at_throat, soft, length),
        found.plastic[:, -1],
        at_throat,
        found.from_block,
        np.maximum(found.residual, SETTLED),  # below that no further round was gone
        found.to_air,
        found.to_bearing,
        found.carried,
    )


@lru_cache(maxsize=16)
def temperatures_of_one(head: Head, cells: int = TUBE_SLICES) -> Temperatures:
    """Return the temperatures of one build; numbers and picture of a build ask for the same ones."""
    return temperatures(head, cells, block_slices(cells))


@lru_cache(maxsize=_KEPT)
def _temperatures_of_some(heads: bytes, count: int, cells: int) -> Temperatures:
    """Return the temperatures of several builds; outcome and plastic along the tube are asked for one after the other.

    Args:
        heads: the bytes of an array of SI values in the order of `Head`, (inputs, ``count``).
    """
    table = np.frombuffer(heads).reshape(len(Head._fields), count)
    return temperatures(Head(*table), cells, block_slices(cells))


def block_slices(cells: int) -> int:
    """Return how many slices the heated block gets beside ``cells`` slices of the tube."""
    return max(2, round(cells * BLOCK_SLICES / TUBE_SLICES))


def _sound(values: Array) -> Any:
    """Whether builds (one a column) are defined, with room for plastic between screw and wall."""
    shells = [Head._fields.index(name) for name in ("plastic_section", "screw_shell", "wall_shell")]
    return np.isfinite(values).all(axis=0) & (values[shells] > 0).all(axis=0)


def _of_each(
    take: Callable[[Head, Temperatures], Any], rows: tuple[int, ...], values: tuple[Any, ...], cells: int
) -> Array:
    """Return what ``take`` makes of the temperatures of builds, shaped ``rows`` and then as the SI values broadcast."""
    # In a study of many inputs most builds differ in nothing that matters here: each one is solved once.
    some_values, places = different([np.atleast_1d(v) for v in values])
    table = np.array(some_values)
    sound = np.flatnonzero(_sound(table))
    results = np.full((*rows, table.shape[1]), np.nan)
    for start in range(0, len(sound), _AT_ONCE):
        some = sound[start : start + _AT_ONCE]
        head = Head(*table[:, some])
        results[..., some] = take(head, _temperatures_of_some(np.array(head).tobytes(), len(some), cells))
    shape = np.broadcast_shapes(*(np.shape(v) for v in values))
    return np.asarray(results[..., places].reshape(*rows, *shape))


def _one(values: tuple[Any, ...]) -> Head | None:
    """Return the head when the values are those of one, and sound."""
    if any(np.ndim(v) for v in values):
        return None
    head = Head(*(float(v) for v in values))
    return head if _sound(np.array(head)) else None


def running(*values: Any, cells: int = TUBE_SLICES) -> Outcome:
    """Return the outcome for SI floats or arrays in the order of `Head`; not defined where an input is not.

    ``cells`` is the number of slices of the tube. With half of the usual ones a sweep takes less than half of the time,
    a single build nine tenths, and lengths stay within 1 % in builds like those shipped.
    """
    head = _one(values)
    if head is not None:
        return Outcome(*(x[0] for x in outcome(head, temperatures_of_one(head, cells))))
    return Outcome(*_of_each(outcome, (len(Outcome._fields),), values, cells))


def plastic_along(*values: Any, cells: int = TUBE_SLICES) -> tuple[Array, Array]:
    """Return place (m, from the throat) and temperature (K) of the plastic in each slice, (N, ...) for inputs (...).

    SI values in the order of `Head`; not defined where an input is not.
    """
    head = _one(values)
    if head is not None:
        at = temperatures_of_one(head, cells)
        return at.place[0], at.plastic[0]
    rows = (2, cells + block_slices(cells))
    place, plastic = _of_each(lambda _, at: (at.place.T, at.plastic.T), rows, values, cells)
    return place, plastic


def pausing(*values: Any, cells: int = TUBE_SLICES) -> Outcome:
    """Return the outcome at a pause: nothing is fed and the screw stands. SI values as in `Head` up to the drive's."""
    return running(*values, *(0.0,) * (len(Head._fields) - len(values)), cells=cells)
