"""The operating point: the speed at which plug, softened plastic and melt together feed the nozzle.

From the nozzle back to where the plastic softens the pressure follows from the screw as a pump, slice by slice. What it
is there the plug of hard grains must press, and how fast the screw must turn for the wanted flow follows from the plug.
Both depend on the speed, so it is sought.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize.elementwise import find_root

from augerbook.chapters.melt.models import shifted_viscosity
from augerbook.core.quantity import Quantity
from augerbook.core.relation import Node

Array = NDArray[np.float64]

#: Slices of the softened plastic in the tube and of the melt in the block. Twice as many move torque and pressure by
#: less than a per cent; the tests measure it.
TUBE_SLICES, BLOCK_SLICES = 28, 12
#: Speeds looked at, over the least that could feed the nozzle. Where more is needed the plug hardly moves any more.
FASTEST = 10.0
#: Relative accuracy of the speed.
_ACCURACY = 1e-10


class Soft(NamedTuple):
    """The softened plastic of B builds and the screw in it, SI.

    ``length`` of each slice and ``shift`` of the flow law at its temperature are (B, N), from where the plastic softens
    to the screw's tip; all else is (B,). ``law`` is what `melt.models.shifted_viscosity` takes after rate and shift.
    """

    length: Array
    shift: Array
    flow: Array
    nozzle_pressure: Array
    drag_volume: Array
    back_conductance: Array
    mean_shear: Array
    wall_drag: Array
    torn_stress: Array
    friction: Array
    law: tuple[Array, ...]

    def of(self, rows: Any) -> Soft:
        """Return the builds in some rows."""
        taken = {name: value[rows] for name, value in self._asdict().items() if name != "law"}
        return Soft(**taken, law=tuple(v[rows] for v in self.law))


class Along(NamedTuple):
    """What the softened plastic does.

    Attributes:
        pressure: at the edges of the slices (Pa), (B, N + 1).
        stress: on the wall in each slice (Pa), (B, N).
        torque: of the screw in each slice (N m), (B, N).
    """

    pressure: Array
    stress: Array
    torque: Array


def flow_stress(soft: Soft, speed: Array) -> Array:
    """Return the stress (Pa) in each slice at a speed (1/s) at which it flows as a melt."""
    rate = 2 * np.pi * speed * soft.mean_shear
    return np.asarray(shifted_viscosity(rate[:, None], soft.shift, *(v[:, None] for v in soft.law)) * rate[:, None])


def carried_stress(soft: Soft, speed: Array) -> Array:
    """Return the stress (Pa) in each slice at a speed (1/s): that of the melt, as far as soft plastic carries it."""
    return np.asarray(np.minimum(flow_stress(soft, speed), soft.torn_stress[:, None]))


def back_from_nozzle(soft: Soft, speed: Array) -> Along:
    """Return what the softened plastic does at a speed (1/s) that may or may not suit the plug."""
    return _march(soft, speed, soft.nozzle_pressure, forward=False)


def forward_from_plug(soft: Soft, speed: Array, plug_pressure: Array) -> Along:
    """Return what the softened plastic does at a speed (1/s) behind a plug that presses with ``plug_pressure`` (Pa).

    The pressure at the nozzle is what comes out of it; ``soft.nozzle_pressure`` is not looked at.
    """
    return _march(soft, speed, plug_pressure, forward=True)


def _march(soft: Soft, speed: Array, known: Array, *, forward: bool) -> Along:
    """Go from slice to slice, from the end where the pressure (Pa) is known to the other one."""
    rate = 2 * np.pi * speed * soft.mean_shear
    carried = carried_stress(soft, speed)
    # Pressure gradient for each stress: what the screw drags ahead beyond the flow must flow back, or the flow beyond
    # what it drags ahead must be pressed through.
    steep = (soft.drag_volume * speed - soft.flow) / (soft.back_conductance * rate)
    count = carried.shape[1]
    change = np.ascontiguousarray((steep[:, None] * (soft.length if forward else -soft.length)).T)
    # Where the pressure is too low to hold it to the wall it slips, and its stress is friction: the less changes.
    sticks, slips, rises = change * carried.T, np.exp(change * soft.friction), change > 0
    edges = np.empty((count + 1, len(carried)))
    start, step = (0, 1) if forward else (1, 0)
    edges[0 if forward else count] = known
    for i in range(count) if forward else range(count - 1, -1, -1):
        stuck, slipped = edges[i + start] + sticks[i], edges[i + start] * slips[i]
        edges[i + step] = np.where(rises[i], np.minimum(stuck, slipped), np.maximum(stuck, slipped))
    pressure = edges.T
    middle = (pressure[:, 1:] + pressure[:, :-1]) / 2
    stress = np.minimum(carried, soft.friction[:, None] * middle)
    drag = stress / soft.mean_shear[:, None] * soft.wall_drag[:, None] * soft.length
    push = soft.drag_volume[:, None] / (2 * np.pi) * np.diff(pressure, axis=1)
    return Along(pressure, stress, drag + push)


class Plug:
    """The plug of B builds, as the relations of its chapter have it, pressed to any pressure at its end.

    ``nodes`` follow from the quantity ``pressed``, the pressure there, and give ``brought``, the plastic per turn.
    """

    def __init__(
        self, nodes: Sequence[Node], pressed: Quantity, brought: Quantity, values: Mapping[Any, Any], least: Array
    ) -> None:
        self._nodes, self._pressed, self._brought = tuple(nodes), pressed, brought
        self.values, self.least = dict(values), least

    def of(self, rows: Any) -> Plug:
        """Return the builds in some rows."""
        values = {q: v[rows] for q, v in self.values.items()}
        return Plug(self._nodes, self._pressed, self._brought, values, self.least[rows])

    def at(self, pressure: Array) -> dict[Any, Any]:
        """Return all that the relations give (SI) at a pressure (Pa) at the plug's end, at least that at the inlet."""
        known: dict[Any, Any] = {**self.values, self._pressed: np.maximum(pressure, self.least)}
        for node in self._nodes:
            known.update(zip(node.outputs, node.array(*(known[q] for q in node.inputs)), strict=True))
        return known

    def brings(self, pressure: Array) -> Array:
        """Return the solid plastic (m³) that a turn brings against a pressure (Pa) at the plug's end."""
        return np.asarray(self.at(pressure)[self._brought])


def speed_for(soft: Soft, plug: Plug, wanted: Array) -> Array:
    """Return the speeds (1/s) at which the plug brings the wanted flow (m³/s), NaN where none does."""

    def lacking(logarithm: Array, row: Array) -> Array:
        speed, rows = np.exp(logarithm), row.astype(np.intp)
        needed = back_from_nozzle(soft.of(rows), speed).pressure[:, 0]
        return plug.of(rows).brings(needed) * speed / wanted[rows] - 1

    slowest = wanted / plug.brings(plug.least)
    low, high = np.log(slowest * (1 - 1e-9)), np.log(slowest * FASTEST)
    found = find_root(lacking, (low, high), args=(np.arange(len(slowest), dtype=np.float64),),
                      tolerances={"xatol": _ACCURACY, "xrtol": 0.0, "fatol": 0.0, "frtol": 0.0})  # fmt: skip
    return np.asarray(np.where(found.success, np.exp(found.x), np.nan))
