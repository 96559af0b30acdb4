"""The plug of packed grains: pushed ahead by the flight, kept from turning by the wall, held back by both.

Darnell and Mol's balance in cylindrical form, for a V flight that leaves a gap over its tip. Stresses grow in
proportion to the pressure, so that the pressure grows exponentially along the tube, with an exponent for each
millimetre. The largest exponent, of a plug that no longer moves ahead, against the one that is needed is the reserve.

What turns with the screw counts as plug. Grains in the gap over the tip (the ring) either come along with the plug or
line the tube: both cases are computed throughout, and what shear over the tip can do decides between them.
"""

from __future__ import annotations

from sympy import Expr, Integer, Max, Min, Piecewise, acos, atan, cos, log, oo, pi, sin, sqrt, tan

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
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.drive import screw_speed
from augerbook.head.feedstock import friction_internal, radial_stress_ratio
from augerbook.head.printing import wanted_flow
from augerbook.head.screw import core_diameter, friction_screw, major_diameter, pitch
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
cold_length = SUBJECT.result("cold_length", "L_cold", "mm", "length of tube in which the plastic is still hard")
solid_carried = SUBJECT.result(
    "solid_carried", "V_car", "mm**3", "solid plastic per turn, ring carried along", nonnegative=True
)
solid_lining = SUBJECT.result(
    "solid_lining", "V_lin", "mm**3", "solid plastic per turn, ring left behind", nonnegative=True
)

_RIGID = "the plug moves as one rigid body, as packed grains do while they are hard"
_RATIO = "pressure on walls, core and flanks is the same share of the pressure along the tube everywhere"
_COULOMB = "friction is proportional to pressure, with one number for all of a surface (Coulomb)"
_MEAN = "both flanks count at half depth of the flight"
_CREST = "friction on the narrow crest is left out"
_STILL = "the plug just no longer moves ahead, so that all of the wall's friction works against turning"
_EVEN = "pressure is the same all over a section, ring included, as long as the ring comes along"
_LAG = "a ring that lags takes from the plug what the shear over the tip passes on, and nothing when it stands still"
_ALL = "the plug presses just what the nozzle asks for: what soft plastic and melt add or take is left to chapter 11"
_LOOSE = (
    "grains enter as loose as they lie in the cup, as far as the flights are full; packing further on slows the plug "
    "and brings in no more"
)

_SLIPS = (
    "slips: the cold plug cannot reach the pressure at the nozzle; it turns with the screw and nothing comes out. "
    "Lengthen or cool the tube, roughen the bore, polish the screw, or lower the pressure at the nozzle"
)
_TURNS = (
    "slips: the screw drags the plug round and back harder than the wall holds it, at any length of tube: "
    "roughen the bore or polish the screw"
)

