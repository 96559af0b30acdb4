"""The panel that mends a margin, without a browser: what is offered, tried by one click and taken back."""

import asyncio
import re

import ipywidgets as widgets
import pytest
from augerbook.builds.build import Build
from augerbook.builds.named import named_honestly
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.plate import plate_stress_share
from augerbook.core.margin import Margin, Verdict
from augerbook.deciding.ranking import margins_of_head
from augerbook.head.plate import plate_material, plate_thickness
from augerbook.head.screw import major_diameter
from augerbook.head.tube import bore_diameter
from augerbook.page.margins_view import Sensitivities, all_margins, sensitivities_in_steps
from augerbook.page.mending_panel import MendingPanel, offer_html
from augerbook.page.session import Session
from augerbook.page.start import StartPage

MARGINS = whole_head().margins


class Asked:
    """What the two buttons were pressed for."""

    def __init__(self) -> None:
        self.found: list[Margin] = []
        self.narrowed: list[Margin] = []


def panel_of(build: Build) -> tuple[MendingPanel, Session, Asked]:
    session, asked = Session(build), Asked()
    panel = MendingPanel(session, find=asked.found.append, narrow=asked.narrowed.append)
    panel.refresh(Sensitivities())
    return panel, session, asked


@pytest.fixture
def wren() -> tuple[MendingPanel, Session, Asked]:
    return panel_of(shipped_build("wren"))


def looked(panel: MendingPanel, margin_id: str) -> MendingPanel:
    panel.trouble.value = margin_id
    panel.finish()
    return panel


def test_what_fails_comes_first_and_the_buttons_are_pressed_for_what_is_chosen(
    wren: tuple[MendingPanel, Session, Asked],
) -> None:
    panel, session, asked = wren
    ids = [margin_id for _, margin_id in panel.trouble.options]
    found = [MARGINS[i].verdict(session.solution.get(MARGINS[i].quantity)) for i in ids]
    last = ["hopper.hausner_ratio", "drive.setting_bounds"]  # nothing that can be bought moves these
    assert set(ids[-2:]) == set(last)
    assert found[0] is Verdict.FAILS and found[:-2] == sorted(found[:-2], key=[Verdict.FAILS, Verdict.TIGHT].index)
    panel.trouble.value = "plate.plate_stress_share"
    panel.find.click()
    panel.narrow.click()
    assert [m.id for m in asked.found] == [m.id for m in asked.narrowed] == ["plate.plate_stress_share"]


def test_what_is_in_doubt_is_among_them_and_nothing_where_all_are_good() -> None:
    panel, session, _ = panel_of(shipped_build("otter"))
    assert "conveying.grip_reserve" not in dict(panel.trouble.options).values()
    *_, depends = sensitivities_in_steps(session.build, all_margins(whole_head()))
    panel.refresh(depends)
    assert "conveying.grip_reserve" in dict(panel.trouble.options).values()


@pytest.mark.slow
def test_offers_are_told_with_from_and_to_and_what_they_cost(wren: tuple[MendingPanel, Session, Asked]) -> None:
    panel, _, _ = wren
    looked(panel, "plate.plate_stress_share")
    assert 1 <= len(panel.offers) <= 3 and panel.offers[0].tried.change.item is plate_thickness
    first = panel.texts[0].value
    assert re.search(r"<b>plate thickness 2 to \d+ mm</b>: 5\.\d+ to 0\.\d+, good", first)
    assert "changes were tried in the whole head" in panel.said.value
    for offer, row in zip(panel.offers, panel.rows, strict=False):
        assert row.layout.display == ""
        told = offer_html(offer)
        for words, margins in (("Worse elsewhere", offer.worse), ("Better elsewhere", offer.better)):
            assert (words in told) == bool(margins)
            for margin in margins[:2]:
                assert f"({offer.tried.verdict(margin)})" in told
    assert [row.layout.display for row in panel.rows[len(panel.offers) :]] == ["none"] * (3 - len(panel.offers))


