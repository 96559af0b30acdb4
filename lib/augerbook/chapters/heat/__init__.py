"""Heat along the head: how far up the tube plastic and screw soften, what a cooler buys, and what the heater must give.

Tube, screw and plastic are three fins side by side. One of them alone has a closed form, with or without a stream;
the three together are solved numerically in ``models.py``, while the plastic flows and while it stands.
"""

from __future__ import annotations

from sympy import Float, Or, Piecewise, acosh, cosh, log, oo, pi, sqrt, tanh

from augerbook.chapters.conveying import cold_length
from augerbook.chapters.heat.coolers import cooler_film
from augerbook.chapters.heat.models import pausing, running
from augerbook.chapters.heat.subject import SUBJECT
from augerbook.chapters.screw import net_volume
from augerbook.chapters.thrust import break_outside_diameter
from augerbook.core.extremes import largest
from augerbook.core.sources import Source
from augerbook.head.drive import running_torque, screw_speed
from augerbook.head.feedstock import loose_density, solid_density
from augerbook.head.heating import (
    block_heat_share,
    block_loss,
    cooler_end,
    cooler_start,
    drive_temperature,
    film_coefficient,
    hard_heat_share,
    heated_length,
    heater_rating,
    room_temperature,
    set_temperature,
    throat_temperature,
    wall_heat_share,
)
from augerbook.head.nozzle import block_highest_temperature, nozzle_highest_temperature
from augerbook.head.plastic import (
    degradation_temperature,
    fused_conductivity,
    loose_conductivity,
    melt_density,
    melt_specific_heat,
    softening_temperature,
)
from augerbook.head.printing import wanted_flow
from augerbook.head.screw import (
    core_diameter,
    flighted_length,
    pitch,
    screw_conductivity,
    screw_density,
    screw_highest_temperature,
    screw_specific_heat,
    shank_length,
)
from augerbook.head.tube import (
    bore_diameter,
    break_conductivity,
    break_density,
    break_highest_temperature,
    break_length,
    break_specific_heat,
    break_start,
    break_wall,
    tube_conductivity,
    tube_density,
    tube_highest_temperature,
    tube_length,
    tube_outside_diameter,
    tube_specific_heat,
)

_HERE = Source("derived here")
_DEFINITION = Source("definition")
_WALL = Source("incropera", "chapter 3, plane walls in series")
_SHELL = Source("incropera", "chapter 3, conduction through a cylindrical wall")

SLICE = "screw, plastic and tube each have one temperature in a section"
CORE = "heat goes along the core of the screw; the flights only make it thicker for what goes across"
NO_MIXING = "heat goes across by conduction alone: the screw does not stir (the safe side for the melt)"
ALONG_BREAK = (
    "a thermal break works along the tube; across its wall it has one temperature like the rest, so that a thick wall "
    "of ceramic or plastic under a cooler is in truth somewhat warmer inside"
)


