"""DEVELOPERS.md names every module of the package, under its package, and nothing that is not there."""

from __future__ import annotations

import re
from pathlib import PurePosixPath

from tests.docs.source import PACKAGE, ROOT

PAGE = ROOT / "DEVELOPERS.md"


def named() -> dict[str, list[str]]:
    """By package: the modules in the first column of its table."""
    found: dict[str, list[str]] = {}
    for part in re.split(r"^### `(?=advisor)", PAGE.read_text("utf-8"), flags=re.MULTILINE)[1:]:
        package, _, rest = part.partition("`")
        table = rest.partition("\n## ")[0].partition("\n### ")[0]
        found[package] = re.findall(r"^\| `(\w+)` \| .+ \|$", table, re.MULTILINE)
    return found


def there() -> dict[str, set[str]]:
    """By package: the modules that lie in it; an `__init__` counts for the package itself only at the top."""
    found: dict[str, set[str]] = {}
    for path in PACKAGE.rglob("*.py"):
        package = path.parent.relative_to(ROOT).as_posix()
        if path.stem != "__init__" or path.parent == PACKAGE:
            found.setdefault(package, set()).add(path.stem)
    return found


def test_every_module_is_named_and_every_name_is_a_module() -> None:
    assert {package: set(modules) for package, modules in named().items()} == there()


def test_no_module_is_named_twice() -> None:
    assert [name for modules in named().values() for name in modules if modules.count(name) > 1] == []


def test_the_paths_in_it_exist() -> None:
    text = PAGE.read_text("utf-8")
    paths = re.findall(r"`((?:advisor|tests|rulesets|docs|cases_demo|\.ci)/[\w./-]+)`", text)
    assert len(paths) > 20
    assert [path for path in paths if not (ROOT / PurePosixPath(path)).exists()] == []


def test_every_folder_of_tests_is_named() -> None:
    folders = {path.parent.relative_to(ROOT).parts[1] for path in (ROOT / "tests").glob("*/*.py")}
    named = set(re.findall(r"`tests/(\w+)`", PAGE.read_text("utf-8")))
    assert folders - named == set()
