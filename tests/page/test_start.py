"""The start page without a browser: what it shows follows the session, and nothing it is given makes it raise."""

import asyncio
import datetime
import re
import subprocess
import sys
from functools import cache
from itertools import repeat
from pathlib import Path

import pytest
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.chapters.operating import torque_found
from augerbook.chapters.pictures import all_pictures
from augerbook.core.margin import Margin
from augerbook.core.network import Solution
from augerbook.core.plan import LazyValues, Plan
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.deciding.calibrating import Learning
from augerbook.draw.picture import Picture
from augerbook.head.drive import running_torque
from augerbook.head.screw import core_diameter, pitch, standard_screw
from augerbook.head.tube import bore_diameter, friction_barrel
from augerbook.page import all_values, choosing_panel, example_panel, learning_panel, mending_panel, start
from augerbook.page.chapter import Markdown
from augerbook.page.controls import Lists, Sliders
from augerbook.page.margins_view import Sensitivities, all_margins, margins_html, sensitivities_in_steps
from augerbook.page.shelf import LAST, Shelf
from augerbook.page.start import StartPage, start_page
from augerbook.tables import TableError
from markupsafe import escape

from tests.page.opened import open_all


@cache
def sensitivities(block: str) -> tuple[Sensitivities, ...]:
    return tuple(sensitivities_in_steps(read_build(block), all_margins(whole_head())))


