"""The way between two states of the heat, against series, a published example, and its own end and balance."""

import math
from typing import Any

import numpy as np
import pytest
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.heat import HEAD_INPUTS
from augerbook.chapters.heat.creep import Creep, Held, creep, creep_of_one, held_by, stopped, time_to_rest, time_until
from augerbook.chapters.heat.creep_graphs import draw_creep, duration
from augerbook.chapters.heat.grid import Head
from augerbook.chapters.heat.models import pausing, running
from augerbook.core.units import ureg
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import erfc, erfcinv

KELVIN = 273.15


def parts(build: str = "otter", **changes: float) -> tuple[Head, Held]:
    """The head of a shipped build with changes (units shown to people), and the heat it holds."""
    made, quantities = shipped_build(build), whole_head().quantities
    values = made.values | {quantities[k]: quantities[k].si(v) for k, v in changes.items()}
    solution = whole_head().solve(values, made.choices)
    return Head(*(solution[q] for q in HEAD_INPUTS)), held_by(solution)


def lonely_rod(**changes: Any) -> Head:
    """A tube alone, a square metre thick, as cold as the room, with nothing in it that conducts."""
    base, _ = parts()
    rod = {
        "loose_conductivity": 1e-12, "fused_conductivity": 2e-12, "screw_conductivity": 1e-12, "film_coefficient": 0.0,
        "cooler_film": 0.0, "break_length": 0.0, "tube_section": 1.0, "feed_heat": 0.0, "friction_heat": 0.0,
        "throat_temperature": base.room_temperature, "set_temperature": base.room_temperature,
    }  # fmt: skip
    return base._replace(**(rod | changes))


@pytest.mark.outside(
    "heat.screw_heat_held", "heat.tube_heat_held", "heat.break_heat_held", "heat.hard_heat_held",
    "heat.soft_heat_held", by="by hand, units carried by pint",
)  # fmt: skip
def test_heat_held_by_hand() -> None:
    given = {
        "screw_density": 7854, "screw_specific_heat": 434, "screw_radius": 2.6, "tube_density": 7900,
        "tube_specific_heat": 477, "tube_outside_diameter": 10, "bore_diameter": 8, "break_density": 6050,
        "break_specific_heat": 450, "break_wall": 0.5, "loose_density": 420, "melt_density": 1130,
        "melt_specific_heat": 1900, "plastic_section": 30,
    }  # fmt: skip
    quantities = whole_head().quantities
    solution = whole_head().solve({quantities[k]: quantities[k].si(v) for k, v in given.items()})
    expected = (
        ureg("7854 kg/m**3") * ureg("434 J/kg/K") * math.pi * ureg("2.6 mm") ** 2,
        ureg("7900 kg/m**3") * ureg("477 J/kg/K") * math.pi * (ureg("5 mm") ** 2 - ureg("4 mm") ** 2),
        ureg("6050 kg/m**3") * ureg("450 J/kg/K") * math.pi * (ureg("4.5 mm") ** 2 - ureg("4 mm") ** 2),
        ureg("420 kg/m**3") * ureg("1900 J/kg/K") * ureg("30 mm**2"),
        ureg("1130 kg/m**3") * ureg("1900 J/kg/K") * ureg("30 mm**2"),
    )
    for found, value in zip(held_by(solution), expected, strict=True):
        assert found == pytest.approx(value.to("J/m/K").magnitude, rel=1e-9)


# --- against solutions that are known otherwise ---------------------------------------------------


@pytest.mark.slow
def test_frost_in_the_ground() -> None:
    """Incropera, chapter 5, example of a water main (from memory): frost reaches 0.68 m into soil within 60 days.

    Soil at 20 degrees, its surface at -15 from one day on; k = 0.52 W/m/K, 2050 kg/m3, 1840 J/kg/K; two digits printed.
    """
    soil = lonely_rod(room_temperature=KELVIN + 20, throat_temperature=KELVIN + 20, set_temperature=KELVIN + 20,
                      tube_length=8.0, tube_conductivity=0.52)  # fmt: skip
    frost = soil._replace(set_temperature=KELVIN - 15)
    found = creep(soil, frost, Held(1.0, 2050 * 1840, 1.0, 1.0, 1.0), lasts=60 * 86400, cells=2400, relative=1e-7)
    depth = 8.0 - np.interp(-KELVIN, -found.tube[-1, :2400], found.place[:2400])
    assert depth == pytest.approx(0.68, abs=0.005)
    spread = math.sqrt(0.52 / (2050 * 1840) * 60 * 86400)
    assert depth == pytest.approx(2 * spread * erfcinv(20 / 35), rel=1e-4)
    assert found.tube[-1, :2400] == pytest.approx(
        KELVIN + 20 - 35 * erfc((8.0 - found.place[:2400]) / (2 * spread)), abs=0.02
    )


