"""What a margin advises must help: one step in the direction it names betters the margin, where the margin is tight.

Each clause of an advice stands here with the step that it means. A clause that no step can be given for says something
about the world outside the model, and is listed as such.
"""

import math
import re
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest
from augerbook.builds.build import Build
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.core.margin import Margin
from augerbook.head.drive import weighed_runs
from augerbook.head.feedstock import sieve_table
from augerbook.settle import settled

#: Values by key: a number is a factor, a pair ("+", x) or ("=", x) adds or sets in the unit shown, words choose.
Step = dict[str, Any]


@dataclass(frozen=True)
class Advice:
    """The clauses of a margin's advice, each with the step it means, and what makes the build tight before it.

    Attributes:
        build: name of the build that is changed.
        tight: what is changed before the steps, so that the margin is not good.
        clauses: words of the advice and the step, or None for what lies outside the model.
        at_rest: whether torque, speed and heat are settled before and after the step.
    """

    clauses: dict[str, Step | None]
    build: str = "otter"
    tight: Step = field(default_factory=dict)
    at_rest: bool = False


ADVICE = {
    "feedstock.moisture_ratio": Advice(
        {
            "dry longer if the air is dry enough": {"drying_time": 1.3},
            "else dry the air": {"air_humidity": 0.5},
            "sieve chunks finer": {"sieve_mesh": 0.8},
            "dry hotter only as far as the plastic's data sheet allows": {"drying_temperature": ("+", 3)},
        },
        build="wren",
        tight={"drying_time": 0.2},
    ),
    "feedstock.dirt_ratio": Advice(
        {
            "wash the scrap": {"dirt_size": 0.8},
            "pass a magnet over the granules": {"dirt_size": 0.8},
            "put a finer screen before the nozzle": {"dirt_size": 0.8},
            "bore it wider": {"nozzle_diameter": 1.2},
        },
        tight={"dirt_size": 1.5},
    ),
    "grains.passing_over_grain": Advice(
        {
            "sieve through a finer mesh": {"sieve_mesh": 0.9},
            "a wider bore": {"bore_diameter": 1.05},
            "a screw with a larger pitch": {"pitch": 1.05},
        },
        build="wren",
    ),
    "grains.opposed_chance": Advice(
        {
            "sieve through a mesh finer than the size that passes with the screw centred": {"sieve_mesh": ("=", 0.9)},
            "take a wider bore": {"bore_diameter": 1.15},
            "a screw with a thinner core helps where the core holds the grain": {"core_diameter": 0.8},
            "one with a larger pitch where the flights do": {"core_diameter": 0.6, "pitch": 1.3},
        },
        build="wren",
    ),
    "grains.share_over_leaning": Advice(
        {
            "sieve through a mesh finer than the size that passes with the screw leaning": {"sieve_mesh": ("=", 1.2)},
            "take a wider bore": {"bore_diameter": 1.15},
        },
        build="wren",
        tight={"sieve_mesh": 1.3},
    ),
    "grains.caught_share": Advice(
        {
            "take a narrower bore": {"bore_diameter": 0.97},
            "a larger screw": {"major_diameter": 1.03},
            "sieve out the fines": {"sieve_table": "without the pan"},
        },
    ),
    "hopper.hausner_ratio": Advice(
        {
            "sieve the dust out and measure both densities again": {"loose_density": 1.05},
            "a hopper that is stirred all the time, or tapped down before the print and never during it, does not "
            "settle while it prints, whatever this ratio is": None,
        },
        tight={"loose_density": 0.95},
    ),
    "hopper.outlet_reserve": Advice(
        {
            "widen the outlet": {"outlet_diameter": 1.2},
            "sieve finer where grains decide and not the dust": {"sieve_mesh": 0.8},
            "let a bent wire turn in it with the screw": {"hopper_stirring": "wire"},
        },
        tight={"hopper_stirring": "nothing"},
    ),
    "hopper.inlet_ratio": Advice(
        {"widen the opening": {"slot_width": 1.1}, "sieve finer": {"sieve_mesh": 0.8}}, tight={"slot_width": 0.7}
    ),
    "hopper.flight_fill": Advice(
        {
            "make a slot longer than four pitches and the largest grain together": {"inlet_length": ("=", 12.5)},
            "both its sides wide enough for grains to fall in": {"inlet_length": 1.5, "slot_width": 1.2},
            "widen the bore to a cup about the screw": {"inlet_kind": "stepped bore", "cup_diameter": ("=", 12)},
        },
        tight={"inlet_length": ("=", 3)},
    ),
    "conveying.grip_reserve": Advice(
        {
            "lengthen the tube": {"tube_length": ("+", 6), "cooler_end": ("+", 6)},
            "cool it closer to the heated block": {"cooler_end": ("+", 2)},
            "roughen the bore along its length": {"friction_barrel": 1.1},
            "polish the screw": {"friction_screw": 0.9},
            "take a larger nozzle": {"nozzle_diameter": 1.2},
        },
        tight={"friction_barrel": 0.72},
    ),
    "conveying.speed_for_flow": Advice(
        {"take a screw with more room per turn": {"pitch": 1.1}, "print more slowly": {"wanted_flow": 0.8}},
        tight={"wanted_flow": 3.5},
    ),
    "air.air_margin": Advice(
        {
            "sieve the dust out": {"sieve_table": "without the pan"},
            "take a screw with a larger pitch": {"pitch": 1.1},
            "print more slowly": {"wanted_flow": 0.8},
            "this is an estimate, so look at a cut through the melt first": None,
        },
        tight={"wanted_flow": 2.2},
    ),
    "ripple.unevenness": Advice(
        {
            "grind and sieve finer, as long as counting has the largest share and the flights still catch enough "
            "grains: grains half as large leave a third of its part, half the mesh alone not quite half": {
                "sieve_mesh": 0.8
            },
            "else mend the largest share: for the filling a longer opening and a stirred hopper": {
                "filling_swing": 0.5
            },
            "for friction a polished screw": {"friction_screw": 0.9},
            "a longer cold part, which steadies the plug": {"tube_length": ("+", 6), "cooler_end": ("+", 6)},
        },
    ),
    "heat.heater_share": Advice(
        {
            "wrap the block": {"block_loss": 0.8},
            "take a stronger heater": {"heater_rating": 1.2},
            "a thinner wall": {"tube_outside_diameter": 0.95},
            "a thermal break lets less heat up the tube, if it still holds at stall (see the stress of the tube)": {
                "break_length": ("=", 3)
            },
        },
        tight={"heater_rating": 0.6},
    ),
    "heat.softened_share": Advice(
        {
            "cool the tube closer to the heated block": {"cooler_end": ("+", 2)},
            "see that the cooler sits tight, with paste in its gap": {"joint_gap": 0.6},
            "take a tube that conducts less": {"tube_conductivity": 0.8},
            "a thinner one if it still holds at stall (see the stress of the tube)": {"tube_outside_diameter": 0.95},
        },
        tight={"tube_conductivity": 5, "cooler_factor": 0.7},
    ),
    "heat.screw_soft_share": Advice(
        {
            "take a screw that conducts less, such as stainless steel, once the tube is cooled well": {
                "screw_material": "stainless steel"
            }
        },
    ),
    "heat.throat_reserve": Advice(
        {
            "take a screw that conducts less": {"screw_conductivity": 0.6},
            "keep bearing and motor cold": {"drive_temperature": ("+", -10)},
            "lengthen the tube": {"tube_length": ("+", 8), "cooler_end": ("+", 8)},
            "cool the tube first if its soft part reaches far up": {"air_speed": 1.3},
        },
    ),
    "melt.wall_stress": Advice(
        {
            "take a wider nozzle": {"nozzle_diameter": 1.2},
            "print more slowly": {"wanted_flow": 0.8},
            "raise the temperature within what the plastic bears": {"set_temperature": ("+", 8)},
        },
        tight={"nozzle_diameter": ("=", 0.3)},
    ),
    "melt.melting_reserve": Advice(
        {
            "print more slowly": {"wanted_flow": 0.8},
            "lengthen the heated block": {"heated_length": 1.2},
            "take a screw that leaves a thinner ring": {"core_diameter": 1.05},
        },
        tight={"wanted_flow": 6, "heated_length": 0.3},
    ),
    "pumping.weak_pump": Advice(
        {
            "straighten a bent screw": {"screw_offset": "leaning"},
            "take a larger screw": {"major_diameter": 1.03},
            "a smaller bore": {"bore_diameter": 0.97},
            "so that the gap over the tip shrinks": {"major_diameter": 1.03},
            "the pitch helps far less": None,
        },
        build="wren",
        tight={"bore_diameter": 1.02},
    ),
    "pumping.hard_pump": Advice(
        {
            "leave a wider gap over the tip": {"bore_diameter": 1.03},
            "if the screw is to stay, see that bearing, plate, tube and nozzle bear the thrust at stall": None,
        },
        tight={"bore_diameter": 0.88},
    ),
    "operating.push_reserve": Advice(
        {
            "lengthen the cold part": {"tube_length": ("+", 6), "cooler_end": ("+", 6)},
            "roughen the bore": {"friction_barrel": 1.1},
            "polish the screw": {"friction_screw": 0.9},
            "shorten the soft part": {"cooler_end": ("+", 2)},
            "print more slowly": {"wanted_flow": 0.8},
        },
        tight={"friction_barrel": 0.73},
        at_rest=True,
    ),
    "operating.blocked_share": Advice(
        {
            "leave a wider gap over the tips": {"bore_diameter": 1.03},
            "take a larger nozzle": {"nozzle_diameter": 1.1},
            "print more slowly": {"wanted_flow": 0.8},
        },
        tight={"bore_diameter": 0.8},
        at_rest=True,
    ),
    "operating.torque_share": Advice(
        {
            "cool the tube so that less of the plastic is soft": {"air_speed": 1.2},
            "print more slowly": {"wanted_flow": 0.8},
            "gear the motor further down only if gear and screw bear the larger torque at stall, and bearing, plate, "
            "tube and nozzle the thrust": {"stall_torque": 1.2},
        },
        tight={"shear_limit": 1.5},
        at_rest=True,
    ),
    "thrust.tube_stress_share": Advice(
        {
            "take a thicker wall": {"tube_outside_diameter": 1.1},
            "a stronger material": {"tube_yield_strength": 1.3},
            "limit the current of the motor": {"stall_torque": 0.8},
            "a ring that is no metal belongs inside a metal shell that carries alone": None,
        },
    ),
    "thrust.thread_stress_share": Advice(
        {
            "limit the current of the motor": {"stall_torque": 0.8},
            "engage more turns of the thread": {"nozzle_thread_length": 1.2},
            "a stronger metal for nozzle or block, whichever has the weaker thread": {"block_yield_strength": 1.3},
            "tighten no harder than the maker says": {"nozzle_tightening_torque": 0.8},
        },
        build="wren",
    ),
    "thrust.nozzle_wall_share": Advice(
        {
            "tighten with less torque, and no harder than the maker says": {"nozzle_tightening_torque": 0.8},
            "a nozzle with a narrower bore inside its thread": {"melt_bore_diameter": 0.8},
            "with a larger thread": {"nozzle_thread_diameter": 1.2},
            "of a stronger metal": {"nozzle_yield_strength": 1.3},
        },
        tight={"nozzle_tightening_torque": 1.5},
    ),
    "drive.drive_share": Advice(
        {
            "turn the current up as far as the motor stays cool": {"set_current": 1.2},
            "take a gear with a larger ratio": {"gear_ratio": 1.3},
            "a motor with a larger holding torque, only if gear, screw, bearing, plate, tube and nozzle bear what then "
            "comes at stall": {"holding_torque": 1.3},
            "print more slowly": {"wanted_flow": 0.8},
        },
        build="wren",
        at_rest=True,
    ),
    "drive.gear_torque_share": Advice(
        {
            "turn the current down": {"set_current": 0.9},
            "take a gear whose maker permits more": {"gear_permissible_torque": 1.5},
        },
    ),
    "drive.core_stress_share": Advice(
        {
            "turn the current down": {"set_current": 0.9},
            "take a screw with a thicker core": {"core_diameter": 1.05},
            "one of a stronger metal": {"screw_yield_strength": 1.3},
        },
    ),
    "drive.setscrew_share": Advice(
        {
            "take more set screws": {"setscrew_count": ("+", 1)},
            "larger ones": {"setscrew_force": 1.3},
            "a shaft with a flat, or a clamp in their place": None,
        },
        build="wren",
    ),
    "drive.winding_temperature": Advice(
        {
            "turn the current down": {"set_current": 0.9},
            "let it drop while the screw rests": {"duty_share": 0.8},
            "blow air over the motor": {"motor_film": 1.5},
            "give it more metal to sit on": {"gear_plate_resistance": 0.7},
        },
        tight={"set_current": 1.5},
    ),
    "drive.case_temperature": Advice(
        {
            "turn the current down": {"set_current": 0.9},
            "let it drop while the screw rests": {"duty_share": 0.8},
            "blow air over the motor": {"motor_film": 1.5},
            "give it more metal to sit on": {"gear_plate_resistance": 0.7},
        },
        tight={"set_current": 1.4},
    ),
    "drive.gear_axial_share": Advice(
        {
            "let a thrust bearing on a plate take the thrust": {"thrust_taken_by": "bearing"},
            "let the coupling slide on its shaft": {"coupling_push": 0.5},
            "take a gear whose maker permits more": {"gear_axial_limit": 2},
        },
        tight={"thrust_taken_by": "gear"},
    ),
    "drive.setting_bounds": Advice(
        {
            "weigh more runs as long as their scatter is most of it": {"weighed_runs": "more runs"},
            "else make them longer": {"weighed_runs": "twice as long", "commanded_volume": 2},
            "measure the density of the solid": {"density_error": 0.5},
            "take a better balance": {"balance_error": 0.5},
        },
        build="wren",
    ),
    "bearing.static_safety": Advice(
        {
            "take a larger bearing": {"bearing": "6000"},
            "of thrust ball bearings one with grooved washers": {"bearing": "51100"},
            "limit the current of the motor": {"stall_torque": 0.8},
        },
        build="wren",
    ),
    "bearing.axial_share": Advice(
        {
            "take a larger bearing": {"bearing": "6000"},
            "for its size a thrust ball bearing with grooved washers bears most, with a small radial bearing beside "
            "it": {"bearing": "51100"},
        },
        build="wren",
    ),
    "plate.springback_over_retraction": Advice(
        {
            "take the play out of the bearing first": {"mounting_play": 0.5},
            "then thicken the plate": {"plate_thickness": 1.3},
            "shorten its span, up to the thickness that is enough": {"plate_span": 0.9},
            "beyond it brace the frame": {"frame_stiffness": 1.3},
            "take a wider nozzle": {"nozzle_diameter": 1.2},
        },
        build="wren",
    ),
    "plate.plate_stress_share": Advice(
        {
            "take a thicker plate": {"plate_thickness": 1.3},
            "a stronger alloy": {"plate_yield_strength": 1.5},
            "a shorter span": {"plate_span": 0.9},
            "limit the current of the motor": {"stall_torque": 0.8},
        },
        build="wren",
    ),
    "retraction.takeback_reserve": Advice(
        {
            "take more back": {"retraction_volume": 1.2},
            "store less: take the play out of the bearing": {"mounting_play": 0.5},
            "stiffen plate": {"plate_thickness": 1.3},
            "frame": {"frame_stiffness": 1.5},
            "print more slowly": {"wanted_flow": 0.8},
            "through a wider nozzle, so that the pressure falls": {"nozzle_diameter": 1.2},
        },
        build="wren",
    ),
    "retraction.air_share": Advice(
        {"take less back": {"retraction_volume": 0.95}, "shorten the travel moves": {"travel_time": 0.8}},
        tight={"nozzle_diameter": ("=", 1.2), "travel_time": ("=", 6), "retraction_volume": ("=", 4.5)},
    ),
    "ringing.visible_share": Advice(
        {
            "print more slowly": {"wanted_flow": 0.8},
            "lower the acceleration as far as the one that is safe at any speed, since less may change nothing": {
                "print_acceleration": ("=", 100)
            },
            "hold the carriage stiffer along its rail": {"slide_stiffness": 1.2},
            "take mass off it": {"carriage_mass": 0.8},
            "carry the hopper beside the machine": {"fill_height": ("=", 5)},
        },
        build="wren",
    ),
    "choosing.better_chance": Advice(
        {
            "take a candidate that is further ahead": {"lead": 1.5},
            "measure what moves the two apart": {"spread_new": 0.8},
            "compare both on the same grains": {"shared_correlation": 1.1},
        },
        build="wren",
    ),
    "trials.trial_power": Advice(
        {
            "weigh more often": {"weighings": 1.3},
            "weigh for longer": {"weighing_time": 1.5},
            "start and fill each time in the same way, so that runs differ less": {"run_repeatability": 0.6},
            "compare fewer screws in one trial": {"screws_compared": ("=", 2)},
            "be content to know a larger difference": {"effect_wanted": 1.2},
        },
        build="wren",
    ),
    "trials.measuring_share": Advice(
        {
            "weigh for longer": {"weighing_time": 1.5},
            "take a finer balance": {"balance_reading": 0.1},
            "let the machine count turns in place of a stopwatch": {"timing_deviation": 0.1},
        },
        build="wren",
    ),
}
#: What joins clauses.
_JOINTS = re.compile(r"\b(take|or|and|else|then|if|but)\b|[\s,;:]")


