"""Start and stop of a line: what is stored under pressure, how it runs out, and what the screw must take back.

Squeezed melt and bent springs store a volume; the nozzle lets it out when the motor stops, the slower the less is
left. Volumes here are hot melt, until they lie in the line.
"""

from __future__ import annotations

from sympy import Abs, Expr, Piecewise, Rational, exp, log, pi, sqrt

from augerbook.chapters.conveying import cold_length
from augerbook.chapters.heat import melt_flow, plastic_section
from augerbook.chapters.hopper import gravity
from augerbook.chapters.melt import NOZZLE_INPUTS, TIP_VOLUME, local_exponent
from augerbook.chapters.operating import operating_speed, plug_pressure, turn_at_work
from augerbook.chapters.plate import melt_springback, springback_volume
from augerbook.chapters.retraction import models
from augerbook.chapters.ripple import line_section, line_speed, spring_give
from augerbook.chapters.thrust import nozzle_pressure
from augerbook.core.distinct import each_once
from augerbook.core.extremes import largest, smallest
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.drive import gear_backlash
from augerbook.head.heating import heated_length
from augerbook.head.nozzle import land_length, melt_bore_length
from augerbook.head.plastic import melt_compressibility, melt_density
from augerbook.head.printing import (
    layer_height,
    print_acceleration,
    retraction_speed,
    retraction_volume,
    shortest_line,
    slow_speed,
    soft_give_share,
    take_back_share,
    travel_time,
    wanted_flow,
)
from augerbook.head.tube import tube_length

SUBJECT = Subject(
    "retraction",
    number=16,
    title="Start and stop of a line",
    question="The motor stops, and the nozzle does not: how long does it run on, and what must the screw take back?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")

#: A line counts as ended when its flow has fallen to this share, as begun when it lacks no more than this.
ENDED = Rational(str(models.ENDED))

_STILL = "the screw stands still, or brings what it shall, from one moment to the next"
_POWER = "the nozzle keeps the exponent that it has at work while the flow falls"
_WARM = "temperatures stay as they are at work"
_PLAY_LAST = (
    "play and wall's hold close when the pressure is gone, and the backlash takes no time: if they come first, the "
    "nozzle flows on meanwhile and more runs out"
)
_SHARE_KEPT = "a turn back takes back a fixed share of what a turn at work brings"
_ALL_BACK = "an upper bound: nothing runs out meanwhile, and the screw falls through all of its play"

