"""Drive, retraction and ringing on the start page: what a slider does to them, and what a build with faults is told."""

import re

import numpy as np
import pytest
from augerbook.builds.shipped import shipped_build
from augerbook.head.carriage import decay_record
from playwright.sync_api import expect

from tests.browser.start_page import Page

FAULTS = {
    "a gear without a ratio": (r"^gear_ratio = .*$", 'gear_ratio = "0"', "gear_ratio", "expected 1 to 120"),
    "a motor without a current": (r"^set_current = .*$", 'set_current = "0 A"', "set_current", "expected 0.05 to 8 A"),
    "nothing that moves": (r"^carriage_mass = .*$", 'carriage_mass = "0 g"', "carriage_mass", "expected"),
}

TIME = np.arange(48) / 200
RECORDS = {
    "too short": (TIME[:4], np.sin(100 * TIME[:4]), "4 readings are too few"),
    "growing": (TIME, np.exp(3 * TIME) * np.sin(100 * TIME), "the vibration grows instead of dying away"),
    "cut off": (TIME, np.clip(np.exp(-3 * TIME) * np.sin(100 * TIME), -0.5, 0.5), "the crests are cut off"),
    "backwards": (TIME[::-1], np.exp(-3 * TIME) * np.sin(100 * TIME), "order the rows by time"),
}


def refused(page: Page, text: str, *told: str) -> None:
    """Paste a build with faults: the page says what is wrong, and keeps the one at hand."""
    page.panel("Your build")
    page.paste(text)
    for words in ("yours is unchanged", *told):
        expect(page.message()).to_contain_text(words)
    assert page.build() == shipped_build("otter").toml()


@pytest.mark.parametrize(("line", "broken", "key", "told"), FAULTS.values(), ids=FAULTS.keys())
def test_a_build_with_a_fault_is_told_and_the_build_at_hand_stays(
    page: Page, line: str, broken: str, key: str, told: str
) -> None:
    text = re.sub(line, broken, shipped_build("otter").toml(), count=1, flags=re.MULTILINE)
    assert broken in text
    refused(page, text, key, told)


@pytest.mark.parametrize(("time", "reading", "told"), RECORDS.values(), ids=RECORDS.keys())
def test_a_record_that_tells_nothing_is_told_and_the_build_at_hand_stays(
    page: Page, time: np.ndarray, reading: np.ndarray, told: str
) -> None:
    refused(page, shipped_build("otter").with_rows(decay_record, (time, reading)).toml(), "decay_record", told)


def test_a_lower_gear_ratio_moves_reserve_steps_and_start_and_stop(page: Page) -> None:
    watched = [page.margin(name) for name in ("drive.drive_share", "drive.gear_torque_share")]
    before = [margin.inner_text() for margin in watched]
    page.type("gear ratio", "3")
    for margin, words in zip(watched, before, strict=True):
        expect(margin).not_to_have_text(words)
    wave = page.margin("ringing.visible_share").text_content()
    page.type("plate thickness (mm)", "12")
    expect(page.margin("ringing.visible_share")).not_to_have_text(wave or "")
    kept = page.margin("retraction.takeback_reserve").text_content()
    page.type("retraction volume (mm³)", "3")
    expect(page.margin("retraction.takeback_reserve")).not_to_have_text(kept or "")
