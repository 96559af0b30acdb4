"""Goes on where one left off: offers the builds of the last time, and keeps a copy of what one works at."""

from __future__ import annotations

import time

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.builds.named import is_shipped
from augerbook.page.deferred import Deferred
from augerbook.page.plain import Button, Html
from augerbook.page.session import Session
from augerbook.page.shelf import LAST, Saved, Shelf, ago

#: Seconds without a change after which the copy is written.
_AT_REST = 1.0
_BUTTON = widgets.Layout(width="auto", max_width="100%")


class GoingOn:
    """A line with a button for each build that may be gone on with; nothing is loaded before it is pressed.

    Attributes:
        offers: what is offered, the newest first.
        widget: the line; not shown where there is nothing to offer and nothing to say.
    """

    def __init__(self, session: Session, shelf: Shelf) -> None:
        self._session, self._shelf = session, shelf
        self._begun_with = session.build
        self.offers = self._found() if shelf.keeps else []
        self.buttons = [self._button(saved, build) for saved, build in self.offers]
        self.dismiss = Button(
            description="Not now", tooltip="They stay in the list of saved builds, under Your build", layout=_BUTTON
        )
        self.dismiss.on_click(lambda _: self._done())
        self.said = Html()
        self._told = False
        line = [*self.buttons, self.dismiss] if self.buttons else []
        self._line = widgets.HBox(line, layout=widgets.Layout(flex_flow="row wrap"))
        self.widget = widgets.VBox([self._line, self.said], layout=widgets.Layout(width="100%"))
        self._show()
        self._keeping = Deferred(self._keep, _AT_REST)
        if shelf.keeps:
            session.on_change(self._keeping.request)
            session.on_change(self._gone_on)

    def finish(self) -> None:
        """Write at once what waits to be written."""
        self._keeping.finish()

    def _found(self) -> list[tuple[Saved, Build]]:
        """Return the newest saved file and all that the page kept, each once, where they are not what it shows."""
        listed = self._shelf.saved()
        named = [one for one in listed if not one.by_itself]
        offers: list[tuple[Saved, Build]] = []
        for saved in (*named[:1], *(one for one in listed if one.by_itself)):
            build = self._shelf.build(saved)
            if build is not None and build not in (self._begun_with, *(other for _, other in offers)):
                offers.append((saved, build))
        return sorted(offers, key=lambda offer: -offer[0].at)

    def _button(self, saved: Saved, build: Build) -> widgets.Button:
        when = ago(time.time() - saved.at)
        if not saved.by_itself:
            words = f"Go on with {saved.path.name}, saved {when}"
        elif saved.path.name == LAST:
            words = f"Go on where you left off: {build.name:.40}, {when}"
        else:
            words = f"Go on with what you left before: {build.name:.40}, {when}"
        button = Button(description=words, tooltip=f"{build.name}: {build.note}".strip(": "), layout=_BUTTON)
        button.on_click(lambda _: self._load(build))
        return button

    def _load(self, build: Build) -> None:
        self._done()
        self._session.load(build)

    def _gone_on(self) -> None:
        """Who has loaded another build does not go on with these; they stay in the list of saved builds."""
        if self._line.children and self._session.loaded is not self._begun_with:
            self._done()

    def _done(self) -> None:
        self._line.children = []
        self._show()

    def _show(self) -> None:
        self.widget.layout.display = "" if self._line.children or self.said.value else "none"

    def _keep(self) -> None:
        build = self._session.build
        if build is self._begun_with or is_shipped(build):
            return
        try:
            self._shelf.keep(build, self._session.loaded)
        except OSError as error:
            if not self._told:
                self._told = True
                self.said.value = Markup(
                    "<div role='status'>No copy of your build can be kept beside this page ({}). Save or copy it "
                    "before you leave.</div>"
                ).format(error.strerror or "the folder cannot be written")
                self._show()