soft_stored = SUBJECT.equals(
    "soft_stored",
    "V_soft",
    "mm**3",
    "what the softened plastic in the tube gives back at a stop",
    soft_give_share
    * melt_compressibility
    * plastic_section
    * (tube_length - cold_length)
    * (plug_pressure + nozzle_pressure)
    / 2,
    "Squeezed like melt, at the mean of the pressures at its ends",
    nonnegative=True,
    source=_HERE,
    assumptions=(
        "the pressure runs straight from the plug's end to the nozzle",
        "how much of it comes forward in time is a judgement: the share that is given",
    ),
)
sprung_volume = SUBJECT.equals(
    "sprung_volume",
    "V_bent",
    "mm**3",
    "what the springs of the head give back while the pressure at the nozzle falls to nothing",
    spring_give * nozzle_pressure,
    "What the bending head gave way under the pressure",
    source=_HERE,
    assumptions=("the wall's hold and the play come free only when the screw turns back",),
)
stored_volume = SUBJECT.equals(
    "stored_volume",
    "V_s",
    "mm**3",
    "melt that runs out after the motor has stopped, if nothing is taken back",
    melt_springback + soft_stored + sprung_volume,
    "Melt, softened plastic and springs together",
    source=_HERE,
)
turn_melt = SUBJECT.equals(
    "turn_melt",
    "V_hot",
    "mm**3",
    "hot melt for each turn at work",
    melt_flow / operating_speed,
    "Flow over speed",
    source=_DEFINITION,
)
backlash_volume = SUBJECT.equals(
    "backlash_volume",
    "V_b",
    "mm**3",
    "melt that the motor turns back without the screw",
    gear_backlash / (2 * pi) * turn_melt,
    "The backlash as a part of a turn",
    source=_HERE,
    assumptions=("while the backlash is crossed the screw stands still",),
)
release_volume = SUBJECT.equals(
    "release_volume",
    "V_rel",
    "mm**3",
    "melt that the screw must take back so that no pressure is left",
    melt_springback + soft_stored + springback_volume,
    "All that is stored, with play and wall's hold",
    source=_HERE,
    assumptions=(_ALL_BACK,),
    title="melt for the screw to take back",
)
takeback_angle = SUBJECT.equals(
    "takeback_angle",
    "phi_need",
    "deg",
    "angle by which the motor must turn the screw back for it, counted at the screw",
    2 * pi * release_volume / (take_back_share * turn_melt) + gear_backlash,
    "The volume in turns, and the backlash",
    source=_HERE,
    assumptions=(_SHARE_KEPT,),
    title="angle to turn back",
)
command_needed = SUBJECT.equals(
    "command_needed",
    "V_need",
    "mm**3",
    "volume that the machine must be told to take back so that no pressure is left, counted as at work",
    turn_melt * takeback_angle / (2 * pi),
    "The angle, in what a turn at work brings",
    source=_HERE,
    title="volume to take back, as told",
)
screw_takeback = SUBJECT.equals(
    "screw_takeback",
    "V_back",
    "mm**3",
    "melt that the screw takes back when the machine takes back what it is told",
    take_back_share * largest(0, retraction_volume - backlash_volume),
    "What is left after the backlash, times the share of a turn back",
    nonnegative=True,
    source=_HERE,
    assumptions=(_SHARE_KEPT,),
    title="melt taken back by the screw",
)
takeback_time = SUBJECT.equals(
    "takeback_time",
    "t_need",
    "s",
    "time that this takes",
    takeback_angle / (2 * pi * retraction_speed),
    "Angle over speed",
    source=_DEFINITION,
    title="time to turn back",
)
takeback_flow = SUBJECT.equals(
    "takeback_flow",
    "Q_back",
    "mm**3/s",
    "flow that the screw takes back",
    take_back_share * retraction_speed * turn_melt,
    "Turns in a second times what each takes back",
    source=_DEFINITION,
)
emptying_time = SUBJECT.equals(
    "emptying_time",
    "t_0",
    "s",
    "time in which the flow at work would empty the store",
    stored_volume / melt_flow,
    "Stored volume over flow",
    source=_DEFINITION,
)


#: As good as Newton's law: nearer to it the formulas of a power law lose their digits in differences of near numbers.
DOES_NOT_THIN = Abs(local_exponent - 1) < Rational(1, 10**6)


def _left(start: Expr, late: Expr) -> Expr:
    """Return the pressure left after ``late`` emptying times, as shares of that at work; it begins at ``start``."""
    n = local_exponent
    began = start ** ((n - 1) / n)
    return Piecewise(
        (start * exp(-late), DOES_NOT_THIN), (largest(0, began + (1 / n - 1) * late) ** (n / (n - 1)), True)
    )


