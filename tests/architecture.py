"""Reads the imports of a source tree and names those that go against the house's arrows."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

# The core, lowest first: a layer may import itself and those before it.
CORE_LAYERS: tuple[tuple[str, ...], ...] = (
    ("fuelsys.units", "fuelsys.text"),
    ("fuelsys.document",),
    ("fuelsys.graph",),
    ("fuelsys.catalogue",),
    ("fuelsys.hydraulics", "fuelsys.cutting"),
    ("fuelsys.rules",),
    ("fuelsys.evaluation", "fuelsys.evaluation_json"),
    ("fuelsys.choice",),
)
# What knows Django in the core's package: the app itself and its commands.
CORE_BRIDGES = ("fuelsys.apps", "fuelsys.management")
CORE_LIBRARIES = ("yaml", "numpy", "scipy", "rfc8785")
# Reading a clock, the environment or the network would make the same facts give other answers.
CORE_FORBIDDEN = ("os", "time", "socket", "urllib", "random", "secrets", "subprocess", "asyncio")

SHOP_PURE = (
    "shop.csvout",
    "shop.drawing",
    "shop.environment",
    "shop.files",
    "shop.hin",
    "shop.invoicing",
    "shop.layouts",
    "shop.money",
    "shop.numbering",
    "shop.onelines",
    "shop.pricing",
    "shop.supervisor",
    "shop.work",
)
# The shop, lowest first. A layer may import those before it; what is not listed is free.
SHOP_LAYERS: tuple[tuple[str, ...], ...] = (
    ("shop.models",),
    ("shop.access", "shop.permissions", "shop.selectors", "shop.services"),
    (
        *("shop.forms", "shop.http", "shop.middleware", "shop.renderpool", "shop.followups"),
        "shop.verify",
    ),
    ("shop.views", "shop.tasks", "shop.management", "shop.urls"),
)


@dataclass(frozen=True)
class Import:
    """One import statement's target, as a dotted name, in the module that makes it."""

    module: str
    target: str
    line: int

    def __str__(self) -> str:
        return f"{self.module}:{self.line} imports {self.target}"


def within(name: str, packages: Sequence[str]) -> bool:
    return any(name == package or name.startswith(f"{package}.") for package in packages)


def layer_of(name: str, layers: Sequence[Sequence[str]]) -> int | None:
    return next((rank for rank, layer in enumerate(layers) if within(name, layer)), None)


def module_name(path: Path, root: Path) -> str:
    parts = path.relative_to(root).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_of(path: Path, root: Path) -> Iterator[Import]:
    """Every import anywhere in the file, inside functions and type-checking blocks as well."""
    module = module_name(path, root)
    package = module if path.name == "__init__.py" else module.rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Import(module, alias.name, node.lineno)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, *filter(None, [node.module])])
            for alias in node.names:
                yield Import(module, f"{base}.{alias.name}", node.lineno)


def all_imports(root: Path) -> list[Import]:
    files = [path for name in ("fuelsys", "shop") for path in sorted((root / name).rglob("*.py"))]
    return [found for path in files for found in imports_of(path, root)]


def upward(found: Import, layers: Sequence[Sequence[str]]) -> bool:
    here, there = layer_of(found.module, layers), layer_of(found.target, layers)
    return here is not None and there is not None and there > here


def core_faults(found: Import, standard_library: frozenset[str]) -> Iterator[str]:
    bridge = within(found.module, CORE_BRIDGES)
    if within(found.target, ("shop",)):
        yield "the core never imports the shop"
    if not bridge and within(found.target, CORE_BRIDGES):
        yield "the core does not import its Django side"
    if upward(found, CORE_LAYERS):
        yield "the core's arrows point to lower layers only"
    if bridge:
        return
    top = found.target.split(".")[0]
    if top in CORE_FORBIDDEN:
        yield "the core reads no clock, environment or network"
    elif top not in standard_library and top not in ("fuelsys", *CORE_LIBRARIES):
        yield "the core uses the standard library, numbers, YAML and JSON only"


def shop_faults(found: Import) -> Iterator[str]:
    if within(found.module, SHOP_PURE):
        if within(found.target, ("django", "celery", "kombu")):
            yield "this module is pure: no Django"
        if within(found.target, ("shop",)) and not within(found.target, SHOP_PURE):
            yield "a pure module imports pure modules only"
    if upward(found, SHOP_LAYERS):
        yield "models, then services and selectors, then views, tasks and commands"


def faults(imports: Sequence[Import], standard_library: frozenset[str]) -> Mapping[str, str]:
    """Return each forbidden import with the arrow that it goes against."""
    found: dict[str, str] = {}
    for one in imports:
        core = within(one.module, ("fuelsys",))
        against = list(core_faults(one, standard_library) if core else shop_faults(one))
        if against:
            found[str(one)] = "; ".join(against)
    return found
