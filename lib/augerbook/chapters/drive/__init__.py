"""The drive: what torque a stepper with its gear has left at speed, how warm it gets, and how it counts out plastic.

The motor is a two-phase synchronous machine whose currents are given: a driver holds their amplitude as long as its
voltage suffices. In axes that turn with the rotor, current and voltage are vectors, and what is possible lies within
two circles.
"""

from __future__ import annotations

from sympy import Abs, Piecewise, Rational, log, oo, pi, sin, sqrt

from augerbook.chapters.drive import models
from augerbook.chapters.heat import softened_length
from augerbook.chapters.operating import (
    TORQUE_GOOD,
    TORQUE_LIMIT,
    TORQUE_PRACTICE,
    needed_torque,
    operating_speed,
    turn_at_work,
)
from augerbook.chapters.ripple import line_section
from augerbook.chapters.thrust import SHEAR, design_thrust, stall_thrust
from augerbook.core.extremes import largest, smallest
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.drive import (
    BEARING,
    GEAR,
    balance_error,
    case_gear_resistance,
    commanded_volume,
    coupled_diameter,
    coupling_push,
    coupling_side_force,
    density_error,
    duty_share,
    gear_axial_limit,
    gear_backlash,
    gear_efficiency,
    gear_permissible_torque,
    gear_plate_resistance,
    gear_radial_limit,
    gear_ratio,
    holding_torque,
    microsteps,
    motor_film,
    motor_length,
    motor_side,
    phase_inductance,
    phase_resistance,
    rated_current,
    rotor_teeth,
    set_current,
    setscrew_count,
    setscrew_force,
    stall_torque,
    start_stop_volume,
    steps_setting,
    supply_voltage,
    thrust_taken_by,
    weighed_runs,
    winding_resistance,
)
from augerbook.head.feedstock import solid_density
from augerbook.head.heating import drive_temperature, heated_length, room_temperature
from augerbook.head.plastic import solid_shear_strength
from augerbook.head.printing import retraction_speed
from augerbook.head.screw import (
    core_diameter,
    flighted_length,
    major_diameter,
    screw_poisson_ratio,
    screw_yield_strength,
    screw_youngs_modulus,
    shank_length,
)
from augerbook.head.trials import balance_reading
from augerbook.head.tube import tube_length

