"""Thrust on the bearing: the screw as a power screw in a plug, and the pressure on the bore beside it.

Forces are positive when they push the screw away from the nozzle, onto its bearing. A plug of packed plastic that
cannot turn is a nut. What a torque pushes through its thread is bounded by work; what the pressure ahead of the
screw pushes on the screw's own end costs no torque and comes on top.
"""

from __future__ import annotations

from sympy import Expr, Integer, Piecewise, atan, cos, oo, pi, sqrt, tan

from augerbook.chapters.screw import helix_angle_mean, net_volume
from augerbook.core.extremes import largest
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.bearing import collar_diameter, friction_collar
from augerbook.head.drive import running_torque, stall_torque
from augerbook.head.nozzle import (
    block_strength_share,
    block_yield_strength,
    melt_bore_diameter,
    nozzle_nut_factor,
    nozzle_strength_share,
    nozzle_thread_diameter,
    nozzle_thread_length,
    nozzle_thread_pitch,
    nozzle_tightening_torque,
    nozzle_yield_strength,
)
from augerbook.head.screw import core_diameter, flank_half_angle, friction_screw, major_diameter, pitch
from augerbook.head.tube import (
    bore_diameter,
    break_length,
    break_yield_strength,
    hot_strength_share,
    tube_outside_diameter,
    tube_yield_strength,
)

SUBJECT = Subject(
    "thrust",
    number=12,
    title="Thrust from torque and pressure",
    question="How hard does the screw push on its bearing, running and when the motor stalls?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")

#: Declared here, where a chapter needs them first; the chapters on heat and on the melt compute them.
break_outside_diameter = SUBJECT.result(
    "break_outside_diameter", "D_b", "mm", "outside diameter of the thermal break", positive=True
)
nozzle_pressure = SUBJECT.result(
    "nozzle_pressure", "P_nozzle", "MPa", "pressure of the melt at the nozzle", positive=True
)


effective_friction = SUBJECT.result(
    "effective_friction", "f", "1", "friction of the screw, raised by the slope of its flanks", positive=True
)
#: Declared here, where a chapter needs it first; the chapter on the operating point, which knows the plug, computes it.
wall_thrust = SUBJECT.result(
    "wall_thrust", "F_wall", "N", "thrust that the wall adds while the screw runs; below zero, what it takes"
)

_NUT = "the plug grips like a nut: it fills the thread, does not turn and moves a full pitch each turn"
_MEAN = "the force through the thread acts at half depth of the flight"
_FREE = "the wall holds the plug against turning, but takes none of its push: all of it presses on the melt"
_END = "the melt presses on the whole end of the screw as on the plug"

_NOT_JAMMED = (
    effective_friction * tan(helix_angle_mean) < 1,
    "so much friction on so steep a thread jams: no torque turns the screw in a plug that holds like a nut, and "
    "thrust and torques given here are void: take a smaller pitch or a smoother screw",
)

