"""What may lie in the project's tree, and what may not be written in it."""

from __future__ import annotations

import itertools
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.specifiers import SpecifierSet
from packaging.utils import canonicalize_name

from tests.packaging.tree import ROOT, project_files

TOP_LEVEL = {
    "DEVELOPERS.md", "LICENSE", "README.md", "advisor", "cases_demo", "docs", "pyproject.toml", "rulesets",
    "tests", "uv.lock",
}  # fmt: skip

# Written so that this file does not match itself.
PRIVATE = re.compile(
    rb"(?<![\w.~-])/(?:work|farm|root|opt/pypi[\w-]*)/"
    rb"|(?<![\w.~-])/(?:home|Users)/[a-z]"
    rb"|(?<![\w.~-])/tmp/[b]rief"
    rb"|[p]ypi\.org|[f]iles\.pythonhosted\.org"
)


def test_the_top_level_has_only_what_belongs_there() -> None:
    entries = {name.parts[0] for name in project_files()}
    assert {entry for entry in entries if not entry.startswith(".")} <= TOP_LEVEL
    assert entries >= {"README.md", "LICENSE", "advisor", "rulesets", "tests", "cases_demo"}


def test_no_file_names_a_registry_or_a_place_on_somebodys_machine() -> None:
    found = [
        f"{name}:{number}: {match.group().decode()}"
        for name in project_files()
        if name != Path("uv.lock")  # a lock names where each package comes from; that is its use
        for number, line in enumerate((ROOT / name).read_bytes().splitlines(), start=1)
        for match in PRIVATE.finditer(line)
    ]
    assert found == []


@pytest.mark.parametrize(
    "text",
    [
        "see /wor" + "k/main", "'/far" + "m/x'", "file:///opt/py" + "pi-more/simple", "/ho" + "me/ann/engine",
        "/Us" + "ers/ann", "/tmp/br" + "ief", "https://py" + "pi.org/simple", "(/ro" + "ot/x)",
    ],
)  # fmt: skip
def test_a_private_place_is_recognised(text: str) -> None:
    assert PRIVATE.search(text.encode())


@pytest.mark.parametrize(
    "text", [f"docs/{'work'}/order.md", "rulesets/home/a", "a farm/field", f"~/{'work'}/x"]
)
def test_an_ordinary_path_is_left_alone(text: str) -> None:
    assert not PRIVATE.search(text.encode())


def test_the_readme_names_only_files_that_exist() -> None:
    named = re.findall(r"\b(?:cases_demo|rulesets|docs)/[\w./-]*\w", (ROOT / "README.md").read_text("utf-8"))
    assert any(name.startswith("cases_demo/") for name in named)
    assert [name for name in named if not (ROOT / name).exists()] == []


def locked() -> dict[str, dict[str, Any]]:
    """The packages in `uv.lock` by name; of a name with a version for each Python, the last."""
    packages = tomllib.loads((ROOT / "uv.lock").read_text("utf-8"))["package"]
    return {package["name"]: package for package in packages}


def test_the_lock_takes_every_package_from_an_index() -> None:
    """A path on the disk of whoever made the lock would be of no use to anybody else."""
    sources = {name: package["source"] for name, package in locked().items()}
    assert sources.pop("rebuild-advisor") == {"editable": "."}
    assert [name for name, source in sources.items() if "https:" not in source.get("registry", "")] == []


def test_the_lock_answers_the_requirements_of_the_project() -> None:
    """If this fails, run `uv lock`."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    asked = [Requirement(text) for text in [*project["dependencies"], *itertools.chain(*extras.values())]]
    wanted = {(canonicalize_name(each.name), each.specifier) for each in asked}
    answered = locked()[project["name"]]["metadata"]["requires-dist"]
    got = {(each["name"], SpecifierSet(each.get("specifier", ""))) for each in answered}
    assert got == wanted
