"""Drawings of fuel systems as SVG, made on the server and free of any framework."""

from shop.drawing.profile import draw_profile
from shop.drawing.system import Drawing, draw_sheets, draw_system

__all__ = ["Drawing", "draw_profile", "draw_sheets", "draw_system"]