def moved(build: Build, step: Step) -> Build:
    """Return the build after a step."""
    network = whole_head()
    for key, change in step.items():
        if key == "sieve_table":
            mesh, share = build.rows[sieve_table]
            kept = share.copy()
            kept[-1] = 0.0
            build = build.with_rows(sieve_table, (mesh, kept / kept.sum()))
        elif key == "weighed_runs":
            (mass,) = build.rows[weighed_runs]
            # Runs twice as long scatter as before: what start and stop do to them does not grow.
            longer = mass + mass.mean()
            build = build.with_rows(weighed_runs, (np.tile(mass, 2) if change == "more runs" else longer,))
        elif isinstance(change, str):
            build = picked(build, key, change)
        else:
            quantity = network.quantities[key]
            if isinstance(change, tuple):
                shown = float(quantity.shown(build.values[quantity])) if change[0] == "+" else 0.0
                build = build.with_value(quantity, float(quantity.si(shown + change[1])))
            else:
                build = build.with_value(quantity, build.values[quantity] * change)
    return build


def picked(build: Build, key: str, name: str) -> Build:
    """Return the build with a choice made or a row of a table taken."""
    network = whole_head()
    if key in network.choices:
        return build.with_choice(network.choices[key], name)
    return build.with_name(network.lookups[key], name)


