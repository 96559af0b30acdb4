"""All that a trial is on the start page: which to make, its plan, its weighings, and what the build learns from it."""

from __future__ import annotations

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.core.margin import Margin
from augerbook.page.learning_panel import LearningPanel
from augerbook.page.plain import Html
from augerbook.page.planning_panel import PlanningPanel
from augerbook.page.session import Session
from augerbook.page.trials_panel import TrialsPanel

_WIDE = widgets.Layout(width="100%")


class TrialsDesk:
    """Four steps below each other. ``widget`` is what is shown."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.planning = PlanningPanel(session)
        self.reading = TrialsPanel()
        self.learning = LearningPanel(session)
        self.reading.on_read(self.learning.follow)
        self.widget = widgets.VBox(
            [
                _heading("Which trial tells most"),
                self.planning.asking,
                _heading("Plan the weighings"),
                self.planning.planning,
                _heading("Read the weighings"),
                self.reading.widget,
                _heading("Let the build learn"),
                self.learning.widget,
            ],
            layout=_WIDE,
        )

    def ask_for(self, margin: Margin) -> None:
        """Ask which trial would narrow the spread of a margin."""
        self.planning.ask_for(margin)

    def retire(self) -> None:
        """Leave what the build is learning for good."""
        self.learning.retire()

    def refresh(self) -> None:
        """Bring what follows from the build up to date."""
        self.planning.refresh()
        self.reading.follow(self._session.build)


def _heading(words: str) -> widgets.HTML:
    return Html(Markup("<h2 style='margin:14px 0 4px;font-size:15px'>{}</h2>").format(words), layout=_WIDE)
