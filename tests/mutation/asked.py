"""The tests that a mutant meets which no case finds, the likeliest first."""

from __future__ import annotations

TESTS = (
    "tests/fuelsys/rules/test_engine.py",
    "tests/fuelsys/rules/test_scope.py",
    "tests/fuelsys/rules/test_sentences.py",
    "tests/fuelsys/rules/test_permitted.py",
    "tests/fuelsys/rules/test_policy.py",
    "tests/fuelsys/rules/test_parameters.py",
    "tests/fuelsys/rules/test_inventory.py",
    "tests/fuelsys/rules/test_information.py",
    "tests/fuelsys/evaluation",
    "tests/fuelsys/test_examples.py",
    "tests/fuelsys/test_evaluation.py",
)
# Not asked: another process knows nothing of the mutant; the other takes as long as all the rest.
# What only they would find counts as a survivor.
NOT_ASKED = (
    "test_the_same_document_gives_the_same_bytes_in_another_process",
    "test_taking_a_fact_away_never_clears_a_segment",
)
OPTIONS = (
    *("-q", "-x", "-n", "0", "-p", "no:randomly", "-p", "no:cacheprovider"),
    *(f"--deselect=tests/fuelsys/test_evaluation.py::{name}" for name in NOT_ASKED),
)