SUBJECT = Subject(
    "drive",
    number=15,
    title="Motor, gear and the torque that is left",
    question="Has the motor with its gear the torque that the screw needs, and does it stay cool enough to touch?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_JUDGED = Source("judgement")

_SINE = "currents and back voltage are sines; the rotor's magnet gives the same flux to both phases"
_LINEAR = "iron does not saturate, turns without loss, and the inductance does not depend on where the rotor stands"
_HELD = "the driver holds the amplitude of the current as long as its voltage suffices, and finds the best angle then"
_STEADY = "temperatures have settled, as they do within an hour or two"
_COPPER_ONLY = "all that heats the motor is the current in its copper; losses in the iron are left out"
_BOTH_FULL = (
    "the motor rests where sine and cosine are alike, so that the supply may press all of its voltage through both "
    "phases: the worst place, on the warm side"
)
_ONE_FULL = (
    "the motor rests where one phase has all of the current: the weakest place, if the supply cannot press all of it "
    "through a phase"
)
_STRONGEST = (
    "the motor stalls where sine and cosine are alike, so that the supply may press all of its voltage through both "
    "phases: the strongest place"
)
_COLD_START = (
    "the copper is at 20 °C, as at a cold start; each ten kelvins less let a weak supply press 4 per cent more"
)
_POINTS = "winding, case and gear have one temperature each"
#: How many times as much as at 20 °C copper resists at 180 °C, class H, the warmest of common insulations (common
#: practice).
_BURNT = Rational(163, 100)

# --- the motor as a machine

step_angle = SUBJECT.equals(
    "step_angle",
    "alpha_s",
    "deg",
    "angle of a full step",
    pi / (2 * rotor_teeth),
    "A quarter of a tooth's turn",
    positive=True,
    source=Source("kosow", "Example 11.3"),
)
flux_linkage = SUBJECT.equals(
    "flux_linkage",
    "psi",
    "mWb",
    "largest flux that the rotor's magnet sends through the turns of a phase",
    holding_torque / (sqrt(2) * rotor_teeth * rated_current),
    "Flux from the holding torque of the data sheet",
    positive=True,
    source=_HERE,
    assumptions=(_SINE, _LINEAR),
)
motor_speed = SUBJECT.equals(
    "motor_speed",
    "n_m",
    "1/min",
    "turning speed of the motor",
    gear_ratio * operating_speed,
    "The screw's speed, geared up",
    source=_DEFINITION,
)
electrical_speed = SUBJECT.equals(
    "electrical_speed",
    "omega",
    "1/s",
    "angular frequency of the current",
    2 * pi * rotor_teeth * motor_speed,
    "A full swing of the current for each tooth",
    source=_DEFINITION,
)
back_voltage = SUBJECT.equals(
    "back_voltage",
    "E_b",
    "V",
    "amplitude of the voltage that the turning magnet makes in a phase",
    electrical_speed * flux_linkage,
    "The flux, as fast as it changes",
    source=_HERE,
    assumptions=(_SINE,),
)

# --- heat

copper_rise = SUBJECT.result(
    "copper_rise", "alpha_Cu", "1/K", "rise of copper's resistance for each kelvin", positive=True
)
copper_temperature = SUBJECT.result("copper_temperature", "T_Cu", "degC", "temperature from which that rise is counted")
SUBJECT.model(
    "copper", (), (copper_rise, copper_temperature), models.copper, "What the standard says of copper",
    source=Source("iec60028", "resistance at 20 degrees, and how it rises"),
)  # fmt: skip
case_surface = SUBJECT.equals(
    "case_surface",
    "A_mot",
    "mm**2",
    "surface of the motor's case that air can reach: four sides and the far end",
    4 * motor_side * motor_length + motor_side**2,
    "Four sides and an end",
    positive=True,
    source=_DEFINITION,
)
case_air_resistance = SUBJECT.equals(
    "case_air_resistance",
    "R_ca",
    "K/W",
    "kelvins between case and air for each watt",
    1 / (motor_film * case_surface),
    "What the air takes up",
    positive=True,
    source=_HERE,
)
gear_path_resistance = SUBJECT.equals(
    "gear_path_resistance",
    "R_path",
    "K/W",
    "kelvins between case and room for each watt that goes by way of the gear",
    case_gear_resistance + gear_plate_resistance,
    "One after the other",
    positive=True,
    source=_HERE,
)
case_resistance = SUBJECT.equals(
    "case_resistance",
    "R_case",
    "K/W",
    "kelvins between case and room for each watt, by both ways",
    1 / (1 / case_air_resistance + 1 / gear_path_resistance),
    "Two ways side by side",
    positive=True,
    source=_HERE,
)
shared_resistance = SUBJECT.equals(
    "shared_resistance",
    "R_sh",
    "K/W",
    "kelvins by which a watt in the motor warms the gear, and a watt in the gear the motor",
    case_resistance * gear_plate_resistance / gear_path_resistance,
    "What one warms the other",
    positive=True,
    source=_HERE,
    assumptions=(_POINTS,),
)
cold_loss = SUBJECT.equals(
    "cold_loss",
    "P_20",
    "W",
    "heat that the current makes in both phases while the copper is cold",
    duty_share * set_current**2 * phase_resistance,
    "Sine and cosine together",
    positive=True,
    source=_HERE,
    assumptions=(_COPPER_ONLY,),
)
gear_loss = SUBJECT.equals(
    "gear_loss",
    "P_g",
    "W",
    "heat that the gear makes at work",
    2 * pi * operating_speed * needed_torque * (1 / gear_efficiency - 1),
    "What goes in, less what comes out",
    nonnegative=True,
    source=_HERE,
)
runaway_share = SUBJECT.result(
    "runaway_share",
    "x_hot",
    "1",
    "how near the winding is to heating itself without end: at 1 it does",
    positive=True,
)
SUBJECT.relation(
    "runaway_share", runaway_share, copper_rise * cold_loss * (winding_resistance + case_resistance),
    "Heat that a kelvin adds, over heat that a kelvin takes away", source=_HERE,
    assumptions=(_STEADY, _COPPER_ONLY),
)  # fmt: skip
held_temperature = SUBJECT.equals(
    "held_temperature",
    "T_I",
    "degC",
    "temperature of the winding at work if the set current flows whatever the supply; unlimited where it feeds itself",
    Piecewise(
        (
            copper_temperature
            + (
                room_temperature
                - copper_temperature
                + shared_resistance * gear_loss
                + (winding_resistance + case_resistance) * cold_loss
            )
            / (1 - runaway_share),
            runaway_share < 1,
        ),
        (oo, True),
    ),
    "Where the heat that is made is the heat that is taken away",
    source=_HERE,
    assumptions=(_STEADY, _COPPER_ONLY, _POINTS),
)
supply_loss = SUBJECT.equals(
    "supply_loss",
    "P_V",
    "W",
    "heat that the whole supply would make in both phases while the copper is cold",
    2 * duty_share * supply_voltage**2 / phase_resistance,
    "All of the voltage across each phase",
    positive=True,
    source=_HERE,
    assumptions=(_BOTH_FULL,),
)
_UNHEATED = 1 + copper_rise * (room_temperature - copper_temperature + shared_resistance * gear_loss)
supply_temperature = SUBJECT.equals(
    "supply_temperature",
    "T_V",
    "degC",
    "temperature of the winding at work if the supply alone limits the current",
    copper_temperature
    + (
        (_UNHEATED + sqrt(_UNHEATED**2 + 4 * copper_rise * (winding_resistance + case_resistance) * supply_loss)) / 2
        - 1
    )
    / copper_rise,
    "The same for a heat that falls as the copper resists more",
    source=_HERE,
    assumptions=(_STEADY, _COPPER_ONLY, _POINTS, _BOTH_FULL),
)
winding_temperature = SUBJECT.equals(
    "winding_temperature",
    "T_w",
    "degC",
    "temperature of the motor's winding at work",
    smallest(held_temperature, supply_temperature),
    "No warmer than set current and supply both allow",
    source=_HERE,
    assumptions=(_STEADY, _COPPER_ONLY, _POINTS, _BOTH_FULL),
)
hot_resistance = SUBJECT.equals(
    "hot_resistance",
    "R_hot",
    "ohm",
    "resistance of a phase at work",
    phase_resistance * (1 + copper_rise * (winding_temperature - copper_temperature)),
    "Hot copper resists more",
    nonnegative=True,
    source=Source("iec60028", "resistance at 20 degrees, and how it rises"),
)
motor_loss = SUBJECT.equals(
    "motor_loss",
    "P_m",
    "W",
    "heat that the current makes in the motor at work",
    duty_share * smallest(set_current, sqrt(2) * supply_voltage / hot_resistance) ** 2 * hot_resistance,
    "Sine and cosine together, in hot copper, as far as the supply brings them",
    nonnegative=True,
    source=_HERE,
    assumptions=(_COPPER_ONLY, _BOTH_FULL),
    hazards=(
        (
            hot_resistance < _BURNT * phase_resistance,
            "the winding comes to more than 180 °C, the most that the varnish of any common motor is made for: it "
            "burns. Turn the current down before anything else",
        ),
    ),
)
case_temperature = SUBJECT.equals(
    "case_temperature",
    "T_c",
    "degC",
    "temperature of the motor's case at work",
    room_temperature + case_resistance * motor_loss + shared_resistance * gear_loss,
    "What both sources warm the case by",
    source=_HERE,
    assumptions=(_STEADY, _POINTS),
)
gear_temperature = SUBJECT.equals(
    "gear_temperature",
    "T_g",
    "degC",
    "temperature of gear and bearing at work",
    room_temperature
    + shared_resistance * motor_loss
    + gear_loss / (1 / gear_plate_resistance + 1 / (case_gear_resistance + case_air_resistance)),
    "What both sources warm the gear by",
    source=_HERE,
    assumptions=(_STEADY, _POINTS, "the screw's shank brings next to no heat"),
    title="temperature of bearing and gear that the motor makes",
)
case_air_heat = SUBJECT.equals(
    "case_air_heat",
    "q_ca",
    "W",
    "heat that the motor's case gives to the air",
    (case_temperature - room_temperature) / case_air_resistance,
    "Kelvins over kelvins for each watt",
    source=_DEFINITION,
)
case_gear_heat = SUBJECT.equals(
    "case_gear_heat",
    "q_cg",
    "W",
    "heat that flows from the motor's case into the gear",
    (case_temperature - gear_temperature) / case_gear_resistance,
    "Kelvins over kelvins for each watt",
    source=_DEFINITION,
)
gear_plate_heat = SUBJECT.equals(
    "gear_plate_heat",
    "q_gp",
    "W",
    "heat that flows from the gear into plate, frame and air",
    (gear_temperature - room_temperature) / gear_plate_resistance,
    "Kelvins over kelvins for each watt",
    source=_DEFINITION,
)
_SHEET_RISE = 2 * rated_current**2 * phase_resistance * (winding_resistance + case_resistance)
rated_rise = SUBJECT.equals(
    "rated_rise",
    "Delta_T_r",
    "delta_degC",
    "rise of the winding in a room of 20 °C with both phases at rated current all the time, mounted as here",
    Piecewise((_SHEET_RISE / (1 - copper_rise * _SHEET_RISE), copper_rise * _SHEET_RISE < 1)),
    "The test behind a data sheet's rated current",
    source=_HERE,
    assumptions=(_STEADY, _COPPER_ONLY, _POINTS),
)

# --- torque at speed

reactance = SUBJECT.equals(
    "reactance",
    "X",
    "ohm",
    "what the inductance sets against the current",
    electrical_speed * phase_inductance,
    "Inductance, as fast as the current changes",
    source=_DEFINITION,
)
impedance = SUBJECT.equals(
    "impedance",
    "Z",
    "ohm",
    "voltage that a unit of current takes in a phase",
    sqrt(hot_resistance**2 + reactance**2),
    "Resistance and inductance, square to each other",
    nonnegative=True,
    source=_HERE,
)
voltage_current = SUBJECT.equals(
    "voltage_current",
    "i_V",
    "A",
    "largest current square to the magnet that the voltage alone would allow",
    supply_voltage / impedance - back_voltage * hot_resistance / impedance**2,
    "The top of the circle of the voltage",
    source=Source("acarnley", "pull-out torque of a hybrid motor fed with sines, from memory"),
    assumptions=(_SINE, _LINEAR),
)
#: How far the two circles' crossings lie from the middle of the circle of the current, along the line of both middles.
_ALONG = (set_current**2 - (supply_voltage**2 - back_voltage**2) / impedance**2) * impedance / (2 * back_voltage)
shared_current = SUBJECT.equals(
    "shared_current",
    "i_VI",
    "A",
    "current square to the magnet where both circles cross",
    (reactance * sqrt(largest(0, set_current**2 - _ALONG**2)) - hot_resistance * _ALONG) / impedance,
    "Where both circles cross",
    source=_HERE,
    assumptions=(_SINE, _LINEAR),
)
_CURRENT_ALONE = (reactance * set_current) ** 2 + (
    hot_resistance * set_current + back_voltage
) ** 2 <= supply_voltage**2
_VOLTAGE_ALONE = voltage_current**2 + (back_voltage * reactance / impedance**2) ** 2 <= set_current**2
pull_out_current = SUBJECT.equals(
    "pull_out_current",
    "i_po",
    "A",
    "largest current square to the magnet that driver and supply allow at this speed",
    Piecewise(
        (set_current, _CURRENT_ALONE), (largest(0, voltage_current), _VOLTAGE_ALONE), (largest(0, shared_current), True)
    ),
    "The highest point within both circles",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SINE, _LINEAR, _HELD),
)
pull_out_torque = SUBJECT.equals(
    "pull_out_torque",
    "T_po",
    "N*m",
    "torque at which the motor loses its steps, at this speed",
    rotor_teeth * flux_linkage * pull_out_current,
    "Flux times current, for each tooth",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SINE, _LINEAR, _HELD),
)
corner_speed = SUBJECT.equals(
    "corner_speed",
    "n_c",
    "1/min",
    "motor speed up to which the torque stays as it is at a standstill",
    largest(0, supply_voltage**2 - (hot_resistance * set_current) ** 2)
    / (
        2
        * pi
        * rotor_teeth
        * (
            hot_resistance * set_current * flux_linkage
            + sqrt(
                (hot_resistance * set_current * flux_linkage) ** 2
                + (flux_linkage**2 + (phase_inductance * set_current) ** 2)
                * largest(0, supply_voltage**2 - (hot_resistance * set_current) ** 2)
            )
        )
    ),
    "Where the voltage is used up",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SINE, _LINEAR, _HELD),
)
reverse_share = SUBJECT.result(
    "reverse_share",
    "x_rev",
    "1",
    "speed of the motor while it turns the screw back, over the corner speed",
    title="motor turning back over its corner speed",
)
SUBJECT.relation(
    "reverse_share", reverse_share, gear_ratio * retraction_speed / corner_speed,
    "The screw's speed backwards, geared up, over the corner", source=_DEFINITION,
    valid=((
        reverse_share <= 1,
        "turning the screw back the motor runs beyond its corner speed, where its torque falls: it may skip, and then "
        "takes back less than it is told. Turn back more slowly, take more voltage or a smaller gear ratio",
    ),),
)  # fmt: skip
standstill_torque = SUBJECT.equals(
    "standstill_torque",
    "T_0",
    "N*m",
    "torque at which the motor loses its steps when it hardly turns",
    rotor_teeth * flux_linkage * smallest(set_current, supply_voltage / hot_resistance),
    "The same without speed",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SINE, _LINEAR, _HELD, _ONE_FULL),
)
strongest_torque = SUBJECT.equals(
    "strongest_torque",
    "T_full",
    "N*m",
    "most torque that the motor makes at a standstill, its copper cold",
    rotor_teeth * flux_linkage * smallest(set_current, sqrt(2) * supply_voltage / phase_resistance),
    "The same with both coils full",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SINE, _LINEAR, _HELD, _STRONGEST, _COLD_START),
)

