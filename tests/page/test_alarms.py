"""Dangers and broken conditions stand before any margin, with value, limit, and what to do."""

import re
from html import unescape

import pytest
from augerbook.builds.build import Build, usable_rows
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.screw import net_volume
from augerbook.core.quantity import Lookup
from augerbook.head.drive import running_torque, screw_speed
from augerbook.head.feedstock import plastic
from augerbook.head.heating import set_temperature
from augerbook.head.hopper import hopper_half_angle
from augerbook.head.nozzle import block_material, cone_half_angle, nozzle_material
from augerbook.head.plastic import degradation_temperature
from augerbook.head.screw import screw_material
from augerbook.head.tube import break_length, break_material, tube_material
from augerbook.page.alarms import alarms_html
from augerbook.page.controls import Sliders
from augerbook.page.margins_view import all_margins, strip_html
from augerbook.page.session import Session
from augerbook.page.start import StartPage
from augerbook.page.tables_html import results_html, warnings_html
from augerbook.tables import read_table

from tests.page.opened import open_all

OTTER = shipped_build("otter")
#: A plug that slips, a blunt cone and a flat hopper.
BROKEN = (
    OTTER.with_value(running_torque, 1.5)
    .with_value(screw_speed, 1.5)
    .with_value(cone_half_angle, 1.0)
    .with_value(hopper_half_angle, 0.7)
)
MARGINS = all_margins(whole_head())
TOO_HOT = "Danger: set temperature 350 °C must not exceed the degradation temperature of 240 °C."


def at(build: Build, celsius: float) -> Build:
    return build.with_value(set_temperature, celsius + 273.15)