stop_time = SUBJECT.equals(
    "stop_time",
    "t_10",
    "s",
    "time after the motor's stop in which the flow falls to a tenth",
    emptying_time
    * Piecewise(
        (log(1 / ENDED), DOES_NOT_THIN),
        ((ENDED ** (local_exponent - 1) - 1) * local_exponent / (1 - local_exponent), True),
    ),
    "A store that empties through a nozzle of one exponent",
    source=_HERE,
    assumptions=(_STILL, _POWER, _WARM),
    title="time for which the nozzle runs on",
)
stop_length = SUBJECT.equals(
    "stop_length",
    "l_10",
    "mm",
    "line that the head prints in this time",
    line_speed * stop_time,
    "Speed times time",
    source=_DEFINITION,
    title="length for which the nozzle runs on",
)
ooze_volume = SUBJECT.equals(
    "ooze_volume",
    "V_ooze",
    "mm**3",
    "melt that runs out during a travel move when nothing is taken back",
    stored_volume * (1 - _left(Rational(1), travel_time / emptying_time)),
    "What has left the store by then",
    source=_HERE,
    assumptions=(_STILL, _POWER, _WARM),
    title="ooze with nothing taken back",
)
pressure_remaining = SUBJECT.equals(
    "pressure_remaining",
    "x_P",
    "percent",
    "share of the pressure that is left when the machine has taken back what it takes back",
    largest(0, smallest(1, (release_volume - screw_takeback) / stored_volume)),
    "What was not taken back, over what was stored",
    nonnegative=True,
    source=_HERE,
    assumptions=(_ALL_BACK,),
)
ooze_left = SUBJECT.equals(
    "ooze_left",
    "V_rest",
    "mm**3",
    "melt that runs out during a travel move after the machine has taken back",
    Piecewise(
        (
            stored_volume * (pressure_remaining - _left(pressure_remaining, travel_time / emptying_time)),
            pressure_remaining > 0,
        ),
        (0, True),
    ),
    "The same from the pressure that is left",
    nonnegative=True,
    source=_HERE,
    assumptions=(_STILL, _POWER, _WARM),
    title="ooze after taking back",
)
lost_share = SUBJECT.result(
    "lost_share",
    "x_lost",
    "percent",
    "share of the store that runs out while the screw takes back the rest",
    nonnegative=True,
)
SUBJECT.model(
    "lost_share", (takeback_flow, melt_flow, local_exponent), (lost_share,), models.lost_share,
    "Nozzle and screw empty the store together", source=_HERE,
    assumptions=(_POWER, _WARM, _PLAY_LAST),
)  # fmt: skip
end_knob = SUBJECT.equals(
    "end_knob",
    "V_knob",
    "mm**3",
    "solid plastic that comes out after the motor has turned round, if it is given time",
    Piecewise(
        (stored_volume, retraction_volume <= backlash_volume),
        (largest(lost_share * stored_volume, release_volume - screw_takeback), True),
    )
    * wanted_flow
    / melt_flow,
    "What is lost on the way back, or what is not taken back at all",
    nonnegative=True,
    source=_HERE,
    assumptions=("what leaves the store either goes back with the screw or comes out of the nozzle", _PLAY_LAST),
    title="knob at the end of a line",
)
knob_ball = SUBJECT.equals(
    "knob_ball",
    "d_knob",
    "mm",
    "diameter of this knob as a ball",
    (6 * end_knob / pi) ** Rational(1, 3),
    "The volume of a ball",
    source=_DEFINITION,
)
knob_disc = SUBJECT.equals(
    "knob_disc",
    "d_disc",
    "mm",
    "diameter of this knob pressed flat to the height of a layer",
    sqrt(4 * end_knob / (pi * layer_height)),
    "The volume of a disc",
    source=_DEFINITION,
)
takeback_reserve = SUBJECT.equals(
    "takeback_reserve",
    "R_back",
    "1",
    "volume that the machine is told to take back, over the volume that it must be told",
    retraction_volume / command_needed,
    "Told over needed",
    source=_DEFINITION,
    title="volume told to take back over that needed",
    nonnegative=True,
)
start_time = SUBJECT.result(
    "start_time",
    "t_90",
    "s",
    "time after the motor's start in which the flow comes to nine tenths, from no pressure",
    title="time in which a line begins",
)
SUBJECT.model(
    "start_time", (emptying_time, local_exponent), (start_time,), models.start_time,
    "A store that fills while its nozzle lets out", source=_HERE, assumptions=(_STILL, _POWER, _WARM),
)  # fmt: skip
start_length = SUBJECT.equals(
    "start_length",
    "l_90",
    "mm",
    "line that is too thin at its start if nothing is pushed ahead",
    line_speed * start_time,
    "Speed times time",
    source=_DEFINITION,
    title="length in which a line begins",
)

