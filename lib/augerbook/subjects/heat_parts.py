"""The parts of the head that heat meets: tube, thermal break, cooler, block, screw and plastic, and their sections.

What becomes of the temperatures stands in ``heat.py``.
"""

from __future__ import annotations

from sympy import log, pi, sqrt

from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.subjects.hopper import loose_density
from augerbook.subjects.screw import bore_diameter, core_diameter, net_volume, pitch

#: The subject of the chapter, completed in ``heat.py``.
HEAT = Subject(
    "heat",
    number=8,
    title="Heat along the head",
    question="How far up the tube does the plastic soften, what does a cooler buy, and does the screw's metal matter?",
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

screw_conductivity = HEAT.given(
    "screw_conductivity", "k_s", "W/m/K", "thermal conductivity of the screw", 0.1, 420, part="screw"
)
shank_length = HEAT.given(
    "shank_length", "l_sh", "mm", "length of screw from the throat back to its bearing", 2, 300, part="screw"
)
screw_density = HEAT.given("screw_density", "rho_screw", "kg/m**3", "density of the screw", 800, 9000, part="screw")
screw_specific_heat = HEAT.given(
    "screw_specific_heat", "c_s", "J/kg/K", "specific heat of the screw", 100, 3000, part="screw"
)
tube_outside_diameter = HEAT.given(
    "tube_outside_diameter", "D_o", "mm", "outside diameter of the tube", 2.4, 60, part="tube"
)
tube_length = HEAT.given(
    "tube_length", "L_t", "mm", "length of tube from the throat to the heated block", 5, 300, part="tube", primary=True
)
tube_conductivity = HEAT.given(
    "tube_conductivity", "k_t", "W/m/K", "thermal conductivity of the tube", 0.1, 420, part="tube"
)
tube_density = HEAT.given("tube_density", "rho_tube", "kg/m**3", "density of the tube", 800, 9000, part="tube")
tube_specific_heat = HEAT.given(
    "tube_specific_heat", "c_t", "J/kg/K", "specific heat of the tube", 100, 3000, part="tube"
)
tube_highest_temperature = HEAT.given(
    "tube_highest_temperature", "T_t_max", "degC", "highest temperature that the tube's material bears", 30, 1200,
    part="tube",
)  # fmt: skip
break_highest_temperature = HEAT.given(
    "break_highest_temperature", "T_b_max", "degC", "highest temperature that the thermal break's material bears",
    30, 1200, part="tube",
)  # fmt: skip
break_start = HEAT.given(
    "break_start", "z_b", "mm", "where the thermal break begins, from the throat", 0, 300, part="tube"
)
break_length = HEAT.given(
    "break_length", "L_b", "mm", "length of the thermal break; 0 is a tube without one", 0, 100, part="tube",
    primary=True,
)  # fmt: skip
break_conductivity = HEAT.given(
    "break_conductivity", "k_b", "W/m/K", "thermal conductivity of the thermal break", 0.1, 420, part="tube"
)
break_wall = HEAT.given("break_wall", "w_b", "mm", "thickness of the wall in the thermal break", 0.1, 20, part="tube")
break_density = HEAT.given(
    "break_density", "rho_break", "kg/m**3", "density of the thermal break", 500, 9000, part="tube"
)
break_specific_heat = HEAT.given(
    "break_specific_heat", "c_b", "J/kg/K", "specific heat of the thermal break", 100, 3000, part="tube"
)
heated_length = HEAT.given(
    "heated_length", "L_h", "mm", "length of heated block about the screw, up to the screw's tip", 1, 150,
    part="heating",
)  # fmt: skip
set_temperature = HEAT.given(
    "set_temperature", "T_set", "degC", "temperature of the heated block", 40, 350, part="heating", primary=True
)
room_temperature = HEAT.given(
    "room_temperature", "T_room", "degC", "temperature of the air about the tube, and of the bearing", 0, 80,
    part="heating",
)  # fmt: skip
throat_temperature = HEAT.given(
    "throat_temperature", "T_in", "degC", "temperature of the granules that enter the tube", 0, 120, part="heating"
)
film_coefficient = HEAT.given(
    "film_coefficient", "h_b", "W/m**2/K", "heat from the bare tube to the air, for each area and kelvin", 0, 300,
    part="heating",
)  # fmt: skip
cooler_film_coefficient = HEAT.given(
    "cooler_film_coefficient", "h_c", "W/m**2/K",
    "the same under the cooler; its fins are counted as if they were on the tube's own surface", 0, 3000,
    part="heating", primary=True,
)  # fmt: skip
cooler_start = HEAT.given(
    "cooler_start", "z_1", "mm", "where the cooler begins, from the throat", 0, 300, part="heating"
)
cooler_end = HEAT.given("cooler_end", "z_2", "mm", "where the cooler ends, from the throat", 0, 300, part="heating")
block_loss = HEAT.given(
    "block_loss", "H_b", "W/K", "heat from the heated block and nozzle to the air, for each kelvin", 0, 0.5,
    part="heating",
)  # fmt: skip
heater_rating = HEAT.given(
    "heater_rating", "W_r", "W", "most power that the heater gives, at the voltage it gets", 2, 300, part="heating"
)
softening_temperature = HEAT.given(
    "softening_temperature", "T_soft", "degC", "temperature at which the plastic gives way and sticks", 30, 260,
    part="plastic",
)  # fmt: skip
degradation_temperature = HEAT.given(
    "degradation_temperature", "T_deg", "degC", "highest temperature that the maker of the plastic allows", 100, 420,
    part="plastic",
)  # fmt: skip
loose_conductivity = HEAT.given(
    "loose_conductivity", "k_loose", "W/m/K", "thermal conductivity of packed grains", 0.03, 0.5, part="plastic"
)
fused_conductivity = HEAT.given(
    "fused_conductivity", "k_fused", "W/m/K", "thermal conductivity of fused plastic", 0.05, 2, part="plastic"
)
melt_density = HEAT.given("melt_density", "rho_m", "kg/m**3", "density of the melt", 600, 2500, part="plastic")
melt_specific_heat = HEAT.given(
    "melt_specific_heat", "c_m", "J/kg/K", "heat to warm the plastic, for each mass and kelvin, from throat to melt",
    800, 4000, part="plastic",
)  # fmt: skip

tube_material = HEAT.lookup(
    "tube_material", "what the tube is made of", "materials",
    {
        tube_conductivity: "conductivity", tube_density: "density", tube_specific_heat: "specific_heat",
        tube_highest_temperature: "highest_temperature",
    },
    part="tube",
)  # fmt: skip
screw_material = HEAT.lookup(
    "screw_material", "what the screw is made of", "materials",
    {screw_conductivity: "conductivity", screw_density: "density", screw_specific_heat: "specific_heat"}, part="screw",
)  # fmt: skip
break_material = HEAT.lookup(
    "break_material", "what the thermal break is made of", "materials",
    {
        break_conductivity: "conductivity", break_density: "density", break_specific_heat: "specific_heat",
        break_highest_temperature: "highest_temperature",
    },
    part="tube",
)  # fmt: skip
HEAT.require(bore_diameter, tube_outside_diameter, "the tube needs a wall")

screw_section = HEAT.result("screw_section", "A_s", "mm**2", "section of the screw's core", positive=True)
tube_section = HEAT.result("tube_section", "A_t", "mm**2", "section of the tube's wall", positive=True)
break_section = HEAT.result("break_section", "A_b", "mm**2", "section of the wall in the thermal break", positive=True)
break_outside_diameter = HEAT.result(
    "break_outside_diameter", "D_b", "mm", "outside diameter of the thermal break", positive=True
)
break_worth = HEAT.result(
    "break_worth", "L_eq", "mm", "length of plain tube that resists heat as much as the thermal break does"
)
plastic_section = HEAT.result("plastic_section", "A_p", "mm**2", "section of plastic in the bore, averaged over a turn")
screw_radius = HEAT.result("screw_radius", "r_s", "mm", "radius of a plain rod with as much volume as the screw")
screw_shell = HEAT.result(
    "screw_shell", "g_s", "1", "conductance from plastic to screw for each length, over the plastic's conductivity"
)
wall_shell = HEAT.result(
    "wall_shell", "g_w", "1", "conductance from plastic to wall for each length, over the plastic's conductivity"
)

HEAT.relation("screw_section", screw_section, pi * core_diameter**2 / 4, "The section of the core",
                 source=_DEFINITION, assumptions=(CORE,))  # fmt: skip
HEAT.relation(
    "tube_section", tube_section, pi * (tube_outside_diameter**2 - bore_diameter**2) / 4, "The section of the wall",
    source=_DEFINITION,
)  # fmt: skip
HEAT.relation("break_section", break_section, pi * break_wall * (bore_diameter + break_wall),
                 "The section of the break's wall", source=_DEFINITION)  # fmt: skip
HEAT.relation("break_outside_diameter", break_outside_diameter, bore_diameter + 2 * break_wall,
                 "Bore and both walls", source=_DEFINITION)  # fmt: skip
HEAT.relation(
    "break_worth", break_worth,
    break_length * tube_conductivity * tube_section / (break_conductivity * break_section),
    "As much resistance as the break's", source=_WALL, assumptions=(ALONG_BREAK,),
)  # fmt: skip
HEAT.relation("plastic_section", plastic_section, net_volume / pitch, "The room of a turn over its length",
                 source=_DEFINITION, assumptions=("the bore is full of plastic",))  # fmt: skip
HEAT.relation(
    "screw_radius", screw_radius, sqrt(bore_diameter**2 / 4 - plastic_section / pi),
    "What the plastic leaves of the bore, as a plain rod", source=_HERE,
    valid=((
        plastic_section > 0,
        "the screw fills the bore and leaves no room for plastic: enlarge bore or pitch, or lower the flank angle",
    ),),
)  # fmt: skip
HEAT.relation(
    "screw_shell", screw_shell, 2 * pi / log((screw_radius + bore_diameter / 2) / (2 * screw_radius)),
    "The shell from the middle of the plastic to the screw", source=_SHELL, assumptions=(SLICE, NO_MIXING),
)  # fmt: skip
HEAT.relation(
    "wall_shell", wall_shell, 2 * pi / log(bore_diameter / (screw_radius + bore_diameter / 2)),
    "The shell from the middle of the plastic to the wall", source=_SHELL, assumptions=(SLICE, NO_MIXING),
)  # fmt: skip

screw_heat_held = HEAT.result(
    "screw_heat_held", "H_s", "J/m/K", "heat that a length of screw holds for each kelvin", positive=True
)
tube_heat_held = HEAT.result(
    "tube_heat_held", "H_t", "J/m/K", "heat that a length of tube holds for each kelvin", positive=True
)
break_heat_held = HEAT.result(
    "break_heat_held", "H_br", "J/m/K", "heat that a length of thermal break holds for each kelvin", positive=True
)
hard_heat_held = HEAT.result("hard_heat_held", "H_hard", "J/m/K", "the same for hard plastic in the bore")
soft_heat_held = HEAT.result("soft_heat_held", "H_melt", "J/m/K", "the same for soft plastic in the bore")

_BY_VOLUME = "Density, specific heat and section"
HEAT.relation("screw_heat_held", screw_heat_held, screw_density * screw_specific_heat * pi * screw_radius**2,
              _BY_VOLUME, source=_DEFINITION, assumptions=("the flights hold heat like the core",))  # fmt: skip
HEAT.relation("tube_heat_held", tube_heat_held, tube_density * tube_specific_heat * tube_section, _BY_VOLUME,
              source=_DEFINITION)  # fmt: skip
HEAT.relation("break_heat_held", break_heat_held, break_density * break_specific_heat * break_section, _BY_VOLUME,
              source=_DEFINITION)  # fmt: skip
HEAT.relation("hard_heat_held", hard_heat_held, loose_density * melt_specific_heat * plastic_section, _BY_VOLUME,
              source=_DEFINITION, assumptions=("grains lie as loose as in the cup",))  # fmt: skip
HEAT.relation("soft_heat_held", soft_heat_held, melt_density * melt_specific_heat * plastic_section, _BY_VOLUME,
              source=_DEFINITION)  # fmt: skip
