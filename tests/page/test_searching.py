"""Search over all values and all worked examples."""

import pytest
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.core.quantity import Quantity
from augerbook.head import part_titles
from augerbook.head.bearing import bearing_kind
from augerbook.head.feedstock import sieve_table
from augerbook.head.screw import pitch, screw_yield_strength
from augerbook.head.tube import bore_diameter
from augerbook.page.all_values import AllValues
from augerbook.page.choosing_panel import troubled
from augerbook.page.example_panel import ExamplePanel
from augerbook.page.searching import found
from augerbook.page.session import Session

from tests.page.opened import open_all

NET = whole_head()
ALL = [*NET.inputs, *NET.choices.values(), *NET.lookups.values()]


@pytest.mark.parametrize("quantity", ALL, ids=lambda item: item.key)
def test_everything_is_found_by_name_key_meaning_and_symbol(quantity: Quantity) -> None:
    for query in (quantity.name_in_words, quantity.key, quantity.meaning, quantity.name_in_words.upper()):
        assert quantity in found(query, ALL)
    if isinstance(quantity, Quantity):
        for symbol in (quantity.notation, quantity.plain_notation):
            hits = found(symbol, ALL)
            assert quantity in hits and symbol in (hits[0].notation, hits[0].plain_notation)  # type: ignore[union-attr]


def test_every_word_must_be_found_and_short_ones_begin_a_word() -> None:
    assert bore_diameter in found("diameter bore", ALL) and pitch not in found("diameter bore", ALL)
    assert found("bore zebra", ALL) == [] and found(" ", ALL) == ALL
    assert bearing_kind in found("groove", ALL), "a kind that can be chosen"
    hits = found("pi", ALL)
    assert pitch in hits and len(hits) < len(ALL) / 4
    assert found("[(*", ALL) == [] and found("<b>", ALL) == []


@pytest.fixture
def values() -> AllValues:
    return AllValues(Session(shipped_build("otter")))


@pytest.mark.slow
def test_matching_rows_of_all_parts_stand_in_place_of_the_tabs(values: AllValues) -> None:
    assert values.tabs in values.widget.children
    values.search.value = "diameter"
    assert values.tabs not in values.widget.children
    assert len({item.part for item in values.found}) > 3 and bore_diameter in values.found
    shown = values.widget.children[-1].children
    assert all(values.rows[item] in shown for item in values.found[:30])
    assert f"{len(values.found)} found" in values.count.value
    values.search.value = "bore diameter"
    row = values.rest["tube"].rows[bore_diameter]
    assert values.rows[bore_diameter] is row.noted.widget in values.widget.children[-1].children
    row.field.value = "9"  # it is the row itself, and works as ever
    assert values.grid._session.build.values[bore_diameter] == pytest.approx(0.009)
    values.search.value = ""
    assert values.tabs in values.widget.children and values.count.value == ""


def test_what_is_not_found_is_said_and_many_are_cut_off(values: AllValues) -> None:
    values.search.value = "<i>zebra"
    assert "nothing is called &#39;&lt;i&gt;zebra&#39; here" in values.count.value
    values.search.value = "the"
    assert "the first 30 are shown: type more" in values.count.value
    values.search.value = "sieve table"
    assert values.grid.widget in values.widget.children[-1].children
    open_all(values)
    assert set(values.rows) == {*ALL, sieve_table}


def test_a_part_is_made_when_its_tab_is_opened_or_something_in_it_is_found(values: AllValues) -> None:
    assert {item.part for item in values.rows} == {"feedstock"}
    values.tabs.selected_index = list(part_titles()).index("tube")
    assert bore_diameter in values.rows and "screw lists" not in values.rest
    values.search.value = "pitch"
    assert pitch in values.rows
    again = values.rows[pitch]
    values.make("screw")
    assert values.rows[pitch] is again


def test_worked_examples_begin_with_the_margin_that_stands_on_top_elsewhere() -> None:
    otter = shipped_build("otter")
    session = Session(otter.with_value(screw_yield_strength, 0.3 * otter.values[screw_yield_strength]))
    panel = ExamplePanel(session)
    panel.refresh()
    assert panel.quantity.value == troubled(session.build)[0].quantity.key


@pytest.mark.slow
def test_worked_examples_are_searched() -> None:
    session = Session(shipped_build("otter"))
    panel = ExamplePanel(session)
    panel.refresh()
    every, first = panel.quantity.options, panel.quantity.value
    panel.search.value = "thrust running"
    assert 0 < len(panel.quantity.options) < 30 < len(every)
    assert all("thrust" in words.casefold() or "thrust" in key for words, key in panel.quantity.options)
    assert f"{len(panel.quantity.options)} of {len(every)}" in panel.count.value
    assert panel.quantity.value in {key for _, key in panel.quantity.options} and panel.box.text
    chosen = panel.quantity.options[-1][1]
    panel.quantity.value = chosen
    panel.search.value = "thrust"
    assert panel.quantity.value == chosen, "what was chosen stays while it is among them"
    panel.search.value = "zebra"
    assert "nothing is called &#39;zebra&#39;" in panel.count.value and panel.quantity.options == every
    panel.search.value = ""
    assert panel.count.value == "" and panel.quantity.value == chosen != first
    panel.search.value = "V_net"
    assert panel.quantity.options[0][1] == "net_volume"
