"""The screw: its thread, its metal and how it stands in the bore."""

from __future__ import annotations

from augerbook.core.part import Part
from augerbook.head.tube import bore_diameter

PART = Part("screw", number=3, title="Screw")

major_diameter = PART.given("major_diameter", "d", "mm", "diameter over the flights", 2, 16, primary=True)
core_diameter = PART.given("core_diameter", "d_c", "mm", "diameter of the core", 1, 14, primary=True)
pitch = PART.given("pitch", "p", "mm", "axial distance from flight to flight", 0.4, 12, primary=True)
flank_half_angle = PART.given(
    "flank_half_angle", "alpha", "deg", "angle of one flank to the plane across the axis", 2, 45
)
crest_width = PART.given("crest_width", "c", "mm", "width of the flight at its tip", 0.02, 3)
flighted_length = PART.given("flighted_length", "L_s", "mm", "length of screw with flights inside the tube", 10, 250)
screw_conductivity = PART.given("screw_conductivity", "k_s", "W/m/K", "thermal conductivity of the screw", 0.1, 420)
shank_length = PART.given("shank_length", "l_sh", "mm", "length of screw from the throat back to its bearing", 2, 300)
screw_density = PART.given("screw_density", "rho_screw", "kg/m**3", "density of the screw", 800, 9000)
screw_specific_heat = PART.given("screw_specific_heat", "c_s", "J/kg/K", "specific heat of the screw", 100, 3000)
eccentricity = PART.given(
    "eccentricity", "e", "1", "how far the screw lies out of centre, over its tip gap: 0 centred, 1 touching", 0, 1
)
_REFERENCE = "of a screw that is known to print well, the reference"
reference_bore = PART.given("reference_bore", "D_ref", "mm", f"diameter of the bore {_REFERENCE}", 2.2, 25)
reference_major_diameter = PART.given(
    "reference_major_diameter", "d_ref", "mm", f"diameter over the flights {_REFERENCE}", 2, 16
)
reference_core_diameter = PART.given(
    "reference_core_diameter", "d_c_ref", "mm", f"diameter of the core {_REFERENCE}", 1, 14
)
reference_pitch = PART.given("reference_pitch", "p_ref", "mm", f"pitch {_REFERENCE}", 0.4, 12)
reference_flank_half_angle = PART.given(
    "reference_flank_half_angle", "alpha_ref", "deg", f"flank half-angle {_REFERENCE}", 2, 45
)
reference_crest_width = PART.given("reference_crest_width", "c_ref", "mm", f"crest width {_REFERENCE}", 0.02, 3)
screw_offset = PART.choice(
    "screw_offset",
    "in which way the screw is out of centre",
    {
        "leaning": "its axis stays in one place beside that of the bore: it leans on one side while it turns",
        "bent": "the offset turns with it: it is bent, or held out of centre at its end",
    },
)
friction_screw = PART.given(
    "friction_screw", "mu_s", "1", "friction of the plastic on the screw", 0.03, 0.8, title="friction on the screw"
)
screw_youngs_modulus = PART.given(
    "screw_youngs_modulus", "E_s", "GPa", "Young's modulus of the screw", 2, 250, title="Young's modulus of screw"
)
screw_poisson_ratio = PART.given(
    "screw_poisson_ratio", "nu_s", "1", "Poisson's ratio of the screw", 0.05, 0.48, title="Poisson's ratio of screw"
)
screw_yield_strength = PART.given(
    "screw_yield_strength", "sigma_s", "MPa", "stress at which the screw stays bent", 5, 2000
)
standard_screw = PART.lookup(
    "standard_screw",
    "a screw of the tables",
    "screws",
    {
        major_diameter: "major_diameter",
        core_diameter: "core_diameter",
        pitch: "pitch",
        flank_half_angle: "flank_half_angle",
        crest_width: "crest_width",
    },
)
reference_screw = PART.lookup(
    "reference_screw",
    "the screw of the tables that is known to print well",
    "screws",
    {
        reference_major_diameter: "major_diameter",
        reference_core_diameter: "core_diameter",
        reference_pitch: "pitch",
        reference_flank_half_angle: "flank_half_angle",
        reference_crest_width: "crest_width",
    },
)
screw_highest_temperature = PART.given(
    "screw_highest_temperature",
    "T_s_max",
    "degC",
    "highest temperature that the screw's material bears",
    30,
    1200,
    title="screw's temperature limit",
)
screw_material = PART.lookup(
    "screw_material",
    "what the screw is made of",
    "materials",
    {
        screw_conductivity: "conductivity",
        screw_density: "density",
        screw_specific_heat: "specific_heat",
        screw_poisson_ratio: "poisson_ratio",
        screw_yield_strength: "yield_strength",
        screw_highest_temperature: "highest_temperature",
    },
    tells=((screw_yield_strength,),),
)
PART.require(core_diameter, major_diameter, "the flight needs a depth")
PART.require(major_diameter, bore_diameter, "the screw must turn in its bore")
PART.require(crest_width, pitch, "the flights of neighbouring turns would meet")
PART.require(reference_core_diameter, reference_major_diameter, "the reference's flight needs a depth")
PART.require(reference_major_diameter, reference_bore, "the reference must turn in its bore")
