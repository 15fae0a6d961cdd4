"""The parts of a fuel system as glyphs, drawn around their port at (0, 0).

Each glyph is written for the desk and set at the scale of the size. `turn` is 1
or -1: the direction along x in which the fuel flows, or in which the part faces.
Pump, filter, non-return valve and shut-off valve follow the basic symbols of
ISO 1219-1 from general knowledge; the rest are the drawing's own.
"""

from __future__ import annotations

from dataclasses import dataclass

from shop.drawing.canvas import SUN, number
from shop.drawing.geometry import Box

_ROOM = Box(-8, -8, 8, 8)


@dataclass(frozen=True, slots=True)
class Glyph:
    """Pieces of one symbol: outlined, open and solid; and the room it takes."""

    outlined: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    solid: tuple[str, ...] = ()
    dashed: tuple[str, ...] = ()
    heavy: tuple[str, ...] = ()
    room: Box = _ROOM


def _disk(radius: float) -> str:
    r = number(radius)
    return f"M-{r} 0A{r} {r} 0 1 1 {r} 0A{r} {r} 0 1 1 -{r} 0Z"


_PUMP = Glyph((_disk(11),), solid=("M-5.5 -8.5L10.5 0L-5.5 8.5Z",), room=Box(-12, -12, 12, 12))
_FILTER = Glyph(
    ("M0 -12L12 0L0 12L-12 0Z",), dashed=("M0 -12V12",), room=Box(-12.5, -12.5, 12.5, 12.5)
)
# A ball in its seat over a nipple: closed to what would run back or siphon.
_VALVED_NIPPLE = Glyph(
    ("M-4.5 10V5H4.5V10", "M-5 -3.5A5 5 0 1 1 5 -3.5A5 5 0 1 1 -5 -3.5Z"),
    ("M-9.5 5L0 -11L9.5 5",),
    room=Box(-10.5, -12, 10.5, 10),
)
_NIPPLE = Glyph(("M-4 10V-3H4V10",), room=Box(-5, -4, 5, 10))
SIDE_NIPPLE = Glyph(("M-10 -4H3V4H-10",), room=Box(-10, -5, 4, 5))
_DECK_FILL = Glyph(
    ("M-7 0V-5H7V0",), solid=("M-4 -5V-9H4V-5Z",), heavy=("M-36 0H36",), room=Box(-37, -10, 37, 2)
)
_VENT = Glyph(
    ("M0 -5H8V5H0",),
    ("M11.5 -5V5M14.5 -4V4M17.5 -3V3",),
    heavy=("M0 -13V13",),
    room=Box(-2, -14, 19, 14),
)
_BULB = Glyph(
    ("M-17 0C-10 -11 10 -11 17 0C10 11 -10 11 -17 0Z",),
    ("M-7 0H5",),
    ("M3 -4L10 0L3 4Z",),
    room=Box(-18, -9.5, 18, 9.5),
)
_INLET = Glyph((), ("M13 -10H0V10H13",), heavy=("M-7 0H6",), room=Box(-8, -11, 14, 11))
_RAIL = Glyph(
    (),
    ("M3 -10.5H10M3 -3.5H10M3 3.5H10M3 10.5H10",),
    heavy=("M0 -14V14",),
    room=Box(-3, -15, 11, 15),
)
_SHUTOFF = Glyph(("M-12 -8L12 8V-8L-12 8Z",), room=Box(-13, -9, 13, 9))
_STOP_VALVE = Glyph(
    ("M-12 -8L12 8V-8L-12 8Z", "M-5 -19H5V-11H-5Z"), ("M0 -11V0",), room=Box(-13, -20, 13, 9)
)
_CHECK = Glyph((_disk(5),), ("M2 -9L-7 0L2 9", "M-7 -9V9"), room=Box(-9, -10, 7, 10))
_TEE = Glyph(solid=(_disk(5),), room=Box(-6, -6, 6, 6))
_SELECTOR = Glyph((_disk(11),), ("M-11 0H0L8 -7.5M0 0L8 7.5",), room=Box(-12, -12, 12, 12))
_CONNECTOR = Glyph((), ("M-8 -8H-2V8H-8M8 -8H2V8H8",), room=Box(-9, -9, 9, 9))
_SEPARATOR = Glyph(("M-9 -13H9V13H-9Z",), ("M-9 2H9",), room=Box(-10, -14, 10, 14))
_CANISTER = Glyph(
    ("M-13 -9H13V9H-13Z",), ("M-6 -9L-13 0M2 -9L-12 9M10 -9L-4 9M13 -3L4 9",),
    room=Box(-14, -10, 14, 10),
)  # fmt: skip
_DRAIN = Glyph(("M-4 -10V3H4V-10",), room=Box(-5, -10, 5, 4))
_PLAIN = Glyph((_disk(4.5),), room=Box(-6, -6, 6, 6))

