"""The feedstock: how granules dry, what grinding and sieving leave, what each melting costs, and what dirt may be in.

Water leaves a grain by diffusion. The grinder runs in a loop: what is too coarse goes round again, dust is lost.
Prints that fail go round as well, through the melt, and get thinner each time.
"""

from __future__ import annotations

from sympy import Integer, Or, Piecewise, Rational, ceiling, exp, log, pi, sqrt

from augerbook.chapters.feedstock.models import (
    left_in_ball,
    left_in_flake,
    saturation_pressure,
    time_for_ball,
    time_for_flake,
    water_molar_mass,
)
from augerbook.chapters.grains import SUBJECT as GRAINS
from augerbook.chapters.grains import (
    largest_grain,
    passing_over_grain,
    passing_size_centred,
)
from augerbook.core.extremes import largest
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head.feedstock import (
    BALL,
    FLAKE,
    activation_temperature,
    air_humidity,
    batch_mass,
    coarse_share,
    diffusivity_temperature,
    dirt_size,
    drying_temperature,
    drying_time,
    dust_share,
    flake_thickness,
    grain_shape,
    grinder_rate,
    humidity_temperature,
    moisture_limit,
    moisture_saturated,
    moisture_start,
    molar_mass,
    passes_allowed,
    recycled_share,
    reference_diffusivity,
    viscosity_kept,
)
from augerbook.head.nozzle import nozzle_diameter

SUBJECT = Subject(
    "feedstock",
    number=1,
    title="What is fed",
    question="Are these granules dry, clean and fresh enough, and how much grinding do they take?",
)
_HERE = Source("derived here")
_DEFINITION = Source("definition")
_BALL_BOOK = Source("crank", "diffusion in a sphere, constant surface concentration")
_FLAKE_BOOK = Source("crank", "diffusion in a plane sheet, constant surface concentration")

#: Good is half of what the plastic's limit allows; the time to dry is counted to there.
_GOOD_MOISTURE = Rational(1, 2)
_WANTED = _GOOD_MOISTURE * moisture_limit
#: Good is dirt below a fifth of the nozzle's bore.
_GOOD_DIRT = Rational(1, 5)
#: Room for the grains that the chapter on grains calls good.
_GOOD_ROOM = Rational(str(next(m.good for m in GRAINS.margins if m.quantity == passing_over_grain)))


diffusion_time = SUBJECT.result("diffusion_time", "t_D", "h", "time scale of the diffusion", positive=True)
left_ball = SUBJECT.result(
    "left_ball", "x_ball", "percent", "water left in a ball, share of what can leave", nonnegative=True
)
left_flake = SUBJECT.result(
    "left_flake", "x_flake", "percent", "water left in a flake, share of what can leave", nonnegative=True
)
water_left = SUBJECT.result("water_left", "x_w", "percent", "water left, share of what can leave", nonnegative=True)
half_time = SUBJECT.result(
    "half_time", "t_half", "h", "time until half of the water that can leave is out", positive=True
)
fourier_ball = SUBJECT.result("fourier_ball", "Fo_ball", "1", "drying time that a ball needs, over its time scale")
fourier_flake = SUBJECT.result("fourier_flake", "Fo_flake", "1", "drying time that a flake needs, over its time scale")
fourier_needed = SUBJECT.result("fourier_needed", "Fo_need", "1", "drying time needed, over the time scale")
water_mass = SUBJECT.result("water_mass", "M_w", "g/mol", "molar mass of water", digits=4, positive=True)
yield_per_pass = SUBJECT.result("yield_per_pass", "y", "percent", "granules from one pass, share of what was ground")

_FICK = "water moves along the slope of its own concentration, with one diffusivity everywhere and at all times"
_SURFACE = "the air at the surface of each grain is as dry as the air that is blown in, and the grain is warm at once"
_ROUND = "all grains are balls as large as the largest"
_THIN = "flakes are wide against their thickness"
_EVEN = "coarse pieces break at each further pass as fresh scrap does at the first"
_MIXED = "virgin and old granules are mixed well, and the loop has run for many rounds"

