"""A maker's own rheometer data: what is read, what is refused, and what a fit finds again."""

import math

import numpy as np
import pytest
from augerbook.builds.shipped import read_build
from augerbook.chapters.melt.fit import DataError, Row, fit_viscosity, read_rheometer
from augerbook.head.plastic import (
    VISCOSITY_INPUTS,
    activation_energy,
    critical_stress,
    power_index,
    reference_temperature,
    transition,
    zero_viscosity,
)
from hypothesis import given
from hypothesis import strategies as st

from tests.soak import examples

HEAD = "rate [1/s], temperature [degC], viscosity [Pa*s]\n"
RATES, TEMPERATURES = (1.0, 10.0, 50.0, 200.0, 1000.0), (190.0, 200.0, 215.0)


def cross(rate: float, at: float, eta: float, tau: float, n: float, energy: float) -> float:
    """Cross's law with Arrhenius about 200 degC, typed anew."""
    here = eta * math.exp(energy / 8.314462618 * (1 / at - 1 / 473.15))
    return here / (1 + (here * rate / tau) ** (1 - n))


def rows(scatter: float = 0.0, **law: float) -> list[Row]:
    random = np.random.default_rng(7)
    found = {"eta": 4000.0, "tau": 9e4, "n": 0.3, "energy": 80e3} | law
    return [
        Row(r, t + 273.15, cross(r, t + 273.15, **found) * math.exp(scatter * random.normal()))
        for t in TEMPERATURES for r in RATES
    ]  # fmt: skip


@examples(25)
@given(st.floats(300, 2e4), st.floats(3e4, 3e5), st.floats(0.15, 0.6), st.floats(2e4, 1.2e5))
def test_a_law_without_scatter_is_found_again(eta: float, tau: float, n: float, energy: float) -> None:
    fit = fit_viscosity(rows(eta=eta, tau=tau, n=n, energy=energy))
    assert fit.misfit < 1e-4
    assert fit.viscosity(100.0, 478.0) == pytest.approx(cross(100.0, 478.0, eta, tau, n, energy), rel=1e-3)
    assert fit.values[reference_temperature] == pytest.approx(473.15)
    assert fit.values[zero_viscosity] == pytest.approx(eta, rel=1e-2)


def test_scatter_shows_as_misfit() -> None:
    fit = fit_viscosity(rows(0.03))
    assert 0.01 < fit.misfit < 0.04 and fit.misfit <= fit.worst[0] < 0.1 and 1 <= fit.worst[1] <= 15
    assert fit.values[zero_viscosity] == pytest.approx(4000, rel=0.1)
    assert fit.values[critical_stress] == pytest.approx(9e4, rel=0.15)
    assert fit.values[power_index] == pytest.approx(0.3, abs=0.03)
    assert fit.values[activation_energy] == pytest.approx(80e3, rel=0.1)
    assert fit.notes == ()


def test_lines_can_be_pasted_into_a_build() -> None:
    fit = fit_viscosity(rows(0.03))
    build = read_build(f'format = 1\nname = "own"\n\n{fit.build_lines()}\n')
    for quantity in VISCOSITY_INPUTS:
        assert build.values[quantity] == pytest.approx(fit.values[quantity], rel=1e-3), quantity.key


def test_what_the_data_cannot_tell_is_said() -> None:
    alone = fit_viscosity([r for r in rows() if r.temperature == 473.15])
    assert alone.values[activation_energy] == 0 and "one temperature only" in alone.notes[0]
    slow = fit_viscosity([Row(r / 1e3, t, cross(r / 1e3, t, 4000, 9e4, 0.3, 8e4)) for r, t, _ in rows()])
    assert any("critical stress and power index are extrapolated" in note for note in slow.notes)
    fast = fit_viscosity([Row(r * 1e3, t, cross(r * 1e3, t, 4000, 9e4, 0.3, 8e4)) for r, t, _ in rows()])
    assert any("viscosity at rest is extrapolated" in note for note in fast.notes)