thread_mean_diameter = SUBJECT.equals(
    "thread_mean_diameter",
    "d_m",
    "mm",
    "diameter at half depth of the flight",
    (major_diameter + core_diameter) / 2,
    "Half depth of the flight",
    positive=True,
    source=_DEFINITION,
)
bore_section = SUBJECT.equals(
    "bore_section",
    "A",
    "mm**2",
    "section of the bore",
    pi * bore_diameter**2 / 4,
    "The section of the bore",
    positive=True,
    source=_DEFINITION,
)
end_factor = SUBJECT.equals(
    "end_factor",
    "kappa",
    "1",
    "thrust on the bearing over the force through the thread, plug pressing freely",
    bore_section * pitch / net_volume,
    "What the screw's own end adds to the thrust",
    source=_HERE,
    assumptions=(_FREE, _END),
)
normal_flank_angle = SUBJECT.equals(
    "normal_flank_angle",
    "alpha_n",
    "deg",
    "angle of the flank in the section square to the thread",
    atan(tan(flank_half_angle) * cos(helix_angle_mean)),
    "The flank seen along the thread",
    source=_HERE,
)
SUBJECT.relation(
    "effective_friction", effective_friction, friction_screw / cos(normal_flank_angle),
    "The wedge of a sloping flank", source=_HERE,
    assumptions=("friction is proportional to the force square to the flank (Coulomb)",),
)  # fmt: skip
raise_arm = SUBJECT.equals(
    "raise_arm",
    "a_raise",
    "mm",
    "torque for each newton through the thread, screw pushing the plug ahead",
    thread_mean_diameter
    / 2
    * (tan(helix_angle_mean) + effective_friction)
    / (1 - effective_friction * tan(helix_angle_mean)),
    "The unrolled thread, pushed up",
    source=Source("shigley", "power screws; square thread and sloping flank"),
    assumptions=(_NUT, _MEAN),
    valid=(_NOT_JAMMED,),
)
lower_arm = SUBJECT.equals(
    "lower_arm",
    "a_lower",
    "mm",
    "torque for each newton through the thread, screw turning back under the load",
    thread_mean_diameter
    / 2
    * (effective_friction - tan(helix_angle_mean))
    / (1 + effective_friction * tan(helix_angle_mean)),
    "The unrolled thread, let down",
    source=Source("shigley", "power screws; square thread and sloping flank"),
    assumptions=(_NUT, _MEAN),
)
thrust_work_bound = SUBJECT.equals(
    "thrust_work_bound",
    "F_work",
    "N",
    "most a frictionless thread passes on at stall torque",
    2 * pi * stall_torque / pitch,
    "The work of one turn",
    short_id="work_bound",
    positive=True,
    source=_HERE,
    assumptions=(_NUT, "no friction anywhere"),
)
frictionless_thrust = SUBJECT.equals(
    "frictionless_thrust",
    "F_0",
    "N",
    "thrust at stall torque without friction, plug pressing freely",
    end_factor * thrust_work_bound,
    "The work bound with the screw's own end",
    short_id="frictionless",
    source=_HERE,
    assumptions=(_NUT, "no friction anywhere", _FREE, _END),
)
stall_thrust = SUBJECT.equals(
    "stall_thrust",
    "F_stall",
    "N",
    "thrust at stall torque with friction in thread and bearing: the case to design for",
    stall_torque / (raise_arm / end_factor + friction_collar * collar_diameter / 2),
    "Thrust of a power screw with friction and collar",
    short_id="with_friction",
    source=Source("shigley", "power screws; torque with collar, solved for the load"),
    assumptions=(_NUT, _MEAN, _FREE, _END),
    valid=(_NOT_JAMMED,),
    title="thrust at stall",
)
stall_pressure = SUBJECT.equals(
    "stall_pressure",
    "P_stall",
    "MPa",
    "pressure that a plug like a nut would make at stall torque",
    stall_thrust / bore_section,
    "The pressure that belongs to the stall thrust",
    source=_HERE,
    assumptions=(_NUT, _FREE, _END),
)
_LAME = Source("bhavikatti", "thick cylinders, Lame's equations")
_ELASTIC = "the tube is round and elastic, and full of the pressure at stall up to its thinnest place"
tube_hoop_stress = SUBJECT.equals(
    "tube_hoop_stress",
    "sigma_h",
    "MPa",
    "stress round the tube, at its bore, at stall",
    stall_pressure * (tube_outside_diameter**2 + bore_diameter**2) / (tube_outside_diameter**2 - bore_diameter**2),
    "A thick cylinder under pressure, round",
    source=_LAME,
    assumptions=(_ELASTIC,),
)
tube_axial_stress = SUBJECT.equals(
    "tube_axial_stress",
    "sigma_z",
    "MPa",
    "stress along the tube at stall",
    stall_pressure * bore_diameter**2 / (tube_outside_diameter**2 - bore_diameter**2),
    "The tube holds the block against the pressure",
    source=_HERE,
    assumptions=(_ELASTIC, "the block hangs on the tube"),
)


def _equivalent_stress(outside: Quantity) -> Expr:
    """Return the stress after von Mises at the bore of a tube of that outside diameter that also holds the block."""
    return sqrt(3) * stall_pressure * outside**2 / (outside**2 - bore_diameter**2)


