"""The drive against motors simulated in time, heat that flows in time, strength summed over sections, and dice."""

import math
import re
from collections.abc import Callable
from typing import Any

import nbformat
import numpy as np
import pytest
from augerbook.builds.build import Build
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.drive import SUBJECT, figures, models
from augerbook.chapters.drive.graphs import TorqueGraphs, speeds_drawn
from augerbook.chapters.pictures import pictures_of
from augerbook.core.network import Solution
from augerbook.draw.picture import Picture
from augerbook.head.drive import weighed_runs
from augerbook.head.weighings import weighing_faults
from augerbook.page.session import Session
from augerbook.page.settle_panel import SettlePanel
from augerbook.settle import found_elsewhere, with_found
from augerbook.tables import read_table
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import dblquad, quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar

from tests.chapters.chapters import chapter_of, words_of
from tests.chapters.solving import changed, shown_in, solved_at
from tests.soak import examples

Q = whole_head().quantities
BUILDS = ("otter", "wren")
MOTOR = {
    "rotor_teeth": 50.0, "rated_current": 1.7, "phase_resistance": 1.5, "phase_inductance": 2.8, "holding_torque": 0.4,
    "set_current": 2.0, "supply_voltage": 24.0, "gear_ratio": 5.0, "gear_efficiency": 80.0, "motor_side": 42.0,
    "motor_length": 40.0, "motor_film": 12.0, "winding_resistance": 1.5, "case_gear_resistance": 2.0,
    "gear_plate_resistance": 3.0, "duty_share": 80.0, "room_temperature": 25.0, "operating_speed": 20.0,
    "needed_torque": 0.6,
}  # fmt: skip
#: A motor whose resistance is told, so that its heat plays no part.
COLD = {key: MOTOR[key] for key in MOTOR if key not in ("duty_share", "motor_film")} | {"hot_resistance": 1.5}


def motor(keys: str, **changes: float) -> list[float]:
    """Some solved values in SI of the cold motor, with changes in the units shown to people."""
    solution = solved_at(COLD | changes)
    return [solution[Q[key]] for key in keys.split()]


# --- the motor


@pytest.mark.outside("drive.flux_linkage", by="torque of both phases over a tooth, scipy.optimize.minimize_scalar")
@pytest.mark.parametrize("row", read_table("motors").rows)
def test_the_flux_gives_the_holding_torque_of_the_sheet(row: str) -> None:
    """Both phases at rated current, the rotor turned by hand: the most that it resists is the holding torque."""
    sheet = read_table("motors").row(row)
    teeth, current, holds = (float(sheet.si(k) or 0) for k in ("rotor_teeth", "rated_current", "holding_torque"))
    (psi,) = motor("flux_linkage", rotor_teeth=teeth, rated_current=current, holding_torque=holds)

    def torque(angle: float) -> float:
        return teeth * psi * current * (math.cos(teeth * angle) - math.sin(teeth * angle))

    most = -minimize_scalar(lambda a: -torque(a), bounds=(-math.pi / teeth, math.pi / teeth), method="bounded").fun
    assert most == pytest.approx(holds, rel=1e-6)


def possible(current: complex, volts: float, most: float, r: float, x: float, e: float) -> bool:
    """Whether driver and supply allow a current (along the magnet + j square to it)."""
    voltage = complex(r * current.real - x * current.imag, r * current.imag + x * current.real + e)
    return abs(current) <= most and abs(voltage) <= volts


def by_search(volts: float, most: float, r: float, x: float, e: float) -> float:
    """The largest current square to the magnet, by going round both edges; zero where there is none above."""
    around = np.exp(1j * np.linspace(0, 2 * math.pi, 40_001))
    on_current = most * around
    z = complex(r, x)
    # The voltage of the current i is z i + j e: on its edge the current is (V exp(j a) - j e) / z.
    on_voltage = (volts * around - 1j * e) / z
    best = 0.0
    voltage = np.abs(z * on_current + 1j * e)
    if (inside := voltage <= volts * (1 + 1e-12)).any():
        best = max(best, float(on_current[inside].imag.max()))
    if (inside := np.abs(on_voltage) <= most * (1 + 1e-12)).any():
        best = max(best, float(on_voltage[inside].imag.max()))
    return best


@pytest.mark.outside(
    "drive.motor_speed", "drive.electrical_speed", "drive.back_voltage", "drive.reactance", "drive.impedance",
    "drive.voltage_current", "drive.shared_current", "drive.pull_out_current", "drive.pull_out_torque",
    by="search along both edges in phasors, NumPy",
)  # fmt: skip
@given(
    speed=st.floats(1, 400), volts=st.floats(5, 60), amps=st.floats(0.2, 5), inductance=st.floats(0.3, 40),
    ohms=st.floats(0.3, 30), ratio=st.floats(1, 30),
)  # fmt: skip
def test_pull_out_is_the_highest_point_within_both_circles(
    speed: float, volts: float, amps: float, inductance: float, ohms: float, ratio: float
) -> None:
    changes = {
        "operating_speed": speed, "supply_voltage": volts, "set_current": amps, "phase_inductance": inductance,
        "hot_resistance": ohms, "gear_ratio": ratio,
    }  # fmt: skip
    current, torque, psi = motor("pull_out_current pull_out_torque flux_linkage", **changes)
    omega = 50 * 2 * math.pi * speed / 60 * ratio
    expected = by_search(volts, amps, ohms, omega * inductance * 1e-3, omega * psi)
    assert current == pytest.approx(expected, rel=1e-4, abs=1e-4 * amps)
    assert torque == pytest.approx(50 * psi * current, rel=1e-12)


def test_the_voltage_alone_gives_the_textbook_formula() -> None:
    """Fifty teeth, 10 mWb, 1.5 ohm, 3 mH, 24 V, 20 rad/s: T = p psi V / Z - p^2 psi^2 w R / Z^2, worked by hand."""
    changes = {
        "holding_torque": math.sqrt(2) * 50 * 0.01 * 1.7, "phase_inductance": 3.0, "set_current": 8.0,
        "operating_speed": 20 * 60 / (2 * math.pi), "gear_ratio": 1.0,
    }  # fmt: skip
    (torque,) = motor("pull_out_torque", **changes)
    z = math.hypot(1.5, 3.0)
    assert torque == pytest.approx(50 * 0.01 * 24 / z - 50**2 * 0.01**2 * 20 * 1.5 / z**2, rel=1e-9)


def loses_step_at(changes: dict[str, float], inertia: float = 5e-5, damping: float = 5e-3) -> float:
    """Load torque at which a motor loses its steps: currents, load angle and speed in time, the load rising slowly.

    In axes that turn with the driver's reference. The driver is a fast current control whose voltage is limited.
    """
    given = COLD | changes
    (psi,) = motor("flux_linkage", **changes)
    teeth, r, coil, most, volts = (
        given["rotor_teeth"], given["hot_resistance"], 1e-3 * given["phase_inductance"], given["set_current"],
        given["supply_voltage"],
    )  # fmt: skip
    speed = 2 * math.pi * given["operating_speed"] / 60 * given["gear_ratio"]
    omega, gain = teeth * speed, 2000.0
    ceiling = 1.3 * teeth * psi * most
    quiet, ramp = 0.4, 15.0

    def load(t: float) -> float:
        return ceiling * max(0.0, t - quiet) / ramp

    def change(t: float, state: np.ndarray) -> list[float]:
        x, y, lag, turning = state
        asked = gain * complex(most - x, -y)
        voltage = asked if abs(asked) <= volts else volts * asked / abs(asked)
        back = psi * teeth * turning * complex(math.sin(lag), math.cos(lag))
        torque = teeth * psi * (x * math.sin(lag) + y * math.cos(lag))
        return [
            (voltage.real - r * x + omega * coil * y - back.real) / coil,
            (voltage.imag - r * y - omega * coil * x - back.imag) / coil,
            omega - teeth * turning,
            (torque - load(t) - damping * (turning - speed)) / inertia,
        ]

    rest = solve_ivp(change, (0, quiet), [most, 0.0, 0.3, speed], method="LSODA", rtol=1e-6, atol=1e-8).y[:, -1]

    def slipped(t: float, state: np.ndarray) -> float:
        return float(state[2] - rest[2] - 2 * math.pi)

    slipped.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(change, (quiet, quiet + ramp), rest, method="LSODA", events=slipped, rtol=1e-6, atol=1e-8)
    assert run.t_events[0].size == 1, "it did not lose its steps"
    return load(float(run.t_events[0][0]))


