"""Contrast of the tokens, by the formula of WCAG 2.2 (relative luminance, contrast ratio)."""

import re
from pathlib import Path

import pytest

TOKENS = (Path(__file__).parents[2] / "static" / "css" / "tokens.css").read_text(encoding="utf-8")
GROUNDS = ("paper", "water", "tint")


def theme(selector: str) -> dict[str, str]:
    block = TOKENS.split(f"{selector} {{", 1)[1].split("}", 1)[0]
    return dict(re.findall(r"--([a-z]+): (#[0-9A-F]{6});", block))


SUN, DARK = theme("\n:root"), theme(':root[data-theme="dark"]')


def luminance(color: str) -> float:
    parts = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_on_its_known_ends() -> None:
    # WCAG 2.2, definition of contrast ratio: 21:1 for black on white, 1:1 for a color on itself.
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#777777", "#777777") == pytest.approx(1)


@pytest.mark.parametrize("colors", [SUN, DARK], ids=["sun", "dark"])
@pytest.mark.parametrize("text", ["ink", "soft", "mark"])
def test_text_reads_at_seven_to_one_on_every_ground(colors: dict[str, str], text: str) -> None:
    assert min(contrast(colors[text], colors[ground]) for ground in GROUNDS) >= 7


@pytest.mark.parametrize("colors", [SUN, DARK], ids=["sun", "dark"])
def test_edges_of_controls_show_at_three_to_one(colors: dict[str, str]) -> None:
    assert min(contrast(colors["edge"], colors[ground]) for ground in GROUNDS) >= 3


def test_both_themes_name_the_same_colors() -> None:
    assert SUN.keys() == DARK.keys()