tube_stress = SUBJECT.equals(
    "tube_stress",
    "sigma_t",
    "MPa",
    "equivalent stress of the tube at its bore, at stall",
    _equivalent_stress(tube_outside_diameter),
    "All three stresses after von Mises",
    source=_HERE,
    assumptions=(_ELASTIC,),
)
break_stress = SUBJECT.equals(
    "break_stress",
    "sigma_b",
    "MPa",
    "the same in the thermal break; nothing where there is none",
    Piecewise((_equivalent_stress(break_outside_diameter), break_length > 0), (Integer(0), True)),
    "The thinnest place",
    source=_HERE,
    assumptions=(_ELASTIC, "the break's wall carries alone, no shell about it"),
)
tube_stress_share = SUBJECT.equals(
    "tube_stress_share",
    "x_sigma_t",
    "1",
    "equivalent stress of tube or thermal break at stall, over what is left of the yield strength",
    largest(tube_stress / tube_yield_strength, break_stress / break_yield_strength) / hot_strength_share,
    "The worse of the two",
    source=_DEFINITION,
    title="stress of the tube at stall",
)
_STRIPPING = Source("bhandari", "power screws: transverse shear of the threads of screw and nut, half a pitch thick")
_SHARED = "all turns in engagement share the force: where one yields the next take over"
_HALF = "a tooth shears off over half a pitch: more on the basic profile, about that much with play"
_METRIC = "the nozzle's thread is a metric one of 60 degrees"
block_minor_diameter = SUBJECT.equals(
    "block_minor_diameter",
    "D_1",
    "mm",
    "narrowest diameter of the block's thread",
    nozzle_thread_diameter - 5 * sqrt(3) / 8 * nozzle_thread_pitch,
    "The crests of the block's thread",
    source=Source("iso724", "basic profile of metric threads: five eighths of the triangle deep"),
    assumptions=(_METRIC,),
)
nozzle_root_diameter = SUBJECT.equals(
    "nozzle_root_diameter",
    "d_3",
    "mm",
    "diameter of the nozzle at the root of its thread",
    nozzle_thread_diameter - 17 * sqrt(3) / 24 * nozzle_thread_pitch,
    "The roots of the nozzle's thread",
    source=Source("din13", "core of a screw's thread: seventeen twenty-fourths of the triangle deep"),
    assumptions=(_METRIC,),
)
_WALL_LEFT = (
    melt_bore_diameter < nozzle_root_diameter,
    "the bore of the nozzle leaves no wall inside its thread: take a larger thread, a finer pitch or a narrower bore",
)
_FEW_TURNS = (
    2 * nozzle_thread_length <= 3 * nozzle_thread_diameter,
    "turns further in than one and a half diameters carry next to nothing: count no more than that as engaged",
)
nozzle_push = SUBJECT.equals(
    "nozzle_push",
    "F_push",
    "N",
    "force of the melt on the nozzle at stall",
    stall_pressure * pi * nozzle_thread_diameter**2 / 4,
    "The pressure on all that the thread encloses",
    source=_HERE,
    assumptions=("melt creeps past the seat into the thread, and no further than its outside",),
)
nozzle_preload = SUBJECT.equals(
    "nozzle_preload",
    "F_tight",
    "N",
    "force that tightening leaves in the nozzle's thread",
    nozzle_tightening_torque / (nozzle_nut_factor * nozzle_thread_diameter),
    "What tightening puts into the thread",
    nonnegative=True,
    source=Source("shigley", "bolt torque: T = K F d"),
    assumptions=("one number stands for all friction while the nozzle is tightened",),
)
nozzle_thread_force = SUBJECT.equals(
    "nozzle_thread_force",
    "F_N",
    "N",
    "force on the nozzle's thread at stall, with what tightening left in it",
    nozzle_push + nozzle_preload,
    "Pressure and tightening together",
    source=_HERE,
    assumptions=("the seat gives nothing back: more than the thread really bears, so on the safe side",),
)
nozzle_thread_stress = SUBJECT.equals(
    "nozzle_thread_stress",
    "tau_N",
    "MPa",
    "shear stress at the root of the nozzle's thread, at stall",
    2 * nozzle_thread_force / (pi * block_minor_diameter * nozzle_thread_length),
    "The nozzle's thread sheared off by the crests of the block's",
    source=_STRIPPING,
    assumptions=(_SHARED, _HALF),
    valid=(_FEW_TURNS,),
)
block_thread_stress = SUBJECT.equals(
    "block_thread_stress",
    "tau_B",
    "MPa",
    "shear stress at the root of the block's thread, at stall",
    2 * nozzle_thread_force / (pi * nozzle_thread_diameter * nozzle_thread_length),
    "The block's thread sheared off by the crests of the nozzle's",
    source=_STRIPPING,
    assumptions=(_SHARED, _HALF),
    valid=(_FEW_TURNS,),
)
SHEAR = "a metal yields in shear at its yield strength over the root of three (von Mises)"
nozzle_thread_share = SUBJECT.equals(
    "nozzle_thread_share",
    "x_tau_N",
    "1",
    "shear stress of the nozzle's thread at stall, over what is left of its shear strength",
    sqrt(3) * nozzle_thread_stress / (nozzle_strength_share * nozzle_yield_strength),
    "How near the nozzle's thread is to yielding",
    source=_HERE,
    assumptions=(SHEAR,),
)
block_thread_share = SUBJECT.equals(
    "block_thread_share",
    "x_tau_B",
    "1",
    "shear stress of the block's thread at stall, over what is left of its shear strength",
    sqrt(3) * block_thread_stress / (block_strength_share * block_yield_strength),
    "How near the block's thread is to yielding",
    source=_HERE,
    assumptions=(SHEAR,),
    title="stress of the block's thread at stall",
)
_IN_THE_WALL = nozzle_preload / (pi * (nozzle_root_diameter**2 - melt_bore_diameter**2) / 4)
_TWIST = 16 * nozzle_tightening_torque * nozzle_root_diameter / (pi * (nozzle_root_diameter**4 - melt_bore_diameter**4))
nozzle_wall_share = SUBJECT.equals(
    "nozzle_wall_share",
    "x_wall",
    "1",
    "equivalent stress of the nozzle's wall as it is tightened hot, over what is left of its yield strength",
    Piecewise(
        (
            largest(sqrt(3) * _TWIST, sqrt(_IN_THE_WALL**2 + 3 * (_TWIST / 2) ** 2))
            / (nozzle_strength_share * nozzle_yield_strength),
            _WALL_LEFT[0],
        ),
        (oo, True),
    ),
    "Tightening twists and presses the wall inside the thread",
    source=_HERE,
    assumptions=(
        "the seat is at the nozzle's inner end: next to the wrench the whole torque twists, and no force acts",
        "half of the tightening torque is friction in the thread, the other half passes on to the seat",
        "the wall is as thick as at the root of the thread all along",
    ),
    valid=(_WALL_LEFT,),
    title="stress of the nozzle's wall as it is tightened",
)
thread_stress_share = SUBJECT.equals(
    "thread_stress_share",
    "x_tau",
    "1",
    "shear stress of the nozzle's thread or of the block's at stall, over what is left of the shear strength",
    largest(nozzle_thread_share, block_thread_share),
    "The weaker of the two threads",
    source=_DEFINITION,
    title="stress of the nozzle's thread at stall",
)
pressure_thrust = SUBJECT.equals(
    "pressure_thrust",
    "F_P",
    "N",
    "thrust of the pressure on the section of the bore",
    nozzle_pressure * bore_section,
    "Pressure on the section of the bore",
    positive=True,
    source=_HERE,
    assumptions=("the pressure of the melt acts on plug and screw alike", "drag of the plug on the wall is left out"),
    title="thrust of the pressure",
)
running_thrust = SUBJECT.equals(
    "running_thrust",
    "F_run",
    "N",
    "thrust on the bearing while the screw runs",
    pressure_thrust + wall_thrust,
    "The pressure on the bore, and what the wall holds back",
    short_id="at_work",
    source=_HERE,
    assumptions=("the pressure of the melt acts on plug and screw alike",),
)
running_thrust_bound = SUBJECT.equals(
    "running_thrust_bound",
    "F_run_max",
    "N",
    "bound of the running thrust, with all drag of the plug on the wall",
    2 * pi * running_torque / pitch + nozzle_pressure * (bore_section - net_volume / pitch),
    "The running thrust with all drag on the wall",
    source=_HERE,
    assumptions=(_NUT, "no friction on the screw", _END),
    valid=(
        (
            nozzle_pressure * net_volume < 2 * pi * running_torque,
            "the running torque is too small for a plug that presses like a nut against this pressure: either the melt "
            "moves less than the full room of a turn, or torque or pressure are not those of one and the same run",
        ),
    ),
    title="bound of the running thrust",
)
design_thrust = SUBJECT.equals(
    "design_thrust",
    "F_design",
    "N",
    "larger of running and stall thrust: what bearing and plate must take",
    largest(running_thrust, stall_thrust),
    "The larger of the two cases",
    source=_DEFINITION,
)
raise_torque = SUBJECT.equals(
    "raise_torque",
    "T_raise",
    "N*m",
    "torque that a plug like a nut needs to press against the pressure",
    pressure_thrust * (raise_arm / end_factor + friction_collar * collar_diameter / 2),
    "Torque of a power screw that pushes its load",
    source=Source("shigley", "power screws; raising torque with collar"),
    assumptions=(_NUT, _MEAN, _FREE, _END),
    valid=(_NOT_JAMMED,),
)
lower_torque = SUBJECT.equals(
    "lower_torque",
    "T_lower",
    "N*m",
    "torque to turn the screw back under the pressure; below zero it slips back",
    pressure_thrust * (lower_arm / end_factor + friction_collar * collar_diameter / 2),
    "Torque of a power screw that lets its load down",
    source=Source("shigley", "power screws; lowering torque with collar"),
    assumptions=(_NUT, _MEAN, _FREE, _END),
)
nut_torque_share = SUBJECT.equals(
    "nut_torque_share",
    "x_T",
    "percent",
    "share of the running torque that a plug like a nut would need",
    raise_torque / running_torque,
    "How much of the running torque the nut explains",
    source=_DEFINITION,
    valid=(
        (
            raise_torque <= running_torque,
            "a plug like a nut would need more torque for this pressure than the screw has: the melt is pumped, or "
            "torque or pressure are not those of one and the same run",
        ),
    ),
)
thread_efficiency = SUBJECT.equals(
    "thread_efficiency",
    "eta_thread",
    "percent",
    "share of the work that gets through the thread",
    pitch / (2 * pi * raise_arm),
    "Work out over work in, thread alone",
    source=Source("shigley", "power screws; efficiency"),
    assumptions=(_NUT, _MEAN),
    valid=(_NOT_JAMMED,),
)
pressing_efficiency = SUBJECT.equals(
    "pressing_efficiency",
    "eta_press",
    "percent",
    "share of the work that gets through thread and bearing",
    pressure_thrust / end_factor * pitch / (2 * pi * raise_torque),
    "Work out over work in, with the bearing",
    source=Source("shigley", "power screws; efficiency"),
    assumptions=(_NUT, _MEAN),
    valid=(_NOT_JAMMED,),
)
locking_friction = SUBJECT.equals(
    "locking_friction",
    "mu_lock",
    "1",
    "friction above which pressure cannot turn the screw back",
    tan(helix_angle_mean) * cos(normal_flank_angle),
    "The friction that holds the screw",
    positive=True,
    source=Source("shigley", "power screws; condition for self-locking"),
    assumptions=(_NUT, _MEAN, "friction of the bearing is left out"),
)