@pytest.mark.outside("drive.pull_out_torque", "drive.pull_out_current", by="motor in time, scipy.integrate.solve_ivp")
@pytest.mark.parametrize("changes", [
    {"operating_speed": 20.0},
    {"operating_speed": 200.0},
    {"operating_speed": 400.0},
    {"operating_speed": 150.0, "supply_voltage": 12.0, "set_current": 1.5},
    {"operating_speed": 60.0, "phase_inductance": 20.0, "hot_resistance": 5.0},
], ids=["current", "both", "faster", "12 V", "high inductance"])  # fmt: skip
def test_a_motor_in_time_loses_its_steps_at_the_pull_out_torque(changes: dict[str, float]) -> None:
    (torque,) = motor("pull_out_torque", **changes)
    assert loses_step_at(changes) == pytest.approx(torque, rel=0.02)


def test_a_motor_that_little_dampens_loses_its_steps_a_little_earlier() -> None:
    """What the circles give is the most: a rotor that swings does not quite reach it."""
    changes = {"operating_speed": 200.0}
    (torque,) = motor("pull_out_torque", **changes)
    assert 0.9 * torque < loses_step_at(changes, inertia=1e-5, damping=1.5e-3) < 0.99 * torque


@pytest.mark.outside("drive.corner_speed", by="root of the voltage, scipy.optimize.brentq")
@given(volts=st.floats(8, 60), amps=st.floats(0.3, 4), inductance=st.floats(0.5, 30))
def test_the_corner_is_where_the_voltage_is_used_up(volts: float, amps: float, inductance: float) -> None:
    changes = {"supply_voltage": volts, "set_current": amps, "phase_inductance": inductance}
    corner, psi = motor("corner_speed flux_linkage", **changes)

    def left(turns: float) -> float:
        omega = 2 * math.pi * 50 * turns
        return volts - abs(complex(1.5, omega * inductance * 1e-3) * 1j * amps + 1j * omega * psi)

    assert corner == pytest.approx(brentq(left, 0, 1e5) if left(0) > 0 else 0.0, rel=1e-6, abs=1e-9)


@pytest.mark.outside("drive.reverse_share", by="voltage of the turning motor as a phasor")
@given(
    volts=st.floats(8, 60), amps=st.floats(0.3, 4), inductance=st.floats(0.5, 30), back=st.floats(1, 300),
    ratio=st.floats(1, 40),
)  # fmt: skip
def test_turning_back_below_the_corner_the_voltage_suffices_and_the_torque_is_all_there(
    volts: float, amps: float, inductance: float, back: float, ratio: float
) -> None:
    changes = {"supply_voltage": volts, "set_current": amps, "phase_inductance": inductance, "gear_ratio": ratio}
    share, psi = motor("reverse_share flux_linkage", retraction_speed=back, **changes)
    omega = 2 * math.pi * 50 * ratio * back / 60
    taken = abs(complex(1.5, omega * inductance * 1e-3) * 1j * amps + 1j * omega * psi)
    assert (share < 1) == (taken < volts) or share == pytest.approx(1, rel=1e-9)
    still, torque = motor("standstill_torque pull_out_torque", operating_speed=back, **changes)
    assert torque == pytest.approx(still, rel=1e-9) if share < 1 else torque <= still * (1 + 1e-9)


@pytest.mark.outside(
    "drive.standstill_torque", "drive.strongest_torque",
    by="a two-phase circuit at rest, gone round the places of driver and rotor, NumPy",
)  # fmt: skip
@given(amps=st.floats(0.2, 6), volts=st.floats(2, 30), cold=st.floats(0.5, 8), warmer=st.floats(1, 1.6))
def test_at_a_standstill_the_weakest_place_is_what_there_is_and_the_strongest_what_must_be_borne(
    amps: float, volts: float, cold: float, warmer: float
) -> None:
    """Each coil has a bridge of its own, which presses no more than the supply's voltage through it, either way."""
    changes = {
        "set_current": amps, "supply_voltage": volts, "phase_resistance": cold, "hot_resistance": cold * warmer,
    }  # fmt: skip
    psi, weakest, strongest = motor("flux_linkage standstill_torque strongest_torque", **changes)
    rotor = np.linspace(0, 2 * math.pi, 721)[:, None]

    def holds(ohms: float) -> np.ndarray:
        """The most that the motor resists, with its driver held at each of many places."""
        driver = np.linspace(0, 2 * math.pi, 721)
        pressed = [np.clip(ohms * amps * wave, -volts, volts) / ohms for wave in (np.cos(driver), np.sin(driver))]
        torque = 50 * psi * (pressed[1] * np.cos(rotor) - pressed[0] * np.sin(rotor))
        return np.asarray(torque.max(axis=0))

    assert weakest == pytest.approx(holds(cold * warmer).min(), rel=1e-4)
    assert strongest == pytest.approx(holds(cold).max(), rel=1e-4)


@pytest.mark.parametrize("ratio", [5.18, 40.0])
def test_less_current_always_makes_a_stall_easier_to_bear(ratio: float) -> None:
    """Also where the supply limits the current at work, so that less of it leaves cooler copper: the advice says so."""
    weak = {"supply_voltage": 5.0, "gear_ratio": ratio}
    less, more = (changed("otter", **weak, set_current=amps).solution for amps in (2.9, 3.4))
    assert less[Q["standstill_torque"]] > more[Q["standstill_torque"]], "the case that is meant"
    for harder in ("motor_stall_torque", "gear_torque_share", "core_stress_share", "setscrew_share", "wind_up"):
        assert less[Q[harder]] < more[Q[harder]], harder
    # With 5 V the stall grows up to 4.7 A, as the chapter says.
    grows = [changed("otter", **weak, set_current=amps).solution[Q["motor_stall_torque"]] for amps in (4.6, 4.75, 4.9)]
    assert grows[0] < grows[1] == pytest.approx(grows[2], rel=1e-9)


@pytest.mark.outside(
    "drive.motor_stall_torque", "drive.available_torque", "drive.drive_share", "drive.gear_torque_share",
    "drive.gear_loss", by="energy of a turn, by hand",
)  # fmt: skip
@given(amps=st.floats(0.2, 6), volts=st.floats(5, 60), ratio=st.floats(1, 40), share=st.floats(20, 100))
def test_behind_the_gear_work_is_kept_but_for_its_loss(amps: float, volts: float, ratio: float, share: float) -> None:
    changes = {"set_current": amps, "supply_voltage": volts, "gear_ratio": ratio, "gear_efficiency": share}
    keys = "strongest_torque motor_stall_torque pull_out_torque available_torque drive_share gear_loss"
    still, stall, out, there, used, lost = motor(keys, **changes)
    # A turn of the screw: what the motor puts in on its many turns, and what comes out.
    for before, behind in ((still, stall), (out, there)):
        assert 2 * math.pi * behind == pytest.approx(share / 100 * 2 * math.pi * ratio * before, rel=1e-9)
    assert there == 0 or used * there == pytest.approx(0.6, rel=1e-9)
    put_in = 0.6 * 2 * math.pi * 20 / 60 / (share / 100)
    assert lost == pytest.approx(put_in - 0.6 * 2 * math.pi * 20 / 60, rel=1e-9, abs=1e-12)
    (permitted,) = motor("gear_torque_share", gear_permissible_torque=2.5, **changes)
    assert permitted * 2.5 == pytest.approx(stall, rel=1e-9)


