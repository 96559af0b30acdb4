"""Melt and nozzle: what pressure the nozzle needs, how long plastic takes to melt, what a hotter nozzle buys.

One flow law covers Cross, Carreau-Yasuda and the power law, with a temperature shift after Williams, Landel and Ferry
or after Arrhenius. The nozzle is a bore, a cone in slices and a land, each a capillary; ``models.py`` computes
them.
"""

from __future__ import annotations

from sympy import Expr, Float, Piecewise, exp, log, oo, pi, tan

from augerbook.chapters.feedstock import viscosity_feed
from augerbook.chapters.heat import (
    NO_LATENT,
    feed_heat,
    melt_flow,
    melt_temperature,
    plastic_section,
    screw_radius,
    soft_time,
)
from augerbook.chapters.melt import models as melt_models
from augerbook.chapters.thrust import nozzle_pressure
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.feedstock import sieve_mesh, solid_density
from augerbook.head.heating import heated_length, set_temperature, throat_temperature
from augerbook.head.nozzle import (
    cone_half_angle,
    end_correction,
    land_length,
    melt_bore_diameter,
    melt_bore_length,
    nozzle_diameter,
)
from augerbook.head.plastic import (
    VISCOSITY_INPUTS,
    activation_energy,
    critical_stress,
    fused_conductivity,
    fusing_factor,
    melt_density,
    melt_specific_heat,
    power_index,
    reference_temperature,
    shear_limit,
    softening_temperature,
    wlf_slope,
    wlf_span,
    zero_viscosity,
)
from augerbook.head.tube import bore_diameter

SUBJECT = Subject(
    "melt",
    number=9,
    title="Melt and nozzle",
    question="What pressure does the nozzle need, how long does a grain take to melt, what does a hotter nozzle buy?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")


gas_constant = SUBJECT.result("gas_constant", "R_g", "J/mol/K", "molar gas constant", digits=5, positive=True)
local_exponent = SUBJECT.result(
    "local_exponent", "n_Q", "1", "per cent of pressure at the nozzle for one per cent of flow", digits=2
)
wall_rate = SUBJECT.result("wall_rate", "gamma_w", "1/s", "shear rate at the wall of the land")
wall_stress = SUBJECT.result(
    "wall_stress",
    "tau_w",
    "MPa",
    "shear stress at the wall of the land",
    title="shear stress at the nozzle's wall",
    nonnegative=True,
)
land_pressure = SUBJECT.result("land_pressure", "P_land", "MPa", "pressure for the land")
cone_pressure = SUBJECT.result("cone_pressure", "P_cone", "MPa", "pressure for the cone")
bore_pressure = SUBJECT.result("bore_pressure", "P_bore", "MPa", "pressure for the bore before the cone")
entrance_pressure = SUBJECT.result("entrance_pressure", "P_end", "MPa", "pressure lost at the entrance of the land")
grain_melt_time = SUBJECT.result(
    "grain_melt_time", "t_g", "s", "time in which the middle of the largest grain softens, its surface at once as hot "
    "as the block", digits=2,
)  # fmt: skip

#: Nusselt number of a developed laminar stream in a tube whose wall has one temperature (Graetz's first eigenvalue).
NUSSELT = Float("3.657")
_STEADY = "the melt flows steadily and creeps; it sticks to the wall, below the shear limit"
_INSTANT = "viscosity follows rate and temperature at once: no elasticity, and no pressure in it"
_EVEN = "the melt has one temperature in a section"
_SLENDER = "each slice of the cone flows as a long capillary of its radius (lubrication)"
_HOT_NOZZLE = "nozzle and bore are as hot as the block"
_BALL = "the grain is a ball of fused density, wetted by something as hot as the block from the first moment on"
_RAMP = "wall and plastic warm up evenly in time as the plug moves ahead, long enough for its profile to settle"
_ONE_SIDE = "what the screw gives, and the time in which voids close, is in the factor alone, which is a judgement"

SUBJECT.model(
    "gas_constant", (), (gas_constant,), melt_models.gas_constant, "The molar gas constant",
    source=Source("definition", "as scipy.constants has it"),
)  # fmt: skip
bore_transfer = SUBJECT.equals(
    "bore_transfer",
    "N_m",
    "1",
    "heat that the bore passes on for each kelvin, over what the melt takes up",
    NUSSELT * pi * fused_conductivity * melt_bore_length / feed_heat,
    "Heat from the bore's wall into the stream",
    positive=True,
    source=Source("incropera", "chapter 8, developed laminar flow, wall of one temperature"),
    assumptions=(_HOT_NOZZLE, "the temperature profile has settled: before that more heat goes over (the safe side)"),
)
nozzle_temperature = SUBJECT.equals(
    "nozzle_temperature",
    "T_n",
    "degC",
    "temperature of the melt in cone and land",
    set_temperature - (set_temperature - melt_temperature) * exp(-bore_transfer),
    "What the bore leaves of the difference",
    source=_HERE,
    assumptions=(_HOT_NOZZLE, _EVEN),
)


