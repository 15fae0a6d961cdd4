"""The three sizes of a drawing; each is drawn anew, none is scaled from another."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Size:
    """Measures of one size in px; a paper px is 1/96 in."""

    name: str
    width: float
    text: float  # text size
    height: float  # of the whole range of heights, aimed at
    per_in_most: float  # px an inch of height, at most
    along_most: float  # px an inch along a hose, at most
    stroke: float  # line widths against those of the desk
    symbol: float  # symbols against those of the desk
    circle: float  # radius of a segment number
    tank: float  # width of a tank
    staff: float  # right edge of the height staff
    edge: float  # clear room beside the outermost part
    margin: float  # clear room above the highest and below the lowest line
    gutter: float  # between the lines and a lane

    @property
    def line(self) -> float:
        return self.text * 1.3


DESK = Size(
    name="desk", width=1376, text=13, height=400, per_in_most=9, along_most=8, stroke=1,
    symbol=1, circle=13, tank=200, staff=44, edge=36, margin=34, gutter=14,
)  # fmt: skip
PAPER = Size(
    name="paper", width=680, text=9.4, height=236, per_in_most=5, along_most=4, stroke=0.62,
    symbol=0.7, circle=9, tank=96, staff=32, edge=26, margin=24, gutter=10,
)  # fmt: skip
PHONE = Size(
    name="phone", width=328, text=11, height=128, per_in_most=3, along_most=2, stroke=0.5,
    symbol=0.52, circle=9, tank=46, staff=28, edge=14, margin=20, gutter=8,
)  # fmt: skip
SIZES = {size.name: size for size in (DESK, PAPER, PHONE)}
