import math

import pytest
from augerbook.chapters import whole_head
from augerbook.core.margin import Margin, Requirement, Verdict
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source

reserve = Quantity("reserve", "S", "1", "what is left")
share = Quantity("share", "x", "percent", "share used")


def margin(quantity: Quantity, good: float, limit: float) -> Margin:
    return Margin("toy.margin", quantity, good, limit, "it breaks", "make it thicker", Source("judgement"))


@pytest.mark.parametrize(
    ("si", "verdict"),
    [
        (3.0, "good"),
        (2.0, "good"),
        (1.9, "tight"),
        (1.5, "tight"),
        (1.4, "beyond the limit"),
        (-math.inf, "beyond the limit"),
        (math.inf, "good"),
        (math.nan, "cannot be computed"),
        (None, "cannot be computed"),
    ],
)
def test_more_is_better(si: float | None, verdict: str) -> None:
    assert margin(reserve, good=2, limit=1.5).verdict(si) == verdict


@pytest.mark.parametrize(
    ("si", "verdict"), [(0.2, "good"), (0.5, "good"), (0.6, "tight"), (0.8, "tight"), (0.81, "beyond the limit")]
)
def test_less_is_better(si: float, verdict: str) -> None:
    assert margin(share, good=50, limit=80).verdict(si) == verdict


def test_the_limits_belong_to_the_better_side_however_they_are_rounded() -> None:
    for good in (x / 20 for x in range(1, 60)):
        assert margin(share, good, limit=99).verdict(share.si(good)) is Verdict.GOOD
        assert margin(share, 99, limit=good).verdict(share.si(good)) is Verdict.TIGHT


def test_the_rule_shows_the_limits_as_they_are() -> None:
    assert margin(reserve, 1.05, 1.0).rule() == "good from 1.05, limit 1"
    assert margin(share, 50, 80).rule() == "good up to 50 %, limit 80 %"


@pytest.mark.parametrize(
    ("si", "words"),
    [
        (1.00353, "1.004"),  # beyond the limit of 1, and seen to be
        (0.99996, "0.99996"),
        (1.0, "1.00"),
        (1.0 + 1e-12, "1.00"),  # rounding
        (0.4999, "0.4999"),
        (0.5, "0.500"),
        (0.731, "0.731"),
        (2.0, "2.00"),
        (math.inf, "unlimited"),
    ],
)
def test_a_value_is_told_from_its_limits(si: float, words: str) -> None:
    assert margin(reserve, good=0.5, limit=1).text(si) == words


def test_equal_limits_have_no_direction() -> None:
    with pytest.raises(ValueError, match="must differ"):
        margin(reserve, 1, 1)


def test_a_requirement_names_both_values() -> None:
    core = Quantity("core", "d_c", "mm", "core", low=1, high=9)
    bore = Quantity("bore", "D", "mm", "bore", low=1, high=9)
    rule = Requirement(core, bore, "it must fit")
    assert rule.clash({core: 0.002, bore: 0.003}) is None
    assert rule.clash({core: 0.002}) is None
    assert rule.clash({core: 0.003 * (1 - 1e-14), bore: 0.003}) is not None
    assert rule.clash({core: 0.003, bore: 0.003}) == "core 3.00 mm must be smaller than bore 3.00 mm: it must fit"


@pytest.mark.parametrize("each", whole_head().margins.values(), ids=lambda m: m.id)
def test_every_margin_says_why_and_what_to_do_in_a_plain_sentence(each: Margin) -> None:
    for words in (each.why, each.advice):
        assert len(words) > 15 and words[0].islower() and not words.endswith("."), words
    assert each.rule()
