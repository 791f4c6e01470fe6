"""Turns a `Document` into a model, or into all that is wrong with it, in plain words and at its place.

Pydantic finds what is wrong; this module walks its errors down the model's annotations and the document
together, so that each is told once, about what was typed. Where several models could stand, only the one
that the typed keys fit best is spoken of.
"""

from __future__ import annotations

import enum
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Literal, TypeVar, Union, get_args, get_origin

from pydantic import AliasChoices, BaseModel, Discriminator, Tag, ValidationError
from pydantic.fields import FieldInfo

from advisor.faults import Fault, nearest
from advisor.sheets._builder import COMMA_IN_BRACES
from advisor.sheets.base import AT, FaultError, TextOf, kind_of
from advisor.sheets.places import Block, Document, Path
from advisor.sheets.text import in_file_order, quoted
from advisor.units import UnitFault

M = TypeVar("M", bound=BaseModel)

_MOST_WORDS: Final = 24
_MOST_LOOKED_UP: Final = 200
_MAPPING: Final = "a mapping (keys with values)"
_WRONG_SHAPE: Final[Mapping[str, str]] = {
    "model_type": _MAPPING,
    "model_attributes_type": _MAPPING,
    "dict_type": _MAPPING,
    "mapping_type": _MAPPING,
    "list_type": "a list",
    "tuple_type": "a list",
    "set_type": "a list",
    "frozen_set_type": "a list",
    "string_type": "text",
}
_LENGTHS: Final[Mapping[str, tuple[str, str]]] = {
    "string_too_short": ("is too short", "at least {min_length:,} characters"),
    "string_too_long": ("is too long", "at most {max_length:,} characters"),
    "too_short": ("has too few entries", "at least {min_length:,}"),
    "too_long": ("has too many entries", "at most {max_length:,}"),
}


def validate(model: type[M], document: Document) -> M:
    """`document` as a `model`. Raises `Faults`: everything that is wrong, in the order of the file."""
    try:
        return model.model_validate(document.data)
    except ValidationError as error:
        errors = [_Error(each["loc"], each["type"], each["msg"], each.get("ctx", {}))
                  for each in error.errors(include_url=False, include_input=False)]  # fmt: skip
    teller = _Teller(document)
    teller.tell(_Shape.of(model), document.data, (), errors)
    raise in_file_order(list(dict.fromkeys(teller.faults)))


@dataclass(frozen=True, slots=True)
class _Error:
    """One of pydantic's errors; `loc` is what is left of its location below the value in hand."""

    loc: tuple[str | int, ...]
    type: str
    msg: str
    ctx: Mapping[str, Any]

    def below(self) -> _Error:
        return _Error(self.loc[1:], self.type, self.msg, self.ctx)


def _by_step(errors: Iterable[_Error]) -> dict[str | int, list[_Error]]:
    groups: dict[str | int, list[_Error]] = {}
    for error in errors:
        groups.setdefault(error.loc[0], []).append(error.below())
    return groups


@dataclass(frozen=True, slots=True)
class _Shape:
    """An annotation taken apart: its branches without None, and how a branch is told from the others."""

    branches: tuple[Any, ...]
    discriminator: object
    marks: tuple[object, ...]

    @staticmethod
    def of(annotation: Any, metadata: Iterable[object] = ()) -> _Shape:
        marks = list(metadata)
        discriminator: object = None
        while True:
            if get_origin(annotation) is Annotated:
                annotation, *more = get_args(annotation)
                marks.extend(more)
            elif hasattr(annotation, "__value__"):  # an alias made by the `type` statement
                annotation = annotation.__value__
            elif get_origin(annotation) in (Union, UnionType):
                branches = tuple(each for each in get_args(annotation) if each is not NoneType)
                if len(branches) == 1:
                    annotation = branches[0]
                    continue
                for mark in marks:
                    if isinstance(mark, Discriminator | FieldInfo) and mark.discriminator is not None:
                        discriminator = mark.discriminator
                return _Shape(branches, discriminator, tuple(marks))
            else:
                return _Shape((annotation,), None, tuple(marks))

    @property
    def only(self) -> Any:
        return self.branches[0]

    def words(self) -> list[str]:
        """The words that may stand here, where only some may."""
        if get_origin(self.only) is Literal:
            return [str(word) for word in get_args(self.only)]
        if isinstance(self.only, type) and issubclass(self.only, enum.Enum):
            return [str(member.value) for member in self.only]
        return []

    def description(self) -> str:
        """What the field says of itself, if anything."""
        told = (mark.description for mark in self.marks if isinstance(mark, FieldInfo))
        return next(filter(None, told), "")

    def kind(self) -> str:
        """The kind of typed value that fits: "a mapping", "a list" or "text"."""
        bare = get_origin(self.only) or self.only
        if any(isinstance(mark, TextOf) for mark in self.marks) or not isinstance(bare, type):
            return "text"
        if issubclass(bare, BaseModel | Mapping):
            return "a mapping"
        return "a list" if issubclass(bare, list | tuple | set | frozenset) else "text"

    def wanted(self) -> str:
        for mark in self.marks:
            if isinstance(mark, TextOf):
                return mark.noun
        return _one_of(self.words()) or (_MAPPING if self.kind() == "a mapping" else self.kind())

    def fields(self) -> dict[str, FieldInfo]:
        """A model's fields by the key that is typed for them; empty for anything else."""
        if not (isinstance(self.only, type) and issubclass(self.only, BaseModel)):
            return {}
        found = {}
        for name, field in self.only.model_fields.items():
            alias = field.validation_alias or field.alias or name
            if isinstance(alias, AliasChoices):
                alias = next((each for each in alias.choices if isinstance(each, str)), name)
            if alias != AT:
                found[alias if isinstance(alias, str) else name] = field
        return found

    def below(self, step: str | int) -> _Shape:
        """The shape of what stands at `step` inside a collection of this shape."""
        inner = get_args(self.only)
        bare = get_origin(self.only)
        if not inner or not isinstance(bare, type):
            return _Shape.of(object)
        if issubclass(bare, Mapping):
            return _Shape.of(inner[1])
        if bare is tuple and Ellipsis not in inner and isinstance(step, int):
            return _Shape.of(inner[min(step, len(inner) - 1)])
        return _Shape.of(inner[0])