@given(
    speed=st.floats(1, 300), more=st.floats(1.01, 2), volts=st.floats(6, 50), amps=st.floats(0.3, 4),
    inductance=st.floats(0.5, 20),
)  # fmt: skip
def test_more_voltage_or_current_never_takes_torque_and_speed_never_adds_it(
    speed: float, more: float, volts: float, amps: float, inductance: float
) -> None:
    at = {"operating_speed": speed, "supply_voltage": volts, "set_current": amps, "phase_inductance": inductance}
    (here,) = motor("pull_out_torque", **at)
    slack = 1 - 1e-9
    assert motor("pull_out_torque", **(at | {"supply_voltage": volts * more}))[0] >= here * slack
    assert motor("pull_out_torque", **(at | {"set_current": amps * more}))[0] >= here * slack
    assert motor("pull_out_torque", **(at | {"operating_speed": speed * more}))[0] <= here / slack
    still, crawling = motor("standstill_torque pull_out_torque", **(at | {"operating_speed": 1e-7}))
    assert crawling == pytest.approx(still, rel=1e-4)


def test_at_a_standstill_nothing_divides_by_zero() -> None:
    still, torque = motor("standstill_torque pull_out_torque", operating_speed=0.0)
    assert torque == still > 0


# --- heat


def warm_in_time(given: dict[str, float], hours: float = 30.0) -> np.ndarray:
    """Temperatures of winding, case and gear (°C) after a long time, each with a heat capacity of its own."""
    surface = 1e-6 * (4 * given["motor_side"] * given["motor_length"] + given["motor_side"] ** 2)
    to_air = given["motor_film"] * surface
    turning = 2 * math.pi * given["operating_speed"] / 60
    lost = given["needed_torque"] * turning * (100 / given["gear_efficiency"] - 1)

    def change(t: float, state: np.ndarray) -> list[float]:
        winding, case, gear = state
        ohms = given["phase_resistance"] * (254.45 + winding - 20) / 254.45
        # Held where sine and cosine are alike, each phase gets its set current or what the supply presses through it.
        each = min(given["set_current"] / math.sqrt(2), given["supply_voltage"] / ohms)
        made = given["duty_share"] / 100 * 2 * each**2 * ohms
        inward = (winding - case) / given["winding_resistance"]
        across = (case - gear) / given["case_gear_resistance"]
        room = given["room_temperature"]
        out = (gear - room) / given["gear_plate_resistance"]
        return [(made - inward) / 30, (inward - across - to_air * (case - room)) / 120, (across + lost - out) / 80]

    run = solve_ivp(change, (0, 3600 * hours), [given["room_temperature"]] * 3, method="LSODA", rtol=1e-9, atol=1e-9)
    return np.asarray(run.y[:, -1])


@pytest.mark.outside(
    "drive.case_surface", "drive.case_air_resistance", "drive.gear_path_resistance", "drive.case_resistance",
    "drive.shared_resistance", "drive.cold_loss", "drive.winding_temperature", "drive.hot_resistance",
    "drive.motor_loss", "drive.held_temperature", "drive.supply_loss", "drive.supply_temperature",
    "drive.case_temperature", "drive.gear_temperature", "drive.gear_loss", "drive.case_air_heat",
    "drive.case_gear_heat", "drive.gear_plate_heat", by="three bodies warming up in time, scipy.integrate.solve_ivp",
)  # fmt: skip
@pytest.mark.parametrize("changes", [
    {}, {"set_current": 3.0, "duty_share": 100.0}, {"gear_efficiency": 30.0, "operating_speed": 60.0},
    {"motor_film": 30.0, "room_temperature": -5.0}, {"winding_resistance": 8.0, "phase_resistance": 2.5},
    {"supply_voltage": 3.0}, {"supply_voltage": 5.0, "set_current": 4.0, "winding_resistance": 0.5},
    {"supply_voltage": 5.0, "set_current": 2.9, "room_temperature": 60.0},
])  # fmt: skip
def test_temperatures_are_those_that_come_to_rest_in_time(changes: dict[str, float]) -> None:
    given = MOTOR | changes
    solution = solved_at(given)
    at_rest = warm_in_time(given)
    found = shown_in(solution, "winding_temperature case_temperature gear_temperature")
    assert found == pytest.approx(at_rest, abs=0.01)
    keys = "motor_loss gear_loss case_air_heat case_gear_heat gear_plate_heat"
    made, lost, air, across, plate = shown_in(solution, keys)
    assert air + plate == pytest.approx(made + lost, rel=1e-9)
    assert across == pytest.approx((at_rest[1] - at_rest[2]) / given["case_gear_resistance"], abs=0.01)
    assert plate == pytest.approx(across + lost, rel=1e-9)


@pytest.mark.outside("drive.cold_loss", by="two sines over a period, scipy.integrate.quad")
def test_a_sine_and_a_cosine_heat_as_much_as_a_steady_current() -> None:
    (lost,) = shown_in(solved_at(MOTOR), "cold_loss")
    heat = quad(lambda a: 1.5 * ((2.0 * math.sin(a)) ** 2 + (2.0 * math.cos(a)) ** 2), 0, 2 * math.pi)[0]
    assert lost == pytest.approx(0.8 * heat / (2 * math.pi), rel=1e-9)


@pytest.mark.outside("drive.supply_loss", "drive.motor_loss", by="currents of both phases, NumPy")
@given(amps=st.floats(0.2, 8), volts=st.floats(2, 60), ohms=st.floats(0.3, 20))
def test_no_place_of_rest_makes_more_heat_than_is_told(amps: float, volts: float, ohms: float) -> None:
    """Each phase has its part of the sine, cut off where the supply ends; the rotor may rest anywhere."""
    changes = {"set_current": amps, "supply_voltage": volts, "hot_resistance": ohms, "phase_resistance": ohms}
    told, cold = shown_in(solved_at(MOTOR | changes), "motor_loss supply_loss")
    place = np.linspace(0, 2 * math.pi, 721)
    phases = np.minimum(amps * np.abs([np.sin(place), np.cos(place)]), volts / ohms)
    made = 0.8 * ohms * (phases**2).sum(axis=0)
    assert made.max() == pytest.approx(told, rel=1e-9)
    assert cold == pytest.approx(0.8 * 2 * volts**2 / ohms, rel=1e-9) and told <= cold * (1 + 1e-9)


def test_a_starved_motor_is_not_heated_by_a_current_that_cannot_flow() -> None:
    full, starved, more = (
        changed("otter", supply_voltage=volts, set_current=amps).solution
        for volts, amps in ((24.0, 4.0), (5.0, 4.0), (5.0, 5.0))
    )
    for solution in (full, starved):
        reach = solution[Q["winding_resistance"]] + solution[Q["case_resistance"]]
        outside = solution[Q["room_temperature"]] + solution[Q["shared_resistance"]] * solution[Q["gear_loss"]]
        assert solution[Q["winding_temperature"]] == pytest.approx(
            outside + reach * solution[Q["motor_loss"]], rel=1e-9
        )
    assert full[Q["winding_temperature"]] == full[Q["held_temperature"]]
    assert starved[Q["winding_temperature"]] == starved[Q["supply_temperature"]] < full[Q["winding_temperature"]] - 30
    # Turned up further the supply gives no more.
    assert more[Q["winding_temperature"]] == pytest.approx(starved[Q["winding_temperature"]], rel=1e-9)


@pytest.mark.outside("drive.runaway_share", by="three bodies warming up in time, scipy.integrate.solve_ivp")
def test_beyond_the_limit_it_never_comes_to_rest() -> None:
    (share,) = shown_in(solved_at(MOTOR), "runaway_share")
    # Heat goes with the square of the current: this much more reaches the limit.
    critical = 2.0 * math.sqrt(1 / share)
    # Enough voltage that the supply is no limit.
    below, beyond = (MOTOR | {"set_current": critical * factor, "supply_voltage": 1e9} for factor in (0.97, 1.01))
    assert shown_in(solved_at(below), "winding_temperature") == pytest.approx([warm_in_time(below, 300)[0]], rel=1e-3)
    solution = solved_at(beyond)
    assert solution[Q["held_temperature"]] == math.inf
    assert warm_in_time(beyond, 60)[0] > 2 * warm_in_time(beyond, 30)[0] - warm_in_time(beyond, 1)[0]
    # A billion volts: what the supply at last allows is far beyond any winding.
    assert shown_in(solution, "winding_temperature")[0] > 1e6
    assert "the winding comes to more than 180" in "\n".join(str(w) for w in solution.hazards)


