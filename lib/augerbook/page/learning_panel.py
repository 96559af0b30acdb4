"""What trials teach the build: the weighings read above and whatever else was measured, back into its spreads."""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.builds.typed import typed_si
from augerbook.core.margin import Margin, Verdict
from augerbook.core.quantity import Quantity
from augerbook.core.units import UnitError, parse_number_with_unit, plain_unit, to_si
from augerbook.deciding.calibrating import KINDS, Calibrated, Kind, Trial, calibrated_in_steps, weighed
from augerbook.deciding.comparing import Compared
from augerbook.deciding.ranking import margins_of_head
from augerbook.deciding.trial_pictures import draw_narrowed
from augerbook.head.trials import effect_wanted
from augerbook.page.cells import table_html
from augerbook.page.controls import message_html
from augerbook.page.live_html import live_html
from augerbook.page.margins_view import valued
from augerbook.page.plain import Button, Html
from augerbook.page.session import Session
from augerbook.page.stoppable import Stoppable

_WIDE = widgets.Layout(width="100%")
_ROW = widgets.Layout(width="100%", flex_flow="row wrap", align_items="center")
_LABEL = {"description_width": "270px"}
_NONE = "none of them"


@dataclass(frozen=True)
class _Lesson:
    """A build before and after it learnt, and the measured values, by name and in SI, that it learnt by."""

    before: Build
    after: Build
    by: frozenset[tuple[str, float]]


class LearningPanel(Stoppable):
    """Measured values, each with its scatter, and a button that narrows the build's spreads by them.

    That takes seconds: it can be stopped, and a build that is changed meanwhile learns nothing.
    """

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._session = session
        self.which = widgets.Dropdown(
            options=[_NONE], description="this build was weighed as", style=_LABEL,
            tooltip="Which of the screws read above sits in this build", layout=widgets.Layout(width="520px"),
        )  # fmt: skip
        self.others = {kind: _measured(kind) for kind in KINDS if kind.quantity is not KINDS[0].quantity}
        self.learn = Button(description="Let the build learn", layout=widgets.Layout(width="180px"))
        self.back = Button(
            description="Take it back", disabled=True, layout=widgets.Layout(width="140px"),
            tooltip="The build as it was before it learnt",
        )  # fmt: skip
        self.message, self.picture = Html(layout=_WIDE), live_html()
        self.told = Html(layout=_WIDE)
        self.learnt: Calibrated | None = None
        self._lessons: list[_Lesson] = []
        self._compared: Compared | None = None
        self.learn.on_click(lambda _: self.start())
        self.back.on_click(lambda _: self._take_back())
        session.on_change(self._offer_back)
        rows = [widgets.HBox(fields, layout=_ROW) for fields in self.others.values()]
        self.widget = widgets.VBox(
            [
                self.which,
                *rows,
                widgets.HBox([self.learn, self.stop, self.back, self.bar, self.progress], layout=_ROW),
                self.message,
                self.picture,
                self.told,
            ],
            layout=_WIDE,
        )

    def follow(self, compared: Compared | None) -> None:
        """Offer the screws of the weighings that were read."""
        self._compared = compared
        names = [_NONE, *(screw.name for screw in compared.screws)] if compared else [_NONE]
        if tuple(self.which.options) != tuple(names):
            self.which.options = names
            self.which.value = names[min(1, len(names) - 1)]

    def trials(self) -> list[Trial]:
        """Return the trials that were made, as typed.

        Raises:
            ValueError: a value cannot be read, or cannot tell anything; the message says which.
        """
        made = []
        if self._compared is not None and self.which.value != _NONE:
            made.append(
                weighed(self._session.build, next(s for s in self._compared.screws if s.name == self.which.value))
            )
        for kind, (measured, scatter) in self.others.items():
            if measured.value.strip():
                value = _angle(measured.value) if kind.by_angle else None
                value = _typed(kind.name, kind.quantity, measured.value) if value is None else value
                share = _typed(f"{kind.name}, give or take", effect_wanted, scatter.value)
                made.append(Trial(kind.name, kind.quantity, value, share * abs(value)))
        return made

    def _steps(self) -> Iterator[None]:
        build = self._session.build
        self.picture.value = self.told.value = self.progress.value = ""
        self.message.value = message_html("")
        if self._lessons and self._lessons[-1].after.name != build.name:
            self._lessons.clear()  # another build: what the one before it learnt is no matter
        self._busy(True)
        try:
            made = self._new_trials()
            learnt = yield from self._followed(build, made)
            if clashes := learnt.build.clashes():
                raise ValueError("\n".join(["it would make an impossible build:", *clashes, *learnt.surprises]))
        except ValueError as error:
            self.message.value = message_html(f"The build has learnt nothing: {error}")
            return
        finally:
            self._busy(False)
        self._take(build, made, learnt)

    def _new_trials(self) -> list[Trial]:
        """Return what was measured and not learnt yet.

        Raises:
            ValueError: nothing was, it cannot be read, or the build knows it already.
        """
        if self._session.clashing:
            raise ValueError("two of your latest values cannot go together: change one of them first")
        made = self.trials()
        if not made:
            raise ValueError("nothing was measured yet: read weighings above, or type a value here")
        if again := sorted(name for lesson in self._lessons for name, _ in lesson.by & _values(made)):
            raise ValueError(
                f"it knows this already ({', '.join(again)}). A measurement that is taken twice would make it "
                "surer than it is: take it back first, or measure again"
            )
        return made

    def _followed(self, build: Build, made: Sequence[Trial]) -> Generator[None, None, Calibrated]:
        """Learn step by step, and show how far it is.

        Raises:
            ValueError: it was stopped, the build was changed meanwhile, or nothing can be learnt.
        """
        self.progress.value = "looking for the nearest head"
        yield
        for step in calibrated_in_steps(build, made):
            if step.found is not None:
                return step.found
            self.bar.max, self.bar.value = step.of, step.done
            self.progress.value = f"{step.done} of about {step.of} pieces"
            yield
            if self.halted:
                raise ValueError("you stopped it")
            if self._session.wanted is not build:
                raise ValueError("it was changed meanwhile. Press again to teach the build that stands there now")
        raise AssertionError("the last step holds what was found")

    def _busy(self, now: bool) -> None:
        self.learn.disabled, self.stop.disabled = now, not now
        if not now:
            self.bar.value, self.progress.value = 0, ""

    def _take(self, build: Build, made: Sequence[Trial], learnt: Calibrated) -> None:
        self.learnt = learnt
        told = [one for one in learnt.narrowed if one.told]
        if learnt.surprises:
            self.message.value = message_html("\n".join(["This does not fit the build:", *learnt.surprises]))
        if told:
            self.picture.value = draw_narrowed(told).svg()
        self.told.value = told_html(learnt) + changed_html(build, learnt.build)
        self._session.take(learnt.build)
        self._lessons.append(_Lesson(build, self._session.wanted, _values(made)))
        self._offer_back()

    def _offer_back(self) -> None:
        """Offer to take back what was learnt as long as nothing else was changed since: that must not go with it."""
        self.back.disabled = not self._lessons or not _untouched(self._lessons[-1].after, self._session.wanted)

    def _take_back(self) -> None:
        if self.back.disabled:
            return
        self._session.take(self._lessons.pop().before)
        self.picture.value = self.told.value = ""
        last = " the last time; press again for the time before" if self._lessons else ""
        self.message.value = Markup("<div role='status'>The build is as it was before it learnt{}.</div>").format(last)


