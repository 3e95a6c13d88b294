"""The packages that the project rests on: declared, used, and all of them pinned for the tests.

Names and versions are compared as the Python Packaging User Guide specifies ("Names and normalization", "Version
specifiers", "Dependency specifiers"); ``packaging`` is its reference library.
"""

from __future__ import annotations

import ast
import sys
import tomllib
from collections.abc import Iterable, Iterator
from importlib.metadata import PackageNotFoundError, distribution, packages_distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
ROOMS = ("app", "engraving", "analysis")
# Dependencies that no line imports: programs, a plugin of pytest, types for the type checker, a package read as data.
NOT_IMPORTED = {"ruff", "mypy", "import-linter", "pytest-xdist", "lxml-stubs", "types-tqdm", "musicxml"}
# Where the tests run, in the terms of the specification "Dependency specifiers".
PINNED_FOR = {"python_version": "3.11", "sys_platform": "linux", "platform_system": "Linux", "os_name": "posix"}


@pytest.fixture(scope="module")
def project():
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def pins():
    """The pinned version of each package, by its normalized name."""
    lines = (ROOT / ".ci" / "constraints.txt").read_text(encoding="ascii").splitlines()
    requirements = [Requirement(line) for line in lines]
    return {canonicalize_name(one.name): one for one in requirements}


def names(requirements: Iterable[str]) -> set[str]:
    return {canonicalize_name(Requirement(text).name) for text in requirements}


def declared(project) -> list[str]:
    return [*project["build-system"]["requires"], *project["project"]["dependencies"], *developing(project)]


def developing(project) -> list[str]:
    return project["project"]["optional-dependencies"]["dev"]


def imported(folders: Iterable[str]) -> set[str]:
    """The packages that the modules of some folders import, by the names under which they are installed."""
    modules = {name for folder in folders for path in (ROOT / folder).rglob("*.py") for name in modules_of(path)}
    known = packages_distributions()
    outside = modules - set(sys.stdlib_module_names) - {*ROOMS, "tests"}
    return {canonicalize_name(name) for module in outside for name in known.get(module, [module])}


def modules_of(path: Path) -> Iterator[str]:
    """The top names of what a module imports, anywhere in it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            yield node.module.partition(".")[0]


def test_the_program_imports_what_it_declares_and_nothing_else(project):
    assert imported(ROOMS) == names(project["project"]["dependencies"])


def test_the_tests_import_what_is_declared_and_nothing_else_is_declared(project):
    running, working = names(project["project"]["dependencies"]), names(developing(project))
    used = imported(["tests"])
    assert used - running == working - NOT_IMPORTED
    assert working >= NOT_IMPORTED


def test_every_dependency_has_a_lower_bound(project):
    bare = [text for text in declared(project) if not any(one.operator == ">=" for one in Requirement(text).specifier)]
    assert bare == []


def test_constraints_are_exact_versions_and_name_no_place(pins):
    assert [str(one) for one in pins.values() if one.url or one.extras or one.marker] == []
    assert [str(one) for one in pins.values() if [part.operator for part in one.specifier] != ["=="]] == []


def test_constraints_are_within_what_is_declared(project, pins):
    for requirement in map(Requirement, declared(project)):
        (pin,) = pins[canonicalize_name(requirement.name)].specifier
        assert requirement.specifier.contains(pin.version, prereleases=True), requirement


def test_all_that_is_installed_for_the_tests_is_pinned(project, pins):
    needed = set()
    left = [Requirement(text) for text in declared(project)]
    while left:
        name = canonicalize_name(left.pop().name)
        if name not in needed:
            needed.add(name)
            left += needs_of(name, pins)
    assert needed - set(pins) == set()


def needs_of(name: str, pins) -> list[Requirement]:
    """What a package needs, as its installed version says; a version that is not the pinned one tells nothing."""
    try:
        found = distribution(name)
    except PackageNotFoundError:
        return []
    if str(pins.get(name, Requirement(name)).specifier) not in ("", f"=={found.version}"):
        return []
    every = [Requirement(text) for text in found.requires or []]
    return [one for one in every if one.marker is None or one.marker.evaluate({**PINNED_FOR, "extra": ""})]
