from html.parser import HTMLParser

from augerbook.page.copy_box import CopyBox, copy_html


class Found(HTMLParser):
    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def test_without_a_text_the_button_is_off_and_says_so() -> None:
    box = CopyBox("Copy this build")
    found = Found(box.widget.value)
    assert "Nothing to copy yet" in found.text and "disabled" in found.tags[1][1]
    box.show("format = 1\n")
    found = Found(box.widget.value)
    assert found.text == "Copy this buildformat = 1\n" and "disabled" not in found.tags[1][1]
    box.show("")
    assert "Nothing to copy yet" in box.widget.value


def test_the_text_stands_in_the_box_letter_by_letter() -> None:
    text = "</textarea><script>alert('x')</script> & \"quotes\" `ticks`\n"
    found = Found(copy_html(text, "Copy <b>'this'\""))
    assert [tag for tag, _ in found.tags] == ["div", "button", "textarea"]
    assert found.text == "Copy <b>'this'\"" + text
    assert found.tags[1][1]["data-words"] == "Copy <b>'this'\"" == found.tags[2][1]["aria-label"]
