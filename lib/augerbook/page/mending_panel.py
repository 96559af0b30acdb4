"""Mend a margin: what to change for it, computed, with what that costs elsewhere; tried and taken back by one click."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator, Sequence

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.builds.estimates import to_be_asked
from augerbook.builds.named import named_honestly
from augerbook.core.margin import Margin, Verdict
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.deciding.changes import Found, Offer, levers_of, measured_behind, search
from augerbook.deciding.ranking import margins_of_head
from augerbook.page.choosing_panel import troubled
from augerbook.page.colours import FAINT, QUIET
from augerbook.page.controls import Lists, Sliders
from augerbook.page.deferred import Deferred
from augerbook.page.jumps import MENDING
from augerbook.page.margins_view import Sensitivities, judged
from augerbook.page.plain import Button, Html
from augerbook.page.session import Session
from augerbook.page.worst_first import worst_first

_WIDE = widgets.Layout(width="100%")
_AUTO = widgets.Layout(width="auto", flex="0 0 auto")
_ROW = widgets.Layout(width="100%", align_items="flex-start")
_TEXT = widgets.Layout(flex="1 1 auto", width="auto", min_width="0")
#: Changes that are offered for a margin, and values and margins that are named in one sentence.
_MOST, _NAMED = 3, 4
#: What a margin lacks is asked for here up to so many fields.
_FIELDS = 6

Item = Quantity | Choice | Lookup | Series


class MendingPanel:
    """The margin to mend, up to three changes that better it, and ways on. ``widget`` is what is shown."""

    def __init__(self, session: Session, *, find: Callable[[Margin], None], narrow: Callable[[Margin], None]) -> None:
        self._session = session
        self.trouble = widgets.Dropdown(
            options=[], description="mend", style={"description_width": "50px"},
            layout=widgets.Layout(width="auto", flex="1 1 260px", min_width="0"),
        )  # fmt: skip
        self.find = Button(
            description="Find candidates",
            tooltip="Open the panel below with screws and values that may better this margin",
            layout=_AUTO,
        )
        self.narrow = Button(
            description="Find the trial that narrows it",
            tooltip="Open the panel below with what each trial would leave of the spread of this margin",
            layout=_AUTO,
        )
        self.said = Html(layout=_WIDE)
        self.fields = widgets.VBox(layout=_WIDE)
        self._made: dict[object, widgets.Widget] = {}
        self.offers: tuple[Offer, ...] = ()
        self.texts = [Html(layout=_TEXT) for _ in range(_MOST)]
        self.tries = [Button(description="Try it", layout=_AUTO) for _ in range(_MOST)]
        pairs = zip(self.tries, self.texts, strict=True)
        self.rows = [widgets.HBox([button, text], layout=_hidden()) for button, text in pairs]
        self.told = Html(layout=_TEXT)
        self.back = Button(description="Take it back", layout=_AUTO)
        self._tried: Build | None = None
        self._of: Build | None = None
        self._gone_on: Build | None = None
        self._without_levers: dict[object, bool] = {}
        self._stale = True
        self._refreshing = False
        self._searching = Deferred(self._steps, 0.05)
        self.find.on_click(lambda _: self._for_margin(find))
        self.narrow.on_click(lambda _: self._for_margin(narrow))
        self.trouble.observe(lambda _: self._picked(), names="value")
        for place, button in enumerate(self.tries):
            button.on_click(lambda _, at=place: self.take(at))
        self.back.on_click(lambda _: self.take_back())
        self._back_row = widgets.HBox([self.back, self.told], layout=_hidden())
        session.on_change(self._changed)
        self.widget = widgets.VBox(
            [
                Html("<b>Mend a margin</b>"),
                widgets.HBox([self.trouble, self.find, self.narrow], layout=widgets.Layout(flex_flow="row wrap")),
                self._back_row,
                self.said,
                self.fields,
                *self.rows,
            ],
            layout=widgets.Layout(width="100%"),  # of its own: what is hidden is this panel alone
        )
        self.widget.add_class(MENDING)

    # -- which margin

    @property
    def margin(self) -> Margin | None:
        """The margin to mend; none where all are good."""
        return self._session.build.network.margins.get(self.trouble.value or "")

    def refresh(self, depends: Sensitivities) -> None:
        """Offer the margins in the order in which they are listed, the worst first; then those that nothing moves.

        Last come those that cannot be computed yet: what they lack can be typed here.
        After a change was tried it goes on to the worst that is left.
        """
        build = self._session.build
        doubtful = [margin for margin in margins_of_head(build.network) if depends.in_doubt(margin, build.solution)]
        bad = [*troubled(build), *doubtful]
        verdicts = {m.id: judged(m, build.solution, depends) for m in bad}
        bad = sorted(worst_first(bad, build.solution, verdicts), key=self._moves_nothing)
        bad += [margin for margin in margins_of_head(build.network) if self._lacks(margin)]
        found = {m.name_in_words: m.id for m in bad}
        chosen = self.trouble.value if self._session.loaded is self._of else None
        if self._session.wanted is self._tried and self._tried is not self._gone_on:
            self._gone_on = self._tried
            margin = self.margin
            if margin is not None and margin.verdict(build.solution.get(margin.quantity)) is not Verdict.FAILS:
                chosen = None
        if tuple(self.trouble.options) != tuple(found.items()) or chosen != self.trouble.value:
            self._refreshing = True
            try:
                self.trouble.options = tuple(found.items())
                self.trouble.value = chosen if chosen in found.values() else next(iter(found.values()), None)
            finally:
                self._refreshing = False
        self._of = self._session.loaded
        hidden = not found and self._tried is None and not self._session.clashing
        self.widget.layout.display = "none" if hidden else ""

    def _picked(self) -> None:
        if not self._refreshing:
            self._gone_on = self._tried  # who picks a margin is not led on to another
        self.request()

    def _moves_nothing(self, margin: Margin) -> bool:
        """Whether nothing that can be changed moves a margin; the same for all values of the same inputs."""
        build = self._session.build
        key = (margin.id, frozenset(build.values), frozenset(build.ends), frozenset(build.choices.items()))
        if key not in self._without_levers:
            self._without_levers[key] = not levers_of(build, margin)
        return self._without_levers[key]

    def _lacks(self, margin: Margin) -> bool:
        return margin.quantity not in self._session.build.solution.values

    def _for_margin(self, action: Callable[[Margin], None]) -> None:
        if self.margin is not None:
            action(self.margin)

    # -- what to change

    def request(self) -> None:
        """Look for changes as soon as there is time; where no event loop runs they wait to be asked for."""
        self._stale = True
        try:
            asyncio.get_running_loop()
        except RuntimeError:
            return
        self._searching.request()

    def finish(self) -> None:
        """Look for changes at once, to the end."""
        self._searching.drop()
        if self._stale:
            for _ in self._steps():
                pass

    def retire(self) -> None:
        """Look for nothing any more."""
        self._searching.drop()

    def _changed(self) -> None:
        self._searching.drop()
        self._stale = True
        for button in self.tries:
            button.disabled = True  # what they would put in place of the build comes from another one
        if self._session.wanted is not self._tried:
            self._tried = None
            self._back_row.layout.display = "none"

    def _steps(self) -> Iterator[None]:
        build, margin = self._session.build, self.margin
        self._stale = False
        if self._session.clashing:
            self._say("Values that cannot go together come first: change one of these. Then changes are looked for.")
            self._put((), self._session.wanted.clashing())
            return
        if margin is None:
            self._show(None)
            return
        if self._lacks(margin):
            self._ask_for(margin)
            return
        self._say(f"Looking for what betters the {margin.name_in_words} ...")
        for found in search(build, margin, margins_of_head(build.network), _MOST):
            if found is not None:
                self._show(found)
            yield

    def _ask_for(self, margin: Margin) -> None:
        """Offer fields for what a margin lacks: all of it where it is little, else what only the maker can say."""
        build = self._session.build
        lacking: Sequence[Item] = build.solution.lacking(margin.quantity)
        words = ", ".join(item.name_in_words for item in lacking[:_FIELDS])
        rest = len(lacking) - _FIELDS
        if rest > 0:
            words += f" and {rest} more. Much of it can be estimated: see the panel Start from few values"
            lacking = to_be_asked(build, build.solution.missing[margin.quantity])[:_FIELDS]
        self._say(f"The {margin.name_in_words} cannot be computed yet: it needs {words}.")
        self._put((), lacking)

    def _field(self, item: Quantity | Choice | Lookup) -> widgets.Widget:
        if item not in self._made:
            if isinstance(item, Quantity):
                self._made[item] = Sliders(self._session, [item], spreads=True).box
            else:
                self._made[item] = Lists(self._session, [item]).box
        return self._made[item]

    def _show(self, found: Found | None) -> None:
        if found is None:
            self._say("")
            self._put(())
            return
        self._put(found.offers)
        self._say(sentence(self._session.build, found))

    def _say(self, words: str) -> None:
        self.said.value = Markup("<div role='status' style='line-height:1.35'>{}</div>").format(words) if words else ""

    def _put(self, offers: Sequence[Offer], asked: Sequence[Item] = ()) -> None:
        self.offers = tuple(offers)
        # A short table has no row here: its name alone is told.
        self.fields.children = [self._field(item) for item in asked if not isinstance(item, Series)]
        self.find.disabled = self.narrow.disabled = self.margin is None or self._lacks(self.margin)
        for place, (row, text, button) in enumerate(zip(self.rows, self.texts, self.tries, strict=True)):
            there = place < len(offers)
            row.layout.display = "" if there else "none"
            button.disabled = not there
            if there:
                text.value = offer_html(offers[place])
                button.tooltip = f"Try {offers[place].tried.change.words}"

    def take(self, place: int) -> None:
        """Put an offered change into the build; one click takes it back."""
        if place >= len(self.offers) or self.tries[place].disabled or self._session.held_up():
            return
        offer = self.offers[place]
        self._tried = named_honestly(offer.tried.build)
        self._session.take(self._tried)
        words = Markup("<div role='status'>Tried: {}.</div>")
        self.told.value = words.format(offer.tried.change.words)
        self._back_row.layout.display = ""

    def take_back(self) -> None:
        """Take back what was tried last, if nothing was changed since."""
        if self._tried is not None and self._session.wanted is self._tried:
            self._session.undo()


def _hidden() -> widgets.Layout:
    return widgets.Layout(width="100%", display="none", align_items="flex-start", margin="2px 0")


def offer_html(offer: Offer) -> Markup:
    """Tell an offered change: from what to what it brings the margin, and what it does to the others."""
    verdict = "good at its value, not within all of its spread" if offer.in_doubt else str(offer.verdict)
    before, after = offer.margin.text(offer.before), offer.margin.text(offer.after)
    line = Markup("<b>{}</b>: {} to {}, {}.").format(offer.tried.change.words, before, after, verdict)
    small = []
    for words, some in (("Worse elsewhere", offer.worse), ("Better elsewhere", offer.better)):
        if some:
            told = [f"{m.name_in_words} ({_verdict_on(offer, m)})" for m in some[:_NAMED]]
            more = f" and {len(some) - _NAMED} more" if len(some) > _NAMED else ""
            small.append(f"{words}: {', '.join(told)}{more}.")
    if not small:
        small.append("No other margin changes its verdict.")
    if offer.broken:
        rest = len(offer.broken) - 1
        small.append(f"Outside a model's range then: {offer.broken[0]}{f' (and {rest} more)' if rest else ''}.")
    box = Markup("<div style='line-height:1.35;border-left:2px solid {};padding-left:6px'>{}<br>"
                 "<small style='color:{}'>{}</small></div>")  # fmt: skip
    return box.format(FAINT, line, QUIET, " ".join(small))


def _verdict_on(offer: Offer, other: Margin) -> str:
    """The verdict on another margin after a change, with its value where it is beyond its limit."""
    verdict = offer.tried.verdict(other)
    if verdict is not Verdict.FAILS:
        return str(verdict)
    return f"{verdict}: {other.text(offer.tried.values[other.quantity])}"


def sentence(build: Build, found: Found) -> str:
    """Say how the search for changes ended."""
    margin, quantity = found.margin, found.margin.quantity
    if not found.levers:
        rests = [item.name_in_words for item in measured_behind(build, margin)]
        more = f" and {len(rests) - 2 * _NAMED} more" if len(rests) > 2 * _NAMED else ""
        return (
            f"Nothing that you can buy, cut or set moves the {margin.name_in_words}. It rests on what only measuring "
            f"tells: {', '.join(rests[: 2 * _NAMED])}{more}. What may help: {margin.advice}."
        )
    if not found.complete:
        return f"Looking for what betters the {margin.name_in_words} ..."
    tried = f"{found.tried} changes were tried in the whole head, one at a time, with torque and heat brought to rest."
    shown = build.solution.get(quantity)
    at_rest = found.base.values[quantity]
    if shown is not None and margin.text(shown) != margin.text(at_rest):
        tried += f" At rest the build as it is has {margin.text(at_rest)}."
    if not found.offers:
        return f"{tried} None of them betters the {margin.name_in_words}. What may help: {margin.advice}."
    if not any(offer.verdict is Verdict.GOOD for offer in found.offers):
        tried += " None of them alone makes it good: try one, then look again."
    elif margin.verdict(at_rest) is Verdict.GOOD:
        tried += " It is good at its value; these move it further from the limit, a trial narrows its spread."
    return tried
