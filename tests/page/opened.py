"""What tests open at once that a person opens one by one."""

from augerbook.page.all_values import AllValues


def open_all(values: AllValues) -> None:
    """Open the tab of each part, as somebody does who clicks through them."""
    for place in range(len(values.tabs.children)):
        values.tabs.selected_index = place
