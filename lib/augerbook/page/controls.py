"""Sliders, lists and message lines bound to a `Session`."""

from __future__ import annotations

from collections.abc import Sequence

import ipywidgets as widgets
from markupsafe import Markup
from traitlets import Bunch

from augerbook.builds.build import row_in_words
from augerbook.builds.own_rows import rows_offered
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.page.alarms import hazard_html
from augerbook.page.colours import NOTICE
from augerbook.page.estimated_view import mark_html
from augerbook.page.keyboard import for_the_keyboard
from augerbook.page.noted import Noted
from augerbook.page.plain import Html
from augerbook.page.session import Cause, Session
from augerbook.page.value_row import ValueRow

_WIDE = widgets.Layout(width="100%")
#: A list has a border and margins that count beside its width.
_WIDE_LIST = widgets.Layout(width="calc(100% - 4px)")
_LABEL = {"description_width": "212px"}
#: Of a list whose rows say more than so many characters, which would be cut beside a label as wide as that of a slider.
_NARROW_LABEL, _MOST_BESIDE = {"description_width": "104px"}, 24
#: What a list shows while values stand in place of a row of its table, or none, as may be picked too; while one of a
#: row's was changed; while nothing was chosen.
_OWN, _ABSENT, _CHANGED, _NONE = "(own values)", "(not given)", "(changed)", "(not chosen)"
#: Stands behind a row of the maker's own.
_MARK_OF_OWN = ", own"


class Sliders:
    """Sliders for some inputs of a session, each with a field beside it, kept in step with it; with spreads if wanted.

    Attributes:
        rows: slider, field and note of each quantity.
        box: all of them, one below the other.
    """

    def __init__(self, session: Session, quantities: Sequence[Quantity], *, spreads: bool = False) -> None:
        self._session = session
        spread_typed = session.type_spread if spreads else None
        self.rows = {q: ValueRow(q, session.set_value, session.type_value, spread_typed) for q in quantities}
        # Of the dangers only those that given values alone tell: a slider must not wait for what is computed.
        self._hazards = [
            (warned, beside)
            for warned in session.build.network.hazards
            if all(q.low is not None for q in warned.validity.quantities)
            and (beside := [q for q in warned.validity.quantities if q in self.rows])
        ]
        self._follow()
        session.on_change(self._follow)
        self.box = widgets.VBox([*(row.noted.widget for row in self.rows.values()), for_the_keyboard()], layout=_WIDE)

    def _follow(self) -> None:
        values, ends = self._session.wanted.values, self._session.wanted.ends
        dangers = dict.fromkeys(self.rows, "")
        for warned, beside in self._hazards:
            if warned.fails(values):
                dangers |= {q: dangers[q] + hazard_html(warned, values) for q in beside}
        for quantity, row in self.rows.items():
            row.show(values.get(quantity), ends.get(quantity))
            marked = mark_html(self._session.wanted, quantity)
            row.noted.say(note_html(self._session, quantity) + dangers[quantity] + marked)


