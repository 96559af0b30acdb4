"""The state behind sliders: the build wanted, the last possible build, and who wants to know of changes.

Nothing here is a widget, so that everything a page does can be tested without a browser.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from augerbook.builds.build import LONGEST_WORDS, Build, exact_number, misfits
from augerbook.builds.named import named_honestly
from augerbook.builds.own_rows import OwnRows
from augerbook.builds.reader import BuildError
from augerbook.builds.shipped import read_build
from augerbook.builds.typed import spread_text, typed_columns, typed_si, typed_spread
from augerbook.core.markup import one_line
from augerbook.core.network import Solution
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.units import UnitError, with_unit
from augerbook.deciding.candidates import put_back
from augerbook.page.history import History, Moment
from augerbook.tables import TableError, read_table

#: What a message may be about: what was moved, typed or picked, or the name of another control.
Cause = Quantity | Choice | Lookup | Series | str | None
#: Name and note of the build, as what a message may be about.
WORDS = "name and note"


class Session:
    """A build that is being changed.

    Attributes:
        build: the last possible build: what pictures and numbers show.
        wanted: what the sliders say; it differs from ``build`` while two of its values clash.
        loaded: the build that was loaded last, against which changes are told.
        message: what is wrong, in words; empty when nothing is.
        about: what the message came from, so that it can stand beside that control as well.
        own: rows of the maker's own, which go before those of the tables.
    """

    def __init__(self, build: Build) -> None:
        self.build = build
        self.wanted = build
        self.loaded = build
        self._history = History(Moment(build, build, build))
        self.message = ""
        self.about: Cause = None
        self.own: OwnRows = {}
        self._listeners: list[Callable[[], None]] = []

    @property
    def solution(self) -> Solution:
        """What follows from the last possible build."""
        return self.build.solution

    @property
    def clashing(self) -> bool:
        """Whether the latest values cannot go together, so that pictures, numbers and texts are of an earlier build."""
        return self.build is not self.wanted

    def held_up(self, about: Cause = None) -> bool:
        """Tell that values which cannot go together come first, and return whether there are any.

        What is worked out meanwhile is of the last possible build: taken over, it would undo the latest changes.
        """
        if self.clashing:
            self.tell("Nothing was taken over. First change one of the values that cannot go together.", about)
        return self.clashing

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call ``listener`` after every change, possible or not."""
        self._listeners.append(listener)

    def forget_listeners(self) -> None:
        """Call nobody any more: what showed this build has been replaced."""
        self._listeners.clear()

    def set_value(self, quantity: Quantity, shown: float) -> None:
        """Change one value, in its shown unit."""
        self._want(self.wanted.with_value(quantity, float(quantity.si(shown))), quantity, moved=quantity)

    def type_value(self, quantity: Quantity, text: str) -> None:
        """Take a value as it was typed, with or without unit; where it cannot be one this is told, and nothing changes.

        The value that is there already, typed once more, changes nothing either. An emptied field takes it out.
        """
        now = self.wanted.values.get(quantity)
        if not text.strip():
            self._take_out(quantity)
            return
        try:
            si = typed_si(quantity, text)
        except UnitError as error:
            stays = "it stays not given" if now is None else (
                f"it stays {with_unit(exact_number(quantity, now), quantity.unit)}"
            )  # fmt: skip
            self.tell(f"{quantity.name_in_words}: '{text[:60]}' {error}; {stays}", quantity)
            return
        if now is None or exact_number(quantity, si) != exact_number(quantity, now):
            self._want(self.wanted.with_value(quantity, si), quantity)
        elif self.about is quantity:
            self._want(self.wanted, quantity)  # what was told of it is no longer so

    def _take_out(self, quantity: Quantity) -> None:
        """Leave a value of the build's own out; where it has a row of a table, the figure of the row is its value."""
        wanted = self.wanted
        if quantity in wanted.entries:
            self._want(put_back(wanted, replace(wanted, entries={}), quantity), quantity)
        elif quantity in wanted.values:
            self.tell(f"{quantity.name_in_words} is a figure of the row that was picked: type another value", quantity)
        elif self.about is quantity:
            self._want(wanted, quantity)

    def type_spread(self, quantity: Quantity, text: str) -> None:
        """Take low and high of a value as typed, such as "0.2 to 0.35"; empty means that it is known exactly.

        Where the text cannot be a spread this is told, and nothing changes. The spread that is there already changes
        nothing either.
        """
        now = self.wanted.values.get(quantity)
        before = self.wanted.ends.get(quantity)
        if now is None:
            if text.strip():
                self.tell(f"{quantity.name_in_words} is not given: give the value first, then its spread", quantity)
            return
        try:
            ends = typed_spread(quantity, text, now)
        except UnitError as error:
            stays = (
                "it stays known exactly" if before is None
                else f"it stays {with_unit(spread_text(quantity, *before), quantity.unit)}"
            )  # fmt: skip
            self.tell(f"spread of the {quantity.name_in_words}: '{text[:60]}' {error}; {stays}", quantity)
            return
        same = ends == before or (ends and before and spread_text(quantity, *ends) == spread_text(quantity, *before))
        if not same:
            wanted = self.wanted
            self._want(wanted.with_spread(quantity, *ends) if ends else wanted.with_known(quantity), quantity)
        elif self.about is quantity:
            self._want(self.wanted, quantity)

    def type_rows(self, series: Series, rows: Sequence[Sequence[str]]) -> list[str]:
        """Take a short table as it was typed, cell by cell; returns its faults, with which nothing is taken."""
        columns, faults = typed_columns(series, rows)
        if faults:
            return faults
        before = self.wanted.rows.get(series)
        if before is None or any(a.tolist() != b.tolist() for a, b in zip(before, columns, strict=True)):
            self._want(self.wanted.with_rows(series, columns), series)
        return []

    def set_words(self, *, name: str | None = None, note: str | None = None) -> None:
        """Give the build another name or note; both are kept on one line, and what is cut off is told."""
        wanted = named_honestly(self.wanted.with_words(name=name, note=note))
        if (wanted.name, wanted.note) != (self.wanted.name, self.wanted.note):
            self._want(wanted, WORDS)
        if long := [text for text in (name, note) if text and len(one_line(text)) > LONGEST_WORDS]:
            self.tell(f"'{long[0][:40]}...' was too long: the first {LONGEST_WORDS} characters were kept", WORDS)

    def take_own(self, own: OwnRows) -> None:
        """Offer rows of the maker's own beside those of the tables; the build stays as it is."""
        self.own = own
        self._notify()

    def set_choice(self, choice: Choice, option: str) -> None:
        """Change a choice."""
        if option not in choice.options:
            options = ", ".join(f"'{known}'" for known in choice.options)
            self.tell(f"{choice.name_in_words} '{option}' is not known: expected one of {options}", choice)
            return
        self._want(self.wanted.with_choice(choice, option), choice)

    def set_name(self, lookup: Lookup, name: str) -> None:
        """Take another row of a table, or one of the maker's own."""
        if mine := self.own.get(lookup, {}).get(name):
            self._want(self.wanted.with_row(lookup, mine), lookup)
            return
        try:
            faults = misfits(lookup, read_table(lookup.table).row(name))
        except TableError as error:
            faults = [str(error)]
        if faults:
            self.tell("\n".join([f"{lookup.name_in_words} '{name}' cannot be taken:", *faults]), lookup)
            return
        self._want(self.wanted.with_name(lookup, name), lookup)

    def leave_out(self, lookup: Lookup) -> None:
        """Take out the row of a table, and whatever else stands for it."""
        self._want(self.wanted.without_row(lookup), lookup)

    def load(self, build: Build, about: Cause = None) -> None:
        """Exchange the whole build; from now on changes are told against this one."""
        self.loaded = build = named_honestly(build)
        self._want(build, about)

    def take(self, build: Build, about: Cause = None) -> None:
        """Take several changes at once, as one step; they are told against the build that was loaded."""
        self._want(build, about)

    def seal(self) -> None:
        """Say that the sliders rest: the next move of the same slider is a step of its own."""
        self._history.seal()

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return self._history.can_undo

    @property
    def can_redo(self) -> bool:
        """Whether a step was taken back that can be done again."""
        return self._history.can_redo

    def undo(self) -> None:
        """Take the last step back; nothing happens where there is none."""
        if self.can_undo:
            self._show(self._history.undo())

    def redo(self) -> None:
        """Do the step again that was taken back last; nothing happens where there is none."""
        if self.can_redo:
            self._show(self._history.redo())

    def _show(self, moment: Moment) -> None:
        self.wanted, self.build, self.loaded = moment.wanted, moment.build, moment.loaded
        self.message, self.about = _clashing(self.wanted), None
        self._notify()

    def load_text(self, text: str, about: Cause = None) -> bool:
        """Read a pasted build; when it has faults they are told and the present build stays. True when loaded."""
        build = self.read_text(text, about)
        if build is not None:
            self.load(build, about)
        return build is not None

    def read_text(self, text: str, about: Cause = None) -> Build | None:
        """Return the build that a text holds, and load nothing; None when it has faults, which are told."""
        try:
            return read_build(text, self.build.network)
        except BuildError as error:
            count = len(error.faults)
            head = "The build was not loaded, yours is unchanged. "
            head += "One fault:" if count == 1 else f"{count} faults:"
            self.tell("\n".join([head, *error.told]), about)
            return None

    def _want(self, build: Build, about: Cause, *, moved: Quantity | None = None) -> None:
        self.wanted = build = named_honestly(build)
        self.message = _clashing(build)
        if self.message:
            self.about = about
        else:
            self.build, self.about = build, None
        known = self._history.moment
        if self.wanted is not known.wanted or self.loaded is not known.loaded:
            self._history.add(Moment(self.wanted, self.build, self.loaded), moved)
        self._notify()

    def tell(self, message: str, about: Cause = None) -> None:
        """Show a message; the build stays as it is, and so does what is told of values that cannot go together."""
        still = (f"still to mend: {clash}" for clash in self.wanted.clashes())
        self.message, self.about = "\n".join([message, *still]), about
        self._notify()

    def _notify(self) -> None:
        for listener in self._listeners:
            listener()


def _clashing(build: Build) -> str:
    """Say which values of a build cannot go together; empty for one that can be built."""
    clashes = build.clashes()
    first = "These values cannot go together, so the last possible build is shown:"
    if not clashes:
        return ""
    guessed = any(entry.estimated for entry in build.entries.values())
    last = ["If one of them is only estimated, press Estimate anew."] if guessed else []
    return "\n".join([first, *clashes, *last])
