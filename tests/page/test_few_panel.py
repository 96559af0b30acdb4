"""Starting from few values, without a browser: what is typed, filled in, marked, told in margins, taken out again."""

import re

import pytest
from augerbook.builds.contradictions import contradictions, polymer
from augerbook.builds.estimates import estimated, outdated, without_estimates
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.plate import plate_stress_share
from augerbook.head.bearing import bearing
from augerbook.head.drive import motor
from augerbook.head.feedstock import plastic, sieve_mesh
from augerbook.head.nozzle import nozzle_diameter
from augerbook.head.plastic import melt_data
from augerbook.head.plate import plate_support, plate_thickness
from augerbook.head.printing import wanted_flow
from augerbook.head.screw import major_diameter, standard_screw
from augerbook.head.tube import bore_diameter, tube_length
from augerbook.page import start
from augerbook.page.cite import worked
from augerbook.page.estimated_view import mark_html, notes_of
from augerbook.page.few_panel import EstimateLine, FewPanel, can_be_estimated
from augerbook.page.margins_view import all_margins
from augerbook.page.session import Session
from augerbook.page.start import StartPage
from augerbook.settle import with_found
from augerbook.tables import read_table
from markupsafe import Markup

TYPED = {
    bore_diameter: "8",
    nozzle_diameter: "0,6 mm",
    plate_thickness: "5",
    sieve_mesh: "2",
    wanted_flow: "2.5",
}
PICKED = {plastic: "PLA", standard_screw: "DIN 7998 6", motor: "42 x 40"}


def from_nothing() -> tuple[Session, FewPanel]:
    """A panel in which seven values and names were given, after everything was taken out."""
    session = Session(shipped_build("otter"))
    panel = FewPanel(session)
    panel.anew.click()
    for lookup, name in PICKED.items():
        panel.lists.by_item[lookup].value = name
    for quantity, text in TYPED.items():
        panel.fields[quantity].field.value = text
    return session, panel


def words(html: str) -> str:
    return str(Markup(html).striptags())


def test_one_begins_with_nothing_and_types_what_one_knows() -> None:
    session, panel = from_nothing()
    build = session.build
    assert {q.key for q in build.entries} == {q.key for q in TYPED} and dict(build.names) == PICKED
    assert build.values[nozzle_diameter] == pytest.approx(0.0006)
    assert panel.fields[nozzle_diameter].field.value == "0.6"
    assert panel.fields[major_diameter].field.value == "6"  # that of the screw picked
    assert session.message == ""


def test_what_cannot_be_is_told_beside_its_field_and_changes_nothing() -> None:
    session, panel = from_nothing()
    panel.fields[bore_diameter].field.value = "8 kg"
    assert "a value in mm" in panel.fields[bore_diameter].noted.said
    assert panel.fields[bore_diameter].field.value == "8" and session.build.values[bore_diameter] == 0.008
    assert panel.fields[plate_thickness].noted.said == ""


@pytest.mark.slow
def test_the_rest_is_filled_in_counted_marked_and_taken_out_again() -> None:
    session, panel = from_nothing()
    panel.refresh()
    few = session.build
    count = can_be_estimated(few)
    assert count > 100 and panel.line.fill.description.startswith(f"{count} values are lacking")
    panel.line.fill.click()
    panel.refresh()
    marked = estimated(session.build)
    assert f"{len(marked)} values and kinds of this build are estimated" in panel.line.said.value
    assert "44 of 46 margins can be computed" in panel.line.said.value
    assert panel.line.fill.layout.display == "none"
    assert panel.table.value.count("<tr>") == len(marked) + 1 and "no data sheet" in panel.table.value
    assert "weighed runs" in panel.asked.value and "only you can weigh" in panel.asked.value
    assert "estimated" in panel.lists.rows[bearing].said and panel.lists.by_item[bearing].value == "608"
    panel.line.clear.click()
    panel.refresh()
    assert session.build.toml() == few.toml()
    assert panel.table.value == "" and panel.line.clear.layout.display == "none"