class Lists:
    """Drop-down lists for the choices and the table look-ups of a part of the head.

    Attributes:
        by_item: the list of each choice and look-up.
        rows: the same with room for a note.
        box: all of them, one below the other.
    """

    def __init__(self, session: Session, items: Sequence[Choice | Lookup]) -> None:
        self._session = session
        self._quiet = False
        self._own = session.own
        self._names = {item: self._offered(item) for item in items}
        self.by_item = {item: self._list(item) for item in items}
        self.rows = {item: Noted([widget]) for item, widget in self.by_item.items()}
        self._follow()
        for item, widget in self.by_item.items():
            widget.observe(lambda change, i=item: self._picked(i, change), names="value")
        session.on_change(self._follow)
        self.box = widgets.VBox([row.widget for row in self.rows.values()], layout=_WIDE)

    def _offered(self, item: Choice | Lookup) -> dict[str, str]:
        """Return what can be picked: the names as they are stored, each with what the list shows."""
        if isinstance(item, Choice):
            return {option: option for option in item.options}
        own = self._session.own.get(item, {})
        return {
            name: row_in_words(item, row) + (_MARK_OF_OWN if name in own else "")
            for name, row in rows_offered(item, self._session.own).items()
        }

    def _options(
        self, item: Choice | Lookup, above: str | None = None
    ) -> tuple[str, ...] | tuple[tuple[str, str], ...]:
        """Return the options of a list; what is shown but cannot be picked stands above the rest."""
        top = [] if above is None else [above]
        if isinstance(item, Lookup):
            top.append(_ABSENT)
        shown = {words: words for words in top} | self._names[item]
        plain = all(name == words for name, words in shown.items())
        return tuple(shown) if plain else tuple((words, name) for name, words in shown.items())

    def _list(self, item: Choice | Lookup) -> widgets.Dropdown:
        return widgets.Dropdown(
            options=self._options(item),
            description=item.name_in_words,
            tooltip=item.meaning,
            style=_LABEL if max(map(len, self._names[item].values()), default=0) <= _MOST_BESIDE else _NARROW_LABEL,
            layout=_WIDE_LIST,
        )

    def _picked(self, item: Choice | Lookup, change: Bunch) -> None:
        if self._quiet:
            return
        if isinstance(item, Lookup) and change.new == _ABSENT:
            self._session.leave_out(item)
            return
        if change.new not in self._names[item]:
            return
        if isinstance(item, Choice):
            self._session.set_choice(item, change.new)
        else:
            self._session.set_name(item, change.new)

    def _follow(self) -> None:
        self._quiet = True
        if self._own is not self._session.own:
            self._own = self._session.own
            self._names = {item: self._offered(item) for item in self.by_item}
        try:
            for item, widget in self.by_item.items():
                shown = self._shown(item)
                options = self._options(item, None if shown in self._names[item] else shown)
                if tuple(widget.options) != options:
                    widget.options = options
                widget.value = shown
                self.rows[item].say(note_html(self._session, item) + mark_html(self._session.wanted, item))
        finally:
            self._quiet = False

    def _shown(self, item: Choice | Lookup) -> str:
        wanted = self._session.wanted
        if isinstance(item, Choice):
            return wanted.choices.get(item, _NONE)
        if item not in wanted.names:
            own = self._session.own.get(item, {})
            row_of_own = next((name for name, row in own.items() if wanted.has_row(item, row)), None)
            return row_of_own or (_OWN if wanted.says_any(item) else _ABSENT)
        return f"{wanted.names[item]} {_CHANGED}" if wanted.leaves_row(item) else wanted.names[item]


class MessageLine:
    """One place on the page that says what is wrong, read aloud by screen readers when it changes."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._retired = ""
        self.widget = Html(layout=_WIDE)
        session.on_change(self.refresh)
        self.refresh()

    def retire(self, message: str) -> None:
        """Show one message from now on, whatever the session says."""
        self._retired = message
        self.refresh()

    def refresh(self) -> None:
        """Show the session's message."""
        self.widget.value = message_html(self._retired or self._session.message)


def note_html(session: Session, cause: Cause) -> Markup:
    """Return the session's message as HTML where ``cause`` is what it is about; empty elsewhere.

    The line above is read aloud, and this one is not read once more.
    """
    return _words_html(session.message) if session.message and session.about is cause else Markup()


def message_html(message: str) -> Markup:
    """Return a message as HTML, read aloud when it changes."""
    return Markup('<div role="status">{}</div>').format(_words_html(message))


def _words_html(message: str) -> Markup:
    """Return a message as HTML: its first line as heading, the rest as a list."""
    if not message:
        return Markup()
    first, *rest = message.splitlines()
    items = Markup().join(Markup("<li>{}</li>").format(line) for line in rest)
    body = Markup("<ul style='margin:4px 0 0 18px;padding:0'>{}</ul>").format(items) if rest else ""
    return Markup("<div style='{}'><b>{}</b>{}</div>").format(NOTICE, first, body)
