"""What can be wrong with the joints of a document."""


class GraphError(ValueError):
    """A document whose parts cannot be joined: the message names the part and the id."""
