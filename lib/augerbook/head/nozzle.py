"""The nozzle and the bore before it."""

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
PART.require(nozzle_diameter, melt_bore_diameter, "a cone narrows towards the land")
