"""Which way imports run: no circle of modules, none of packages, and each layer only down.

Read from the text of every module, also what a function imports when it is called and what types alone want.
"""

import ast
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
APPS = ("inventory", "repairs", "config")
TOGETHER = {
    ("inventory.spec", "inventory.spec.kinds"),  # fits() asks a kind for its rules, which judge its cases
    (
        "inventory.markings",
        "inventory.pictures",
    ),  # a picture's text is a marking; a marking may have a picture
}
PURE = (
    "inventory.spec", "inventory.type_numbers", "inventory.part_words", "inventory.decoding",
    "inventory.part_lines",
    "inventory.design_facts", "repairs.planning", "repairs.proving", "repairs.friends.parcels",
    "repairs.friends.evidence", "repairs.friends.files", "repairs.friends.lists",
    "repairs.friends.signing",
)  # fmt: skip
"""What takes and returns plain values."""
ABOVE = {
    "inventory": ("repairs", "config"),
    "repairs.planning": ("repairs.models", "repairs.answers"),
    "repairs.proving": ("repairs.planning", "repairs.models", "repairs.answers"),
    "repairs.answers": ("repairs.api", "repairs.pages", "repairs.management"),
    "repairs.api": ("repairs.pages", "repairs.management"),
    "repairs.pages": ("repairs.management",),
    "inventory.api": ("inventory.pages", "inventory.management"),
    "inventory.pages": ("inventory.management",),
}
"""What does not import which: a layer, and those that stand on it or beside it."""


@cache
def modules() -> dict[str, Path]:
    found = {}
    for path in (path for app in APPS for path in sorted((ROOT / app).rglob("*.py"))):
        name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        found[name.removesuffix(".__init__")] = path
    return found


def imported(name: str) -> Iterator[tuple[str, int]]:
    """Every module that a module names in an import, ours or not, and the line."""
    for node in ast.walk(ast.parse(modules()[name].read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            here = name if modules()[name].name == "__init__.py" else name.rpartition(".")[0]
            above = here.split(".")[: len(here.split(".")) + 1 - node.level] if node.level else []
            origin = ".".join(filter(None, (*above, node.module)))
            for alias in node.names:
                whole = f"{origin}.{alias.name}"
                yield (whole if whole in modules() else origin), node.lineno


def lies_in(name: str, package: str) -> bool:
    return name == package or name.startswith(f"{package}.")


def package_of(name: str) -> str:
    """The folder that a module is in; what lies beside the folders of an app stands for itself."""
    package = name if modules()[name].name == "__init__.py" else name.rpartition(".")[0]
    return name if package in APPS else package


def arrows() -> dict[tuple[str, str], list[str]]:
    """From package to package, by which lines."""
    found: dict[tuple[str, str], list[str]] = {}
    for name in modules():
        for target, line in imported(name):
            if target in modules() and package_of(name) != package_of(target):
                found.setdefault((package_of(name), package_of(target)), []).append(
                    f"{name}:{line} imports {target}"
                )
    return found


def mutual(between: Iterable[tuple[str, str]]) -> set[tuple[str, str]]:
    there = set(between)
    return {(one, other) for one, other in there if one < other and (other, one) in there}


def test_two_folders_that_import_each_other_are_found() -> None:
    assert mutual([("a", "b"), ("b", "c"), ("b", "a")]) == {("a", "b")}


def test_no_two_folders_import_each_other() -> None:
    found = arrows()
    pairs = mutual(found)
    assert pairs == TOGETHER, [found[pair] + found[pair[::-1]] for pair in pairs - TOGETHER]


@pytest.mark.parametrize("lower", ABOVE)
def test_a_layer_imports_nothing_that_stands_on_it_or_beside_it(lower: str) -> None:
    wrong = [
        f"{name}:{line} imports {target}"
        for name in modules()
        if lies_in(name, lower)
        for target, line in imported(name)
        if any(lies_in(target, upper) for upper in ABOVE[lower])
    ]
    assert not wrong


@pytest.mark.parametrize("package", PURE)
def test_what_is_pure_imports_no_django_and_nothing_that_does(package: str) -> None:
    left = [name for name in modules() if lies_in(name, package)]
    assert left, "the package is gone"
    seen = set(left)
    while left:
        name = left.pop()
        for target, line in imported(name):
            assert target.split(".")[0] not in ("django", "rest_framework"), f"{name}:{line} imports {target}"
            if target in modules() and target not in seen:
                seen.add(target)
                left.append(target)