def _one_of(words: Iterable[str]) -> str:
    listed = list(words)
    more = len(listed) - _MOST_WORDS
    shown = ", ".join(listed[:_MOST_WORDS]) + (f" and {more} more" if more > 0 else "")
    return f"one of {shown}" if len(listed) > 1 else shown


class _Teller:
    """Collects faults on a walk down the errors."""

    def __init__(self, document: Document) -> None:
        self.positions = document.positions
        self.faults: list[Fault] = []
        self.looked_up = 0

    def near(self, word: str, valid: Iterable[str]) -> str:
        # Bounded: a file of nothing but unknown words must not take minutes to refuse.
        self.looked_up += 1
        return nearest(word, valid) if self.looked_up <= _MOST_LOOKED_UP and len(word) <= 100 else ""

    def tell(self, shape: _Shape, node: object, path: Path, errors: list[_Error]) -> None:
        """Note the faults of the value `node` at `path`, which was to have `shape`."""
        here = [error for error in errors if not error.loc]
        below = [error for error in errors if error.loc]
        self.faults.extend(self.fault(error, shape, node, path) for error in here)
        if not below:
            return
        if len(shape.branches) > 1:
            self.union(shape, node, path, below)
        elif fields := shape.fields():
            self.model(fields, node, path, below)
        else:
            for step, inner in _by_step(below).items():
                keys = [error.below() for error in inner if error.loc == ("[key]",)]
                self.faults.extend(self.key_fault(error, shape, (*path, step)) for error in keys)
                rest = [error for error in inner if error.loc != ("[key]",)]
                if rest:
                    self.tell(shape.below(step), *self.child(node, path, step), rest)

    def key_fault(self, error: _Error, shape: _Shape, path: Path) -> Fault:
        keys = get_args(shape.only)
        fault = self.fault(error, _Shape.of(keys[0] if keys else str), path[-1], path)
        return replace(fault, at=self.positions.key(path))

    def child(self, node: object, path: Path, step: str | int) -> tuple[object, Path]:
        """What stands at `step` below `node`, and its path.

        A single value that was let stand for a list of one is its own item.
        """
        if isinstance(node, Mapping):
            return (node[step], (*path, step)) if step in node else (node, path)
        if isinstance(node, list) and isinstance(step, int) and step < len(node):
            return node[step], (*path, step)
        return node, path

    def model(self, fields: Mapping[str, FieldInfo], node: object, path: Path, errors: list[_Error]) -> None:
        typed = node if isinstance(node, Mapping) else {}
        flat = [error for error in errors if len(error.loc) == 1]
        missing = {str(error.loc[0]): None for error in flat if error.type == "missing"}
        for error in flat:
            if error.type == "extra_forbidden":
                meant = self.unknown(
                    str(error.loc[0]), [key for key in fields if key not in typed], fields, path, node
                )
                missing.pop(meant, None)  # told once: as the key that was meant
        for key in missing:
            what = f"the key {quoted(key)} is missing here"
            self.faults.append(Fault("missing-key", what, mend=f'add "{key}: ..."', at=self.positions[path]))
        told = ("missing", "extra_forbidden")
        rest = [error for error in errors if len(error.loc) > 1 or error.type not in told]
        for step, inner in _by_step(rest).items():
            field = fields.get(str(step))
            shape = _Shape.of(object)
            if field is not None:
                shape = _Shape.of(field.annotation, [*field.metadata, field])
            self.tell(shape, *self.child(node, path, step), inner)

    def unknown(self, key: str, free: list[str], known: Iterable[str], path: Path, node: object) -> str:
        """Note an unknown key; returns the valid key that was probably meant, or an empty string."""
        after_comma = isinstance(node, Block) and node.braces and next(iter(node), key) != key
        # Of several words, it will be the rest of a value that a comma has cut in two.
        meant = "" if after_comma and " " in key else self.near(key, free)
        mend = f'did you mean "{meant}"?' if meant else ""
        if after_comma and not meant:
            mend = f"if it belongs to the value before it: {COMMA_IN_BRACES}"
        expected = _one_of(known) or "no key"
        at = self.positions.key((*path, key))
        self.faults.append(Fault("unknown-key", f"unknown key {quoted(key)}", expected, mend, at))
        return meant

    def union(self, shape: _Shape, node: object, path: Path, errors: list[_Error]) -> None:
        groups = _by_step(errors)
        if shape.discriminator is not None:
            for tag, inner in groups.items():
                branch = next((each for each in shape.branches if str(tag) in _tags(each, shape)), object)
                self.tell(_Shape.of(branch), node, path, inner)
            return
        # A union that fails lists every branch's errors, in order, under labels that are pydantic's own.
        branches = [_Shape.of(branch) for branch in shape.branches]
        if len(groups) != len(branches):
            branches = [_Shape.of(object)] * len(groups)
        pairs = list(zip(branches, groups.values(), strict=True))
        kind = kind_of(node)
        fitting = [pair for pair in pairs if pair[0].kind() == kind]
        if not fitting:
            wanted = " or ".join(dict.fromkeys(branch.wanted() for branch in branches))
            self.faults.append(self.wrong_shape(wanted, node, path))
        elif kind == "a mapping":
            self.best_model(fitting, node, path)
        elif kind == "text" and len(fitting) > 1:
            self.best_text(fitting, str(node), path)
        else:
            self.tell(fitting[0][0], node, path, fitting[0][1])

    def best_model(self, pairs: list[tuple[_Shape, list[_Error]]], node: object, path: Path) -> None:
        typed = list(node) if isinstance(node, Mapping) else []
        every = list(dict.fromkeys(key for branch, _ in pairs for key in branch.fields()))
        if len(pairs) > 1 and every and typed and not set(typed) & set(every):
            for key in typed:
                self.unknown(str(key), every, every, path, node)
            return
        best = min(pairs, key=lambda pair: self.misfit(pair[0], pair[1], typed))
        self.tell(best[0], node, path, best[1])

    def misfit(self, branch: _Shape, errors: list[_Error], typed: list[str]) -> tuple[int, int]:
        """How badly the typed keys fit a branch; a misspelt key counts once, not as unknown and missing."""
        fields = branch.fields()
        unknown = [key for key in typed if fields and key not in fields]
        missing = [key for key, field in fields.items() if field.is_required() and key not in typed]
        meant = sum(1 for key in unknown if self.near(key, missing))
        wrong_word = sum(
            1 for error in errors if error.type in ("literal_error", "enum") and len(error.loc) == 1
        )
        return 2 * (len(unknown) + len(missing) - meant) + 3 * wrong_word, len(errors)

    def best_text(self, pairs: list[tuple[_Shape, list[_Error]]], text: str, path: Path) -> None:
        listed = [pair for pair in pairs if pair[0].words()]
        words = [word for branch, _ in listed for word in branch.words()]
        others = [pair for pair in pairs if not pair[0].words()]
        if not others or self.near(text, words):
            self.faults.append(
                self.unknown_word(text, words, [branch.wanted() for branch, _ in others], path)
            )
            return
        branch, errors = others[0]
        before = len(self.faults)
        self.tell(branch, text, path, errors)
        if words or len(others) > 1:
            also = [*(other.wanted() for other, _ in others[1:]), *([_one_of(words)] if words else [])]
            for index, fault in enumerate(self.faults[before:], before):
                expected = ", or ".join(filter(None, (fault.expected, *also)))
                self.faults[index] = replace(fault, expected=expected)

    def unknown_word(self, text: str, words: list[str], also: list[str], path: Path) -> Fault:
        meant = self.near(text, words)
        expected = ", or ".join([_one_of(words), *also])
        mend = f'did you mean "{meant}"?' if meant else ""
        return Fault("unknown-word", f"unknown word {quoted(text)}", expected, mend, self.positions[path])

    def wrong_shape(self, wanted: str, node: object, path: Path) -> Fault:
        typed = f"{kind_of(node)} ({quoted(node, 30)})" if isinstance(node, str) else kind_of(node)
        mend = 'begin each item with "- "' if wanted == "a list" and isinstance(node, str) else ""
        return Fault("wrong-shape", f"{self.subject(path)} is {typed}", wanted, mend, self.positions[path])

    def subject(self, path: Path) -> str:
        """What to call the value at `path`."""
        if not path:
            return "the file"
        last = path[-1]
        if isinstance(last, int):
            return f"item {last + 1}" + (
                f" of {quoted(path[-2])}" if path[1:] and isinstance(path[-2], str) else ""
            )
        return quoted(last)

    def fault(self, error: _Error, shape: _Shape, node: object, path: Path) -> Fault:
        """An error of the very value `node`."""
        at = self.positions[path]
        raised = error.ctx.get("error")
        if isinstance(raised, FaultError):
            return raised.at(self.positions[(*path, *raised.where)])
        if isinstance(raised, UnitFault):
            return raised.at(at)
        if error.type in _WRONG_SHAPE:
            return self.wrong_shape(_WRONG_SHAPE[error.type], node, path)
        if error.type in ("literal_error", "enum"):
            words = shape.words() or re.findall(r"'([^']*)'", str(error.ctx.get("expected", "")))
            if isinstance(node, str) and path == ("format",):
                what = f"the file is of format {quoted(node)}, which this program does not know"
                mend = "write format: 1, or read it with the newer program that it was written for"
                return Fault("unknown-format", what, " or ".join(words), mend, at)
            if isinstance(node, str):
                return self.unknown_word(node, words, [], path)
            return self.wrong_shape(_one_of(words), node, path)
        if error.type == "union_tag_invalid":
            return self.wrong_tag(error, shape, node, path)
        if error.type == "union_tag_not_found":
            return self.no_tag(error, shape, node, path)
        if error.type == "missing":  # an item of a list of fixed length; keys are told in `model`
            return Fault("wrong-length", f"{self.subject(path)} has too few entries", at=at)
        if error.type in _LENGTHS:
            what, expected = _LENGTHS[error.type]
            return Fault("wrong-length", f"{self.subject(path)} {what}", expected.format(**error.ctx), at=at)
        if error.type.startswith("bool"):
            return Fault("bad-value", f"{self.typed(node, path)} is not an answer", "yes or no", at=at)
        if error.type == "string_pattern_mismatch":
            what = f"{self.typed(node, path)} is not of the form wanted here"
            wanted = shape.description() or f"text that matches {error.ctx.get('pattern')}"
            return Fault("bad-value", what, wanted, at=at)
        if error.type in ("value_error", "assertion_error") and raised is not None:
            return Fault("bad-value", str(raised) or f"{self.typed(node, path)} will not do", at=at)
        wanted = re.sub(r"^Input should be (.*?)(, .*)?$", r"\1", error.msg)
        if wanted == error.msg:
            return Fault("bad-value", f"{self.typed(node, path)} will not do: {error.msg}", at=at)
        return Fault("bad-value", f"{self.typed(node, path)} will not do", wanted, at=at)

    def typed(self, node: object, path: Path) -> str:
        return quoted(node) if isinstance(node, str) else self.subject(path)

    def wrong_tag(self, error: _Error, shape: _Shape, node: object, path: Path) -> Fault:
        key = str(error.ctx.get("discriminator", "")).strip("'")
        words = [word for branch in shape.branches for word in _tags(branch, shape)]
        fault = self.unknown_word(str(error.ctx.get("tag", "")), words, [], path)
        at = self.positions[(*path, key)] if isinstance(shape.discriminator, str) else fault.at
        return replace(fault, at=at)

    def no_tag(self, error: _Error, shape: _Shape, node: object, path: Path) -> Fault:
        key = str(error.ctx.get("discriminator", "")).strip("'")
        if not (isinstance(node, Mapping) and isinstance(shape.discriminator, str)):
            wanted = " or ".join(dict.fromkeys(_Shape.of(branch).wanted() for branch in shape.branches))
            return self.wrong_shape(wanted, node, path)
        typed = self.near(key, node)
        if typed:
            at, mend = self.positions.key((*path, typed)), f'did you mean "{key}"?'
            return Fault("unknown-key", f"unknown key {quoted(typed)}", key, mend, at)
        what, at = f"the key {quoted(key)} is missing here", self.positions[path]
        return Fault("missing-key", what, mend=f'add "{key}: ..."', at=at)


def _tags(branch: Any, shape: _Shape) -> list[str]:
    """The values of the discriminator that choose `branch`."""
    taken = _Shape.of(branch)
    tags = [mark.tag for mark in taken.marks if isinstance(mark, Tag)]
    if tags or not isinstance(shape.discriminator, str):
        return tags
    if not (isinstance(taken.only, type) and issubclass(taken.only, BaseModel)):
        return []
    field = taken.only.model_fields.get(shape.discriminator)
    return _Shape.of(field.annotation).words() if field is not None else []
