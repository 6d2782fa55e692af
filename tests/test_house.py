"""How the house is laid out: which folder may import what, and what every module owes its reader."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from fnmatch import fnmatch
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).parents[1]
PROJECT = tomllib.loads((REPOSITORY / "pyproject.toml").read_text(encoding="utf-8"))["project"]

FILES = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "Makefile", "pyproject.toml", "requirements.lock"}
CODE_FOLDERS = ("schema", "pipeline", "db", "planner")

ALLOWED = {
    "schema": {"schema"},
    "pipeline": {"schema", "pipeline"},
    "db": {"schema", "db"},
    "planner": {"schema", "db", "planner"},
}
"""Folders of the project that each folder may import; the commands of the write side are the exception, told below."""

WRITE_SIDE = {("planner/cli.py", "_pipeline"), ("planner/refresh_cli.py", "_refreshing")}
"""The functions of the planner that reach the pipeline: the commands that rebuild or refresh call them."""

READ_SIDE = {"", "errors", "identifiers", "names", "properties", "equations"}
"""Modules of `schema` that the query module needs, the package itself among them."""

LIBRARIES = {
    "schema": {"core", "pipeline"},
    "pipeline": {"core", "pipeline"},
    "db": {"core"},
    "planner": {"core", "planner"},
}
"""Whose declared dependencies a folder may import: the core's, or those of an extra."""

OPTIONAL = {("db/search.py", "rdkit"), ("planner/atlas_cluster.py", "distributed")}
"""Imported in a function, where it is asked for: RDKit to look up a SMILES, Dask to work on a cluster."""

MOST_LINES = 400

CODE = sorted(path for folder in CODE_FOLDERS for path in (REPOSITORY / folder).rglob("*.py"))
TESTS = sorted((REPOSITORY / "tests").rglob("*.py"))


def label(path: Path) -> str:
    """The path from the top of the repository."""
    return path.relative_to(REPOSITORY).as_posix()


every_module = pytest.mark.parametrize("path", CODE, ids=label)


@dataclass(frozen=True)
class Import:
    """A module that a module imports, the function in which it does, and whether only type checkers see it."""

    module: str
    function: str | None
    for_types: bool

    @property
    def folder(self) -> str | None:
        """Folder of the project that is imported, None for a library."""
        parts = self.module.split(".")
        return parts[1] if parts[0] == "cutpoint" else None

    @property
    def library(self) -> str:
        """Name under which a library, or the project, is imported."""
        return self.module.split(".")[0]


def imports(path: Path) -> list[Import]:
    """Every import of a module, relative ones written out."""
    return list(_within(ast.parse(path.read_text(encoding="utf-8")), _package(path), None, False))


def _package(path: Path) -> list[str]:
    """The package to which the relative imports of a module refer."""
    return ["cutpoint", *path.relative_to(REPOSITORY).parent.parts]


def _imported(origin: list[str], name: str) -> str:
    """The module that `from origin import name` needs: `name` may be a module itself, or stand in one."""
    place = REPOSITORY.joinpath(*origin[1:], name)
    is_module = origin[0] == "cutpoint" and (place.is_dir() or place.with_suffix(".py").is_file())
    return ".".join([*origin, name] if is_module else origin)


def _within(node: ast.AST, package: list[str], function: str | None, for_types: bool) -> Iterator[Import]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Import):
            yield from (Import(name.name, function, for_types) for name in child.names)
        elif isinstance(child, ast.ImportFrom):
            base = package[: len(package) - child.level + 1] if child.level else []
            origin = [*base, *(child.module.split(".") if child.module else [])]
            yield from (Import(_imported(origin, name.name), function, for_types) for name in child.names)
        else:
            inside = child.name if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef) else None
            guarded = isinstance(child, ast.If) and ast.unparse(child.test) == "TYPE_CHECKING"
            yield from _within(child, package, function or inside, for_types or guarded)


def test_the_folders_at_the_top_are_the_declared_ones() -> None:
    ignored = (REPOSITORY / ".gitignore").read_text(encoding="utf-8").split()
    there = {path.name for path in REPOSITORY.iterdir() if path.is_dir() and not path.name.startswith(".")}
    made = {name for name in there if any(fnmatch(f"{name}/", pattern) for pattern in ignored)}
    assert there - made == {*CODE_FOLDERS, "tests"}
    assert {name for name in FILES if not (REPOSITORY / name).is_file()} == set()
    assert (REPOSITORY / ".ci" / "run").is_file()


