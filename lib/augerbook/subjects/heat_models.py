"""Temperatures of screw, plastic and tube along the head: three bodies side by side, solved with finite volumes.

Along the tube each slice of screw, plastic and tube has one temperature. Heat goes along each of them, across from
screw to plastic and from plastic to tube, and from the tube to the air. In the heated block the tube is as hot as the
block. The balances of all slices are one linear system with seven diagonals, as long as the conductivity of the plastic
is known; it changes where the plastic softens, so the system is solved again until the temperatures stay the same.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_banded

Array = NDArray[np.float64]

#: Slices of the tube and of the heated block. Twice as many move the ends of the soft zone by less than 0.1 mm in the
#: builds shipped here; the tests measure it.
TUBE_SLICES, BLOCK_SLICES = 80, 24
#: Over how many kelvin the plastic changes from loose to fused: a judgement, grains fuse over 10 to 20 K.
SOFTENING_WIDTH = 4.0
#: Heat of friction in hard plastic, over that in soft one, for each length: a judgement.
HARD_FRICTION = 0.02
#: The temperatures count as settled when a further round moves none by more than this (K).
SETTLED = 1e-3
_ROUNDS = 60
#: How far each round follows the temperatures it has found: up to which round, and which share of the way.
_STEPS = ((10, 1.0), (20, 0.5), (35, 0.25), (_ROUNDS, 0.1))
#: Builds solved at a time, so that the diagonals of a large sweep stay in the processor's cache.
_AT_ONCE = 32


class Head(NamedTuple):
    """What the temperatures depend on, in SI: floats or arrays of one length.

    The sections are those through which heat goes along the head. The shank leads from the throat back to the bearing,
    which stays at room temperature. The shells are the conductance from the plastic to screw and wall for each length,
    over the plastic's conductivity (plain numbers). ``feed_heat`` is what the fed plastic takes up (W/K).
    """

    tube_length: Any
    heated_length: Any
    screw_conductivity: Any
    screw_section: Any
    shank_length: Any
    tube_conductivity: Any
    tube_section: Any
    plastic_section: Any
    screw_shell: Any
    wall_shell: Any
    tube_outside_diameter: Any
    film_coefficient: Any
    cooler_film: Any
    cooler_start: Any
    cooler_end: Any
    loose_conductivity: Any
    fused_conductivity: Any
    softening_temperature: Any
    set_temperature: Any
    room_temperature: Any
    throat_temperature: Any
    feed_heat: Any
    friction_heat: Any


class Temperatures(NamedTuple):
    """Temperatures (K) of B builds in N slices, and where the heat goes (W).

    Attributes:
        place, width: middle and width of each slice from the throat, (B, N); the tube's slices come first.
        screw, plastic, tube: (B, N).
        from_block: what the heated block gives to tube and plastic, (B,).
        to_air: what the tube gives to the air or the cooler, (B,).
        to_bearing: what the screw conducts back to the bearing, (B,).
        carried: what the plastic carries out at the tip less what came in at the throat, by flow and conduction, (B,).
        residual: how far the last round still moved a temperature, (B,).
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


def fused_share(temperature: Any, softening: Any) -> Any:
    """Return how far plastic at a temperature (K) has fused: 0 loose, 1/2 at the softening temperature, 1 fused."""
    return 0.5 * (1.0 + np.tanh((temperature - softening) / (2.0 * SOFTENING_WIDTH)))


def _bernoulli(x: Array) -> Array:
    """Return x / (exp(x) - 1): the weight of the neighbour downstream in a stream that also conducts."""
    safe = np.where(np.abs(x) < 1e-8, 1.0, np.minimum(x, 500.0))
    return np.where(np.abs(x) < 1e-8, 1.0 - x / 2.0, safe / np.expm1(safe))


