"""Heat along the head: how far up the tube plastic and screw soften, what a cooler buys, and what the heater must give.

Tube, screw and plastic are three fins side by side. One of them alone has a closed form, with or without a stream;
the three together are solved numerically in ``heat_models.py``, while the plastic flows and while it stands.
"""

from __future__ import annotations

from sympy import Float, Max, Or, Piecewise, acosh, cosh, log, oo, pi, sqrt, tanh

from augerbook.core.sources import Source
from augerbook.subjects.bearing import screw_speed
from augerbook.subjects.conveying import cold_length, wanted_flow
from augerbook.subjects.heat_grid import BLOCK_FRICTION, HARD_FRICTION
from augerbook.subjects.heat_models import pausing, running
from augerbook.subjects.heat_parts import (
    ALONG_BREAK,
    CORE,
    HEAT,
    NO_MIXING,
    SLICE,
    block_loss,
    break_conductivity,
    break_highest_temperature,
    break_length,
    break_outside_diameter,
    break_section,
    break_start,
    cooler_end,
    cooler_film_coefficient,
    cooler_start,
    degradation_temperature,
    film_coefficient,
    fused_conductivity,
    heated_length,
    heater_rating,
    loose_conductivity,
    melt_density,
    melt_specific_heat,
    plastic_section,
    room_temperature,
    screw_conductivity,
    screw_section,
    screw_shell,
    set_temperature,
    shank_length,
    softening_temperature,
    throat_temperature,
    tube_conductivity,
    tube_highest_temperature,
    tube_length,
    tube_outside_diameter,
    tube_section,
    wall_shell,
)
from augerbook.subjects.hopper import solid_density
from augerbook.subjects.thrust import running_torque

SUBJECT = HEAT
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_FIN = Source("incropera", "chapter 3, fin of uniform section with an adiabatic tip")
_JUDGED = Source("judgement")

feed_heat = SUBJECT.result("feed_heat", "C", "W/K", "heat that the fed plastic takes up for each kelvin", positive=True)
feed_cooling_number = SUBJECT.result(
    "feed_cooling_number", "N_c", "1", "what the feed takes up over what the screw conducts", positive=True
)
friction_heat = SUBJECT.result("friction_heat", "W_f", "W", "work of the screw, which becomes heat", positive=True)
fin_length = SUBJECT.result("fin_length", "lambda", "mm", "length over which a long bare tube cools to 37 %", digits=3)
fin_heat = SUBJECT.result("fin_heat", "W_fin", "W", "heat that a bare tube alone draws from the block")
fin_soft_length = SUBJECT.result(
    "fin_soft_length", "L_fin", "mm", "length of bare tube alone that is above the softening temperature"
)
creep_length = SUBJECT.result(
    "creep_length", "l_cr", "mm", "length over which heat that creeps up the screw falls to 37 %, in a cold tube",
    positive=True,
)  # fmt: skip
creep_soft_length = SUBJECT.result(
    "creep_soft_length", "L_cr", "mm", "length of screw above the softening temperature in a cold tube"
)
softened_length = SUBJECT.result("softened_length", "L_soft", "mm", "length of tube in which the plastic is soft")
screw_soft_length = SUBJECT.result(
    "screw_soft_length", "L_s_soft", "mm", "length of tube in which the screw is above the softening temperature"
)
melt_temperature = SUBJECT.result("melt_temperature", "T_tip", "degC", "temperature of the plastic at the screw's tip")
screw_throat_temperature = SUBJECT.result(
    "screw_throat_temperature", "T_s_in", "degC", "temperature of the screw at the throat"
)
block_heat = SUBJECT.result("block_heat", "W_run", "W", "heat that the block gives to tube and plastic")
settling_residual = SUBJECT.result(
    "settling_residual", "r_run", "delta_degC", "how far the last round of the computation still moved a temperature"
)
pause_softened_length = SUBJECT.result(
    "pause_softened_length", "L_soft_0", "mm", "length of tube in which the plastic is soft after a long pause"
)
pause_screw_soft_length = SUBJECT.result(
    "pause_screw_soft_length", "L_s_soft_0", "mm", "the same for the screw, after a long pause"
)
pause_tip_temperature = SUBJECT.result(
    "pause_tip_temperature", "T_tip_0", "degC", "temperature of the plastic at the screw's tip after a long pause"
)
pause_throat_temperature = SUBJECT.result(
    "pause_throat_temperature", "T_s_in_0", "degC", "temperature of the screw at the throat after a long pause"
)
pause_block_heat = SUBJECT.result(
    "pause_block_heat", "W_pause", "W", "heat that the block gives to tube and plastic in a long pause"
)
pause_residual = SUBJECT.result(
    "pause_residual", "r_pause", "delta_degC", "how far the last round still moved a temperature, in the pause"
)
softened_share = SUBJECT.result(
    "softened_share", "x_soft", "percent", "share of the tube with soft plastic, in flow or pause, whichever is more"
)
screw_soft_share = SUBJECT.result(
    "screw_soft_share", "x_s_soft", "percent", "share of the tube with a soft screw surface, in flow or pause"
)
throat_reserve = SUBJECT.result(
    "throat_reserve", "Delta_T", "delta_degC", "how far the screw at the throat stays below softening, at worst"
)
heater_power = SUBJECT.result("heater_power", "W_h", "W", "power of the heater while it prints")
pause_heater_power = SUBJECT.result("pause_heater_power", "W_h_0", "W", "power of the heater in a pause")
heater_share = SUBJECT.result(
    "heater_share", "x_h", "1", "power that the heater must give, in flow or pause, over what it can give at most"
)
melt_flow = SUBJECT.result("melt_flow", "Q_m", "mm**3/s", "volume of melt that leaves", positive=True)
soft_time = SUBJECT.result("soft_time", "t_soft", "s", "time the plastic spends between softening and the screw's tip")