def test_a_value_that_is_typed_loses_its_mark() -> None:
    session, panel = from_nothing()
    panel.line.fill.click()
    assert mark_html(session.build, tube_length) and not mark_html(session.build, bore_diameter)
    session.type_value(tube_length, "70")
    assert not mark_html(session.build, tube_length) and tube_length not in session.build.ends
    panel.lists.by_item[bearing].value = "51100"
    assert panel.lists.rows[bearing].said == ""


@pytest.mark.slow
def test_an_estimate_is_confirmed_as_it_stands() -> None:
    session, panel = from_nothing()
    panel.line.fill.click()
    panel.refresh()
    for item in (tube_length, plate_support, bearing):
        panel.known.value = item.key
        before = session.build.values.get(item), session.build.choices.get(item), session.build.names.get(item)
        panel.confirm.click()
        panel.refresh()
        assert item not in estimated(session.build) and item.key not in dict(panel.known.options).values()
        after = session.build.values.get(item), session.build.choices.get(item), session.build.names.get(item)
        assert after == before


def test_values_that_clash_are_mended_before_anything_is_estimated() -> None:
    session, panel = from_nothing()
    session.set_value(bore_diameter, 5.0)
    panel.line.fill.click()
    assert session.message.startswith("First mend") and "must be smaller" in session.message
    assert estimated(session.build) == []


def test_a_build_that_lacks_nothing_shows_no_line() -> None:
    line = EstimateLine(Session(shipped_build("wren")))
    assert line.widget.layout.display == "none" and line.said.value == ""
    panel = FewPanel(Session(shipped_build("wren")))
    panel.refresh()
    assert panel.widget.layout.display != "none"  # the line hides itself and nothing else


def test_what_only_the_maker_can_say_comes_first() -> None:
    panel = FewPanel(Session(read_build("format = 1")))
    panel.refresh()
    said = words(panel.asked.value)
    assert {said.find(word) for word in ("bore diameter", "plastic", "wanted flow")} & {-1} == set()
    assert said.find("wanted flow") < said.find("weighed runs")
    assert panel.line.fill.layout.display == ""  # what hangs on nothing can be estimated at once


@pytest.fixture(scope="module")
def page() -> StartPage:
    session, _ = from_nothing()
    page = StartPage(session.build)
    page.estimates.fill.click()
    page.finish_waiting()
    return page


@pytest.mark.slow
def test_the_panel_is_the_first_and_is_made_when_it_is_opened(page: StartPage) -> None:
    assert page.more.titles[0] == "Start from few values"
    page.more.selected_index = 0
    assert page.few.table.value.count("<tr>") == len(estimated(page.session.build)) + 1
    page.more.selected_index = None


def test_every_margin_says_which_estimates_decide_it_and_how_to_find_them_out(page: StartPage) -> None:
    shown = page.margins.value
    rows = dict(re.findall(r"data-margin='([^']+)'(.*?)</div>", shown, re.DOTALL))
    assert len(rows) == len(all_margins(page.session.build.network))
    for margin, row in rows.items():
        if margin in ("drive.setting_bounds", "choosing.better_chance"):
            # Folded, the margin says what it lacks; unfolded, that nobody else can tell.
            assert "only you can say" in row and "needs" in words(row)
        else:
            assert "decided-by-estimates" in row, margin
    assert re.search(r"Decided by estimates:</b> [a-z ]+\(\d+ %\)", shown)
    assert "<a href='04_hopper.ipynb#How-densely-granules-lie' target='_blank'" in shown
    assert shown.count("First find out") >= 40


def test_the_page_says_what_to_find_out_first_and_what_only_estimates_guard(page: StartPage) -> None:
    assert "Find out first:" in page.estimates.first.value and "margins:" in page.estimates.first.value
    assert "Watched over by estimates only" in page.guards.value and "no data sheet" in page.guards.value