def test_a_weak_supply_keeps_a_current_from_burning_that_would() -> None:
    """At 12 V across 30 ohms all that is set above some 0.4 A is the same motor, at 56 degrees."""
    same = [changed("otter", supply_voltage=12.0, phase_resistance=30.0, set_current=a).solution for a in (1.0, 2.0)]
    keys = "winding_temperature case_temperature motor_loss available_torque"
    assert shown_in(same[0], "runaway_share")[0] < 1 < shown_in(same[1], "runaway_share")[0]
    assert shown_in(same[0], keys) == pytest.approx(shown_in(same[1], keys), rel=1e-12)
    assert not any("winding" in str(w) for solution in same for w in solution.hazards)


def test_a_winding_that_burns_is_beyond_its_limit_and_a_danger() -> None:
    burnt = changed("otter", set_current=8.0).solution
    (celsius,) = shown_in(burnt, "winding_temperature")
    assert 180 < celsius < math.inf
    (told,) = re.findall(r"from ([\d.]+) A on, beyond 180 °C, the page calls it a danger", words_of(SUBJECT))
    beside = [changed("wren", set_current=amps).solution for amps in (float(told) - 0.01, float(told))]
    assert [shown_in(s, "winding_temperature")[0] > 180 for s in beside] == [False, True]
    assert [any("winding comes to more than 180" in str(w) for w in s.hazards) for s in beside] == [False, True]
    margin = next(m for m in SUBJECT.margins if m.quantity is Q["winding_temperature"])
    assert margin.verdict(burnt[margin.quantity]) == "beyond the limit"
    assert any("winding comes to more than 180" in str(w) for w in burnt.hazards)


@pytest.mark.outside("drive.rated_rise", by="root of the balance of heat, scipy.optimize.brentq")
def test_the_rise_at_rated_current_balances_the_heat() -> None:
    rise, case = shown_in(solved_at(MOTOR), "rated_rise case_resistance")

    def left(kelvins: float) -> float:
        return 2 * 1.7**2 * 1.5 * (1 + kelvins / 254.45) * (1.5 + case) - kelvins

    assert rise == pytest.approx(brentq(left, 0, 500), rel=1e-4)
    assert math.isnan(shown_in(solved_at(MOTOR | {"winding_resistance": 15.0, "rated_current": 4.0}), "rated_rise")[0])


@given(current=st.floats(0.1, 3), more=st.floats(1.01, 1.3))
def test_more_current_is_hotter_everywhere_and_more_than_its_square(current: float, more: float) -> None:
    keys = "winding_temperature case_temperature gear_temperature"
    less, hotter = (
        shown_in(solved_at(MOTOR | {"set_current": value, "gear_efficiency": 100.0}), keys)
        for value in (current, current * more)
    )
    for before, after in zip(less, hotter, strict=True):
        assert after - 25 >= (before - 25) * more**2


# --- what the torque does


@pytest.mark.outside(
    "drive.core_shear", "drive.core_thrust", "drive.core_press", "drive.core_stress", "drive.core_stress_share",
    "drive.core_stall_torque", "drive.core_torque", "drive.wind_up",
    by="stress summed over the section, scipy.integrate.quad; principal stresses, NumPy",
)  # fmt: skip
@given(
    torque=st.floats(0.05, 5), core=st.floats(1.5, 8), length=st.floats(10, 200), per_torque=st.floats(0, 4000),
    said=st.floats(0.1, 4),
)  # fmt: skip
def test_the_core_carries_torque_and_thrust_as_stress_and_twist(
    torque: float, core: float, length: float, per_torque: float, said: float
) -> None:
    """Whatever torque at stall the build says: the thrust is that of the motor's own stall."""
    given = {
        "motor_stall_torque": torque, "core_diameter": core, "screw_yield_strength": 235.0, "flighted_length": length,
        "shank_length": 20.0, "screw_youngs_modulus": 200.0, "screw_poisson_ratio": 0.3, "stall_torque": said,
        "stall_thrust": per_torque * said,
    }  # fmt: skip
    solution = solved_at(given)
    shear, share, alone, twist = (solution[Q[k]] for k in ("core_shear", "core_stress_share", "core_torque", "wind_up"))
    thrust, press, stressed = (solution[Q[k]] for k in ("core_thrust", "core_press", "core_stress"))
    yields = solution[Q["core_stall_torque"]]
    edge = core / 2000
    carried = quad(lambda r: shear * r / edge * r * 2 * math.pi * r, 0, edge)[0]
    assert carried == pytest.approx(torque, rel=1e-9)
    pushed = quad(lambda r: press * 2 * math.pi * r, 0, edge)[0]
    assert thrust == pytest.approx(pushed, rel=1e-9) and thrust == pytest.approx(per_torque * torque, rel=1e-9)

    def equivalent(along: float, across: float) -> float:
        stress = np.linalg.eigvalsh(np.array([[-along, across, 0], [across, 0, 0], [0, 0, 0]]))
        return math.sqrt(sum((stress[i] - stress[i - 1]) ** 2 for i in range(3)) / 2)

    assert stressed == pytest.approx(equivalent(press, shear), rel=1e-9)
    assert share == pytest.approx(equivalent(press, shear) / 235e6, rel=1e-9)
    more = yields / torque
    assert equivalent(more * press, more * shear) == pytest.approx(235e6, rel=1e-9)
    assert equivalent(0, shear * alone / torque) == pytest.approx(235e6, rel=1e-9)
    assert yields <= alone * (1 + 1e-12)
    modulus = 200e9 / (2 * 1.3)
    assert twist == pytest.approx(shear / modulus / edge * (length + 20) / 1000, rel=1e-9)


def test_thrust_adds_to_the_stress_of_the_core_as_the_chapter_tells() -> None:
    assert "The thrust adds a fifth to the stress in *otter* and more than a third in *wren*." in words_of(SUBJECT)
    more = {}
    for name in BUILDS:
        shear, whole = (shipped_build(name).solution[Q[k]] for k in ("core_shear", "core_stress"))
        more[name] = whole / (math.sqrt(3) * shear) - 1
    assert more["otter"] == pytest.approx(0.2, abs=0.02) and 1 / 3 < more["wren"] < 0.4


def printed() -> str:
    """All that the stored cells of the chapter print as text."""
    cells = nbformat.reads(chapter_of(SUBJECT).read_text(encoding="utf-8"), as_version=4).cells
    outputs = (output for cell in cells for output in cell.get("outputs", ()))
    return "\n".join(output.get("data", {}).get("text/markdown", "") for output in outputs)


@pytest.mark.outside(
    "drive.buckling_thrust", "drive.buckling_share", by="least load of a beam of many joints, eigenvalues by NumPy"
)  # fmt: skip
@pytest.mark.parametrize("name", BUILDS)
def test_a_screw_bows_out_at_eulers_load(name: str) -> None:
    """A chain of short stiff links with a spring in each joint, both ends in place, and one end clamped, one free."""
    solution = shipped_build(name).solution
    keys = ("core_diameter", "screw_youngs_modulus", "shank_length", "tube_length", "flighted_length")
    known = {key: solution[Q[key]] for key in keys}
    links = 400
    step = (known["shank_length"] + known["tube_length"]) / links
    bends = known["screw_youngs_modulus"] * math.pi * known["core_diameter"] ** 4 / 64
    curved = (np.diag(np.full(links - 1, 2.0)) - np.eye(links - 1, k=1) - np.eye(links - 1, k=-1)) / step**2
    euler = bends * np.linalg.eigvalsh(curved)[0]
    assert solution[Q["buckling_thrust"]] == pytest.approx(euler, rel=1e-4)
    # Clamped at the bearing, free at the tip: the slope is nothing at the foot, and the curvature nothing at the tip.
    short = (known["shank_length"] + known["flighted_length"]) / links
    slopes = (np.diag(np.full(links, 2.0)) - np.eye(links, k=1) - np.eye(links, k=-1)) / short**2
    slopes[-1, -2] *= 2
    free = bends * np.linalg.eigvals(slopes).real.min()
    assert free < solution[Q["core_thrust"]] < euler, "the chapter says so"
    (said,) = re.findall(rf"\*{name}\*: at stall its core has .* at ([\d.]+) N, if the bearing holds", printed())
    assert float(said) == pytest.approx(free, rel=2e-3), "with the tip free, as the chapter prints it"
    assert solution[Q["buckling_share"]] == pytest.approx(solution[Q["core_thrust"]] / euler, rel=1e-4)
    assert "bows out" not in "\n".join(str(w) for w in solution.warnings)
    longer = shipped_build(name).with_value(Q["shank_length"], 3 * known["tube_length"]).solution
    assert "bows out between bearing and block" in "\n".join(str(w) for w in longer.warnings)