screw_section = SUBJECT.equals(
    "screw_section",
    "A_s",
    "mm**2",
    "section of the screw's core",
    pi * core_diameter**2 / 4,
    "The section of the core",
    positive=True,
    source=_DEFINITION,
    assumptions=(CORE,),
)
tube_section = SUBJECT.equals(
    "tube_section",
    "A_t",
    "mm**2",
    "section of the tube's wall",
    pi * (tube_outside_diameter**2 - bore_diameter**2) / 4,
    "The section of the wall",
    positive=True,
    source=_DEFINITION,
)
break_section = SUBJECT.equals(
    "break_section",
    "A_b",
    "mm**2",
    "section of the wall in the thermal break",
    pi * break_wall * (bore_diameter + break_wall),
    "The section of the break's wall",
    positive=True,
    source=_DEFINITION,
)
SUBJECT.relation(
    "break_outside_diameter", break_outside_diameter, bore_diameter + 2 * break_wall, "Bore and both walls",
    source=_DEFINITION,
)  # fmt: skip
break_worth = SUBJECT.equals(
    "break_worth",
    "L_eq",
    "mm",
    "length of plain tube that resists heat as much as the thermal break does",
    break_length * tube_conductivity * tube_section / (break_conductivity * break_section),
    "As much resistance as the break's",
    source=_WALL,
    assumptions=(ALONG_BREAK,),
    title="length of tube that resists like the break",
)
plastic_section = SUBJECT.equals(
    "plastic_section",
    "A_p",
    "mm**2",
    "section of plastic in the bore, averaged over a turn",
    net_volume / pitch,
    "The room of a turn over its length",
    source=_DEFINITION,
    assumptions=("the bore is full of plastic",),
)
screw_radius = SUBJECT.equals(
    "screw_radius",
    "r_s",
    "mm",
    "radius of a plain rod with as much volume as the screw",
    sqrt(bore_diameter**2 / 4 - plastic_section / pi),
    "What the plastic leaves of the bore, as a plain rod",
    source=_HERE,
    valid=(
        (
            plastic_section > 0,
            "the screw fills the bore and leaves no room for plastic: enlarge bore or pitch, or lower the flank angle",
        ),
    ),
)
screw_shell = SUBJECT.equals(
    "screw_shell",
    "g_s",
    "1",
    "conductance from plastic to screw per unit of length, over the plastic's conductivity",
    2 * pi / log((screw_radius + bore_diameter / 2) / (2 * screw_radius)),
    "The shell from the middle of the plastic to the screw",
    source=_SHELL,
    assumptions=(SLICE, NO_MIXING),
)
wall_shell = SUBJECT.equals(
    "wall_shell",
    "g_w",
    "1",
    "conductance from plastic to wall per unit of length, over the plastic's conductivity",
    2 * pi / log(bore_diameter / (screw_radius + bore_diameter / 2)),
    "The shell from the middle of the plastic to the wall",
    source=_SHELL,
    assumptions=(SLICE, NO_MIXING),
)


_BY_VOLUME = "Density, specific heat and section"
screw_heat_held = SUBJECT.equals(
    "screw_heat_held",
    "H_s",
    "J/m/K",
    "heat that a length of screw holds for each kelvin",
    screw_density * screw_specific_heat * pi * screw_radius**2,
    _BY_VOLUME,
    positive=True,
    source=_DEFINITION,
    assumptions=("the flights hold heat like the core",),
)
tube_heat_held = SUBJECT.equals(
    "tube_heat_held",
    "H_t",
    "J/m/K",
    "heat that a length of tube holds for each kelvin",
    tube_density * tube_specific_heat * tube_section,
    _BY_VOLUME,
    positive=True,
    source=_DEFINITION,
)
break_heat_held = SUBJECT.equals(
    "break_heat_held",
    "H_br",
    "J/m/K",
    "heat that a length of thermal break holds for each kelvin",
    break_density * break_specific_heat * break_section,
    _BY_VOLUME,
    positive=True,
    source=_DEFINITION,
)
hard_heat_held = SUBJECT.equals(
    "hard_heat_held",
    "H_hard",
    "J/m/K",
    "the same for hard plastic in the bore",
    loose_density * melt_specific_heat * plastic_section,
    _BY_VOLUME,
    source=_DEFINITION,
    assumptions=("grains lie as loose as in the cup",),
)
soft_heat_held = SUBJECT.equals(
    "soft_heat_held",
    "H_melt",
    "J/m/K",
    "the same for soft plastic in the bore",
    melt_density * melt_specific_heat * plastic_section,
    _BY_VOLUME,
    source=_DEFINITION,
)

