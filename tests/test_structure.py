"""The rules of the house that no other tool checks, and proof that the other tool does."""

import ast
import os
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SERVICE = ROOT / "service"

TOP_LEVEL = {
    "DEVELOPERS.md",
    "README.md",
    "openapi_examples",
    "pyproject.toml",
    "seed_data",
    "service",
    "tests",
}

# Sizes of the house style, part 2. Physics is half docstring, so its files may be longer and
# its functions are counted without theirs. Kernels are one file on purpose, because numba's
# cache looks at one, and a compiled loop is one function, because calls cost.
LONGEST_FILE, LONGEST_FUNCTION = 300, 40
LONGEST_PHYSICS_FILE, LONGEST_PHYSICS_BODY = 700, 25


def sources() -> list[Path]:
    found = [path for path in SERVICE.rglob("*.py") if "versions" not in path.parts]
    assert found
    return sorted(found)


def is_physics(path: Path) -> bool:
    return path.is_relative_to(SERVICE / "engine")


def functions(path: Path) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def line_count(function: ast.FunctionDef | ast.AsyncFunctionDef, *, physics: bool) -> int:
    first = function.body[0]
    has_docstring = ast.get_docstring(function) is not None
    start = first.lineno if physics else function.lineno
    if physics and has_docstring:
        start = (first.end_lineno or first.lineno) + 1
    return (function.end_lineno or start) - start + 1


def test_only_the_database_module_commits() -> None:
    found = {
        path.relative_to(ROOT).as_posix()
        for path in sources()
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Attribute) and node.attr == "commit"
    }

    assert found == {"service/database.py"}


def test_no_file_is_longer_than_its_kind_allows() -> None:
    too_long = {
        path.relative_to(ROOT).as_posix(): lines
        for path in sources()
        if path.name != "kernels.py"
        and (lines := len(path.read_text().splitlines()))
        > (LONGEST_PHYSICS_FILE if is_physics(path) else LONGEST_FILE)
    }

    assert too_long == {}


def test_no_function_is_longer_than_its_kind_allows() -> None:
    too_long = {
        f"{path.relative_to(ROOT).as_posix()}:{function.name}": lines
        for path in sources()
        if path.name != "kernels.py"
        for function in functions(path)
        if (lines := line_count(function, physics=is_physics(path)))
        > (LONGEST_PHYSICS_BODY if is_physics(path) else LONGEST_FUNCTION)
    }

    assert too_long == {}


def test_the_top_level_holds_what_the_design_names_and_nothing_else() -> None:
    ignored = [line.rstrip("/") for line in (ROOT / ".gitignore").read_text().splitlines() if line]

    found = {
        path.name
        for path in ROOT.iterdir()
        if not path.name.startswith(".") and not any(fnmatch(path.name, i) for i in ignored)
    }

    assert found == TOP_LEVEL


def test_every_package_that_was_resolved_is_pinned() -> None:
    """What a package brings with it changes what was tested together as much as itself."""
    locked = tomllib.loads((ROOT / "uv.lock").read_text())["package"]
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["uv"]

    found = {f"{one['name']}=={one['version']}" for one in locked if one["name"] != "kitwright"}

    assert found <= set(settings["constraint-dependencies"])


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the code that may be spoilt."""
    folder = tmp_path_factory.mktemp("copy")
    shutil.copy(ROOT / "pyproject.toml", folder)
    shutil.copytree(SERVICE, folder / "service", ignore=shutil.ignore_patterns("__pycache__"))
    return folder


def broken_contracts(folder: Path) -> set[str]:
    """Return the names of the contracts that the code in a folder breaks."""
    command = [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"]
    run = subprocess.run(  # noqa: S603 - Both words are ours.
        command,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder), "NO_COLOR": "1", "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Contracts:" in run.stdout, run.stdout + run.stderr
    broken = {
        line.removesuffix(" BROKEN") for line in run.stdout.splitlines() if line.endswith("BROKEN")
    }
    assert bool(broken) == (run.returncode != 0)
    return broken


def test_the_code_keeps_every_contract(copy: Path) -> None:
    assert broken_contracts(copy) == set()


@pytest.mark.parametrize(
    ("path", "line", "contract"),
    [
        (
            "service/catalog/parts.py",
            "import fastapi",
            "Only the edge imports the web framework",
        ),
        (
            "service/fitup/findings.py",
            "import sqlmodel",
            "Only stores, tables and database import SQLModel and SQLAlchemy",
        ),
        (
            "service/engine/flow.py",
            "import service.catalog.parts",
            "Slices depend downwards only",
        ),
        (
            "service/engine/surface.py",
            "import sklearn",
            "Only the fitting of a surface imports scikit-learn",
        ),
        (
            "service/kits/money.py",
            "import typst",
            "Only typesetting imports the typesetter",
        ),
        (
            "service/pages/words.py",
            "import jinja2",
            "Only pages are written from templates of HTML",
        ),
        (
            "service/compliance/store.py",
            "import service.catalog.tables",
            "The catalogue's tables are read through its store",
        ),
        (
            "service/catalog/families.py",
            "import service.settings",
            "Stores, sessions, settings and routes are for the edge",
        ),
    ],
)
def test_a_planted_violation_breaks_its_contract(
    copy: Path, path: str, line: str, contract: str
) -> None:
    file = copy / path
    text = file.read_text()
    file.write_text(f"{text}\n{line}\n")

    try:
        assert contract in broken_contracts(copy)
    finally:
        file.write_text(text)