slow_pressure = SUBJECT.result("slow_pressure", "P_slow", "MPa", "pressure at the nozzle where the line is slowest")
rest_resistance = SUBJECT.result(
    "rest_resistance", "R_0", "MPa*s/mm**3", "pressure for each flow when the nozzle hardly flows"
)
stop_time_whole = SUBJECT.result(
    "stop_time_whole",
    "t_10w",
    "s",
    "time in which the flow falls to a tenth, by the whole flow law",
    title="time for which the nozzle runs on, by the whole flow law",
)
ooze_whole = SUBJECT.result(
    "ooze_whole",
    "V_whole",
    "mm**3",
    "melt that runs out during a travel move when nothing is taken back, by the whole flow law",
    title="ooze with nothing taken back, by the whole flow law",
)
suction_flow = SUBJECT.result(
    "suction_flow", "Q_in", "mm**3/s", "flow that the atmosphere alone would push through the nozzle", digits=2
)
slow_flow = SUBJECT.equals(
    "slow_flow",
    "Q_slow",
    "mm**3/s",
    "flow of melt where the line is slowest",
    melt_flow * slow_speed / line_speed,
    "Flow goes with the speed along the line",
    positive=True,
    source=_DEFINITION,
    valid=(
        (
            slow_speed <= line_speed,
            "the slowest part of the line is faster than the line at the wanted flow: give a slow speed below it, or "
            "more flow",
        ),
    ),
)
SUBJECT.model(
    "whole_law", (stored_volume, travel_time, slow_flow, *NOZZLE_INPUTS),
    (slow_pressure, rest_resistance, stop_time_whole, ooze_whole, suction_flow), each_once(models.whole_law),
    "The store empties through the nozzle's whole flow law",
    source=_HERE,
    assumptions=(_STILL, _WARM, "melt answers at once: no elasticity of its own"),
)  # fmt: skip
surplus_melt = SUBJECT.equals(
    "surplus_melt",
    "V_over",
    "mm**3",
    "melt that the screw takes back beyond what was stored, at least",
    largest(0, screw_takeback - release_volume),
    "What is taken back with no pressure left",
    nonnegative=True,
    source=_DEFINITION,
    assumptions=("a lower bound, since the volume to take back is an upper one",),
)
loose_length = SUBJECT.equals(
    "loose_length",
    "l_loose",
    "mm",
    "how far the plug draws back from the melt for it",
    surplus_melt / plastic_section,
    "The surplus over the section of plastic",
    nonnegative=True,
    source=_HERE,
    assumptions=("air comes in through the granules, and the melt stays where it is",),
)
tip_volume = SUBJECT.equals(
    "tip_volume",
    "V_tip",
    "mm**3",
    "melt in cone and land",
    TIP_VOLUME,
    "A cone cut off, and a cylinder",
    source=_HERE,
)
drawn_in = SUBJECT.equals(
    "drawn_in",
    "V_in",
    "mm**3",
    "how far the melt goes back in the nozzle during a travel move, if the screw draws a vacuum",
    smallest(surplus_melt, suction_flow * travel_time),
    "No more than the surplus, and no faster than the atmosphere pushes",
    nonnegative=True,
    digits=2,
    source=_HERE,
    assumptions=(
        "no air comes in through the granules, so that the screw draws a full vacuum: on the high side",
        "where the surplus sets it, that is taken at its least: on the low side",
    ),
)
air_share = SUBJECT.equals(
    "air_share",
    "x_air",
    "percent",
    "share of cone and land that fills with air during a travel move, if the screw draws a vacuum",
    drawn_in / tip_volume,
    "Drawn in over melt in cone and land",
    nonnegative=True,
    source=_DEFINITION,
    title="air in the nozzle after a travel move",
)
melt_weight = SUBJECT.equals(
    "melt_weight",
    "P_g",
    "MPa",
    "pressure that the melt's own weight makes at the nozzle",
    melt_density * gravity * (heated_length + melt_bore_length + land_length),
    "A column of melt that stands on the nozzle",
    positive=True,
    source=_HERE,
    assumptions=("the cone is short beside block, bore and land", "the plug does not hold the column"),
)
weight_flow = SUBJECT.equals(
    "weight_flow",
    "Q_g",
    "mm**3/s",
    "flow by the melt's own weight",
    melt_weight / rest_resistance,
    "Weight over resistance",
    digits=2,
    source=_HERE,
)