# --- behind the gear

available_torque = SUBJECT.equals(
    "available_torque",
    "T_av",
    "N*m",
    "most that motor and gear bring to the screw at the speed of work",
    pull_out_torque * gear_ratio * gear_efficiency,
    "The motor's torque, geared down",
    nonnegative=True,
    source=_DEFINITION,
    assumptions=("the gear passes on the same share at every load and speed",),
)
drive_share = SUBJECT.equals(
    "drive_share",
    "x_av",
    "1",
    "torque that the screw needs, over what motor and gear bring at that speed",
    needed_torque / available_torque,
    "What is needed, over what there is",
    source=_DEFINITION,
    title="torque needed over torque of the drive",
    nonnegative=True,
)
motor_stall_torque = SUBJECT.equals(
    "motor_stall_torque",
    "T_st",
    "N*m",
    "torque at the screw when the motor stalls, from the motor's data",
    strongest_torque * gear_ratio * gear_efficiency,
    "The most that the motor makes at a standstill, geared down",
    nonnegative=True,
    source=_DEFINITION,
    assumptions=("the gear passes on the same share at every load and speed",),
    title="torque at the screw at stall, from the motor's data",
)
gear_torque_share = SUBJECT.equals(
    "gear_torque_share",
    "x_g",
    "1",
    "torque at stall over what the gear's maker permits",
    motor_stall_torque / gear_permissible_torque,
    "A stall, over what the gear bears",
    nonnegative=True,
    source=_DEFINITION,
    title="torque of the gear at stall",
)
_CORE = "the core alone carries; the flight neither helps nor notches it"
_THROAT = "at the throat the core has all of the torque and all of the thrust, and stays straight"
core_shear = SUBJECT.equals(
    "core_shear",
    "tau_core",
    "MPa",
    "shear stress at the surface of the screw's core when the motor stalls",
    16 * motor_stall_torque / (pi * core_diameter**3),
    "Torsion of a round bar",
    nonnegative=True,
    source=_HERE,
    assumptions=(_CORE, "the core stays elastic"),
)
core_thrust = SUBJECT.equals(
    "core_thrust",
    "F_core",
    "N",
    "thrust along the screw's core when the motor stalls",
    stall_thrust * motor_stall_torque / stall_torque,
    "Thrust in proportion to torque",
    nonnegative=True,
    source=_HERE,
    assumptions=("thrust and torque at stall go together, also where a build gives another torque at stall",),
)
core_press = SUBJECT.equals(
    "core_press",
    "sigma_core",
    "MPa",
    "stress along the screw's core when the motor stalls",
    4 * core_thrust / (pi * core_diameter**2),
    "Thrust over the section of the core",
    nonnegative=True,
    source=_HERE,
    assumptions=(_CORE, _THROAT),
)
core_stress = SUBJECT.equals(
    "core_stress",
    "sigma_v",
    "MPa",
    "equivalent stress at the surface of the screw's core when the motor stalls",
    sqrt(core_press**2 + 3 * core_shear**2),
    "Thrust and torsion after von Mises",
    nonnegative=True,
    source=Source("shigley", "distortion energy: one normal stress and one shear stress"),
    assumptions=(_CORE, _THROAT),
)
core_stress_share = SUBJECT.equals(
    "core_stress_share",
    "x_core",
    "1",
    "equivalent stress of the screw's core at stall, over its yield strength",
    core_stress / screw_yield_strength,
    "How near the core is to yielding",
    nonnegative=True,
    source=_DEFINITION,
    title="stress of the screw's core at stall",
)
core_stall_torque = SUBJECT.equals(
    "core_stall_torque",
    "T_cs",
    "N*m",
    "torque of a stall from which on the screw's core yields, with the thrust that goes with it",
    pi
    * core_diameter**3
    * screw_yield_strength
    / (16 * sqrt(3 + (core_diameter * stall_thrust / (4 * stall_torque)) ** 2)),
    "The same, solved for the torque",
    positive=True,
    source=_HERE,
    assumptions=(_CORE, _THROAT),
)
core_torque = SUBJECT.equals(
    "core_torque",
    "T_core",
    "N*m",
    "torque that twists the screw's core for good by itself, without thrust",
    pi * core_diameter**3 * screw_yield_strength / (16 * sqrt(3)),
    "Torsion alone, solved for the torque",
    positive=True,
    source=_HERE,
    assumptions=(SHEAR, _CORE),
)
buckling_thrust = SUBJECT.equals(
    "buckling_thrust",
    "F_cr",
    "N",
    "thrust at which the screw's core bows out, held at bearing and block",
    pi**3 * screw_youngs_modulus * core_diameter**4 / (64 * (shank_length + tube_length) ** 2),
    "Euler's column, pinned at both ends",
    positive=True,
    source=Source("shigley", "long columns with central loading, Euler's formula"),
    assumptions=(_CORE, "both ends may tilt and stay in place", "the wall of the tube gives no support"),
)
buckling_share = SUBJECT.result(
    "buckling_share",
    "x_cr",
    "1",
    "thrust along the screw's core at stall, over that at which it bows out",
    nonnegative=True,
    title="buckling of the screw at stall",
)
SUBJECT.relation(
    "buckling_share", buckling_share, core_thrust / buckling_thrust, "Thrust over Euler's", source=_DEFINITION,
    valid=((
        buckling_share < 1,
        "at stall the screw bows out between bearing and block even if both hold its ends: it leans on the wall of "
        "the tube and scores it. Turn the current down, take a thicker core, or a shorter shank or tube",
    ),),
)  # fmt: skip
wind_up = SUBJECT.equals(
    "wind_up",
    "phi_w",
    "deg",
    "angle by which the screw is wound up when the motor stalls",
    64
    * motor_stall_torque
    * (shank_length + flighted_length)
    * (1 + screw_poisson_ratio)
    / (pi * core_diameter**4 * screw_youngs_modulus),
    "Twist of a round bar",
    nonnegative=True,
    source=_HERE,
    assumptions=(_CORE, "the whole torque acts at the far end: as far as it can be wound up"),
)
setscrew_torque = SUBJECT.equals(
    "setscrew_torque",
    "T_ss",
    "N*m",
    "torque at which the set screws of the coupling slip",
    setscrew_count * setscrew_force * coupled_diameter / 2,
    "Force times half the diameter, for each screw",
    positive=True,
    source=Source("shigley", "holding power of set screws, Table 7-4"),
    assumptions=("each set screw holds as much as one alone",),
)
setscrew_share = SUBJECT.equals(
    "setscrew_share",
    "x_ss",
    "1",
    "torque at stall over that at which the coupling slips on its shaft",
    motor_stall_torque / setscrew_torque,
    "A stall, over what the set screws hold",
    nonnegative=True,
    source=_DEFINITION,
    title="torque of the set screws at stall",
)
frozen_torque = SUBJECT.equals(
    "frozen_torque",
    "T_froz",
    "N*m",
    "torque that would shear the screw loose from solid plastic, cold",
    solid_shear_strength * pi * major_diameter**2 / 2 * (softened_length + heated_length),
    "Strength, times surface, times arm",
    nonnegative=True,
    source=_HERE,
    assumptions=("all that was soft at work has frozen to tube and screw, and shears over the tips of the flights",),
)
frozen_over_stall = SUBJECT.equals(
    "frozen_over_stall",
    "x_froz",
    "1",
    "torque that would shear a frozen screw loose, over that at stall",
    frozen_torque / motor_stall_torque,
    "Frozen over stalled",
    nonnegative=True,
    source=_DEFINITION,
)
frozen_over_core = SUBJECT.equals(
    "frozen_over_core",
    "x_fc",
    "1",
    "torque that would shear a frozen screw loose, over that which twists its core for good",
    frozen_torque / core_torque,
    "Frozen over twisted",
    nonnegative=True,
    source=_DEFINITION,
)

