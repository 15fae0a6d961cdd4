"""Fluid computations: what runs, how fast, and how much runs out of a cut hose."""
