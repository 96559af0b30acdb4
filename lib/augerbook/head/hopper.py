"""The hopper and the way from it into the screw."""

from __future__ import annotations

from augerbook.core.part import Part
from augerbook.head.tube import bore_diameter

PART = Part("hopper", number=2, title="Hopper")

STILL, STIRRED = "nothing", "wire"
hopper_stirring = PART.choice(
    "hopper_stirring",
    "what moves the granules in the hopper",
    {
        STILL: "nothing but the screw below the outlet",
        STIRRED: "a bent wire that turns with the screw and sweeps the outlet",
    },
)
SLOT, STEPPED = "slot", "stepped bore"
inlet_kind = PART.choice(
    "inlet_kind",
    "how the granules reach the screw",
    {
        SLOT: "through a slot in the side of the tube",
        STEPPED: "from all round: the bore widens to a cup about the screw",
    },
)
hopper_diameter = PART.given("hopper_diameter", "D_h", "mm", "inside width of the hopper", 8, 400)
fill_height = PART.given("fill_height", "z_h", "mm", "depth of the granules above the outlet", 5, 800, primary=True)
outlet_diameter = PART.given(
    "outlet_diameter", "D_out", "mm", "narrowest place between hopper and screw", 2, 100, primary=True
)
hopper_half_angle = PART.given(
    "hopper_half_angle", "theta_h", "deg", "slope of the hopper's wall, counted from vertical", 5, 70
)
friction_hopper = PART.given(
    "friction_hopper",
    "mu_h",
    "1",
    "friction of the granules on the hopper's wall",
    0.05,
    0.9,
    title="friction on the hopper wall",
)
hopper_stress_ratio = PART.given(
    "hopper_stress_ratio", "K_h", "1", "sideways over downward pressure in resting granules", 0.2, 0.9
)
flow_factor = PART.given("flow_factor", "ff", "1", "pressure that packed the dust over the stress in its arch", 1.05, 4)
settling_time = PART.given(
    "settling_time", "tau_s", "min", "time in which the shaking does 63 % of the settling", 0.5, 1000
)
slot_width = PART.given("slot_width", "w_slot", "mm", "width of the slot across the tube", 0.5, 25, primary=True)
cup_diameter = PART.given("cup_diameter", "D_cup", "mm", "diameter of the stepped bore", 2.5, 60)
inlet_length = PART.given(
    "inlet_length", "L_in", "mm", "length of the screw that lies open to the granules", 0.5, 100, primary=True
)
inlet_turning = PART.given(
    "inlet_turning",
    "k_in",
    "1",
    "share of the screw's speed with which loose granules turn under the opening",
    0.1,
    0.9,
)
filling_order = PART.given(
    "filling_order", "s", "1", "unevenness of the filling over that of grains that fall in at random", 0.1, 1.5
)
PART.require(outlet_diameter, hopper_diameter, "the outlet is the narrowest place")
PART.require(bore_diameter, cup_diameter, "a stepped bore widens to a cup")
