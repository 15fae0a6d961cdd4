"""The style sheet of the drawings, for pages; papers read the colors in the SVG itself.

Classes
-------
`drawing` the SVG element, with `d-desk`, `d-paper` or `d-phone` (profiles: `d-profile` too);
`d-segment` the link of a segment, `d-chosen` the one looked at; `d-hit` the wide stretch a
pointer may touch.
`d-COLOR-line`, `d-COLOR-fill`, `d-COLOR-text` a stroke, an area, words in one of the colors
ink, soft, mark, paper, water, tint, sel, rule; `d-ink`, `d-mark` an outcome mark, drawn in the
current color; `d-shape` an outlined symbol with the ground inside.

Variables
---------
--paper --ink --soft --mark --water --tint --sel --rule, given by the page; where the page
gives none the sun theme of this sheet holds, and the dark one under `data-theme="dark"`.

`static/css/drawing.css` holds this text; a test compares them.
"""

from __future__ import annotations

from shop.drawing.canvas import SUN

DARK = {
    "paper": "#0D171E",
    "ink": "#EEF3F5",
    "soft": "#BAC7CE",
    "mark": "#FFA3D9",
    "water": "#152631",
    "tint": "#33162A",
    "sel": "#2B4A5C",
    "rule": "#3A4C57",
}


def _variables(colors: dict[str, str]) -> str:
    return "".join(f"  --d-{name}: var(--{name}, {value});\n" for name, value in colors.items())


def _rules() -> str:
    rules: list[str] = []
    for name in SUN:
        rules.append(f".drawing .d-{name}-line {{ stroke: var(--d-{name}); }}")
        rules.append(f".drawing .d-{name}-fill {{ fill: var(--d-{name}); }}")
    for name in ("ink", "soft", "mark", "paper"):
        rules.append(f".drawing .d-{name}-text {{ fill: var(--d-{name}); }}")
    for name in ("ink", "mark"):
        rules.append(f".drawing .d-{name} {{ color: var(--d-{name}); }}")
    return "\n".join(rules)


DRAWING_CSS = f"""\
/* Drawings of fuel systems. Written by shop/drawing/style.py; change it there. */
.drawing {{
{_variables(SUN)}  display: block;
  max-width: 100%;
  height: auto;
  font-family: "Atkinson Hyperlegible Next", "Atkinson Hyperlegible Next Variable", system-ui,
    sans-serif;
  font-feature-settings: "tnum";
}}
[data-theme="dark"] .drawing {{
{_variables(DARK)}}}
{_rules()}
.drawing .d-shape {{ fill: var(--d-paper); stroke: var(--d-ink); }}
.drawing a {{ cursor: pointer; text-decoration: none; }}
.drawing a:focus {{ outline: none; }}
.drawing a:focus-visible {{ outline: 3px solid var(--d-ink); outline-offset: 2px; }}
.drawing a:hover .d-hit,
.drawing a:focus-visible .d-hit {{ stroke: var(--d-sel); stroke-opacity: 0.5; }}
@media (forced-colors: active) {{
  .drawing {{
    --d-paper: Canvas;
    --d-ink: CanvasText;
    --d-soft: CanvasText;
    --d-mark: CanvasText;
    --d-water: Canvas;
    --d-tint: Canvas;
    --d-sel: Canvas;
    --d-rule: GrayText;
  }}
}}
"""
