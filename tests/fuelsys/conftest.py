"""For the core's tests: how Hypothesis runs them."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

# How long one example takes says more of the machine than of the code; `make bench` measures.
settings.register_profile(
    "core", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("core")