def _of_melt(at: Expr) -> Expr:
    """The temperature shift at a temperature, from the one place where it is written down."""
    m = melt_models
    named = {
        m.temperature: at, m.reference: reference_temperature, m.slope: wlf_slope, m.span: wlf_span,
        m.activation: activation_energy, m.gas: gas_constant,
    }  # fmt: skip
    return exp(m.SHIFT_EXPONENT.subs(named))


#: Where Arrhenius alone is used, with a slope of 0, there is no pole.
_ABOVE_POLE = wlf_slope * (reference_temperature - wlf_span - nozzle_temperature) <= 0
_WLF_HOLDS = (
    _ABOVE_POLE,
    "the melt in the nozzle is colder than the formula of Williams, Landel and Ferry reaches: its temperature must be "
    "above the reference temperature less the WLF span. The plastic counts as solid, and its stress as the shear limit",
)
shift_factor = SUBJECT.equals(
    "shift_factor",
    "a_T",
    "1",
    "viscosity at small shear rates over that at the reference temperature",
    Piecewise((_of_melt(nozzle_temperature), _ABOVE_POLE), (oo, True)),
    "Temperature moves the curve",
    source=Source("wlf", "temperature shift; Arrhenius beside it"),
    assumptions=("temperature moves the flow curve along the rate and leaves its stresses as they are",),
    valid=(_WLF_HOLDS,),
)
fed_viscosity = SUBJECT.equals(
    "fed_viscosity",
    "eta_f",
    "Pa*s",
    "viscosity of what is fed, at small shear rates and at the reference temperature",
    zero_viscosity * viscosity_feed,
    "The plastic's own, less what earlier melting took",
    positive=True,
    source=_HERE,
    assumptions=(
        "shorter chains move the flow curve to faster rates and leave its stresses as they are, as warmth does",
    ),
)
#: The flow law of what is fed, in the order in which `melt_models.viscosity` takes it.
FLOW_LAW = (fed_viscosity, *VISCOSITY_INPUTS[1:])
hot_viscosity = SUBJECT.equals(
    "hot_viscosity",
    "eta_0",
    "Pa*s",
    "viscosity at small shear rates and at the melt's temperature in the nozzle",
    shift_factor * fed_viscosity,
    "The viscosity at rest, moved",
    source=_DEFINITION,
)

