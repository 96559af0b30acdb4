"""What goes into the hopper: the granules, their sizes, their water and what became of the plastic before."""

from __future__ import annotations

from augerbook.core.part import Part
from augerbook.core.quantity import Quantity
from augerbook.head.plastic import degradation_temperature
from augerbook.head.sieve_table import sieve_table_faults

PART = Part("feedstock", number=1, title="Granules")

BALL, FLAKE = "ball", "flake"
grain_shape = PART.choice(
    "grain_shape",
    "how water gets out of a grain",
    {
        BALL: "from all sides: pellets, chunks about as long as wide",
        FLAKE: "through the two faces: pieces of thin walls",
    },
)
moisture_start = PART.given(
    "moisture_start",
    "w_0",
    "percent",
    "water in the granules before drying, share of their mass",
    0.002,
    10,
    title="moisture before drying",
)
moisture_saturated = PART.given(
    "moisture_saturated",
    "w_sat",
    "percent",
    "water that the plastic takes up in the end, lying in water or in air that can hold no more",
    0.005,
    15,
    title="moisture at saturation",
)
air_humidity = PART.given(
    "air_humidity",
    "phi_air",
    "percent",
    "relative humidity of the air that is blown over the granules, where it is read",
    0.1,
    100,
)
humidity_temperature = PART.given(
    "humidity_temperature",
    "T_phi",
    "degC",
    "temperature where that humidity is read; for a dryer with a dew point: that, at 100 %",
    -60,
    120,
)
moisture_limit = PART.given(
    "moisture_limit", "w_lim", "percent", "most water that the plastic's makers allow before melting", 0.002, 1
)
drying_temperature = PART.given(
    "drying_temperature", "T_dry", "degC", "temperature of the granules while they dry", 15, 180, primary=True
)
drying_time = PART.given(
    "drying_time", "t_dry", "h", "time for which the granules are warm and the air is dry", 0, 72, primary=True
)
reference_diffusivity = PART.given(
    "reference_diffusivity",
    "D_ref",
    "mm**2/h",
    "diffusivity of water in the plastic at the temperature beside it",
    0.0001,
    2,
)
diffusivity_temperature = PART.given(
    "diffusivity_temperature", "T_ref", "degC", "temperature at which that diffusivity holds", 0, 180
)
activation_temperature = PART.given(
    "activation_temperature", "T_a", "K", "activation energy of the diffusion over the gas constant", 1000, 15_000
)
flake_thickness = PART.given(
    "flake_thickness", "s_fl", "mm", "thickness of the flakes: that of the walls they come from", 0.05, 8
)
molar_mass = PART.given(
    "molar_mass", "M_n", "kg/mol", "molar mass of the plastic before melting, number average", 5, 300
)
coarse_share = PART.given(
    "coarse_share", "r", "percent", "share of what leaves the grinder that stays on the upper sieve", 0, 95
)
dust_share = PART.given(
    "dust_share", "d", "percent", "share of what leaves the grinder that falls through the lower sieve", 0, 60
)
grinder_rate = PART.given("grinder_rate", "G", "g/min", "what the grinder puts through, everything counted", 0.1, 2000)
batch_mass = PART.given("batch_mass", "m_b", "g", "granules wanted", 1, 20_000, primary=True)
recycled_share = PART.given(
    "recycled_share",
    "q",
    "percent",
    "share of the feed that was printed before; the rest is virgin",
    0,
    95,
    primary=True,
)
viscosity_kept = PART.given(
    "viscosity_kept", "k_eta", "percent", "share of the viscosity that is left after one melting", 20, 100
)
passes_allowed = PART.given(
    "passes_allowed", "n_old", "1", "earlier meltings from which on plastic counts as worn", 1, 10, digits=1
)
dirt_size = PART.given("dirt_size", "x_dirt", "mm", "largest hard speck that is left in the granules", 0.01, 3)
SIEVED, ESTIMATED = "sieve table", "median and spread"
sizes_from = PART.choice(
    "sizes_from",
    "how the sizes of the grains are known",
    {
        SIEVED: "the shares of the mass weighed on sieves, spread evenly over the logarithm of size between meshes",
        ESTIMATED: "a lognormal law for what leaves the grinder, cut off by the sieve",
    },
)
sieve_table = PART.series(
    "sieve_table",
    "sieve table: share of the mass that stays on each mesh, from coarse to fine, last the pan (0 mm)",
    (
        Quantity("mesh", "m_i", "mm", "mesh of the sieve", low=0, high=10),
        Quantity("share_on_mesh", "w_i", "percent", "share of the mass that stays on it", low=0, high=100),
    ),
    check=sieve_table_faults,
)
ground_median = PART.given("ground_median", "x_0", "mm", "median size by mass of what leaves the grinder", 0.1, 8)
ground_spread = PART.given(
    "ground_spread",
    "sigma",
    "1",
    "spread of what leaves the grinder: standard deviation of the logarithm of size",
    0.05,
    1.2,
)
sieve_mesh = PART.given("sieve_mesh", "m", "mm", "mesh of the sieve the granules have passed", 0.2, 8, primary=True)
loose_density = PART.given(
    "loose_density",
    "rho_loose",
    "kg/m**3",
    "granules poured into a cup: mass over volume of the cup",
    80,
    1500,
    primary=True,
)
tapped_density = PART.given(
    "tapped_density",
    "rho_tap",
    "kg/m**3",
    "the same granules after tapping until they sink no more",
    80,
    1700,
    primary=True,
)
solid_density = PART.given("solid_density", "rho_s", "kg/m**3", "the plastic itself, without voids", 800, 2500)
cohesion_scale = PART.given(
    "cohesion_scale", "sigma_0", "Pa", "pressure that makes a lump just as strong as it was pressed", 0.01, 10_000
)
cohesion_exponent = PART.given(
    "cohesion_exponent", "n_c", "1", "how the strength of a lump grows with the pressure that made it", 0.05, 0.9
)
friction_internal = PART.given(
    "friction_internal",
    "mu_i",
    "1",
    "friction of grains on grains: tangent of the angle of internal friction",
    0.1,
    1.5,
    title="friction between grains",
)
radial_stress_ratio = PART.given(
    "radial_stress_ratio", "k_r", "1", "pressure on the walls over pressure along the thread, in packed grains", 0.1, 1
)
ring_stress_ratio = PART.given(
    "ring_stress_ratio",
    "lambda_r",
    "1",
    "pressure along the axis over pressure on the wall, in the grains between tip and wall",
    0.05,
    3,
)
sphericity = PART.given("sphericity", "psi", "1", "surface of a ball over that of a grain of the same volume", 0.2, 1)
plastic = PART.lookup(
    "plastic",
    "a plastic of the tables",
    "plastics_drying",
    {
        reference_diffusivity: "diffusivity",
        diffusivity_temperature: "diffusivity_temperature",
        activation_temperature: "activation_temperature",
        moisture_saturated: "moisture_saturated",
        moisture_limit: "moisture_limit",
        drying_temperature: "drying_temperature",
        degradation_temperature: "degradation_temperature",
    },
)
standard_sieve = PART.lookup("standard_sieve", "a sieve of the tables", "sieves", {sieve_mesh: "opening"})
PART.require(loose_density, tapped_density, "tapping only ever packs granules closer")
PART.require(tapped_density, solid_density, "granules with voids between them weigh less than the solid plastic")
