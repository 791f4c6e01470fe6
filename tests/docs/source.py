"""What the program's own source says of its faults: each code, and the words that go with it.

Read from the syntax tree, so that no fault has to be caused. A call that takes a `code` is found by the
name of what is called; a code that is neither written out there nor handed on is a `Loose` one.
"""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Final, TypeAlias

ROOT: Final = Path(__file__).resolve().parents[2]
PACKAGE: Final = ROOT / "advisor"
ANY: Final = r"[\s\S]*"
"""The pattern of text that is known only when the program runs."""

Function: TypeAlias = ast.FunctionDef | ast.AsyncFunctionDef


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
    trees = {path: ast.parse(path.read_text("utf-8")) for path in sorted(PACKAGE.rglob("*.py"))}
    parameters = _parameters(trees.values())
    found = Source()
    for path, tree in trees.items():
        for function, call in _calls(tree):
            wanted = parameters.get(_called(call), ())
            for names in wanted:
                _take(found, path.relative_to(ROOT).as_posix(), function, call, names)
    return found


def _take(found: Source, file: str, function: Function | None, call: ast.Call, names: list[str]) -> None:
    """Note one call as the parameters `names` read it, if its code is text in that reading."""
    given = dict(zip(names, call.args, strict=False))
    given |= {keyword.arg: keyword.value for keyword in call.keywords if keyword.arg}
    where = f"{file}:{call.lineno}"
    code = given.get("code")
    if code is None or any(isinstance(arg, ast.Starred) for arg in call.args):
        return
    words = list(texts(code, function))
    literal = [word for word in words if re.fullmatch(r"[a-z0-9]+(?:-[a-z0-9]+)*", word)]
    if literal and len(literal) == len(words):
        what = given.get("what")
        shown = tuple(texts(what, function)) if what is not None else (ANY,)
        found.raised += [Raised(word, where, shown) for word in literal]
    elif not _handed_on(code, function) and not isinstance(code, ast.Tuple):
        found.loose.append(f"{where}: {ast.unparse(code)}")


def _handed_on(code: ast.expr, function: Function | None) -> bool:
    """Whether a code is the caller's own: its parameter, or the attribute of a fault that it holds."""
    if isinstance(code, ast.Attribute):
        return code.attr == "code"
    return isinstance(code, ast.Name) and function is not None and code.id in _arguments(function)


def _arguments(function: Function) -> list[str]:
    return [arg.arg for arg in (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)]


def _parameters(trees: Iterator[ast.Module] | object) -> dict[str, list[list[str]]]:
    """By name of what is called: the parameters of each function or class of that name that takes a `code`."""
    found: dict[str, list[list[str]]] = defaultdict(list)
    for tree in trees:  # type: ignore[attr-defined]
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                names = [
                    each.target.id
                    for each in node.body
                    if isinstance(each, ast.AnnAssign) and isinstance(each.target, ast.Name)
                ]
                for each in node.body:
                    if isinstance(each, ast.FunctionDef) and each.name == "__init__":
                        names = _arguments(each)[1:]
                if "code" in names:
                    found[node.name].append(names)
            elif isinstance(node, ast.FunctionDef) and node.name != "__init__":
                names = [name for name in _arguments(node) if name != "self"]
                if "code" in names:
                    found[node.name].append(names)
    return found


def _calls(tree: ast.AST, function: Function | None = None) -> Iterator[tuple[Function | None, ast.Call]]:
    """Every call, with the function that it stands in."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Call):
            yield function, node
        inner = node if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) else function
        yield from _calls(node, inner)


def _called(call: ast.Call) -> str:
    if isinstance(call.func, ast.Attribute):
        return call.func.attr
    return call.func.id if isinstance(call.func, ast.Name) else ""


def texts(node: ast.expr, function: Function | None) -> Iterator[str]:
    """Patterns of the texts that an expression may stand for; what is not known matches anything."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield re.escape(node.value) if not re.fullmatch("[a-z0-9-]+", node.value) else node.value
    elif isinstance(node, ast.JoinedStr):
        yield "".join(
            re.escape(str(part.value)) if isinstance(part, ast.Constant) else ANY for part in node.values
        )
    elif isinstance(node, ast.IfExp):
        yield from texts(node.body, function)
        yield from texts(node.orelse, function)
    elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        for left in texts(node.left, function):
            for right in texts(node.right, function):
                yield left + right
    elif isinstance(node, ast.Name) and function is not None and node.id not in _arguments(function):
        known = [
            text
            for each in ast.walk(function)
            if isinstance(each, ast.Assign)
            for target in each.targets
            if isinstance(target, ast.Name) and target.id == node.id
            for text in texts(each.value, function)
        ]
        yield from known or [ANY]
    else:
        yield ANY