_GLYPHS = {
    "fuel_pump": _PUMP,
    "transfer_pump": _PUMP,
    "filter": _FILTER,
    "withdrawal": _NIPPLE,
    "fill_spud": _NIPPLE,
    "vent_nipple": _NIPPLE,
    "return_fitting": _NIPPLE,
    "deck_fill": _DECK_FILL,
    "vent_fitting": _VENT,
    "primer_bulb": _BULB,
    "engine_inlet": _INLET,
    "carburetor": _INLET,
    "fuel_rail": _RAIL,
    "shutoff_valve": _SHUTOFF,
    "electric_stop_valve": _STOP_VALVE,
    "anti_siphon_valve": _CHECK,
    "tee": _TEE,
    "selector_valve": _SELECTOR,
    "connector": _CONNECTOR,
    "vapor_separator": _SEPARATOR,
    "canister": _CANISTER,
    "drain_fitting": _DRAIN,
}
FACES_OUTWARD = frozenset({"vent_fitting", "engine_inlet", "carburetor", "fuel_rail"})
HELD = frozenset({"spring_valve", "electric_stop_valve"})


def glyph_of(kind: str, anti_siphon: str | None = None) -> Glyph:
    if kind == "withdrawal" and anti_siphon in HELD:
        return _VALVED_NIPPLE
    return _GLYPHS.get(kind, _PLAIN)


def room_of(glyph: Glyph, at: tuple[float, float], turn: int, scale: float) -> Box:
    """The box a glyph takes at its place."""
    sides = sorted((glyph.room.left * turn, glyph.room.right * turn))
    return Box(
        at[0] + sides[0] * scale,
        at[1] + glyph.room.top * scale,
        at[0] + sides[1] * scale,
        at[1] + glyph.room.bottom * scale,
    )


def draw(glyph: Glyph, at: tuple[float, float], turn: int, scale: float) -> str:
    """One glyph; the stroke keeps a readable width at every size."""
    width = number(max(1.0, 1.8 * scale) / scale)
    heavy = number(max(1.2, 3.2 * scale) / scale)
    ink, paper = SUN["ink"], SUN["paper"]
    pieces = [
        *(_piece("d-shape", d, paper, ink, width) for d in glyph.outlined),
        *(_piece("d-ink-line", d, "none", ink, width) for d in glyph.open),
        *(
            _piece("d-ink-line", d, "none", ink, width, ' stroke-dasharray="4.2 3"')
            for d in glyph.dashed
        ),
        *(_piece("d-ink-line", d, "none", ink, heavy) for d in glyph.heavy),
        *(f'<path class="d-ink-fill" d="{d}" fill="{ink}"/>' for d in glyph.solid),
    ]
    return (
        f'<g transform="translate({number(at[0])} {number(at[1])}) '
        f'scale({number(turn * scale)} {number(scale)})" pointer-events="none">'
        f"{''.join(pieces)}</g>"
    )


def stem(x: float, y: float, top: float, scale: float) -> str:
    """The pipe that carries a fitting whose port stands well above its tank."""
    half = 4 * scale
    foot = f"{number(y)}V{number(top)}"
    d = f"M{number(x - half)} {foot}M{number(x + half)} {foot}"
    return (
        f'<path class="d-ink-line" d="{d}" fill="none" stroke="{SUN["ink"]}" '
        f'stroke-width="{number(max(1.0, 1.8 * scale))}"/>'
    )


def _piece(kind: str, d: str, inside: str, line: str, width: str, more: str = "") -> str:
    return (
        f'<path class="{kind}" d="{d}" fill="{inside}" stroke="{line}" '
        f'stroke-width="{width}" stroke-linejoin="round"{more}/>'
    )