_CLAPEYRON = "vapour is an ideal gas, and the heat of evaporation falls along a line; below 0 °C over water, not ice"
_HENRY = "water in the plastic is in proportion to the relative humidity about it, whatever the temperature"

pressure_where_read = SUBJECT.result(
    "pressure_where_read", "p_sat_phi", "kPa", "most vapour that air can hold where its humidity is read", positive=True
)
pressure_drying = SUBJECT.result(
    "pressure_drying", "p_sat_dry", "kPa", "most vapour that air can hold where the granules dry", positive=True
)
SUBJECT.model(
    "pressure_where_read", (humidity_temperature,), (pressure_where_read,), saturation_pressure,
    "Vapour over water where the humidity is read", source=_HERE, assumptions=(_CLAPEYRON,),
)  # fmt: skip
SUBJECT.model(
    "pressure_drying", (drying_temperature,), (pressure_drying,), saturation_pressure,
    "Vapour over water where the granules dry", source=_HERE, assumptions=(_CLAPEYRON,),
)  # fmt: skip
drying_humidity = SUBJECT.equals(
    "drying_humidity",
    "phi_dry",
    "percent",
    "relative humidity of that air once it is as warm as the granules",
    air_humidity * pressure_where_read / pressure_drying,
    "The same vapour, held against what warm air can hold",
    digits=2,
    positive=True,
    source=_HERE,
    assumptions=("warming neither adds vapour nor takes any away, and what leaves the granules is blown away",),
    valid=(
        (
            air_humidity * pressure_where_read <= pressure_drying,
            "where the granules dry it is so much cooler than where the humidity was read that the air could not hold "
            "its vapour: water would settle on them. Look at both temperatures",
        ),
    ),
)
moisture_air = SUBJECT.equals(
    "moisture_air",
    "w_air",
    "percent",
    "water that stays however long they dry, set by how dry the air is",
    moisture_saturated * drying_humidity,
    "What this air leaves in for ever",
    positive=True,
    source=Source("common practice", "Henry's law"),
    assumptions=(_HENRY,),
    title="water that the air leaves in",
)
moisture_diffusivity = SUBJECT.equals(
    "moisture_diffusivity",
    "D_w",
    "mm**2/h",
    "diffusivity of water while drying",
    reference_diffusivity
    * exp(activation_temperature / diffusivity_temperature - activation_temperature / drying_temperature),
    "Warm plastic lets water through faster",
    short_id="diffusivity",
    positive=True,
    source=_HERE,
    assumptions=("the law of Arrhenius holds from one temperature to the other",),
)
diffusion_time_ball = SUBJECT.equals(
    "diffusion_time_ball",
    "t_ball",
    "h",
    "time scale of the largest grain as a ball",
    (largest_grain / 2) ** 2 / moisture_diffusivity,
    "Radius squared over diffusivity",
    positive=True,
    source=_DEFINITION,
    assumptions=(_ROUND,),
)
diffusion_time_flake = SUBJECT.equals(
    "diffusion_time_flake",
    "t_flake",
    "h",
    "time scale of the flakes",
    (flake_thickness / 2) ** 2 / moisture_diffusivity,
    "Half the thickness squared over diffusivity",
    positive=True,
    source=_DEFINITION,
    assumptions=(_THIN,),
)
SUBJECT.select(
    "diffusion_time", diffusion_time, grain_shape, {BALL: diffusion_time_ball, FLAKE: diffusion_time_flake},
    "The time scale of these grains",
)  # fmt: skip
fourier_number = SUBJECT.equals(
    "fourier_number",
    "Fo",
    "1",
    "drying time, over the time scale",
    drying_time / diffusion_time,
    "Dimensionless time",
    short_id="fourier",
    source=_DEFINITION,
)
left_ball_closed = SUBJECT.equals(
    "left_ball_closed",
    "x_ball_hand",
    "percent",
    "water left in a ball, by the hand formula",
    Piecewise(
        (1 - 6 * sqrt(fourier_number / pi) + 3 * fourier_number, fourier_number < Rational(15, 100)),
        (6 / pi**2 * exp(-(pi**2) * fourier_number), True),
    ),
    "A ball at first and at last, joined: within 0.3 % of the series",
    source=_BALL_BOOK,
    assumptions=(_FICK, _SURFACE),
    nonnegative=True,
)
left_flake_closed = SUBJECT.equals(
    "left_flake_closed",
    "x_flake_hand",
    "percent",
    "water left in a flake, by the hand formula",
    Piecewise(
        (1 - 2 * sqrt(fourier_number / pi), fourier_number < Rational(22, 100)),
        (8 / pi**2 * exp(-(pi**2) / 4 * fourier_number), True),
    ),
    "A flake at first and at last, joined: within 0.3 % of the series",
    source=_FLAKE_BOOK,
    assumptions=(_FICK, _SURFACE, _THIN),
    nonnegative=True,
)
SUBJECT.model(
    "left_ball", (fourier_number,), (left_ball,), left_in_ball, "Water left in a ball at any time",
    source=_BALL_BOOK, assumptions=(_FICK, _SURFACE),
)  # fmt: skip
SUBJECT.model(
    "left_flake", (fourier_number,), (left_flake,), left_in_flake, "Water left in a flake at any time",
    source=_FLAKE_BOOK, assumptions=(_FICK, _SURFACE, _THIN),
)  # fmt: skip
SUBJECT.select("water_left", water_left, grain_shape, {BALL: left_ball, FLAKE: left_flake}, "Water left in these")
half_time_ball = SUBJECT.equals(
    "half_time_ball",
    "t_half_ball",
    "h",
    "time until half of it is out of a ball",
    (1 / sqrt(pi) - sqrt(1 / pi - Rational(1, 6))) ** 2 * diffusion_time_ball,
    "Half of the water out of a ball, by the early form: within 0.3 %",
    positive=True,
    source=_HERE,
    assumptions=(_FICK, _SURFACE),
)
half_time_flake = SUBJECT.equals(
    "half_time_flake",
    "t_half_flake",
    "h",
    "time until half of it is out of a flake",
    pi / 16 * diffusion_time_flake,
    "Half of the water out of a flake, by the early form: within 0.3 %",
    positive=True,
    source=_HERE,
    assumptions=(_FICK, _SURFACE),
)
SUBJECT.select("half_time", half_time, grain_shape, {BALL: half_time_ball, FLAKE: half_time_flake}, "Half-time")
moisture_dried = SUBJECT.equals(
    "moisture_dried",
    "w",
    "percent",
    "water in the granules after drying",
    moisture_air + (moisture_start - moisture_air) * water_left,
    "What stays for ever and what is left of the rest",
    nonnegative=True,
    source=_DEFINITION,
)
moisture_ratio = SUBJECT.equals(
    "moisture_ratio",
    "n_w",
    "1",
    "water after drying, over the plastic's limit",
    moisture_dried / moisture_limit,
    "Water against the limit",
    nonnegative=True,
    source=_DEFINITION,
    title="water left over the limit",
)
left_wanted = SUBJECT.equals(
    "left_wanted",
    "x_goal",
    "percent",
    "water that may be left, share of what can leave",
    Piecewise(
        (1, moisture_start <= _WANTED),
        (0, moisture_air >= _WANTED),
        ((_WANTED - moisture_air) / (moisture_start - moisture_air), True),
    ),
    "What may be left: all of it where the granules are dry enough, nothing where this air is too damp",
    source=_DEFINITION,
    valid=(
        (
            Or(moisture_start <= _WANTED, moisture_air < _WANTED),
            "this air is too damp to reach half of the limit in any time: dry the air (desiccant), or dry hotter",
        ),
        (
            moisture_start > moisture_air,
            "this air is damper than the granules: they take water up instead of drying; dry the air, or dry hotter",
        ),
    ),
)
SUBJECT.model(
    "fourier_ball", (left_wanted,), (fourier_ball,), time_for_ball, "Time for a ball", source=_BALL_BOOK,
    assumptions=(_FICK, _SURFACE),
)  # fmt: skip
SUBJECT.model(
    "fourier_flake", (left_wanted,), (fourier_flake,), time_for_flake, "Time for a flake", source=_FLAKE_BOOK,
    assumptions=(_FICK, _SURFACE),
)  # fmt: skip
SUBJECT.select("fourier_needed", fourier_needed, grain_shape, {BALL: fourier_ball, FLAKE: fourier_flake}, "Time")
drying_time_needed = SUBJECT.equals(
    "drying_time_needed",
    "t_need",
    "h",
    "time until the water is down to half of the limit",
    fourier_needed * diffusion_time,
    "Time to dry",
    source=_DEFINITION,
    title="drying time needed",
)
SUBJECT.model("water_mass", (), (water_mass,), water_molar_mass, "The molar mass of water", source=_DEFINITION)
molar_mass_wet = SUBJECT.equals(
    "molar_mass_wet",
    "M_wet",
    "kg/mol",
    "molar mass once all of the water that is left has cut chains",
    1 / (1 / molar_mass + moisture_dried / water_mass),
    "One molecule of water cuts one chain",
    positive=True,
    source=_HERE,
    assumptions=("a polyester, polycarbonate or polyamide, and all of the water reacts: a bound",),
    title="molar mass after melting it wet",
)
viscosity_wet = SUBJECT.equals(
    "viscosity_wet",
    "x_eta_w",
    "percent",
    "viscosity that is left then, over that of dry plastic",
    (molar_mass_wet / molar_mass) ** Rational(34, 10),
    "Viscosity falls with the power 3.4 of molar mass",
    digits=2,
    nonnegative=True,
    source=Source("rheology_course", "notebook 12, zero-shear viscosity and molar mass"),
    assumptions=("chains stay long enough to entangle, and their spread of lengths keeps its shape",),
)
SUBJECT.relation(
    "yield_per_pass", yield_per_pass, 1 - coarse_share - dust_share, "What lies between the sieves",
    source=_DEFINITION,
    valid=((
        yield_per_pass > 0,
        "nothing lies between the two sieves: the shares for the upper and the lower one add up to all there is",
    ),),
)  # fmt: skip
grinder_passes = SUBJECT.equals(
    "grinder_passes",
    "n_grind",
    "1",
    "times a gram of scrap is ground, on average",
    1 / (1 - coarse_share),
    "All rounds added up",
    source=_HERE,
    assumptions=(_EVEN,),
)
circulating_load = SUBJECT.equals(
    "circulating_load",
    "R_c",
    "percent",
    "what goes round again, over fresh scrap",
    coarse_share * grinder_passes,
    "What goes round",
    source=_HERE,
    assumptions=(_EVEN,),
)
yield_total = SUBJECT.equals(
    "yield_total",
    "Y",
    "percent",
    "granules in the end, share of the scrap",
    yield_per_pass * grinder_passes,
    "Granules from all rounds",
    source=_HERE,
    assumptions=(_EVEN,),
)
dust_total = SUBJECT.equals(
    "dust_total",
    "X_dust",
    "percent",
    "dust in the end, share of the scrap",
    dust_share * grinder_passes,
    "Dust from all rounds",
    source=_HERE,
    assumptions=(_EVEN,),
)
passes_needed = SUBJECT.equals(
    "passes_needed",
    "n_99",
    "1",
    "passes after which less than 1 % of a batch is too coarse",
    largest(Integer(1), ceiling(log(Rational(1, 100)) / log(coarse_share))),
    "Rounds for one batch",
    digits=1,
    source=_HERE,
    assumptions=(_EVEN,),
)
scrap_needed = SUBJECT.equals(
    "scrap_needed",
    "m_scrap",
    "g",
    "scrap for the granules wanted",
    batch_mass / yield_total,
    "Scrap to start with",
    source=_DEFINITION,
)
dust_made = SUBJECT.equals(
    "dust_made",
    "m_dust",
    "g",
    "dust that comes with them",
    dust_total * scrap_needed,
    "Dust to get rid of",
    source=_DEFINITION,
)
granule_rate = SUBJECT.equals(
    "granule_rate",
    "G_g",
    "g/min",
    "granules that grinder and sieves deliver",
    grinder_rate * yield_per_pass,
    "What the loop gives",
    source=_HERE,
)
batch_time = SUBJECT.equals(
    "batch_time",
    "t_b",
    "min",
    "time for the granules wanted",
    batch_mass / granule_rate,
    "Time at the grinder",
    source=_DEFINITION,
)
earlier_passes = SUBJECT.equals(
    "earlier_passes",
    "n_q",
    "1",
    "times the feed was melted before, on average, once the loop runs evenly",
    recycled_share / (1 - recycled_share),
    "The mean age of the feed",
    source=_HERE,
    assumptions=(_MIXED,),
)
share_worn = SUBJECT.equals(
    "share_worn",
    "X_old",
    "percent",
    "share of the feed that was melted too often",
    recycled_share**passes_allowed,
    "The tail of old plastic",
    source=_HERE,
    assumptions=(_MIXED,),
)
viscosity_feed = SUBJECT.equals(
    "viscosity_feed",
    "x_eta_q",
    "percent",
    "viscosity of the feed over that of virgin plastic",
    viscosity_kept**earlier_passes,
    "Thinner each time",
    source=_HERE,
    assumptions=(
        _MIXED,
        "each melting takes the same share of the viscosity",
        "logarithms of viscosity mix in proportion to mass",
    ),
    title="viscosity of the feed",
)
dirt_allowed = SUBJECT.equals(
    "dirt_allowed",
    "x_ok",
    "mm",
    "largest speck that is still good for this nozzle",
    _GOOD_DIRT * nozzle_diameter,
    "Specks that pass",
    source=_DEFINITION,
)
dirt_ratio = SUBJECT.equals(
    "dirt_ratio",
    "n_dirt",
    "1",
    "largest speck over the bore of the nozzle",
    dirt_size / nozzle_diameter,
    "Speck against nozzle",
    digits=2,
    source=_DEFINITION,
    title="largest speck over the nozzle's bore",
)
sieve_to_make = SUBJECT.equals(
    "sieve_to_make",
    "m_make",
    "mm",
    "mesh of the sieve to make for this screw and bore",
    passing_size_centred / _GOOD_ROOM,
    "No grain too large for a centred screw, with room to spare",
    source=Source("derived here", "two grains that oppose, and the good value of the margin, in the chapter on grains"),
)

SUBJECT.margin(
    "moisture_ratio", moisture_ratio, good=float(_GOOD_MOISTURE), limit=1.0,
    why="water turns to steam bubbles in the melt, and cuts the chains of polyesters, polycarbonates and polyamides",
    advice="dry longer if the air is dry enough, else dry the air; sieve chunks finer; dry hotter only as "
    "far as the plastic's data sheet allows",
    source=Source("judgement", "half of the limit in the data table; the limit is that of the plastic"),
)  # fmt: skip
SUBJECT.margin(
    "dirt_ratio", dirt_ratio, good=float(_GOOD_DIRT), limit=0.33,
    why="specks that are large against the nozzle arch over it, and then it is closed",
    advice="wash the scrap, pass a magnet over the granules, put a finer screen before the nozzle, or bore it wider",
    source=Source("common practice", "no solid above a fifth of a nozzle; at a third, three specks make an arch"),
)  # fmt: skip