@pytest.mark.outside(
    "drive.frozen_torque", "drive.frozen_over_stall", "drive.frozen_over_core", "drive.setscrew_torque",
    "drive.setscrew_share", by="moments summed over the surface, scipy.integrate.dblquad",
)  # fmt: skip
def test_moments_about_the_axis_add_up() -> None:
    given = {
        "solid_shear_strength": 35.0, "major_diameter": 6.0, "softened_length": 12.0, "heated_length": 14.0,
        "motor_stall_torque": 1.6, "core_torque": 2.0, "setscrew_count": 3.0, "setscrew_force": 700.0,
        "coupled_diameter": 8.0,
    }  # fmt: skip
    solution = solved_at(given)
    frozen = dblquad(lambda z, a: 35e6 * 0.003 * 0.003, 0, 2 * math.pi, 0, 0.026)[0]
    assert solution[Q["frozen_torque"]] == pytest.approx(frozen, rel=1e-9)
    assert solution[Q["frozen_over_stall"]] == pytest.approx(frozen / 1.6, rel=1e-9)
    assert solution[Q["frozen_over_core"]] == pytest.approx(frozen / 2.0, rel=1e-9)
    places = 0.004 * np.exp(2j * np.pi * np.arange(3) / 3)
    along = 700 * 1j * places / np.abs(places)
    slips = float((places.conj() * along).imag.sum())
    assert solution[Q["setscrew_torque"]] == pytest.approx(slips, rel=1e-9)
    assert solution[Q["setscrew_share"]] == pytest.approx(1.6 / slips, rel=1e-9)


@pytest.mark.outside(
    "drive.carried_thrust", "drive.spared_thrust", "drive.gear_axial_share", "drive.gear_radial_share",
    by="forces on the shaft added by hand",
)  # fmt: skip
def test_the_gear_takes_the_thrust_only_where_the_build_says_so() -> None:
    otter = shipped_build("otter")
    thrust = otter.solution[Q["design_thrust"]]
    choice = whole_head().choices["thrust_taken_by"]
    assert otter.solution[Q["gear_axial_share"]] == pytest.approx(4 / 50)
    taken = otter.with_choice(choice, "gear").solution
    assert taken[Q["gear_axial_share"]] == pytest.approx((thrust + 4) / 50)
    assert taken[Q["gear_radial_share"]] == pytest.approx(12 / 100)


@pytest.mark.parametrize(("changes", "told"), [
    ({"coupling_side_force": 99.0}, ""),
    ({"coupling_side_force": 101.0}, "presses harder across the gear's shaft than its maker permits"),
    ({"retraction_speed": 100.0}, ""),
    ({"retraction_speed": 120.0}, "turning the screw back the motor runs beyond its corner speed"),
    ({"supply_voltage": 5.0, "set_current": 4.0}, "turning the screw back the motor runs beyond its corner speed"),
])  # fmt: skip
def test_a_shaft_pressed_too_hard_and_a_motor_turned_back_too_fast_are_told(
    changes: dict[str, float], told: str
) -> None:
    """Otter's gear is permitted 100 N across its shaft, and its motor has its corner at 111 turns of the screw."""
    nodes = ("drive.gear_radial_share", "drive.reverse_share")
    found = [str(w) for w in changed("otter", **changes).solution.warnings if w.node.id in nodes]
    assert len(found) == bool(told) and all(told in words for words in found)


# --- counting and weighing


@pytest.mark.outside(
    "drive.step_angle", "drive.steps_per_turn", "drive.steps_per_volume", "drive.step_volume", "drive.step_line",
    "drive.backlash_line", by="steps counted one by one, plain Python",
)  # fmt: skip
@pytest.mark.parametrize(("teeth", "micro", "ratio"), [(50, 16, 5.0), (100, 8, 1.0), (50, 1, 27.0)])
def test_steps_are_counted_one_by_one(teeth: int, micro: int, ratio: float) -> None:
    given = {
        "rotor_teeth": float(teeth), "microsteps": float(micro), "gear_ratio": ratio, "turn_at_work": 7.9,
        "layer_height": 0.5, "line_width": 1.2, "gear_backlash": 2.0,
    }  # fmt: skip
    solution = solved_at(given)
    # The driver's sine goes once round while the rotor moves on by a tooth; a full step is a quarter of that.
    phase, steps = 0, 0
    while phase < teeth * 4 * micro:
        phase, steps = phase + 1, steps + 1
    for_turn = steps * ratio
    assert solution[Q["steps_per_turn"]] == pytest.approx(for_turn, rel=1e-12)
    assert solution.shown(Q["step_angle"]) == pytest.approx(360 * micro / steps, rel=1e-12)
    assert solution.shown(Q["steps_per_volume"]) == pytest.approx(for_turn / 7.9, rel=1e-12)
    drop = 7.9 / for_turn
    assert solution.shown(Q["step_volume"]) == pytest.approx(drop * 1000, rel=1e-9)
    section = 0.5 * (1.2 - 0.5) + math.pi * 0.25**2
    assert solution.shown(Q["step_line"]) == pytest.approx(1000 * drop / section, rel=1e-9)
    assert solution.shown(Q["backlash_line"]) == pytest.approx(7.9 * 2 / 360 / section, rel=1e-9)


def test_an_odd_number_of_microsteps_is_told_and_a_usual_one_is_not() -> None:
    for micro, told in ((1, False), (2, False), (16, False), (256, False), (10, True), (24, True)):
        build = changed("otter", microsteps=float(micro))
        found = [w for w in build.solution.warnings if "no power of two" in str(w)]
        assert bool(found) is told, micro


@pytest.mark.outside(
    "drive.weighed", "drive.corrected_steps", "drive.mass_uncertainty", "drive.setting_uncertainty",
    by="a hundred thousand weighings thrown with dice, NumPy",
)  # fmt: skip
def test_the_uncertainty_of_the_setting_is_that_of_dice() -> None:
    """Each throw is one whole calibration: runs that scatter, a balance, a density and an ooze within their limits."""
    solution = shipped_build("otter").solution
    count, mean, spread = (solution[Q[k]] for k in ("run_count", "run_mean", "run_spread"))
    masses = np.array([2.41, 2.46, 2.38, 2.44, 2.42])
    assert (count, mean, spread) == pytest.approx((5, 1e-3 * masses.mean(), 1e-3 * masses.std(ddof=1)), rel=1e-9)
    assert solution.shown(Q["corrected_steps"]) == pytest.approx(2150 * 2000 * 1.24e-3 / masses.mean(), rel=1e-9)
    dice, throws = np.random.default_rng(5), 200_000
    runs = dice.normal(mean, spread, (throws, 5)).mean(axis=1)
    read = runs + dice.uniform(-20e-6, 20e-6, throws) + dice.uniform(-5e-6, 5e-6, throws)
    assert solution[Q["mass_uncertainty"]] == pytest.approx(read.std(), rel=0.01)
    density = 1240 * (1 + dice.uniform(-0.01, 0.01, throws))
    volume = 2000e-9 + dice.uniform(-10e-9, 10e-9, throws)
    setting = volume * density / read
    assert solution[Q["setting_uncertainty"]] == pytest.approx(setting.std() / setting.mean(), rel=0.01)


