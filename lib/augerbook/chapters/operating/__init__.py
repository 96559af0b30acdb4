"""The operating point: how fast the screw must turn for the wanted flow, what presses where, and what the torque does.

Hard plug, softened plastic and melt stand in a row along the screw. Each has its chapter; here they are joined: one
speed, one flow, and a pressure without steps from the throat to the nozzle.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from sympy import Expr, Or, Piecewise, Rational, cos, log, pi, sin

from augerbook.chapters import conveying
from augerbook.chapters.conveying import (
    angle_carried,
    angle_lining,
    bore_hold,
    carried_section,
    cold_length,
    comes_along,
    grip_exponent,
    grip_reserve,
    inlet_pressure,
    ring_load,
    ring_section,
    solid_per_turn,
    tip_hold,
    wall_over_axial,
)
from augerbook.chapters.heat import HEAD_INPUTS, friction_heat, heater_power, melt_flow
from augerbook.chapters.heat.models import plastic_along
from augerbook.chapters.hopper import flight_fill
from augerbook.chapters.melt import FLOW_LAW, hot_viscosity
from augerbook.chapters.melt.models import SHIFTED, temperature_shift
from augerbook.chapters.operating.models import (
    BLOCK_SLICES,
    TUBE_SLICES,
    Plug,
    Soft,
    back_from_nozzle,
    forward_from_plug,
    speed_for,
)
from augerbook.chapters.pumping import axial_drag, back_conductance, drag_volume, mean_shear, wall_drag, wall_share
from augerbook.chapters.thrust import bore_section, nozzle_pressure, pressure_thrust, stall_thrust, wall_thrust
from augerbook.core.distinct import each_once
from augerbook.core.extremes import smallest
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.drive import running_torque, screw_speed, stall_torque
from augerbook.head.heating import block_heat_share, hard_heat_share, heated_length
from augerbook.head.plastic import shear_limit
from augerbook.head.printing import wanted_flow
from augerbook.head.screw import major_diameter
from augerbook.head.tube import bore_diameter, friction_barrel, tube_length

SUBJECT = Subject(
    "operating",
    number=11,
    title="The operating point",
    question="How fast must the screw turn for the flow I want, "
    "what torque does that take, and where does the torque go?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_JUDGED = Source("judgement")

operating_speed = SUBJECT.result(
    "operating_speed",
    "N_op",
    "1/min",
    "turning speed at which plug and melt together bring the wanted flow",
    title="speed at the operating point",
)
plug_pressure = SUBJECT.result(
    "plug_pressure", "P_plug", "MPa", "pressure where the plug of hard grains ends and soft plastic begins"
)
peak_pressure = SUBJECT.result("peak_pressure", "P_peak", "MPa", "largest pressure along the screw")
soft_torque = SUBJECT.result("soft_torque", "M_soft", "N*m", "torque of the softened plastic in the tube")
block_torque = SUBJECT.result("block_torque", "M_melt", "N*m", "torque of the melt in the heated block")
plug_angle = SUBJECT.result(
    "plug_angle",
    "phi_op",
    "deg",
    "direction in which the plug slides at work, from the circumference",
    nonnegative=True,
)
blocked_pressure = SUBJECT.result(
    "blocked_pressure",
    "P_block",
    "MPa",
    "pressure at a blocked nozzle while the screw turns on at the speed of work and the plug presses as before",
)
ring_at_work = SUBJECT.result(
    "ring_at_work", "x_op", "1", "share of the shear over the tip that is used up at work if the ring comes along"
)
flow_brought = SUBJECT.result(
    "flow_brought",
    "x_Q",
    "1",
    "flow that the plug brings at the speed and pressure found, over the wanted one",
)
push_reserve = SUBJECT.result(
    "push_reserve",
    "R_op",
    "1",
    "largest exponent of the plug over the one with which it presses at work",
    title="push reserve of the plug",
)

_ROW = "hard plug, softened plastic and melt follow one another; what softens at the wall first is not told apart"
_FULL = "the bore is full of soft plastic from the plug to the nozzle"
_BULK = "the flow law counts at the mean temperature of a section and at the mean shear rate on the wall"
_CARRIES = "softened plastic carries no more than its shear limit, and no more than friction at the pressure there"
_TIPS = "torque passes from the screw to the wall unchanged, so that soft plastic tears where the circle is smallest"
_ASSUMED = "the temperatures are those at the running torque and speed assumed for them"
_STILL_PRESSED = "at the moment the nozzle blocks the plug presses as it did; if it goes on pushing, the motor stalls"
_SHARES = "soft plastic shares its forces between wall and screw as melt does, torn or not"
_ACROSS = "where the plastic softens the plug ends in a plane across the tube, and soft plastic presses on it evenly"
_LETS_GO = "the wall is not counted on to hold plug or lining in the moment in which the screw stops moving them"
_ALL_SAVED = (
    "what the screw works beyond the work assumed comes from the heater one to one: in truth most of it ends in the "
    "cooler, and the heater's power moves by less. Where both agree it is the heater's power"
)

#: The relations of the plug that follow from the pressure at its end.
_PLUG = tuple(
    node for node in conveying.SUBJECT.nodes
    if not {
        conveying.needed_exponent, conveying.angle_carried, conveying.angle_lining, conveying.efficiency_carried,
        conveying.efficiency_lining, conveying.ring_load, conveying.solid_carried, conveying.solid_lining,
        conveying.solid_per_turn,
    }.isdisjoint(node.outputs)
)  # fmt: skip
_MADE = {quantity for node in _PLUG for quantity in node.outputs}
_PLUG_INPUTS: tuple[Quantity, ...] = tuple(
    dict.fromkeys(
        q for node in _PLUG for q in node.inputs
        if isinstance(q, Quantity) and q not in _MADE and q is not nozzle_pressure
    )
)  # fmt: skip
torn_stress = SUBJECT.equals(
    "torn_stress",
    "tau_w",
    "MPa",
    "largest stress on the wall that soft plastic passes on: that at which it tears at the tips of the flights",
    shear_limit * (major_diameter / bore_diameter) ** 2,
    "The torque at which the smallest circle tears, at the wall",
    positive=True,
    source=_HERE,
    assumptions=(_TIPS,),
)
_SOFT_INPUTS = (
    melt_flow, nozzle_pressure, drag_volume, back_conductance, mean_shear, wall_drag, torn_stress, friction_barrel,
)  # fmt: skip
#: What the operating point follows from, in the order in which the model takes it.
INPUTS: tuple[Quantity, ...] = tuple(
    dict.fromkeys((*HEAD_INPUTS, *_SOFT_INPUTS, *FLOW_LAW, *_PLUG_INPUTS, wanted_flow, cold_length, inlet_pressure))
)


class Point(NamedTuple):
    """What the model finds, SI."""

    speed: Any
    plug_pressure: Any
    peak_pressure: Any
    soft_torque: Any
    block_torque: Any
    plug_angle: Any
    ring_at_work: Any
    blocked_pressure: Any
    flow_brought: Any


class State(NamedTuple):
    """The builds of one call, as arrays (B,), and their softened plastic and plug."""

    values: dict[Quantity, Any]
    soft: Soft
    plug: Plug


def state_of(*values: Any, finer: int = 1) -> State:
    """Return softened plastic and plug for SI floats or arrays in the order of `INPUTS`.

    ``finer`` is by how much the slices are finer than usual.
    """
    flat = (np.ravel(v) for v in np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in values)))
    given = dict(zip(INPUTS, flat, strict=True))
    place, warm = plastic_along(*(given[q] for q in HEAD_INPUTS))
    in_tube, in_block = finer * TUBE_SLICES, finer * BLOCK_SLICES
    soft_slice, block_slice = (given[tube_length] - given[cold_length]) / in_tube, given[heated_length] / in_block
    lengths = np.stack([soft_slice] * in_tube + [block_slice] * in_block, axis=1)
    middles = given[cold_length][:, None] + np.cumsum(lengths, axis=1) - lengths / 2
    temperature = np.stack([np.interp(*row) for row in zip(middles, place.T, warm.T, strict=True)])
    law = [given[q] for q in FLOW_LAW]
    soft = Soft(
        length=lengths,
        shift=temperature_shift(temperature, *(v[:, None] for v in law[SHIFTED:])),
        flow=given[melt_flow],
        nozzle_pressure=given[nozzle_pressure],
        drag_volume=given[drag_volume],
        back_conductance=given[back_conductance],
        mean_shear=given[mean_shear],
        wall_drag=given[wall_drag],
        torn_stress=given[torn_stress],
        friction=given[friction_barrel],
        law=tuple(law[:SHIFTED]),
    )
    own = {q: given[q] for q in _PLUG_INPUTS}
    return State(given, soft, Plug(_PLUG, nozzle_pressure, solid_per_turn, own, given[inlet_pressure]))


def operating_point(*values: Any, finer: int = 1) -> Point:
    """Return the operating point for SI floats or arrays in the order of `INPUTS`; not defined where there is none."""
    shape = np.broadcast_shapes(*(np.shape(v) for v in values))
    state = state_of(*values, finer=finer)
    with np.errstate(all="ignore"):
        speed = speed_for(state.soft, state.plug, state.values[wanted_flow])
        along = back_from_nozzle(state.soft, speed)
        undefined = np.where(np.isfinite(speed), 0.0, np.nan)
        pressed = np.maximum(along.pressure[:, 0], state.plug.least)
        plug = state.plug.at(pressed)
    torque, in_tube = along.torque, finer * TUBE_SLICES
    found = Point(
        speed, pressed, along.pressure.max(axis=1), torque[:, :in_tube].sum(axis=1), torque[:, in_tube:].sum(axis=1),
        np.where(comes_along(plug[ring_load]), plug[angle_carried], plug[angle_lining]), plug[ring_load],
        forward_from_plug(state.soft._replace(flow=0.0 * speed), speed, pressed).pressure[:, -1],
        plug[solid_per_turn] * speed / state.values[wanted_flow],
    )  # fmt: skip
    return Point(*((part + undefined).reshape(shape)[()] for part in found))


pump_alone_speed = SUBJECT.equals(
    "pump_alone_speed",
    "N_pump",
    "1/min",
    "least speed at which the melt in the block would press without any help",
    (melt_flow + back_conductance * nozzle_pressure / (hot_viscosity * heated_length)) / drag_volume,
    "What leaves and what flows back, over what a turn drags ahead",
    source=Source("groover", "extruder characteristic and die characteristic"),
    assumptions=("the melt does not thin: it would need to turn faster still", _FULL),
)


def _added_by_wall(at_work: ArrayLike, pressed: ArrayLike) -> NDArray[np.float64]:
    """Return the difference of two thrusts in N, zero where there is none at work."""
    return np.where(np.isfinite(at_work), np.subtract(at_work, pressed), 0.0)


SUBJECT.model(
    "point", INPUTS,
    (
        operating_speed, plug_pressure, peak_pressure, soft_torque, block_torque, plug_angle, ring_at_work,
        blocked_pressure, flow_brought,
    ),
    each_once(operating_point),
    "One speed for plug, softened plastic and melt", source=_HERE,
    assumptions=(_ROW, _FULL, _BULK, _CARRIES, _ASSUMED, _STILL_PRESSED),
    valid=((
        # Where no grain comes in there is no plug that could slip: the hopper says so.
        Or(operating_speed > 0, flight_fill <= 0),
        "no reserve: at no speed does the plug press what nozzle and soft plastic ask for; it slips, and the screw "
        "turns in it. Lengthen the cold part, roughen the bore, polish the screw, or print more slowly",
    ),),
)  # fmt: skip
_RISE = log(plug_pressure / inlet_pressure)
pressed_exponent = SUBJECT.equals(
    "pressed_exponent",
    "K_op",
    "1/mm",
    "exponent with which the plug presses at work",
    _RISE / cold_length,
    "Exponential rise over the cold length",
    source=_HERE,
)
SUBJECT.relation(
    "push_reserve", push_reserve,
    Piecewise((grip_exponent / pressed_exponent, operating_speed > 0), (smallest(1, grip_reserve), True)),
    "Largest exponent over the one at work; if the plug slips, its reserve against the nozzle alone, at most 1",
    source=_DEFINITION,
    valid=((
        # A plug that slips has no exponent at work, and its message is the one above.
        grip_exponent > Rational(11, 10) * pressed_exponent,
        "no reserve: the plug presses within a tenth of what it can at all. Speed, torque and thrust found here change "
        "without bounds with small changes of friction: do not trust their figures",
    ),),
)  # fmt: skip
_CARRIED = comes_along(ring_at_work)
plug_hold = SUBJECT.equals(
    "plug_hold",
    "t_op",
    "mm**2",
    "torque with which the wall holds the plug, per length and pressure on the walls",
    Piecewise(
        (bore_hold * cos(plug_angle), _CARRIED),
        (tip_hold * cos(plug_angle), True),
    ),
    "The wall, or the lining, holds the plug from turning",
    source=_HERE,
)
plug_drag = SUBJECT.equals(
    "plug_drag",
    "b_op",
    "mm",
    "force with which the wall holds the plug back, likewise",
    Piecewise(
        (2 * bore_hold / bore_diameter * sin(plug_angle), _CARRIED),
        (2 * tip_hold / major_diameter * sin(plug_angle), True),
    ),
    "It also holds the plug back",
    nonnegative=True,
    source=_HERE,
)
plug_mean_pressure = SUBJECT.equals(
    "plug_mean_pressure",
    "P_mean",
    "MPa",
    "pressure along the plug, averaged over its length",
    Piecewise(((plug_pressure - inlet_pressure) / _RISE, plug_pressure > inlet_pressure), (inlet_pressure, True)),
    "The mean of an exponential",
    nonnegative=True,
    source=_HERE,
)
hard_torque = SUBJECT.equals(
    "hard_torque",
    "M_hard",
    "N*m",
    "torque of the plug of hard grains",
    wall_over_axial * plug_mean_pressure * plug_hold * cold_length,
    "The wall's hold along the plug",
    source=_HERE,
    assumptions=(_ACROSS,),
)
needed_torque = SUBJECT.equals(
    "needed_torque",
    "M_op",
    "N*m",
    "torque that the screw takes at the operating point",
    hard_torque + soft_torque + block_torque,
    "All zones",
    source=_DEFINITION,
    title="torque at the operating point",
)
soft_share = SUBJECT.equals(
    "soft_share",
    "x_soft",
    "percent",
    "share of the torque that the softened plastic takes",
    soft_torque / needed_torque,
    "Share of the torque",
    source=_DEFINITION,
)
hard_share = SUBJECT.equals(
    "hard_share",
    "x_plug",
    "percent",
    "share of the torque that the plug of hard grains takes",
    hard_torque / needed_torque,
    "Share of the torque",
    source=_DEFINITION,
)
block_share = SUBJECT.equals(
    "block_share",
    "x_melt",
    "percent",
    "share of the torque that the melt in the block takes",
    block_torque / needed_torque,
    "Share of the torque",
    nonnegative=True,
    source=_DEFINITION,
)
torque_share = SUBJECT.equals(
    "torque_share",
    "x_M",
    "1",
    "torque at the operating point over the torque at stall",
    needed_torque / stall_torque,
    "Torque at work over torque at stall",
    source=_DEFINITION,
    assumptions=("the motor has at work what it has at a stall: with a weak supply, or at high speed, it has less",),
    valid=(
        (
            needed_torque < stall_torque,
            "the motor stalls before it presses out the wanted flow: all that is found for this flow is for a motor "
            "that can. Print more slowly, take a smaller screw or a larger nozzle; gear it further down or take a "
            "stronger motor only if all that then bears more at stall can bear it",
        ),
    ),
    title="torque over that at stall",
    nonnegative=True,
)
torque_found = SUBJECT.equals(
    "torque_found",
    "x_run",
    "1",
    "torque at the operating point over the running torque that heats the plastic",
    needed_torque / running_torque,
    "Torque found over torque assumed",
    source=_DEFINITION,
    valid=(
        (
            needed_torque < 2 * running_torque,
            "the screw takes more than twice the running torque that heats the plastic here: set the running torque to "
            "the one at the operating point, or to what you measure, and look again",
        ),
        (
            needed_torque > running_torque / 2,
            "the screw takes less than half of the running torque that heats the plastic here: set the running torque "
            "to the one at the operating point, or to what you measure, and look again",
        ),
    ),
)
turn_at_work = SUBJECT.equals(
    "turn_at_work",
    "V_op",
    "mm**3",
    "solid plastic for each turn at the operating point",
    wanted_flow / operating_speed,
    "Flow over speed",
    source=_DEFINITION,
    valid=(
        (
            abs(flow_brought - 1) < Rational(1, 100),
            "the ring of grains over the tips is about to change: at this speed a turn brings too much while the ring "
            "comes along, and too little while it stays behind. The head would go from one to the other and back; what "
            "is found here lies between the two, and is true of neither",
        ),
    ),
)
friction_power = SUBJECT.equals(
    "friction_power",
    "W_op",
    "W",
    "work that the screw does at the operating point",
    2 * pi * operating_speed * needed_torque,
    "Torque times angular speed",
    source=_DEFINITION,
)
heater_at_work = SUBJECT.equals(
    "heater_at_work",
    "W_heat",
    "W",
    "power of the heater at the operating point, where work beyond that assumed saves all that it can",
    heater_power + friction_heat - friction_power,
    "What friction gives the heater need not, at most",
    source=_HERE,
    assumptions=(_ALL_SAVED,),
    hazards=(
        (
            # What is told here off balance is a bound, and no danger. At rest it is this power.
            heater_power > 0,
            "the screw's work alone heats more than the head needs: print more slowly, or lower the friction. The "
            "heater switches off and the temperature runs away from its set value",
        ),
    ),
)


def _thrust_without_plug(pressure: Quantity) -> Expr:
    """Return the thrust on the bearing at a pressure at the tip, but for what the wall takes from the hard plug."""
    return (
        pressure * bore_section
        - inlet_pressure * carried_section
        - wall_share * carried_section * (pressure - plug_pressure)
        + axial_drag * (soft_torque + block_torque)
    )


lining_hold = SUBJECT.equals(
    "lining_hold",
    "F_lin",
    "N",
    "what the wall takes of the pressure that pushes a lining back",
    Piecewise((0, _CARRIED), ((plug_pressure - inlet_pressure) * ring_section, True)),
    "A lining that stands is held by the wall",
    nonnegative=True,
    source=_HERE,
    assumptions=(_ACROSS,),
)
operating_thrust = SUBJECT.equals(
    "operating_thrust",
    "F_op",
    "N",
    "thrust on the bearing at the operating point",
    _thrust_without_plug(nozzle_pressure)
    + wall_over_axial * plug_mean_pressure * plug_drag * cold_length
    - lining_hold,
    "Pressure on the bore, and what the wall holds back",
    source=_HERE,
    assumptions=(_SHARES, _ACROSS),
)
blocked_thrust = SUBJECT.equals(
    "blocked_thrust",
    "F_block",
    "N",
    "thrust on the bearing when the nozzle blocks and the screw turns on",
    _thrust_without_plug(blocked_pressure),
    "Pressure on the bore, without the drag of a plug that stands",
    source=_HERE,
    assumptions=(_SHARES, _STILL_PRESSED, _LETS_GO),
)
blocked_gain = SUBJECT.equals(
    "blocked_gain",
    "x_gain",
    "1",
    "pressure at the nozzle when it blocks, over that at work",
    blocked_pressure / nozzle_pressure,
    "Pressure blocked over pressure at work",
    source=_DEFINITION,
    title="pressure rise when the nozzle blocks",
)
blocked_share = SUBJECT.equals(
    "blocked_share",
    "x_clog",
    "1",
    "thrust when the nozzle blocks at working speed, over that when the motor stalls",
    blocked_thrust / stall_thrust,
    "What a blocked nozzle brings about before the motor does",
    source=_DEFINITION,
    title="thrust when the nozzle blocks, over that at stall",
    nonnegative=True,
)
SUBJECT.model(
    "wall_thrust", (operating_thrust, pressure_thrust), (wall_thrust,), _added_by_wall,
    "What the wall adds to the pressure on the bore", source=_HERE,
    assumptions=("where the plug cannot press, the pressure asked for counts alone",),
)  # fmt: skip

SUBJECT.circle(running_torque, needed_torque)
SUBJECT.circle(screw_speed, operating_speed)
SUBJECT.circle(hard_heat_share, hard_share)
SUBJECT.circle(block_heat_share, block_share)

SUBJECT.margin(
    "push_reserve", push_reserve, good=1.5, limit=1.1,
    why="at the operating point the plug has little left: a smoother wall, a damp batch or a faster line and it slips",
    advice="lengthen the cold part, roughen the bore, polish the screw, shorten the soft part, or print more slowly",
    source=Source("derived here", "1 is the limit of the plug model; 1.1 and 1.5 are judgement"),
)  # fmt: skip
SUBJECT.margin(
    "blocked_share", blocked_share, good=0.25, limit=0.5,
    why="a screw that already presses half as hard as at stall when the nozzle blocks strains bearing, "
    "plate and tube at every clog, before anybody notices",
    advice="leave a wider gap over the tips, take a larger nozzle or print more slowly",
    source=_JUDGED,
)  # fmt: skip
#: Of what a motor can turn, whether at rest or at its speed.
TORQUE_GOOD, TORQUE_LIMIT = 0.5, 0.8
TORQUE_PRACTICE = Source("common practice", "half of the motor's torque is good, four fifths the limit")
SUBJECT.margin(
    "torque_share", torque_share, good=TORQUE_GOOD, limit=TORQUE_LIMIT,
    why="a motor that works near its stall torque loses steps as soon as a batch is a little stiffer",
    advice="cool the tube so that less of the plastic is soft, or print more slowly; gear the motor further down only "
    "if gear and screw bear the larger torque at stall, and bearing, plate, tube and nozzle the thrust",
    source=TORQUE_PRACTICE,
)  # fmt: skip
