"""Every example in a docstring of the core, run as it stands."""

from __future__ import annotations

import doctest
import pkgutil
from importlib import import_module

import pytest

import fuelsys

MODULES = [
    found.name
    for found in pkgutil.walk_packages(fuelsys.__path__, "fuelsys.")
    if not found.name.startswith(("fuelsys.apps", "fuelsys.management"))
]


@pytest.mark.parametrize("name", MODULES)
def test_examples_of(name: str) -> None:
    assert doctest.testmod(import_module(name)).failed == 0


def test_there_are_examples_to_run() -> None:
    tried = sum(doctest.testmod(import_module(name)).attempted for name in MODULES)
    assert tried > 60


def test_twin_a_wrong_example_is_found() -> None:
    wrong = doctest.DocTestParser().get_doctest(">>> 1 + 1\n3\n", {}, "planted", None, None)
    assert doctest.DocTestRunner(verbose=False).run(wrong, out=lambda text: None).failed == 1