@pytest.fixture(autouse=True)
def _compute_once_what_margins_depend_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Most pages here show one of a few builds; their sensitivities are half of what a page computes."""
    monkeypatch.setattr(start, "sensitivities_in_steps", lambda build, _: iter(sensitivities(build.toml())))


@pytest.fixture
def page() -> StartPage:
    return StartPage(shipped_build("otter"))


def test_a_fault_of_the_handbook_is_told_until_the_page_is_up_to_date_again(
    page: StartPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as broken:
        broken.setattr(page.estimates, "refresh", lambda: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            page.session.set_value(bore_diameter, 8.2)
    assert "kept this page from being brought up to date (ZeroDivisionError)" in page.fault.value
    page.session.set_value(bore_diameter, 8.3)
    assert page.fault.value == ""


def test_values_that_clash_are_told_above_the_margins_of_the_build_before(page: StartPage) -> None:
    page.session.set_value(core_diameter, 7.9)
    assert page.strip.value.index("Without your latest changes") < page.strip.value.index("good")
    page.more.selected_index = start._EXAMPLE
    assert "Without your latest changes" in page.example.behind.value
    before = page.session.wanted
    page.operating._take_over()
    assert page.session.wanted is before and "Nothing was taken over" in page.session.message
    page.session.set_value(core_diameter, 4.0)
    assert "Without your latest changes" not in page.strip.value + page.example.behind.value


def test_every_margin_is_shown_with_its_limit_and_what_it_depends_on(page: StartPage) -> None:
    for margin in all_margins(page.session.build.network):
        assert f"data-margin='{margin.id}'" in page.margins.value
        assert escape(margin.name_in_words) in page.strip.value
    said = page.margins.value.count("depends most on") + page.margins.value.count("Nothing that you can change")
    assert said == len(all_margins(page.session.build.network))
    assert "With the spread of the inputs" in page.margins.value


def test_a_moved_value_reaches_picture_and_margins(page: StartPage) -> None:
    picture, margins = page.pictures.view.value, page.margins.value
    page.session.set_value(bore_diameter, 9.0)
    assert page.pictures.view.value != picture
    page.finish_waiting()
    assert page.margins.value != margins


def test_a_clash_keeps_the_last_possible_picture_and_is_told(page: StartPage) -> None:
    picture = page.pictures.view.value
    page.session.set_value(core_diameter, 7.0)
    assert page.pictures.view.value == picture
    assert "core diameter 7.00 mm must be smaller than major diameter 6.00 mm" in page.message.widget.value


def test_a_picture_that_cannot_be_drawn_leaves_the_last_one_and_says_why(
    page: StartPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = page.pictures.view.value

    def fails(*_: object) -> None:
        raise ValueError("the root was not found, 3 K are left")

    monkeypatch.setattr(Picture, "scene", fails)
    page.session.set_value(bore_diameter, 9.0)
    shown = page.pictures.view.value
    assert "3 K are left" in shown and "As it was last" in shown and shown.endswith(before)


@pytest.mark.slow
@pytest.mark.parametrize("name", shipped_builds())
def test_every_picture_can_be_drawn_for_every_shipped_build(name: str) -> None:
    page = StartPage(shipped_build(name))
    for picture in all_pictures():
        page.pictures.which.value = picture.title
        for variant in page.pictures.variant.options:
            page.pictures.variant.value = variant
            shown = page.pictures.view.value
            assert shown.startswith("<svg"), f"{picture.title}, {variant}: {shown[:300]}"


@pytest.mark.slow
@pytest.mark.parametrize("name", shipped_builds())
@pytest.mark.parametrize("picture", all_pictures(), ids=lambda picture: picture.title)
def test_a_picture_needs_what_it_says_and_no_more(picture: Picture, name: str) -> None:
    """Drawn from a build that holds nothing but what the named quantities follow from, with every one of them named."""
    build, network = shipped_build(name), whole_head()
    used = network.upstream(picture.needs, build.values, build.choices) | set(picture.needs)
    just = network.solve({q: value for q, value in build.values.items() if q in used}, build.choices)
    assert picture.missing(just) == ""
    for variant in picture.variants or ("",):
        assert picture.scene(just, variant).svg()


def test_a_build_to_compare_with_stands_beside(page: StartPage) -> None:
    page.compare.value = "wren"
    assert page.pictures.beside.value.count("<svg") == 1
    assert page.margins.value.count("wren:") == len(all_margins(page.session.build.network))
    page.compare.value = "this build as it is now"
    page.session.set_value(bore_diameter, 9.0)
    page.finish_waiting()
    assert "as it was" in page.margins.value
    page.compare.value = "nothing"
    assert page.pictures.beside.value == ""


@pytest.mark.slow
def test_worked_examples_in_every_form_restore_the_build(page: StartPage) -> None:
    page.more.selected_index = 3
    assert len(page.example.quantity.options) > 100
    for form in page.example.FORMS:
        page.example.form.value = form
        for _, key in page.example.quantity.options[::25]:
            page.example.quantity.value = key
            assert read_build(page.example.box.text).toml() == page.session.build.toml()
            assert re.search(r"[a-z]+\.[a-z_]+:[0-9a-f]{8}", page.example.box.text)


@pytest.mark.slow
def test_the_worked_example_opens_with_the_margin_that_most_needs_a_look(page: StartPage) -> None:
    assert "Nothing to copy yet" in page.example.box.widget.value
    page.more.selected_index = 3
    verdicts = {m.quantity.key: m.verdict(page.session.solution[m.quantity]) for m in all_margins(whole_head())}
    assert verdicts[page.example.quantity.value] == max(
        verdicts.values(), key=("good", "tight", "beyond the limit").index
    )
    assert "Copy this worked example</button>" in page.example.box.widget.value
    assert read_build(page.example.box.text).toml() == page.session.build.toml()
    page.example.quantity.value = "net_volume"
    page.session.set_value(bore_diameter, 9.0)
    page.finish_waiting()
    assert page.example.quantity.value == "net_volume" and "screw.net_volume" in page.example.box.text
    page.session.load(read_build('format = 1\n[tube]\nbore_diameter = "8 mm"'))
    page.finish_waiting()
    assert page.example.quantity.value != "net_volume"
    assert "= 8.00 mm`: diameter of the bore" in page.example.box.text


def test_a_row_that_cannot_be_taken_is_told_beside_its_list(page: StartPage) -> None:
    page.lists.by_item[standard_screw].value = "M12"
    assert "must be smaller than bore diameter 8.00 mm" in page.lists.rows[standard_screw].said
    page.session.set_name(standard_screw, "M66")
    assert "no row" in page.lists.rows[standard_screw].said
    assert all(row.said == "" for item, row in page.lists.rows.items() if item is not standard_screw)
    page.lists.by_item[standard_screw].value = "DIN 7998 6"
    assert page.lists.rows[standard_screw].said == ""


def test_the_hint_to_run_stands_with_the_still_and_not_on_the_live_page(monkeypatch: pytest.MonkeyPatch) -> None:
    shown: list[tuple[object, str]] = []
    monkeypatch.setattr(start, "display_with_still", lambda panel, still, words, begun: shown.append((panel, words)))
    page = start_page()
    assert isinstance(page, StartPage)
    ((panel, words),) = shown
    assert panel is page.widget and words.startswith("**To bring the sliders to life: menu Run, then Run All Cells.**")


def test_a_page_that_is_run_again_says_so_in_the_views_it_leaves_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(start, "display_with_still", lambda *_, **__: None)
    first, second = start_page(), start_page()
    assert isinstance(first, StartPage) and isinstance(second, StartPage)
    first.session.set_value(bore_diameter, 9.0)
    assert "out of date" in first.message.widget.value and "out of date" not in second.message.widget.value


@pytest.mark.slow
def test_a_page_that_was_replaced_writes_nothing_more(tmp_path: Path) -> None:
    old = StartPage(shipped_build("otter"), Shelf(tmp_path, keeps=True))
    old.session.set_value(bore_diameter, 8.6)
    old.retire()
    new = StartPage(shipped_build("otter"), Shelf(tmp_path, keeps=True))
    assert [build.values[bore_diameter] for _, build in new.going_on.offers] == [pytest.approx(8.6e-3)]
    new.session.set_value(bore_diameter, 9.1)
    new.going_on.finish()
    old.session.set_value(pitch, 3.1)
    old.going_on.finish()
    kept = read_build((tmp_path / LAST).read_text(encoding="utf-8"))
    assert kept.values[bore_diameter] == pytest.approx(9.1e-3)
    assert old.widget.children == (old.message.widget,) and "out of date" in old.message.widget.value


@pytest.mark.slow
def test_a_page_that_was_replaced_looks_for_nothing_more(monkeypatch: pytest.MonkeyPatch) -> None:
    page, begun = StartPage(shipped_build("wren")), []
    monkeypatch.setattr(mending_panel, "search", lambda *_: begun.append("changes") or iter(()))
    monkeypatch.setattr(choosing_panel, "asked", lambda *_, **__: begun.append("candidates") or iter(()))
    monkeypatch.setattr(example_panel, "found", lambda *_: begun.append("examples") or [])
    monkeypatch.setattr(all_values, "found", lambda *_: begun.append("values") or [])
    lesson = repeat(Learning(0, 1))
    monkeypatch.setattr(learning_panel, "calibrated_in_steps", lambda *_: begun.append("lessons") or lesson)
    _ = page.values, page.example
    plane = next(fields for kind, fields in page.trials.learning.others.items() if kind.quantity is friction_barrel)
    plane[0].value = "20 deg"

    async def asked_and_replaced(*, replaced: bool) -> None:
        page.mending.request()
        page.next.values[bore_diameter].value += "9 mm; "
        page.next.start()
        page.trials.learning.start()
        page.values.search.value += "a"
        page.example.search.value += "a"
        if replaced:
            page.retire()
        await asyncio.sleep(0.4)

    asyncio.run(asked_and_replaced(replaced=False))
    assert sorted(set(begun)) == ["candidates", "changes", "examples", "lessons", "values"]
    begun.clear()
    asyncio.run(asked_and_replaced(replaced=True))
    assert begun == []


def test_a_rest_brings_the_open_text_of_the_build_up_to_date_once(
    page: StartPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    page.more.selected_index = 1
    refreshed, refresh = [], page.builds.refresh
    monkeypatch.setattr(page.builds, "refresh", lambda: refreshed.append(refresh()))
    page.session.set_value(bore_diameter, 8.5)
    page.finish_waiting()
    assert len(refreshed) == 1 and "8.5 mm" in page.builds.text.text


def test_two_pages_of_one_kernel_hide_nothing_of_each_other() -> None:
    one, other = StartPage(shipped_build("wren")), StartPage(shipped_build("wren"))
    one.mending.widget.layout.display = "none"
    assert other.mending.widget.layout.display != "none"


def test_another_candidate_of_a_name_that_is_listed_is_shown(page: StartPage) -> None:
    one, other = shipped_build("otter").with_value(bore_diameter, 8.4e-3), shipped_build("wren")
    for build in (one, other):
        page.show_beside("DIN 7998 6", build)
        assert page.pictures.other == ("DIN 7998 6", build)


@pytest.mark.slow
def test_torque_and_speed_of_the_operating_point_can_be_taken_over(page: StartPage) -> None:
    assert "running torque 0.859 N·m, screw speed 18.9 1/min, hard heat share" in page.operating.found.value
    page.session.set_value(running_torque, 0.4)
    page.finish_waiting()
    assert not page.operating.take.disabled
    page.operating.take.click()
    page.finish_waiting()
    at_rest = page.session.build
    assert at_rest.solution[torque_found] == pytest.approx(1, rel=1e-3)
    assert page.sliders.rows[running_torque].slider.value == pytest.approx(at_rest.values[running_torque])
    assert "as assumed" in page.operating.found.value and page.operating.take.disabled
    page.session.set_value(friction_barrel, 0.05)
    page.finish_waiting()
    assert "no operating point" in page.operating.found.value and page.operating.take.disabled


def test_everything_a_build_may_contain_is_one_click_away(page: StartPage) -> None:
    page.more.selected_index = 2
    network = page.session.build.network
    open_all(page.values)
    sliders = {q for group in page.values.rest.values() if isinstance(group, Sliders) for q in group.rows}
    lists = {item for group in page.values.rest.values() if isinstance(group, Lists) for item in group.rows}
    assert sliders == set(network.inputs)
    assert lists == {*network.choices.values(), *network.lookups.values()}


def test_a_missing_table_is_named_in_place_of_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> None:
        raise TableError("data/tables/screws.csv is missing")

    monkeypatch.setattr(start, "shipped_build", missing)
    answer = start_page()
    assert isinstance(answer, Markdown)
    assert "screws.csv is missing" in answer.text


def test_a_margin_whose_limit_is_zero_has_a_bar() -> None:
    quantity = Quantity("reach", "x", "mm", "a distance")
    margin = Margin("made.up", quantity, 15.0, 0.0, "why", "advice", Source("judgement"))
    for shown in (-20.0, 0.0, 7.0, 15.0, 40.0):
        solution = Solution(
            whole_head(), {}, LazyValues(Plan((), frozenset(), {}, ()), {quantity: shown / 1000}), frozenset(), (), {}
        )
        assert "<svg" in margins_html([margin], solution, Sensitivities())


@pytest.mark.parametrize(
    ("content", "said"), [(None, ""), (b"\xff\xfe\x00", "is no text file"), (b"x = 1", "unchanged")]
)
def test_an_uploaded_file_is_loaded_or_explained(page: StartPage, content: bytes | None, said: str) -> None:
    sent = shipped_build("wren").toml().encode() if content is None else content
    now = datetime.datetime.now(tz=datetime.UTC)
    about = {"name": "mine.toml", "type": "", "size": len(sent), "content": memoryview(sent), "last_modified": now}
    for _ in range(2):  # the same file once more is read once more
        page.session.load(shipped_build("otter"))
        page.builds.upload.value = (about,)
        assert page.session.build.name == ("otter" if said else "wren")
    assert said in page.session.message


@pytest.mark.slow
def test_the_first_picture_waits_for_no_matplotlib() -> None:
    """In a process of its own: what another test has imported would hide it."""
    lines = (
        "import sys",
        "from augerbook import book",
        "solution = book.shipped_build('otter').solution",
        "values = dict(solution.values)",
        "assert book.all_pictures()[0].scene(solution).svg().startswith('<svg')",
        "print([name for name in sys.modules if name.partition('.')[0] == 'matplotlib'])",
    )
    ran = subprocess.run([sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
