"""Run inside a notebook's kernel after its last cell: moves each control to its ends, as a reader would.

Says nothing if all callbacks return, at once and later; otherwise raises an error that names the control and the value.
(Cells seldom move a slider, so executing them alone would not notice a callback that raises.)
"""

import gc
import sys


def _stops(control: "ipywidgets.Widget") -> list[tuple[str, object]]:  # type: ignore[name-defined]  # noqa: F821
    """The states to put a control into, as the front end would send them."""
    import ipywidgets

    if isinstance(control, ipywidgets.FloatLogSlider):
        return [("value", control.base**exponent) for exponent in (control.min, control.max)]
    if control.has_trait("index") and control.has_trait("options"):
        several = isinstance(control.index, tuple)
        return [("index", [i] if several else i) for i in range(len(control.options))]
    if isinstance(control, ipywidgets.Checkbox | ipywidgets.ToggleButton):
        return [("value", not control.value)]
    if all(control.has_trait(name) for name in ("min", "max", "value")):
        if isinstance(control.value, int | float):
            return [("value", control.min), ("value", control.max)]
        if isinstance(control.value, tuple):  # a slider with two handles
            return [("value", [end, end]) for end in (control.min, control.max)]
    return []


def _move_all() -> None:
    from ipywidgets.widgets import widget as registry

    put_off = _put_off()
    for control in list(registry._instances.values()):
        states = _stops(control)
        if not states or getattr(control, "disabled", False):
            continue
        name = getattr(control, "description", "") or type(control).__name__
        trait = states[0][0]
        before = getattr(control, trait)
        for _, state in [*states, (trait, list(before) if isinstance(before, tuple) else before)]:
            if trait == "index" and isinstance(state, int) and state >= len(control.options):
                continue  # the list has become shorter since: a placeholder went when something was picked
            try:
                control.set_state({trait: state})
                for action in [one for one in put_off if one._waiting is not None]:
                    put_off.remove(action)
                    action.finish()
            except Exception as error:
                said = f"{type(error).__name__}: {error}"
                raise AssertionError(f"{name!r} moved to {trait} = {state!r} fails: {said}") from error


def _put_off() -> list["augerbook.page.deferred.Deferred"]:  # type: ignore[name-defined]  # noqa: F821
    """What waits until a slider rests. Each is done once, at an end of the first slider that asks for it.

    Done at every stop, the sensitivities of the start page alone would take minutes.
    """
    if "augerbook.page.deferred" not in sys.modules:
        return []

    from augerbook.page.deferred import Deferred

    return [thing for thing in gc.get_objects() if isinstance(thing, Deferred)]


if "ipywidgets" in sys.modules:
    _move_all()
