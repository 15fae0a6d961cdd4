"""From a document to its graph: who joins whom, and nothing judged."""

from __future__ import annotations

from fuelsys.document.model import Document
from fuelsys.graph.model import Graph


def build(document: Document) -> Graph:
    """Assemble the graph of a document.

    Parameters
    ----------
    document : Document
        A fuel system whose segments name components that exist.

    Returns
    -------
    Graph
        Look-ups, neighbors and lines. Odd shapes (a loop, a part that hangs alone) are
        kept as they are: what can be said of them is for the computations to decide.

    Raises
    ------
    GraphError
        An id stands twice; a segment or component names one that does not exist; feed
        segments rejoin so often that more than 2000 paths lead to the engines.

    Valid for
    ---------
    Documents of format fuel-system/1.

    Source
    ------
    The project's own definition.

    Examples
    --------
    >>> from fuelsys.document.model import Component, Document, Segment
    >>> graph = build(Document(
    ...     components=(Component("T1-P", "withdrawal"), Component("ENG", "fuel_pump")),
    ...     segments=(Segment("S1", "feed", "T1-P", "ENG"),),
    ... ))
    >>> [line.components for line in graph.lines]
    [('T1-P', 'ENG')]
    """
    return Graph(document)
