"""The interface for programs: the same services and selectors as the pages, spoken in JSON."""
