import math
from html import unescape

import ipywidgets as widgets
import pytest
from augerbook.builds.build import Build, exact_number, usable_rows
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.core.part import Part
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.head import all_parts
from augerbook.head.bearing import bearing, bearing_kind, bearing_width
from augerbook.head.feedstock import sieve_mesh
from augerbook.head.screw import core_diameter, major_diameter, pitch, standard_screw
from augerbook.head.tube import bore_diameter
from augerbook.page.controls import Lists, MessageLine, Sliders, message_html
from augerbook.page.session import Session
from augerbook.page.tables_html import value_text, warnings_html
from augerbook.page.value_row import Slider, slider_for

BUILDS = shipped_builds()
PARTS = all_parts()

each_build = pytest.mark.parametrize("name", BUILDS)


def quantity(low: float, high: float, unit: str = "mm") -> Quantity:
    return Quantity("toy_size", "x", unit, "size of a toy", low=low, high=high)


def ends(slider: Slider) -> tuple[float, float]:
    """The lowest and highest value a slider can be moved to."""
    if isinstance(slider, widgets.FloatLogSlider):
        return slider.base**slider.min, slider.base**slider.max
    return slider.min, slider.max


# Every slider of every chapter


@pytest.mark.slow
@each_build
@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.name)
def test_every_slider_can_be_moved_to_its_ends_and_back(part: Part, name: str) -> None:
    """What a page does on a move, as far as it needs no browser: solve, judge, put what it moves in words."""
    network = whole_head()
    for moved in part.quantities:
        session = Session(shipped_build(name))
        start = session.build
        results = network.downstream({moved}, set(start.values))
        sliders = Sliders(session, [moved])
        line = MessageLine(session)
        slider = sliders.rows[moved].slider
        heard: list[Build] = []
        session.on_change(lambda session=session, heard=heard: heard.append(session.build))
        default = slider.value
        for value in (*ends(slider), default):
            if slider.value == value:
                continue
            last, moves = session.build, len(heard)
            slider.value = value
            assert len(heard) == moves + 1, f"{moved.key}: the move was not heard"
            if value != default:  # back where it began they are those of the build
                assert all(value_text(session.solution, q) for q in results)
                warnings_html(session.solution)
            if session.message:
                values = session.wanted.values
                rules = [r for r in whole_head().requirements if {r.smaller, r.larger} <= set(values)]
                said = session.message.splitlines()[1:]
                assert rules and said and session.build is last, session.message
                for sentence in said:
                    assert any(
                        r.smaller.text(values[r.smaller]) in sentence and r.larger.text(values[r.larger]) in sentence
                        for r in rules
                        if moved in (r.smaller, r.larger)
                    ), sentence
                assert all(sentence in unescape(line.widget.value) for sentence in said)
            else:
                assert session.build is session.wanted
                if session.build is not start:
                    # A logarithmic slider gives three digits, half of the last of which is at most this.
                    within = 5e-3 if isinstance(slider, widgets.FloatLogSlider) else 1e-9
                    assert moved.shown(session.build.values[moved]) == pytest.approx(slider.value, rel=within)
                    assert sliders.rows[moved].field.value == exact_number(moved, session.build.values[moved])
        assert session.message == ""


@pytest.mark.parametrize("moved", whole_head().inputs, ids=lambda q: q.key)
def test_every_slider_shows_name_unit_and_range(moved: Quantity) -> None:
    slider = slider_for(moved, moved.low)
    assert slider.description.startswith(moved.name_in_words) and slider.tooltip == moved.meaning
    low, high = ends(slider)
    assert (low, high) == pytest.approx((moved.low, moved.high), rel=1e-9)
    if isinstance(slider, widgets.FloatSlider):
        steps = (moved.high - moved.low) / slider.step
        assert 100 <= steps <= 1001
    else:
        assert slider.base**slider.step > 1.01, "two neighbours would read the same with three digits"


def test_a_result_has_no_slider() -> None:
    result = next(q for q in whole_head().quantities.values() if q.low is None)
    with pytest.raises(ValueError, match="has no range: it is computed"):
        slider_for(result)


# Single sliders


def test_a_wide_range_gets_a_logarithmic_slider() -> None:
    slider = slider_for(quantity(0.001, 1000, "Pa*s"))
    assert isinstance(slider, widgets.FloatLogSlider)
    assert (slider.min, slider.max, slider.value) == pytest.approx((-3, 3, 1))
    assert slider.description == "toy size (Pa·s)"
    assert isinstance(slider_for(quantity(0, 1000)), widgets.FloatSlider)


