"""Which inputs of a build a builder decides, as against what is measured, looked up or only roughly known."""

from __future__ import annotations

from augerbook.builds.build import Build
from augerbook.core.quantity import Quantity

#: What a builder buys, cuts, sets or asks for, by the part of the head. All else is found: a property of a material or
#: of a part as sold, what a scale or a thermometer shows (the room too), or what is known no better.
DECIDED: dict[str, tuple[str, ...]] = {
    "feedstock": ("drying_temperature", "drying_time", "batch_mass", "recycled_share", "sieve_mesh"),
    "hopper": (
        "hopper_diameter", "fill_height", "outlet_diameter", "hopper_half_angle", "slot_width", "cup_diameter",
        "inlet_length",
    ),
    "screw": (
        "major_diameter", "core_diameter", "pitch", "flank_half_angle", "crest_width", "flighted_length",
        "shank_length",
    ),
    "tube": (
        "bore_diameter", "tube_outside_diameter", "tube_length", "break_start", "break_length", "break_wall",
    ),
    "drive": (
        "screw_speed", "set_current", "supply_voltage", "microsteps", "gear_ratio", "setscrew_count",
        "commanded_volume", "steps_setting",
    ),
    "bearing": ("axial_preload", "mounting_play"),
    "plate": ("plate_thickness", "plate_span", "plate_width", "seat_diameter", "bolt_head_diameter"),
    "heating": (
        "heated_length", "set_temperature", "cooler_film_coefficient", "air_speed", "tube_emissivity",
        "sleeve_diameter", "fin_diameter", "fin_thickness", "fin_gap", "joint_gap", "jacket_gap", "cooler_start",
        "cooler_end", "heater_rating",
    ),
    "nozzle": (
        "nozzle_diameter", "land_length", "cone_half_angle", "melt_bore_diameter", "melt_bore_length",
        "nozzle_thread_diameter", "nozzle_thread_pitch", "nozzle_thread_length", "nozzle_tightening_torque",
    ),
    "printing": (
        "time_since_filling", "wanted_flow", "line_width", "layer_height", "print_acceleration", "retraction_volume",
        "retraction_speed", "travel_time", "slow_speed", "shortest_line",
    ),
    "carriage": ("rail_height", "motor_height", "plate_height", "hopper_height", "carriage_mass", "test_speed"),
    "choosing": ("draw_count", "wanted_half_width"),
    "trials": (
        "weighing_time", "effect_wanted", "confidence_wanted", "power_wanted", "weighings", "screws_compared",
        "plug_test_length",
    ),
}  # fmt: skip


def can_be_turned(build: Build) -> list[Quantity]:
    """Return the inputs of a build that a builder decides, known exactly or within a spread."""
    return [q for q in build.values if isinstance(q, Quantity) and q.key in DECIDED.get(q.part, ())]
