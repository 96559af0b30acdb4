"""A slider and its field: what is typed is what is saved, what is not given looks so, a look changes nothing."""

import math
from collections.abc import Iterator

import ipywidgets as widgets
import pytest
from augerbook.builds.build import Build
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.builds.typed import typed_si
from augerbook.chapters import whole_head
from augerbook.core.quantity import Quantity
from augerbook.core.units import UnitError
from augerbook.head.feedstock import batch_mass, flake_thickness, moisture_start
from augerbook.head.heating import set_temperature
from augerbook.head.hopper import hopper_half_angle
from augerbook.head.plastic import reference_temperature, zero_viscosity
from augerbook.head.screw import core_diameter, major_diameter, pitch
from augerbook.head.tube import bore_diameter
from augerbook.page.controls import Sliders
from augerbook.page.session import Session
from augerbook.page.value_row import ValueRow, place, slider_for
from hypothesis import given
from hypothesis import strategies as st

EMPTY = Build("empty", "", {}, {}, {}, whole_head())


def row_of(session: Session, quantity: Quantity) -> ValueRow:
    return Sliders(session, [quantity]).rows[quantity]


def saved(session: Session, quantity: Quantity) -> str:
    """The number that the build file has for a quantity."""
    (line,) = [line for line in session.build.toml().splitlines() if line.startswith(f"{quantity.key} = ")]
    return line.split('"')[1].split(" ")[0].rstrip("°")


# What is typed


@pytest.mark.parametrize(
    ("quantity", "text", "number"),
    [
        (pitch, "1.25", "1.25"),
        (pitch, "1.2345678", "1.2345678"),
        (bore_diameter, "7,5", "7.5"),
        (bore_diameter, "7,5 mm", "7.5"),
        (bore_diameter, " 0.3 in ", "7.62"),
        (bore_diameter, "0.8 cm", "8"),
        (bore_diameter, "8,125", "8.125"),
        (zero_viscosity, "20", "20"),
        (zero_viscosity, "5,4e3", "5400"),
        (zero_viscosity, "1e4 Pa*s", "10000"),
        (set_temperature, "392 degF", "200"),
        (set_temperature, "210,5 °C", "210.5"),
        (reference_temperature, "\u221250", "-50"),
        (hopper_half_angle, "25°", "25"),
        (moisture_start, "0,35", "0.35"),
        (moisture_start, "0.4 %", "0.4"),
    ],
)
def test_what_is_typed_is_what_is_saved_and_shown(quantity: Quantity, text: str, number: str) -> None:
    session = Session(EMPTY)
    row = row_of(session, quantity)
    row.field.value = text
    assert session.message == "" and row.noted.said == ""
    assert saved(session, quantity) == number == row.field.value
    assert row.slider.value == pytest.approx(float(number), rel=1e-9)


@st.composite
def typed(draw: st.DrawFn) -> tuple[Quantity, str]:
    """An input and a number within its range, with up to ten significant digits, written out."""
    quantity = draw(st.sampled_from(whole_head().inputs))
    value = draw(st.floats(quantity.low, quantity.high).map(lambda x: 0.0 if abs(x) < 1e-100 else x))
    digits = draw(st.integers(1, 10))
    # A temperature is counted from absolute zero: no more digits of it can be kept than of that.
    text = f"{value:.{min(digits, 9)}f}" if quantity.on_a_scale else f"{value:.{digits}g}"
    if not quantity.low <= float(text) <= quantity.high:
        text = f"{quantity.low:.12g}"
    return quantity, text


