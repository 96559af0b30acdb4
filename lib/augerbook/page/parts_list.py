"""What a build is made of: parts to buy or to make, each with its designation and the sizes that matter."""

from __future__ import annotations

from dataclasses import dataclass

from augerbook.builds.build import Build
from augerbook.builds.estimates import estimated_values
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.core.units import with_unit
from augerbook.head import bearing, drive, feedstock, heating, hopper, nozzle, plate, printing, screw, tube

Item = Quantity | Lookup | Choice


@dataclass(frozen=True)
class Listed:
    """A part with what names it: rows of tables and kinds by their name, sizes with their unit."""

    name: str
    items: tuple[Item, ...]


_BREAK = Listed("Thermal break", (tube.break_material, tube.break_length, tube.break_wall))
#: In the order of the plastic's way, with what holds and drives the screw after it.
PARTS = (
    Listed("Sieve", (feedstock.standard_sieve, feedstock.sieve_mesh)),
    Listed("Hopper", (hopper.hopper_diameter, hopper.outlet_diameter, hopper.hopper_half_angle)),
    Listed(
        "Screw",
        (
            screw.standard_screw, screw.screw_material, screw.major_diameter, screw.core_diameter, screw.pitch,
            screw.flighted_length, screw.shank_length,
        ),
    ),
    Listed(
        "Tube", (tube.tube_material, tube.bore_diameter, tube.tube_outside_diameter, tube.tube_length)
    ),
    _BREAK,
    Listed("Cooler", (heating.cooler_kind, heating.sleeve_diameter, heating.fin_diameter)),
    Listed("Heated block", (nozzle.block_material, heating.heated_length, heating.heater_rating)),
    Listed(
        "Nozzle",
        (nozzle.nozzle_material, nozzle.nozzle_diameter, nozzle.nozzle_thread_diameter, nozzle.nozzle_thread_pitch),
    ),
    Listed(
        "Thrust bearing",
        (bearing.bearing, bearing.bearing_kind, bearing.bearing_bore, bearing.bearing_outside_diameter,
         bearing.bearing_width),
    ),
    Listed("Bearing plate", (plate.plate_material, plate.plate_thickness, plate.plate_span, plate.plate_width)),
    Listed("Motor", (drive.motor, drive.rated_current, drive.motor_side, drive.motor_length)),
    Listed("Gear", (drive.gear_ratio, drive.gear_permissible_torque, drive.gear_axial_limit)),
    Listed("Plastic", (feedstock.plastic,)),
    Listed(
        "To set", (heating.set_temperature, drive.supply_voltage, drive.set_current, printing.wanted_flow)
    ),
)  # fmt: skip


def size_text(build: Build, quantity: Quantity) -> str:
    """Return a size that a build gives as it is made to, with its unit: ``"4.2 mm"``.

    A table's figure may have been turned into SI and back: six digits are what a part is made to.
    """
    return with_unit(f"{quantity.shown_number(build.values[quantity]):.6g}", quantity.unit)


def parts_of(build: Build) -> list[tuple[str, str, str]]:
    """Return for each part that the build knows: its name, what it is called in the trade, and its sizes in words.

    What is only estimated is marked as such.
    """
    rows = []
    guessed = estimated_values(build) | build.guessed
    for part in PARTS:
        if part is _BREAK and not build.values.get(tube.break_length):
            continue
        called, sizes = [], []
        for item in part.items:
            mark = " (estimated)" if item in guessed else ""
            if isinstance(item, Lookup):
                if item in build.names:
                    own = " (with figures of its own)" if build.leaves_row(item) else ""
                    called.append(f"{build.names[item]}{own}{mark}")
            elif isinstance(item, Choice):
                # How much air a cooler moves may be known; what it is called then is not.
                if build.choices.get(item, heating.FILM_KNOWN) != heating.FILM_KNOWN:
                    called.append(f"{build.choices[item]}{mark}")
            elif item in build.values:
                sizes.append(f"{item.name_in_words} {size_text(build, item)}{mark}")
        if called or sizes:
            rows.append((part.name, ", ".join(called), ", ".join(sizes)))
    return rows