def _values(made: Sequence[Trial]) -> frozenset[tuple[str, float]]:
    """Return what was measured, by name and in SI."""
    return frozenset((trial.name, trial.measured) for trial in made)


def _untouched(one: Build, other: Build) -> bool:
    """Whether ``other`` is ``one``, or a copy of it: what changes a build gives it new tables, a copy keeps them.

    It is asked at every move of a slider: to compare the texts of both would take longer than the picture.
    """
    same = one.entries is other.entries and one.chosen is other.chosen and one.names is other.names
    same = same and one.rows is other.rows and one.guessed == other.guessed
    return same and (one.name, one.note) == (other.name, other.note)


def _measured(kind: Kind) -> tuple[widgets.Text, widgets.Text]:
    unit = plain_unit(kind.quantity.unit)
    return (
        widgets.Text(
            description=f"{kind.name} ({unit})" if unit else kind.name, style=_LABEL,
            placeholder="such as 15 deg" if kind.by_angle else "not measured",
            tooltip=f"{kind.quantity.meaning}{': the angle, or its tangent' if kind.by_angle else ''}",
            continuous_update=False, layout=widgets.Layout(width="390px"),
        ),
        widgets.Text(
            value=f"{100 * kind.usual:g} %", description="give or take", style={"description_width": "90px"},
            tooltip=f"Standard deviation of the {kind.name} measured, as a share", continuous_update=False,
            layout=widgets.Layout(width="170px"),
        ),
    )  # fmt: skip


def _angle(text: str) -> float | None:
    """Return the tangent of an angle that was typed with its unit; nothing for any other text."""
    try:
        value, unit = parse_number_with_unit(text, decimal_comma=True)
        angle = to_si(value, unit, "deg") if unit else None
    except UnitError:
        return None
    return None if angle is None or not 0 < angle < math.pi / 2 else math.tan(angle)


def _typed(name: str, quantity: Quantity, text: str) -> float:
    try:
        return typed_si(quantity, text)
    except UnitError as error:
        raise ValueError(f"{name}: '{text:.30}' {error}") from error


def told_html(learnt: Calibrated) -> Markup:
    """Say what the trials told, what they could not tell, and what is known only together."""
    told = [f"{one.quantity.name_in_words} (by the {', '.join(one.by)})" for one in learnt.narrowed if one.told]
    untold = [one.quantity.name_in_words for one in learnt.narrowed if not one.told]
    lines = [f"Told: {', '.join(told)}." if told else "These trials tell too little to narrow any input."]
    if learnt.tied:
        lines.append(f"{learnt.tied[0].upper()}{learnt.tied[1:]}.")
    if untold:
        lines.append(f"Not told, so that they keep their spread: {', '.join(untold)}.")
    return Markup().join(Markup("<p style='margin:4px 0;line-height:1.4'>{}</p>").format(line) for line in lines)


def changed_html(before: Build, after: Build) -> Markup:
    """Return a table of the margins whose value or spread the trials have changed to the digits shown."""
    margins = margins_of_head(before.network)
    columns = [_margins_in_words(build, margins) for build in (before, after)]
    told = [(margin.name_in_words, *(column[margin.id] for column in columns)) for margin in margins]
    changed = [row for row in told if row[1] != row[2]]
    if not changed:
        return Markup("<p>No margin changes to the digits shown.</p>")
    return table_html(("margin", "before", "now"), changed)


def _margins_in_words(build: Build, margins: Sequence[Margin]) -> dict[str, str]:
    told = dict.fromkeys((margin.id for margin in margins), str(Verdict.UNKNOWN))
    for margin_id, (value, verdict) in valued(build, margins).items():
        if verdict is not Verdict.UNKNOWN:
            told[margin_id] = f"{value}, {verdict}"
    return told