@pytest.mark.slow
def test_a_change_is_tried_by_one_click_and_taken_back_by_one(wren: tuple[MendingPanel, Session, Asked]) -> None:
    panel, session, _ = wren
    before = session.build.toml()
    looked(panel, "plate.plate_stress_share")
    offer = panel.offers[0]
    panel.tries[0].click()
    assert session.build.toml() == named_honestly(offer.tried.build).toml()
    assert "Tried: plate thickness 2 to" in panel.told.value
    assert session.solution[offer.margin.quantity] == pytest.approx(offer.after, rel=5e-3)
    assert all(button.disabled for button in panel.tries), "what stands there was computed for the build before"
    panel.back.click()
    assert session.build.toml() == before and session.loaded.toml() == before
    panel.tries[0].click()
    assert session.build.toml() == before


@pytest.mark.slow
def test_what_was_changed_since_is_not_taken_back_with_it(wren: tuple[MendingPanel, Session, Asked]) -> None:
    panel, session, _ = wren
    looked(panel, "plate.plate_stress_share")
    panel.tries[0].click()
    session.set_value(whole_head().quantities["gear_ratio"], 6.0)
    now = session.build.toml()
    panel.take_back()
    assert session.build.toml() == now


def test_where_only_measuring_helps_it_says_so(wren: tuple[MendingPanel, Session, Asked]) -> None:
    panel, _, _ = wren
    looked(panel, "hopper.hausner_ratio")
    assert panel.offers == ()
    assert "Nothing that you can buy, cut or set moves the Hausner ratio" in panel.said.value
    assert "loose density" in panel.said.value and "tapped density" in panel.said.value
    assert MARGINS["hopper.hausner_ratio"].advice[:20] in panel.said.value


def test_another_build_begins_with_its_own_worst_margin() -> None:
    panel, session, _ = panel_of(shipped_build("otter"))
    session.load(shipped_build("wren"))
    panel.refresh(Sensitivities())
    verdict = MARGINS[panel.trouble.value].verdict(session.solution[MARGINS[panel.trouble.value].quantity])
    assert verdict is Verdict.FAILS


def test_the_list_shows_what_was_picked_though_new_options_were_under_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """The browser was sent other options, and puts the first of them in place of what was picked meanwhile."""
    page = StartPage(shipped_build("wren"))
    panel, shown = page.mending, {}
    monkeypatch.setattr(panel.trouble, "_send", lambda message, buffers=None: shown.update(message["state"]))
    picked = [words for words, _ in panel.trouble.options].index("stress of the plate over yield")
    panel.trouble.options = panel.trouble.options[:-1]
    assert shown["index"] == 0
    panel.trouble.set_state({"index": picked})
    assert panel.margin is MARGINS["plate.plate_stress_share"]
    assert shown["index"] == picked


@pytest.mark.slow
def test_a_move_drops_the_search_and_it_begins_anew() -> None:
    async def moving() -> tuple[int, int]:
        page = StartPage(shipped_build("wren"))
        for moved in range(3):
            page.session.set_value(plate_thickness, 2.0 + 0.1 * moved)
            await asyncio.sleep(0.2)
        while not page.mending.offers or page.mending.tries[0].disabled:
            await asyncio.sleep(0.05)
        at = page.mending.offers[0].tried.build.values[page.session.build.network.quantities["pitch"]]
        page.mending._searching.drop()  # so that nothing waits when the loop ends
        page._resting.finish()
        return len(page.mending.offers), at

    offers, pitch = asyncio.run(asyncio.wait_for(moving(), 60))
    assert offers >= 1 and pitch > 0


