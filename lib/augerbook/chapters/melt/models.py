"""Viscosity of the melt, its flow through capillary and cone, and how fast the middle of a grain warms up.

The flow law is one formula with Cross, Carreau-Yasuda and power law as special cases. Between the shear at the wall of
a capillary and the flow through it stands an integral over the section; a few Newton steps turn it round.
"""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.constants import R as GAS_CONSTANT
from sympy import Symbol, log, symbols

from augerbook.core.compiled import compiled
from augerbook.core.distinct import different

Array = NDArray[np.float64]

rate = Symbol(r"\dot\gamma", positive=True)
temperature, gas, shift = symbols("T R_g a_T", positive=True)
zero, critical, index, transition = symbols("eta_r tau_c n a", positive=True)
reference, slope, span, activation = symbols("T_r C_1 C_2 E", positive=True)
#: Logarithm of the temperature shift: Williams, Landel and Ferry where activation is 0, Arrhenius where slope is 0.
SHIFT_EXPONENT = -log(10) * slope * (temperature - reference) / (span + temperature - reference) + activation / gas * (
    1 / temperature - 1 / reference
)
#: The flow law; shear stress is this times the rate.
FLOW_LAW = shift * zero * (1 + (shift * zero * rate / critical) ** transition) ** ((index - 1) / transition)
_exponent = compiled((temperature, reference, slope, span, activation, gas), SHIFT_EXPONENT)
_flow_law = compiled((rate, shift, zero, critical, index, transition), FLOW_LAW, cse=True)

#: Logarithm of the shift at which it is cut: where the formula of Williams, Landel and Ferry runs away towards the
#: glass the melt is a solid for whatever is done with it here, and the shear limit decides.
_STIFFEST = 69.0
#: Nodes of Gauss and Legendre over the part of a section that does not thin yet and over the part that thins, over a
#: cone and a bore, and Newton steps. The tests measure what they leave.
CORE_NODES, RIM_NODES, CONE_NODES, BORE_NODES, STEPS = 8, 12, 6, 8, 5
#: A step that moves the logarithm of the rate by no more than this is the last one: the next would be near its square.
_STANDS = 1e-7
#: Heads computed at a time, so that what stands in between stays in the processor's cache.
_AT_ONCE = 256


def temperature_shift(at: Any, reference_at: Any, wlf_slope: Any, wlf_span: Any, activation_energy: Any) -> Array:
    """Return the temperature shift a_T (temperatures in K, energy in J/mol), cut at 1e30 at and below its pole."""
    solid = np.asarray(wlf_span + at - reference_at) <= 0
    # Beyond the pole the formula of Williams, Landel and Ferry holds nothing; what stands in its place is not used.
    reach = np.where(solid, reference_at - at + 1.0, wlf_span)
    with np.errstate(all="ignore"):
        power = _exponent(*np.broadcast_arrays(at, reference_at, wlf_slope, reach, activation_energy), GAS_CONSTANT)
    frozen = solid & (np.asarray(wlf_slope) > 0)
    return np.exp(np.where(frozen, _STIFFEST, np.minimum(power, _STIFFEST)))


#: So many of the parameters of the flow law hold at a known shift; those after them give the shift.
SHIFTED = 4


def shifted_viscosity(
    shear_rate: Any, moved: Any, zero_viscosity: Any, critical_stress: Any, power_index: Any, transition_exponent: Any
) -> Array:
    """Return the viscosity (Pa s) at a shear rate (1/s) at a known temperature shift; SI arrays that broadcast."""
    return np.asarray(_flow_law(shear_rate, moved, zero_viscosity, critical_stress, power_index, transition_exponent))


def viscosity(
    shear_rate: Any, at: Any, zero_viscosity: Any, critical_stress: Any, power_index: Any, transition_exponent: Any,
    reference_temperature: Any, wlf_slope: Any, wlf_span: Any, activation_energy: Any,
) -> Array:  # fmt: skip
    """Return the viscosity (Pa s) at a shear rate (1/s) and a temperature (K); SI arrays that broadcast.

    The parameters are those of `melt.VISCOSITY_INPUTS`, in its order. At and below the pole of Williams, Landel and
    Ferry the result is large but finite; what the melt can carry there is the shear limit's business.
    """
    moved = temperature_shift(at, reference_temperature, wlf_slope, wlf_span, activation_energy)
    return shifted_viscosity(shear_rate, moved, zero_viscosity, critical_stress, power_index, transition_exponent)


