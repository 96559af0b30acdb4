"""Work that waits: at once without a loop, once with one, in steps, and begun anew when something changes."""

import asyncio
from collections.abc import Callable, Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest
from augerbook.page.deferred import Deferred


def apart(action: Callable[[], object]) -> None:
    """Run in a thread of its own: in a test run the main thread may have the loop of a browser."""
    with ThreadPoolExecutor(1) as pool:
        pool.submit(action).result()


def in_a_loop(scenario: Callable[[], Coroutine[None, None, None]]) -> None:
    apart(lambda: asyncio.run(scenario()))


def test_without_a_loop_it_is_done_at_once_and_to_its_end() -> None:
    done: list[int] = []

    def steps() -> Iterator[None]:
        for i in range(3):
            done.append(i)
            yield

    apart(Deferred(steps).request)
    apart(Deferred(lambda: done.append(9)).request)
    assert done == [0, 1, 2, 9]


@pytest.mark.slow
def test_requests_are_put_off_and_done_once() -> None:
    done: list[str] = []

    async def scenario() -> None:
        later = Deferred(lambda: done.append("x"), 0.5)
        for _ in range(5):
            later.request()
            await asyncio.sleep(0.005)
        assert done == []
        await asyncio.sleep(0.7)

    in_a_loop(scenario)
    assert done == ["x"]


def test_what_comes_in_between_two_steps_is_dealt_with_and_begins_them_anew() -> None:
    done: list[str] = []

    def steps() -> Iterator[None]:
        for name in "abc":
            done.append(name)
            yield

    async def scenario() -> None:
        later = Deferred(steps, 0.0)
        later.request()
        while "b" not in done:
            await asyncio.sleep(0)
        later.request()
        await asyncio.sleep(0.1)

    in_a_loop(scenario)
    assert done[:2] == ["a", "b"] and done[-3:] == ["a", "b", "c"] and done.count("c") == 1


def test_finish_does_what_waits_and_what_is_under_way_to_its_end() -> None:
    done: list[int] = []

    def steps() -> Iterator[None]:
        for i in range(3):
            done.append(i)
            yield

    async def scenario() -> None:
        later = Deferred(steps, 10.0)
        later.request()
        later.finish()
        assert done == [0, 1, 2]
        later.finish()
        assert done == [0, 1, 2]
        under_way = Deferred(steps, 0.0)
        under_way.request()
        while len(done) < 5:
            await asyncio.sleep(0)
        under_way.finish()
        assert done == [0, 1, 2, 0, 1, 2]

    in_a_loop(scenario)


def done_by_one_request(inside: Callable[[Deferred], None]) -> list[str]:
    """What an action of two steps has done after one request, its first round calling ``inside`` in the first step."""
    done: list[str] = []

    def steps() -> Iterator[None]:
        done.append("begins")
        if len(done) == 1:
            inside(later)
        yield
        done.append("ends")

    later = Deferred(steps, 0.0)

    async def scenario() -> None:
        later.request()
        await asyncio.sleep(0.1)

    in_a_loop(scenario)
    return done


def test_a_step_that_lets_the_loop_go_on_is_not_entered_again() -> None:
    assert done_by_one_request(lambda later: later._step()) == ["begins", "ends"]  # as a loop does inside of a step


def test_what_is_finished_inside_a_step_is_done_anew_and_only_once() -> None:
    def at_once(later: Deferred) -> None:
        later.request()
        later.finish()

    assert done_by_one_request(at_once) == ["begins", "begins", "ends"]


def test_what_is_asked_for_inside_a_step_begins_anew_when_the_step_is_done() -> None:
    assert done_by_one_request(lambda later: later.request()) == ["begins", "begins", "ends"]


@pytest.mark.parametrize("with_a_loop", [False, True])
def test_what_goes_wrong_is_told_and_raised(with_a_loop: bool) -> None:
    heard: list[str] = []

    def steps() -> Iterator[None]:
        yield
        raise ValueError("odd")

    later = Deferred(steps, 0.0, failed=lambda error: heard.append(str(error)))

    async def scenario() -> None:
        raised = []
        asyncio.get_running_loop().set_exception_handler(lambda _, context: raised.append(context["exception"]))
        later.request()
        await asyncio.sleep(0.1)
        assert [str(error) for error in raised] == ["odd"]

    if with_a_loop:
        in_a_loop(scenario)
    else:
        with pytest.raises(ValueError, match="odd"):
            apart(later.request)
    assert heard == ["odd"]
