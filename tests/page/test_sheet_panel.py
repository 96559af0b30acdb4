"""The page to print: everything on it is the build's own, whatever is missing or typed."""

import pytest
from augerbook.builds.estimates import estimated, with_estimates
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.core.margin import Verdict
from augerbook.deciding.ranking import margins_of_head
from augerbook.head.bearing import bearing, dynamic_rating
from augerbook.head.heating import set_temperature
from augerbook.head.screw import standard_screw
from augerbook.head.tube import bore_diameter, break_length
from augerbook.page.bench_drawing import bench_drawing
from augerbook.page.cite import cite
from augerbook.page.margins_view import valued
from augerbook.page.parts_list import PARTS, parts_of
from augerbook.page.sheet_panel import sheet_html
from augerbook.page.start import StartPage
from augerbook.page.worst_first import worst_first
from markupsafe import escape

from tests.builds.seven import SEVEN


@pytest.mark.parametrize("name", shipped_builds())
def test_drawing_parts_margins_sources_and_cautions_stand_on_it(name: str) -> None:
    build = shipped_build(name)
    sheet = sheet_html(build)
    assert "<svg" in sheet and build.names[standard_screw] in sheet and "certification" in sheet
    for margin in margins_of_head(build.network):
        if margin.quantity in build.solution.values:
            assert f"<td>{margin.id}</td>" in sheet and escape(build.solution.text(margin.quantity)) in sheet


def test_parts_are_called_as_the_trade_calls_them() -> None:
    build = shipped_build("wren")
    parts = {name: (called, sizes) for name, called, sizes in parts_of(build)}
    assert parts["Thrust bearing"] == (
        "624, deep groove", "bearing bore 4 mm, bearing outside diameter 13 mm, bearing width 5 mm"
    )  # fmt: skip
    assert "Thermal break" not in parts
    longer = {row[0]: row[2] for row in parts_of(build.with_value(break_length, 0.01))}
    assert longer["Thermal break"].startswith("length of thermal break 10 mm")
    assert "624 (with figures of its own), deep groove" in [
        row[1] for row in parts_of(build.with_value(dynamic_rating, 900.0))
    ]
    assert parts_of(read_build("format = 1")) == []
    listed = [item for part in PARTS for item in part.items]
    assert len(listed) == len(set(listed)) and bearing in listed


def test_what_nobody_measured_is_marked_on_the_sheet() -> None:
    filled = with_estimates(read_build(SEVEN))
    sheet = sheet_html(filled)
    assert f"<b>{len(estimated(filled))} values and kinds of this build are estimated" in sheet
    assert sheet.index("are estimated") < sheet.index("<h2>Parts</h2>")
    parts = {name: (called, sizes) for name, called, sizes in parts_of(filled)}
    assert "(estimated)" in parts["Thrust bearing"][0] and "(estimated)" in parts["To set"][1]
    assert parts["Screw"][0].startswith("DIN 7998 6,") and "bore diameter 8 mm," in parts["Tube"][1]
    assert "estimated: nobody" not in sheet_html(shipped_build("otter"))
    assert "(estimated)" not in sheet_html(shipped_build("otter"))


def test_a_danger_comes_before_the_margins_and_nothing_typed_is_run() -> None:
    build = shipped_build("otter").with_value(set_temperature, 623.15)
    sheet = sheet_html(build)
    assert sheet.index("Danger: set temperature") < sheet.index("Margins")
    named = read_build('format = 1\nname = "<img src=x onerror=alert(1)>"\n[tube]\nbore_diameter = "8 mm"')
    sheet = sheet_html(named)
    assert "<img" not in sheet and "bore_diameter" not in sheet and "needs" in sheet


def test_the_sizes_for_the_bench_stand_on_the_drawing_as_the_build_has_them() -> None:
    scene, lacking = bench_drawing(shipped_build("otter").with_value(bore_diameter, 0.00825))
    assert scene is not None and lacking == []
    written = scene.svg()
    for words in (
        "bore Ø 8.25 mm", "screw Ø 6 mm", "core Ø 4.2 mm", "pitch 2.6 mm", "tube Ø 10 mm", "tube length 64 mm",
        "heated 14 mm", "nozzle Ø 0.6 mm", "thick 5 mm", "span 60 mm", "over tip 1.12 mm", "51100",
    ):  # fmt: skip
        assert f">{words}<" in written, words
    for words in ("bore 8.25 mm", "tube length 64 mm", "nozzle 0.6 mm", "plate span 60 mm"):
        assert words in scene.alt


def test_what_can_be_drawn_is_drawn_and_of_the_rest_is_said_what_it_needs() -> None:
    screw = read_build(
        "format = 1\n[tube]\nbore_diameter = '8 mm'\n[screw]\nstandard_screw = 'DIN 7998 6'\ncrest_width = '0.5 mm'"
    )
    scene, lacking = bench_drawing(screw)
    assert scene is not None and ">bore Ø 8 mm<" in scene.svg() and "tube length" not in scene.svg()
    assert [line.split(":")[0] for line in lacking] == ["The head is not drawn", "The bearing plate is not drawn"]
    assert bench_drawing(read_build("format = 1"))[0] is None
    guessed, _ = bench_drawing(with_estimates(read_build(SEVEN)))
    assert guessed is not None and ">tube length ≈ " in guessed.svg() and ">bore Ø 8 mm<" in guessed.svg()
    assert "≈ stands before" in sheet_html(with_estimates(read_build(SEVEN)))


@pytest.mark.parametrize("name", shipped_builds())
def test_margins_are_the_worst_first_with_limit_and_verdict_and_a_source_each(name: str) -> None:
    build = shipped_build(name)
    sheet = str(sheet_html(build))  # text: old Markup escapes what it is asked for
    known = [m for m in margins_of_head(build.network) if m.quantity in build.solution.values]
    verdicts = {m.id: verdict for m in known for _, verdict in [valued(build, [m])[m.id]]}
    order = [m.id for m in worst_first(known, build.solution, verdicts)]
    assert sorted(order, key=lambda id_: sheet.index(f"<td>{id_}</td>")) == order
    fails = [m for m in known if verdicts[m.id] is Verdict.FAILS]
    assert order[: len(fails)] == [m.id for m in sorted(fails, key=lambda m: m.slack(build.solution[m.quantity]))]
    front, _, behind = sheet.partition("<div class='side'>")
    for margin in known:
        good, limit = margin.bounds()
        assert f"<td>{good}</td><td>{limit}</td>" in behind and escape(cite(margin.source)) in behind
    assert all(escape(m.name_in_words) in front for m in fails) and "certification" in front


@pytest.mark.slow
def test_the_page_makes_it_when_it_is_opened_and_again_when_the_build_rests() -> None:
    page = StartPage(shipped_build("otter"))
    page.more.selected_index = list(page.more.titles).index("Sheet to print")
    assert "Print head otter" in page.sheet.view.value
    page.session.load(shipped_build("wren"))
    page.finish_waiting()
    assert "Print head wren" in page.sheet.view.value
