"""The pictures of all chapters, one at a time, and beside it that of a build to compare with."""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup
from traitlets import Bunch

from augerbook.builds.build import Build
from augerbook.chapters.pictures import all_pictures
from augerbook.page.live_html import live_html
from augerbook.page.session import Session

_WIDE = widgets.Layout(width="100%")


class PicturePanel:
    """The pictures of all chapters, one at a time, with their variants."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._pictures = {picture.title: picture for picture in all_pictures()}
        self.which = widgets.Dropdown(
            options=list(self._pictures), description="picture", style={"description_width": "56px"},
            layout=widgets.Layout(width="340px"),
        )  # fmt: skip
        self.variant = widgets.ToggleButtons(options=[""], style={"button_width": "auto"})
        self.view = live_html()
        self.beside = live_html()
        self.other: tuple[str, Build] | None = None
        self._last: dict[tuple[str, str, str], Markup] = {}
        self.which.observe(self._switched, names="value")
        self.variant.observe(lambda _: self.refresh(), names="value")
        above = widgets.HBox([self.which, self.variant], layout=widgets.Layout(flex_flow="row wrap", width="100%"))
        self.widget = widgets.VBox([above, self.view, self.beside], layout=_WIDE)
        self._switched(None)

    def _switched(self, _: Bunch | None) -> None:
        variants = self._pictures[self.which.value].variants
        self.variant.layout.display = "" if variants else "none"
        self.variant.options = variants or ("",)
        self.refresh()

    def refresh(self) -> None:
        """Draw the chosen picture anew, and under it that of the build to compare with."""
        self.view.value = self._draw(self._session.build, "")
        if self.other is None:
            self.beside.value = ""
        else:
            name, build = self.other
            words = Markup("<p style='margin:8px 0 2px'>To compare, <b>{}</b>:</p>").format(name)
            self.beside.value = words + self._draw(build, name)

    def _draw(self, build: Build, whose: str) -> Markup:
        picture = self._pictures[self.which.value]
        if lacking := picture.missing(build.solution):
            return Markup("<p>{}: {}.</p>").format(picture.title, lacking)
        shown = (whose, picture.title, self.variant.value or "")
        try:
            self._last[shown] = Markup(picture.scene(build.solution, self.variant.value or "").svg())
        except ValueError as error:
            told = Markup("<p>{} cannot be drawn at these values: {}.</p>").format(picture.title, error)
            if shown in self._last:
                told += Markup("<p>As it was last:</p>{}").format(self._last[shown])
            return told
        return self._last[shown]