@pytest.mark.outside("drive.effective_freedom", "drive.setting_bounds", by="spread of estimated variances, NumPy")
def test_the_effective_freedom_is_that_of_the_estimated_variance() -> None:
    """A variance that is estimated with n degrees of freedom scatters by the root of 2 / n of itself."""
    solution = shipped_build("otter").solution
    mean, spread, whole = (solution[Q[k]] for k in ("run_mean", "run_spread", "setting_uncertainty"))
    dice = np.random.default_rng(6)
    estimated = dice.normal(0, spread / mean, (400_000, 5)).var(axis=1, ddof=1) / 5
    variance = estimated - (spread / mean) ** 2 / 5 + whole**2
    freedom = 2 * whole**4 / variance.var()
    assert solution[Q["effective_freedom"]] == pytest.approx(freedom, rel=0.02)
    factor, bounds = (solution[Q[k]] for k in ("student_factor", "setting_bounds"))
    assert bounds == pytest.approx(factor * whole, rel=1e-12)


def student_density(t: float, freedom: float) -> float:
    scale = math.exp(math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)) / math.sqrt(freedom * math.pi)
    return scale * (1 + t * t / freedom) ** (-(freedom + 1) / 2)


@pytest.mark.outside("drive.student_factor", by="Student's density integrated, scipy.integrate.quad")
@pytest.mark.parametrize("freedom", [1.0, 2.0, 4.0, 38.7, 500.0])
def test_ninety_five_per_cent_lie_within_students_factor(freedom: float) -> None:
    factor = float(models.student_factor(freedom))
    assert 2 * quad(student_density, 0, factor, args=(freedom,))[0] == pytest.approx(0.95, abs=1e-6)


def test_students_factor_knows_its_limits() -> None:
    assert float(models.student_factor(np.inf)) == pytest.approx(1.959964, rel=1e-6)
    assert np.isnan(models.student_factor([0.0, -1.0])).all()


@pytest.mark.outside(
    "drive.setting_runs", "drive.effective_freedom", by="runs tried one by one with an integrated density, SciPy"
)
@pytest.mark.parametrize("floor", [0.0, 0.003, 0.0045])
@pytest.mark.parametrize("share", [0.001, 0.0125, 0.03, 0.07])
def test_one_run_less_would_not_do(share: float, floor: float) -> None:
    def reach(runs: int) -> float:
        whole = math.hypot(share / math.sqrt(runs), floor)
        # The scatter alone is badly known: a sum of squares of which one has few degrees of freedom.
        freedom = (runs - 1) * whole**4 / (share / math.sqrt(runs)) ** 4
        inside = lambda t: 2 * quad(student_density, 0, t, args=(min(freedom, 1e4),))[0] - 0.95  # noqa: E731
        return brentq(inside, 0, 100) * whole

    needed = int(models.setting_runs(share, 1.0, floor).runs)
    assert reach(needed) <= 0.01 * (1 + 1e-4)
    assert needed == 2 or reach(needed - 1) > 0.01


def test_runs_that_scatter_too_much_never_do_and_none_at_all_says_nothing() -> None:
    assert np.isinf(models.setting_runs(0.9, 1.0, 0.0).runs)
    assert np.isnan(models.setting_runs(0.1, 0.0, 0.0).runs) and models.setting_runs(0.0, 1.0, 0.0).runs == 2
    assert models.setting_runs([[0.01], [0.02]], 1.0, [0.0, 0.001, 0.002]).runs.shape == (2, 3)


@pytest.mark.outside("drive.setting_runs", by="the normal law's own bounds, SciPy")
def test_no_number_of_runs_does_where_the_floor_alone_is_too_much() -> None:
    normal = float(stats.norm.ppf(0.975))
    below, above = (models.setting_runs(0.02, 1.0, part * 0.01 / normal) for part in (0.99, 1.0001))
    assert 500 < below.runs < 1000 and np.isinf(above.runs)
    assert above.least_bounds == pytest.approx(0.010001, rel=1e-9)


@pytest.mark.parametrize("name", BUILDS)
def test_as_many_runs_as_are_told_do_and_the_least_bounds_are_never_passed(name: str) -> None:
    """Weighed so often with the same scatter, the setting is as sure as was told, and one run less does not do."""

    def weighed_with(build: Build, runs: int) -> Build:
        mean, spread = (build.solution[Q[key]] for key in ("run_mean", "run_spread"))
        thrown = np.linspace(-1, 1, runs)
        return build.with_rows(weighed_runs, (mean + spread * (thrown - thrown.mean()) / thrown.std(ddof=1),))

    build = shipped_build(name)
    assert build.solution.text(Q["setting_runs"]) == "unlimited"
    many = weighed_with(build, 900).solution
    assert build.solution[Q["least_bounds"]] <= many[Q["setting_bounds"]]
    assert many[Q["setting_bounds"]] == pytest.approx(build.solution[Q["least_bounds"]], rel=0.02)
    better = {"density_error": 0.1, "balance_error": 1.0, "start_stop_volume": 0.5, "balance_reading": 0.001}
    for key, shown in better.items():
        build = build.with_value(Q[key], float(Q[key].si(shown)))
    told = int(build.solution[Q["setting_runs"]])
    assert weighed_with(build, told).solution[Q["setting_bounds"]] <= 0.01
    assert weighed_with(build, told - 1).solution[Q["setting_bounds"]] > 0.01


@pytest.mark.outside(
    "drive.balance_doubt", "drive.density_doubt", "drive.ooze_doubt", "drive.setting_floor",
    by="two hundred thousand errors thrown with dice, NumPy",
)  # fmt: skip
@pytest.mark.parametrize("name", BUILDS)
def test_the_floor_is_what_scatters_between_endless_weighings(name: str) -> None:
    """Endlessly many runs have one true mean; balance, density and ooze err alike in all of them."""
    build, dice, throws = shipped_build(name), np.random.default_rng(8), 200_000
    known = {key: build.solution[Q[key]] for key in (
        "balance_error", "balance_reading", "density_error", "start_stop_volume", "commanded_volume", "run_mean",
        "balance_doubt", "density_doubt", "ooze_doubt", "setting_floor",
    )}  # fmt: skip
    even = lambda most: dice.uniform(-most, most, throws)  # noqa: E731
    read = 1 + (even(known["balance_error"]) + even(known["balance_reading"] / 2)) / known["run_mean"]
    dense = 1 + even(known["density_error"])
    asked = 1 + even(known["start_stop_volume"]) / known["commanded_volume"]
    assert known["balance_doubt"] == pytest.approx(read.std(), rel=0.01)
    assert known["density_doubt"] == pytest.approx(dense.std(), rel=0.01)
    assert known["ooze_doubt"] == pytest.approx(asked.std(), rel=0.01)
    assert known["setting_floor"] == pytest.approx((dense * asked / read).std(), rel=0.01)


# --- bad input


@pytest.mark.parametrize(("grams", "told"), [
    ([], "say nothing about how far runs differ"),
    ([2.4], "1 weighing(s) say nothing"),
    ([2.4, 0.0, 2.5], "row 2: the mass 0 g is not above zero"),
    ([2.4, 2.5, -1.0], "row 3: the mass -1.00 g is not above zero"),
    ([2.4, 2.5, 24.3], "row 3: the mass 24.3 g is more than three times away"),
    ([2.4, float("nan")], "every mass must be a finite number"),
])  # fmt: skip
def test_a_fault_of_the_weighings_is_told_by_its_row(grams: list[float], told: str) -> None:
    assert told in "\n".join(weighing_faults(np.array(grams) / 1000))


def test_sound_weighings_have_no_fault() -> None:
    assert weighing_faults(np.array([2.4e-3, 2.5e-3])) == []
    assert weighing_faults(np.array([1.0e-3, 3.0e-3, 1.1e-3])) == []


def faults_of(old: str, new: str) -> str:
    text = shipped_build("otter").toml()
    assert old in text, old
    with pytest.raises(ValueError) as found:
        read_build(text.replace(old, new))
    return str(found.value)


@pytest.mark.parametrize(("key", "bad", "told"), [
    ("gear_ratio", "0", "gear_ratio"), ("set_current", "-1 A", "set_current"), ("supply_voltage", "24 A", "supply"),
    ("microsteps", "0", "microsteps"), ("motor", "43 x 40", "42 x 40"),
])  # fmt: skip
def test_bad_values_of_the_drive_are_named(key: str, bad: str, told: str) -> None:
    (line,) = [row for row in shipped_build("otter").toml().splitlines() if row.startswith(f"{key} = ")]
    assert told in faults_of(line, f'{key} = "{bad}"')


