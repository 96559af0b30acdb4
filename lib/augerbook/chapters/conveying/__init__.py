"""The plug of packed grains: pushed ahead by the flight, kept from turning by the wall, held back by both.

Darnell and Mol's balance in cylindrical form, for a V flight that leaves a gap over its tip. Pressure builds along the
thread. Stresses grow in proportion to it, so that it grows exponentially, with an exponent for each millimetre of tube.
The largest exponent, of a plug that no longer moves ahead, against the one that is needed is the reserve.

What turns with the screw counts as plug. Grains in the gap over the tip (the ring) either come along with the plug or
line the tube, and they press along the axis like any bed of grains. What comes along the plug must press; what lines
the tube the wall must hold. One of both is possible up to the largest exponent, and never both.
"""

from __future__ import annotations

from typing import Any

from sympy import Expr, Integer, Piecewise, acos, atan, cos, log, oo, pi, sin, sqrt, tan

from augerbook.chapters.conveying.models import loose_exponent_of
from augerbook.chapters.hopper import flight_fill, hopper_pressure, outlet_pressure, void_share
from augerbook.chapters.screw import (
    channel_volume,
    flight_depth,
    floor_width,
    helix_angle_core,
    helix_angle_mean,
    net_volume,
)
from augerbook.chapters.thrust import normal_flank_angle, nozzle_pressure, raise_arm, thread_mean_diameter
from augerbook.core.extremes import largest, smallest
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.drive import screw_speed
from augerbook.head.feedstock import friction_internal, radial_stress_ratio, ring_stress_ratio
from augerbook.head.printing import wanted_flow
from augerbook.head.screw import core_diameter, crest_width, friction_screw, major_diameter, pitch
from augerbook.head.tube import bore_diameter, friction_barrel