@pytest.mark.parametrize(
    ("law", "words"),
    [
        ({"eta": 3e5}, "zero viscosity has stopped at 100000 Pa·s, the most"),
        ({"tau": 500.0}, "critical stress has stopped at 1.00 kPa, the least"),
        ({"tau": 5e6}, "critical stress has stopped at 1000 kPa, the most"),
        ({"n": 0.02}, "power index has stopped at 0.0500, the least"),
        ({"n": 0.95}, "power index has stopped at 0.900, the most"),
        ({"energy": 300e3}, "activation energy has stopped at 250 kJ/mol, the most"),
        ({"energy": -5e3}, "activation energy has stopped at 0 kJ/mol, the least"),
    ],
)
def test_a_value_that_stops_on_its_bound_is_told(law: dict[str, float], words: str) -> None:
    fit = fit_viscosity(rows(**law))
    assert fit.misfit > 0.005
    assert any(words in note and "that a build may give" in note for note in fit.notes), fit.notes


def test_bounds_are_what_a_build_may_give() -> None:
    """With one temperature the activation energy is no part of the fit, and stands on no bound."""
    alone = fit_viscosity([r for r in rows(energy=300e3) if r.temperature == 473.15])
    assert len(alone.notes) == 1 and "one temperature only" in alone.notes[0]
    # Cross's transition, which is 1 less the power index, may be 0.1 at the least.
    fit = fit_viscosity(rows(n=0.95))
    assert read_build(f'format = 1\nname = "own"\n\n{fit.build_lines()}\n').values[transition] >= 0.1
    assert fit_viscosity(rows(n=0.88, tau=2e4)).notes == ()


def test_text_is_read_into_si() -> None:
    text = "# my melt\n\n" + HEAD + "10, 200, 1500\n# later\n100,200,700\n"
    assert read_rheometer(text) == [Row(10, 473.15, 1500), Row(100, 473.15, 700)]
    european = (HEAD + "10,5; 200; 1500\n100; 199,85; 700\n").replace(", ", "; ")
    assert read_rheometer(european) == [Row(10.5, 473.15, 1500), Row(100, 473.0, 700)]


FAULTS = {
    "word": ("10, warm, 30", "line 2, temperature [degC]: 'warm' is not a number with a decimal point"),
    "comma": ("10, 200", "line 2: 2 values instead of 3"),
    "negative": ("-1, 200, 30", "line 2, rate [1/s]: found -1, expected a value between 1e-06 and 1e+07"),
    "kelvin": ("1, 473, 30", "line 2, temperature [degC]: found 473, expected a value between -50 and 450"),
    "no number": ("1, 200, nan", "line 2, viscosity [Pa*s]: 'nan' is not a number"),
    "endless": ("1, 200, inf", "line 2, viscosity [Pa*s]: 'inf' is not a number"),
    "underscore": ("1_0, 200, 30", "line 2, rate [1/s]: '1_0' is not a number"),
    "quotation mark": ('1, 200,"30', "line 2: not a line of CSV"),
}


@pytest.mark.parametrize(("line", "words"), FAULTS.values(), ids=FAULTS)
def test_a_fault_is_told_by_line_and_reason(line: str, words: str) -> None:
    with pytest.raises(DataError) as caught:
        read_rheometer(HEAD + line + "\n2, 200, 800\n3, 200, x\n")
    first, second = str(caught.value).splitlines()
    assert first.startswith(words)
    assert second == "line 4, viscosity [Pa*s]: 'x' is not a number with a decimal point"


def test_too_little_is_refused() -> None:
    with pytest.raises(DataError, match="line 1: found 'rate, viscosity', expected the header"):
        read_rheometer("rate, viscosity\n")
    with pytest.raises(DataError, match="no data"):
        read_rheometer("\n# nothing\n")
    with pytest.raises(DataError, match="3 measurements: at least 4 are needed"):
        fit_viscosity(rows()[:3])
    with pytest.raises(DataError, match="nearly one rate"):
        fit_viscosity([Row(100.0, 470.0 + i, 500.0 - i) for i in range(6)])