@given(typed(), st.booleans())
def test_every_number_within_the_range_is_kept_with_all_its_digits(pair: tuple[Quantity, str], comma: bool) -> None:
    quantity, text = pair
    session = Session(EMPTY)
    row = row_of(session, quantity)
    row.field.value = text.replace(".", ",") if comma else text
    if session.message:  # such as 1,250 grams, of which a page cannot know what they are
        assert comma and "can be read in two ways" in session.message
        return
    assert saved(session, quantity) == row.field.value == f"{float(text) + 0.0:.12g}"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("abc", "is not a number with a unit"),
        ("99", "is outside the range: expected 2.2 to 25 mm for the diameter of the bore"),
        ("-8", "is outside the range: expected 2.2 to 25 mm"),
        ("8 kg", "is in kg, but a value in mm is expected"),
        ("8 smurf", "has the unit 'smurf', which is not known here"),
        ("8.000,5", "has a comma: write one decimal point or comma and no other separator"),
        ("1e999", "is not a finite number"),
        ("nan", "is not a number with a unit"),
        ("<script>", "is not a number with a unit"),
        ("9" * 70, "is too long"),
    ],
)
def test_what_cannot_be_is_told_beside_the_field_and_above_and_the_old_value_stays(text: str, words: str) -> None:
    session = Session(shipped_build("otter"))
    row, before = row_of(session, bore_diameter), session.build
    row.field.value = "8.5"
    row.field.value = text
    assert session.build.values[bore_diameter] == 0.0085 and row.field.value == "8.5"
    assert words in session.message and session.message.endswith("it stays 8.5 mm")
    assert words.replace("'", "&#39;") in row.noted.said and "<script>" not in row.noted.said
    assert row.noted.widget.children[-1].value == row.noted.said
    row.field.value = "8"
    assert session.message == "" == row.noted.said and len(row.noted.widget.children) == 2
    assert session.build.toml() == before.toml()


def test_an_emptied_field_takes_a_value_out_but_not_the_figure_of_a_row() -> None:
    session = Session(shipped_build("otter"))
    bore, thread = row_of(session, bore_diameter), row_of(session, pitch)  # the pitch is that of a row in a table
    before = session.build
    bore.field.value = " "
    assert bore_diameter not in session.build.values and bore.field.value == "" == session.message
    bore.field.value = ""
    assert bore_diameter not in session.build.values and session.message == ""
    session.undo()
    assert session.build.toml() == before.toml() and bore.field.value == "8"
    thread.field.value = "2.5"
    thread.field.value = ""
    assert session.build.toml() == before.toml() and thread.field.value == "2.6"
    thread.field.value = ""
    assert thread.field.value == "2.6" and "is a figure of the row that was picked" in thread.noted.said


def test_a_value_that_is_typed_as_it_is_changes_nothing_and_clears_what_was_wrong() -> None:
    session = Session(shipped_build("otter"))
    row, before = row_of(session, pitch), session.build  # the pitch is that of a row in a table
    row.field.value = "x"
    assert row.noted.said
    row.field.value = "2.60 mm"
    assert session.build is before and row.field.value == "2.6" and row.noted.said == "" == session.message


def test_a_comma_that_may_divide_thousands_is_asked_about_only_where_it_may() -> None:
    with pytest.raises(UnitError, match="can be read in two ways"):
        typed_si(batch_mass, "1,250")
    assert typed_si(batch_mass, "1,25 kg") == pytest.approx(1.25)
    assert typed_si(bore_diameter, "8,125") == pytest.approx(0.008125)
    assert typed_si(moisture_start, "0,125") == pytest.approx(0.00125)


def test_an_impossible_pair_is_told_beside_what_was_typed() -> None:
    session = Session(shipped_build("otter"))
    rows = Sliders(session, [core_diameter, major_diameter]).rows
    rows[core_diameter].field.value = "7"
    assert "core diameter 7.00 mm must be smaller than" in rows[core_diameter].noted.said
    assert rows[major_diameter].noted.said == "" and rows[core_diameter].field.value == "7"
    rows[major_diameter].field.value = "x"
    assert "still to mend: core diameter" in rows[major_diameter].noted.said and rows[core_diameter].noted.said == ""
    rows[core_diameter].field.value = "4"
    assert all(row.noted.said == "" for row in rows.values()) and session.message == ""


# What is not given