# --- the gear's output shaft

gear_thrust = SUBJECT.result("gear_thrust", "F_g", "N", "force along the gear's output shaft")
carried_thrust = SUBJECT.equals(
    "carried_thrust",
    "F_gt",
    "N",
    "force along the gear's output shaft if the gear takes the screw's thrust",
    design_thrust + coupling_push,
    "All of the thrust, and what mounting left",
    source=_HERE,
)
spared_thrust = SUBJECT.equals(
    "spared_thrust",
    "F_gb",
    "N",
    "force along the gear's output shaft if a bearing takes the screw's thrust",
    coupling_push,
    "What mounting left",
    source=_HERE,
    assumptions=("the coupling slides along its shaft, or gives: the bearing takes all of the thrust",),
)
SUBJECT.select(
    "gear_thrust", gear_thrust, thrust_taken_by, {BEARING: spared_thrust, GEAR: carried_thrust},
    "What takes the screw's thrust decides",
)  # fmt: skip
gear_axial_share = SUBJECT.equals(
    "gear_axial_share",
    "x_ax",
    "1",
    "force along the gear's output shaft, over what its maker permits",
    gear_thrust / gear_axial_limit,
    "A share of the permitted",
    nonnegative=True,
    source=_DEFINITION,
    title="axial load of the gear's shaft",
)
gear_radial_share = SUBJECT.result(
    "gear_radial_share",
    "x_rad",
    "1",
    "force across the gear's output shaft, over what its maker permits",
    nonnegative=True,
    title="radial load of the gear's shaft",
)
SUBJECT.relation(
    "gear_radial_share", gear_radial_share, coupling_side_force / gear_radial_limit,
    "A share of the permitted", source=_DEFINITION,
    valid=((
        gear_radial_share <= 1,
        "the coupling presses harder across the gear's shaft than its maker permits, and wears out its bearing: bring "
        "gear and screw into line, or take a coupling that gives",
    ),),
)  # fmt: skip

