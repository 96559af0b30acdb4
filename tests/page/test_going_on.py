"""Going on where one left off: offered and never loaded unasked, kept a moment after a change, told once if not."""

import os
import time
from pathlib import Path

import pytest
from augerbook.builds.own_rows import own_file
from augerbook.builds.shipped import load_build, shipped_build
from augerbook.head.screw import standard_screw
from augerbook.head.tube import bore_diameter
from augerbook.page.going_on import GoingOn
from augerbook.page.session import Session
from augerbook.page.shelf import EARLIER, KEPT, LAST, Shelf, ago
from augerbook.page.start import StartPage

HEAD = "name,major_diameter [mm],core_diameter [mm],pitch [mm],flank_half_angle [deg],crest_width [mm]"


def begun(folder: Path) -> tuple[Session, GoingOn]:
    """The page's session and line as they are after the kernel has begun anew."""
    session = Session(shipped_build("otter"))
    return session, GoingOn(session, Shelf(folder, keeps=True))


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(-9, "a moment ago"), (59, "a moment ago"), (60, "1 minute ago"), (185, "3 minutes ago"), (3600, "1 hour ago"),
     (86_399, "23 hours ago"), (86_400, "1 day ago"), (9e5, "10 days ago")],
)  # fmt: skip
def test_times_are_said_as_one_says_them(seconds: float, words: str) -> None:
    assert ago(seconds) == words


def test_nothing_is_offered_where_nothing_lies_and_nothing_is_written_by_looking(tmp_path: Path) -> None:
    session, line = begun(tmp_path)
    assert line.offers == [] and line.widget.layout.display == "none"
    session.load(shipped_build("wren"))
    session.load(shipped_build("otter"))
    session.tell("something")
    line.finish()
    assert list(tmp_path.iterdir()) == []


