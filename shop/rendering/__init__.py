"""From HTML to a PDF in a limited child process that can fetch nothing but our own files."""
