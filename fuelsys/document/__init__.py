"""The fuel-system document: parsed, checked, normalised, and its JSON Schema."""

from fuelsys.document.model import Document
from fuelsys.document.problems import InputProblems, Problem
from fuelsys.document.read import read, read_bytes, read_object

__all__ = ["Document", "InputProblems", "Problem", "read", "read_bytes", "read_object"]
