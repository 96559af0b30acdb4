"""Load, upload, paste, name and save a build, and read tables of one's own."""

from __future__ import annotations

import re
import time
from pathlib import Path

import ipywidgets as widgets
from markupsafe import Markup
from traitlets import Bunch

from augerbook.builds.build import Build
from augerbook.builds.own_rows import OwnTables, own_file, own_header, tables_looked_up
from augerbook.builds.partial import given_count, may_be_part, with_part
from augerbook.builds.reader import MOST_TOLD, BuildError
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.page.alarms import behind_html
from augerbook.page.controls import message_html, note_html
from augerbook.page.copy_box import CopyBox
from augerbook.page.in_sight import InSight
from augerbook.page.limits import BUILD_LIMITS, browser_limits
from augerbook.page.noted import Noted
from augerbook.page.plain import Button, Html
from augerbook.page.session import WORDS, Session
from augerbook.page.shelf import Shelf, ago
from augerbook.page.uploads import on_upload, uploaded_text

_WIDE = widgets.Layout(width="100%")
_ROW = widgets.Layout(width="100%", flex_flow="row wrap", align_items="center")
#: A field has a border and margins that count beside its width.
_FIELD = widgets.Layout(width="calc(100% - 4px)")
_LABEL = {"description_width": "60px"}
_CHOOSE = "choose ..."
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

    def __init__(self, session: Session, shelf: Shelf | None = None) -> None:
        self._session, self._shelf = session, shelf or Shelf()
        self.shipped = widgets.Dropdown(
            options=[(_CHOOSE, ""), *((name, name) for name in shipped_builds())],
            description="shipped builds",
            style={"description_width": "110px"},
        )
        self.mine = widgets.Dropdown(
            options=[(_CHOOSE, "")], description="saved builds", style={"description_width": "110px"},
            tooltip="Builds that lie beside this page, the newest first", layout=widgets.Layout(width="420px"),
        )  # fmt: skip
        self.upload = widgets.FileUpload(accept=".toml,.md,.txt", multiple=False, description="Upload a build file",
                                         layout=widgets.Layout(width="auto"))  # fmt: skip
        # Sent when it is left, not with every key: a long post goes to the kernel once.
        self.paste = widgets.Textarea(
            placeholder="Paste a build here, or a whole forum post that contains one", rows=8, layout=_FIELD,
            continuous_update=False,
        )  # fmt: skip
        self.load_paste = Button(description="Load the pasted text", layout=widgets.Layout(width="180px"))
        self.asked = Html(layout=_WIDE)
        self.take_part = Button(description="Take these values into my build", layout=widgets.Layout(width="auto"))
        self.start_new = Button(description="Start a new build from them", layout=widgets.Layout(width="auto"))
        self.question = widgets.VBox(
            [self.asked, widgets.HBox([self.take_part, self.start_new], layout=_ROW)],
            layout=widgets.Layout(width="100%", display="none"),
        )
        self._part: Build | None = None
        self._sight = InSight()
        self.name = widgets.Text(
            description="name", continuous_update=False, style=_LABEL, layout=widgets.Layout(width="320px"),
            placeholder="what you call this build",
        )  # fmt: skip
        self.note = widgets.Text(
            description="note", continuous_update=False, style=_LABEL, layout=widgets.Layout(flex="1 1 320px"),
            placeholder="one line about it, for whoever reads it in a post",
        )  # fmt: skip
        self.file_name = widgets.Text(
            value="my_build.toml", description="save as", layout=widgets.Layout(width="300px")
        )
        self.save = Button(description="Save beside this page", layout=widgets.Layout(width="180px"))
        self.overwrite = Button(description="Overwrite", layout=widgets.Layout(width="110px", display="none"))
        self.saved = Html(layout=_WIDE)
        self._told_of: Build | None = None
        self.own = Html(layout=_WIDE)
        self.read_own = Button(
            description="Read my tables again", tooltip="After a change of the files beside this page",
            layout=widgets.Layout(width="180px"),
        )  # fmt: skip
        self.behind = Html(layout=_WIDE)
        self.text = CopyBox("Copy this build")
        self._quiet = False
        self.shipped.observe(self._load_shipped, names="value")
        self.mine.observe(self._load_mine, names="value")
        on_upload(self.upload, self._load_upload)
        self.load_paste.on_click(lambda _: self._load_paste())
        self.paste.observe(lambda _: self._ask_what(None), names="value")
        self.take_part.on_click(lambda _: self._mean(into_mine=True))
        self.start_new.on_click(lambda _: self._mean(into_mine=False))
        self.name.observe(lambda change: self._worded(name=change.new), names="value")
        self.note.observe(lambda change: self._worded(note=change.new), names="value")
        self.file_name.observe(lambda _: self._ask(""), names="value")
        self.save.on_click(lambda _: self._save())
        self.overwrite.on_click(lambda _: self._save(replacing=True))
        self.read_own.on_click(lambda _: self.take_own())
        self.rows = {
            UPLOAD: Noted([self.shipped, self.mine, self.upload]),
            PASTE: Noted([self.paste, self.load_paste]),
            WORDS: Noted([self.name, self.note]),
        }
        self._follow()
        session.on_change(self._follow)
        self.show_own()
        self.widget = widgets.VBox(
            [
                self.rows[UPLOAD].widget,
                self.rows[PASTE].widget,
                self.question,
                browser_limits(BUILD_LIMITS),
                self.rows[WORDS].widget,
                widgets.HBox([self.file_name, self.save, self.overwrite], layout=_ROW),
                self.saved,
                self.behind,
                self.text.widget,
                self.own,
                self.read_own,
                self._sight.widget,
            ],
            layout=_WIDE,
        )

    def refresh(self) -> None:
        """Show the present build as text, and the builds that lie beside the page."""
        self.behind.value = behind_html(self._session)
        self.text.show(self._session.build.toml())
        self.list_saved()

    def list_saved(self) -> None:
        """List the builds beside the page, the newest first."""
        options = [(_CHOOSE, ""), *((one.in_words(), one.path.name) for one in self._shelf.saved())]
        if tuple(self.mine.options) != tuple(options):
            self._quiet = True
            try:
                self.mine.options = options
                self.mine.value = ""
            finally:
                self._quiet = False

    def take_own(self) -> None:
        """Read the tables of the maker's own again; what is wrong with them is told."""
        tables = self._shelf.own_tables(self._session.build)
        self._session.take_own(tables.rows)
        self.show_own(tables)

    def show_own(self, tables: OwnTables | None = None) -> None:
        """Say which tables of the maker's own there are, with their faults, and how one is made."""
        self.own.value = own_tables_html(tables or self._shelf.own_tables(self._session.build), self._session.build)

    def _follow(self) -> None:
        if self._told_of is not None and self._session.build is not self._told_of:
            self._told_of, self.saved.value = None, ""  # what was saved is no longer what is on the page
        for cause, row in self.rows.items():
            row.say(note_html(self._session, cause))
        self._quiet = True
        try:
            self.name.value, self.note.value = self._session.wanted.name, self._session.wanted.note
        finally:
            self._quiet = False

    def _worded(self, name: str | None = None, note: str | None = None) -> None:
        if not self._quiet:
            self._session.set_words(name=name, note=note)
            self._follow()  # as it is kept, also where that is as it was

    def _load_shipped(self, change: Bunch) -> None:
        if change.new:
            self._session.load(shipped_build(change.new))
            self.shipped.value = ""
            self._sight.keep()

    def _load_mine(self, change: Bunch) -> None:
        if self._quiet or not change.new:
            return
        name = str(change.new)
        try:
            loaded = self._session.load_text(self._shelf.read(name), UPLOAD)
        except BuildError as error:
            self._session.tell("\n".join(error.told), UPLOAD)
        except OSError as error:
            self._session.tell(f"Could not read {name}: {error.strerror}", UPLOAD)
        else:
            if loaded:
                self._sight.keep()
            if loaded and not name.startswith("."):
                self.file_name.value = name
        self.mine.value = ""

    def _load_upload(self, name: str, content: bytes) -> None:
        try:
            text = uploaded_text(name, content, BUILD_LIMITS)
        except ValueError as error:
            self._session.tell(str(error), UPLOAD)
        else:
            if self._session.load_text(text, UPLOAD):
                self._sight.keep()

    def _load_paste(self) -> None:
        """Load what was pasted; where it may be a part of the build on the page, ask first, and change nothing."""
        self._ask_what(None)
        if not self.paste.value.strip():
            self._session.tell("Nothing was pasted. Put a build, or a post that has one, into the field first.", PASTE)
            return
        build = self._session.read_text(self.paste.value, PASTE)
        if build is not None and may_be_part(build, self._session.wanted):
            self._session.take(self._session.wanted, PASTE)  # what was wrong with an earlier text is told no longer
            self._ask_what(build)
        elif build is not None:
            self._session.load(build, PASTE)
            self._sight.keep()

    def _ask_what(self, part: Build | None) -> None:
        """Ask what is meant by a part of a build, or take the question back."""
        self._part = part
        self.question.layout.display = "none" if part is None else ""
        self.asked.value = "" if part is None else _question_html(part, self._session.wanted)

    def _mean(self, *, into_mine: bool) -> None:
        part = self._part
        self._ask_what(None)
        if part is None:
            return
        if into_mine:
            self._session.take(with_part(self._session.wanted, part), PASTE)
        else:
            self._session.load(part, PASTE)
        self._sight.keep()

    def _ask(self, message: str) -> None:
        """Ask before a file is written over, or take the question back."""
        self.overwrite.layout.display = "" if message else "none"
        self.saved.value = message_html(message) if message else ""

    def _save(self, *, replacing: bool = False) -> None:
        name = self.file_name.value.strip()
        self._ask("")
        if self._session.clashing:
            first = "Not saved: your latest values cannot go together. Change one of them, then save."
            self.saved.value = message_html("\n".join([first, *self._session.wanted.clashes()]))
            return
        if fault := file_name_fault(name):
            self.saved.value = message_html(fault)
            return
        name = name if name.endswith(".toml") else f"{name}.toml"
        try:
            self._save_as(name, replacing=replacing)
        except OSError as error:  # of a folder that cannot be entered no one may ask whether the file is there
            self.saved.value = message_html(f"Could not save {name}: {error.strerror or error}")

    def _save_as(self, name: str, *, replacing: bool) -> None:
        path = self._shelf.folder / name
        there = path.exists()
        if there and not replacing:
            if _holds(path, self._session.build.toml()):
                self._say(path, "has this build already")
            else:
                when = ago(time.time() - path.stat().st_mtime)
                self._ask(
                    f"There is a {path.name} already, saved {when}. Press Overwrite to replace it with this build, "
                    "or save under another name."
                )
            return
        self._session.build.save(path)
        self._say(path, "replaced the earlier file" if there else "saved")
        self.list_saved()

    def _say(self, path: Path, words: str) -> None:
        self._told_of = self._session.build
        self.saved.value = Markup("<div role='status'>{}: {}, in the folder of this page.</div>").format(
            path.name, words
        )


