"""The style sheet holds without colour, and says which style was meant."""

import itertools

import matplotlib as mpl
import pytest
from augerbook.draw.style import FONT_FAMILY, HATCHES, LOOKS, PAPER, TEXTS, house_style, look, text_look, text_width
from matplotlib.colors import to_rgb
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath


def _luminance(colour: str) -> float:
    """Relative luminance as defined by WCAG 2.1."""
    parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def _contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


COLD_BODIES = ["metal", "wall", "screw", "plate", "bearing", "void"]
BODIES = [*COLD_BODIES, "plastic", "grain", "jammed", "soft", "melt", "hot"]


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(BODIES, 2)))
def test_bodies_differ_in_grey_or_in_hatch(one: str, other: str) -> None:
    a, b = LOOKS[one], LOOKS[other]
    assert a.fill and b.fill
    assert a.hatch != b.hatch or _contrast(a.fill, b.fill) > 1.25


def test_curves_differ_by_their_dashes() -> None:
    dashes = [LOOKS[name].dash for name in ("main", "second", "third", "fourth", "limit")]
    assert len(set(dashes)) == len(dashes)


@pytest.mark.parametrize("name", sorted(TEXTS))
def test_text_stands_out_from_the_paper(name: str) -> None:
    # 4.5 : 1 is the limit of WCAG 2.1, success criterion 1.4.3
    assert _contrast(TEXTS[name].colour, PAPER) >= 4.5


def test_every_hatch_used_is_known() -> None:
    assert {style.hatch for style in LOOKS.values()} - {None} <= set(HATCHES)


def test_an_unknown_style_names_the_nearest() -> None:
    with pytest.raises(ValueError, match="Did you mean 'screw'"):
        look("scrw")
    with pytest.raises(ValueError, match="Did you mean 'label'"):
        text_look("lable")


@pytest.mark.parametrize("text", ["tip gap 0.4 mm", "F = 300 N", "softens at 100 °C", "WIDE MARGIN 80 %"])
@pytest.mark.parametrize("style", ["label", "strong"])
def test_the_estimated_width_of_a_text_is_enough_and_not_wasteful(text: str, style: str) -> None:
    chosen = text_look(style)
    font = FontProperties(family=FONT_FAMILY, weight="bold" if chosen.bold else "normal")
    drawn = TextPath((0, 0), text, size=chosen.size, prop=font).get_extents().width
    assert drawn <= text_width(text, style) <= 1.25 * drawn


def test_the_house_style_ignores_and_restores_the_readers_settings() -> None:
    with mpl.rc_context({"lines.linewidth": 77.0, "font.size": 55.0}):
        with house_style():
            assert mpl.rcParams["lines.linewidth"] == mpl.rcParamsDefault["lines.linewidth"]
            assert mpl.rcParams["font.size"] < 20
        assert mpl.rcParams["lines.linewidth"] == 77.0
        assert mpl.rcParams["font.size"] == 55.0