_STEADY = "everything has had the time to settle, which takes some minutes"
_INSULATED = "the tube gives no heat to whatever holds it at the throat (the safe side)"
_BEARING = "the screw's shank gives heat to the bearing only"
_NO_LATENT = "no heat of fusion: add it to the specific heat for plastics that crystallise"
_FRICTION = (
    "the work of the screw heats the soft plastic in the tube; for each length melt in the block takes "
    f"{100 * BLOCK_FRICTION:.0f} % as much, hard plastic {100 * HARD_FRICTION:.0f} %"
)
_BARE = "a tube by itself, without screw, plastic, cooler and thermal break"
_COLD_TUBE = "screw and plastic have one temperature, the wall that of the granules that enter"

SUBJECT.relation("feed_heat", feed_heat, solid_density * melt_specific_heat * wanted_flow, "Mass flow times heat",
                 source=_DEFINITION, assumptions=(_NO_LATENT,))  # fmt: skip
SUBJECT.relation(
    "feed_cooling_number", feed_cooling_number,
    feed_heat * tube_length / (screw_conductivity * screw_section), "The feed's cooling against the screw's conduction",
    source=_HERE,
)  # fmt: skip
SUBJECT.relation("friction_heat", friction_heat, 2 * pi * running_torque * screw_speed, "The work of the screw",
                 source=_DEFINITION, assumptions=(_FRICTION,))  # fmt: skip

_NO_FILM = (
    film_coefficient > 0,
    "no tube hangs in air without giving heat to it: the film coefficient must be above 0 W/m²/K, "
    "5 to 15 W/m²/K in still air",
)
SUBJECT.relation(
    "fin_length", fin_length,
    sqrt(tube_conductivity * tube_section / (film_coefficient * pi * tube_outside_diameter)),
    "The length of decay of a bare tube", source=_FIN, assumptions=(_BARE,), valid=(_NO_FILM,),
)  # fmt: skip
SUBJECT.relation(
    "fin_heat", fin_heat,
    tube_conductivity * tube_section * (set_temperature - room_temperature) / fin_length
    * tanh(tube_length / fin_length),
    "The heat into a bare tube", source=_FIN, assumptions=(_BARE, _INSULATED),
)  # fmt: skip
_LEFT_AT_END = (
    (softening_temperature - room_temperature) / (set_temperature - room_temperature) * cosh(tube_length / fin_length)
)
SUBJECT.relation(
    "fin_soft_length", fin_soft_length,
    Piecewise(
        (tube_length, _LEFT_AT_END <= 1),
        (Max(0, tube_length - fin_length * acosh(Max(1, _LEFT_AT_END))), True),
    ),
    "Where a bare tube cools to the softening temperature", source=_FIN, assumptions=(_BARE, _INSULATED),
)  # fmt: skip
_SCREW_PATH = screw_conductivity * screw_section
SUBJECT.relation(
    "creep_length", creep_length,
    2 * _SCREW_PATH / (feed_heat + sqrt(feed_heat**2 + 4 * _SCREW_PATH * loose_conductivity * wall_shell)),
    "Heat that creeps up the screw against the feed", source=_HERE, assumptions=(_COLD_TUBE, CORE),
)  # fmt: skip
SUBJECT.relation(
    "creep_soft_length", creep_soft_length,
    Piecewise(
        (
            creep_length * log(
                Max(1, (set_temperature - throat_temperature) / (softening_temperature - throat_temperature))
            ),
            softening_temperature > throat_temperature,
        ),
        (oo, True),
    ),
    "Where a screw in a cold tube cools to the softening temperature", source=_HERE, assumptions=(_COLD_TUBE, CORE),
)  # fmt: skip

