"""What people type: inches and fractions of them, and spreads."""

from fractions import Fraction

import pytest
from augerbook.builds.reader import BuildError
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.builds.typed import spread_text, typed_columns, typed_si, typed_spread
from augerbook.chapters import whole_head
from augerbook.core.units import UnitError, with_unit
from augerbook.head.drive import gear_ratio
from augerbook.head.feedstock import moisture_start, sieve_table
from augerbook.head.heating import set_temperature
from augerbook.head.plastic import reference_temperature
from augerbook.head.screw import pitch
from augerbook.head.tube import bore_diameter
from hypothesis import given
from hypothesis import strategies as st

RESULTS = [q for q in whole_head().quantities.values() if not q.part and q.low is None and q.is_nonnegative]


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("5/16 in", 7.9375),
        ('5/16"', 7.9375),
        ("5/16″", 7.9375),
        ("5⁄16 inch", 7.9375),
        ("5/16''", 7.9375),
        ("0.5 in", 12.7),
        ("0,5 in", 12.7),
        ('0,5"', 12.7),
        ("1/2 inch", 12.7),
        ("½ in", 12.7),
        ('⅜"', 9.525),
        ("3/8in", 9.525),
        (" 3 / 8 in ", 9.525),
        ("15/2", 7.5),
        ("7 1/2", 7.5),
        ("7-1/2 mm", 7.5),
        ("7½", 7.5),
        ("3/4 cm", 7.5),
        ("7,5", 7.5),
        ("7.5", 7.5),
    ],
)
def test_inches_and_fractions_are_read(text: str, millimetres: float) -> None:
    assert typed_si(bore_diameter, text) * 1e3 == pytest.approx(millimetres, rel=1e-12)


def test_a_bare_fraction_that_is_too_small_in_millimetres_is_taken_for_forgotten_inches() -> None:
    with pytest.raises(UnitError, match=r"outside the range: .*; for inches write '3/8 in'"):
        typed_si(bore_diameter, "3/8")
    for text in ("0.375", "99", "99/1 mm"):
        with pytest.raises(UnitError) as caught:
            typed_si(bore_diameter, text)
        assert "inches" not in str(caught.value)


def test_a_mixed_number_of_inches_is_whole_and_fraction() -> None:
    for text in ("1 1/4 in", '1 1/4"', "1-1/4 in", "1 1/4 in.", "1¼ in", "5/4 in"):
        with pytest.raises(UnitError, match=r"is outside the range: expected 2\.2 to 25 mm"):  # 31.75 mm
            typed_si(bore_diameter, text)
    assert typed_si(pitch, "1/10 in") == pytest.approx(2.54e-3)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("5/0 in", "divides by zero"),
        ("1 5/4 in", "has 5/4 behind a whole number, where a fraction below one is expected"),
        ("5/16 kg", "is in kg, but a value in mm is expected"),
        ("5/16/2 in", "is not known here"),
        ("5//16", "is not known here"),
        ("/16 in", "is not a number with a unit"),
        ("5 / in", "is not known here"),
        ('"', "is not a number with a unit"),
        ("5 1/min", "is in 1/min, but a value in mm is expected"),
        ("1/2 1/min", "is in 1/min, but a value in mm is expected"),
        ("1/2 in in", "but a value in mm is expected"),
        ("0.5/2 in", "is not known here"),
    ],
)
def test_what_is_no_fraction_is_told(text: str, words: str) -> None:
    with pytest.raises(UnitError) as error:
        typed_si(bore_diameter, text)
    assert words in str(error.value)


@given(
    whole=st.integers(0, 3), under=st.sampled_from([2, 4, 8, 16, 32, 64, 3, 10, 100]), over=st.integers(1, 100),
    mark=st.sampled_from([" in", "in", '"', " inch", "″"]), join=st.sampled_from([" ", "-", "  "]),
)  # fmt: skip
def test_every_fraction_of_an_inch_is_what_arithmetic_says(
    whole: int, under: int, over: int, mark: str, join: str
) -> None:
    if over >= under:
        over %= under
    if over == 0:
        return
    exact = float((whole + Fraction(over, under)) * Fraction(254, 10))  # mm
    text = f"{whole}{join}{over}/{under}{mark}" if whole else f"{over}/{under}{mark}"
    if bore_diameter.low <= exact <= bore_diameter.high:
        assert typed_si(bore_diameter, text) * 1e3 == pytest.approx(exact, rel=1e-12)
    else:
        with pytest.raises(UnitError, match="outside the range"):
            typed_si(bore_diameter, text)