def test_what_is_not_given_looks_so_and_is_given_only_by_a_move_or_a_number() -> None:
    session = Session(EMPTY)
    row = row_of(session, flake_thickness)
    assert row.field.value == "" and row.field.placeholder == "not given"
    absent = row.slider.style.handle_color
    row.slider.value += row.slider.step
    assert session.build.values[flake_thickness] == pytest.approx(row.slider.value / 1000)
    assert row.field.value == f"{row.slider.value:.12g}" and row.slider.style.handle_color != absent
    session.load(EMPTY)
    assert row.field.value == "" and row.slider.style.handle_color == absent
    row.field.value = "1,5"
    assert session.build.toml() == 'format = 1\nname = "empty"\n\n[feedstock]\nflake_thickness = "1.5 mm"\n'
    assert row.field.value == "1.5"


def test_nothing_is_taken_for_a_value_while_it_stays_not_given() -> None:
    session = Session(EMPTY)
    row = row_of(session, flake_thickness)
    row.field.value = "thin"
    assert session.build is EMPTY and row.field.value == "" and "it stays not given" in session.message


# What a browser reports


@pytest.mark.parametrize("build", [shipped_build("otter"), shipped_build("wren"), EMPTY], ids=lambda b: b.name)
@pytest.mark.parametrize("steps", [-0.5, -1e-9, 0.0, 1e-9, 0.5])
def test_a_slider_that_reports_its_place_rounded_to_a_step_changes_nothing(build: Build, steps: float) -> None:
    session = Session(build)
    for row in Sliders(session, whole_head().inputs).rows.values():
        report(row.slider, steps)
        assert session.wanted is build, row.quantity.key


@pytest.mark.parametrize("quantity", [flake_thickness, zero_viscosity, bore_diameter])
def test_a_slider_that_a_person_moved_reports_its_place_again_with_noise(quantity: Quantity) -> None:
    session = Session(EMPTY)
    row = row_of(session, quantity)
    report(row.slider, 1)
    moved = session.wanted
    assert moved is not EMPTY
    report(row.slider, 1e-10)
    assert session.wanted is moved
    report(row.slider, -1)
    assert session.wanted is not moved


class Backwards(set[str]):
    """A set that is iterated as it must not be sent, as a set of names may be."""

    def __iter__(self) -> Iterator[str]:
        return iter(sorted(super().__iter__(), reverse=True))


@pytest.mark.parametrize("quantity", [pitch, zero_viscosity])
def test_the_ends_of_a_slider_are_sent_before_its_value(quantity: Quantity, monkeypatch: pytest.MonkeyPatch) -> None:
    """A browser that gets the value first rounds it twice, and reports a place a step away."""
    slider, sent = slider_for(quantity), []
    monkeypatch.setattr(slider, "_send", lambda message, buffers=None: sent.append(list(message["state"])))
    slider.send_state(Backwards({"value", "min", "max"}))
    slider.send_state("value")
    assert sent == [["max", "min", "value"], ["value"]]
    sent.clear()
    place(slider, quantity, 1.25 if quantity is pitch else 20.3)
    assert sent == [["min", "value"]]


@pytest.mark.parametrize("quantity", [pitch, zero_viscosity])
def test_a_slider_that_moves_is_not_answered_with_copies(quantity: Quantity, monkeypatch: pytest.MonkeyPatch) -> None:
    slider, sent = slider_for(quantity), []
    monkeypatch.setattr(slider, "_send", lambda message, buffers=None: sent.append(message))
    moved = slider.value * 1.01
    slider.set_state({"value": moved})
    assert slider.value == moved
    assert sent == []


def test_a_logarithmic_slider_gives_numbers_that_a_person_would_write() -> None:
    session = Session(EMPTY)
    row = row_of(session, zero_viscosity)
    for _ in range(30):
        report(row.slider, 1)
        assert len(row.field.value.replace(".", "").rstrip("0")) <= 3, row.field.value
        assert read_build(session.build.toml()).values[zero_viscosity] == pytest.approx(float(row.field.value))