class _Grid:
    """The slices of B builds and everything about them that does not change from round to round."""

    def __init__(self, head: Head, tube_slices: int, block_slices: int) -> None:
        self.head = Head(*(np.asarray(v, dtype=np.float64).reshape(-1, 1) for v in head))
        h, self.tubes = self.head, tube_slices
        size, slices = h.tube_length.shape[0], tube_slices + block_slices
        self.shape = (size, slices)
        self.width = np.empty(self.shape)
        self.width[:, :tube_slices] = h.tube_length / tube_slices
        self.width[:, tube_slices:] = h.heated_length / block_slices
        edges = np.concatenate([np.zeros((size, 1)), np.cumsum(self.width, axis=1)], axis=1)
        self.place = (edges[:, 1:] + edges[:, :-1]) / 2
        self.apart = np.diff(self.place, axis=1)
        screw_path, tube_path = h.screw_conductivity * h.screw_section, h.tube_conductivity * h.tube_section
        self.screw_link = screw_path / self.apart
        self.shank = (screw_path / (h.shank_length + self.width[:, :1] / 2))[:, 0]
        covered = np.minimum(edges[:, 1:], h.cooler_end) - np.maximum(edges[:, :-1], h.cooler_start)
        share = np.clip(covered / self.width, 0.0, 1.0)[:, :tube_slices]
        film = h.film_coefficient + (h.cooler_film - h.film_coefficient) * share
        self.film = film * np.pi * h.tube_outside_diameter * self.width[:, :tube_slices]
        self.tube_link = tube_path / self.apart[:, : tube_slices - 1]
        self.tube_end = (tube_path / (self.width[:, :1] / 2))[:, 0]

    def round(self, plastic: Array) -> tuple[Array, Array]:
        """Solve with the plastic's conductivity at the temperatures given.

        Returns temperatures (B, N, 3) of screw, plastic and tube, and the heat that enters at the throat (B,).
        """
        h, tubes = self.head, self.tubes
        fused = fused_share(plastic, h.softening_temperature)
        conductivity = h.loose_conductivity + (h.fused_conductivity - h.loose_conductivity) * fused
        to_screw = h.screw_shell * conductivity * self.width
        to_wall = h.wall_shell * conductivity * self.width
        weight = (fused + HARD_FRICTION) * self.width
        friction = h.friction_heat * weight / weight.sum(axis=1, keepdims=True)
        path = h.plastic_section * (conductivity[:, 1:] + conductivity[:, :-1]) / 2 / self.apart
        ahead = path * _bernoulli(h.feed_heat / path)
        behind = ahead + h.feed_heat
        first = h.plastic_section * conductivity[:, :1] / (self.width[:, :1] / 2)
        in_ahead = first * _bernoulli(h.feed_heat / first)
        in_behind = in_ahead + h.feed_heat
        # Unknowns stand slice by slice: screw, plastic, tube. Row 3 of the band is the diagonal, above it what is
        # further on, below it what is further back. A slice of the next build never couples to the last of this one.
        band = np.zeros((7, *self.shape, 3))
        right = np.zeros((*self.shape, 3))
        band[3, :, :, 0] = to_screw
        band[3, :, :-1, 0] += self.screw_link
        band[3, :, 1:, 0] += self.screw_link
        band[0, :, 1:, 0] = -self.screw_link
        band[6, :, :-1, 0] = -self.screw_link
        band[3, :, 0, 0] += self.shank
        band[2, :, :, 1] = -to_screw
        band[4, :, :, 0] = -to_screw
        band[3, :, :, 1] = to_screw + to_wall
        band[3, :, :-1, 1] += behind
        band[3, :, 1:, 1] += ahead
        band[3, :, :1, 1] += in_ahead
        band[3, :, -1:, 1] += h.feed_heat
        band[0, :, 1:, 1] = -ahead
        band[6, :, :-1, 1] = -behind
        right[:, 0, 0] = self.shank * h.room_temperature[:, 0]
        right[:, :, 1] = friction
        right[:, :1, 1] += in_behind * h.throat_temperature
        band[2, :, :, 2] = -to_wall
        band[4, :, :tubes, 1] = -to_wall[:, :tubes]
        band[3, :, :tubes, 2] = to_wall[:, :tubes] + self.film
        band[3, :, : tubes - 1, 2] += self.tube_link
        band[3, :, 1:tubes, 2] += self.tube_link
        band[3, :, tubes - 1, 2] += self.tube_end
        band[0, :, 1:tubes, 2] = -self.tube_link
        band[6, :, : tubes - 1, 2] = -self.tube_link
        right[:, :tubes, 2] = self.film * h.room_temperature
        right[:, tubes - 1, 2] += self.tube_end * h.set_temperature[:, 0]
        band[3, :, tubes:, 2] = 1.0
        right[:, tubes:, 2] = h.set_temperature
        solved = solve_banded((3, 3), band.reshape(7, -1), right.ravel(), overwrite_ab=True, overwrite_b=True,
                              check_finite=False)  # fmt: skip
        solved = solved.reshape(right.shape)
        inlet = in_behind * h.throat_temperature - in_ahead * solved[:, :1, 1]
        return solved, inlet[:, 0]


