"""The worked example of any computed quantity, to copy."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.page.alarms import behind_html
from augerbook.page.cite import worked
from augerbook.page.copy_box import CopyBox
from augerbook.page.deferred import Deferred
from augerbook.page.plain import Html
from augerbook.page.searching import found
from augerbook.page.session import Session
from augerbook.page.worst_first import worst_first

_WIDE = widgets.Layout(width="100%")
#: A field has a border and margins that count beside its width.
_FIELD = widgets.Layout(width="calc(100% - 4px)")
_LABEL = {"description_width": "80px"}
_ROW = widgets.Layout(width="100%", flex_flow="row wrap")


class ExamplePanel:
    """The worked example of any computed quantity, to copy."""

    #: What a form is called on the page, and in `core.example`.
    FORMS: ClassVar[dict[str, str]] = {"Markdown": "markdown", "BBCode": "bbcode", "plain text": "text"}

    def __init__(self, session: Session) -> None:
        self._session = session
        self.search = widgets.Text(
            description="search", placeholder="words of its name or meaning, or its symbol", style=_LABEL,
            layout=_FIELD,
        )  # fmt: skip
        self.count = Html()
        self.quantity = widgets.Dropdown(description="work out", style=_LABEL, layout=_FIELD)
        self.form = widgets.ToggleButtons(options=list(self.FORMS), style={"button_width": "auto"})
        self.short = widgets.Checkbox(
            value=False, description="five lines, with the values of the last step only", indent=False,
            layout=widgets.Layout(width="auto"),
        )  # fmt: skip
        self.chain = widgets.Checkbox(
            description="all steps from the given values on", indent=False, layout=widgets.Layout(width="auto")
        )
        self.behind = Html(layout=_WIDE)
        self.box = CopyBox("Copy this worked example", rows=18)
        self._searching = Deferred(self.refresh)
        self.search.observe(lambda _: self._searching.request(), names="value")
        for widget in (self.quantity, self.form, self.short, self.chain):
            widget.observe(lambda _: self.refresh(), names="value")
        forms = widgets.HBox([self.form, self.short, self.chain], layout=_ROW)
        self.widget = widgets.VBox(
            [self.search, self.count, self.quantity, forms, self.behind, self.box.widget],
            layout=_WIDE,
        )
        self._keys: tuple[str, ...] = ()

    def retire(self) -> None:
        """Search no more."""
        self._searching.drop()

    def refresh(self) -> None:
        """Work the chosen quantity out again."""
        self.behind.value = behind_html(self._session)
        solution = self._session.solution
        computed = tuple(q for q in self._session.build.network.quantities.values() if q in solution.values
                         and q not in solution.given)  # fmt: skip
        listed = tuple(found(self.search.value, computed))
        self._say(len(listed), len(computed))
        listed = listed or computed
        keys = tuple(q.key for q in listed)
        if keys != self._keys:
            self._keys, chosen = keys, self.quantity.value
            self.quantity.options = [(f"{q.meaning} ({q.plain_notation})", q.key) for q in listed]
            # What was looked for comes first; without a search the margin that most needs a look.
            first = keys[0] if self.search.value.strip() and keys else self._first(keys)
            self.quantity.value = chosen if chosen in keys else first
        if self.quantity.value is None:
            self.box.show("")
            return
        example = worked(
            self._session.build.network.quantities[self.quantity.value], self._session.build,
            whole_chain=self.chain.value,
        )  # fmt: skip
        if self.short.value:
            self.box.show(example.short(self.FORMS[self.form.value]))
            return
        forms: dict[str, Callable[[], str]] = {
            "markdown": example.markdown,
            "bbcode": example.bbcode,
            "text": example.text,
        }
        self.box.show(forms[self.FORMS[self.form.value]]())

    def _say(self, count: int, total: int) -> None:
        if not self.search.value.strip():
            words = ""
        elif count:
            words = f"{count} of {total}"
        else:
            words = f"nothing is called '{self.search.value.strip():.40}': all {total} are listed"
        self.count.value = (
            Markup("<span role='status' style='margin-left:84px'>{}</span>").format(words) if words else ""
        )

    def _first(self, keys: tuple[str, ...]) -> str | None:
        """Return what to begin with: the margin that most needs a look, or the first that follows from a value."""
        network, solution = self._session.build.network, self._session.solution
        watched = [m for m in network.margins.values() if m.quantity.key in keys]
        verdicts = {m.id: m.verdict(solution.get(m.quantity)) for m in watched}
        follow = (key for key in keys if network.producer[network.quantities[key]].inputs)
        worst = next(iter(worst_first(watched, solution, verdicts)), None)
        return worst.quantity.key if worst else next(follow, next(iter(keys), None))
