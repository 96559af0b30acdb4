"""A build is never changed unasked: whatever is looked at, opened or loaded, its text stays byte for byte."""

import math
from collections.abc import Iterator

import ipywidgets as widgets
import pytest
from augerbook.builds.build import Build, usable_rows
from augerbook.builds.named import named_honestly
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.chapters.pictures import all_pictures
from augerbook.core.quantity import Choice, Lookup
from augerbook.head.bearing import bearing
from augerbook.head.feedstock import plastic
from augerbook.page import start
from augerbook.page.controls import Lists, Sliders
from augerbook.page.start import StartPage
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.page.opened import open_all

LITTLE = 'format = 1\nname = "little"\n\n[tube]\nbore_diameter = "8.05 mm"\n'
BUILDS = [*(shipped_build(name).toml() for name in shipped_builds()), LITTLE, 'format = 1\nname = "nothing"\n']
#: Where a browser's steps lie, as a share of a step: it rounds to them what it is told, and reports what came out.
PHASES = st.floats(0, 1)


def rounded(place: float, slider: widgets.FloatSlider | widgets.FloatLogSlider, phase: float) -> float:
    """A place on a slider as a browser has it: on the nearest of its steps, or at an end."""
    on_step = (round(place / slider.step - phase) + phase) * slider.step
    return min(max(on_step, slider.min), slider.max)


def opened(page: StartPage) -> dict[str, Sliders | Lists]:
    """The groups of all values, if that panel was opened."""
    return page.values.rest if "values" in vars(page) else {}


def report(page: StartPage, phase: float) -> None:
    """Let every slider that there is report its place, rounded, as browsers do when a slider appears."""
    groups = [page.sliders, *opened(page).values()]
    for slider in (row.slider for group in groups if isinstance(group, Sliders) for row in group.rows.values()):
        if isinstance(slider, widgets.FloatLogSlider):
            slider.set_state({"value": 10 ** rounded(math.log10(slider.value), slider, phase)})
        else:
            slider.set_state({"value": rounded(slider.value, slider, phase)})


@pytest.fixture(scope="module", autouse=True)
def _without_sensitivities() -> Iterator[None]:
    """What margins depend on takes most of the time of a page, and changes no build."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(start, "sensitivities_in_steps", lambda *_: iter(()))
        yield


class Looking(RuleBasedStateMachine):
    """Someone who looks at everything, loads builds and takes rows, and never moves or types a value."""

    def __init__(self) -> None:
        super().__init__()
        self.page = StartPage(shipped_build("otter"))
        self.wanted: Build = self.page.session.build
        self.phase = 0.0

    @initialize(phase=PHASES)
    def appears(self, phase: float) -> None:
        self.phase = phase

    @rule(panel=st.sampled_from([None, 0, 1, 2, 3]))
    def opens(self, panel: int | None) -> None:
        self.page.more.selected_index = panel

    @rule(tab=st.integers(0, 10))
    def switches(self, tab: int) -> None:
        if opened(self.page):
            self.page.values.tabs.selected_index = tab

    @rule(words=st.sampled_from(["", "bore", "d_m", "nothing of the kind", "bearing"]))
    def searches(self, words: str) -> None:
        self.page.example.search.value = words
        if opened(self.page):
            self.page.values.search.value = words

    @rule()
    def reads_the_own_tables(self) -> None:
        self.page.builds.take_own()

    @rule(picture=st.sampled_from([p.title for p in all_pictures()]), variant=st.integers(0, 3))
    def looks(self, picture: str, variant: int) -> None:
        self.page.pictures.which.value = picture
        options = self.page.pictures.variant.options
        self.page.pictures.variant.value = options[variant % len(options)]

    @rule(other=st.integers(0, 3))
    def compares(self, other: int) -> None:
        self.page.compare.value = self.page.compare.options[other % len(self.page.compare.options)]

    @rule(text=st.sampled_from(BUILDS))
    def loads(self, text: str) -> None:
        self.page.builds.paste.value = text
        self.page.builds.load_paste.click()
        self.wanted = read_build(text)

    @rule(data=st.data(), lookup=st.sampled_from(list(whole_head().lookups.values())))
    def takes_a_row(self, data: st.DataObject, lookup: Lookup) -> None:
        name = data.draw(st.sampled_from(usable_rows(lookup)))
        if self.page.lists.by_item[lookup].value == name:
            return
        self.page.lists.by_item[lookup].value = name
        self.wanted = self.wanted.with_name(lookup, name)

    @rule(data=st.data(), choice=st.sampled_from(list(whole_head().choices.values())))
    def chooses(self, data: st.DataObject, choice: Choice) -> None:
        widget = next(
            (g.by_item[choice] for g in opened(self.page).values() if isinstance(g, Lists) and choice in g.rows), None
        )
        option = data.draw(st.sampled_from(list(choice.options)))
        if widget is None or widget.value == option:
            return
        widget.value = option
        self.wanted = self.wanted.with_choice(choice, option)

    @rule(text=st.sampled_from(["", "rubbish", 'format = 1\n[tube]\nbore_diameter = "8"']))
    def pastes_what_cannot_be_read(self, text: str) -> None:
        assert not self.page.session.load_text(text)

    @invariant()
    def nothing_else_has_changed(self) -> None:
        report(self.page, self.phase)
        text = named_honestly(self.wanted).toml()
        assert self.page.session.wanted.toml() == text
        if not self.wanted.clashes():
            assert self.page.session.build.toml() == text


TestLooking = pytest.mark.slow(Looking.TestCase)
TestLooking.settings = settings(
    max_examples=25, stateful_step_count=15, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)


@pytest.mark.slow
@pytest.mark.parametrize("phase", [0.0, 0.5])
@pytest.mark.parametrize("text", BUILDS)
def test_all_values_opened_after_a_bearing_and_a_plastic_were_taken(text: str, phase: float) -> None:
    page = StartPage(read_build(text))
    report(page, phase)
    page.lists.by_item[bearing].value = "608"
    page.lists.by_item[plastic].value = "PETG"
    page.more.selected_index = 2
    open_all(page.values)
    report(page, phase)
    taken = read_build(text).with_name(bearing, "608").with_name(plastic, "PETG")
    assert page.session.build.toml() == named_honestly(taken).toml()