@pytest.mark.parametrize("film", [0.0, 300.0])
def test_tube_that_is_heated_up_as_a_series(film: float) -> None:
    """A finite fin, cold at first, one end hot from now on and the other insulated: modes cos((n + 1/2) pi z / L)."""
    length, section, around = 0.056, math.pi / 4 * (0.010**2 - 0.008**2), math.pi * 0.010
    cold = lonely_rod(tube_length=length, tube_section=section, tube_outside_diameter=0.010, tube_conductivity=15.0,
                      film_coefficient=film, cooler_film=film)  # fmt: skip
    hot = cold._replace(set_temperature=cold.room_temperature + 180)
    held = 7900 * 477 * section
    found = creep(cold, hot, Held(1.0, held, 1.0, 1.0, 1.0), lasts=2000.0, cells=640, relative=1e-7)
    decay = math.sqrt(film * around / (15.0 * section))

    def rest(z: Any) -> Any:
        return np.cosh(decay * z) / np.cosh(decay * length)

    rates = [((n + 0.5) * math.pi / length) for n in range(60)]
    weights = [
        2 / length * quad(lambda z, b=b: rest(z) * math.cos(b * z), 0, length, limit=400, epsabs=1e-13)[0]
        for b in rates
    ]
    place = found.place[:640]
    for moment in (80, 120, 160, 200):
        time = found.times[moment]
        share = rest(place) - sum(
            w * np.cos(b * place) * math.exp(-(15.0 * section * b**2 + film * around) / held * time)
            for w, b in zip(weights, rates, strict=True)
        )
        assert found.tube[moment, :640] - cold.room_temperature == pytest.approx(180 * share, abs=0.02)


# --- against itself -------------------------------------------------------------------------------


CASES = {
    "the flow stops": (True, {}),
    "the fan too": (False, {}),
    "with a break": (True, {"break_length": 4.0, "break_start": 59.7, "break_conductivity": 2.5}),
    "brass screw": (True, {"screw_conductivity": 113.0}),
}


@pytest.mark.parametrize("build", ["otter", "wren"])
@pytest.mark.parametrize(("fan", "changes"), CASES.values(), ids=CASES)
def test_it_ends_where_the_long_pause_is(build: str, fan: bool, changes: dict[str, float]) -> None:
    before, held = parts(build, **changes)
    after = stopped(before, fan=fan)
    found = creep(before, after, held)
    start, end = running(*before), pausing(*after[:-2])
    for name, place in (("softened_length", 0), ("screw_soft_length", 1)):
        course = getattr(found, name)
        assert course[0] == pytest.approx(getattr(start, name), abs=1e-9)
        assert course[-1] == pytest.approx(getattr(end, name), abs=1e-7)
        assert found.rest[place] == pytest.approx(getattr(end, name), abs=1e-12)
    assert found.screw_at_throat[-1] == pytest.approx(end.screw_at_throat, abs=1e-3)
    assert found.received - found.given_off == pytest.approx(found.stored, abs=1e-6 * found.received)
    # The end is the same without friction, and the start is colder: so more is stored, and always something.
    calm = creep(before._replace(friction_heat=0.0), after, held)
    assert calm.stored > max(found.stored, 0.0)
    assert calm.softened_length[-1] > calm.softened_length[0]


@pytest.mark.parametrize("build", ["otter", "wren"])
def test_a_pause_ends_what_friction_heats_and_what_the_feed_cools(build: str) -> None:
    """There is a friction at which the pause leaves the soft zone as long; with less it grows, with more it shrinks."""
    before, held = parts(build)
    after = stopped(before)
    end = float(pausing(*after[: Head._fields.index("hard_heat_share")]).softened_length)

    def apart(friction: float) -> float:
        return float(running(*before._replace(friction_heat=friction)).softened_length) - end

    even = brentq(apart, 0.0, 5.0)
    start = {share: before._replace(friction_heat=share * even) for share in (0.0, 0.5, 1.5)}
    courses = {share: creep(head, after, held).softened_length for share, head in start.items()}
    for share in (0.0, 0.5):
        assert courses[share][0] < end and (courses[share] <= end + 1e-6).all()
    # The tube, which took a share of the friction, cools before the screw follows: the course dips by less than a fifth
    # of its way.
    way = courses[1.5][0] - end
    assert way > 4e-4 and (courses[1.5] >= end - way / 5).all()
    assert (courses[1.5] <= courses[1.5][0] + 1e-6).all()


