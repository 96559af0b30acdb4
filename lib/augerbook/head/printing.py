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
    "retraction_volume", "V_r", "mm**3", "melt that the machine is told to take back at a stop, counted as at work",
    0.2, 100, primary=True,
)  # fmt: skip
retraction_speed = PART.given(
    "retraction_speed", "N_back", "1/min", "revolutions of the screw in a minute, turning back", 0.5, 600, primary=True
)
travel_time = PART.given(
    "travel_time", "t_v", "s", "time for which the head moves without printing, from one line to the next", 0.05, 600,
    primary=True,
)  # fmt: skip
slow_speed = PART.given(
    "slow_speed", "v_s", "mm/s", "speed along the line where it is slowest: in corners and small details", 0.05, 300,
    primary=True,
)  # fmt: skip
shortest_line = PART.given("shortest_line", "l_s", "mm", "shortest line that is printed in one go", 0.5, 2000)
take_back_share = PART.given(
    "take_back_share", "x_r", "percent", "melt that a turn back takes back, over what a turn at work brings", 10, 400
)
soft_give_share = PART.given(
    "soft_give_share", "x_g", "percent",
    "share of what the pressure squeezes out of the softened plastic in the tube that comes forward at a stop", 0, 100,
    title="give of the softened plastic",
)  # fmt: skip
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