tangent_lead = SUBJECT.equals(
    "tangent_lead",
    "t_tan",
    "s",
    "time by which the screw must lead a small change of flow",
    local_exponent * emptying_time,
    "The slope of stored volume over flow",
    source=_HERE,
    assumptions=("changes are small",),
)
lead_time = SUBJECT.equals(
    "lead_time",
    "t_lead",
    "s",
    "time by which the screw must lead the flow between the speed of the line and its slowest",
    Piecewise(
        (tangent_lead, slow_flow >= melt_flow),
        (stored_volume * (1 - slow_pressure / nozzle_pressure) / (melt_flow - slow_flow), True),
    ),
    "Change of stored volume over change of flow",
    source=_HERE,
    assumptions=("each flow has come to its own pressure before it changes again",),
)
lead_length = SUBJECT.equals(
    "lead_length",
    "l_lead",
    "mm",
    "line that is printed in this time",
    line_speed * lead_time,
    "Speed times time",
    source=_DEFINITION,
)
lead_over_line = SUBJECT.result(
    "lead_over_line", "x_lead", "1", "lead length over the shortest line", title="lead over the shortest line"
)
SUBJECT.relation(
    "lead_over_line", lead_over_line, lead_length / shortest_line, "Lead length over line", source=_DEFINITION,
    valid=((
        lead_over_line < 1,
        "the flow must change before the shortest line has begun: no lead helps such a line. Print it at one speed, "
        "store less volume under pressure (stiffer head, wider nozzle), or print more slowly all over",
    ),),
)  # fmt: skip
lead_speed = SUBJECT.equals(
    "lead_speed",
    "N_lead",
    "1/min",
    "speed that the screw needs on top, or must turn back, while the head changes its speed",
    lead_time * print_acceleration * line_section / turn_at_work,
    "Lead time times change of flow, in turns",
    source=_HERE,
    assumptions=("the flow follows the speed of the head in every moment",),
)
led_acceleration = SUBJECT.equals(
    "led_acceleration",
    "a_led",
    "mm/s**2",
    "hardest slowing of the head that the screw can lead, turning back as fast as it can",
    (slow_flow + takeback_flow) * wanted_flow / (melt_flow * lead_time * line_section),
    "The same, solved for the acceleration at the end of slowing, where the line has the least flow to spare",
    source=_HERE,
    assumptions=("the speed at which the machine takes back is the screw's fastest",),
)
corner_knob = SUBJECT.equals(
    "corner_knob",
    "V_corner",
    "mm**3",
    "solid plastic too much in a corner, flow not led, at most",
    smallest(
        line_section * largest(0, line_speed - slow_speed) ** 2 / print_acceleration,
        stored_volume * largest(0, 1 - slow_pressure / nozzle_pressure) * wanted_flow / melt_flow,
    ),
    "A flow that does not fall at all, or a store that empties to the lower pressure",
    nonnegative=True,
    source=_HERE,
    assumptions=("the head slows down and speeds up evenly, with no stretch between",),
    title="knob at a corner",
)

SUBJECT.margin(
    "takeback_reserve", takeback_reserve, good=1.2, limit=1,
    why="what is not taken back runs out after the line has ended: a knob, and a string over the gap",
    advice="take more back; or store less: take the play out of the bearing, stiffen plate or frame, or print more "
    "slowly or through a wider nozzle, so that the pressure falls",
    source=Source("judgement", "1 is where the store is empty, 1.2 allows for what is not known about it"),
)  # fmt: skip
SUBJECT.margin(
    "air_share", air_share, good=30, limit=100,
    why="air that is drawn into the nozzle leaves it as a bubble and a hole in the next line",
    advice="take less back, or shorten the travel moves",
    source=Source("judgement", "at 100 % the bubble has come through the cone"),
)  # fmt: skip