SUBJECT = Subject(
    "conveying",
    number=5,
    title="Conveying the plug",
    question="Does the wall hold the packed grains well enough for the screw to push them ahead, and how far per turn?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_PLUG = Source("darnell_mol", "force and torque balance of the plug, here in cylindrical form with V flights")


#: Follows from the temperatures: the chapter on heat computes it.
cold_length = SUBJECT.result(
    "cold_length", "L_cold", "mm", "length of tube in which the plastic is still hard", title="cold length of the tube"
)
solid_carried = SUBJECT.result(
    "solid_carried", "V_car", "mm**3", "solid plastic per turn, ring carried along", nonnegative=True
)
solid_lining = SUBJECT.result(
    "solid_lining",
    "V_lin",
    "mm**3",
    "solid plastic per turn, ring left behind",
    nonnegative=True,
    title="plastic per turn, ring left behind",
)

_RIGID = "the plug moves as one rigid body, as packed grains do while they are hard"
_RATIO = "pressure on wall, core and flanks is the same share of the pressure along the thread everywhere"
_THREAD = "pressure builds along the thread, and is even across the channel"
_ENDS = "grains hand on the same share of their pressure where they enter as where they soften"
_COULOMB = "friction is proportional to pressure, with one number for all of a surface (Coulomb)"
_MEAN = "both flanks count at half depth of the flight"
_CREST = "friction on the narrow crest is left out"
_STILL = "the plug just no longer moves ahead, so that all of the wall's friction works against turning"
_RING = "grains between tip and wall press along the axis with one share of what the wall feels"
_BEARS = "the wall holds a lining that stands; a ring that comes along is pressed by the plug"
_ALL = "the plug presses just what the nozzle asks for: what soft plastic and melt add or take is left to chapter 11"
_LOOSE = (
    "grains enter as loose as they lie in the cup, as far as the flights are full; packing further on slows the plug "
    "and brings in no more"
)

_SLIPS = (
    "slips: the cold plug alone cannot reach the pressure at the nozzle; unless a tight screw pumps the soft plastic "
    "ahead (the push reserve tells), it turns with the screw and nothing comes out. Lengthen or cool the tube, roughen "
    "the bore, polish the screw, or lower the pressure at the nozzle"
)
_TURNS = (
    "slips: the screw drags the plug round and back harder than the weaker of wall and grains over the tips holds it, "
    "at any length of tube: polish the screw; roughen the bore as well where its wall is the weaker (carry number "
    "above 1)"
)

inlet_pressure = SUBJECT.equals(
    "inlet_pressure",
    "P_0",
    "Pa",
    "pressure in the grains where the closed tube begins",
    smallest(hopper_pressure, outlet_pressure),
    "What the hopper lets through",
    positive=True,
    source=_HERE,
    assumptions=("the pressure below the hopper's outlet is that in a pipe as wide as the outlet",),
)
needed_exponent = SUBJECT.equals(
    "needed_exponent",
    "K_need",
    "1/mm",
    "exponent that reaches the pressure at the nozzle within the cold length",
    log(nozzle_pressure / inlet_pressure) / cold_length,
    "Exponential rise over the cold length",
    source=_HERE,
    assumptions=(_RATIO, _COULOMB, _ENDS, _ALL),
    valid=(
        (
            inlet_pressure < nozzle_pressure,
            "the grains come in at more than the pressure at the nozzle: there is nothing for the plug to do",
        ),
        (
            cold_length > 0,
            "no plug is left: the plastic is soft all along the tube. The cold length must be above 0 mm: cool the "
            "tube, lengthen it, or take one that conducts less",
        ),
    ),
)
core_face = SUBJECT.equals(
    "core_face",
    "S_c",
    "mm",
    "bare surface of the core per unit of length of the tube",
    pi * core_diameter * largest(0, floor_width) / pitch,
    "The bare core",
    source=_HERE,
)
flank_face = SUBJECT.equals(
    "flank_face",
    "S_f",
    "mm",
    "surface of both flanks per unit of length of the tube",
    2 * pi * thread_mean_diameter * flight_depth / (pitch * cos(normal_flank_angle) * cos(helix_angle_mean)),
    "Both flanks",
    positive=True,
    source=_HERE,
    assumptions=(_MEAN,),
)
turning_drag = SUBJECT.equals(
    "turning_drag",
    "t_s",
    "mm**2",
    "torque with which the screw's friction turns the plug, per length and pressure on the walls",
    friction_screw
    * (
        core_face * core_diameter / 2 * cos(helix_angle_core)
        + flank_face * thread_mean_diameter / 2 * cos(helix_angle_mean)
    ),
    "Core and flanks rub the plug round",
    positive=True,
    source=_PLUG,
    assumptions=(_RIGID, _RATIO, _COULOMB, _MEAN, _CREST),
)
back_drag = SUBJECT.equals(
    "back_drag",
    "b_s",
    "mm",
    "force with which the screw's friction holds the plug back, per length and pressure on the walls",
    friction_screw * (core_face * sin(helix_angle_core) + flank_face * sin(helix_angle_mean)),
    "Core and flanks rub the plug back",
    positive=True,
    source=_PLUG,
    assumptions=(_RIGID, _RATIO, _COULOMB, _MEAN, _CREST),
)
carried_section = SUBJECT.equals(
    "carried_section",
    "A_car",
    "mm**2",
    "section of plug and ring together",
    net_volume / pitch,
    "Section of all room in the bore",
    source=_DEFINITION,
)
lining_section = SUBJECT.equals(
    "lining_section",
    "A_lin",
    "mm**2",
    "section of the plug between the flights",
    channel_volume / pitch,
    "Section of the room between flights",
    source=_DEFINITION,
)
ring_section = SUBJECT.equals(
    "ring_section",
    "A_ring",
    "mm**2",
    "section of the ring between tip and wall",
    carried_section - lining_section,
    "All room less that between the flights",
    positive=True,
    source=_DEFINITION,
)
active_ratio = SUBJECT.equals(
    "active_ratio",
    "K_a",
    "1",
    "least pressure that grains bear along the axis, over that on the wall",
    (sqrt(1 + friction_internal**2) - friction_internal) ** 2,
    "Grains about to give way along the axis",
    source=Source("derived here", "Rankine's active state"),
    assumptions=(_COULOMB, "pressures on the wall and along the axis are the largest and the smallest there are"),
)
tip_friction = SUBJECT.equals(
    "tip_friction",
    "mu_tip",
    "1",
    "friction of grains on grains over the tip, the metal of the crests not counted",
    friction_internal * (1 - crest_width / pitch),
    "Between the crests grains rub on grains",
    positive=True,
    source=_HERE,
    assumptions=(_COULOMB, _CREST),
)
tip_hold = SUBJECT.equals(
    "tip_hold",
    "t_tip",
    "mm**2",
    "largest torque that grains pass on over the tip, per length and pressure on the walls",
    pi * tip_friction * major_diameter**2 / 2,
    "Friction on the circle of the tips",
    positive=True,
    source=_HERE,
    assumptions=(_COULOMB,),
)
bore_hold = SUBJECT.equals(
    "bore_hold",
    "t_bore",
    "mm**2",
    "largest torque that the wall takes, per length and pressure on the walls",
    pi * friction_barrel * bore_diameter**2 / 2,
    "Friction on the circle of the bore",
    positive=True,
    source=_HERE,
    assumptions=(_COULOMB,),
)
carry_number = SUBJECT.equals(
    "carry_number",
    "G",
    "1",
    "torque that grains pass on over the tip, against what the wall takes",
    tip_hold / bore_hold,
    "Which circle gives way to turning: over the tip or at the wall",
    positive=True,
    source=_DEFINITION,
)
wall_hold = SUBJECT.equals(
    "wall_hold",
    "t_w",
    "mm**2",
    "largest torque that keeps the plug from turning, per length and pressure on the walls",
    smallest(bore_hold, tip_hold),
    "The weaker of the two circles holds the plug",
    positive=True,
    source=_HERE,
    assumptions=(_STILL,),
)
plug_push = SUBJECT.equals(
    "plug_push",
    "X",
    "mm",
    "push left on a plug that no longer moves, per length and pressure on the walls",
    (wall_hold - turning_drag) / raise_arm - back_drag,
    "What the wall holds, turned into push by the flank, less what rubs back",
    source=_PLUG,
    assumptions=(_RIGID, _RATIO, _COULOMB, _STILL),
)
thread_factor = SUBJECT.equals(
    "thread_factor",
    "B",
    "1",
    "push that a rise of pressure along the thread takes, over that of the same rise along the axis",
    sin(helix_angle_mean) ** 2 + thread_mean_diameter / (2 * raise_arm) * sin(helix_angle_mean) * cos(helix_angle_mean),
    "What presses back along the thread helps the flank with its torque",
    source=_PLUG,
    assumptions=(_THREAD, _MEAN),
)
wall_over_axial = SUBJECT.equals(
    "wall_over_axial",
    "k_w",
    "1",
    "pressure on the walls over the pressure along the axis, in the plug",
    radial_stress_ratio / (sin(helix_angle_mean) ** 2 + radial_stress_ratio * cos(helix_angle_mean) ** 2),
    "A plane across the tube is pressed nearly square to the thread",
    positive=True,
    source=Source("derived here", "stress on an inclined plane"),
    assumptions=(_RATIO, _MEAN),
)
plug_take = SUBJECT.equals(
    "plug_take",
    "c_plug",
    "mm**2",
    "push that the plug takes for each unit of the exponent and of the pressure on the walls",
    thread_factor * lining_section / radial_stress_ratio,
    "Section of the plug, along the thread",
    source=_HERE,
    assumptions=(_RATIO, _THREAD),
)
ring_take = SUBJECT.equals(
    "ring_take",
    "c_ring",
    "mm**2",
    "push that the ring takes for each unit of the exponent and of the pressure on the walls",
    ring_stress_ratio * ring_section,
    "Section of the ring, along the axis",
    positive=True,
    source=_HERE,
    assumptions=(_RING,),
    valid=(
        (
            ring_stress_ratio >= active_ratio,
            "grains between tip and wall cannot stand at so little pressure along the axis: they give way until it is "
            "at least the active ratio. Set the ring's ratio no lower than that",
        ),
        (
            ring_stress_ratio * wall_over_axial <= 1,
            "the soft plastic ahead presses on the ring's end no harder than along the axis of the plug: set the "
            "ring's ratio no higher than the pressure along the axis over that on the wall",
        ),
        (
            ring_stress_ratio * active_ratio <= 1,
            "grains between tip and wall cannot stand at so much pressure along the axis: they give way outwards until "
            "it is at most one over the active ratio. Set the ring's ratio no higher than that",
        ),
    ),
)
grip_carried = SUBJECT.equals(
    "grip_carried",
    "K_car",
    "1/mm",
    "largest exponent if the plug must press the ring as well",
    plug_push / (plug_take + ring_take),
    "Plug and ring pressed together",
    source=_PLUG,
    assumptions=(_STILL,),
)
grip_lining = SUBJECT.equals(
    "grip_lining",
    "K_lin",
    "1/mm",
    "largest exponent if the wall holds the ring",
    plug_push / plug_take,
    "Plug between the flights alone",
    source=_PLUG,
    assumptions=(_STILL,),
)
ring_exponent = SUBJECT.equals(
    "ring_exponent",
    "K_ring",
    "1/mm",
    "largest exponent at which a plug that stops can still press the ring",
    2 * sqrt(largest(0, tip_hold**2 - bore_hold**2)) / (major_diameter * ring_take),
    "Shear over the tip turns the ring and presses it with what is left",
    source=_HERE,
    assumptions=(_COULOMB, _STILL),
)
lining_exponent = SUBJECT.equals(
    "lining_exponent",
    "K_hold",
    "1/mm",
    "largest exponent at which the wall can still hold a lining round a plug that stops",
    2 * sqrt(largest(0, bore_hold**2 - tip_hold**2)) / (bore_diameter * ring_take),
    "The wall keeps the lining from turning and holds it with what is left",
    nonnegative=True,
    source=_HERE,
    assumptions=(_COULOMB, _STILL),
)
loose_exponent = SUBJECT.result(
    "loose_exponent", "K_both", "1/mm", "exponent at which wall and grains over the tip give way at once"
)
SUBJECT.model(
    "loose_exponent",
    (
        tip_hold, bore_hold, major_diameter, bore_diameter, turning_drag, back_drag, raise_arm, plug_take, ring_take,
    ),
    (loose_exponent,),
    loose_exponent_of,
    "Both circles turn and hold with all they have",
    source=_HERE,
    assumptions=(_COULOMB,),
)  # fmt: skip
grip_exponent = SUBJECT.equals(
    "grip_exponent",
    "K",
    "1/mm",
    "largest exponent, just before the plug slips",
    Piecewise(
        (grip_carried, grip_carried <= ring_exponent),
        (grip_lining, grip_lining <= lining_exponent),
        (loose_exponent, True),
    ),
    "The first that gives way: the wall, the grains over the tip, or both",
    source=_HERE,
    assumptions=(_BEARS,),
    valid=((plug_push > 0, _TURNS),),
    title="pressure limit of the plug",
)
grip_reserve = SUBJECT.equals(
    "grip_reserve",
    "R_K",
    "1",
    "largest exponent over the needed one",
    grip_exponent / needed_exponent,
    "Largest exponent over needed one",
    source=_DEFINITION,
    assumptions=(_ALL,),
    title="grip reserve of the plug",
)
grip_length = SUBJECT.equals(
    "grip_length",
    "L_grip",
    "mm",
    "shortest plug that reaches the pressure at the nozzle",
    Piecewise((log(nozzle_pressure / inlet_pressure) / grip_exponent, grip_exponent > 0), (oo, True)),
    "Exponential rise with the largest exponent",
    source=_HERE,
    assumptions=(_ALL,),
)


def _angle(diameter: Quantity, hold: Quantity, take: Expr) -> Piecewise:
    """Direction of sliding on a circle of that diameter with that hold; zero where there is none.

    ``take`` is the push for each unit of the exponent.
    """
    held_back = turning_drag / raise_arm + back_drag + take * needed_exponent
    share: Expr = held_back * diameter / (2 * hold)
    slope = diameter / (2 * raise_arm)
    cosine = largest(-1, smallest(1, share / sqrt(1 + slope**2)))
    return Piecewise((largest(0, acos(cosine) - atan(1 / slope)), raise_arm > 0), (Integer(0), True))


def _efficiency(angle: Quantity, diameter: Quantity) -> Expr:
    return tan(angle) / (tan(angle) + pitch / (pi * diameter))


angle_carried = SUBJECT.equals(
    "angle_carried",
    "phi_car",
    "deg",
    "direction in which the plug slides on the wall, from the circumference",
    _angle(bore_diameter, bore_hold, plug_take + ring_take),
    "Direction of sliding, ring carried along",
    nonnegative=True,
    source=_PLUG,
    assumptions=(_RIGID, _RATIO, _COULOMB, _THREAD, _RING),
)
angle_lining = SUBJECT.equals(
    "angle_lining",
    "phi_lin",
    "deg",
    "direction in which the plug slides on a lining",
    _angle(major_diameter, tip_hold, plug_take),
    "Direction of sliding on a lining",
    nonnegative=True,
    source=_PLUG,
    assumptions=(_RIGID, _RATIO, _COULOMB, _THREAD, _BEARS),
)
efficiency_carried = SUBJECT.equals(
    "efficiency_carried",
    "eta_car",
    "1",
    "conveying efficiency, ring carried along",
    _efficiency(angle_carried, bore_diameter),
    "Advance over pitch, ring carried along",
    nonnegative=True,
    source=Source("tadmor_gogos", "kinematics of the plug"),
    assumptions=(_RIGID,),
)
efficiency_lining = SUBJECT.equals(
    "efficiency_lining",
    "eta_lin",
    "1",
    "conveying efficiency, ring left behind",
    _efficiency(angle_lining, major_diameter),
    "Advance over pitch, ring left behind",
    nonnegative=True,
    source=Source("tadmor_gogos", "kinematics of the plug"),
    assumptions=(_RIGID,),
)


def _load(angle: Quantity, turned: tuple[Quantity, Quantity], held: tuple[Quantity, Quantity], sign: int) -> Piecewise:
    """Share of one circle's hold that is used while the plug slides on the other; no end where it cannot slide.

    ``turned`` is the circle that slides, ``held`` the one that must not: each its hold and its diameter. Along the
    axis, forces count as the ring's own pressure pushes it; ``sign`` is that of the sliding circle.
    """
    (slides, slide_diameter), (keeps, keep_diameter) = turned, held
    round_axis = slides * cos(angle) / (keep_diameter / 2)
    along_axis = ring_take * needed_exponent + sign * slides / (slide_diameter / 2) * sin(angle)
    return Piecewise((sqrt(round_axis**2 + along_axis**2) / (2 * keeps / keep_diameter), angle > 0), (oo, True))


ring_load = SUBJECT.equals(
    "ring_load",
    "x_ring",
    "1",
    "share of the shear over the tip that is used up if the ring comes along",
    _load(angle_carried, (bore_hold, bore_diameter), (tip_hold, major_diameter), 1),
    "Over the tip the ring is turned, and pressed against wall and pressure",
    source=_HERE,
    assumptions=(_COULOMB, _RING),
)
lining_load = SUBJECT.equals(
    "lining_load",
    "x_lin",
    "1",
    "share of the wall's friction that is used up if the ring stays behind",
    _load(angle_lining, (tip_hold, major_diameter), (bore_hold, bore_diameter), -1),
    "The wall keeps the lining from turning and from being pressed back",
    source=_HERE,
    assumptions=(_COULOMB, _RING),
)


def comes_along(load: Any) -> Any:
    """Say for a ring's load, in symbols or as numbers, whether its grains are carried along with the plug."""
    return load <= 1


#: The state in which the ring stands, here and in the chapters that follow.
RING_COMES_ALONG = comes_along(ring_load)


def _as_it_stands(carried: Expr, behind: Expr) -> Expr:
    """Return what holds for a ring carried along, or for one left behind; nothing where the plug slips."""
    return Piecewise((Integer(0), needed_exponent >= grip_exponent), (carried, RING_COMES_ALONG), (behind, True))


conveying_efficiency = SUBJECT.equals(
    "conveying_efficiency",
    "eta_c",
    "1",
    "how far the plug moves in a turn, over the pitch; nothing when it slips",
    _as_it_stands(efficiency_carried, efficiency_lining),
    "The state that holds: slipping, ring carried along, or ring left behind",
    short_id="efficiency",
    nonnegative=True,
    source=_HERE,
    valid=((needed_exponent < grip_exponent, _SLIPS),),
)
for _volume, _share, _room, _which in (
    (solid_carried, efficiency_carried, net_volume, "ring carried along"),
    (solid_lining, efficiency_lining, channel_volume, "ring left behind"),
):
    SUBJECT.relation(
        _volume.key, _volume, _room * (1 - void_share) * flight_fill * _share,
        f"Room, less voids, as far as filled, as far as moved: {_which}", source=_HERE, assumptions=(_LOOSE,),
    )  # fmt: skip
solid_per_turn = SUBJECT.equals(
    "solid_per_turn",
    "V_turn",
    "mm**3",
    "solid plastic delivered per turn",
    _as_it_stands(solid_carried, solid_lining),
    "The state that holds: slipping, ring carried along, or ring left behind",
    nonnegative=True,
    source=_HERE,
)
delivered_flow = SUBJECT.equals(
    "delivered_flow",
    "Q_N",
    "mm**3/s",
    "solid plastic delivered at the speed of the build",
    solid_per_turn * screw_speed,
    "Plastic per turn, times turns",
    nonnegative=True,
    source=_DEFINITION,
)
speed_for_flow = SUBJECT.equals(
    "speed_for_flow",
    "N_Q",
    "1/min",
    "turning speed that delivers the wanted flow",
    wanted_flow / solid_per_turn,
    "Wanted flow over plastic per turn",
    source=_DEFINITION,
    assumptions=("as much of the tube is cold as at the screw speed of the build",),
    title="speed for the wanted flow",
)

SUBJECT.margin(
    "grip_reserve", grip_reserve, good=1.5, limit=1.0,
    why="below 1 the plug slips in the tube and turns with the screw; just above 1 a day's wear can make it slip",
    advice="lengthen the tube or cool it closer to the heated block, roughen the bore along its length, polish the "
    "screw, or take a larger nozzle",
    source=Source("derived here", "limit of the plug model; 1.5 is judgement"),
)  # fmt: skip
SUBJECT.margin(
    "speed_for_flow", speed_for_flow, good=50, limit=100,
    why="fast turning heats plug and screw by friction: less of the tube stays cold, until no plug is left to press",
    advice="take a screw with more room per turn, or print more slowly",
    source=Source("judgement", "10 to 50 turns a minute"),
)  # fmt: skip
