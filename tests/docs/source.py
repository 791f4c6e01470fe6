"""What the program's own source says of its faults: each code, and the words that go with it.

Read from the syntax tree, so that no fault has to be caused. A call that takes a `code` is found by the
name of what is called; one whose code is neither written out nor handed on is `loose`.
"""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Final, TypeAlias

ROOT: Final = Path(__file__).resolve().parents[2]
PACKAGE: Final = ROOT / "advisor"
ANY: Final = r"[\s\S]*"
"""The pattern of text that is known only when the program runs."""

CODE: Final = r"[a-z0-9]+(?:-[a-z0-9]+)*"

Function: TypeAlias = ast.FunctionDef | ast.AsyncFunctionDef
Functions: TypeAlias = tuple[Function, ...]


@dataclass(frozen=True)
class Raised:
    """A place in the source where a fault is made; `what` are patterns that its first words match."""

    code: str
    where: str
    what: tuple[str, ...]


@dataclass
class Source:
    """All that is made of faults in the package."""

    raised: list[Raised] = field(default_factory=list)
    loose: list[str] = field(default_factory=list)
    """Calls whose code can be read off neither the call nor what calls it."""

    @property
    def codes(self) -> dict[str, list[Raised]]:
        """Each code with the places that make it."""
        found: dict[str, list[Raised]] = defaultdict(list)
        for each in self.raised:
            found[each.code].append(each)
        return dict(found)


@cache
def source() -> Source:
    """The faults of every module under `advisor/`."""
    paths = sorted(PACKAGE.rglob("*.py"))
    return source_of({path.relative_to(ROOT).as_posix(): path.read_text("utf-8") for path in paths})


def source_of(files: Mapping[str, str]) -> Source:
    """The faults of some modules, by the name of each and its text."""
    trees = {file: ast.parse(text) for file, text in files.items()}
    parameters = _parameters(trees.values())
    found = Source()
    for file, tree in trees.items():
        for functions, call in _calls(tree):
            readings = parameters.get(_called(call), [])
            if not readings or any(isinstance(arg, ast.Starred) for arg in call.args):
                continue
            told = [each for names in readings for each in _read(file, functions, call, names)]
            found.raised += told
            if not told and not (
                any(_handed_on(functions, call, names) for names in readings) or _another(tree, _called(call))
            ):
                found.loose.append(f"{file}:{call.lineno}: {ast.unparse(call)}")
    return found


def _read(file: str, functions: Functions, call: ast.Call, names: Sequence[str]) -> Iterator[Raised]:
    """What a call makes, read with the parameters `names`: nothing where its code is not written out."""
    given = _given(call, names)
    codes = list(texts(given["code"], functions)) if "code" in given else []
    if codes and all(re.fullmatch(CODE, code) for code in codes):
        what = tuple(texts(given["what"], functions)) if "what" in given else (ANY,)
        for code in codes:
            yield Raised(code, f"{file}:{call.lineno}", what)


def _given(call: ast.Call, names: Sequence[str]) -> dict[str, ast.expr]:
    given = dict(zip(names, call.args, strict=False))
    return given | {keyword.arg: keyword.value for keyword in call.keywords if keyword.arg}


def _handed_on(functions: Functions, call: ast.Call, names: Sequence[str]) -> bool:
    """Whether a code is the caller's own: a parameter of his, or that of a fault that he holds."""
    code = _given(call, names).get("code")
    if isinstance(code, ast.Attribute):
        return code.attr == "code"
    return isinstance(code, ast.Name) and code.id == "code" and code.id in _all_arguments(functions)


def _another(tree: ast.Module, name: str) -> bool:
    """Whether the module has a function of that name that takes no `code`: then it is that one."""
    return any(
        isinstance(node, ast.FunctionDef) and node.name == name and "code" not in _arguments(node)
        for node in ast.walk(tree)
    )


def _all_arguments(functions: Functions) -> set[str]:
    return {name for function in functions for name in _arguments(function)}


def _arguments(function: Function) -> list[str]:
    return [arg.arg for arg in (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)]


def _parameters(trees: Iterable[ast.Module]) -> dict[str, list[list[str]]]:
    """By name of what is called: the parameters of each thing of that name that takes a `code`."""
    found: dict[str, list[list[str]]] = defaultdict(list)
    for node in (node for tree in trees for node in ast.walk(tree)):
        name, names = "", []
        if isinstance(node, ast.ClassDef):
            name, names = node.name, _fields(node)
        elif isinstance(node, ast.FunctionDef) and node.name != "__init__":
            name, names = node.name, [each for each in _arguments(node) if each != "self"]
        if "code" in names:
            found[name].append(names)
    return found


def _fields(node: ast.ClassDef) -> list[str]:
    """What a class is made with: the parameters of its `__init__`, or its fields."""
    for each in node.body:
        if isinstance(each, ast.FunctionDef) and each.name == "__init__":
            return _arguments(each)[1:]
    return [
        each.target.id
        for each in node.body
        if isinstance(each, ast.AnnAssign) and isinstance(each.target, ast.Name)
    ]


def _calls(tree: ast.AST, functions: Functions = ()) -> Iterator[tuple[Functions, ast.Call]]:
    """Every call, with the functions that it stands in, outermost first."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Call):
            yield functions, node
        inner = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        yield from _calls(node, (*functions, node) if inner else functions)  # type: ignore[arg-type]


def _called(call: ast.Call) -> str:
    if isinstance(call.func, ast.Attribute):
        return call.func.attr
    return call.func.id if isinstance(call.func, ast.Name) else ""


def texts(node: ast.expr, functions: Functions) -> Iterator[str]:
    """Patterns of the texts that an expression may stand for; what is not known matches anything."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value if re.fullmatch(CODE, node.value) else re.escape(node.value)
    elif isinstance(node, ast.JoinedStr):
        parts = (
            re.escape(str(part.value)) if isinstance(part, ast.Constant) else ANY for part in node.values
        )
        yield "".join(parts)
    elif isinstance(node, ast.IfExp):
        yield from texts(node.body, functions)
        yield from texts(node.orelse, functions)
    elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        for left in texts(node.left, functions):
            for right in texts(node.right, functions):
                yield left + right
    elif isinstance(node, ast.Name) and functions and node.id not in _all_arguments(functions):
        yield from list(_assigned(node.id, functions)) or [ANY]
    else:
        yield ANY


def _assigned(name: str, functions: Functions) -> Iterator[str]:
    """What the innermost function lets a name stand for."""
    for each in ast.walk(functions[-1]):
        if isinstance(each, ast.Assign) and name in (
            target.id for target in each.targets if isinstance(target, ast.Name)
        ):
            yield from texts(each.value, functions)