@pytest.mark.parametrize(("low", "high"), [(2, 16), (0.001, 1000), (-20, 300)])
def test_a_value_outside_the_range_is_held_at_its_end(low: float, high: float) -> None:
    q = quantity(low, high)
    assert slider_for(q, high + 1).value == pytest.approx(high)
    assert slider_for(q, low - 1).value == pytest.approx(low)
    assert slider_for(q, math.inf).value == pytest.approx(high)
    slider = slider_for(q)
    slider.value = high * 10 + 1
    assert slider.value == pytest.approx(high)


def test_a_slider_follows_a_build_that_is_loaded_without_changing_it() -> None:
    session = Session(shipped_build("otter"))
    rows = Sliders(session, [bore_diameter, pitch]).rows
    assert rows[pitch].slider.value == pytest.approx(2.6) and rows[pitch].field.value == "2.6"
    wren = shipped_build("wren")
    session.load(wren)
    assert session.wanted is wren
    assert rows[bore_diameter].slider.value == pytest.approx(5) and rows[bore_diameter].field.value == "5"
    assert rows[pitch].slider.value == pytest.approx(1.4) and rows[pitch].field.value == "1.4"


def test_looking_at_a_build_does_not_change_it() -> None:
    """The browser reports a value rounded to the slider's step when the slider appears."""
    session = Session(shipped_build("wren"))
    before = session.wanted
    slider = Sliders(session, [major_diameter]).rows[major_diameter].slider
    slider.value = round(slider.value / slider.step) * slider.step
    assert session.wanted is before
    slider.value += slider.step
    assert session.wanted is not before
    slider.value -= slider.step
    assert session.wanted.values[major_diameter] == pytest.approx(slider.value / 1000)


@pytest.mark.slow
@each_build
def test_every_slider_stands_on_a_step_where_a_build_is_loaded(name: str) -> None:
    """The browser rounds to steps counted from the lower end; what it shows must be what the build says."""
    build = shipped_build(name)
    session = Session(build)
    for moved, row in Sliders(session, [q for part in PARTS for q in part.quantities]).rows.items():
        slider = row.slider
        if moved not in build.values:
            continue
        shown = float(moved.shown(build.values[moved]))
        assert slider.value == pytest.approx(shown, rel=1e-12), moved.key
        logarithmic = isinstance(slider, widgets.FloatLogSlider)
        low, place = (math.log10(moved.low), math.log10(shown)) if logarithmic else (moved.low, shown)
        assert low <= slider.min < low + slider.step, moved.key
        steps = (place - slider.min) / slider.step
        assert steps == pytest.approx(round(steps), abs=1e-4), moved.key


def test_two_sliders_of_one_quantity_move_together() -> None:
    session = Session(shipped_build("otter"))
    one, other = (Sliders(session, [bore_diameter, pitch]).rows[bore_diameter] for _ in range(2))
    one.slider.value = 9.0
    assert other.slider.value == pytest.approx(9.0) and other.field.value == "9" == one.field.value
    other.slider.value = 5.0  # impossible: both still show what is wanted
    assert session.message and one.slider.value == pytest.approx(5.0)
    one.slider.value = 8.5
    assert not session.message and other.slider.value == pytest.approx(8.5)
    assert session.build.values[bore_diameter] == pytest.approx(0.0085)


# Lists


def lists(session: Session, item: Choice | Lookup) -> widgets.Dropdown:
    return Lists(session, [item]).by_item[item]


@each_build
def test_every_item_of_every_list_can_be_picked(name: str) -> None:
    for item in (*whole_head().choices.values(), *whole_head().lookups.values()):
        session = Session(shipped_build(name))
        widget = lists(session, item)
        session.on_change(lambda session=session: session.solution)
        names = item.options if isinstance(item, Choice) else usable_rows(item)
        for option in names:
            widget.value = option
            held = session.wanted.choices if isinstance(item, Choice) else session.wanted.names
            assert held[item] == option and widget.value == option
            assert session.message == "" or "cannot go together" in session.message


def test_a_list_says_when_a_value_of_its_row_was_changed_and_the_row_can_be_taken_again() -> None:
    session = Session(shipped_build("otter"))
    widget = lists(session, standard_screw)
    assert widget.value == "DIN 7998 6" and widget.options[:2] == ("(not given)", "DIN 7998 3")
    session.set_value(pitch, 2.0)
    assert widget.value == "DIN 7998 6 (changed)" and widget.options[1:3] == ("(not given)", "DIN 7998 3")
    widget.value = "DIN 7998 6"
    assert session.build.values[pitch] == pytest.approx(0.0026)
    assert widget.value == "DIN 7998 6" and "DIN 7998 6 (changed)" not in widget.options


