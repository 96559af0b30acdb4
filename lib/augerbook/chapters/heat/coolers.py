"""What cools the tube: its film coefficient by kind of cooler, from published formulas, on the tube's own surface.

Each film is that beside a wall at the softening temperature, since it is there that it decides how far the soft zone
reaches.
"""

from __future__ import annotations

from sympy import Abs, Float, Rational, log, sqrt

from augerbook.chapters.heat.films import air_at, round_fin, stefan_boltzmann, water_conductivity
from augerbook.chapters.heat.subject import SUBJECT
from augerbook.chapters.hopper import gravity
from augerbook.core.sources import Source
from augerbook.head.heating import (
    FAN_BARE,
    FAN_FINS,
    FILM_KNOWN,
    STILL_AIR,
    WATER,
    air_speed,
    cooler_end,
    cooler_factor,
    cooler_film_coefficient,
    cooler_kind,
    cooler_start,
    fin_conductivity,
    fin_diameter,
    fin_gap,
    fin_thickness,
    jacket_gap,
    joint_conductivity,
    joint_gap,
    room_temperature,
    sleeve_diameter,
    tube_emissivity,
)
from augerbook.head.plastic import softening_temperature
from augerbook.head.tube import tube_outside_diameter

_HERE, _DEFINITION = Source("derived here"), Source("definition")
_ATMOSPHERE = Source("us_atmosphere", "viscosity and conductivity of air; density of an ideal gas at sea level")
_AT_SOFTENING = "the wall is as warm as the softening temperature, and the film between it and the room"
#: What the fins could give to the air between them over what that air can carry off (transfer units): from this many on
#: the air goes 39 % of the way to their temperature, and the mean between it and them is a fifth smaller (judgement).
_MOST_UNITS = Rational(1, 2)
_SMALL = "the room is large beside the tube and as warm as its air"

film_temperature = SUBJECT.equals(
    "film_temperature",
    "T_film",
    "degC",
    "temperature at which the air beside the tube counts",
    (room_temperature + softening_temperature) / 2,
    "Midway between wall and room",
    source=_DEFINITION,
    assumptions=(_AT_SOFTENING,),
)
film_viscosity = SUBJECT.result(
    "film_viscosity", "nu_air", "mm**2/s", "kinematic viscosity of the air beside the tube", positive=True
)
film_conductivity = SUBJECT.result(
    "film_conductivity", "k_air", "W/m/K", "thermal conductivity of the air beside the tube", positive=True
)
film_prandtl = SUBJECT.result(
    "film_prandtl", "Pr", "1", "viscosity of the air over its diffusivity of heat", positive=True
)
SUBJECT.model(
    "air", (film_temperature,), (film_viscosity, film_conductivity, film_prandtl), air_at,
    "Dry air at sea level", source=_ATMOSPHERE,
    assumptions=("1006 J/kg/K, which is right within one per cent up to 140 °C",),
)  # fmt: skip

# --- still air ----------------------------------------------------------------------------------

cooled_length = SUBJECT.equals(
    "cooled_length", "L_c", "mm", "length of tube under the cooler", Abs(cooler_end - cooler_start), "From end to end",
    source=_DEFINITION,
)  # fmt: skip
grashof_number = SUBJECT.equals(
    "grashof_number",
    "Gr",
    "1",
    "how strongly warm air beside the tube is driven up",
    gravity * Abs(softening_temperature - room_temperature) * cooled_length**3 / (film_temperature * film_viscosity**2),
    "Lift over friction",
    source=Source("incropera", "chapter 9, Grashof number"),
    assumptions=(_AT_SOFTENING, "the tube stands upright"),
)
upright_nusselt = SUBJECT.equals(
    "upright_nusselt",
    "Nu_up",
    "1",
    "film coefficient of an upright flat wall in still air, as a plain number",
    (
        Float("0.825")
        + Float("0.387")
        * (grashof_number * film_prandtl) ** Rational(1, 6)
        / (1 + (Float("0.492") / film_prandtl) ** Rational(9, 16)) ** Rational(8, 27)
    )
    ** 2,
    "An upright wall in still air",
    source=Source("churchill_chu", "vertical plate, all Rayleigh numbers"),
    title="Nusselt number of an upright wall",
)
_SLENDER = sqrt(32) * grashof_number ** Rational(-1, 4) * cooled_length / tube_outside_diameter
still_nusselt = SUBJECT.equals(
    "still_nusselt",
    "Nu_st",
    "1",
    "the same for an upright tube, from which the air draws more since it is thin",
    upright_nusselt
    * (
        1
        + (Float("0.0571322") + Float("0.20305") * film_prandtl ** Float("-0.43"))
        * _SLENDER
        ** (
            Float("0.9165")
            - Float("0.0043") * sqrt(film_prandtl)
            + Float("0.01333") * log(film_prandtl)
            + Float("0.0004809") / film_prandtl
        )
    ),
    "A thin upright tube in still air",
    source=Source("popiel", "slender vertical cylinder, over the flat plate"),
    valid=((cooled_length > 0, "the cooler ends where it begins: give it a length"),),
    title="Nusselt number of an upright tube",
)
stefan_constant = SUBJECT.result(
    "stefan_constant", "sigma_SB", "W/m**2/K**4", "what a black surface radiates", digits=4, positive=True
)
SUBJECT.model(
    "stefan_constant", (), (stefan_constant,), stefan_boltzmann, "The constant of Stefan and Boltzmann",
    source=Source("definition", "as scipy.constants has it"),
)  # fmt: skip
radiation_film = SUBJECT.equals(
    "radiation_film",
    "h_rad",
    "W/m**2/K",
    "what the tube radiates, as a film coefficient",
    tube_emissivity
    * stefan_constant
    * (softening_temperature + room_temperature)
    * (softening_temperature**2 + room_temperature**2),
    "Radiation as a film",
    source=_HERE,
    assumptions=(_AT_SOFTENING, _SMALL),
)
still_film = SUBJECT.equals(
    "still_film",
    "h_st",
    "W/m**2/K",
    "film coefficient of the bare tube in still air, with what it radiates",
    cooler_factor * film_conductivity * still_nusselt / cooled_length + radiation_film,
    "Rising air and radiation",
    source=_HERE,
    assumptions=(_AT_SOFTENING,),
)

