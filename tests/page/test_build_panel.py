"""Where a build comes from and goes to: what fails is told beside the control that failed, and names are safe."""

import datetime
from pathlib import Path

import pytest
from augerbook.builds.shipped import load_build, shipped_build
from augerbook.head.tube import bore_diameter
from augerbook.page.build_panel import PASTE, UPLOAD, BuildPanel, file_name_fault
from augerbook.page.session import Session


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
    panel.save.click()
    assert "replaced the earlier file" in panel.saved.value
