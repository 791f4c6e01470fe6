"""What may import what, and that the code knows no engine: a new assembly is new data, not new code."""

from __future__ import annotations

import ast
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

from tests.packaging.tree import ROOT, project_files

LINT = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"


def lint_imports(tree: Path) -> subprocess.CompletedProcess[str]:
    """The import contracts in `pyproject.toml`, checked against the package in `tree`."""
    env = os.environ | {"PYTHONPATH": str(tree), "PYTHONSAFEPATH": "1", "NO_COLOR": "1"}
    return subprocess.run(
        [sys.executable, "-c", LINT],
        cwd=tree, env=env, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


def test_the_import_contracts_are_kept() -> None:
    done = lint_imports(ROOT)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("module", "line", "broken"),
    [
        ("faults.py", "import advisor.chain", "Each layer may import only"),
        ("units/reader.py", "import advisor.sheets", "Each layer may import only"),
        ("newcomer.py", "", "Each layer may import only"),
        ("sheets/text.py", "from durable import engine", "Only one module knows durable-rules"),
        ("chain/run.py", "def f() -> None:\n    import durable.lang", "Only one module knows durable-rules"),
        ("chain/plain.py", "import advisor.chain.run", "The plain evaluator shares nothing"),
        ("chain/plain.py", "import advisor.chain.strata", "The plain evaluator shares nothing"),
    ],
)
def test_a_broken_contract_is_reported(tmp_path: Path, module: str, line: str, broken: str) -> None:
    shutil.copytree(ROOT / "advisor", tmp_path / "advisor", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    with (tmp_path / "advisor" / module).open("a", encoding="utf-8") as file:
        file.write(f"\n{line}\n")
    done = lint_imports(tmp_path)
    assert done.returncode == 1, done.stdout + done.stderr
    assert re.search(rf"{broken}.* BROKEN", done.stdout)


def kinds() -> set[str]:
    """Every kind of part that a rule set's vocabulary names."""
    found: set[str] = set()
    for path in ROOT.glob("rulesets/*/vocabulary/*.yaml"):
        content = yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader)
        if isinstance(content, dict):
            found.update(content.get("kinds") or ())
    return found


def strings(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Line and text of every string, docstrings apart: those may give an example."""
    prose = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in prose:
            yield node.lineno, node.value


def identifiers(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Line and spelling of every name that the code gives or uses."""
    for node in ast.walk(tree):
        for field in ("id", "attr", "name", "arg", "asname"):
            word = getattr(node, field, None)
            if isinstance(word, str):
                yield getattr(node, "lineno", 0), word


def parts_named(file: str, text: str, names: set[str]) -> list[str]:
    """`file:line: name` for each part that a file of the package names.

    A name of several words (`main_shell`) counts wherever it stands inside a string, an identifier or a
    file that is not Python. A name that is one English word (`head`, `pin`) has other uses in a sentence,
    a page or a variable, so it counts where a string is that word and nothing else: the form in which code
    would ask for a part.
    """
    several = sorted(name for name in names if "_" in name)
    pattern = re.compile(rf"(?<![a-z0-9])(?:{'|'.join(several) or '(?!)'})s?(?![a-z0-9])")
    if file.endswith(".py"):
        tree = ast.parse(text)
        quoted = list(strings(tree))
        searched = [*quoted, *identifiers(tree)]
        found = {(line, word) for line, word in quoted if word in names}
    else:
        searched = list(enumerate(text.splitlines(), start=1))
        found = set()
    found |= {(line, match) for line, words in searched for match in pattern.findall(words)}
    return [f"{file}:{line}: {name}" for line, name in sorted(found)]


def test_the_code_names_no_part() -> None:
    names = kinds()
    assert names, "no vocabulary under rulesets/ names a kind of part"
    found = [
        part
        for name in project_files()
        if name.parts[0] == "advisor"
        for part in parts_named(name.as_posix(), (ROOT / name).read_text("utf-8", errors="replace"), names)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("file", "text", "expected"),
    [
        ("a.py", "x = 'main_shell'", ["a.py:1: main_shell"]),
        ("a.py", "x = {'a': 1}\ny = f'the {x} main_shell|3'", ["a.py:2: main_shell"]),
        ("a.py", "def judge_main_shells(): ...", ["a.py:1: main_shells"]),
        ("a.py", "f(main_shell=1)", ["a.py:1: main_shell"]),
        ("a.py", "if kind == 'pin': ...", ["a.py:1: pin"]),
        ("a.html", "<p>\n<b>main_shell</b>", ["a.html:2: main_shell"]),
        ("a.py", "'''Such as main_shell or a pin.'''\n# main_shell\nx = 'put a pin in it'\npin = 1", []),
        ("a.html", "<b>a pin</b>", []),
        ("a.py", "x = 'domain_shells'", []),
    ],
)
def test_a_part_named_in_code_is_found(file: str, text: str, expected: list[str]) -> None:
    assert parts_named(file, text, {"main_shell", "pin"}) == expected