def test_nothing_is_said_of_estimates_where_there_are_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(start, "sensitivities_in_steps", lambda *_: iter(()))
    page = StartPage(shipped_build("otter"))
    assert page.guards.value == page.estimates.first.value == "" and page.estimates.widget.layout.display == "none"
    otter = shipped_build("otter")
    assert notes_of(otter, [m.quantity for m in all_margins(otter.network)], {}) == {}
    assert all(not row.noted.said for row in page.sliders.rows.values())


@pytest.mark.slow
def test_a_worked_example_says_what_of_it_is_estimated(page: StartPage) -> None:
    build = page.session.build
    example = worked(plate_stress_share, build)
    assert any(meaning.endswith("(estimated)") for *_, meaning in example.given)
    for text in (example.markdown(), example.bbcode(), example.text(), example._repr_markdown_()):
        assert re.search(r"Rests on \d+ estimates, which nobody measured", text)
    assert read_build(example.markdown()).toml() == build.toml()
    bare = worked(plate_stress_share, shipped_build("otter"))
    assert "estimate" not in bare._repr_markdown_() and bare.rests == ""
    assert without_estimates(build).toml() != build.toml()


@pytest.mark.slow
def test_estimates_whose_grounds_have_changed_are_told_and_made_anew() -> None:
    session, panel = from_nothing()
    panel.line.fill.click()
    assert outdated(session.build) == [] and panel.line.renew.layout.display == "none"
    before = session.build
    session.type_value(nozzle_diameter, "0.4")
    panel.refresh()
    assert {q.key for q in outdated(session.build)} == {"land_length", "line_width", "layer_height"}
    assert "line width" in words(panel.line.said.value) and "estimate anew" in words(panel.line.said.value)
    panel.line.renew.click()
    panel.refresh()
    line = whole_head().quantities["line_width"]
    assert session.build.values[line] == pytest.approx(before.values[line] * 4 / 6)
    assert session.build.values[nozzle_diameter] == pytest.approx(0.4e-3)
    assert outdated(session.build) == [] and panel.line.renew.layout.display == "none"


def test_another_motor_makes_the_estimated_torque_at_stall_outdated_until_it_is_taken_over() -> None:
    session, panel = from_nothing()
    panel.line.fill.click()
    session.load(session.build.with_name(motor, "57 x 56"))
    assert {"stall_torque", "set_current"} <= {item.key for item in outdated(session.build)}
    session.load(with_found(session.build))
    assert "stall_torque" not in {item.key for item in outdated(session.build)}


def test_a_value_that_only_an_estimate_stands_against_is_taken_by_estimating_anew() -> None:
    session, panel = from_nothing()
    panel.line.fill.click()
    session.type_value(bore_diameter, "16")
    assert "Estimate anew" in session.message and session.build.values[bore_diameter] == pytest.approx(8e-3)
    panel.refresh()
    panel.line.renew.click()
    assert session.message == "" and session.build.values[bore_diameter] == pytest.approx(16e-3)


def test_melt_data_that_stand_in_for_a_plastic_are_no_contradiction() -> None:
    """The table has none of PETG: the estimate takes another's, and only who picks them is told that they differ."""
    session, panel = from_nothing()
    panel.lists.by_item[plastic].value = next(n for n in read_table(plastic.table).rows if n.startswith("PETG"))
    panel.line.fill.click()
    assert polymer(session.build.names[melt_data]) != "PETG" and contradictions(session.build) == []
    picked = session.build.with_name(melt_data, session.build.names[melt_data])
    assert len(contradictions(picked)) == 1


def test_who_has_a_screw_by_its_kind_is_told_under_which_standard_it_stands() -> None:
    told = " ".join(w.value for w in FewPanel(Session(shipped_build("otter"))).widget.children if hasattr(w, "value"))
    rows = read_table(standard_screw.table).rows.values()
    assert {row.text("kind") for row in rows} >= {"coach screw", "tapping screw"}
    for row in rows:
        standard = re.split(r" ?[\d.]+$", row.name)[0]
        assert re.search(rf"\b{standard}: [^;)]*\b{row.text('kind')}\b", told), row.name
