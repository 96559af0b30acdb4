"""Run inside a notebook's kernel after its last cell: moves each control to its ends, as a reader would.

Says nothing if all callbacks return; otherwise prints which control failed, at which value, and how.
(Cells seldom move a slider, so executing them alone would not notice a callback that raises.)
"""


def _move_all() -> None:
    import sys
    import traceback

    if "ipywidgets" not in sys.modules:
        return
    import ipywidgets
    from ipywidgets.widgets import widget as registry

    def stops(control: ipywidgets.Widget) -> list[tuple[str, object]]:
        """The states to put a control into, as the front end would send them."""
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

    for control in list(registry._instances.values()):
        states = stops(control)
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
            except Exception:
                print(f"{name!r} moved to {trait} = {state!r}:\n{traceback.format_exc()}")
                return


_move_all()
