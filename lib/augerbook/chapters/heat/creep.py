"""The way from one state to another: how the soft zone creeps once the flow stops, or once the cooler's fan does.

The same slices as for the steady state, each with the heat that it holds, integrated in time with SciPy's stiff solver.
This takes a hundred times as long as a steady state, so nothing that follows a slider waits for it.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import block_diag, csc_array, dia_array, diags_array

from augerbook.chapters.heat import break_heat_held, hard_heat_held, screw_heat_held, soft_heat_held, tube_heat_held
from augerbook.chapters.heat.grid import TUBE_SLICES, Array, Grid, Head, fused_share
from augerbook.chapters.heat.models import block_slices, outcome, soft_length, temperatures, throat_of_screw
from augerbook.core.network import Solution

#: How long is computed (s), and how many moments are kept, the first one at the start.
LASTS, MOMENTS = 2e4, 241
_EARLIEST = 0.05
#: Tolerances of the integration: relative, of temperatures (K) and of heat that has passed (J).
RELATIVE, KELVIN, JOULE = 1e-5, 1e-3, 1e-3


#: The quantities of the network behind `Held`, in its order.
HELD = (screw_heat_held, tube_heat_held, break_heat_held, hard_heat_held, soft_heat_held)


class Held(NamedTuple):
    """Heat that a length holds for each kelvin (J/m/K): screw, tube, thermal break, hard plastic and soft plastic."""

    screw: float
    tube: float
    thermal_break: float
    hard_plastic: float
    soft_plastic: float


def held_by(solution: Solution) -> Held:
    """Return what the parts of a build hold.

    Raises:
        KeyError: a density or a specific heat is not known.
    """
    return Held(*(solution[q] for q in HELD))


class Creep(NamedTuple):
    """What becomes of one build, SI; M moments, N slices.

    Attributes:
        times: since the change, (M,); the first is 0.
        softened_length, screw_soft_length, screw_at_throat: at each moment, (M,).
        place: middles of the slices from the throat, (N,).
        screw, plastic, tube: temperatures, (M, N).
        rest: softened lengths of plastic and screw, and temperature of the screw at the throat, in the end.
        received, given_off, stored: heat (J) since the change, at the last moment: from block and friction; to air,
            bearing and plastic; and held by the slices, in excess of the start.
    """

    times: Array
    softened_length: Array
    screw_soft_length: Array
    screw_at_throat: Array
    place: Array
    screw: Array
    plastic: Array
    tube: Array
    rest: tuple[float, float, float]
    received: float
    given_off: float
    stored: float


def stopped(head: Head, *, fan: bool = True) -> Head:
    """Return the head once nothing is fed and the screw stands; without ``fan`` the cooler is as the bare tube."""
    still = head._replace(feed_heat=0.0, friction_heat=0.0)
    return still if fan else still._replace(cooler_film=still.film_coefficient)


def _capacities(grid: Grid, held: Held, plastic: Array) -> Array:
    """Return what each body in each slice holds (J/K), (N, 3); what is soft at the start is dense, and stays so."""
    h, width = grid.head, grid.width[0]
    found = np.empty((width.size, 3))
    fused = fused_share(plastic, h.softening_temperature[0])
    found[:, 0] = held.screw * width
    found[:, 1] = (held.hard_plastic + (held.soft_plastic - held.hard_plastic) * fused) * width
    broken = np.clip(grid.broken[0] / width[: grid.tubes], 0.0, 1.0)
    found[:, 2] = held.tube * width
    found[: grid.tubes, 2] *= 1.0 + broken * (held.thermal_break / held.tube - 1.0)
    return found


def creep(
    before: Head,
    after: Head,
    held: Held,
    *,
    lasts: float = LASTS,
    cells: int = TUBE_SLICES,
    relative: float = RELATIVE,
    method: str = "BDF",
) -> Creep:
    """Follow one build from the steady state ``before`` to that of ``after``, which begins at once.

    Raises:
        ArithmeticError: SciPy's solver gave up; the message is SciPy's.
    """
    start, end = (temperatures(h, cells, block_slices(cells)) for h in (before, after))
    grid = Grid(after, cells, block_slices(cells))
    first = np.stack([start.screw[0], start.plastic[0], start.tube[0]], axis=1)
    first[cells:, 2] = grid.head.set_temperature[0, 0]
    capacity = _capacities(grid, held, first[:, 1])
    pace = 1.0 / capacity
    pace[cells:, 2] = 0.0  # the block stays as hot as it is
    shape, size = (1, *first.shape), first.size

    def rates(_: float, y: Array) -> Array:
        at = y[:size].reshape(shape)
        now = grid.balances(at)
        flows = grid.flows(at)
        received = flows.from_block[0] + grid.head.friction_heat[0, 0]
        given_off = flows.to_air[0] + flows.to_bearing[0] + flows.carried[0]
        return np.concatenate([-(pace * now.given[0]).ravel(), [received, given_off]])

    def slopes(_: float, y: Array) -> csc_array:
        # The two sums of heat act on nothing, and what friction couples beyond the band only speeds the iteration up.
        band = grid.balances(y[:size].reshape(shape)).band.reshape(7, -1)
        along = dia_array((band, np.arange(3, -4, -1)), shape=(size, size))
        return csc_array(block_diag([diags_array(-pace.ravel()) @ along, csc_array((2, 2))]))

    times = np.concatenate([[0.0], np.geomspace(_EARLIEST, lasts, MOMENTS - 1)])
    allowed = np.concatenate([np.full(size, KELVIN), np.full(2, JOULE)]) * min(1.0, relative / RELATIVE)
    found = solve_ivp(rates, (0.0, lasts), np.concatenate([first.ravel(), [0.0, 0.0]]), method=method, t_eval=times,
                      rtol=relative, atol=allowed, jac=slopes)  # fmt: skip
    if not found.success:
        raise ArithmeticError(f"the temperatures could not be followed in time: {found.message}")
    screw, plastic, tube = (found.y[:size].T.reshape(times.size, -1, 3)[:, :, body] for body in range(3))
    place = np.broadcast_to(grid.place[0], screw.shape)
    soft, length = float(after.softening_temperature), float(after.tube_length)
    enters = np.full(times.size, float(after.throat_temperature))
    throat = throat_of_screw(after, screw[:, 0], place[:, 0])
    at_end = outcome(after, end)
    stored = float((capacity * (np.stack([screw[-1], plastic[-1], tube[-1]], axis=1) - first)).sum())
    of_plastic = soft_length(place, plastic, enters, soft, length)
    of_screw = soft_length(place, screw, throat, soft, length)
    return Creep(
        times, of_plastic, of_screw, throat, grid.place[0], screw, plastic, tube,
        (float(at_end.softened_length[0]), float(at_end.screw_soft_length[0]), float(at_end.screw_at_throat[0])),
        float(found.y[size, -1]), float(found.y[size + 1, -1]), stored,
    )  # fmt: skip


@lru_cache(maxsize=8)
def creep_of_one(before: Head, after: Head, held: Held) -> Creep:
    """Return `creep`; numbers and picture of a build ask for the same one."""
    return creep(before, after, held)


def time_to_rest(times: Array, values: Array, rest: float, share: float = 0.9) -> float:
    """Return after which time (s) no more than ``1 - share`` of the first distance to ``rest`` is left, for good.

    Infinite when that is not reached in the times given, and 0 when there is no distance.
    """
    left = np.abs(values - rest)
    allowed = (1.0 - share) * left[0]
    beyond = np.flatnonzero(left > allowed)
    if left[0] == 0.0 or beyond.size == 0:
        return 0.0
    last = int(beyond[-1])
    if last + 1 == len(times):
        return math.inf
    part = (left[last] - allowed) / (left[last] - left[last + 1])
    return float(times[last] + part * (times[last + 1] - times[last]))


def time_until(times: Array, values: Array, limit: Any) -> float:
    """Return when ``values`` first reach ``limit`` (s), straight between moments; infinite when they never do."""
    reached = np.flatnonzero(values >= limit)
    if reached.size == 0:
        return math.inf
    first = int(reached[0])
    if first == 0:
        return 0.0
    part = (limit - values[first - 1]) / (values[first] - values[first - 1])
    return float(times[first - 1] + part * (times[first] - times[first - 1]))
