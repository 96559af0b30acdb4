import math
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pint
import platformdirs
import pytest
from augerbook.chapters import whole_head
from augerbook.core import units
from augerbook.core.units import (
    UnitError,
    latex_unit,
    number,
    parse_number_with_unit,
    plain_unit,
    si_factor_and_offset,
    to_si,
    unit_fault,
    with_unit,
)
from hypothesis import example, given
from hypothesis import strategies as st


def si(text: str, expected_unit: str) -> float:
    return to_si(*parse_number_with_unit(text), expected_unit)


@pytest.mark.parametrize(
    ("text", "expected_unit", "value"),
    [
        ("6.0 mm", "mm", 0.006),
        ("6.0mm", "m", 0.006),
        (" .5 in ", "mm", 0.0127),
        ("1e-3 m", "mm", 0.001),
        ("-4 °C", "degC", 269.15),
        ("100 degF", "degC", 310.9277777777778),
        ("100 °F", "degC", 310.9277777777778),
        ("180 °", "deg", math.pi),
        ("30 %", "1", 0.3),
        ("0.3", "percent", 0.3),
        ("0.3", "1", 0.3),
        ("5 µm", "um", 5e-6),
        ("2 mm²", "mm**2", 2e-6),
        ("2 mm^3", "mm**3", 2e-9),
        ("2 mm3", "mm**3", 2e-9),
        ("2 N/mm2", "MPa", 2e6),
        ("3 mm⁴", "mm**4", 3e-12),
        ("1.5 N·m", "N*m", 1.5),
        ("1.5 Nm", "N*m", 1.5),
        ("15 Ncm", "N*m", 0.15),
        ("1.5 N m", "N*m", 1.5),
        ("5 K", "delta_degC", 5.0),
        ("0.2 W/m/K", "W/m/K", 0.2),
        ("0.2 W/m/°C", "W/m/K", 0.2),
        ("0.2 W/(m K)", "W/m/K", 0.2),
    ],
)
def test_numbers_are_read_with_their_unit(text: str, expected_unit: str, value: float) -> None:
    assert si(text, expected_unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("text", ["30 1/min", "30 rpm", "30 rev/min", "0.5 Hz", "0.5 1/s"])
def test_turns_a_minute_are_counted_not_measured_in_radians(text: str) -> None:
    assert si(text, "1/min") == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("text", "expected_unit", "message"),
    [
        ("0.5", "deg", "has no unit, but a value in ° is expected"),
        ("5 deg", "1", "is in °, but a plain number is expected"),
        ("3.1 rad/s", "1/min", "is in rad/s, but a value in 1/min is expected"),
        ("6", "mm", "has no unit, but a value in mm is expected"),
        ("6 mm", "mm**2", "is in mm, but a value in mm² is expected"),
        ("6 mm", "1", "is in mm, but a plain number is expected"),
        ("20 °C", "delta_degC", "a difference is expected: write it in K"),
        ("20 °F", "delta_degC", "a difference is expected: write it in K"),
        ("20 °F", "mm", "is in °F, but a value in mm is expected"),
        ("20 degRe", "delta_degC", "a difference is expected: write it in K"),
    ],
)
def test_another_dimension_is_refused(text: str, expected_unit: str, message: str) -> None:
    with pytest.raises(UnitError) as caught:
        si(text, expected_unit)
    assert message in str(caught.value)


def test_inches_may_be_abbreviated_with_a_point() -> None:
    assert si("0.31 in.", "mm") == si("0.31 in", "mm") == pytest.approx(0.31 * 0.0254)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("6,5 mm", "write a decimal point"),
        ("about 6 mm", "is not a number with a unit"),
        ("", "is not a number with a unit"),
        ("mm", "is not a number with a unit"),
        ("nan mm", "is not a number with a unit"),
        ("inf mm", "is not a number with a unit"),
        ("1e999 mm", "is not a finite number"),
        ("٣ mm", "is not a number with a unit"),
        ("6 furlongish", "has the unit 'furlongish', which is not known here"),
        ("6 mm**99", "which is not known here"),
        ("6 mm**9**9**9", "which is not known here"),
        ("6 mm/0", "which is not known here"),
        ("6 dB", "which is not known here"),
        ("6 __import__('os')", "which is not known here"),
        ("6 " + "m" * 70, "is too long"),
    ],
)
def test_what_cannot_be_read_is_said(text: str, message: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_number_with_unit(text)
    assert message in str(caught.value)
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize("unit", ["mm**9**9**9", "dB", "furlongish", "m" * 61, "__import__('os')", "mm/0"])
def test_a_unit_in_a_header_is_looked_at_as_closely_as_one_behind_a_number(unit: str) -> None:
    """To raise ten to such powers takes pint for ever: pytest's time limit would tell."""
    assert unit_fault(unit, "mm") in ("is not a unit known here", "is too long for a unit")
    for typed, expected in (("cm", "mm"), ("\u00b5m", "mm"), ("%", "1"), ("°C", "degC"), ("m/s²", "m/s**2")):
        assert unit_fault(typed, expected) == ""


@given(st.text(max_size=80) | st.from_regex(r"[0-9.]{1,4}[ ]?[a-zA-Z*/()^0-9 °%µ-]{0,20}", fullmatch=True))
@example("1 mm**9**9")
@example("1 9**9**9**9 mm")
@example("1 degC*degC")
def test_rubbish_is_refused_in_one_way(text: str) -> None:
    for unit in ("mm", "deg", "degC", "delta_degC", "1", "1/min"):
        try:
            value = si(text, unit)
        except UnitError:
            continue
        assert isinstance(value, float)


@pytest.mark.parametrize("unit", sorted({q.unit for q in whole_head().quantities.values()}))
def test_every_unit_of_the_handbook_can_be_read_as_it_is_shown(unit: str) -> None:
    factor, offset = si_factor_and_offset(unit)
    assert si(with_unit("2", unit), unit) == 2 * factor + offset


def test_temperatures_have_an_offset_and_differences_have_none() -> None:
    assert si_factor_and_offset("degC") == (1.0, 273.15)
    assert si_factor_and_offset("delta_degC") == (1.0, 0.0)
    assert si_factor_and_offset("mm") == (0.001, 0.0)


def test_a_unit_that_counts_in_powers_is_no_unit() -> None:
    with pytest.raises(UnitError, match="not a unit that can be converted"):
        si_factor_and_offset("dB")


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (6.0, 3, "6.00"),
        (0.0, 3, "0"),
        (-0.0, 3, "0"),
        (9.9996, 3, "10.0"),
        (99.96, 3, "100"),
        (0.00012345, 3, "0.000123"),
        (0.000012345, 3, "1.23e-5"),
        (1234567.0, 3, "1230000"),
        (12345678.0, 3, "1.23e7"),
        (-2.5, 2, "-2.5"),
        (1.0, 1, "1"),
        (math.nan, 3, "not defined"),
        (math.inf, 3, "unlimited"),
        (-math.inf, 3, "-unlimited"),
    ],
)
def test_numbers_are_written_as_a_person_reads_them(value: float, digits: int, text: str) -> None:
    assert number(value, digits) == text


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e300, max_value=1e300), st.integers(1, 12))
def test_a_number_keeps_its_digits(value: float, digits: int) -> None:
    assert float(number(value, digits)) == pytest.approx(value, rel=0.51 * 10 ** (1 - digits), abs=1e-320)