class Wall(NamedTuple):
    """What holds at the wall of a capillary: shear rate (1/s), shear stress (Pa), d ln(stress) / d ln(flow)."""

    rate: Array
    stress: Array
    exponent: Array


@cache
def _nodes(count: int) -> tuple[Array, Array]:
    """Nodes and weights of Gauss and Legendre on 0..1."""
    place, weight = np.polynomial.legendre.leggauss(count)
    return (place + 1) / 2, weight / 2


def _apparent(at_wall: Array, n: Array, a: Array) -> Array:
    """Apparent rate 4Q/(pi R^3) over the wall's rate, for dimensionless wall rates zero * rate / critical, all (B,).

    From the balance of forces and by parts: 4/3 (1 - integral of (stress / wall stress)^3 over rate / wall rate). The
    law bends at a dimensionless rate of 1, sharply where a is large, so the integral is taken on both sides of the bend
    for itself: up to it over the rate, beyond it over the rate's fifth root, in which it is smooth for power laws too.
    """
    core, core_weight = _nodes(CORE_NODES)
    rim, rim_weight = _nodes(RIM_NODES)
    wall, bend, power = at_wall[:, None], a[:, None], (3 * (n - 1) / a)[:, None]
    whole = 1 + wall**bend

    def summed(rows: Any, part: Array, width: Array) -> Array:
        # A power takes longer than all else here: that of the cube is taken with that of the law.
        thinned = ((1 + (wall[rows] * part) ** bend[rows]) / whole[rows]) ** power[rows]
        return np.asarray((part * part * part * thinned * width).sum(axis=1))

    parting = 1 / np.maximum(wall, 1.0)
    integral = summed(slice(None), parting * core, parting * core_weight)
    if (thins := np.flatnonzero(at_wall > 1)).size:
        root = parting[thins] ** 0.2
        place = root + (1 - root) * rim
        fourth = np.square(np.square(place))
        integral[thins] += summed(thins, place * fourth, (1 - root) * 5 * fourth * rim_weight)
    return np.asarray(4 / 3 * (1 - integral))


def wall_state(
    apparent_rate: Any, moved: Any, shear_limit: Any, zero_viscosity: Any, critical_stress: Any, power_index: Any,
    transition_exponent: Any,
) -> Wall:  # fmt: skip
    """Return what holds at the wall where a melt flows with the apparent rate 4Q/(pi R^3) (1/s, SI arrays).

    ``moved`` is the temperature shift. A wall stress above the shear limit (Pa) stays at the limit: the melt slips or
    tears, and more flow needs no more stress.
    """
    given = np.broadcast_arrays(*(np.asarray(x, dtype=np.float64) for x in (
        apparent_rate, moved, shear_limit, zero_viscosity, critical_stress, power_index, transition_exponent,
    )))  # fmt: skip
    apparent, moved, limit, eta, tau, n, a = (x.ravel() for x in given)
    scale = moved * eta / tau
    wanted = np.maximum(scale * apparent, 1e-12)
    # A power law with the slope that holds at the apparent rate comes near.
    thinning = wanted**a
    local = 1 + (n - 1) * thinning / (1 + thinning)
    wall, ratio = wanted * (3 * local + 1) / (4 * local), np.empty_like(wanted)
    left = np.arange(wall.size)
    for _ in range(STEPS):
        now, own, bend = wall[left], n[left], a[left]
        ratio[left] = found = _apparent(now, own, bend)
        local = 1 + (own - 1) * now**bend / (1 + now**bend)
        step = np.clip(np.log(wanted[left] / (found * now)) / (local * (4 / found - 3)), -3, 3)
        wall[left] = now * np.exp(step)
        left = left[np.abs(step) > _STANDS]
    ratio[left] = _apparent(wall[left], n[left], a[left])
    sheared = wall / scale
    stress = _flow_law(sheared, moved, eta, tau, n, a) * sheared
    state = Wall(sheared, np.minimum(stress, limit), np.where(stress < limit, 1 / (4 / ratio - 3), 0.0))
    return Wall(*(x.reshape(given[0].shape) for x in state))