SUBJECT.margin(
    "tube_stress_share",
    tube_stress_share,
    good=0.5,
    limit=1.0,
    why="a tube that yields at stall lets molten plastic out under pressure, and the block comes off",
    advice="take a thicker wall or a stronger material, or limit the current of the motor; a ring that is no metal "
    "belongs inside a metal shell that carries alone",
    source=Source("judgement", "half of the yield strength"),
)
SUBJECT.margin(
    "thread_stress_share",
    thread_stress_share,
    good=0.5,
    limit=1.0,
    why="a nozzle whose thread strips at stall shoots out, and molten plastic after it",
    advice="limit the current of the motor; engage more turns of the thread; take a stronger metal for nozzle or "
    "block, whichever has the weaker thread; tighten no harder than the maker says",
    source=Source("judgement", "half of the yield strength, since the first turns bear more than their part"),
)
SUBJECT.margin(
    "nozzle_wall_share",
    nozzle_wall_share,
    good=0.8,
    limit=1.0,
    why="a nozzle tightened beyond this gives way at its thread and twists off, and its stump stays in the block",
    advice="tighten with less torque, and no harder than the maker says; take a nozzle with a narrower bore inside its "
    "thread, with a larger thread, or of a stronger metal",
    source=Source("judgement", "screws are tightened to seven to nine tenths of their yield strength in practice"),
)