def worst(one: Creep, other: Creep) -> float:
    """The largest difference of the softened lengths at any moment (m)."""
    return float(np.abs(one.softened_length - other.softened_length).max())


@pytest.mark.slow
@pytest.mark.parametrize("fan", [True, False])
def test_finer_time_and_slices_change_little(fan: bool) -> None:
    before, held = parts()
    after = stopped(before, fan=fan)
    usual, exact = creep(before, after, held), creep(before, after, held, relative=1e-9, method="Radau")
    rough = creep(before, after, held, relative=1e-3)
    assert worst(usual, exact) < 1e-5 and worst(usual, exact) < 0.2 * worst(rough, exact)
    assert time_to_rest(usual.times, usual.softened_length, usual.rest[0]) == pytest.approx(
        time_to_rest(exact.times, exact.softened_length, exact.rest[0]), rel=0.01
    )
    fine, finer = (creep(before, after, held, cells=cells) for cells in (160, 640))
    assert worst(usual, finer) < 2e-4
    assert worst(fine, finer) < 0.5 * worst(usual, finer)


def test_whatever_stops_heats_the_tube_later_than_sooner() -> None:
    before, held = parts()
    pause, fan = (creep(before, stopped(before, fan=fan), held) for fan in (True, False))
    # In the first tenths of a second, when friction ends, both are the same but for the last places of the solver.
    assert (fan.softened_length >= pause.softened_length - 1e-7).all()
    heavy = creep(before, stopped(before, fan=False), held._replace(tube=2 * held.tube))
    limit = before.tube_length / 2
    assert time_until(fan.times, fan.softened_length, limit) < time_until(heavy.times, heavy.softened_length, limit)
    assert time_until(pause.times, pause.softened_length, limit) == math.inf


def test_times() -> None:
    times = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    assert time_until(times, np.array([0.0, 1.0, 3.0, 2.0, 5.0]), 2.0) == 1.5
    assert time_until(times, np.array([2.0, 1.0, 3.0, 2.0, 5.0]), 2.0) == 0.0
    assert time_until(times, times, 9.0) == math.inf
    assert time_to_rest(times, np.array([0.0, 9.5, 8.0, 9.0, 10.0]), 10.0) == 3.0
    assert time_to_rest(times, np.array([0.0, 6.0, 8.0, 8.5, 9.5]), 10.0) == 3.5
    assert time_to_rest(times, times, 10.0) == math.inf
    assert time_to_rest(times, np.full(5, 10.0), 10.0) == 0.0


# --- the picture ----------------------------------------------------------------------------------


def test_times_in_words() -> None:
    assert [duration(s) for s in (0.0, 46.2, 119.0, 222.0, 7300.0, math.inf)] == [
        "0 s", "46 s", "119 s", "3.7 min", "2.0 h", "never",
    ]  # fmt: skip


def _pause_adds(**changes: float) -> float:
    """By how much the pause lengthens otter's soft zone (m)."""
    before, _ = parts(**changes)
    return float(pausing(*stopped(before)[:-2]).softened_length - running(*before).softened_length)


@pytest.mark.slow
def test_picture_follows_the_build_and_says_what_it_cannot_draw() -> None:
    otter, quantities = shipped_build("otter"), whole_head().quantities

    def drawn(**changes: float) -> str:
        values = otter.values | {quantities[k]: quantities[k].si(v) for k, v in changes.items()}
        return draw_creep(whole_head().solve(values, otter.choices)).svg()

    first = drawn()
    assert first == drawn() and "after" in first and "never" in first
    head, held = parts()
    at_work, still = running(*head).softened_length * 1e3, creep_of_one(head, stopped(head), held).rest[0] * 1e3
    assert f"flow stops: shrinks from {at_work:.1f} mm to {still:.1f} mm" in first and "fan stops too: grows" in first
    assert "flow stops: grows" in drawn(running_torque=0.1)
    even = brentq(lambda torque: _pause_adds(running_torque=torque), 0.1, 1.0)
    assert "flow stops: stays at" in drawn(running_torque=even)
    assert "half of the tube soft: from the start" in drawn(tube_conductivity=170.0)
    assert drawn(cooler_film=100.0) != first
    assert drawn(tube_length=70.0) != first
    with pytest.raises(ValueError, match="leaves no room for plastic"):
        drawn(bore_diameter=6.001, crest_width=2.5)


def test_nothing_in_the_network_waits_for_it() -> None:
    before = creep_of_one.cache_info().misses
    otter = shipped_build("otter")
    whole_head().solve(otter.values, otter.choices)
    assert creep_of_one.cache_info().misses == before