@given(st.text(alphabet="0123456789/,. -+\"'″½¼inm\u2044", max_size=30) | st.text(max_size=80))
def test_no_text_does_anything_but_be_read_or_told(text: str) -> None:
    for read in (lambda: typed_si(bore_diameter, text), lambda: typed_spread(bore_diameter, text, 0.008)):
        try:
            read()
        except UnitError as error:
            assert str(error)


# Spreads


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("7 to 9", 7, 9),
        ("7 mm to 0.9 cm", 7, 9),
        ("0.3 to 0.35 in", 7.62, 8.89),
        ('5/16 to 3/8"', 7.9375, 9.525),
        ("5/16 in to 3/8 in", 7.9375, 9.525),
        ("7,5 to 8,5", 7.5, 8.5),
        ("7,5; 8,5", 7.5, 8.5),
        ("7.5 - 8.5", 7.5, 8.5),
        ("7.5-8.5 mm", 7.5, 8.5),
        ("7.5–8.5", 7.5, 8.5),
        ("7.5 … 8.5", 7.5, 8.5),
        ("7.5..8.5", 7.5, 8.5),
        ("8 to 9", 8, 9),
        ("± 0.5", 7.5, 8.5),
        ("±0,5 mm", 7.5, 8.5),
        ("+-0.05 cm", 7.5, 8.5),
        (" +/- 1/2", 7.5, 8.5),
        ("± 5 %", 7.6, 8.4),
        ('± 1/16"', 6.4125, 9.5875),
    ],
)
def test_a_spread_is_low_and_high(text: str, low: float, high: float) -> None:
    found = typed_spread(bore_diameter, text, 0.008)
    assert found is not None and [1e3 * end for end in found] == pytest.approx([low, high])


def test_a_spread_of_temperatures_and_below_zero() -> None:
    assert typed_spread(set_temperature, "200 to 215 °C", 478.15) == pytest.approx((473.15, 488.15))
    assert typed_spread(reference_temperature, "-50 to -20", 233.15) == pytest.approx((223.15, 253.15))
    assert typed_spread(moisture_start, "0.2 to 0.5 %", 0.0035) == pytest.approx((0.002, 0.005))
    assert typed_spread(set_temperature, "± 5", 478.15) == pytest.approx((473.15, 483.15))
    assert typed_spread(set_temperature, "± 5 °C", 478.15) == pytest.approx((473.15, 483.15))
    assert typed_spread(moisture_start, "± 0.1 %", 0.0035) == pytest.approx((0.0025, 0.0045))
    assert typed_spread(moisture_start, "  ", 0.0035) is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("7", "is not low to high, such as 0.2 to 0.35"),
        ("7 to 8 to 9", "is not low to high"),
        ("to 9", "is not low to high"),
        ("9 to 7", "does not go from low to high"),
        ("8 to 8", "does not go from low to high"),
        ("8.5 to 9", "does not lie about the value itself, 8 mm"),
        ("7 to 99", "is outside the range: expected 2.2 to 25 mm"),
        ("7 to 9 kg", "is in kg, but a value in mm is expected"),
        ("± 9", "goes outside the range: expected 2.2 to 25 mm"),
        ("± 0", "is nothing above zero"),
        ("± -1", "is nothing above zero"),
        ("± 1 kg", "is in kg, but a value in mm is expected"),
        ("±", "is not a number with a unit"),
        ("x to y", "is not a number with a unit"),
        ("7 to 9" + " " * 200, "is too long"),
    ],
)
def test_what_is_no_spread_is_told(text: str, words: str) -> None:
    with pytest.raises(UnitError) as error:
        typed_spread(bore_diameter, text, 0.008)
    assert words in str(error.value)


@pytest.mark.parametrize("text", ["8 ± 0.1", "8 mm +- 0.1", "8 +/- 0.1 mm"])
def test_a_spread_behind_a_value_is_sent_to_its_own_field(text: str) -> None:
    with pytest.raises(UnitError, match="has a spread behind it"):
        typed_si(bore_diameter, text)


