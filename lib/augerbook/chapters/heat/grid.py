"""The slices of the head: which heat passes between them, and how that changes with their temperatures.

Each body in each slice (screw, plastic, tube) has one temperature, and a balance: what it gives to its neighbours,
along and across, less what comes in from outside, must vanish. Here are these balances and their exact derivatives, as
a band of seven diagonals.
"""

from __future__ import annotations

from copy import copy
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: Slices of the tube and of the heated block. Twice as many move the ends of the soft zone by less than 0.1 mm in the
#: builds shipped here; the tests measure it.
TUBE_SLICES, BLOCK_SLICES = 80, 24
#: Over how many kelvin the plastic changes from loose to fused: a judgement, grains fuse over 10 to 20 K.
SOFTENING_WIDTH = 4.0
#: Length of the tube over that within which the friction of the hard plug falls to 37 %: its pressure grows by the
#: eleventh power of e from some 100 Pa to some MPa, over some two thirds of the tube.
PLUG_DECAY = 16.0
#: Where nothing is soft, friction of soft plastic is spread over all of the tube: so much of it is taken for soft.
_LEAST_SOFT = 1e-3
#: Heat that metals and plastics hold (J/m³/K), to the next round figure.
_METAL_HOLDS, _PLASTIC_HOLDS = 4e6, 2e6


