"""Django's SQLite backend with one difference: writers wait their turn on equal terms."""
