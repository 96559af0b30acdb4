"""One test for a whole group of things that owe the same: a test for each of thousands takes longer than its check."""

import traceback
from collections.abc import Callable, Iterable
from typing import Any

import pytest


def for_each(
    things: Iterable[Any], *, group: Callable[[Any], str], name: Callable[[Any], str]
) -> Callable[[Callable[[Any], None]], Callable[[str], None]]:
    """Decorate a check of one thing: it becomes a test for each group, which checks all and names each that fails."""
    groups: dict[str, list[Any]] = {}
    for thing in things:
        groups.setdefault(group(thing), []).append(thing)
    if not groups:
        raise ValueError("there is nothing to check: pytest would skip the test without a word")

    def decorate(check: Callable[[Any], None]) -> Callable[[str], None]:
        @pytest.mark.parametrize("of", groups)
        def test(of: str) -> None:
            faults = {}
            for thing in groups[of]:
                try:
                    check(thing)
                except (Exception, pytest.fail.Exception) as fault:
                    faults[name(thing)] = _told(fault)
            if faults:
                told = [f"--- {failing}\n{said}" for failing, said in faults.items()]
                first = f"{len(faults)} of {len(groups[of])} fail: {', '.join(faults)}"
                pytest.fail("\n".join([first, *told]), pytrace=False)

        # Not functools.wraps: pytest would look through it and ask for the check's argument.
        test.__name__, test.__qualname__, test.__doc__ = check.__name__, check.__qualname__, check.__doc__
        test.__module__ = check.__module__
        return test

    return decorate


def _told(fault: BaseException) -> str:
    """What failed and where; words alone where a check says that nothing else is of interest."""
    if isinstance(fault, pytest.fail.Exception) and not fault.pytrace:
        return str(fault.msg)
    return "".join(
        traceback.format_exception(fault.with_traceback(fault.__traceback__ and fault.__traceback__.tb_next))
    )
