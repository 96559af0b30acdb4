"""How a store of squeezed melt empties through a nozzle and fills again: integrals that have no closed form.

The store gives a volume for each pressure; the nozzle lets a flow pass for each pressure. Time is volume over flow,
summed over the pressures that are passed. Pressures and flows here are shares of those at work where nothing else is
said.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.constants import atm as atmosphere
from scipy.integrate import cumulative_simpson

from augerbook.chapters.melt.models import nozzle_drop

Array = NDArray[np.float64]

#: A line counts as begun, or as ended, when its flow is within this share of what it shall be.
ENDED = 0.1
#: Nodes of Gauss and Legendre over the pressures; the tests measure what they leave.
_NODES = 48
#: Decades of flow below that at work over which the nozzle is followed, and steps in each.
_DECADES, _STEPS = 5, 4
#: Into how many parts a step is cut at most when the store empties within a few steps.
_FINEST = 64
#: Newton steps to a flow beyond those that are followed, and how far one may move the flow's logarithm.
_NEWTON, _FARTHEST = 8, 3.0


@cache
def _nodes() -> tuple[Array, Array]:
    """Nodes and weights of Gauss and Legendre on 0..1."""
    place, weight = np.polynomial.legendre.leggauss(_NODES)
    return (place + 1) / 2, weight / 2


def lost_share(taken_back: Any, at_work: Any, exponent: Any) -> Any:
    """Return the share of the store that runs out of the nozzle while the rest is taken back.

    Args:
        taken_back: flow that the screw takes back (SI floats or arrays that broadcast, m³/s).
        at_work: flow of the nozzle at the pressure at which it begins (m³/s).
        exponent: of the nozzle, per cent of pressure for one per cent of flow.
    """
    place, weight = _nodes()
    back, flow, n = (np.asarray(x, dtype=np.float64)[..., None] for x in (taken_back, at_work, exponent))
    with np.errstate(all="ignore"):
        # The flow falls as the pressure to the power 1 / n: most is lost in the first moments.
        out = flow * place ** (1 / n)
        return ((out / (out + back)) * weight).sum(axis=-1)[()]


def start_time(emptying: Any, exponent: Any) -> Any:
    """Return the time (s) in which the flow of an empty store comes within a tenth of what the screw brings.

    Args:
        emptying: time (s) in which the flow at work would empty the full store; floats or arrays that broadcast.
        exponent: of the nozzle, per cent of pressure for one per cent of flow.
    """
    place, weight = _nodes()
    whole, n = (np.asarray(x, dtype=np.float64) for x in (emptying, exponent))
    with np.errstate(all="ignore"):
        last = (1 - ENDED) ** n
        flow = (last[..., None] * place) ** (1 / n[..., None])
        return (whole * last * (weight / (1 - flow)).sum(axis=-1))[()]


class WholeLaw(NamedTuple):
    """What the store does through the nozzle's whole flow law, SI.

    Attributes:
        slow_pressure: pressure at the flow of the slow stretch (Pa).
        rest_resistance: pressure over flow where the melt does not thin (Pa s/m³).
        stop_time: time after a stop in which the flow falls to a tenth (s).
        ooze: volume that runs out within the travel time, nothing taken back (m³).
        suction_flow: flow that one atmosphere pushes through (m³/s).
    """

    slow_pressure: Any
    rest_resistance: Any
    stop_time: Any
    ooze: Any
    suction_flow: Any


def _between(at: Array, x: Array, y: Array, slope: Array) -> Array:
    """Return what each row of a curve (B, N) with known slopes has at its place (B, 1); beyond its ends, its end."""
    last = x.shape[1] - 2
    place = np.clip((x <= at).sum(axis=1) - 1, 0, last)
    rows = np.arange(len(x))
    wide = x[rows, place + 1] - x[rows, place]
    u = np.clip((at[:, 0] - x[rows, place]) / wide, 0.0, 1.0)
    ends = y[rows, place], y[rows, place + 1]
    bends = slope[rows, place] * wide, slope[rows, place + 1] * wide
    # Hermite's cubic through both ends with both slopes.
    return np.asarray(
        ends[0] + u**2 * (3 - 2 * u) * (ends[1] - ends[0]) + u * (1 - u) * ((1 - u) * bends[0] - u * bends[1])
    )


class Emptying(NamedTuple):
    """A store that empties through a nozzle: pressure (Pa), flow (m³/s), time (s) and exponent, each (B, N)."""

    pressure: Array
    flow: Array
    time: Array
    exponent: Array
    slow_pressure: Array


def emptying(stored: Array, slow_flow: Array, *nozzle: Array, steps: int = _STEPS) -> Emptying:
    """Follow stores down to a hundred-thousandth of the flow at work, with the nozzle's whole flow law.

    Args:
        stored: volumes (m³) at the pressure at work, (B, 1).
        slow_flow: one more flow (m³/s) whose pressure is wanted, (B, 1).
        nozzle: in the order of `melt.models.Nozzle`, which begins with the flow at work, each (B, 1).
        steps: in each decade of the flow.
    """
    shares = 10.0 ** -(np.arange(_DECADES * steps + 1) / steps)
    flows = np.concatenate([nozzle[0] * shares, slow_flow], axis=1)
    drop = nozzle_drop(flows, *nozzle[1:])
    pressure, exponent, flow = drop.pressure[:, :-1], drop.exponent[:, :-1], flows[:, :-1]
    with np.errstate(all="ignore"):
        # dt = C dP / Q with dP = n P dQ / Q, over the logarithm of the flow.
        rate = stored / pressure[:, :1] * exponent * pressure / flow
        time = cumulative_simpson(rate, dx=float(np.log(10) / steps), initial=0.0, axis=1)
    return Emptying(pressure, flow, time, exponent, drop.pressure[:, -1])


def _flow_at(wanted: float, near: Array, *nozzle: Array) -> Array:
    """Return the flows (m³/s) at which nozzles need a pressure (Pa), from flows that are near; each (B, 1)."""
    flow = near
    for _ in range(_NEWTON):
        drop = nozzle_drop(flow, *nozzle)
        # Over logarithms the slope is the exponent, which falls with the flow: the steps come from one side.
        flow = flow * np.exp(np.clip(np.log(wanted / drop.pressure) / drop.exponent, -_FARTHEST, _FARTHEST))
    return flow


def whole_law(stored: Any, travel_time: Any, slow_flow: Any, *nozzle: Any) -> WholeLaw:
    """Return how the store empties through a nozzle whose melt thins less and less as it slows.

    Temperatures stay those at work. SI floats or arrays that broadcast; ``nozzle`` in the order of
    `melt.models.Nozzle`, which begins with the flow at work.
    """
    values = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in (stored, travel_time, slow_flow, *nozzle)))
    shape = values[0].shape
    store, travel, slow, *rest = (v.reshape(-1, 1) for v in values)
    pressure, flow, time, exponent, at_slow = emptying(store, slow, *rest)
    with np.errstate(all="ignore"):
        give = store / pressure[:, :1]
        left = np.exp(_between(travel, time, np.log(pressure), -flow / (give * pressure)))
        ooze = give[:, 0] * (pressure[:, 0] - left)
        rising = (x[:, ::-1] for x in (np.log(pressure), np.log(flow), 1 / exponent))
        suction = np.exp(_between(np.log(atmosphere) + 0 * travel, *rising))
        # A wide nozzle works below one atmosphere, which then pushes more through it than flows at work.
        above = atmosphere > pressure[:, 0]
        if (beyond := np.flatnonzero(above | (atmosphere < pressure[:, -1]))).size:
            near = np.where(above, flow[:, 0], flow[:, -1])[beyond, None]
            suction[beyond] = _flow_at(atmosphere, near, *(v[beyond] for v in rest[1:]))[:, 0]
        resistance = pressure[:, -1] / flow[:, -1]
    found = WholeLaw(at_slow, resistance, time[:, _STEPS], ooze, suction)
    return WholeLaw(*(part.reshape(shape)[()] for part in found))


#: Highest pressure of a table of flows, as a share of that at work, and its cells.
_HIGHEST, _CELLS = 2.0, 1024


def power_table(exponent: float) -> Array:
    """Return flows (shares of that at work) at evenly spaced pressures from 0 to twice that at work, one exponent."""
    return np.linspace(0.0, _HIGHEST, _CELLS + 1) ** (1 / exponent)


def law_table(emptied: Emptying) -> Array:
    """Return the same for the whole flow law of one nozzle; above the pressure at work its exponent there counts."""
    pressure, flow = (x[0, ::-1] / x[0, 0] for x in (emptied.pressure, emptied.flow))
    place = np.linspace(0.0, _HIGHEST, _CELLS + 1)
    with np.errstate(divide="ignore"):
        within = np.exp(np.interp(np.log(place), np.log(pressure), np.log(flow)))
    # Below the last flow that was followed nothing thins: flow goes with the pressure.
    within = np.where(place < pressure[0], flow[0] * place / pressure[0], within)
    return np.where(place > 1, place ** (1 / emptied.exponent[0, 0]), within)


def follow(time: Array, brought: Array, table: Array, emptying_time: float, start: float = 1.0) -> Array:
    """Return the flow at the nozzle (share of that at work) while the screw brings or takes a changing flow.

    Args:
        time: moments (s), evenly spaced, (T,).
        brought: flow of the screw at these moments, as a share of that at work, negative when it turns back, (T,).
        table: flows at evenly spaced pressures, from `power_table` or `law_table`.
        emptying_time: time (s) in which the flow at work would empty the store.
        start: pressure at the first moment, as a share of that at work.
    """
    apart = float(time[1] - time[0]) / emptying_time
    steepest = float(np.diff(table[: _CELLS // 2 + 1]).max()) * _CELLS / _HIGHEST
    finer = min(max(math.ceil(4 * apart * steepest), 1), _FINEST)
    moments = np.linspace(0.0, len(time) - 1.0, finer * (len(time) - 1) + 1)
    screw = np.interp(moments, np.arange(len(time)), brought).tolist()
    step, flows, cells = apart / finer, table.tolist(), _CELLS / _HIGHEST

    def flow_at(pressure: float) -> float:
        at = min(pressure * cells, _CELLS - 1.0)
        cell = int(at)
        low: float = flows[cell]
        return low + (at - cell) * (flows[cell + 1] - low)

    p = start
    out = [flow_at(p)]
    for now, then in pairwise(screw):
        # Heun's rule: an Euler step, then the mean of both slopes.
        slope = now - out[-1]
        guess = max(p + step * slope, 0.0)
        p = max(p + step * (slope + then - flow_at(guess)) / 2, 0.0)
        out.append(flow_at(p))
    return np.array(out[::finer])