def _holds(path: Path, text: str) -> bool:
    try:
        return path.read_bytes() == text.encode()
    except OSError:
        return False


def _question_html(part: Build, build: Build) -> Markup:
    """Ask whether a part of a build goes into the one on the page, or begins a new one."""
    few, many = given_count(part), given_count(build)
    said = "says nothing yet" if not few else f"says {few} thing{'' if few == 1 else 's'}"
    results = sum(not quantity.part for quantity in part.entries)
    computed = f", {results} of them in place of what is computed" if results else ""
    return Markup(
        "<div role='status'>This text {}{}; your build <i>{}</i> says {}. Nothing has changed yet. What is meant?</div>"
    ).format(said, computed, build.name, many)


def own_tables_html(tables: OwnTables, build: Build) -> Markup:
    """Say which tables of the maker's own there are, what is wrong with them, and how one is made."""
    lines = [
        Markup("<div>{}: {}</div>").format(name, f"{len(rows)} taken, {', '.join(rows)}" if rows else "nothing taken")
        for name, rows in tables.files.items()
    ]
    if tables.faults:
        lines.append(message_html("\n".join(["In your own tables:", *tables.faults[:MOST_TOLD]])))
    headers = Markup().join(
        Markup("<p style='margin:4px 0'>{}</p><code style='white-space:pre-wrap'>{}</code>").format(
            own_file(table), own_header(table)
        )
        for table in tables_looked_up(build.network)
    )
    how = Markup(
        "<details><summary>Screws, bearings and materials of your own</summary><p style='margin:4px 0'>Put a file of "
        "one of these names beside this page, begin it with the line below its name, and write a line for each "
        "part: its name, then its figures, nothing where one is not known. Your rows stand in the lists, marked "
        "<i>own</i>. A build that has one carries its figures, so that others can load it without your "
        "file.</p>{}</details>"
    ).format(headers)
    return Markup("<div style='line-height:1.4;margin-top:8px'>{}{}</div>").format(Markup().join(lines), how)