inlet_pressure = SUBJECT.equals(
    "inlet_pressure",
    "P_0",
    "Pa",
    "pressure in the grains where the closed tube begins",
    Min(hopper_pressure, outlet_pressure),
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
    assumptions=(_RATIO, _COULOMB, _ALL),
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
    "bare surface of the core for each length of tube",
    pi * core_diameter * Max(0, floor_width) / pitch,
    "The bare core",
    source=_HERE,
)
flank_face = SUBJECT.equals(
    "flank_face",
    "S_f",
    "mm",
    "surface of both flanks for each length of tube",
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
    "torque with which the screw's friction turns the plug, for each length and pressure on the walls",
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
    "force with which the screw's friction holds the plug back, for each length and pressure on the walls",
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
carry_number = SUBJECT.equals(
    "carry_number",
    "G",
    "1",
    "torque that grains pass on over the tip, against what the wall holds",
    friction_internal / friction_barrel * (major_diameter / bore_diameter) ** 2,
    "Which circle gives way to turning: over the tip or at the wall",
    positive=True,
    source=_HERE,
    assumptions=(_COULOMB,),
)
tip_friction = SUBJECT.equals(
    "tip_friction",
    "mu_tip",
    "1",
    "friction on the plug over the tip: the grains' own, or what the wall holds of it",
    friction_internal * Min(1, 1 / carry_number),
    "The weaker of both circles",
    positive=True,
    source=_HERE,
    assumptions=(_COULOMB,),
)
wall_hold = SUBJECT.equals(
    "wall_hold",
    "t_w",
    "mm**2",
    "largest torque that keeps the plug from turning, for each length and pressure on the walls",
    2 * pi * Min(friction_barrel * (bore_diameter / 2) ** 2, friction_internal * (major_diameter / 2) ** 2),
    "The weaker of both circles holds the plug",
    positive=True,
    source=_HERE,
    assumptions=(_COULOMB, _STILL),
)
plug_push = SUBJECT.equals(
    "plug_push",
    "X",
    "mm",
    "push left on a plug that no longer moves, for each length and pressure on the walls",
    (wall_hold - turning_drag) / raise_arm - back_drag,
    "What the wall holds, turned into push by the flank, less what rubs back",
    source=_PLUG,
    assumptions=(_RIGID, _RATIO, _COULOMB, _STILL),
)
grip_carried = SUBJECT.equals(
    "grip_carried",
    "K_car",
    "1/mm",
    "largest exponent, ring carried along",
    radial_stress_ratio * plug_push / carried_section,
    "Plug and ring pressed together",
    source=_PLUG,
    assumptions=(_STILL, _EVEN),
)
grip_lining = SUBJECT.equals(
    "grip_lining",
    "K_lin",
    "1/mm",
    "largest exponent, ring left behind",
    radial_stress_ratio * plug_push / lining_section,
    "Plug between the flights alone",
    source=_PLUG,
    assumptions=(_STILL, _LAG),
)
_RING_SECTION = carried_section - lining_section
ring_exponent = SUBJECT.equals(
    "ring_exponent",
    "K_ring",
    "1/mm",
    "largest exponent at which the ring still comes along with the plug",
    radial_stress_ratio
    * friction_internal
    * pi
    * major_diameter
    / _RING_SECTION
    * sqrt(Max(0, 1 - 1 / carry_number**2)),
    "Shear over the tip turns the ring and presses it with what is left",
    source=_HERE,
    assumptions=(_COULOMB, _STILL, _EVEN),
)
grip_exponent = SUBJECT.equals(
    "grip_exponent",
    "K",
    "1/mm",
    "largest exponent, just before the plug stops",
    Max(grip_carried, grip_lining - _RING_SECTION / lining_section * ring_exponent),
    "The ring takes its part of the push, as far as shear can pass it on",
    source=_HERE,
    assumptions=(_STILL, _LAG),
    valid=((plug_push > 0, _TURNS),),
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


def _angle(diameter: Quantity, friction: Quantity, pressed: Expr) -> Piecewise:
    """Direction of sliding on the circle of that diameter; zero where there is none.

    ``pressed`` is section times needed exponent, summed over all that the push must press.
    """
    held_back = turning_drag / raise_arm + back_drag + pressed / radial_stress_ratio
    share: Expr = held_back / (pi * friction * diameter)
    slope = diameter / (2 * raise_arm)
    cosine = Max(-1, Min(1, share / sqrt(1 + slope**2)))
    return Piecewise((Max(0, acos(cosine) - atan(1 / slope)), raise_arm > 0), (Integer(0), True))


def _efficiency(angle: Quantity, diameter: Quantity) -> Expr:
    return tan(angle) / (tan(angle) + pitch / (pi * diameter))


angle_carried = SUBJECT.equals(
    "angle_carried",
    "phi_car",
    "deg",
    "direction in which the plug slides on the wall, from the circumference",
    _angle(bore_diameter, friction_barrel, carried_section * needed_exponent),
    "Direction of sliding, ring carried along",
    nonnegative=True,
    source=_PLUG,
    assumptions=(_RIGID, _RATIO, _COULOMB, _EVEN),
)
angle_lining = SUBJECT.equals(
    "angle_lining",
    "phi_lin",
    "deg",
    "direction in which the plug slides on a lining",
    _angle(
        major_diameter,
        tip_friction,
        lining_section * needed_exponent + _RING_SECTION * Min(needed_exponent, ring_exponent),
    ),
    "Direction of sliding on a lining",
    nonnegative=True,
    source=_PLUG,
    assumptions=(_RIGID, _RATIO, _COULOMB, _LAG),
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
#: Whether the plastic in the gap is carried along with the plug: the state in which it stands, here and elsewhere.
RING_COMES_ALONG = needed_exponent <= ring_exponent

conveying_efficiency = SUBJECT.equals(
    "conveying_efficiency",
    "eta_c",
    "1",
    "how far the plug moves in a turn, over the pitch; nothing when it slips",
    Piecewise(
        (Integer(0), needed_exponent >= grip_exponent),
        (efficiency_carried, RING_COMES_ALONG),
        (efficiency_lining, True),
    ),
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
    Piecewise(
        (Integer(0), needed_exponent >= grip_exponent),
        (solid_carried, RING_COMES_ALONG),
        (solid_lining, True),
    ),
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
    assumptions=("the flights are as full as at the screw speed of the build",),
)

SUBJECT.margin(
    "grip_reserve", grip_reserve, good=1.5, limit=1.0,
    why="below 1 the plug slips in the tube and turns with the screw; just above, the wear of a day decides",
    advice="lengthen the tube or cool it closer to the heated block, roughen the bore along its length, polish the "
    "screw, or take a larger nozzle or a slower print",
    source=Source("derived here", "limit of the plug model; 1.5 is judgement"),
)  # fmt: skip
SUBJECT.margin(
    "speed_for_flow", speed_for_flow, good=50, limit=100,
    why="fast turning heats plug and screw by friction and empties the flights at the inlet",
    advice="take a screw with more room per turn, or print more slowly",
    source=Source("judgement", "10 to 50 turns a minute"),
)  # fmt: skip