@pytest.mark.parametrize(
    ("unit", "plain", "latex"),
    [
        ("1", "", ""),
        ("mm**2", "mm²", r"\,\mathrm{mm^{2}}"),
        ("N*m", "N·m", r"\,\mathrm{N\,m}"),
        ("percent", "%", r"\,\mathrm{\%}"),
        ("deg", "°", r"\mathrm{^{\circ}}"),
        ("degC", "°C", r"\,\mathrm{{}^{\circ}C}"),
        ("delta_degC", "K", r"\,\mathrm{K}"),
        ("um", "µm", r"\,\mathrm{\mu m}"),
        ("kg/m**3", "kg/m³", r"\,\mathrm{kg/m^{3}}"),
    ],
)
def test_units_are_written_short(unit: str, plain: str, latex: str) -> None:
    assert plain_unit(unit) == plain
    assert latex_unit(unit) == latex


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("7,5", 7.5, "dimensionless"),
        ("7,5 mm", 7.5, "mm"),
        (",5 in", 0.5, "in"),
        ("-0,25e-3 m", -0.25e-3, "m"),
        ("7.5 mm", 7.5, "mm"),
        ("1,250 g", 1.25, "g"),
    ],
)
def test_a_decimal_comma_is_taken_where_it_is_allowed_and_refused_elsewhere(text: str, value: float, unit: str) -> None:
    assert parse_number_with_unit(text, decimal_comma=True) == (value, unit)
    if "," in text:
        with pytest.raises(UnitError, match="has a comma: write a decimal point and no other separator"):
            parse_number_with_unit(text)


@pytest.mark.parametrize("text", ["1,234,567 g", "1.234,5 g", "1,234.5 g", "1.2,3"])
def test_more_than_one_separator_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match="write one decimal point or comma and no other separator"):
        parse_number_with_unit(text, decimal_comma=True)


@given(st.floats(-1e6, 1e6).map(lambda x: f"{x:.6f}"))
def test_a_comma_says_the_same_as_a_point(text: str) -> None:
    assert parse_number_with_unit(text.replace(".", ",") + " mm", decimal_comma=True) == (float(text), "mm")


@pytest.mark.slow
def test_units_are_known_whether_or_not_they_could_be_remembered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pint's folder may be new, full, hold half a file, or stand where nothing can be written."""
    place = tmp_path / "kept"
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda *_, **__: place)
    for _ in range(2):
        assert units._registry().Quantity(1.0, "inch").to("mm").magnitude == pytest.approx(25.4)
    kept = list(place.rglob("*.pickle"))
    assert kept
    for file in kept:
        file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])
    assert units._registry().Quantity(1.0, "inch").to("mm").magnitude == pytest.approx(25.4)
    place = tmp_path / "a file"
    place.write_text("not a folder")
    assert units._registry().Quantity(1.0, "inch").to("mm").magnitude == pytest.approx(25.4)


@pytest.mark.slow
def test_an_environment_that_is_gone_takes_no_kept_units_with_it(tmp_path: Path) -> None:
    """Two environments of one user; the first is thrown away, as a folder of a trial is."""
    first = tmp_path / "first"
    shutil.copytree(Path(pint.__file__).parent, first / "pint")
    ask = "from augerbook.core import units; units._kept_registry(); print(units.pint.__file__)"
    places = {name: str(tmp_path / "kept") for name in ("XDG_CACHE_HOME", "HOME", "LOCALAPPDATA")}

    def used(*before: Path) -> str:
        path = os.pathsep.join(map(str, (*before, *sys.path)))
        environment = {**os.environ, **places, "PYTHONPATH": path}
        return subprocess.run(
            [sys.executable, "-c", ask], env=environment, check=True, capture_output=True, text=True
        ).stdout

    assert used(first).startswith(str(first))
    shutil.rmtree(first)
    assert not used().startswith(str(first))