def reached(margin: Margin, advice: Advice, build: Build) -> float:
    """The margin's value in the sense in which more is better."""
    found = settled(build, rounds=20) if advice.at_rest else build
    value = found.solution[margin.quantity]
    return (1.0 if margin.more_is_better else -1.0) * value


def test_every_margin_has_its_advice_here() -> None:
    assert set(ADVICE) == set(whole_head().margins)


@pytest.mark.parametrize("margin_id", sorted(ADVICE))
def test_all_that_is_advised_is_tried(margin_id: str) -> None:
    left = whole_head().margins[margin_id].advice
    for words in sorted(ADVICE[margin_id].clauses, key=len, reverse=True):
        assert words in left, words
        left = left.replace(words, "", 1)
    assert _JOINTS.sub("", left) == "", f"said and not tried: {left}"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("margin_id", "words"),
    [(key, words) for key, advice in sorted(ADVICE.items()) for words, step in advice.clauses.items() if step],
)
def test_what_is_advised_helps(margin_id: str, words: str) -> None:
    margin, advice = whole_head().margins[margin_id], ADVICE[margin_id]
    step = advice.clauses[words]
    assert step is not None
    before = moved(shipped_build(advice.build), advice.tight)
    was, becomes = (reached(margin, advice, build) for build in (before, moved(before, step)))
    assert math.isfinite(was)
    good = (1.0 if margin.more_is_better else -1.0) * margin.quantity.si(margin.good)
    assert was < good, f"the build is not tight here: {margin.quantity.text(abs(was))}"
    assert becomes > was
