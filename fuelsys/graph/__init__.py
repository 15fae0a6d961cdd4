"""A boat's fuel system as components joined by segments."""

from fuelsys.graph.build import build
from fuelsys.graph.errors import GraphError
from fuelsys.graph.geometry import Pocket, Polyline
from fuelsys.graph.lines import Line
from fuelsys.graph.model import Graph

__all__ = ["Graph", "GraphError", "Line", "Pocket", "Polyline", "build"]
