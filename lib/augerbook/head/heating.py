"""Heated block, cooler and the air about them."""

from __future__ import annotations

from augerbook.core.part import Part
from augerbook.head.tube import tube_outside_diameter

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
    "film_coefficient", "h_b", "W/m**2/K", "heat from the bare tube to the air, per area and per kelvin", 0, 300
)
FILM_KNOWN, STILL_AIR, FAN_BARE, FAN_FINS, WATER = (
    "known", "still air", "fan, bare tube", "fan, finned sleeve", "water jacket",
)  # fmt: skip
cooler_kind = PART.choice(
    "cooler_kind",
    "what cools the tube",
    {
        FILM_KNOWN: "its film coefficient is known, measured or estimated",
        STILL_AIR: "nothing: the bare tube stands upright in still air",
        FAN_BARE: "a fan blows across the bare tube",
        FAN_FINS: "a fan blows between round fins on a sleeve",
        WATER: "water runs slowly through a narrow gap about the tube",
    },
)
cooler_film_coefficient = PART.given(
    "cooler_film_coefficient",
    "h_c",
    "W/m**2/K",
    "heat under a cooler whose film is known, per area of the tube's own surface and per kelvin",
    0,
    3000,
    primary=True,
)
cooler_factor = PART.given(
    "cooler_factor", "f_c", "1", "what the cooler gives over what its published formula says", 0.2, 3
)
air_speed = PART.given(
    "air_speed", "u_air", "m/s", "speed of the air across the tube, or between the fins", 0.1, 20, primary=True
)
tube_emissivity = PART.given(
    "tube_emissivity", "epsilon_t", "1", "how much the tube radiates: 0.1 when polished, 0.9 when painted", 0.02, 1
)
sleeve_diameter = PART.given("sleeve_diameter", "d_v", "mm", "diameter of the finned sleeve between its fins", 3, 80)
fin_diameter = PART.given("fin_diameter", "D_v", "mm", "outside diameter of the fins", 4, 150)
fin_thickness = PART.given("fin_thickness", "t_v", "mm", "thickness of a fin", 0.1, 6)
fin_gap = PART.given("fin_gap", "s_v", "mm", "gap between two fins", 0.3, 20)
fin_conductivity = PART.given("fin_conductivity", "k_v", "W/m/K", "thermal conductivity of sleeve and fins", 0.1, 420)
joint_gap = PART.given("joint_gap", "g_v", "mm", "gap between tube and sleeve, as a feeler gauge finds it", 0, 1)
joint_conductivity = PART.given(
    "joint_conductivity",
    "k_g",
    "W/m/K",
    "thermal conductivity of what fills that gap: 0.027 for air, about 0.8 for paste",
    0.01,
    400,
)
jacket_gap = PART.given("jacket_gap", "s_j", "mm", "width of the gap that the water runs through", 0.2, 20)
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
fin_material = PART.lookup("fin_material", "what the fins are made of", "materials", {fin_conductivity: "conductivity"})
PART.require(sleeve_diameter, fin_diameter, "fins stand out from their sleeve")
PART.require(tube_outside_diameter, sleeve_diameter, "the sleeve lies round the tube")