def test_a_list_shows_own_values_while_no_row_was_taken() -> None:
    otter = shipped_build("otter")
    text = "\n".join(line for line in otter.toml().splitlines() if not line.startswith("standard_screw"))
    session = Session(otter)
    widget = lists(session, standard_screw)
    assert session.load_text(text)
    assert widget.value == "(not given)"
    session.set_value(pitch, 2.5)
    assert widget.value == "(own values)"
    before = session.wanted
    widget.value = "(own values)"
    assert session.wanted is before
    widget.value = "M6"
    assert session.build.values[core_diameter] == pytest.approx(0.004773) and "(own values)" not in widget.options


@pytest.mark.parametrize("lookup", whole_head().lookups.values(), ids=lambda lookup: lookup.key)
def test_a_row_that_was_picked_is_given_back_by_its_list(lookup: Lookup) -> None:
    """Its values and its kind go with it, those of the maker's own among them, and nothing else."""
    otter = shipped_build("otter")
    bare = otter.without_row(lookup).with_words(name="mine")
    session = Session(bare)
    widget = lists(session, lookup)
    assert widget.value == "(not given)"
    name = next(name for name in usable_rows(lookup) if not bare.with_name(lookup, name).clashes())
    widget.value = name
    some = next(q for q in lookup.fills if q in session.wanted.values)
    session.take(session.wanted.with_value(some, session.wanted.values[some] * 1.0001))
    assert widget.value == f"{name} (changed)"
    widget.value = "(not given)"
    assert session.wanted.toml() == session.build.toml() == bare.toml() and not session.wanted.says_any(lookup)
    session.take(bare.with_value(some, otter.values.get(some, float(some.si(some.low)))))
    assert widget.value == "(own values)"
    widget.value = "(not given)"
    assert session.wanted.toml() == bare.toml()
    session.undo()
    assert widget.value == "(own values)"


def test_nothing_is_shown_as_chosen_that_was_not_chosen() -> None:
    otter = shipped_build("otter")
    session = Session(otter)
    assert session.load_text('format = 1\n[tube]\nbore_diameter = "8 mm"')
    widget = lists(session, bearing_kind)
    assert widget.value == "(not chosen)"
    first = next(iter(bearing_kind.options))
    widget.value = first
    assert session.wanted.choices[bearing_kind] == first and widget.options == tuple(bearing_kind.options)


def test_rows_with_implausible_figures_are_not_offered() -> None:
    session = Session(shipped_build("otter"))
    for lookup in whole_head().lookups.values():
        names = {option if isinstance(option, str) else option[1] for option in lists(session, lookup).options}
        assert names - {"(own values)", "(not given)"} <= {*usable_rows(lookup)} | {
            f"{name} (changed)" for name in usable_rows(lookup)
        }


def test_a_bearing_is_listed_with_kind_and_sizes_and_stored_by_its_name() -> None:
    session = Session(shipped_build("otter"))
    widget = lists(session, bearing)
    assert ("608, deep groove, 8 x 22 x 7 mm", "608") in widget.options
    assert all(words.startswith(name) for words, name in widget.options)
    widget.value = "608"
    assert session.build.names[bearing] == "608" and 'bearing = "608"' in session.build.toml()
    session.set_value(bearing_width, 8.0)
    assert widget.value == widget.label == "608 (changed)"


# Messages


def test_the_message_line_follows_and_is_read_aloud() -> None:
    session = Session(shipped_build("otter"))
    line = MessageLine(session)
    assert line.widget.value == '<div role="status"></div>'
    session.set_value(bore_diameter, 5.0)
    assert 'role="status"' in line.widget.value and "<li>major diameter 6.00 mm" in line.widget.value
    session.set_value(bore_diameter, 8.0)
    assert line.widget.value == '<div role="status"></div>'


def test_what_people_typed_is_shown_not_run() -> None:
    shown = message_html("first\n<script>alert(1)</script> & more")
    assert "<script>" not in shown and "&lt;script&gt;" in shown and "&amp; more" in shown
    assert shown.count("<li>") == 1 and "<b>first</b>" in shown


def test_labels_have_units_and_plain_numbers_have_none() -> None:
    assert slider_for(sieve_mesh).description == "sieve mesh (mm)"
    assert slider_for(quantity(0, 1, "1")).description == "toy size"
