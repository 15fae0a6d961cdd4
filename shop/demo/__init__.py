"""The demonstration shop: an invented yard with three boats, their surveys and quotes."""