def test_what_was_changed_is_offered_after_a_restart_and_one_press_brings_it_back(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.set_value(bore_diameter, 8.5)
    changed = session.build.toml()
    assert load_build(tmp_path / LAST).toml() == changed
    again, line = begun(tmp_path)
    assert again.build.toml() == shipped_build("otter").toml(), "nothing is loaded unasked"
    (button,) = line.buttons
    assert button.description == "Go on where you left off: otter, changed, a moment ago"
    assert line.widget.layout.display == ""
    button.click()
    assert again.build.toml() == changed and line.widget.layout.display == "none"


def test_who_loads_another_build_does_not_go_on_with_the_last_one(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.set_value(bore_diameter, 8.5)
    again, line = begun(tmp_path)
    again.set_value(bore_diameter, 8.2)
    assert line.widget.layout.display == "", "a value that is tried leaves the offer"
    again.load(shipped_build("wren"))
    assert line.widget.layout.display == "none"


def test_the_last_saved_file_is_offered_by_name_and_age(tmp_path: Path) -> None:
    shipped_build("wren").save(tmp_path / "my_build.toml")
    os.utime(tmp_path / "my_build.toml", (time.time() - 190, time.time() - 190))
    session, line = begun(tmp_path)
    (button,) = line.buttons
    assert button.description == "Go on with my_build.toml, saved 3 minutes ago"
    line.dismiss.click()
    assert line.widget.layout.display == "none" and session.build.name == "otter"
    session, line = begun(tmp_path)
    session.set_value(bore_diameter, 8.5)
    _, line = begun(tmp_path)
    assert [button.description.split(":")[0] for button in line.buttons] == [
        "Go on where you left off", "Go on with my_build.toml, saved 3 minutes ago",
    ]  # fmt: skip


def test_one_build_is_offered_once(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.set_value(bore_diameter, 8.5)
    session.build.save(tmp_path / "my_build.toml")
    _, line = begun(tmp_path)
    assert [button.description for button in line.buttons] == ["Go on with my_build.toml, saved a moment ago"]
    shipped_build("otter").save(tmp_path / "my_build.toml")  # which the page shows already
    _, line = begun(tmp_path)
    assert len(line.buttons) == 1 and "left off" in line.buttons[0].description


def test_the_build_of_the_time_before_is_set_aside_once(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.set_value(bore_diameter, 8.5)
    first = session.build.toml()
    session, line = begun(tmp_path)
    session.set_value(bore_diameter, 9.0)
    session.set_value(bore_diameter, 9.5)
    assert load_build(tmp_path / EARLIER).toml() == first
    assert load_build(tmp_path / LAST).values[bore_diameter] == pytest.approx(0.0095)
    line.buttons[0].click()  # what was offered is still there, whatever was done meanwhile
    assert session.build.toml() == first


def kept(folder: Path) -> list[float]:
    """The bores (mm) of what the page has kept, the newest first."""
    return [
        round(bore_diameter.shown(load_build(folder / name).values[bore_diameter]), 6)
        for name in KEPT
        if (folder / name).exists()
    ]


def test_the_last_five_are_kept_and_offered_newest_first_each_with_its_time(tmp_path: Path) -> None:
    bores = (8.3, 8.4, 8.5, 8.6, 8.7, 8.8)
    for hours, bore in enumerate(bores):
        session, _ = begun(tmp_path)
        session.set_value(bore_diameter, bore)
        at = time.time() - 3600 * (len(bores) - hours) - 60
        os.utime(tmp_path / LAST, (at, at))
    assert kept(tmp_path) == [8.8, 8.7, 8.6, 8.5, 8.4]
    _, line = begun(tmp_path)
    assert [bore_diameter.shown(build.values[bore_diameter]) for _, build in line.offers] == pytest.approx(
        [8.8, 8.7, 8.6, 8.5, 8.4]
    )
    assert [button.description for button in line.buttons] == [
        "Go on where you left off: otter, changed, 1 hour ago",
        *(f"Go on with what you left before: otter, changed, {hours} hours ago" for hours in (2, 3, 4, 5)),
    ]
    assert [one.in_words() for one in Shelf(tmp_path).saved()] == [
        "otter, changed, kept by the page 1 hour ago",
        *(f"otter, changed, kept by the page {hours} hours ago" for hours in (2, 3, 4, 5)),
    ]  # fmt: skip


def test_nothing_is_kept_twice(tmp_path: Path) -> None:
    for bore in (8.4, 8.5, 8.6):
        session, _ = begun(tmp_path)
        session.set_value(bore_diameter, bore)
    session, line = begun(tmp_path)
    line.buttons[2].click()  # the oldest, gone on with: it is the newest now, and there once
    assert kept(tmp_path) == [8.4, 8.6, 8.5]
    session.set_value(bore_diameter, 8.8)
    assert kept(tmp_path) == [8.8, 8.6, 8.5]
    session.build.save(tmp_path / "mine.toml")
    session, _ = begun(tmp_path)
    session.set_value(bore_diameter, 8.9)
    assert kept(tmp_path) == [8.9, 8.6, 8.5], "what was saved under a name needs no other copy"


def test_two_pages_over_one_folder_keep_both_what_they_show(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.set_value(bore_diameter, 8.3)
    one, _ = begun(tmp_path)
    other, _ = begun(tmp_path)
    for bore in (8.4, 8.5, 8.6, 8.7):
        one.set_value(bore_diameter, bore)
        other.set_value(bore_diameter, bore + 1)
    assert kept(tmp_path) == [9.7, 8.7, 8.3], "the last of each, and nothing on the way there"
    one.set_value(bore_diameter, 8.8)
    assert kept(tmp_path) == [8.8, 9.7, 8.3]
    other.load(shipped_build("wren"))
    other.set_value(bore_diameter, 5.2)
    assert kept(tmp_path) == [5.2, 8.8, 9.7, 8.3], "what it left for another build is one worked at before"


def test_what_one_worked_at_is_kept_where_another_build_is_loaded(tmp_path: Path) -> None:
    session, _ = begun(tmp_path)
    session.set_value(bore_diameter, 8.4)
    session.load(shipped_build("wren"))
    assert kept(tmp_path) == [8.4]
    session.set_value(bore_diameter, 5.2)
    session.set_value(bore_diameter, 5.3)
    assert kept(tmp_path) == [5.3, 8.4]
    session.undo()  # both moves of the slider, then the load
    session.undo()
    assert session.build.values[bore_diameter] == pytest.approx(0.0084) and kept(tmp_path) == [8.4, 5.3]


def test_going_on_sets_nothing_aside_before_something_changes(tmp_path: Path) -> None:
    for bore in (8.5, 9.0):
        session, _ = begun(tmp_path)
        session.set_value(bore_diameter, bore)
    earlier, last = ((tmp_path / name).read_text("utf-8") for name in (EARLIER, LAST))
    session, line = begun(tmp_path)
    line.buttons[0].click()
    assert [(tmp_path / name).read_text("utf-8") for name in (EARLIER, LAST)] == [earlier, last]


def test_what_cannot_be_read_is_not_offered(tmp_path: Path) -> None:
    (tmp_path / LAST).write_text("x = 1", encoding="utf-8")
    (tmp_path / "my_build.toml").write_bytes(b"\xff")
    _, line = begun(tmp_path)
    assert line.offers == []


ODD = {
    "a number of too many digits": "format = 0x" + "F" * 5000,
    "tables in tables": "x = " + "[" * 5000 + "]" * 5000,
    "a key of too many parts": "a." * 3000 + "a = 1",
    "another file": "[tool]\nname = 3\n",
}


@pytest.mark.parametrize("text", ODD.values(), ids=ODD)
def test_whatever_lies_beside_the_page_can_be_listed_and_is_not_offered(tmp_path: Path, text: str) -> None:
    for name in ("notes.toml", LAST):
        (tmp_path / name).write_text(text, encoding="utf-8")
    _, line = begun(tmp_path)
    assert line.offers == []
    listed = sorted(one.in_words() for one in Shelf(tmp_path).saved())
    assert listed == ["a build without a name, kept by the page a moment ago", "notes.toml, saved a moment ago"]


def test_a_folder_that_cannot_be_written_is_told_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session, line = begun(tmp_path)
    tries = []

    def fails(*_: object) -> None:
        tries.append(1)
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Shelf, "keep", fails)
    session.set_value(bore_diameter, 8.5)
    assert "No copy of your build can be kept beside this page (Permission denied)" in line.said.value
    assert session.message == "" and line.widget.layout.display == ""
    line.said.value = ""
    session.set_value(bore_diameter, 9.0)
    assert line.said.value == "" and len(tries) == 2


@pytest.mark.slow
def test_a_page_without_a_shelf_of_its_own_keeps_and_offers_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shipped_build("wren").save(tmp_path / LAST)
    page = StartPage(shipped_build("otter"))
    page.session.set_value(bore_diameter, 8.5)
    page.finish_waiting()
    assert page.going_on.offers == [] and load_build(tmp_path / LAST).name == "wren"


@pytest.mark.slow
def test_own_screws_stand_in_every_list_of_the_page(tmp_path: Path) -> None:
    (tmp_path / own_file("screws")).write_text(f"{HEAD}\nshed screw,6.1,4.1,2.7,30,0.1\nbad,6,x,1,30,0.1\n", "utf-8")
    page = StartPage(shipped_build("otter"), Shelf(tmp_path, keeps=True))
    assert "my_screws.csv, line 3, column 'core_diameter': found 'x'" in page.session.message
    assert page.session.build is not None and page.session.build.name == "otter"
    top = page.lists.by_item[standard_screw]
    assert ("shed screw, own", "shed screw") in top.options and top.value == "DIN 7998 6"
    top.value = "shed screw"
    assert top.label == "shed screw, own" and page.session.message == ""
    page.more.selected_index = 2
    page.values.make("screw")
    assert page.values.rest["screw lists"].by_item[standard_screw].label == "shed screw, own"
    assert ("shed screw, own", "shed screw") in page.next.screws.options
    page.next.screws.value = ("shed screw", "M6")
    options, own, faults = page.next.options()
    assert sorted(options[standard_screw]) == ["M6", "shed screw"] and "shed screw" in own and faults == []
    page.session.set_name(standard_screw, "M6")
    assert top.value == "M6"
    page.session.load_text(page.session.build.toml().replace("M6", "DIN 7998 6"))
    (tmp_path / own_file("screws")).write_text(f"{HEAD}\nother,6.1,4.1,2.7,30,0.1\n", "utf-8")
    page.builds.read_own.click()
    assert "other" in page.builds.own.value and ("other, own", "other") in top.options
    assert not any("shed" in words for words, _ in top.options) and top.value == "DIN 7998 6"
    assert "other, own" in dict(page.next.screws.options)