def report(slider: widgets.FloatSlider | widgets.FloatLogSlider, steps: float) -> None:
    """Let a slider report a place that lies so many steps beside its own, as the browser sends it."""
    if isinstance(slider, widgets.FloatLogSlider):
        place = math.log10(slider.value) + steps * slider.step
        slider.set_state({"value": 10 ** min(max(place, slider.min), slider.max)})
    else:
        slider.set_state({"value": min(max(slider.value + steps * slider.step, slider.min), slider.max)})


# Spreads


def spread_row(session: Session, quantity: Quantity) -> ValueRow:
    row = Sliders(session, [quantity], spreads=True).rows[quantity]
    assert row.spread is not None
    return row


def test_rows_have_a_field_for_the_spread_only_where_it_is_wanted() -> None:
    session = Session(shipped_build("otter"))
    assert row_of(session, flake_thickness).spread is None
    row = spread_row(session, flake_thickness)
    assert row.spread.value == "0.8 to 1.6" and row.spread.description == "spread of flake thickness (mm)"
    assert spread_row(session, bore_diameter).spread.value == "" and row.noted.widget.children[-1] is row.spread
    assert spread_row(session, bore_diameter).spread.placeholder == "exact"


def test_a_typed_spread_is_saved_and_an_empty_one_means_exact() -> None:
    session = Session(shipped_build("otter"))
    row = spread_row(session, bore_diameter)
    row.spread.value = "7,9 to 8.2 mm"
    assert row.spread.value == "7.9 to 8.2" and session.message == ""
    assert 'bore_diameter = { nominal = "8 mm", low = "7.9 mm", high = "8.2 mm" }' in session.build.toml()
    assert session.build.name == "otter, changed"
    before = session.build
    row.spread.value = "7.9 to 8.20"
    assert session.build is before and row.spread.value == "7.9 to 8.2"
    session.set_value(bore_diameter, 16.0)
    assert row.spread.value == "15.8 to 16.4", "it keeps its proportion when the value moves"
    session.set_value(bore_diameter, 8.0)
    row.spread.value = ""
    assert session.build.toml() == shipped_build("otter").toml() and row.spread.placeholder == "exact"


@pytest.mark.parametrize("text", ["9 to 10", "x", "8.2 to 7.9", "1 to 9", "7 to 9 kg"])
def test_what_cannot_be_a_spread_is_told_beside_it_and_the_old_one_stays(text: str) -> None:
    session = Session(shipped_build("otter"))
    row = spread_row(session, bore_diameter)
    before = session.build
    row.spread.value = text
    assert session.build is before and row.spread.value == ""
    assert f"spread of the bore diameter: '{text}'" in session.message and "it stays known exactly" in session.message
    assert "spread of the bore diameter" in row.noted.said and row.noted.widget.children[-1].value == row.noted.said
    row.spread.value = "7.9 to 8.1"
    assert session.message == "" == row.noted.said
    row.spread.value = text
    assert "it stays 7.9 to 8.1 mm" in session.message and row.spread.value == "7.9 to 8.1"
    row.spread.value = "7.9 to 8.10"
    assert session.message == "", "typed as it is, it clears what was wrong"


def test_a_spread_of_a_value_from_a_table_stands_in_the_build() -> None:
    session = Session(shipped_build("otter"))
    row = spread_row(session, pitch)
    row.spread.value = "2.5 to 2.7"
    assert 'pitch = { nominal = "2.6 mm", low = "2.5 mm", high = "2.7 mm" }' in session.build.toml()
    assert read_build(session.build.toml()).ends[pitch] == pytest.approx((0.0025, 0.0027))


def test_what_is_not_given_has_no_spread() -> None:
    session = Session(EMPTY)
    row = spread_row(session, flake_thickness)
    assert row.spread.placeholder == ""
    row.spread.value = "1 to 2"
    assert session.build is EMPTY and row.spread.value == "" and "give the value first" in row.noted.said
    row.field.value = "1.5"
    assert row.spread.placeholder == "exact" and row.noted.said == ""
    session.type_spread(flake_thickness, "")
    assert session.message == ""