#: What the nozzle's pressure follows from, in the order in which the model takes it.
NOZZLE_INPUTS = (
    melt_flow, nozzle_diameter, land_length, cone_half_angle, melt_bore_diameter, melt_bore_length, end_correction,
    melt_temperature, set_temperature, bore_transfer, shear_limit, *FLOW_LAW,
)  # fmt: skip
SUBJECT.model(
    "nozzle", NOZZLE_INPUTS,
    (
        nozzle_pressure, local_exponent, wall_rate, wall_stress, land_pressure, cone_pressure, bore_pressure,
        entrance_pressure,
    ),
    melt_models.nozzle_drop, "Rabinowitsch's integral over bore, cone and land",
    source=Source("bird", "chapter 2, force balance on a tube; generalised Newtonian fluids, chapter 8"),
    assumptions=(_STEADY, _INSTANT, _EVEN, _SLENDER, _HOT_NOZZLE, "the exponent is that at one temperature"),
    valid=(
        (
            wall_stress < shear_limit,
            "the stress at the wall of the land has reached the shear limit: the melt slips or tears there, and the "
            "line comes out rough. More flow than this asks for a wider nozzle or hotter melt",
        ),
        (
            cone_half_angle <= pi / 4,
            "the cone is blunt: for half angles above 45° slices no longer flow as capillaries, and the entrance loss "
            "must carry what they leave out",
        ),
    ),
)  # fmt: skip
_APPARENT = 4 * melt_flow / (pi * (nozzle_diameter / 2) ** 3)
newton_pressure = SUBJECT.equals(
    "newton_pressure",
    "P_1",
    "MPa",
    "pressure for the land if the melt did not thin: the most it can be",
    2 * land_length / (nozzle_diameter / 2) * hot_viscosity * _APPARENT,
    "Hagen and Poiseuille's law",
    source=Source("bird", "chapter 2, Hagen-Poiseuille"),
    assumptions=(_STEADY,),
    title="pressure if the melt did not thin",
)
power_pressure = SUBJECT.equals(
    "power_pressure",
    "P_n",
    "MPa",
    "pressure for the land after the power law to which the melt tends",
    2
    * land_length
    / (nozzle_diameter / 2)
    * critical_stress
    * (hot_viscosity / critical_stress * _APPARENT * (3 * power_index + 1) / (4 * power_index)) ** power_index,
    "The power law in a tube",
    source=Source("bird", "chapter 8, power law in a tube"),
    assumptions=(_STEADY,),
    title="pressure by the power law alone",
)
shear_heating = SUBJECT.equals(
    "shear_heating",
    "Delta_T_s",
    "delta_degC",
    "how much the pressure warms the melt on its way out, at most",
    nozzle_pressure / (melt_density * melt_specific_heat),
    "All of the pressure becomes heat",
    digits=2,
    source=_HERE,
    assumptions=("no heat goes back into the nozzle",),
)
#: Cone and land, over pi; the melt in both.
_CONE_AND_LAND = (melt_bore_diameter**3 - nozzle_diameter**3) / (24 * tan(cone_half_angle)) + (
    nozzle_diameter**2 * land_length / 4
)
TIP_VOLUME = pi * _CONE_AND_LAND
melt_volume = SUBJECT.equals(
    "melt_volume",
    "V_melt",
    "mm**3",
    "melt under pressure from the heated block to the end of the nozzle",
    plastic_section * heated_length + pi * (melt_bore_diameter**2 * melt_bore_length / 4 + _CONE_AND_LAND),
    "Channel in the block, bore, cone and land",
    source=_HERE,
    assumptions=("melt begins with the heated block; soft plastic further up the tube is not counted",),
)
melt_diffusivity = SUBJECT.equals(
    "melt_diffusivity",
    "alpha_m",
    "mm**2/s",
    "how fast fused plastic evens out its temperature",
    fused_conductivity / (solid_density * melt_specific_heat),
    "Diffusivity",
    positive=True,
    source=_DEFINITION,
    assumptions=(NO_LATENT,),
)
_WALL = bore_diameter / 2
fusing_time = SUBJECT.equals(
    "fusing_time",
    "t_f",
    "s",
    "time from the first softening of packed grains to melt without voids",
    fusing_factor
    * (_WALL**2 - screw_radius**2 - 2 * screw_radius**2 * log(_WALL / screw_radius))
    / (4 * melt_diffusivity),
    "How far the screw's side lags behind the wall",
    digits=2,
    source=_HERE,
    assumptions=(_RAMP, _ONE_SIDE, NO_LATENT),
    title="time to fuse",
)
SUBJECT.model(
    "grain_melt_time", (sieve_mesh, melt_diffusivity, set_temperature, softening_temperature, throat_temperature),
    (grain_melt_time,), melt_models.grain_time, "A ball in a hot bath",
    source=Source("incropera", "chapter 5, sphere whose surface takes a temperature at once"),
    assumptions=(_BALL, NO_LATENT),
)  # fmt: skip
melting_reserve = SUBJECT.equals(
    "melting_reserve",
    "R_melt",
    "1",
    "time that the plastic spends soft, over the time that it takes to fuse",
    soft_time / fusing_time,
    "Time there is over time it takes",
    source=_DEFINITION,
    title="soft time over time to fuse",
)

_LAND_HELP = "take a wider nozzle, print more slowly, or raise the temperature within what the plastic bears"
SUBJECT.margin(
    "wall_stress", wall_stress, good=0.2, limit=0.3,
    why="above 0.1 to 0.3 MPa melts leave a nozzle rough as sharkskin, then wavy: melt fracture", advice=_LAND_HELP,
    source=Source("common practice", "melts differ; linear chains break first"),
)  # fmt: skip
SUBJECT.margin(
    "melting_reserve", melting_reserve, good=3, limit=1,
    why="plastic that is not fused through reaches the screw's tip with cores that block the nozzle",
    advice="print more slowly, lengthen the heated block, or take a screw that leaves a thinner ring",
    source=Source("judgement", "1 is where the time runs out, 3 allows for what conduction alone leaves out"),
)  # fmt: skip
