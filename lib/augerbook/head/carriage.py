"""The carriage that carries the head along its rail, how stiff it is held, and what was seen of its ringing."""

from __future__ import annotations

from augerbook.core.part import Part
from augerbook.core.quantity import Quantity
from augerbook.head.decay_record import decay_record_faults

PART = Part("carriage", number=12, title="Carriage")

_ABOVE_TIP = "above the tip of the nozzle"
rail_height = PART.given(
    "rail_height", "z_R", "mm", f"height of the rail {_ABOVE_TIP}: where belt and bearings hold", 0, 400, primary=True
)
motor_height = PART.given("motor_height", "z_M", "mm", f"height of the middle of motor and gear {_ABOVE_TIP}", 10, 600)
plate_height = PART.given("plate_height", "z_P", "mm", f"height of the plate {_ABOVE_TIP}", 10, 600)
hopper_height = PART.given(
    "hopper_height", "z_H", "mm", f"height of the middle of the granules in the hopper {_ABOVE_TIP}", 10, 1000
)
carriage_mass = PART.given(
    "carriage_mass",
    "m_C",
    "g",
    "mass of everything else that moves: carriage, block, empty hopper, fan, screws, half of the cables",
    20,
    5000,
    primary=True,
)
slide_stiffness = PART.given(
    "slide_stiffness",
    "k_x",
    "N/mm",
    "force along the rail, at its height, over how far the carriage gives way: belt, motor and frame",
    0.5,
    2000,
    primary=True,
)
tilt_stiffness = PART.given(
    "tilt_stiffness",
    "k_phi",
    "N*m/deg",
    "torque about the rail over how far the carriage tilts on it",
    0.05,
    2000,
    primary=True,
)
RECORD, WALL = "record", "wall"
ringing_from = PART.choice(
    "ringing_from",
    "how frequency and damping of the ringing were measured",
    {
        RECORD: "a record of the dying vibration, by a phone's sensor or a film",
        WALL: "the waves on the wall of a test print",
    },
)
decay_record = PART.series(
    "decay_record",
    "record of the dying vibration: time, and displacement or acceleration in any one unit",
    (
        Quantity("sample_time", "t_i", "ms", "time of the reading", low=0, high=600_000),
        Quantity("sample_reading", "y_i", "1", "the reading", low=-1_000_000, high=1_000_000),
    ),
    check=decay_record_faults,
)
test_speed = PART.given("test_speed", "v_test", "mm/s", "speed along the wall of the test print", 1, 500)
test_wavelength = PART.given(
    "test_wavelength", "lambda_test", "mm", "from crest to crest of the waves on that wall", 0.05, 100
)
test_waves_to_half = PART.given(
    "test_waves_to_half", "n_test", "1", "waves on that wall until they are half as high", 0.2, 30
)
visible_wave = PART.given(
    "visible_wave", "x_see", "mm", "height of a wave, from valley to crest, that may just be seen or felt", 0.002, 0.5
)