@pytest.mark.slow
def test_five_first_offers_bring_wren_within_all_limits_but_that_of_the_weighed_setting(
    wren: tuple[MendingPanel, Session, Asked],
) -> None:
    """As the README says; nothing measured is touched but what the operating point finds anew."""
    panel, session, _ = wren
    before, circles = session.build, session.build.network.assumed
    watched = margins_of_head(before.network)
    for _ in range(5):
        panel.finish()
        panel.tries[0].click()
        panel.refresh(Sensitivities())
    at = {m.id: m.verdict(session.solution.get(m.quantity)) for m in watched}
    assert {key for key, verdict in at.items() if verdict is Verdict.FAILS} == {"drive.setting_bounds"}
    assert Verdict.UNKNOWN not in at.values() and session.solution.hazards == ()
    assert at["hopper.hausner_ratio"] is Verdict.TIGHT, "it rests on two densities that were measured"
    for quantity, ends in before.ends.items():
        assert quantity in circles or session.build.ends[quantity] == ends


def test_while_values_clash_nothing_is_offered_that_would_undo_them(wren: tuple[MendingPanel, Session, Asked]) -> None:
    panel, session, _ = wren
    looked(panel, "plate.plate_stress_share")
    assert panel.offers and not panel.tries[0].disabled
    offers = panel.offers
    session.set_value(major_diameter, 20.0)
    wanted = session.wanted
    panel.offers, panel.tries[0].disabled = offers, False  # pressed before the page had put them out of reach
    panel.tries[0].click()
    assert session.wanted is wanted and "Nothing was taken over" in session.message
    assert "major diameter 20.0 mm must be smaller than" in session.message
    panel.request()
    panel.finish()
    assert panel.offers == () and "Values that cannot go together come first" in panel.said.value
    assert session.wanted.clashing() == [major_diameter, bore_diameter] and len(panel.fields.children) == 2
    sliders = panel.fields.children[0].children[0]
    field = next(w for w in sliders.children if isinstance(w, widgets.Text))
    field.value = "4.2"
    assert session.message == "" and session.build is session.wanted
    panel.finish()
    assert panel.fields.children == ()


def without(name: str, *keys: str) -> Build:
    """A shipped build with some lines left out."""
    lines = shipped_build(name).toml().splitlines()
    return read_build("\n".join(line for line in lines if line.split(" = ")[0] not in keys))


def lists_in(widget: widgets.Widget) -> list[widgets.Dropdown]:
    if isinstance(widget, widgets.Dropdown):
        return [widget]
    return [found for child in getattr(widget, "children", ()) for found in lists_in(child)]


def test_what_a_margin_lacks_is_asked_for_where_it_is_told() -> None:
    """A material is asked for, and not the figures that its row has."""
    build = without("otter", "plate_material", "plate_support")
    panel, session, _ = panel_of(build)
    verdicts = [MARGINS[i].verdict(session.solution.get(MARGINS[i].quantity)) for _, i in panel.trouble.options]
    assert Verdict.UNKNOWN in verdicts and verdicts == sorted(verdicts, key=lambda v: v is Verdict.UNKNOWN)
    looked(panel, "plate.plate_stress_share")
    assert "needs plate material, plate support." in panel.said.value
    assert build.solution.why_missing(plate_stress_share) == "needs plate material, plate support"
    material, support = lists_in(panel.fields)
    assert panel.find.disabled and panel.narrow.disabled and session.wanted is build
    material.value = "carbon steel"
    support.value = "annular, outer edge clamped"
    assert session.build.names[plate_material] == "carbon steel" and plate_stress_share in session.solution.values
    panel.finish()
    assert panel.fields.children == () and not panel.find.disabled


def test_of_a_build_that_lacks_nearly_all_only_what_the_maker_can_say_is_asked_for() -> None:
    panel, session, _ = panel_of(read_build('format = 1\n[tube]\nbore_diameter = "8 mm"\n'))
    looked(panel, "drive.drive_share")
    assert "Much of it can be estimated" in panel.said.value and len(panel.fields.children) <= 6
    assert session.build.toml().count("=") == 3
