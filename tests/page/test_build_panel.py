"""Where a build comes from and goes to: what fails is told beside the control that failed, and names are safe."""

import datetime
import os
import time
from pathlib import Path

import pytest
from augerbook.builds.excerpt import excerpt
from augerbook.builds.reader import SIZE_LIMIT
from augerbook.builds.shipped import load_build, shipped_build, shipped_builds
from augerbook.chapters.plate import plate_stress_share
from augerbook.deciding.candidates import changed
from augerbook.head.nozzle import end_correction
from augerbook.head.plate import plate_material, plate_support
from augerbook.head.screw import standard_screw
from augerbook.head.tube import bore_diameter, tube_outside_diameter
from augerbook.page.build_panel import PASTE, UPLOAD, BuildPanel, file_name_fault
from augerbook.page.limits import BUILD_LIMITS
from augerbook.page.session import WORDS, Session
from augerbook.page.shelf import LAST, Shelf


@pytest.fixture
def panel() -> BuildPanel:
    return BuildPanel(Session(shipped_build("otter")))


def uploaded(panel: BuildPanel, content: bytes) -> None:
    now = datetime.datetime.now(tz=datetime.UTC)
    about = {"name": "<b>x</b>.toml", "type": "", "size": len(content), "content": memoryview(content)}
    panel.upload.value = ({**about, "last_modified": now},)


def test_a_paste_that_fails_is_told_beside_the_paste_box(panel: BuildPanel) -> None:
    panel.paste.value = "rubbish <script>"
    panel.load_paste.click()
    assert "is not a TOML build file" in panel.rows[PASTE].said and panel.rows[UPLOAD].said == ""
    assert "<script>" not in panel.rows[PASTE].said and "&lt;script&gt;" in panel.rows[PASTE].said
    panel.paste.value = shipped_build("wren").toml()
    panel.load_paste.click()
    assert panel.rows[PASTE].said == ""


def test_an_empty_paste_and_half_a_build_are_told_in_plain_words(panel: BuildPanel) -> None:
    before = panel._session.build
    panel.load_paste.click()
    assert "Nothing was pasted" in panel.rows[PASTE].said and "format" not in panel.rows[PASTE].said
    panel.paste.value = "\n".join([*shipped_build("wren").toml().splitlines()[:12], "pitch"])
    panel.load_paste.click()
    said = panel.rows[PASTE].said
    plain, line = (said.index(words) for words in ("the text breaks off, or one of its lines", "in the line: pitch"))
    assert plain < line and panel._session.build is before


def test_a_value_that_stands_twice_is_told_as_such(panel: BuildPanel) -> None:
    panel.paste.value = shipped_build("wren").toml().replace("[tube]\n", '[tube]\nbore_diameter = "3 mm"\n')
    panel.load_paste.click()
    said = panel.rows[PASTE].said
    assert "gives a value a second time" in said and "in the line: bore_diameter" in said


@pytest.mark.parametrize(("content", "words"), [(b"\xff\xfe\x00", "is no text file"), (b"x = 1", "yours is unchanged")])
def test_an_upload_that_fails_is_told_beside_the_upload(panel: BuildPanel, content: bytes, words: str) -> None:
    uploaded(panel, content)
    assert words in panel.rows[UPLOAD].said and panel.rows[PASTE].said == "" and "<b>x" not in panel.rows[UPLOAD].said


def test_thousands_of_faults_make_no_page_of_megabytes(panel: BuildPanel) -> None:
    panel.paste.value = "format = 1\n[screw]\n" + "".join(f"k{i} = 1\n" for i in range(6000))
    panel.load_paste.click()
    said = panel.rows[PASTE].said
    assert "6000 faults:" in said and "and 5980 more" in said and len(said) < 20_000


@pytest.mark.parametrize(
    "name", ["con", "CON", "nul.toml", "Aux", "prn.TOML", "com1", "COM9.toml", "lpt1", "LPT0.toml", "con.txt"]
)
def test_names_of_devices_are_refused_on_every_system(
    panel: BuildPanel, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert "names a device" in file_name_fault(name)
    panel.file_name.value = name
    panel.save.click()
    assert "names a device on some systems" in panel.saved.value and list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["", "../x", "a/b", ".hidden", "a b", "x.txt", "<script>", "a" * 70, "x\n", "-x"])