# --- counting out plastic

steps_per_turn = SUBJECT.equals(
    "steps_per_turn",
    "s_turn",
    "1",
    "microsteps for a turn of the screw",
    2 * pi / step_angle * microsteps * gear_ratio,
    "A full turn, in microsteps, geared down",
    positive=True,
    source=_DEFINITION,
    valid=(
        (
            Abs(sin(pi * log(microsteps) / log(2))) < Rational(1, 1000),
            "the number of microsteps is no power of two, which most drivers want (1, 2, 4, 8, 16, ...): look into "
            "the data sheet of the driver",
        ),
    ),
)
steps_per_volume = SUBJECT.equals(
    "steps_per_volume",
    "s_V",
    "1/mm**3",
    "microsteps for each volume of solid plastic at work",
    steps_per_turn / turn_at_work,
    "Microsteps of a turn over the plastic of a turn",
    source=_DEFINITION,
)
step_volume = SUBJECT.equals(
    "step_volume",
    "V_step",
    "nl",
    "plastic that a microstep moves ahead",
    1 / steps_per_volume,
    "The smallest portion",
    source=_DEFINITION,
)
step_line = SUBJECT.equals(
    "step_line",
    "l_step",
    "um",
    "length of printed line that a microstep fills",
    step_volume / line_section,
    "The smallest portion as a length of line",
    source=_HERE,
)
backlash_line = SUBJECT.equals(
    "backlash_line",
    "l_play",
    "mm",
    "length of printed line that the play of the gear swallows when the motor turns the other way",
    gear_backlash / (2 * pi) * turn_at_work / line_section,
    "The play as a share of a turn",
    source=_HERE,
)
microstep_torque = SUBJECT.equals(
    "microstep_torque",
    "T_inc",
    "N*m",
    "torque that a single microstep adds before the rotor moves",
    standstill_torque * sin(pi / (2 * microsteps)),
    "A microstep's part of the sine",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SINE,),
)
run_count = SUBJECT.result("run_count", "n_run", "1", "number of weighed runs", positive=True)
run_mean = SUBJECT.result("run_mean", "m_run", "g", "mean mass of a weighed run", digits=4, positive=True)
run_spread = SUBJECT.result(
    "run_spread", "s_run", "mg", "standard deviation of the mass of a single run", nonnegative=True
)
student_factor = SUBJECT.result(
    "student_factor", "t_95", "1", "Student's factor: bounds that are 95 % sure, over the standard uncertainty",
    positive=True,
)  # fmt: skip
effective_freedom = SUBJECT.result(
    "effective_freedom", "nu_eff", "1", "degrees of freedom of the whole uncertainty", positive=True
)
setting_runs = SUBJECT.result(
    "setting_runs",
    "n_set",
    "1",
    "runs like these that make the setting sure to one per cent; unlimited where no number does",
    positive=True,
    title="runs for a setting sure to one per cent",
)
least_bounds = SUBJECT.result(
    "least_bounds",
    "U_least",
    "percent",
    "how far the setting may be off after endlessly many such runs, 95 % sure",
    nonnegative=True,
    title="uncertainty that no run takes away",
)
SUBJECT.model(
    "weighed", (weighed_runs,), (run_count, run_mean, run_spread), models.weighed, "Mean and standard deviation",
    source=_DEFINITION,
)  # fmt: skip
SUBJECT.model(
    "student_factor", (effective_freedom,), (student_factor,), models.student_factor,
    "Student's law", source=Source("gum", "G.3, and Table G.2"),
    assumptions=("runs scatter like a normal law, one not knowing of the other",),
)  # fmt: skip
corrected_steps = SUBJECT.equals(
    "corrected_steps",
    "s_new",
    "1/mm**3",
    "microsteps for a volume that the weighing asks for",
    steps_setting * commanded_volume * solid_density / run_mean,
    "The setting, times commanded over delivered",
    positive=True,
    source=_HERE,
    digits=4,
)
_EVEN = "within its limits each error is as likely as any other"
_BALANCE = balance_error**2 / 3 + (balance_reading / 2) ** 2 / 3
mass_uncertainty = SUBJECT.equals(
    "mass_uncertainty",
    "u_m",
    "mg",
    "standard uncertainty of the mean mass of a run",
    sqrt(run_spread**2 / run_count + _BALANCE),
    "Scatter, balance and its display, added as squares",
    nonnegative=True,
    source=Source("gum", "4.2.3, 4.3.7, 5.1.2"),
    assumptions=(_EVEN,),
)
balance_doubt = SUBJECT.equals(
    "balance_doubt",
    "u_bal",
    "percent",
    "part of the balance and its display in the uncertainty of the setting, over the mass of a run",
    sqrt(_BALANCE) / run_mean,
    "Errors of the balance over the mass",
    nonnegative=True,
    source=Source("gum", "4.3.7, 5.1.6"),
    assumptions=(_EVEN, "the balance errs alike in all runs"),
)
density_doubt = SUBJECT.equals(
    "density_doubt",
    "u_rho",
    "percent",
    "part of the density in the uncertainty of the setting",
    density_error / sqrt(3),
    "An even spread within its limits",
    nonnegative=True,
    source=Source("gum", "4.3.7"),
    assumptions=(_EVEN,),
)
ooze_doubt = SUBJECT.equals(
    "ooze_doubt",
    "u_oz",
    "percent",
    "part of start and stop in the uncertainty of the setting, over the volume of a run",
    start_stop_volume / commanded_volume / sqrt(3),
    "An even spread within its limits, over a run",
    nonnegative=True,
    source=Source("gum", "4.3.7, 5.1.6"),
    assumptions=(_EVEN, "start and stop err alike in all runs"),
)
setting_floor = SUBJECT.equals(
    "setting_floor",
    "u_floor",
    "percent",
    "relative standard uncertainty of the setting that no number of runs takes away",
    sqrt(balance_doubt**2 + density_doubt**2 + ooze_doubt**2),
    "Balance, density, start and stop, added as squares",
    nonnegative=True,
    source=Source("gum", "5.1.6"),
)
setting_uncertainty = SUBJECT.equals(
    "setting_uncertainty",
    "u_s",
    "percent",
    "relative standard uncertainty of the corrected setting",
    sqrt((mass_uncertainty / run_mean) ** 2 + density_doubt**2 + ooze_doubt**2),
    "Mass, density and ooze, added as squares of shares",
    nonnegative=True,
    source=Source("gum", "5.1.6"),
    assumptions=(_EVEN,),
)
SUBJECT.relation(
    "effective_freedom", effective_freedom,
    models.freedom_of(run_count, setting_uncertainty, run_spread / run_mean),
    "A small number of runs matters less, the smaller their part of the whole",
    source=Source("gum", "G.4.1, Welch and Satterthwaite"),
    assumptions=("what is known of balance, density and ooze is known for certain: only the runs are few",),
)  # fmt: skip
SUBJECT.model(
    "setting_runs", (run_spread, run_mean, setting_floor), (setting_runs, least_bounds), models.setting_runs,
    "The least number of runs that suffices for the setting, and what is left after endlessly many",
    source=Source("gum", "6.2.1 and G.4, tried with more and more runs"),
    assumptions=("runs scatter like a normal law, one not knowing of the other",
                 "what is known of balance, density and ooze is known for certain: only the runs are few"),
)  # fmt: skip
setting_bounds = SUBJECT.equals(
    "setting_bounds",
    "U_s",
    "percent",
    "how far the corrected setting may be off, 95 % sure",
    student_factor * setting_uncertainty,
    "Student's factor times the standard uncertainty",
    nonnegative=True,
    source=Source("gum", "6.2.1 and G.4"),
    title="uncertainty of the weighed setting",
)