# --- a fan on the bare tube ---------------------------------------------------------------------

blown_reynolds = SUBJECT.equals(
    "blown_reynolds",
    "Re_b",
    "1",
    "speed of the air times the tube's diameter, over the viscosity",
    air_speed * tube_outside_diameter / film_viscosity,
    "Momentum over friction",
    positive=True,
    source=_DEFINITION,
    title="Reynolds number of the bare tube",
)
blown_nusselt = SUBJECT.equals(
    "blown_nusselt",
    "Nu_b",
    "1",
    "film coefficient of a cylinder in a cross wind, as a plain number",
    Float("0.3")
    + Float("0.62")
    * sqrt(blown_reynolds)
    * film_prandtl ** Rational(1, 3)
    / (1 + (Float("0.4") / film_prandtl) ** Rational(2, 3)) ** Rational(1, 4)
    * (1 + (blown_reynolds / Float("282000")) ** Rational(5, 8)) ** Rational(4, 5),
    "A cylinder in a cross wind",
    positive=True,
    source=Source("churchill_bernstein", "cylinder in cross flow"),
    valid=(
        (
            blown_reynolds * film_prandtl > Float("0.2"),
            "the air is too slow, or the tube too thin, for the formula of the cross wind: Reynolds number times "
            "Prandtl number must be above 0.2; take the kind 'still air'",
        ),
    ),
    title="Nusselt number of the bare tube in the wind",
)
blown_film = SUBJECT.equals(
    "blown_film",
    "h_bl",
    "W/m**2/K",
    "film coefficient of the bare tube under a fan, with what it radiates",
    cooler_factor * film_conductivity * blown_nusselt / tube_outside_diameter + radiation_film,
    "Cross wind and radiation",
    source=_HERE,
    assumptions=(_AT_SOFTENING, "the air comes evenly, at the speed given, and at the temperature of the room"),
)

# --- a fan on a finned sleeve -------------------------------------------------------------------

