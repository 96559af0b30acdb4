"""Heated block, cooler and the air about them."""

from __future__ import annotations

from augerbook.core.part import Part

PART = Part("heating", number=8, title="Heating and cooling")

air_viscosity = PART.given("air_viscosity", "eta_air", "uPa*s", "viscosity of the air in the tube", 15, 40)
heated_length = PART.given(
    "heated_length", "L_h", "mm", "length of heated block about the screw, up to the screw's tip", 1, 150
)
set_temperature = PART.given(
    "set_temperature", "T_set", "degC", "temperature of the heated block", 40, 350, primary=True
)
room_temperature = PART.given("room_temperature", "T_room", "degC", "temperature of the air about the tube", 0, 80)
drive_temperature = PART.given(
    "drive_temperature", "T_drive", "degC", "temperature of bearing and gear, where the screw's shank ends", 0, 120
)
throat_temperature = PART.given(
    "throat_temperature", "T_in", "degC", "temperature of the granules that enter the tube", 0, 120
)
film_coefficient = PART.given(
    "film_coefficient", "h_b", "W/m**2/K", "heat from the bare tube to the air, for each area and kelvin", 0, 300
)
cooler_film_coefficient = PART.given(
    "cooler_film_coefficient",
    "h_c",
    "W/m**2/K",
    "the same under the cooler; its fins are counted as if they were on the tube's own surface",
    0,
    3000,
    primary=True,
)
cooler_start = PART.given("cooler_start", "z_1", "mm", "where the cooler begins, from the throat", 0, 300)
cooler_end = PART.given("cooler_end", "z_2", "mm", "where the cooler ends, from the throat", 0, 300)
block_loss = PART.given(
    "block_loss", "H_b", "W/K", "heat from the heated block and nozzle to the air, for each kelvin", 0, 0.5
)
heater_rating = PART.given(
    "heater_rating", "W_r", "W", "most power that the heater gives, at the voltage it gets", 2, 300
)
hard_heat_share = PART.given(
    "hard_heat_share", "x_hard", "percent", "share of the screw's work that heats the end of the hard plug", 0, 90
)
block_heat_share = PART.given(
    "block_heat_share", "x_block", "percent", "share of the screw's work that heats the melt in the block", 0, 90
)
wall_heat_share = PART.given(
    "wall_heat_share",
    "x_wall",
    "percent",
    "share of the work done in the tube that heats its wall and not the plastic",
    0,
    100,
)