_FIN = Source("incropera", "chapter 3, fin of uniform section with an adiabatic tip")
_JUDGED = Source("judgement")

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
    "settling_residual",
    "r_run",
    "delta_degC",
    "how far the last round of the computation still moved a temperature",
    nonnegative=True,
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
    "pause_residual",
    "r_pause",
    "delta_degC",
    "how far the last round still moved a temperature, in the pause",
    nonnegative=True,
)
cooled_heat = SUBJECT.result("cooled_heat", "W_air", "W", "heat that the tube gives to the air and the cooler")
shank_heat = SUBJECT.result("shank_heat", "W_sh", "W", "heat that goes up the screw's shank to bearing and gear")
carried_heat = SUBJECT.result("carried_heat", "W_pl", "W", "heat that the plastic takes along to the screw's tip")
pause_cooled_heat = SUBJECT.result("pause_cooled_heat", "W_air_0", "W", "the same to air and cooler, in a long pause")
pause_shank_heat = SUBJECT.result("pause_shank_heat", "W_sh_0", "W", "the same up the shank, in a long pause")
pause_carried_heat = SUBJECT.result(
    "pause_carried_heat", "W_pl_0", "W", "heat that goes through the plastic to the granules at the throat in a pause"
)

_STEADY = "everything has had the time to settle, which takes some minutes"
_INSULATED = "the tube gives no heat to whatever holds it at the throat (the safe side)"
_BEARING = "the screw's shank gives heat to the bearing only"
NO_LATENT = "no heat of fusion: add it to the specific heat for plastics that crystallise"
_FRICTION = (
    "the work of the screw becomes heat where it is done: evenly in soft plastic and in the block, and where the hard "
    "plug ends, as its pressure is there; in the tube a share of it arises at the wall and goes into the tube"
)
_BARE = "a tube by itself, without screw, plastic, cooler and thermal break"
_COLD_TUBE = "screw and plastic have one temperature, the wall that of the granules that enter"

feed_heat = SUBJECT.equals(
    "feed_heat",
    "C",
    "W/K",
    "heat that the fed plastic takes up for each kelvin",
    solid_density * melt_specific_heat * wanted_flow,
    "Mass flow times heat",
    positive=True,
    source=_DEFINITION,
    assumptions=(NO_LATENT,),
)
feed_cooling_number = SUBJECT.equals(
    "feed_cooling_number",
    "N_c",
    "1",
    "what the feed takes up over what the screw conducts",
    feed_heat * tube_length / (screw_conductivity * screw_section),
    "The feed's cooling against the screw's conduction",
    positive=True,
    source=_HERE,
)
friction_heat = SUBJECT.equals(
    "friction_heat",
    "W_f",
    "W",
    "work of the screw, which becomes heat",
    2 * pi * running_torque * screw_speed,
    "The work of the screw",
    positive=True,
    source=_DEFINITION,
    assumptions=(_FRICTION,),
)

_NO_FILM = (
    film_coefficient > 0,
    "no tube hangs in air without giving heat to it: the film coefficient must be above 0 W/m²/K, "
    "5 to 20 W/m²/K in still air, more about a thin tube than about a thick one",
)
fin_length = SUBJECT.equals(
    "fin_length",
    "lambda",
    "mm",
    "length over which a long bare tube cools to 37 %",
    sqrt(tube_conductivity * tube_section / (film_coefficient * pi * tube_outside_diameter)),
    "The length of decay of a bare tube",
    digits=3,
    source=_FIN,
    assumptions=(_BARE,),
    valid=(_NO_FILM,),
)
fin_heat = SUBJECT.equals(
    "fin_heat",
    "W_fin",
    "W",
    "heat that a bare tube alone draws from the block",
    tube_conductivity
    * tube_section
    * (set_temperature - room_temperature)
    / fin_length
    * tanh(tube_length / fin_length),
    "The heat into a bare tube",
    source=_FIN,
    assumptions=(_BARE, _INSULATED),
)
_LEFT_AT_END = (
    (softening_temperature - room_temperature) / (set_temperature - room_temperature) * cosh(tube_length / fin_length)
)
fin_soft_length = SUBJECT.equals(
    "fin_soft_length",
    "L_fin",
    "mm",
    "length of bare tube alone that is above the softening temperature",
    Piecewise(
        (tube_length, _LEFT_AT_END <= 1),
        (largest(0, tube_length - fin_length * acosh(largest(1, _LEFT_AT_END))), True),
    ),
    "Where a bare tube cools to the softening temperature",
    source=_FIN,
    assumptions=(_BARE, _INSULATED),
)
_SCREW_PATH = screw_conductivity * screw_section
creep_length = SUBJECT.equals(
    "creep_length",
    "l_cr",
    "mm",
    "length over which heat that creeps up the screw falls to 37 %, in a cold tube",
    2 * _SCREW_PATH / (feed_heat + sqrt(feed_heat**2 + 4 * _SCREW_PATH * loose_conductivity * wall_shell)),
    "Heat that creeps up the screw against the feed",
    positive=True,
    source=_HERE,
    assumptions=(_COLD_TUBE, CORE),
)
creep_soft_length = SUBJECT.equals(
    "creep_soft_length",
    "L_cr",
    "mm",
    "length of screw above the softening temperature in a cold tube",
    Piecewise(
        (
            creep_length
            * log(largest(1, (set_temperature - throat_temperature) / (softening_temperature - throat_temperature))),
            softening_temperature > throat_temperature,
        ),
        (oo, True),
    ),
    "Where a screw in a cold tube cools to the softening temperature",
    source=_HERE,
    assumptions=(_COLD_TUBE, CORE),
    title="softened length of the screw, tube cold",
)