class Nozzle(NamedTuple):
    """What the pressure depends on, in SI: floats or arrays that broadcast.

    ``bore_transfer`` says how far the melt nears the block's temperature on its way through the bore: the difference
    falls to exp(-bore_transfer). ``end_correction`` is the entrance loss as length of land, in diameters.
    """

    flow: Any
    nozzle_diameter: Any
    land_length: Any
    cone_half_angle: Any
    bore_diameter: Any
    bore_length: Any
    end_correction: Any
    melt_temperature: Any
    set_temperature: Any
    bore_transfer: Any
    shear_limit: Any
    zero_viscosity: Any
    critical_stress: Any
    power_index: Any
    transition: Any
    reference_temperature: Any
    wlf_slope: Any
    wlf_span: Any
    activation_energy: Any

    def shift_at(self, at: Any) -> Array:
        """The temperature shift at a temperature (K)."""
        return temperature_shift(at, self.reference_temperature, self.wlf_slope, self.wlf_span, self.activation_energy)

    def wall(self, radius: Any, at: Any) -> Wall:
        """What holds at the wall of a capillary of this radius at a temperature (K)."""
        apparent = 4 * self.flow / (np.pi * np.asarray(radius) ** 3)
        return wall_state(apparent, self.shift_at(at), self.shear_limit, self.zero_viscosity, self.critical_stress,
                          self.power_index, self.transition)  # fmt: skip

    def bore_temperature(self, share: Any) -> Array:
        """Temperature of the melt where it has passed a share of the bore's length."""
        cold = self.set_temperature - self.melt_temperature
        return np.asarray(self.set_temperature - cold * np.exp(-self.bore_transfer * share))


class Drop(NamedTuple):
    """Pressures (Pa) that push the melt through the nozzle, their local exponent, and what holds in the land."""

    pressure: Any
    exponent: Any
    rate: Any
    stress: Any
    land: Any
    cone: Any
    bore: Any
    entrance: Any


def _drop(n: Nozzle) -> Drop:
    """Add up the pressures of heads in the last axis."""
    end, wide = n.nozzle_diameter / 2, n.bore_diameter / 2
    # In the cone each slice is a short capillary; over the logarithm of the radius they change most evenly.
    cone, cone_weight = (x[:, None] for x in _nodes(CONE_NODES))
    bore, bore_weight = (x[:, None] for x in _nodes(BORE_NODES))
    narrowing = np.maximum(np.log(wide / end), 0.0)
    radius = np.concatenate([end[None], end * np.exp(narrowing * cone), wide + 0.0 * bore])
    passed = np.concatenate([[[1.0]], 1.0 + 0.0 * cone, bore])
    wall = n.wall(radius, n.bore_temperature(passed))
    # How much length of wall, over half its radius, each of these stresses stands for.
    share = np.concatenate([
        (2 * n.land_length / end + 4 * n.end_correction)[None],
        2 * narrowing / np.tan(n.cone_half_angle) * cone_weight,
        2 * n.bore_length / wide * bore_weight,
    ])  # fmt: skip
    drops = wall.stress * share
    total, stress = drops.sum(axis=0), wall.stress[0]
    in_cone, in_bore = drops[1 : CONE_NODES + 1].sum(axis=0), drops[CONE_NODES + 1 :].sum(axis=0)
    return Drop(total, (drops * wall.exponent).sum(axis=0) / total, wall.rate[0], stress,
                2 * stress * n.land_length / end, in_cone, in_bore, 4 * stress * n.end_correction)  # fmt: skip


