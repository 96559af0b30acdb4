"""The list of what was changed: against the loaded build, each with a way back; and the steps."""

import pytest
from augerbook.builds.build import usable_rows
from augerbook.builds.estimates import estimated, with_estimates
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.chapters import whole_head
from augerbook.core.quantity import Choice, Lookup
from augerbook.head.bearing import bearing
from augerbook.head.feedstock import standard_sieve
from augerbook.head.plate import plate_support
from augerbook.head.screw import pitch, standard_screw
from augerbook.head.tube import bore_diameter, friction_barrel
from augerbook.page.changed_panel import ChangedPanel
from augerbook.page.session import Session

from tests.builds.seven import SEVEN


@pytest.fixture
def session() -> Session:
    return Session(shipped_build("wren"))


def words(panel: ChangedPanel) -> str:
    panel.refresh()
    return " ".join(row.children[1].value for row in panel.widget.children[1:])


def test_changes_are_told_from_the_loaded_build_on_and_go_back_one_by_one(session: Session) -> None:
    panel = ChangedPanel(session)
    assert "Nothing changed since you began with <i>wren</i>." in panel.heading.value
    session.set_value(bore_diameter, 6.0)
    session.set_name(standard_screw, "M5")
    session.set_choice(plate_support, "four edges")
    told = words(panel)
    assert "bore diameter 5 to 6 mm" in told and "standard screw: ST4.2 to M5" in told
    assert "plate support: two edges to four edges" in told and "(3)" in panel.heading.value
    panel.resets[standard_screw].click()
    assert "standard screw" not in words(panel) and session.build.names[standard_screw] == "ST4.2"
    panel.resets[plate_support].click()
    panel.resets[bore_diameter].click()
    assert words(panel) == "" and session.build.toml() == shipped_build("wren").toml()


def test_a_reset_brings_values_back_that_a_row_had_replaced(session: Session) -> None:
    panel = ChangedPanel(session)
    session.set_value(pitch, 1.5)
    session.set_name(standard_screw, "M4")
    words(panel)
    panel.resets[standard_screw].click()
    assert session.build.toml() == shipped_build("wren").toml()
    session.set_name(standard_sieve, "1 mm")
    assert "standard sieve: own values to 1 mm" in words(panel)
    panel.resets[standard_sieve].click()
    assert session.build.toml() == shipped_build("wren").toml()


def test_what_was_not_given_before_is_not_called_own_values() -> None:
    session = Session(read_build("format = 1"))
    panel = ChangedPanel(session)
    session.set_name(bearing, "625")
    assert "bearing: not given to 625" in words(panel)


def test_what_was_estimated_is_so_again_after_a_reset() -> None:
    whole = with_estimates(read_build(SEVEN))
    session = Session(whole)
    session.load(whole)
    panel, tried = ChangedPanel(session), 0
    for item in sorted(estimated(whole), key=lambda item: item.key):
        if isinstance(item, Choice):
            session.set_choice(item, next(kind for kind in item.options if kind != whole.choices[item]))
        elif isinstance(item, Lookup):
            session.set_name(item, next(name for name in usable_rows(item) if name != whole.names[item]))
        else:
            continue
        words(panel)
        panel.resets[item].click()
        assert session.wanted.toml() == whole.toml(), item.key
        tried += 1
    assert tried > 3


def test_a_narrowed_spread_and_a_new_value_are_told(session: Session) -> None:
    panel = ChangedPanel(session)
    session.take(session.build.with_known(friction_barrel))
    assert "friction on the bore: its spread taken away" in words(panel)
    panel.resets[friction_barrel].click()
    assert words(panel) == ""
    slot = whole_head().quantities["slot_width"]
    session.set_value(slot, 6.0)
    assert "slot width: nothing to 6.00 mm" in words(panel)
    panel.resets[slot].click()
    assert session.build.toml() == shipped_build("wren").toml()


def test_all_go_back_at_once_and_another_build_begins_a_new_list(session: Session) -> None:
    panel = ChangedPanel(session)
    session.set_value(bore_diameter, 6.0)
    session.set_value(pitch, 1.5)
    panel.all.click()
    assert session.build.toml() == shipped_build("wren").toml()
    session.set_value(bore_diameter, 6.0)
    session.load(shipped_build("otter"))
    assert words(panel) == "" and "since you began with <i>otter</i>" in panel.heading.value
    panel.undo.click()
    assert "bore diameter 5 to 6 mm" in words(panel)


def test_undo_and_redo_can_be_pressed_where_there_is_a_step(session: Session) -> None:
    panel = ChangedPanel(session)
    assert panel.undo.disabled and panel.redo.disabled
    session.set_value(bore_diameter, 6.0)
    assert not panel.undo.disabled and panel.redo.disabled
    panel.undo.click()
    assert panel.undo.disabled and not panel.redo.disabled
    panel.redo.click()
    assert session.build.values[bore_diameter] == pytest.approx(0.006) and panel.redo.disabled