@given(st.data())
def test_every_spread_of_every_input_is_read_as_it_is_shown(data: st.DataObject) -> None:
    build = shipped_build("otter")
    quantity = data.draw(st.sampled_from(build.network.inputs))
    values = sorted(data.draw(st.lists(st.floats(quantity.low, quantity.high), min_size=3, max_size=3, unique=True)))
    low, nominal, high = (float(quantity.si(value)) for value in values)
    text = spread_text(quantity, low, high)
    if text.split(" to ")[0] == text.split(" to ")[1]:
        return
    found = typed_spread(quantity, text, nominal)
    assert found is not None and spread_text(quantity, *found) == text


# Short tables


def test_a_table_is_read_cell_by_cell_and_its_faults_name_the_row() -> None:
    columns, faults = typed_columns(sieve_table, [("2", "0"), ("1 mm", "60 %"), ("0", "40")])
    assert faults == [] and columns[0].tolist() == pytest.approx([2e-3, 1e-3, 0])
    assert columns[1].tolist() == pytest.approx([0, 0.6, 0.4])
    _, faults = typed_columns(sieve_table, [("2", "0"), ("x", "60"), ("0", "")])
    assert faults == [
        "row 2, mesh: 'x' is not a number with a unit",
        "row 3, share on mesh: '' is empty: type a number",
    ]
    _, faults = typed_columns(sieve_table, [("1", "0"), ("2", "60"), ("0", "40")])
    assert faults == ["row 2: the mesh 2.00 mm follows 1.00 mm: order the rows from coarse to fine"]
    assert typed_columns(sieve_table, [])[1]


def test_fractions_of_an_inch_are_read_in_a_file_and_a_bare_one_is_refused() -> None:
    text = shipped_build("otter").toml()
    line = 'bore_diameter = "8 mm"'
    assert text.count(line) == 1
    bore = read_build(text.replace(line, 'bore_diameter = "3/8 in"')).values[bore_diameter]
    assert bore == pytest.approx(0.375 * 25.4e-3, rel=1e-12)
    with pytest.raises(BuildError, match="3/8"):
        read_build(text.replace(line, 'bore_diameter = "3/8"'))


@pytest.mark.parametrize(
    ("text", "ratio"),
    [("14:1", 14.0), (" 14 : 1 ", 14.0), ("5.18:1", 5.18), ("5,18:1", 5.18), ("88:17", 88 / 17), ("14", 14.0)],
)
def test_the_ratio_of_a_gear_is_read_as_its_plate_has_it(text: str, ratio: float) -> None:
    assert typed_si(gear_ratio, text) == pytest.approx(ratio, rel=1e-12)


def test_a_ratio_is_read_in_a_file_too_and_is_no_length() -> None:
    text = shipped_build("otter").toml()
    line = 'gear_ratio = "5.18"'
    assert text.count(line) == 1
    assert read_build(text.replace(line, 'gear_ratio = "14:1"')).values[gear_ratio] == 14.0
    for wrong, words in (("14:0", "divides by zero"), ("14:1:1", "is not known here"), ("1:14", "outside the range")):
        with pytest.raises(UnitError, match=words):
            typed_si(gear_ratio, wrong)
    with pytest.raises(UnitError, match="has no unit, but a value in mm is expected"):
        typed_si(bore_diameter, "14:1")


@pytest.mark.parametrize("text", ["8 smurf", "1/0 mm", "8 kg", "8", "eight"])
def test_a_fault_in_a_file_ends_with_a_value_as_it_may_be_written(text: str) -> None:
    with pytest.raises(BuildError, match=r'; write it as in "\d[\d.]* mm"$'):
        read_build(f'format = 1\n[tube]\nbore_diameter = "{text}"')


def test_a_measured_value_that_cannot_be_below_zero_is_refused_where_it_is_typed_and_where_it_is_read() -> None:
    assert any(q.is_positive for q in RESULTS) and not all(q.is_positive for q in RESULTS)
    for quantity in RESULTS:
        words = "a value above zero" if quantity.is_positive else "zero or a value above it"
        wrong = ["-1", "0"] if quantity.is_positive else ["-1"]
        for number in wrong if not quantity.on_a_scale else ["-300"]:
            with pytest.raises(UnitError, match=f"outside the range: expected {words} for the"):
                typed_si(quantity, number)
            with pytest.raises(BuildError, match=f"expected {words} for the"):
                read_build(f'format = 1\n[measured]\n{quantity.key} = "{with_unit(number, quantity.unit)}"')