def without(name: str, *keys: str) -> Build:
    text = shipped_build(name).toml()
    for key in keys:
        text, times = re.subn(rf"^{key} = (\[.*?^\]|[^\n]*)\n", "", text, flags=re.DOTALL | re.MULTILINE)
        assert times == 1, key
    return read_build(text)


def test_a_build_without_a_motor_works_everywhere_else() -> None:
    bare = without("otter", "motor", "set_current", "supply_voltage", "gear_ratio", "weighed_runs", "screw_material")
    assert found_elsewhere(bare) == {} and with_found(bare) == bare
    assert "needs" in bare.solution.why_missing(Q["drive_share"])
    assert bare.solution[Q["stall_thrust"]] == shipped_build("otter").solution[Q["stall_thrust"]]


def test_what_lacks_is_named() -> None:
    lacking = without("otter", "set_current").solution
    assert "current" in lacking.why_missing(Q["pull_out_torque"])


@pytest.mark.parametrize("name", BUILDS)
def test_what_the_motor_finds_lies_within_what_the_build_says(name: str) -> None:
    build = shipped_build(name)
    found = found_elsewhere(build)
    assert {q.key for q in found} == {"stall_torque", "drive_temperature"}
    for quantity, value in found.items():
        low, high = build.ends[quantity]
        assert low < value < high, quantity.key
    taken = with_found(build)
    assert taken.values[Q["stall_torque"]] == pytest.approx(found[Q["stall_torque"]])
    again = found_elsewhere(taken)
    assert again[Q["stall_torque"]] == found[Q["stall_torque"]]
    assert again[Q["drive_temperature"]] == pytest.approx(found[Q["drive_temperature"]], abs=0.3)


def test_a_weak_supply_has_less_at_work_than_the_stall_that_its_motor_is_found_to_make() -> None:
    """What must be borne is no reserve: the share of the drive is judged by what there is at work."""
    taken = with_found(changed("otter", supply_voltage=5.0, set_current=3.4)).solution
    assert taken[Q["stall_torque"]] > 1.3 * taken[Q["available_torque"]]
    assert taken[Q["drive_share"]] > 1.3 * taken[Q["torque_share"]]
    assert any("with a weak supply" in words for words in whole_head().nodes["operating.torque_share"].assumptions)


def test_the_start_page_offers_what_the_motor_finds_and_takes_it_over() -> None:
    session = Session(shipped_build("otter"))
    panel = SettlePanel(session)
    panel.refresh()
    assert "stall torque 1.59 N·m" in panel.motor_found.value and "as assumed" not in panel.motor_found.value
    assert not panel.motor_take.disabled and panel.motor_take.description == "Take what the motor's data give"
    panel.motor_take.click()
    panel.refresh()
    taken = session.build.solution
    assert taken[Q["stall_torque"]] == pytest.approx(taken[Q["motor_stall_torque"]])
    assert "as assumed" in panel.motor_found.value and panel.motor_take.disabled


def test_the_start_page_says_nothing_of_a_motor_that_the_build_does_not_have() -> None:
    panel = SettlePanel(Session(without("otter", "motor", "set_current", "supply_voltage", "gear_ratio")))
    panel.refresh()
    assert panel.motor_found.value == "" and panel.motor_take.layout.display == "none"


# --- rules of thumb and pictures


def test_the_rule_of_thumb_for_the_corner_holds_as_said() -> None:
    """150 V over mH and A, in turns a minute: for all motors of the table, 12 to 48 V, half of to full rated peak."""
    ratios, kept = [], []
    assert len(read_table("motors").rows) == 9
    for row in read_table("motors").rows.values():
        keys = ("rotor_teeth", "rated_current", "phase_resistance", "phase_inductance", "holding_torque")
        sheet = {key: float(Q[key].shown(row.si(key))) for key in keys}
        for volts in (12.0, 24.0, 36.0, 48.0):
            for part in (0.5, 0.75, 1.0):
                amps = part * math.sqrt(2) * sheet["rated_current"]
                if volts < 2 * amps * sheet["phase_resistance"]:
                    continue
                changes = sheet | {"hot_resistance": sheet["phase_resistance"], "supply_voltage": volts}
                (corner,) = motor("corner_speed", **changes, set_current=amps)
                ratios.append(60 * corner / (150 * volts / (sheet["phase_inductance"] * amps)))
                warm = changes | {"hot_resistance": sheet["phase_resistance"] * (1 + 0.00393 * 60)}
                kept.append(motor("corner_speed", **warm, set_current=amps)[0] / corner)
    assert len(ratios) > 60
    assert 0.55 < min(ratios) < 0.6 and 1.15 < max(ratios) < 1.2
    # A winding of 80 °C: two per cent less in the middle, up to a fifth where the supply hardly suffices.
    assert np.median(kept) == pytest.approx(0.98, abs=0.005) and 0.8 < min(kept) < 0.83


def test_bare_motors_of_the_table_swing_at_the_frequencies_that_are_told() -> None:
    """Twisted a little either way, the field turns the rotor back like a spring."""
    hertz = []
    for row in read_table("motors").rows.values():
        if inertia := row.si("rotor_inertia"):
            holds, teeth, twist = row.si("holding_torque"), row.si("rotor_teeth"), 1e-4
            springs = (holds * math.sin(teeth * twist) - holds * math.sin(-teeth * twist)) / (2 * twist)
            hertz.append(math.sqrt(springs / inertia) / (2 * math.pi))
    assert len(hertz) == 8
    assert (round(min(hertz)), round(max(hertz))) == (228, 369)


@pytest.mark.parametrize("name", BUILDS)
def test_the_ratio_moves_the_speed_and_the_torque_as_said(name: str) -> None:
    """Below the corner twice the ratio is twice the torque, and the same heat."""
    one = shipped_build(name)
    two = one.with_value(Q["gear_ratio"], 2 * one.values[Q["gear_ratio"]])
    assert two.solution[Q["available_torque"]] == pytest.approx(2 * one.solution[Q["available_torque"]], rel=1e-9)
    assert two.solution[Q["case_temperature"]] == pytest.approx(one.solution[Q["case_temperature"]], rel=1e-9)


@pytest.mark.parametrize("picture", pictures_of("drive"), ids=lambda picture: picture.title)
@pytest.mark.parametrize(("key", "value"), [
    ("set_current", 0.05), ("set_current", 8.0), ("supply_voltage", 5.0), ("supply_voltage", 60.0), ("gear_ratio", 1.0),
    ("gear_ratio", 120.0), ("wanted_flow", 30.0), ("motor_length", 8.0), ("motor_length", 150.0),
    ("coupled_diameter", 20.0), ("room_temperature", 100.0),
])  # fmt: skip
@pytest.mark.parametrize("name", BUILDS)
def test_pictures_draw_at_the_ends_of_the_sliders(picture: Picture, key: str, value: float, name: str) -> None:
    if not Q[key].low <= value <= Q[key].high:  # type: ignore[operator]
        value = float(Q[key].high or 0)
    solution = changed(name, **{key: value}).solution
    assert picture.missing(solution) == ""
    assert "<svg" in picture.scene(solution).svg()


def rectangles(scene: Any) -> list[tuple[float, float, float, float]]:
    shapes = [s for s in scene._shapes if hasattr(s, "points") and getattr(s, "closed", False)]
    flat = [(s.points - scene._shift) / scene._stretch for s in shapes]
    return [(*p.min(axis=0), *p.max(axis=0)) for p in flat]


@pytest.mark.parametrize("name", BUILDS)
def test_boxes_of_heat_are_as_high_as_they_are_warm(name: str) -> None:
    solution = shipped_build(name).solution
    scene = next(p for p in pictures_of("drive") if p.title == "Where the motor's heat goes").scene(solution)
    boxes = rectangles(scene)[:3]
    keys = "winding_temperature case_temperature gear_temperature room_temperature"
    *warm, room = shown_in(solution, keys)
    heights = np.array([top - bottom for _, bottom, _, top in boxes])
    assert heights / heights[0] == pytest.approx((np.array(warm) - room) / (warm[0] - room), rel=1e-6)


