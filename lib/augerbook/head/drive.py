"""What turns the screw."""

from __future__ import annotations

from augerbook.core.part import Part

PART = Part("drive", number=5, title="Motor and gear")

running_torque = PART.given("running_torque", "T", "N*m", "torque at the screw while it runs", 0.005, 6, primary=True)
stall_torque = PART.given(
    "stall_torque", "T_stall", "N*m", "torque at the screw when the motor stalls", 0.02, 12, primary=True
)
screw_speed = PART.given("screw_speed", "N", "1/min", "revolutions of the screw in a minute", 0.5, 200, primary=True)
coupling_stiffness = PART.given(
    "coupling_stiffness",
    "k_c",
    "N/um",
    "axial stiffness of what joins screw and bearing: collar, nut, sleeve",
    0.5,
    2000,
)
motor_mass = PART.given("motor_mass", "m_mot", "g", "mass of the motor", 20, 3000)
gear_mass = PART.given("gear_mass", "m_gear", "g", "mass of the gear; zero without one", 0, 3000)
gear_backlash = PART.given(
    "gear_backlash", "beta_g", "deg", "how far the gear's output can be turned while the motor stands still", 0, 20
)
PART.require(running_torque, stall_torque, "a motor that runs has torque to spare before it stalls")
