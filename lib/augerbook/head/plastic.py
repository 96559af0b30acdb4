"""The plastic once it is warm: when it softens, how it flows."""

from __future__ import annotations

from augerbook.core.part import Part
from augerbook.core.quantity import Quantity

PART = Part("plastic", number=9, title="Melt")

closing_share = PART.given(
    "closing_share",
    "epsilon_c",
    "1",
    "share of voids at which fusing plastic closes the last ways between them",
    0.01,
    0.2,
)
softening_temperature = PART.given(
    "softening_temperature", "T_soft", "degC", "temperature at which the plastic gives way and sticks", 30, 260
)
degradation_temperature = PART.given(
    "degradation_temperature", "T_deg", "degC", "highest temperature that the maker of the plastic allows", 100, 420
)
loose_conductivity = PART.given(
    "loose_conductivity", "k_loose", "W/m/K", "thermal conductivity of packed grains", 0.03, 0.5
)
fused_conductivity = PART.given(
    "fused_conductivity", "k_fused", "W/m/K", "thermal conductivity of fused plastic", 0.05, 2
)
melt_density = PART.given("melt_density", "rho_m", "kg/m**3", "density of the melt", 600, 2500)
melt_specific_heat = PART.given(
    "melt_specific_heat",
    "c_m",
    "J/kg/K",
    "heat to warm the plastic, for each mass and kelvin, from throat to melt",
    800,
    4000,
)
zero_viscosity = PART.given(
    "zero_viscosity", "eta_r", "Pa*s", "viscosity at small shear rates and at the reference temperature", 1, 1e5
)
critical_stress = PART.given(
    "critical_stress", "tau_c", "kPa", "shear stress about which the melt begins to thin", 1, 1000
)
power_index = PART.given(
    "power_index", "n", "1", "slope of the stress over the rate, both as logarithms, where the melt thins", 0.05, 1
)
transition = PART.given(
    "transition", "a", "1", "how sharply the melt goes over to thinning; 1 less the power index in Cross's law", 0.1, 5
)
reference_temperature = PART.given(
    "reference_temperature", "T_r", "degC", "temperature for which the viscosity is given", -150, 350
)
wlf_slope = PART.given(
    "wlf_slope",
    "C_1",
    "1",
    "first constant of Williams, Landel and Ferry, about the reference temperature",
    0,
    40,
    title="WLF slope",
)
wlf_span = PART.given(
    "wlf_span",
    "C_2",
    "delta_degC",
    "second constant: how far below the reference temperature their formula ends",
    1,
    600,
    title="WLF span",
)
activation_energy = PART.given(
    "activation_energy", "E", "kJ/mol", "activation energy of Arrhenius, in its place or beside it", 0, 250
)
shear_limit = PART.given(
    "shear_limit", "tau_lim", "MPa", "shear stress at which softened plastic slips or tears", 0.25, 1
)
solid_shear_strength = PART.given(
    "solid_shear_strength", "tau_sol", "MPa", "shear stress at which the cold, solid plastic breaks", 5, 120
)
melt_compressibility = PART.given(
    "melt_compressibility", "beta", "1/GPa", "share of its volume that melt loses for each pressure", 0.2, 4
)
fusing_factor = PART.given(
    "fusing_factor",
    "x_f",
    "1",
    "fusing time over that of heat from the wall alone: a quarter if the screw is as hot, "
    "above 1 if voids are slow to close",
    0.2,
    3,
)
#: The parameters of the flow law, in the order in which `melt_models.viscosity` takes them.
VISCOSITY_INPUTS: tuple[Quantity, ...] = (
    zero_viscosity,
    critical_stress,
    power_index,
    transition,
    reference_temperature,
    wlf_slope,
    wlf_span,
    activation_energy,
)
melt_data = PART.lookup("melt_data", "the flow law of a plastic", "melts", {q: q.key for q in VISCOSITY_INPUTS})