_STANDING = (
    tube_length, heated_length, screw_conductivity, screw_section, shank_length, tube_conductivity, tube_section,
    plastic_section, screw_shell, wall_shell, tube_outside_diameter, film_coefficient, cooler_film_coefficient,
    cooler_start, cooler_end, loose_conductivity, fused_conductivity, softening_temperature, set_temperature,
    room_temperature, throat_temperature, break_start, break_length, break_conductivity, break_section,
    break_outside_diameter,
)  # fmt: skip
#: What the temperatures follow from, in the order in which the model takes it.
HEAD_INPUTS = (*_STANDING, feed_heat, friction_heat)
#: Change of a temperature in the last round (K) below which the temperatures count as settled.
_SETTLED = Float("0.01")
_SLICES = Source("incropera", "chapter 4, energy balance on slices (finite volumes); three bodies joined here")
_COMMON = (SLICE, ALONG_BREAK, CORE, NO_MIXING, _STEADY, _INSULATED, _BEARING, _NO_LATENT)

SUBJECT.model(
    "running", HEAD_INPUTS,
    (softened_length, screw_soft_length, melt_temperature, screw_throat_temperature, block_heat, settling_residual),
    running, "Temperatures of screw, plastic and tube while the plastic flows", source=_SLICES,
    assumptions=(*_COMMON, _FRICTION),
    hazards=(
        (
            set_temperature <= degradation_temperature,
            "the block is hotter than the plastic bears: keep the set temperature up to the degradation temperature. "
            "Overheated plastic gives off harmful fumes and can spit; ventilate, and follow the maker's data sheet",
        ),
        (
            melt_temperature <= degradation_temperature,
            "the plastic at the screw's tip is hotter than it bears: set the block cooler, turn more slowly, or lower "
            "the torque, until it is no hotter than the degradation temperature. Overheated plastic gives off harmful "
            "fumes",
        ),
        (
            set_temperature <= tube_highest_temperature,
            "the tube, where it meets the block, is hotter than its material bears: set the block cooler, or make the "
            "tube of metal. A tube that gives way lets molten plastic out under pressure, and PTFE and POM give off "
            "poisonous fumes",
        ),
        (
            break_length * (set_temperature - break_highest_temperature) <= 0,
            "the thermal break may get hotter than its material bears: set the block cooler, or make the break of "
            "metal or ceramic. PTFE and POM give off poisonous fumes",
        ),
    ),
    valid=(
        (
            cooler_start < cooler_end,
            "the cooler ends where it begins or before, so it counts as none: its end must lie beyond its start",
        ),
        (
            cooler_end <= tube_length,
            "the cooler reaches beyond the tube, and only its part on the tube counts: its end must not lie beyond the "
            "length of the tube, where the heated block begins",
        ),
        (
            Or(break_length <= 0, break_start + break_length <= tube_length),
            "the thermal break reaches beyond the tube, and only its part on the tube counts: its start and its length "
            "together must not exceed the length of the tube, where the heated block begins",
        ),
        (
            set_temperature > softening_temperature,
            "the block does not soften the plastic: the set temperature must be above the softening temperature, and "
            "for printing far above it. Do not turn the screw in hard plastic",
        ),
        (
            throat_temperature < softening_temperature,
            "granules enter softened and stick in the hopper: the throat temperature must be below the softening "
            "temperature",
        ),
        (
            room_temperature < softening_temperature,
            "nothing cools the tube below softening: the room temperature must be below the softening temperature",
        ),
        (
            melt_temperature > softening_temperature,
            "the plastic reaches the screw's tip before it has softened: more heat or less flow is needed, the "
            "temperature at the tip must be above the softening temperature",
        ),
        (
            settling_residual < _SETTLED,
            "the temperatures have not settled within the rounds allowed, as may happen where friction heats as much "
            "as the block: the residual says by how much a further round would still move them, and it must be below "
            "0.01 K to trust the lengths",
        ),
    ),
)  # fmt: skip
SUBJECT.model(
    "pausing", _STANDING,
    (
        pause_softened_length, pause_screw_soft_length, pause_tip_temperature, pause_throat_temperature,
        pause_block_heat, pause_residual,
    ),
    pausing, "The same while nothing is fed and the screw stands", source=_SLICES, assumptions=_COMMON,
    valid=((
        pause_residual < _SETTLED,
        "the temperatures of the pause have not settled within the rounds allowed: the residual says by how much the "
        "last round still moved them, and it must be below 0.01 K to trust the lengths",
    ),),
)  # fmt: skip
SUBJECT.relation("cold_length", cold_length, tube_length - softened_length, "What is left hard", source=_DEFINITION)
SUBJECT.relation(
    "softened_share", softened_share, Max(softened_length, pause_softened_length) / tube_length, "Share of the tube",
    source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "screw_soft_share", screw_soft_share, Max(screw_soft_length, pause_screw_soft_length) / tube_length,
    "Share of the tube, for the screw", source=_DEFINITION,
)  # fmt: skip
SUBJECT.relation(
    "throat_reserve", throat_reserve,
    softening_temperature - Max(screw_throat_temperature, pause_throat_temperature), "What the throat has left",
    source=_DEFINITION,
)  # fmt: skip
_LOSS = block_loss * (set_temperature - room_temperature)
_TO_TIP = "what the melt still takes up in the nozzle, beyond the screw's tip, is left out"
SUBJECT.relation("heater_power", heater_power, block_heat + _LOSS, "Into the head, and into the air", source=_HERE,
                 assumptions=(_TO_TIP,))  # fmt: skip
