"""Hose and clamp products, and which of them go together. No makers' names."""
