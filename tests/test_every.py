"""The test for a whole group: it checks each thing, and names each that fails with what its check said."""

from typing import Any

import pytest

from tests.every import for_each


def run(check: Any, things: list[int], of: str) -> None:
    for_each(things, group=lambda n: "odd" if n % 2 else "even", name=lambda n: f"number {n}")(check)(of)


def test_each_thing_of_the_group_is_checked_and_no_other() -> None:
    seen: list[int] = []
    run(seen.append, [1, 2, 3, 4, 5], "odd")
    assert seen == [1, 3, 5]


def test_all_that_fail_are_named_with_what_was_said() -> None:
    def small(number: int) -> None:
        if number == 7:
            pytest.fail("seven is said to be lucky", pytrace=False)
        assert number < 4, f"{number} is too large"
        if number == 3:
            raise ValueError("three raised")

    with pytest.raises(pytest.fail.Exception) as failed:
        run(small, [1, 3, 5, 6, 7], "odd")
    said = str(failed.value)
    assert said.startswith("3 of 4 fail: number 3, number 5, number 7\n")
    assert "ValueError: three raised" in said and "5 is too large" in said and "seven is said to be lucky" in said
    assert "number 6" not in said and "number 1" not in said


def test_what_is_healthy_passes() -> None:
    run(lambda number: None, [1, 2], "even")


def test_it_is_collected_as_a_test_for_each_group() -> None:
    def test_is_small(number: int) -> None:
        """A number is small."""
        assert number < 3

    test = for_each([1, 2, 3], group=lambda n: "odd" if n % 2 else "even", name=str)(test_is_small)
    assert (test.__name__, test.__doc__) == ("test_is_small", "A number is small.")
    (mark,) = test.pytestmark  # type: ignore[attr-defined]
    assert mark.name == "parametrize" and list(mark.args[1]) == ["odd", "even"]
