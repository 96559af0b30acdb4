"""What cannot both be true is told: plastic and melt, screw and tube, line and nozzle."""

import pytest
from augerbook.builds.contradictions import contradictions, polymer
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.core.quantity import Quantity
from augerbook.head.feedstock import plastic
from augerbook.head.nozzle import nozzle_diameter
from augerbook.head.plastic import melt_data
from augerbook.head.printing import line_width
from augerbook.head.screw import flighted_length
from augerbook.head.tube import tube_length
from augerbook.page.alarms import contradictions_html
from augerbook.page.start import StartPage
from augerbook.tables import read_table


@pytest.mark.parametrize("name", shipped_builds())
def test_shipped_builds_contradict_themselves_nowhere(name: str) -> None:
    build = shipped_build(name)
    assert contradictions(build) == [] and contradictions_html(build) == ""
    told = " ".join(str(warned) for warned in build.solution.warnings)
    assert "the flights end inside" not in told and "the line is narrower" not in told


def test_granules_of_one_plastic_and_melt_of_another_are_told_first() -> None:
    build = shipped_build("otter").with_name(melt_data, "ABS MG47")
    (told,) = contradictions(build)
    assert told.startswith("the granules are PLA, and the melt data are those of ABS MG47")
    page = StartPage(build)
    assert page.strip.value.startswith("<div class='contradiction'")
    assert contradictions(build.with_name(plastic, "ABS")) == []
    assert contradictions(build.with_name(plastic, "PLA pellets").with_name(melt_data, "PLA measured")) == []


def test_names_of_both_tables_begin_with_the_polymer() -> None:
    dried, melted = ({polymer(name) for name in read_table(table).rows} for table in ("plastics_drying", "melts"))
    assert {"PLA", "ABS", "PS", "PP"} <= dried & melted
    assert all(name.isupper() or name == "PA6" for name in dried | melted)


@pytest.mark.parametrize(
    ("quantity", "over", "words"),
    [
        (flighted_length, tube_length, "the flights end inside the tube"),
        (line_width, nozzle_diameter, "the line is narrower than the nozzle is wide"),
    ],
)
def test_lengths_that_do_not_go_together_are_told_just_beyond(quantity: Quantity, over: Quantity, words: str) -> None:
    build = shipped_build("otter")
    for share, expected in ((0.999, True), (1.001, False)):
        solution = build.with_value(quantity, share * build.values[over]).solution
        assert any(words in str(warned) for warned in solution.warnings) is expected
