"""The outcome marks: told apart by shape, drawn in the current color, always beside a word."""

from __future__ import annotations

from shop.drawing.canvas import SUN, number

PASS, FAIL, REVIEW = "pass", "fail", "review"
CANNOT_TELL, ADVICE, NOT_APPLICABLE = "cannot_tell", "advice", "not_applicable"

# On a grid of 16 units.
_SHAPES = {
    PASS: (
        '<circle cx="8" cy="8" r="6.4" fill="none" stroke="currentColor" stroke-width="1.7"/>'
        '<circle cx="8" cy="8" r="2" fill="currentColor"/>'
    ),
    FAIL: '<path d="M1 1H12L1 12ZM15 15H4L15 4Z" fill="currentColor"/>',
    REVIEW: (
        '<path d="M8 2L14.8 14.2H1.2Z" fill="none" stroke="currentColor" stroke-width="1.8" '
        'stroke-linejoin="round"/>'
    ),
    CANNOT_TELL: (
        '<path d="M1.6 1.6H14.4V14.4H1.6Z" fill="none" stroke="currentColor" stroke-width="1.9" '
        'stroke-dasharray="3.3 3.1" stroke-dashoffset="1.65"/>'
    ),
    ADVICE: (
        '<path d="M1.2 3H9.4L14.6 8L9.4 13H1.2Z" fill="none" stroke="currentColor" '
        'stroke-width="1.8" stroke-linejoin="round"/>'
    ),
    NOT_APPLICABLE: '<path d="M2 8H14" fill="none" stroke="currentColor" stroke-width="1.8"/>',
}
QUIET = frozenset({PASS, NOT_APPLICABLE})


def color_of(outcome: str) -> str:
    """Judgments that ask for something are overprinted; the quiet ones stay ink."""
    return "ink" if outcome in QUIET else "mark"


def mark(outcome: str, left: float, top: float, size: float) -> str:
    """The mark of one outcome in a square of `size` px."""
    color = color_of(outcome)
    return (
        f'<g class="d-{color}" color="{SUN[color]}" transform="translate({number(left)} '
        f'{number(top)}) scale({size / 16:.4f})">{_SHAPES[outcome]}</g>'
    )