_STANDING = (
    tube_length, heated_length, screw_conductivity, screw_section, shank_length, tube_conductivity, tube_section,
    plastic_section, screw_shell, wall_shell, tube_outside_diameter, film_coefficient, cooler_film,
    cooler_start, cooler_end, loose_conductivity, fused_conductivity, softening_temperature, set_temperature,
    room_temperature, throat_temperature, break_start, break_length, break_conductivity, break_section,
    break_outside_diameter, drive_temperature,
)  # fmt: skip
#: What the temperatures follow from, in the order in which the model takes it.
HEAD_INPUTS = (*_STANDING, hard_heat_share, block_heat_share, wall_heat_share, feed_heat, friction_heat)
#: Change of a temperature in the last round (K) below which the temperatures count as settled.
_SETTLED = Float("0.01")
_SLICES = Source("incropera", "chapter 4, energy balance on slices (finite volumes); three bodies joined here")
_COMMON = (SLICE, ALONG_BREAK, CORE, NO_MIXING, _STEADY, _INSULATED, _BEARING, NO_LATENT)

#: Parts in the heat, what their material bears, and what comes of it if they give way.
_IN_THE_HEAT = (
    ("nozzle", nozzle_highest_temperature, "lets molten plastic out under pressure"),
    ("block", block_highest_temperature, "lets molten plastic out under pressure"),
    ("screw", screw_highest_temperature, "jams the head"),
)
SUBJECT.model(
    "running", HEAD_INPUTS,
    (softened_length, screw_soft_length, melt_temperature, screw_throat_temperature, block_heat, settling_residual,
     cooled_heat, shank_heat, carried_heat),
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
        *(
            (
                set_temperature <= bears,
                f"the {part} is hotter than its material bears: set the block cooler, or take a {part} of metal. One "
                f"that gives way {comes_of_it}, and PTFE and POM give off poisonous fumes",
            )
            for part, bears, comes_of_it in _IN_THE_HEAT
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
            hard_heat_share + block_heat_share <= 1,
            "hard plug and block cannot take more than all of the screw's work: their shares together must not exceed "
            "100 %",
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
        pause_block_heat, pause_residual, pause_cooled_heat, pause_shank_heat, pause_carried_heat,
    ),
    pausing, "The same while nothing is fed and the screw stands", source=_SLICES, assumptions=_COMMON,
    valid=((
        pause_residual < _SETTLED,
        "the temperatures of the pause have not settled within the rounds allowed: the residual says by how much the "
        "last round still moved them, and it must be below 0.01 K to trust the lengths",
    ),),
)  # fmt: skip
SUBJECT.relation(
    "cold_length",
    cold_length,
    tube_length - softened_length,
    "What is left hard",
    source=_DEFINITION,
    valid=((
        tube_length <= flighted_length,
        "the flights end inside the tube, and where they end nothing pushes: take a longer screw or a shorter tube",
    ),),
)  # fmt: skip
softened_share = SUBJECT.equals(
    "softened_share",
    "x_soft",
    "percent",
    "share of the tube with soft plastic, in flow or pause, whichever is more",
    largest(softened_length, pause_softened_length) / tube_length,
    "Share of the tube",
    source=_DEFINITION,
    title="softened share of the tube",
)
screw_soft_share = SUBJECT.equals(
    "screw_soft_share",
    "x_s_soft",
    "percent",
    "share of the tube in which the screw is above the softening temperature, in flow or pause",
    largest(screw_soft_length, pause_screw_soft_length) / tube_length,
    "Share of the tube, for the screw",
    source=_DEFINITION,
    title="share of the tube with a hot screw",
)
throat_reserve = SUBJECT.equals(
    "throat_reserve",
    "Delta_T",
    "delta_degC",
    "how far the screw at the throat stays below softening, at worst",
    softening_temperature - largest(screw_throat_temperature, pause_throat_temperature),
    "What the throat has left",
    source=_DEFINITION,
    title="reserve at the throat",
)
block_air_heat = SUBJECT.equals(
    "block_air_heat",
    "W_b",
    "W",
    "heat that block and nozzle lose to the air",
    block_loss * (set_temperature - room_temperature),
    "Straight into the air",
    source=_DEFINITION,
)
_TO_TIP = "what the melt still takes up in the nozzle, beyond the screw's tip, is left out"
heater_power = SUBJECT.equals(
    "heater_power",
    "W_h",
    "W",
    "power of the heater while it prints",
    block_heat + block_air_heat,
    "Into the head, and into the air",
    source=_HERE,
    assumptions=(_TO_TIP,),
)
pause_heater_power = SUBJECT.equals(
    "pause_heater_power",
    "W_h_0",
    "W",
    "power of the heater in a pause",
    pause_block_heat + block_air_heat,
    "In a pause",
    source=_HERE,
)
heater_share = SUBJECT.equals(
    "heater_share",
    "x_h",
    "1",
    "power that the heater must give, in flow or pause, over what it can give at most",
    largest(heater_power, pause_heater_power) / heater_rating,
    "What it must give over what it can",
    source=_DEFINITION,
    valid=(
        (
            largest(heater_power, pause_heater_power) <= heater_rating,
            "the head asks for more heat than the heater gives: it never gets as hot as set, and the plastic stays "
            "stiff. The power of the heater must be below its rating; take a stronger heater within the rules of its "
            "maker, print more slowly, or let less heat escape",
        ),
    ),
    title="share of the heater that is used",
)
melt_flow = SUBJECT.equals(
    "melt_flow",
    "Q_m",
    "mm**3/s",
    "volume of melt that leaves",
    solid_density * wanted_flow / melt_density,
    "The mass stays",
    positive=True,
    source=_HERE,
)
soft_time = SUBJECT.equals(
    "soft_time",
    "t_soft",
    "s",
    "time the plastic spends between softening and the screw's tip",
    plastic_section * (softened_length + heated_length) / melt_flow,
    "The room of the soft plastic over its flow",
    source=_HERE,
    assumptions=("all of the plastic moves alike",),
)

SUBJECT.margin(
    "heater_share", heater_share, good=0.6, limit=0.9,
    why="a heater near its limit takes many minutes to warm the head, and cannot follow a faster print or a draught",
    advice="wrap the block, or take a stronger heater; a thinner wall or a thermal break lets less heat up the tube, "
    "if it still holds at stall (see the stress of the tube)",
    source=_JUDGED,
)  # fmt: skip
SUBJECT.margin(
    "softened_share", softened_share, good=50, limit=75,
    why="soft plastic sticks to wall and screw, takes most of the torque and leaves too short a plug to press with",
    advice="cool the tube closer to the heated block; see that the cooler sits tight, with paste in its gap; or take a "
    "tube that conducts less, or a thinner one if it still holds at stall (see the stress of the tube)",
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
    advice="take a screw that conducts less, keep bearing and motor cold, or lengthen the tube; cool the tube first if "
    "its soft part reaches far up",
    source=_JUDGED,
)  # fmt: skip