def test_tests_mirror_the_code() -> None:
    folders = {path.name for path in (REPOSITORY / "tests").iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert folders == {*CODE_FOLDERS, "published", "benchmarks"}


@every_module
def test_imports_point_down(path: Path) -> None:
    allowed = ALLOWED[label(path).split("/")[0]]
    upward = [found for found in imports(path) if found.folder is not None and found.folder not in allowed]
    if label(path).startswith("planner/"):
        upward = [
            found
            for found in upward
            if not (found.folder == "pipeline" and (found.for_types or (label(path), found.function) in WRITE_SIDE))
        ]
    assert upward == []


@pytest.mark.parametrize("path", [path for path in CODE if label(path).startswith("db/")], ids=label)
def test_the_query_module_needs_only_the_light_part_of_the_schema(path: Path) -> None:
    needed = {found.module for found in imports(path) if found.folder == "schema"}
    assert needed <= {f"cutpoint.schema.{module}".rstrip(".") for module in READ_SIDE}


@pytest.mark.parametrize("module", sorted(READ_SIDE))
def test_the_light_part_of_the_schema_imports_nothing_heavier_than_numpy(module: str) -> None:
    found = imports(REPOSITORY / "schema" / f"{module or '__init__'}.py")
    own = {f"cutpoint.schema.{part}".rstrip(".") for part in READ_SIDE}
    assert {part.module for part in found if part.folder is not None} <= own
    assert {part.library for part in found if part.folder is None} <= {*sys.stdlib_module_names, "numpy"}


@every_module
def test_a_folder_uses_only_the_libraries_that_are_declared_for_it(path: Path) -> None:
    declared = {"core": PROJECT["dependencies"], **PROJECT["optional-dependencies"]}
    parts = LIBRARIES[label(path).split("/")[0]]
    usable = {re.split(r"[^\w-]", requirement)[0].replace("-", "_") for part in parts for requirement in declared[part]}
    used = {
        found.library
        for found in imports(path)
        if not found.for_types and not (found.function and (label(path), found.library) in OPTIONAL)
    }
    assert used <= {*sys.stdlib_module_names, *usable, "cutpoint"}


@pytest.mark.parametrize("path", [*CODE, *TESTS], ids=label)
def test_no_module_is_long(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


@every_module
def test_what_is_public_has_a_docstring(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree)
    assert [name for name, node in _public(tree) if not ast.get_docstring(node)] == []


Definition = ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef


def _public(tree: ast.Module | ast.ClassDef, inside: str = "") -> Iterator[tuple[str, Definition]]:
    """Public classes, functions and methods; typing overloads speak through their implementation."""
    for node in tree.body:
        if not isinstance(node, Definition) or node.name.startswith("_") or _is_overload(node):
            continue
        name = f"{inside}{node.name}"
        # pandera reads the settings of a table from a class that is always called so.
        if name.endswith(".Config"):
            continue
        yield name, node
        if isinstance(node, ast.ClassDef):
            yield from _public(node, f"{name}.")


def _is_overload(node: Definition) -> bool:
    return any(ast.unparse(decorator) == "overload" for decorator in node.decorator_list)


def _locked() -> dict[str, str]:
    """Text of each package's entry in the lock file, comments left out, by normalised name."""
    text = (REPOSITORY / "requirements.lock").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.lstrip().startswith("#")]
    entries = re.split(r"\n(?=\S)", "\n".join(lines).strip())
    return {_normalised(re.split(r"[^\w.-]", entry)[0]): entry for entry in entries}


def _normalised(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def test_the_lock_names_no_registry() -> None:
    text = (REPOSITORY / "requirements.lock").read_text(encoding="utf-8")
    assert re.findall(r"\S*(?:://|--(?:extra-)?index-url|--find-links|--trusted-host)\S*", text) == []


def test_the_lock_has_one_version_and_a_hash_for_every_package() -> None:
    for name, entry in _locked().items():
        assert re.match(r"[\w.\[\],-]+==\S+ ", entry), name
        assert re.search(r"--hash=sha256:[0-9a-f]{64}\b", entry), name


def test_the_lock_covers_what_is_declared() -> None:
    requirements = [
        *PROJECT["dependencies"],
        *(part for parts in PROJECT["optional-dependencies"].values() for part in parts),
    ]
    assert {_normalised(re.split(r"[^\w.-]", part)[0]) for part in requirements} <= set(_locked())