SUBJECT.relation("pause_heater_power", pause_heater_power, pause_block_heat + _LOSS, "In a pause", source=_HERE)
SUBJECT.relation(
    "heater_share", heater_share, Max(heater_power, pause_heater_power) / heater_rating,
    "What it must give over what it can", source=_DEFINITION,
    valid=((
        Max(heater_power, pause_heater_power) <= heater_rating,
        "the head asks for more heat than the heater gives: it never gets as hot as set, and the plastic stays stiff. "
        "The power of the heater must be below its rating; take a stronger heater within the rules of its maker, print "
        "more slowly, or let less heat escape",
    ),),
)  # fmt: skip
SUBJECT.relation("melt_flow", melt_flow, solid_density * wanted_flow / melt_density, "The mass stays", source=_HERE)
SUBJECT.relation(
    "soft_time", soft_time, plastic_section * (softened_length + heated_length) / melt_flow,
    "The room of the soft plastic over its flow", source=_HERE, assumptions=("all of the plastic moves alike",),
)  # fmt: skip

SUBJECT.margin(
    "heater_share", heater_share, good=0.6, limit=0.9,
    why="a heater near its limit takes many minutes to warm the head, and cannot follow a faster print or a draught",
    advice="wrap the block, let less heat go up the tube (thinner wall, thermal break), or take a stronger heater",
    source=_JUDGED,
)  # fmt: skip
SUBJECT.margin(
    "softened_share", softened_share, good=50, limit=75,
    why="soft plastic sticks to wall and screw, takes most of the torque and leaves too short a plug to press with",
    advice="cool the tube closer to the heated block, or take a thinner tube or one that conducts less",
    source=_JUDGED,
)  # fmt: skip
SUBJECT.margin(
    "screw_soft_share", screw_soft_share, good=50, limit=75,
    why="granules that meet a screw above softening stick to it and turn with it instead of moving ahead",
    advice="take a screw that conducts less, such as stainless steel, once the tube is cooled well",
    source=_JUDGED,
)  # fmt: skip
SUBJECT.margin(
    "throat_reserve", throat_reserve, good=15, limit=0,
    why="granules that stick to the screw at the throat build a bridge and nothing feeds any more",
    advice="cool the tube, lengthen it, or take a screw that conducts less",
    source=_JUDGED,
)  # fmt: skip