def nozzle_drop(*values: Any) -> Drop:
    """Return pressures, exponent and wall of the land for SI floats or arrays in the order of `Nozzle`."""
    shape = np.broadcast_shapes(*(np.shape(v) for v in values))
    # Where many inputs of a head are moved in turn, most leave the nozzle alone: each one is computed once.
    some, places = different([np.atleast_1d(v) for v in values])
    table = np.array(some)
    found = np.empty((len(Drop._fields), table.shape[1]))
    with np.errstate(all="ignore"):
        for start in range(0, table.shape[1], _AT_ONCE):
            part = slice(start, start + _AT_ONCE)
            found[:, part] = _drop(Nozzle(*table[:, part]))
    return Drop(*(row[places].reshape(shape)[()] for row in found))


def pressure_along(nozzle: Nozzle, slices: int = 16) -> tuple[Array, Array, Array]:
    """Return place (m, from the end of the nozzle backwards), radius (m) and pressure (Pa) along one nozzle.

    The entrance loss stands where the land begins. Drawn with as many slices in cone and bore as asked for.
    """
    end, wide = nozzle.nozzle_diameter / 2, nozzle.bore_diameter / 2
    radius = np.geomspace(end, wide, slices + 1)
    share = np.linspace(1.0, 0.0, slices + 1)
    hot = nozzle.bore_temperature(1.0)
    land = nozzle.wall(end, hot).stress
    cone = nozzle.wall(np.sqrt(radius[1:] * radius[:-1]), hot).stress
    bore = nozzle.wall(wide, nozzle.bore_temperature((share[1:] + share[:-1]) / 2)).stress
    steps = np.diff(radius) / np.tan(nozzle.cone_half_angle)
    place = np.cumsum(np.concatenate([
        [0.0, nozzle.land_length, 0.0], steps, np.full(slices, nozzle.bore_length / slices),
    ]))  # fmt: skip
    rise = np.concatenate([
        [0.0, 2 * land * nozzle.land_length / end, 4 * land * nozzle.end_correction],
        2 * cone / np.tan(nozzle.cone_half_angle) * np.diff(np.log(radius)),
        2 * bore * nozzle.bore_length / slices / wide,
    ])  # fmt: skip
    return place, np.concatenate([[end] * 2, radius, np.full(slices, wide)]), np.cumsum(rise)


def core_excess(fourier: Any) -> Array:
    """Return how much of its first difference to its surface the middle of a ball has left; array like ``fourier``.

    ``fourier`` is the diffusivity times the time over the square of the radius, at least 0.005.
    """
    k = np.arange(1, 41)
    waves = -((-1.0) ** k) * np.exp(-((k * np.pi) ** 2) * np.asarray(fourier, dtype=np.float64)[..., None])
    return np.asarray(2 * waves.sum(axis=-1))


@cache
def _core_table() -> tuple[Array, Array]:
    fourier = np.geomspace(0.012, 3.0, 6000)
    return np.log(core_excess(fourier))[::-1], fourier[::-1]


def core_fourier(excess: Any) -> Array:
    """Return the Fourier number after which the middle of a ball has this share of its first difference left.

    0 where the share is 1 or more, infinite where it is 0 or less: the middle never gets there.
    """
    left = np.asarray(excess, dtype=np.float64)
    logs, fourier = _core_table()
    with np.errstate(all="ignore"):
        found = np.interp(np.log(np.clip(left, 1e-12, 1.0)), logs, fourier)
    return np.where(left >= 1, 0.0, np.where(left <= 0, np.inf, np.where(np.isnan(left), np.nan, found)))


def grain_time(grain: Any, diffusivity: Any, set_temperature: Any, softening_temperature: Any, throat: Any) -> Any:
    """Return the time (s) in which the middle of a ball softens whose surface is as hot as the block from the start."""
    with np.errstate(all="ignore"):
        left = np.divide(set_temperature - softening_temperature, set_temperature - throat)
        return core_fourier(left) * np.asarray(grain) ** 2 / (4 * np.asarray(diffusivity))


def gas_constant() -> float:
    """Return the molar gas constant (SI: J/mol/K)."""
    return GAS_CONSTANT