SUBJECT.finds(stall_torque, motor_stall_torque)
SUBJECT.finds(drive_temperature, gear_temperature)

SUBJECT.margin(
    "drive_share", drive_share, good=TORQUE_GOOD, limit=TORQUE_LIMIT,
    why="a motor that works near its pull-out torque loses steps as soon as a batch is a little stiffer, and every "
    "lost step is plastic that is missing in the line",
    advice="print more slowly; turn the current up as far as the motor stays cool, take a gear with a larger ratio, or "
    "a motor with a larger holding torque, only if gear, screw, bearing, plate, tube and nozzle bear what then comes "
    "at stall",
    source=TORQUE_PRACTICE,
)  # fmt: skip
SUBJECT.margin(
    "gear_torque_share", gear_torque_share, good=0.7, limit=1,
    why="a stall is not rare in a print head, and a small gear that is stalled beyond what its maker permits breaks "
    "its teeth or its pins",
    advice="turn the current down, or take a gear whose maker permits more",
    source=_JUDGED,
)  # fmt: skip
SUBJECT.margin(
    "core_stress_share", core_stress_share, good=0.5, limit=1,
    why="a core that yields stays twisted: the screw is shorter in its pitch, leans, and breaks at the next stalls",
    advice="turn the current down, take a screw with a thicker core, or one of a stronger metal",
    source=Source("judgement", "half of the yield strength"),
)  # fmt: skip
SUBJECT.margin(
    "setscrew_share", setscrew_share, good=0.25, limit=0.67,
    why="a set screw that slips scores its shaft, and from then on holds less each time",
    advice="take more set screws or larger ones, a shaft with a flat, or a clamp in their place",
    source=Source("shigley", "holding power of set screws: factor 1.5 to 2 at rest, 4 to 8 for changing loads"),
)  # fmt: skip
SUBJECT.margin(
    "winding_temperature", winding_temperature, good=100, limit=130,
    why="the varnish of class B is made for 130 °C; each ten kelvins more halve its life",
    advice="turn the current down, let it drop while the screw rests, blow air over the motor, or give it more metal "
    "to sit on",
    source=Source("common practice", "class B insulation, 130 °C, as data sheets of motors print it"),
)  # fmt: skip
SUBJECT.margin(
    "case_temperature", case_temperature, good=60, limit=80,
    why="bare metal burns the skin within a second or so above some 65 to 70 °C, and printed mounts soften from about "
    "60 °C on: the limit is for metal mounts that nobody touches; for a printed bracket, or where fingers come near, "
    "take 60 to 65 °C",
    advice="turn the current down, let it drop while the screw rests, blow air over the motor, or give it more metal "
    "to sit on",
    source=Source("judgement", "thresholds of ISO 13732-1 from memory"),
)  # fmt: skip
SUBJECT.margin(
    "gear_axial_share", gear_axial_share, good=0.5, limit=1,
    why="the bearing in a small gear is made for its own weight and a belt, not for a screw that pushes back",
    advice="let a thrust bearing on a plate take the thrust, let the coupling slide on its shaft, or take a gear "
    "whose maker permits more",
    source=_JUDGED,
)  # fmt: skip
SUBJECT.margin(
    "setting_bounds", setting_bounds, good=1, limit=3,
    why="a setting that is not known to a few per cent makes lines too wide or too thin, whatever else is right",
    advice="weigh more runs as long as their scatter is most of it; else make them longer, measure the density of "
    "the solid, or take a better balance",
    source=Source("judgement", "a line's width shows a few per cent"),
)  # fmt: skip
