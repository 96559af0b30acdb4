"""What the machine asks of the head."""

from __future__ import annotations

from augerbook.core.part import Part

PART = Part("printing", number=11, title="Printing")

time_since_filling = PART.given("time_since_filling", "t_h", "min", "time since the hopper was filled", 0, 3000)
wanted_flow = PART.given(
    "wanted_flow", "Q", "mm**3/s", "plastic wanted at the nozzle, as solid volume", 0.1, 30, primary=True
)
line_width = PART.given("line_width", "w", "mm", "width of the printed line", 0.2, 8, primary=True)
layer_height = PART.given("layer_height", "h_l", "mm", "height of a printed layer", 0.05, 4, primary=True)
print_acceleration = PART.given(
    "print_acceleration", "a_print", "mm/s**2", "acceleration of the head while it prints", 10, 20_000, primary=True
)
retraction_volume = PART.given(
    "retraction_volume", "V_r", "mm**3", "melt that the machine takes back at a stop", 0.2, 100, primary=True
)
PART.require(layer_height, line_width, "a line is pressed flat, wider than high")
friction_swing = PART.given(
    "friction_swing",
    "d_mu",
    "percent",
    "how much the friction that holds the plug changes during a print, standard deviation",
    0,
    60,
)
filling_swing = PART.given(
    "filling_swing",
    "d_F",
    "percent",
    "how much the filling of the flights changes during a print, beyond counting, standard deviation",
    0,
    60,
)
pressure_swing = PART.given(
    "pressure_swing",
    "d_P",
    "percent",
    "how much the pressure at the nozzle changes during a print, standard deviation",
    0,
    90,
)
