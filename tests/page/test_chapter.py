"""What chapters show: Markdown, and its plain form."""

from augerbook.page.chapter import Markdown


def test_a_short_text_is_its_own_plain_form() -> None:
    text = "| screw | pitch |\n|---|---|\n| M6 | 1 mm |"
    assert Markdown(text)._repr_markdown_() == repr(Markdown(text)) == text


def test_a_long_table_is_cut_at_a_line_and_says_how_much_is_left() -> None:
    lines = [f"| row {number} | {'x' * 40} |" for number in range(100)]
    text = Markdown("\n".join(lines))
    assert text._repr_markdown_() == "\n".join(lines)
    *shown, last = repr(text).splitlines()
    assert shown == lines[: len(shown)] and 10 < len(shown) < 40
    assert last == f"... and {100 - len(shown)} more lines"


def test_a_long_paragraph_is_not_cut_in_the_middle() -> None:
    assert repr(Markdown("word " * 1000)) == "word " * 1000