@pytest.mark.parametrize("name", BUILDS)
def test_the_motor_and_the_screw_are_to_one_scale(name: str) -> None:
    solution = shipped_build(name).solution
    scene = next(p for p in pictures_of("drive") if p.title == "From the motor to the screw").scene(solution)
    boxes = rectangles(scene)
    long, side, major, shaft = shown_in(solution, "motor_length motor_side major_diameter coupled_diameter")
    left, bottom, right, top = boxes[0]
    assert (right - left, top - bottom) == pytest.approx((long, side), rel=1e-6)
    assert boxes[2][3] - boxes[2][1] == pytest.approx(shaft, rel=1e-6)
    assert boxes[5][3] - boxes[5][1] == pytest.approx(major, rel=1e-6)


def test_circles_are_to_scale_and_the_arrow_ends_on_both() -> None:
    solution = shipped_build("otter").solution
    scene = figures.draw_circles(solution)
    lines = [
        (s.points - scene._shift) / scene._stretch
        for s in scene._shapes
        if hasattr(s, "points") and s.style in ("main", "second")
    ]
    full = lines[::2]
    assert len(full) == len(figures.SPEEDS)
    radius = np.ptp(full[0][:, 0]) / 2
    dashed = lines[5]
    at = np.array([solution[Q["corner_speed"]] * figures.SPEEDS[2]])
    wanted = [Q[key] for key in ("impedance", "back_voltage", "reactance", "hot_resistance")]
    z, e, x, r = (float(np.ravel(v)[0]) for v in solution.sweep(wanted, [Q["motor_speed"]])(at))
    volts, amps = solution[Q["supply_voltage"]], solution[Q["set_current"]]
    assert np.nanmax(dashed[:, 0]) - np.nanmin(dashed[:, 0]) == pytest.approx(2 * radius * volts / z / amps, rel=1e-3)
    middle = full[2].min(axis=0) + np.ptp(full[2], axis=0) / 2
    centre = (np.nanmax(dashed, axis=0) + np.nanmin(dashed, axis=0)) / 2 - middle
    assert centre == pytest.approx(-radius / amps * e / z**2 * np.array([x, r]), rel=1e-2)


@pytest.mark.parametrize("name", BUILDS)
def test_the_graphs_show_what_the_network_gives(name: str) -> None:
    build = shipped_build(name)
    solution = build.solution
    alt = TorqueGraphs(solution)(solution).alt
    for key in ("corner_speed", "needed_torque", "operating_speed", "drive_share"):
        assert solution.text(Q[key]) in alt
    # With a weak supply a stall may find more than the curve begins with.
    for volts in (24.0, 5.0):
        weak = changed(name, supply_voltage=volts, set_current=3.2).solution
        level = weak[Q["standstill_torque"]] * weak[Q["gear_ratio"]] * weak[Q["gear_efficiency"]]
        (told,) = re.findall(r"bring ([\d.]+) N·m up to", TorqueGraphs(weak)(weak).alt)
        assert float(told) == pytest.approx(level, rel=0.02)
    speeds = speeds_drawn(solution)
    assert 60 * speeds[-1] > 60 * solution[Q["operating_speed"]] and (np.diff(speeds) > 0).all()


@pytest.mark.parametrize("amps", [0.3, 2.3])
def test_the_axes_hold_what_the_screw_needs_and_what_there_is(amps: float) -> None:
    solution = changed("otter", set_current=amps).solution
    axes = TorqueGraphs(solution)(solution).figure.axes[0]
    most = max(solution[Q["needed_torque"]], solution[Q["motor_stall_torque"]])
    assert most < axes.get_ylim()[1] < 4 * most


def test_figures_say_what_they_show() -> None:
    named = [(name, shipped_build(name).solution) for name in BUILDS]
    otter = named[0][1]
    wanted = [
        (
            figures.draw_torques("otter", otter),
            ("needed_torque", "motor_stall_torque", "core_stall_torque", "frozen_torque"),
        ),
        (figures.draw_lengths(otter), ("step_line", "backlash_line", "line_width")),
        (figures.draw_warming(named), ("winding_temperature", "case_temperature", "set_current")),
        (figures.draw_weighings(named), ("run_mean", "run_spread")),
        (figures.draw_circles(otter), ("set_current", "supply_voltage")),
    ]
    for drawn, keys in wanted:
        for key in keys:
            assert otter.text(Q[key]) in drawn.alt, key
        assert "<svg" in drawn.svg()


def test_bars_on_a_scale_of_tens_are_as_long_as_their_logarithms() -> None:
    solution: Solution = shipped_build("otter").solution
    boxes = rectangles(figures.draw_lengths(solution))
    long = [right - left for left, _, right, _ in boxes]
    full_step = 16.0
    per_decade = (long[1] - long[0]) / math.log10(full_step)
    ratio = solution[Q["line_width"]] / solution[Q["step_line"]]
    assert long[3] - long[0] == pytest.approx(per_decade * math.log10(ratio), rel=1e-6)


@given(st.integers(0, 10_000))
@examples(20)
def test_both_builds_stay_defined_over_their_spreads(seed: int) -> None:
    build = shipped_build(BUILDS[seed % 2])
    dice = np.random.default_rng(seed)
    ends = {q: dice.uniform(*both, 1) for q, both in build.ends.items() if q.part == "drive"}
    outputs = [q for q in SUBJECT.quantities if q.key not in ("gear_thrust",)]
    found = build.network.compile(outputs, list(ends), build.values, build.choices)(*ends.values())
    unlimited = Q["setting_runs"]  # where no number of runs does
    assert all((np.isfinite(column) | (q is unlimited)).all() for q, column in zip(outputs, found, strict=True))
    assert not np.isnan(found[outputs.index(unlimited)]).any()


#: The motor whose maker measured it, without a gear, as its sheet has it.
SHEET = {
    "rated_current": 2.0, "holding_torque": 0.59, "hot_resistance": 1.6, "set_current": 2.2, "supply_voltage": 24.0,
    "gear_ratio": 1.0,
}  # fmt: skip


@pytest.mark.outside("drive.pull_out_torque", "drive.corner_speed", by="curve measured by a motor's maker")
def test_a_measured_motor_brings_nine_tenths_before_its_corner_and_less_beyond() -> None:
    """Its sheet gives the inductance to within a fifth. The chapter says these shares and where the level part ends."""
    points = [
        (float(row.text("motor_speed")), float(row.text("pull_out_torque")))
        for row in read_table("pull_out_curves").rows.values()
    ]

    def ends(speeds: Callable[[float], bool], inductance: float) -> list[float]:
        found = [
            torque / motor("pull_out_torque", operating_speed=n, phase_inductance=inductance, **SHEET)[0]
            for n, torque in points
            if speeds(n)
        ]
        return [min(found), max(found)]

    (corner,) = motor("corner_speed", phase_inductance=3.0, **SHEET)
    assert 500 < 60 * corner < 600
    assert ends(lambda n: n <= 500, 3.0) == pytest.approx([0.88, 0.92], abs=0.005)
    assert ends(lambda n: n > 500, 3.0) == pytest.approx([0.72, 0.81], abs=0.005)
    assert ends(lambda n: n > 500, 3.6) == pytest.approx([0.85, 0.95], abs=0.005)
    # What was measured leaves its level there too.
    measured = dict(points)
    level = [measured[n] for n in (100, 200, 300, 400, 500)]
    assert max(level) / min(level) < 1.06 and measured[600] < 0.91 * min(level)


def test_the_measured_curve_is_drawn_beside_what_the_model_gives() -> None:
    found = figures.measured_pull_out(whole_head())
    plot = figures.draw_pull_out(found)
    assert "from 100 to 1200 turns a minute" in plot.alt and "from 0.41 to 0.17 N·m" in plot.alt
    (printed,) = motor("pull_out_torque", operating_speed=900.0, phase_inductance=3.0, **SHEET)
    assert found.modelled[1][8] == pytest.approx(printed, rel=1e-9)
    assert (np.diff(found.modelled, axis=0) <= 0).all() and found.modelled[0, -1] > 1.1 * found.modelled[2, -1]