def test_other_names_that_cannot_be_are_refused(name: str) -> None:
    assert "letters, digits" in file_name_fault(name)


@pytest.mark.parametrize("name", ["my_build", "my_build.toml", "console", "com10", "nullo.toml", "0"])
def test_a_build_is_saved_under_an_ordinary_name(
    panel: BuildPanel, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    panel.file_name.value = name
    panel.save.click()
    (path,) = tmp_path.iterdir()
    assert path.name == f"{name.removesuffix('.toml')}.toml" and "saved, in the folder" in panel.saved.value
    assert load_build(path).values[bore_diameter] == pytest.approx(0.008)


@pytest.fixture
def beside(tmp_path: Path) -> BuildPanel:
    """A panel with a folder of its own."""
    return BuildPanel(Session(shipped_build("otter")), Shelf(tmp_path))


# Values that cannot go together


def test_what_clashes_is_not_saved_and_what_is_copied_says_that_it_lacks_it(beside: BuildPanel) -> None:
    session, folder = beside._session, beside._shelf.folder
    session.set_name(standard_screw, "DIN 7998 10")  # wider than the bore
    beside.refresh()
    beside.save.click()
    assert "Not saved: your latest values cannot go together" in beside.saved.value
    assert "major diameter 10.0 mm must be smaller than bore diameter 8.00 mm" in beside.saved.value
    assert list(folder.iterdir()) == []
    assert "Without your latest changes" in beside.behind.value and "7998 10" not in beside.text.text
    session.set_value(tube_outside_diameter, 13.5)
    session.set_value(bore_diameter, 12.0)
    beside.refresh()
    beside.save.click()
    assert beside.behind.value == "" and "7998 10" in beside.text.text
    (path,) = folder.iterdir()
    assert load_build(path).values[bore_diameter] == pytest.approx(0.012)


# A part of a build

PARTS = {
    "format alone": "format = 1\n",
    "no name": 'format = 1\n[tube]\nbore_diameter = "8.4 mm"\n',
    "the same name": 'format = 1\nname = "otter"\n[tube]\nbore_diameter = "8.4 mm"\n',
    "that of the changed one": 'format = 1\nname = "otter, changed"\n[tube]\nbore_diameter = "8.4 mm"\n',
}


@pytest.mark.parametrize("text", PARTS.values(), ids=PARTS)
def test_a_pasted_part_changes_nothing_before_it_is_said_what_is_meant(panel: BuildPanel, text: str) -> None:
    session = panel._session
    before = session.build
    panel.paste.value = "rubbish"
    panel.load_paste.click()
    panel.paste.value = text
    panel.load_paste.click()
    assert session.build is before and not session.can_undo
    assert panel.question.layout.display == "" and "Nothing has changed yet" in panel.asked.value
    assert panel.rows[PASTE].said == "", "what was wrong with the text before is told no longer"
    panel.paste.value = "another text"
    assert panel.question.layout.display == "none", "another text takes the question back"


def test_the_values_of_a_part_go_into_the_build_or_begin_a_new_one(panel: BuildPanel) -> None:
    session = panel._session
    before = session.build
    text = (
        'format = 1\n[tube]\nbore_diameter = "8.4 mm"\n[plate]\nplate_material = "carbon steel"\n'
        'plate_support = "clamped"\n[nozzle]\nend_correction = { nominal = "4", low = "3", high = "5" }\n'
    )
    panel.paste.value = text.replace(
        "clamped", next(k for k in plate_support.options if k != before.choices[plate_support])
    )
    panel.load_paste.click()
    assert "says 4 things; your build <i>otter</i> says" in panel.asked.value
    panel.take_part.click()
    assert panel.question.layout.display == "none"
    assert {one.item for one in changed(before, session.build)} == {
        bore_diameter, plate_material, plate_support, end_correction,
    }  # fmt: skip
    assert session.build.names[plate_material] == "carbon steel" and session.build.ends[end_correction] == (3.0, 5.0)
    assert session.build.name == "otter, changed" and session.build.note == before.note and session.loaded is before
    session.undo()
    assert session.build.toml() == before.toml(), "one step takes all of it back"
    panel.load_paste.click()
    panel.start_new.click()
    assert set(session.build.entries) == {bore_diameter, end_correction} and session.loaded is session.build
    panel.paste.value = PARTS["format alone"]
    panel.load_paste.click()
    assert panel.question.layout.display == "" and "says nothing yet" in panel.asked.value
    panel.take_part.click()
    assert set(session.build.entries) == {bore_diameter, end_correction}


def test_whole_builds_and_those_of_another_name_are_loaded_as_ever(panel: BuildPanel) -> None:
    whole = shipped_build("otter").with_value(bore_diameter, 0.0085)
    for text, bore in (
        (whole.toml(), 8.5),
        ('format = 1\nname = "little"\n[tube]\nbore_diameter = "8.05 mm"\n', 8.05),
        (whole.with_words(name="little").toml(), 8.5),  # larger than what is on the page
    ):
        panel.paste.value = text
        panel.load_paste.click()
        assert panel.question.layout.display == "none"
        assert bore_diameter.shown(panel._session.build.values[bore_diameter]) == pytest.approx(bore)


def test_results_in_a_part_are_told_to_stand_in_place_of_what_is_computed(panel: BuildPanel) -> None:
    panel.paste.value = excerpt(shipped_build("otter"), plate_stress_share).one_line()
    panel.load_paste.click()
    assert "of them in place of what is computed" in panel.asked.value


# Saving


def test_a_file_is_written_over_only_after_a_second_press(beside: BuildPanel, tmp_path: Path) -> None:
    session = beside._session
    beside.save.click()
    before = (tmp_path / "my_build.toml").read_text(encoding="utf-8")
    beside.save.click()
    assert "has this build already" in beside.saved.value and beside.overwrite.layout.display == "none"
    session.set_value(bore_diameter, 8.5)
    beside.save.click()
    assert "There is a my_build.toml already, saved a moment ago. Press Overwrite" in beside.saved.value
    assert beside.overwrite.layout.display == "" and (tmp_path / "my_build.toml").read_text("utf-8") == before
    beside.file_name.value = "other"  # another name takes the question back
    assert beside.overwrite.layout.display == "none" and beside.saved.value == ""
    beside.save.click()
    assert "other.toml: saved" in beside.saved.value
    beside.file_name.value = "my_build"
    beside.save.click()
    beside.overwrite.click()
    assert "replaced the earlier file" in beside.saved.value and beside.overwrite.layout.display == "none"
    assert load_build(tmp_path / "my_build.toml").values[bore_diameter] == pytest.approx(0.0085)


def test_a_file_that_is_no_build_is_not_written_over_unasked_either(beside: BuildPanel, tmp_path: Path) -> None:
    (tmp_path / "my_build.toml").write_bytes(b"\xff my notes")
    beside.save.click()
    assert "Press Overwrite" in beside.saved.value
    assert (tmp_path / "my_build.toml").read_bytes() == b"\xff my notes"


def test_a_folder_that_cannot_be_written_is_told(beside: BuildPanel, tmp_path: Path) -> None:
    (tmp_path / "my_build.toml").mkdir()
    beside.save.click()
    beside.overwrite.click()
    assert "Could not save my_build.toml" in beside.saved.value


def test_a_folder_that_cannot_be_entered_is_told(
    beside: BuildPanel, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stat = Path.stat

    def fails(path: Path, **kind: bool) -> object:
        if path.parent == tmp_path:
            raise PermissionError(13, "Permission denied", str(path))
        return stat(path, **kind)

    monkeypatch.setattr(Path, "stat", fails)
    monkeypatch.setattr(Path, "exists", lambda path: bool(path.stat()))  # asks otherwise in some Pythons
    beside.save.click()
    assert "Could not save my_build.toml: Permission denied" in beside.saved.value


# Saved builds


def test_saved_builds_are_listed_newest_first_and_loaded_by_a_pick(beside: BuildPanel, tmp_path: Path) -> None:
    now = time.time()
    for name, build, age in (("old.toml", "wren", 7300), ("new.toml", "otter", 200), (LAST, "wren", 90_000)):
        shipped_build(build).save(tmp_path / name)
        os.utime(tmp_path / name, (now - age, now - age))
    (tmp_path / ".hidden.toml").write_text("format = 1", encoding="utf-8")
    beside.refresh()
    words = [words for words, _ in beside.mine.options]
    assert words == [
        "choose ...", "new.toml, saved 3 minutes ago", "old.toml, saved 2 hours ago",
        "wren, kept by the page 1 day ago",
    ]  # fmt: skip
    assert beside._session.build.name == "otter"
    beside.mine.value = "old.toml"
    assert beside._session.build.toml() == shipped_build("wren").toml()
    assert beside.file_name.value == "old.toml" and beside.mine.value == ""
    beside.mine.value = LAST
    assert beside.file_name.value == "old.toml", "what the page keeps is no name to save under"


def test_a_saved_file_that_cannot_be_read_is_told_and_nothing_changes(beside: BuildPanel, tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_bytes(b"\xff")
    (tmp_path / "wrong.toml").write_text("x = 1", encoding="utf-8")
    (tmp_path / "gone.toml").write_text("x = 1", encoding="utf-8")
    (tmp_path / "huge.toml").write_text("#" * (SIZE_LIMIT + 1), encoding="utf-8")
    beside.refresh()
    assert "huge.toml" not in [name for _, name in beside.mine.options]
    (tmp_path / "gone.toml").unlink()
    before = beside._session.build
    for name, words in (("bad.toml", "no text file"), ("wrong.toml", "yours is unchanged"), ("gone.toml", "Could not")):
        beside.mine.value = name
        assert words in beside.rows[UPLOAD].said and beside._session.build is before and beside.mine.value == ""


# Words


def test_name_and_note_can_be_edited_and_are_kept_clean(beside: BuildPanel) -> None:
    session = beside._session
    assert beside.name.value == "otter" and beside.note.value.startswith("invented:")
    beside.name.value = "  shed\thead <b>1</b> "
    beside.note.value = "two\nlines"
    assert session.build.name == beside.name.value == "shed head <b>1</b>"
    assert session.build.note == beside.note.value == "two lines"
    beside.name.value = ""
    assert session.build.name == beside.name.value == "unnamed build"
    beside.note.value = "n" * 300
    assert len(session.build.note) == 200 and "first 200 characters were kept" in beside.rows[WORDS].said
    session.load(shipped_build("wren"))
    assert beside.name.value == "wren" and beside.rows[WORDS].said == ""


def test_a_look_at_the_words_changes_nothing(beside: BuildPanel) -> None:
    before = beside._session.build
    beside.refresh()
    beside.name.value = "otter"
    assert beside._session.build is before


# Limits


@pytest.mark.parametrize("name", shipped_builds())
def test_a_build_is_as_long_as_is_said_of_one(name: str) -> None:
    assert 5_000 < len(shipped_build(name).toml()) < 20_000
    assert all("some ten thousand" in said for said in (BUILD_LIMITS.paste, BUILD_LIMITS.file))


def test_too_large_an_upload_is_told_and_not_read(panel: BuildPanel) -> None:
    uploaded(panel, b"x" * (BUILD_LIMITS.uploaded + 1))
    assert "That file is too large: 2.0 MB, and at most 2 MB are taken" in panel.rows[UPLOAD].said
    uploaded(panel, shipped_build("wren").toml().encode())
    assert panel.rows[UPLOAD].said == "" and panel._session.build.name == "wren"


def test_a_paste_of_megabytes_is_refused_by_its_length_alone(
    panel: BuildPanel, monkeypatch: pytest.MonkeyPatch
) -> None:
    def looked_for(text: str) -> str:
        raise AssertionError("a block was looked for in it")

    monkeypatch.setattr("augerbook.builds.reader._block", looked_for)
    panel.paste.value = "```\n" * 1_250_000
    panel.load_paste.click()
    assert "the text has 5000000 characters; a build file has at most 64000" in panel.rows[PASTE].said
    assert not panel.paste.continuous_update, "each key would send all of it once more"
