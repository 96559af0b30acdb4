"""The bored tube and the thermal break in it."""

from __future__ import annotations

from augerbook.core.part import Part

PART = Part("tube", number=4, title="Tube")

bore_diameter = PART.given("bore_diameter", "D", "mm", "diameter of the bore", 2.2, 25, primary=True)
friction_barrel = PART.given(
    "friction_barrel",
    "mu_w",
    "1",
    "friction of the plastic on the wall of the bore",
    0.03,
    1.2,
    title="friction on the bore",
)
tube_outside_diameter = PART.given("tube_outside_diameter", "D_o", "mm", "outside diameter of the tube", 2.4, 60)
tube_length = PART.given(
    "tube_length", "L_t", "mm", "length of tube from the throat to the heated block", 5, 300, primary=True
)
tube_conductivity = PART.given("tube_conductivity", "k_t", "W/m/K", "thermal conductivity of the tube", 0.1, 420)
tube_density = PART.given("tube_density", "rho_tube", "kg/m**3", "density of the tube", 800, 9000)
tube_specific_heat = PART.given("tube_specific_heat", "c_t", "J/kg/K", "specific heat of the tube", 100, 3000)
tube_highest_temperature = PART.given(
    "tube_highest_temperature",
    "T_t_max",
    "degC",
    "highest temperature that the tube's material bears",
    30,
    1200,
    title="tube's temperature limit",
)
break_highest_temperature = PART.given(
    "break_highest_temperature",
    "T_b_max",
    "degC",
    "highest temperature that the thermal break's material bears",
    30,
    1200,
    title="break's temperature limit",
)
break_start = PART.given(
    "break_start",
    "z_b",
    "mm",
    "where the thermal break begins, from the throat",
    0,
    300,
    title="start of thermal break",
)
break_length = PART.given(
    "break_length",
    "L_b",
    "mm",
    "length of the thermal break; 0 is a tube without one",
    0,
    100,
    primary=True,
    title="length of thermal break",
)
break_conductivity = PART.given(
    "break_conductivity", "k_b", "W/m/K", "thermal conductivity of the thermal break", 0.1, 420
)
break_wall = PART.given(
    "break_wall", "w_b", "mm", "thickness of the wall in the thermal break", 0.1, 20, title="wall of thermal break"
)
break_density = PART.given("break_density", "rho_break", "kg/m**3", "density of the thermal break", 500, 9000)
break_specific_heat = PART.given(
    "break_specific_heat", "c_b", "J/kg/K", "specific heat of the thermal break", 100, 3000
)
tube_yield_strength = PART.given(
    "tube_yield_strength", "R_t", "MPa", "yield strength of the tube, at room temperature", 1, 2000
)
break_yield_strength = PART.given(
    "break_yield_strength", "R_b", "MPa", "yield strength of the thermal break, at room temperature", 1, 2000
)
hot_strength_share = PART.given(
    "hot_strength_share", "x_R", "percent", "share of the yield strength that is left beside the block", 5, 100
)
tube_material = PART.lookup(
    "tube_material",
    "what the tube is made of",
    "materials",
    {
        tube_conductivity: "conductivity",
        tube_density: "density",
        tube_specific_heat: "specific_heat",
        tube_highest_temperature: "highest_temperature",
        tube_yield_strength: "yield_strength",
    },
    tells=((tube_yield_strength,),),
)
break_material = PART.lookup(
    "break_material",
    "what the thermal break is made of",
    "materials",
    {
        break_conductivity: "conductivity",
        break_density: "density",
        break_specific_heat: "specific_heat",
        break_highest_temperature: "highest_temperature",
        break_yield_strength: "yield_strength",
    },
    tells=((break_yield_strength,),),
)
PART.require(bore_diameter, tube_outside_diameter, "the tube needs a wall")
