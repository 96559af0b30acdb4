"""What people typed stays text: in Markdown as notebooks are exported with, in BBCode, in plain text."""

import re
from html.parser import HTMLParser

import pytest
from augerbook.core.markup import for_markdown, for_plain, one_line
from hypothesis import given
from hypothesis import strategies as st
from nbconvert.filters.markdown import markdown2html

NASTY = [
    "<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "```", "`a` ``b`` ```c```", "``", "`", "[/code]",
    "[code]", "[url=http://e]x[/url]", "a|b|c", "a\nb\n\nc", "# head", "**bold** _slanted_ ~~gone~~",
    "[text](javascript:alert(1))", "![image](http://e/x.png)", "http://e.org", "www.e.org", "a@b.org", "@all",
    r"$\href{javascript:alert(1)}{x}$", r"\(x\) \[y\] \begin{align}", "&lt;b&gt; &amp;", "\u202e\u0000\u0007", "a  b",
    "invented: 8 mm bore, coach screw (x 1/2)", '"quoted"', "it's", "100 %", "3 µm²", "- 1", "> so", "1. x",
]  # fmt: skip
names = st.text(max_size=60) | st.lists(st.sampled_from(NASTY) | st.text(max_size=6), max_size=6).map("".join)


class Parsed(HTMLParser):
    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.add(tag)

    def handle_data(self, data: str) -> None:
        self.text += data


def is_inert(name: str) -> None:
    shown = Parsed(markdown2html(f"Build: {for_markdown(name)}"))
    assert shown.tags <= {"p", "code"}, shown.tags
    visible = " ".join(shown.text.replace("\u200b", "").split())
    assert visible == f"Build: {' '.join(one_line(name).replace(chr(0x200B), '').split())}".strip()


@pytest.mark.parametrize("name", NASTY)
def test_what_looks_like_markup_stays_text(name: str) -> None:
    is_inert(name)
    assert "\n" not in for_markdown(name) and "\n" not in for_plain(name)


@given(names)
def test_whatever_was_typed_stays_text(name: str) -> None:
    is_inert(name)
    for text in (for_markdown(name), for_plain(name)):
        assert "\n" not in text and "```" not in text
    assert not re.search(r"\[/?[a-zA-Z]|<[a-zA-Z/!?]", for_plain(name))
    assert for_plain(name).replace("\u200b", "") == one_line(name).replace("\u200b", "")


def test_what_means_nothing_is_left_as_it_is() -> None:
    for name in ("otter", "invented: 8 mm bore, coach screw (3/4 inch), for 100 % regrind", 'the "blue" one'):
        assert for_markdown(name) == name == for_plain(name)