def temperatures(head: Head, tube_slices: int = TUBE_SLICES, block_slices: int = BLOCK_SLICES) -> Temperatures:
    """Return the steady temperatures of one build or of several (1-D arrays of one length)."""
    grid = _Grid(head, tube_slices, block_slices)
    h = grid.head
    along = np.clip(grid.place / h.tube_length, 0.0, 1.0)
    plastic = h.throat_temperature + (h.set_temperature - h.throat_temperature) * along**2
    for number in range(_ROUNDS):
        guess = plastic
        solved, inlet = grid.round(guess)
        change = solved[:, :, 1] - guess
        residual = np.abs(change).max(axis=1)
        if residual.max() <= SETTLED:
            break
        # A soft front that jumps to and fro (much friction, or plastic that conducts far better when fused) settles
        # with smaller steps.
        # Builds that have settled stay as they are, so that a build among many is the same as alone.
        step = next(step for last, step in _STEPS if number < last)
        plastic = np.where((residual > SETTLED)[:, None], guess + step * change, guess)
    screw, plastic, tube = (solved[:, :, body] for body in range(3))
    tubes = tube_slices
    conductivity = h.loose_conductivity + (h.fused_conductivity - h.loose_conductivity) * fused_share(
        guess, h.softening_temperature
    )
    wall = h.wall_shell * conductivity * grid.width * (tube - plastic)
    at_end = grid.tube_end * (h.set_temperature[:, 0] - tube[:, tubes - 1])
    to_air = (grid.film * (tube[:, :tubes] - h.room_temperature)).sum(axis=1)
    to_bearing = grid.shank * (screw[:, 0] - h.room_temperature[:, 0])
    from_block = at_end + wall[:, tubes:].sum(axis=1)
    carried = h.feed_heat[:, 0] * plastic[:, -1] - inlet
    return Temperatures(grid.place, grid.width, screw, plastic, tube, from_block, to_air, to_bearing, carried, residual)


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


def outcome(head: Head, found: Temperatures) -> Outcome:
    """Sum up temperatures; arrays (B,)."""
    room, shank, enters = (
        np.broadcast_to(np.asarray(v, dtype=np.float64).reshape(-1), found.residual.shape)
        for v in (head.room_temperature, head.shank_length, head.throat_temperature)
    )
    # The shank carries heat to the bearing evenly, so the temperature falls along a straight line.
    at_throat = room + (found.screw[:, 0] - room) * shank / (shank + found.place[:, 0])
    soft, length = head.softening_temperature, head.tube_length
    return Outcome(
        soft_length(found.place, found.plastic, enters, soft, length),
        soft_length(found.place, found.screw, at_throat, soft, length),
        found.plastic[:, -1],
        at_throat,
        found.from_block,
        found.residual,
    )


@lru_cache(maxsize=16)
def temperatures_of_one(head: Head) -> Temperatures:
    """Return the temperatures of one build; numbers and picture of a build ask for the same ones."""
    return temperatures(head)


def _sound(values: Array) -> Any:
    """Whether builds (one a column) are defined, with room for plastic between screw and wall."""
    shells = [Head._fields.index(name) for name in ("plastic_section", "screw_shell", "wall_shell")]
    return np.isfinite(values).all(axis=0) & (values[shells] > 0).all(axis=0)


def running(*values: Any) -> Outcome:
    """Return the outcome for SI floats or arrays in the order of `Head`; not defined where an input is not."""
    shape = np.broadcast_shapes(*(np.shape(v) for v in values))
    if shape == ():
        head = Head(*(float(v) for v in values))
        if not _sound(np.array(head)):
            return Outcome(*(np.nan for _ in Outcome._fields))
        return Outcome(*(x[0] for x in outcome(head, temperatures_of_one(head))))
    table = np.array([np.broadcast_to(v, shape).ravel() for v in values], dtype=np.float64)
    # In a study of many inputs most builds differ in nothing that matters here: each one is solved once.
    different, copies = np.unique(table, axis=1, return_inverse=True)
    sound = np.flatnonzero(_sound(different))
    results = np.full((len(Outcome._fields), different.shape[1]), np.nan)
    for start in range(0, len(sound), _AT_ONCE):
        some = sound[start : start + _AT_ONCE]
        head = Head(*different[:, some])
        results[:, some] = outcome(head, temperatures(head))
    return Outcome(*(row[copies.ravel()].reshape(shape) for row in results))


def pausing(*values: Any) -> Outcome:
    """Return the outcome at a pause: nothing is fed and the screw stands. SI values as in `Head` less the last two."""
    return running(*values, 0.0, 0.0)
