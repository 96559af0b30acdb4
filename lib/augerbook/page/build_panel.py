"""Load, upload, paste and save a build."""

from __future__ import annotations

import re
from pathlib import Path

import ipywidgets as widgets
from markupsafe import Markup
from traitlets import Bunch

from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.page.controls import message_html, note_html
from augerbook.page.copy_box import CopyBox
from augerbook.page.noted import Noted
from augerbook.page.session import Session

_WIDE = widgets.Layout(width="100%")
_FILE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,60}(\.toml)?")
#: Names of devices, which no file can have on Windows, whatever follows the point.
_DEVICE = re.compile(r"(?i:con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?")
#: What a message of the session may be about here.
UPLOAD, PASTE = "upload", "paste"


def file_name_fault(name: str) -> str:
    """Say why a build cannot be saved under ``name``; empty when it can, on every system."""
    if _DEVICE.fullmatch(name):
        return f"'{name}' names a device on some systems, where no file can have it: take another, such as my_build"
    if not _FILE_NAME.fullmatch(name):
        return "A file name has letters, digits, '-' and '_', such as my_build.toml"
    return ""


class BuildPanel:
    """Where a build comes from and where it goes."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.shipped = widgets.Dropdown(
            options=[("choose ...", ""), *((name, name) for name in shipped_builds())],
            description="shipped builds",
            style={"description_width": "110px"},
        )
        self.upload = widgets.FileUpload(accept=".toml,.md,.txt", multiple=False, description="Upload a build file")
        self.paste = widgets.Textarea(
            placeholder="Paste a build here, or a whole forum post that contains one", rows=8, layout=_WIDE
        )
        self.load_paste = widgets.Button(description="Load the pasted text", layout=widgets.Layout(width="180px"))
        self.file_name = widgets.Text(
            value="my_build.toml", description="save as", layout=widgets.Layout(width="300px")
        )
        self.save = widgets.Button(description="Save beside this page", layout=widgets.Layout(width="180px"))
        self.saved = widgets.HTML()
        self.text = CopyBox("Copy this build")
        self.shipped.observe(self._load_shipped, names="value")
        self.upload.observe(self._load_upload, names="value")
        self.load_paste.on_click(lambda _: session.load_text(self.paste.value, PASTE))
        self.save.on_click(lambda _: self._save())
        self.rows = {UPLOAD: Noted([self.shipped, self.upload]), PASTE: Noted([self.paste, self.load_paste])}
        session.on_change(self._follow)
        self.widget = widgets.VBox(
            [
                self.rows[UPLOAD].widget,
                self.rows[PASTE].widget,
                widgets.HBox([self.file_name, self.save]),
                self.saved,
                self.text.widget,
            ],
            layout=_WIDE,
        )

    def refresh(self) -> None:
        """Show the present build as text."""
        self.text.show(self._session.build.toml())

    def _follow(self) -> None:
        for cause, row in self.rows.items():
            row.say(note_html(self._session, cause))

    def _load_shipped(self, change: Bunch) -> None:
        if change.new:
            self._session.load(shipped_build(change.new))
            self.shipped.value = ""

    def _load_upload(self, change: Bunch) -> None:
        for item in change.new:
            try:
                text = bytes(item["content"]).decode("utf-8")
            except UnicodeDecodeError:
                self._session.tell(f"'{item['name']}' is no text file: a build file is plain text (UTF-8)", UPLOAD)
                return
            self._session.load_text(text, UPLOAD)

    def _save(self) -> None:
        name = self.file_name.value.strip()
        if fault := file_name_fault(name):
            self.saved.value = message_html(fault)
            return
        path = Path.cwd() / (name if name.endswith(".toml") else f"{name}.toml")
        replaces = path.exists()
        try:
            self._session.build.save(path)
        except OSError as error:
            self.saved.value = message_html(f"Could not save {path.name}: {error.strerror}")
            return
        words = "replaced the earlier file" if replaces else "saved"
        self.saved.value = Markup("<div role='status'>{}: {}, in the folder of this page.</div>").format(
            path.name, words
        )