class Head(NamedTuple):
    """What the temperatures depend on, in SI: floats or arrays of one length.

    The sections are those through which heat goes along the head. The shank leads from the throat back to the bearing,
    which has the drive's temperature. The shells are the conductance from the plastic to screw and wall for each
    length, over the plastic's conductivity (plain numbers). The break is a length of tube of another section and
    conductivity; with a length of zero there is none. The shares are parts of the heat of friction: in the hard plug,
    in the block, and, of what arises in the tube, the part that goes into its wall. ``feed_heat`` is what the fed
    plastic takes up (W/K).
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
    break_start: Any
    break_length: Any
    break_conductivity: Any
    break_section: Any
    break_outside_diameter: Any
    drive_temperature: Any
    hard_heat_share: Any
    block_heat_share: Any
    wall_heat_share: Any
    feed_heat: Any
    friction_heat: Any


class Flows(NamedTuple):
    """Where the heat of B builds goes (W), (B,): see `models.Temperatures`."""

    from_block: Array
    to_air: Array
    to_bearing: Array
    carried: Array


class Balances(NamedTuple):
    """What the slices of B builds give away at some temperatures, SI.

    Attributes:
        given: what each body in each slice gives to others less what it gets (W), (B, N, 3). In the heated block the
            tube has the block's temperature instead: there it is the excess over it (K).
        band: derivatives of ``given``, the seven diagonals from the highest down, (7, B, N, 3): numbered slice by
            slice (screw, plastic, tube), the derivative of the unknown i by j stands in row 3 + i - j, column j.
        spread, drawn: how the friction that one slice takes changes with the temperature of any other: to the
            derivative of body b in slice i with respect to plastic j comes ``spread[i, b] * drawn[j]``; (B, N, 3) and
            (B, N).
    """

    given: Array
    band: Array
    spread: Array
    drawn: Array


def fused_share(temperature: Any, softening: Any) -> Any:
    """Return how far plastic at a temperature (K) has fused: 0 loose, 1/2 at the softening temperature, 1 fused."""
    return 0.5 * (1.0 + np.tanh((temperature - softening) / (2.0 * SOFTENING_WIDTH)))


def _bernoulli(x: Array) -> Array:
    """Return x / (exp(x) - 1): the weight of the neighbour downstream in a stream that also conducts."""
    safe = np.where(np.abs(x) < 1e-8, 1.0, np.minimum(x, 500.0))
    return np.where(np.abs(x) < 1e-8, 1.0 - x / 2.0, safe / np.expm1(safe))


def _overlap(edges: Array, start: Array, end: Array) -> Array:
    """Return which length of each interval between edges (B, N + 1) lies between ``start`` and ``end`` (B, 1)."""
    common = np.minimum(edges[:, 1:], end) - np.maximum(edges[:, :-1], start)
    return np.maximum(common, 0.0)


def _laid(*shape: int, builds: int = 0) -> Array:
    """Return zeros in which the builds, whose axis is named, lie side by side in memory: one step goes through all."""
    return np.moveaxis(np.zeros((*shape[:builds], *shape[builds + 1 :], shape[builds])), -1, builds)


def _along(tubes: int, blocks: int) -> Array:
    """Return where the middles of slices lie: from 0 to 1 along the tube, from there to 2 in the block."""
    return np.concatenate([(np.arange(tubes) + 0.5) / tubes, 1.0 + (np.arange(blocks) + 0.5) / blocks])


def some_of(values: Array, rows: NDArray[np.bool_], builds: int = 0) -> Array:
    """Return the values of the builds for which ``rows`` is true, side by side in memory as they were."""
    return np.moveaxis(np.compress(rows, np.moveaxis(values, builds, -1), axis=-1), -1, builds)


class Grid:
    """The slices of B builds and everything about them that does not change with their temperatures."""

    def __init__(self, head: Head, tube_slices: int = TUBE_SLICES, block_slices: int = BLOCK_SLICES) -> None:
        self.head = Head(*(np.asarray(v, dtype=np.float64).reshape(-1, 1) for v in head))
        h, self.tubes = self.head, tube_slices
        size, slices = h.tube_length.shape[0], tube_slices + block_slices
        self.shape = (size, slices)
        self.width = _laid(*self.shape)
        self.width[:, :tube_slices] = h.tube_length / tube_slices
        self.width[:, tube_slices:] = h.heated_length / block_slices
        edges = _laid(size, slices + 1)
        np.cumsum(self.width, axis=1, out=edges[:, 1:])
        self.place = (edges[:, 1:] + edges[:, :-1]) / 2
        self.apart = np.diff(self.place, axis=1)
        screw_path = h.screw_conductivity * h.screw_section
        # What passes along each body from slice to slice; the plastic's part follows from its temperatures. The last
        # slice of the tube ends at the block, half a slice further on.
        self.links = _laid(size, slices - 1, 3)
        self.links[:, :, 0] = screw_path / self.apart
        self.links[:, :tube_slices, 2] = 1.0 / self._tube_resistance()
        self.shank = (screw_path / (h.shank_length + self.width[:, :1] / 2))[:, 0]
        self.film = _laid(*self.shape)
        self.film[:, :tube_slices] = self._tube_film(edges[:, : tube_slices + 1])
        self.narrow = h.plastic_section / self.apart
        self.first = h.plastic_section / (self.width[:, :1] / 2)
        self.across_screw, self.across_wall = h.screw_shell * self.width, h.wall_shell * self.width
        # Heat that the slices hold, roughly: it only paces steps on the way to a steady state.
        held = (_METAL_HOLDS * h.screw_section, _PLASTIC_HOLDS * h.plastic_section, _METAL_HOLDS * h.tube_section)
        self.inertia = _laid(*self.shape, 3)
        self.inertia[:] = self.width[:, :, None] * np.stack(np.broadcast_arrays(*held), axis=2)
        self.inertia[:, tube_slices:, 2] = 0.0
        self.into_wall = _laid(*self.shape)
        self.into_wall[:, :tube_slices] = h.wall_heat_share
        self._fixed = self._fixed_band()

    def of(self, rows: NDArray[np.bool_]) -> Grid:
        """Return the slices of the builds for which ``rows`` is true."""
        some = copy(self)
        for name, value in vars(self).items():
            if isinstance(value, np.ndarray):
                setattr(some, name, some_of(value, rows, 1 if name == "_fixed" else 0))
        some.head, some.shape = Head(*(value[rows] for value in self.head)), some.width.shape
        return some

    def _tube_resistance(self) -> Array:
        """Return the resistances (K/W) from the middle of each slice of the tube to the next one's, (B, tubes).

        The last slice leads to the block. Tube and break stand in series, wherever the break's ends fall in a slice.
        """
        h = self.head
        stations = np.concatenate([self.place[:, : self.tubes], h.tube_length], axis=1)
        broken = _overlap(stations, h.break_start, h.break_start + h.break_length)
        plain = np.diff(stations, axis=1) - broken
        return plain / (h.tube_conductivity * h.tube_section) + broken / (h.break_conductivity * h.break_section)

    def _tube_film(self, edges: Array) -> Array:
        """Return the conductance (W/K) from each slice of the tube to air and cooler, (B, tubes)."""
        h, break_end = self.head, self.head.break_start + self.head.break_length
        cooled, broken = _overlap(edges, h.cooler_start, h.cooler_end), _overlap(edges, h.break_start, break_end)
        self.broken = broken
        both = _overlap(edges, np.maximum(h.cooler_start, h.break_start), np.minimum(h.cooler_end, break_end))
        added = h.cooler_film - h.film_coefficient
        around_tube = h.film_coefficient * (np.diff(edges, axis=1) - broken) + added * (cooled - both)
        around_break = h.film_coefficient * broken + added * both
        return np.pi * (h.tube_outside_diameter * around_tube + h.break_outside_diameter * around_break)

    def _fixed_band(self) -> Array:
        """Return the band of what does not change: along screw and tube, to bearing and air."""
        band = _laid(7, *self.shape, 3, builds=1)
        band[3, :, :-1] += self.links
        band[3, :, 1:] += self.links
        band[0, :, 1:] = -self.links
        band[6, :, :-1] = -self.links
        band[3, :, 0, 0] += self.shank
        band[3, :, :, 2] += self.film
        band[6, :, self.tubes - 1 :, 2] = 0.0
        band[3, :, self.tubes :, 2] = 1.0
        return band

    def friction(self, fused: Array) -> tuple[Array, Array, Array]:
        """Return the heat of friction (W) in each slice, how it follows the fused share there, and that anywhere.

        All are (B, N). Where plastic fuses in slice j, the heat in slice i grows by the second where i is j, and
        everywhere by the third times the width of j in the tube.
        """
        h, tubes = self.head, self.tubes
        heat, by_own, by_any = (_laid(*self.shape) for _ in range(3))
        width, place = self.width[:, :tubes], self.place[:, :tubes]
        soft = h.friction_heat * np.maximum(1.0 - h.hard_heat_share - h.block_heat_share, 0.0)
        length = (fused[:, :tubes] + _LEAST_SOFT) * width
        total = length.sum(axis=1, keepdims=True)
        # Friction of the plug goes with its pressure, and that with the distance from where it ends.
        front = ((1.0 - fused[:, :tubes]) * width).sum(axis=1, keepdims=True)
        beyond = PLUG_DECAY * (place - front) / h.tube_length
        pressed = width / np.cosh(beyond)
        pressed /= pressed.sum(axis=1, keepdims=True)
        hard = h.friction_heat * h.hard_heat_share
        heat[:, :tubes] = soft * length / total + hard * pressed
        heat[:, tubes:] = h.friction_heat * h.block_heat_share * self.width[:, tubes:] / h.heated_length
        by_own[:, :tubes] = soft * width / total
        moves = pressed * np.tanh(beyond) * PLUG_DECAY / h.tube_length
        moves -= pressed * moves.sum(axis=1, keepdims=True)
        by_any[:, :tubes] = -soft * length / total**2 - hard * moves
        return heat, by_own, by_any

    def guess(self) -> Array:
        """Return temperatures to start from, (B, N, 3): the plastic rises along the tube with the square."""
        h = self.head
        along = np.clip(self.place / h.tube_length, 0.0, 1.0)
        plastic = h.throat_temperature + (h.set_temperature - h.throat_temperature) * along**2
        at = _laid(*self.shape, 3)
        at[:] = plastic[:, :, None]
        at[:, self.tubes :, 2] = h.set_temperature
        return at

    def from_thicker(self, at: Array, thick: Grid) -> Array:
        """Return temperatures along straight lines between those of thicker slices of the same builds, (B, N, 3)."""
        here, there = (_along(grid.tubes, grid.shape[1] - grid.tubes) for grid in (self, thick))
        before = np.clip(np.searchsorted(there, here) - 1, 0, len(there) - 2)
        share = (here - there[before]) / (there[before + 1] - there[before])
        found = _laid(*self.shape, 3)
        found[:] = at[:, before] + share[:, None] * (at[:, before + 1] - at[:, before])
        found[:, self.tubes :, 2] = self.head.set_temperature
        return found

    def room(self) -> Array:
        """Return memory for the band of `balances`, to be used again: with many builds it is 20 MB."""
        return np.empty_like(self._fixed)

    def balances(self, at: Array, *, follow: bool = True, room: Array | None = None) -> Balances:
        """Return what every slice gives away at the temperatures ``at`` (K), (B, N, 3), and how that changes.

        Args:
            follow: without it the derivatives are those of a plastic whose conductivity stays what it is.
            room: where to put the band.
        """
        h, tubes = self.head, self.tubes
        screw, plastic, tube = at[:, :, 0], at[:, :, 1], at[:, :, 2]
        fused = fused_share(plastic, h.softening_temperature)
        rise = h.fused_conductivity - h.loose_conductivity
        conductivity = self._conductivity(fused)
        to_screw, to_wall = self.across_screw * conductivity, self.across_wall * conductivity
        screw_gets, wall_gives = to_screw * (plastic - screw), to_wall * (tube - plastic)
        heat, by_own, by_any = self.friction(fused)
        into_wall = self.into_wall
        # Between two slices the stream passes on ahead * (one - next) + feed * one; see the chapter for the weights.
        path = self.narrow * (0.5 * (conductivity[:, 1:] + conductivity[:, :-1]))
        small = _bernoulli(h.feed_heat / path)
        first = self.first * conductivity[:, :1]
        small_in, falls_in = _bernoulli(h.feed_heat / first), h.throat_temperature - plastic[:, :1]
        ahead = path * small
        falls = at[:, :-1] - at[:, 1:]
        passed = self.links * falls
        passed[:, :, 1] = ahead * falls[:, :, 1] + h.feed_heat * plastic[:, :-1]

        given = _laid(*self.shape, 3)
        given[:, :, 0] = -screw_gets
        given[:, :, 1] = screw_gets - wall_gives - (1.0 - into_wall) * heat
        given[:, :, 2] = wall_gives + self.film * (tube - h.room_temperature) - into_wall * heat
        given[:, :-1] += passed
        given[:, 1:] -= passed
        given[:, 0, 0] += self.shank * (screw[:, 0] - h.drive_temperature[:, 0])
        given[:, :1, 1] -= self._inlet(conductivity, plastic)
        given[:, -1:, 1] += h.feed_heat * plastic[:, -1:]
        given[:, tubes:, 2] = tube[:, tubes:] - h.set_temperature

        band = self.room() if room is None else room
        band[:] = self._fixed
        band[3, :, :, 0] += to_screw
        band[4, :, :, 0] = -to_screw
        band[2, :, :, 2] = -to_wall
        band[3, :, :tubes, 2] += to_wall[:, :tubes]
        by_one, by_next, fuses = ahead + h.feed_heat, ahead, np.zeros_like(fused)
        by_first = first * small_in
        if follow:
            fuses = fused * (1.0 - fused) / SOFTENING_WIDTH
            slope = rise * fuses
            to_screw = to_screw + self.across_screw * slope * (plastic - screw)
            to_wall = to_wall - self.across_wall * slope * (tube - plastic)
            # With B for the weight, d(path B(C / path)) / d path = B (B + C / path).
            bend = self.narrow * small * (0.5 * small + 0.5 * h.feed_heat / path) * falls[:, :, 1]
            by_one, by_next = by_one + bend * slope[:, :-1], by_next - bend * slope[:, 1:]
            by_first = by_first - self.first * small_in * (small_in + h.feed_heat / first) * falls_in * slope[:, :1]
        band[2, :, :, 1] = -to_screw
        own = by_own * fuses
        band[3, :, :, 1] = to_screw + to_wall - (1.0 - into_wall) * own
        band[4, :, :tubes, 1] = -(to_wall + into_wall * own)[:, :tubes]
        band[3, :, :-1, 1] += by_one
        band[3, :, 1:, 1] += by_next
        band[0, :, 1:, 1] = -by_next
        band[6, :, :-1, 1] = -by_one
        band[3, :, :1, 1] += by_first
        band[3, :, -1:, 1] += h.feed_heat
        spread = np.zeros_like(given)
        spread[:, :, 1], spread[:, :, 2] = -(1.0 - into_wall) * by_any, -into_wall * by_any
        drawn = fuses * self.width
        drawn[:, tubes:] = 0.0
        return Balances(given, band, spread, drawn)

    def flows(self, at: Array) -> Flows:
        """Return what passes the ends of the head at the temperatures ``at`` (K), (B, N, 3)."""
        h, tubes = self.head, self.tubes
        screw, plastic, tube = at[:, :, 0], at[:, :, 1], at[:, :, 2]
        conductivity = self._conductivity(fused_share(plastic, h.softening_temperature))
        wall_gives = (self.across_wall * conductivity * (tube - plastic))[:, tubes:].sum(axis=1)
        at_end = self.links[:, tubes - 1, 2] * (tube[:, tubes] - tube[:, tubes - 1])
        return Flows(
            at_end + wall_gives,
            (self.film * (tube - h.room_temperature)).sum(axis=1),
            self.shank * (screw[:, 0] - h.drive_temperature[:, 0]),
            h.feed_heat[:, 0] * plastic[:, -1] - self._inlet(conductivity, plastic)[:, 0],
        )

    def _conductivity(self, fused: Array) -> Array:
        """Return the conductivity (W/m/K) of plastic of which a share has fused."""
        loose = self.head.loose_conductivity
        return np.asarray(loose + (self.head.fused_conductivity - loose) * fused)

    def _inlet(self, conductivity: Array, plastic: Array) -> Array:
        """Return what the plastic brings in at the throat, by flow and conduction (W), (B, 1)."""
        h, first = self.head, self.first * conductivity[:, :1]
        falls = h.throat_temperature - plastic[:, :1]
        return np.asarray(first * _bernoulli(h.feed_heat / first) * falls + h.feed_heat * h.throat_temperature)