_height = (fin_diameter - sleeve_diameter) / 2
fin_openness = SUBJECT.equals(
    "fin_openness", "o_v", "1", "gap between two fins over their height", fin_gap / _height, "Gap over height",
    source=_DEFINITION,
)  # fmt: skip
fin_slimness = SUBJECT.equals(
    "fin_slimness", "y_v", "1", "gap between two fins over their thickness", fin_gap / fin_thickness,
    "Gap over thickness", positive=True, source=_DEFINITION,
)  # fmt: skip
sleeve_reynolds = SUBJECT.equals(
    "sleeve_reynolds",
    "Re_v",
    "1",
    "speed of the air between the fins times the sleeve's diameter, over the viscosity",
    air_speed * sleeve_diameter / film_viscosity,
    "Momentum over friction, between the fins",
    positive=True,
    source=_DEFINITION,
    title="Reynolds number between the fins",
)
sleeve_nusselt = SUBJECT.equals(
    "sleeve_nusselt",
    "Nu_v",
    "1",
    "film coefficient on the fins, as a plain number",
    Float("0.134")
    * sleeve_reynolds ** Float("0.681")
    * film_prandtl ** Rational(1, 3)
    * fin_openness ** Rational(1, 5)
    * fin_slimness ** Float("0.1134"),
    "Tubes with round fins in a cross wind",
    source=Source("briggs_young", "banks of tubes with round fins"),
    assumptions=(
        "one sleeve gets as much as a tube in a bank; a single one may get less",
        "measured were tubes of 11 to 41 mm with fins 1.4 to 16.6 mm high, 0.33 to 2 mm thick, 1.3 to 4.1 mm apart",
    ),
    valid=(
        (
            (sleeve_reynolds > 1000) & (sleeve_reynolds < 8000),
            "the formula for fins was found for Reynolds numbers of 1000 to 8000, and outside of them it is a guess: "
            "change the speed of the air or the diameter of the sleeve, or give a known film",
        ),
        (
            (fin_openness > Float("0.05")) & (fin_openness < Float("2.6")),
            "the formula for fins was found for fins whose gap is between 0.05 and 2.6 times their height: take such "
            "fins, or give a known film",
        ),
    ),
    title="Nusselt number of the fins",
)
fin_film = SUBJECT.equals(
    "fin_film",
    "h_v",
    "W/m**2/K",
    "film coefficient on the surface of the fins",
    cooler_factor * film_conductivity * sleeve_nusselt / sleeve_diameter,
    "The film on the fins",
    source=_DEFINITION,
    valid=(
        (
            2 * sleeve_nusselt * fin_diameter <= _MOST_UNITS * sleeve_reynolds * film_prandtl * fin_gap,
            "the air between the fins goes more than a third of the way to their temperature, so that they cool less "
            "than the formula says: take fins further apart, more wind, or give a known film",
        ),
    ),
)
fin_efficiency = SUBJECT.result(
    "fin_efficiency", "eta_v", "percent", "heat of a fin over that of one which is as warm as its root all over"
)
SUBJECT.model(
    "fin_efficiency", (fin_film, sleeve_diameter, fin_diameter, fin_thickness, fin_conductivity), (fin_efficiency,),
    round_fin, "A round fin of even thickness", source=Source("incropera", "chapter 3, annular fin, Bessel functions"),
    assumptions=("the edge of the fin counts as half a thickness more of fin",),
)  # fmt: skip
fin_gain = SUBJECT.equals(
    "fin_gain",
    "G_v",
    "1",
    "heat of the finned sleeve over that of the same sleeve without fins, at the same film",
    (
        fin_efficiency * ((fin_diameter**2 - sleeve_diameter**2) / 2 + fin_diameter * fin_thickness)
        + sleeve_diameter * fin_gap
    )
    / (sleeve_diameter * (fin_gap + fin_thickness)),
    "Surface of fins and sleeve over that of the sleeve",
    source=_HERE,
)
finned_film = SUBJECT.equals(
    "finned_film",
    "h_fin",
    "W/m**2/K",
    "film coefficient of a finned sleeve, counted on the tube's own surface",
    1 / (tube_outside_diameter / (fin_film * fin_gain * sleeve_diameter) + joint_gap / joint_conductivity),
    "The fins, and the gap under the sleeve before them",
    source=_HERE,
    assumptions=(
        _AT_SOFTENING,
        "the gap under the sleeve is narrow and even; the wall of the sleeve conducts so well that it does not count",
    ),
)

# --- water --------------------------------------------------------------------------------------

water_film_conductivity = SUBJECT.result(
    "water_film_conductivity", "k_water", "W/m/K", "thermal conductivity of water", positive=True
)
SUBJECT.model(
    "water", (), (water_film_conductivity,), water_conductivity, "Water at 25 °C",
    source=Source("ramires", "from memory: 0.6065 W/m/K at 25 °C"),
)  # fmt: skip
#: Film of a slow, settled stream between two walls, of which one is warm: as a plain number, over twice the gap.
_ONE_WARM_WALL = Float("4.861")
water_film = SUBJECT.equals(
    "water_film",
    "h_wat",
    "W/m**2/K",
    "film coefficient of a water jacket",
    cooler_factor * _ONE_WARM_WALL * water_film_conductivity / (2 * jacket_gap),
    "A slow stream between two walls, one of them warm",
    source=Source("incropera", "Table 8.2, annulus of narrow gap, outer wall insulated"),
    assumptions=(
        "the water flows slowly and evenly round the tube (a faster stream cools better), stays as cold as the room, "
        "and the gap is narrow beside the tube",
    ),
)

cooler_film = SUBJECT.result(
    "cooler_film", "h_cool", "W/m**2/K", "film coefficient under the cooler, counted on the tube's own surface"
)
SUBJECT.select(
    "cooler_film", cooler_film, cooler_kind,
    {
        FILM_KNOWN: cooler_film_coefficient, STILL_AIR: still_film, FAN_BARE: blown_film, FAN_FINS: finned_film,
        WATER: water_film,
    },
    "The film of the cooler that is there",
)  # fmt: skip