def words(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_too_hot_is_the_first_line_before_any_margin() -> None:
    strip = words(strip_html(MARGINS, at(OTTER, 350).solution))
    assert strip.startswith(TOO_HOT) and "harmful fumes" in strip and "maker's data sheet" in strip
    first_margin = strip.index("water left over the limit")
    assert strip.index("No figure below tells of this danger") < first_margin
    assert strip.index("Outside the models' range") < first_margin


def test_a_sound_build_has_no_alarm() -> None:
    for name in ("otter", "wren"):
        solution = shipped_build(name).solution
        assert alarms_html(solution) == "" and warnings_html(solution) == ""
        assert words(strip_html(MARGINS, solution)).startswith(("tight:", "beyond the limit:"))


def test_conditions_that_fail_are_counted_before_the_margins_and_told_in_full_above_their_list() -> None:
    """The strip has room for no prose: what it says of them leads to where they stand."""
    fast = BROKEN.solution
    lines = len({w.validity.otherwise for w in fast.warnings})
    assert lines > 3 and not fast.hazards
    strip, full = strip_html(MARGINS, fast), warnings_html(fast)
    told = f"Outside the models' range: {lines} conditions do not hold . Do not trust figures that need them."
    assert words(strip).startswith(f"{told} beyond the limit:")
    assert not any(w.validity.otherwise in words(strip) for w in fast.warnings)
    assert words(full).startswith("Outside the models' range, so that figures which need this are not to be trusted:")
    assert full.count("<li>") == lines and all(w.validity.otherwise in words(full) for w in fast.warnings)
    jump = re.search(r"data-jump='([^']+)'", strip)
    assert jump is not None and f"data-landing='{jump[1]}'" in full


def test_one_condition_is_counted_as_one() -> None:
    one = OTTER.with_value(running_torque, 2.5).solution
    assert len({w.validity.otherwise for w in one.warnings}) == 1
    assert "1 condition does not hold . Do not trust figures that need it." in words(strip_html(MARGINS, one))


def test_a_danger_is_told_in_full_beside_a_count_of_conditions_and_what_is_printed_tells_all() -> None:
    hot = at(BROKEN, 350).solution
    dangers, outside = (
        [w for w in hot.warnings if w.validity.hazard],
        [w for w in hot.warnings if not w.validity.hazard],
    )
    assert dangers and len(outside) > 3
    strip = words(strip_html(MARGINS, hot))
    assert all(w.validity.otherwise[1:] in strip for w in dangers)  # of a danger it begins the sentence
    assert not any(w.validity.otherwise in strip for w in outside)
    assert all(w.validity.otherwise[1:] in words(alarms_html(hot)) for w in hot.warnings)  # a sheet leads nowhere


@pytest.mark.parametrize("name", usable_rows(plastic))
def test_every_plastic_of_the_table_has_a_limit_and_warns_above_it(name: str) -> None:
    build = read_build(f'format = 1\n[feedstock]\nplastic = "{name}"\n[heating]\nset_temperature = "350 °C"\n')
    limit = read_table("plastics_drying").row(name).si("degradation_temperature")
    assert limit is not None and build.values[degradation_temperature] == limit
    assert words(strip_html(MARGINS, build.solution)).startswith(
        f"Danger: set temperature 350 °C must not exceed the degradation temperature of {limit - 273.15:.0f} °C."
    )
    assert not at(build, limit - 273.15).solution.hazards
    assert at(build, limit - 273.15 + 1).solution.hazards


@pytest.mark.parametrize(
    ("part", "name", "celsius"),
    [("tube", "PTFE", 260), ("tube", "POM", 205), ("break", "PTFE", 260), ("break", "PEEK", 260), ("tube", "PLA", 100)],
)
def test_a_tube_or_break_that_does_not_bear_the_heat_is_a_danger(part: str, name: str, celsius: float) -> None:
    lookup = {"tube": tube_material, "break": break_material}[part]
    build = at(OTTER.with_value(degradation_temperature, 700.0).with_name(lookup, name), celsius)
    with_break = build.with_value(break_length, 0.003)
    told = words(alarms_html(with_break.solution))
    assert told.startswith("Danger:") and "than its material bears" in told and f"set temperature {celsius} °C" in told
    assert ("Danger" in alarms_html(build.solution)) == (part == "tube")  # a break of no length gets no heat
    metal = with_break.with_name(lookup, "stainless steel")
    assert not metal.solution.hazards


@pytest.mark.parametrize("lookup", [nozzle_material, block_material, screw_material], ids=lambda item: item.key)
@pytest.mark.parametrize(("name", "celsius"), [("PLA", 205), ("PTFE", 251), ("POM", 121)])
def test_plastic_in_the_heat_is_a_danger(lookup: Lookup, name: str, celsius: float) -> None:
    part = lookup.key.partition("_")[0]
    hot = at(OTTER.with_value(degradation_temperature, 700.0).with_name(lookup, name), celsius)
    assert f"The {part} is hotter than its material bears" in words(alarms_html(hot.solution))
    assert not at(hot.with_name(lookup, "brass"), celsius).solution.hazards
    cool = at(hot, read_table("materials").row(name).si("highest_temperature") - 273.15)
    assert not any(f"the {part} is" in str(w) for w in cool.solution.hazards)


def test_a_limit_that_is_not_known_is_told() -> None:
    bare = read_build('format = 1\n[heating]\nset_temperature = "350 °C"\n')
    assert words(strip_html(MARGINS, bare.solution)).startswith(
        "Not watched over, since a value is not given: whether the block is hotter than the plastic bears: "
        "give the degradation temperature"
    )
    assert alarms_html(read_build("format = 1\n").solution) == ""


def test_friction_that_runs_away_is_a_danger_and_named_with_both_figures() -> None:
    hard = OTTER.with_value(screw_speed, 100 / 60).with_value(running_torque, 6.0)
    hard = at(hard, 235).with_value(degradation_temperature, 236 + 273.15)
    told = words(alarms_html(hard.solution))
    assert "Danger: melt temperature" in told and "must not exceed the degradation temperature of 236 °C" in told
    assert "turn more slowly" in told


def test_a_chapter_shows_the_danger_above_its_numbers() -> None:
    """Also where none of its numbers follow from the temperature: who moved it must not miss it."""
    shown = words(results_html(at(OTTER, 350), [net_volume]))
    assert shown.startswith(TOO_HOT) and shown.index("V_net") > len(TOO_HOT)
    assert words(results_html(OTTER, [net_volume])).startswith("all room in the bore")


def test_the_danger_stands_beside_the_slider_that_made_it() -> None:
    session = Session(OTTER)
    rows = Sliders(session, [set_temperature, running_torque]).rows
    rows[set_temperature].field.value = "350"
    assert words(rows[set_temperature].noted.said).startswith(TOO_HOT)
    assert rows[running_torque].noted.said == "" == session.message
    rows[set_temperature].field.value = "200"
    assert rows[set_temperature].noted.said == ""


@pytest.mark.slow
def test_the_page_shows_it_at_the_top_and_beside_both_sliders_of_all_values() -> None:
    page = StartPage(OTTER)
    page.more.selected_index = 2
    open_all(page.values)
    page.session.type_value(set_temperature, "350")
    page.finish_waiting()
    assert words(page.strip.value).startswith(TOO_HOT)
    beside = [
        row for group in (page.sliders, *page.values.rest.values()) if isinstance(group, Sliders)
        for q, row in group.rows.items() if q in (set_temperature, degradation_temperature)
    ]  # fmt: skip
    assert len(beside) == 3 and all(words(row.noted.said).startswith(TOO_HOT) for row in beside)
    page.lists.by_item[plastic].value = "PC"
    page.finish_waiting()
    assert "degradation temperature of 320 °C" in page.strip.value
