"""The nozzle, the bore before it, and the thread that holds it in the block."""

from __future__ import annotations

from augerbook.core.part import Part

PART = Part("nozzle", number=10, title="Nozzle")

nozzle_diameter = PART.given("nozzle_diameter", "d_n", "mm", "bore of the nozzle at its end", 0.1, 2, primary=True)
land_length = PART.given(
    "land_length", "l_l", "mm", "length of the narrowest, straight part of the nozzle", 0.05, 20, primary=True
)
cone_half_angle = PART.given("cone_half_angle", "theta_c", "deg", "angle between the nozzle's axis and its cone", 5, 80)
melt_bore_diameter = PART.given("melt_bore_diameter", "D_m", "mm", "bore between the screw's tip and the cone", 0.5, 25)
melt_bore_length = PART.given("melt_bore_length", "l_m", "mm", "length of that bore", 0.1, 100, primary=True)
end_correction = PART.given(
    "end_correction", "n_e", "1", "loss at the entrance of the land, as length of land over its diameter", 0, 10
)
nozzle_thread_diameter = PART.given(
    "nozzle_thread_diameter", "d_N", "mm", "diameter over the thread that holds the nozzle in the block", 2, 24
)
nozzle_thread_pitch = PART.given("nozzle_thread_pitch", "p_N", "mm", "pitch of that thread", 0.25, 3)
nozzle_thread_length = PART.given(
    "nozzle_thread_length",
    "L_N",
    "mm",
    "length over which nozzle and block share full turns of that thread",
    0.5,
    40,
    primary=True,
)
nozzle_tightening_torque = PART.given(
    "nozzle_tightening_torque", "T_N", "N*m", "torque at which the nozzle is tightened", 0, 20
)
nozzle_nut_factor = PART.given(
    "nozzle_nut_factor",
    "K",
    "1",
    "tightening torque over the force it makes times the diameter of the thread",
    0.08,
    0.6,
)
nozzle_yield_strength = PART.given(
    "nozzle_yield_strength", "R_N", "MPa", "yield strength of the nozzle, at room temperature", 1, 2000
)
block_yield_strength = PART.given(
    "block_yield_strength", "R_B", "MPa", "yield strength of the heated block, at room temperature", 1, 2000
)
nozzle_strength_share = PART.given(
    "nozzle_strength_share", "x_N", "percent", "share of the nozzle's yield strength that is left when hot", 5, 100
)
block_strength_share = PART.given(
    "block_strength_share", "x_B", "percent", "share of the block's yield strength that is left after long heat", 5, 100
)
nozzle_highest_temperature = PART.given(
    "nozzle_highest_temperature",
    "T_N_max",
    "degC",
    "highest temperature that the nozzle's material bears",
    30,
    1200,
    title="nozzle's temperature limit",
)
block_highest_temperature = PART.given(
    "block_highest_temperature",
    "T_B_max",
    "degC",
    "highest temperature that the block's material bears",
    30,
    1200,
    title="block's temperature limit",
)
nozzle_material = PART.lookup(
    "nozzle_material",
    "what the nozzle is made of",
    "materials",
    {nozzle_yield_strength: "yield_strength", nozzle_highest_temperature: "highest_temperature"},
    tells=((nozzle_yield_strength,),),
)
block_material = PART.lookup(
    "block_material",
    "what the heated block is made of",
    "materials",
    {block_yield_strength: "yield_strength", block_highest_temperature: "highest_temperature"},
    tells=((block_yield_strength,),),
)
PART.require(nozzle_diameter, melt_bore_diameter, "a cone narrows towards the land")
PART.require(nozzle_thread_pitch, nozzle_thread_diameter, "a thread is shallower than what it is cut into")
