"""Reads the YAML that people write, as text with places, and runs nothing.

Every scalar stays the text that was typed: ``no``, ``3:30``, ``010`` and ``~`` mean nothing here but
themselves. Text is brought to Unicode normal form C, so that a name matches however its accents were
typed (Unicode Standard Annex 15). Anchors, aliases, merge keys, tags, directives and further documents
are refused: what a file says is what stands in it, once.

The tree is built from the parser's events, one at a time and without recursion, so that a limit stops
the reading before the memory is spent.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path as FilePath
from typing import Any, Final

import yaml

from advisor.faults import Fault, Faults, Position
from advisor.sheets._builder import MOST_FAULTS, Builder, Limits, StopReadingError
from advisor.sheets._characters import BAD_CHARACTER, bad_characters, quoted
from advisor.sheets._syntax import syntax_fault
from advisor.sheets.places import Block, Document, Items, Node, Path, Positions, Spot

__all__ = [
    "LIMITS",
    "Block",
    "Document",
    "Items",
    "Limits",
    "Node",
    "Path",
    "Positions",
    "Spot",
    "in_file_order",
    "load",
    "parse",
    "quoted",
    "read_text",
]

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

LIMITS: Final = Limits()


def in_file_order(faults: list[Fault]) -> Faults:
    """`faults` sorted by place; where there are more than 500, a last fault says so instead of the rest."""
    ordered = sorted(faults, key=lambda fault: (fault.at.line, fault.at.col) if fault.at else (0, 0))
    if len(ordered) > MOST_FAULTS:
        last = Fault(
            "too-many-faults",
            f"more than {MOST_FAULTS} faults; the others are not listed",
            mend="mend these first, then run it again",
            at=ordered[MOST_FAULTS].at,
        )
        ordered = [*ordered[:MOST_FAULTS], last]
    return Faults(ordered)


def load(path: str | os.PathLike[str], limits: Limits = LIMITS) -> Document:
    """Read and parse the file at `path`. Raises `Faults`."""
    return parse(read_text(path, limits), _shown(path), limits)


def _shown(path: str | os.PathLike[str]) -> str:
    # A name that is not UTF-8 on the disk carries surrogates, which no terminal would print.
    return os.fspath(path).encode("utf-8", "backslashreplace").decode("utf-8")


def read_text(path: str | os.PathLike[str], limits: Limits = LIMITS) -> str:
    """The text of the UTF-8 file at `path`, without a byte order mark; line ends are left as they are.

    Raises `Faults` where there is no such file, it is not a plain file, may not be read, is larger than
    ``limits.size`` bytes, or is not UTF-8.
    """
    name = quoted(_shown(path), 300)
    try:
        # Asked before opening: opening a pipe would wait for a writer.
        mode = FilePath(path).stat().st_mode
        if not stat.S_ISREG(mode):
            kind = "a folder" if stat.S_ISDIR(mode) else "not a plain file"
            raise Faults([Fault("not-a-file", f"{name} is {kind}", "the name of a file")])
        with FilePath(path).open("rb") as stream:
            raw = stream.read(limits.size + 1)
    except (FileNotFoundError, NotADirectoryError):
        fault = Fault("no-file", f"there is no file {name}", mend="check the name and the folder")
        raise Faults([fault]) from None
    except PermissionError:
        fault = Fault("not-readable", f"the file {name} may not be read", mend="ask its owner for leave")
        raise Faults([fault]) from None
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else "") or "its name is not a file name"
        raise Faults([Fault("not-readable", f"the file {name} could not be read: {reason}")]) from None
    if len(raw) > limits.size:
        raise Faults([_too_large(_shown(path), limits)])
    return _decoded(raw.removeprefix(b"\xef\xbb\xbf"), _shown(path))


def _too_large(file: str, limits: Limits) -> Fault:
    return Fault(
        "file-too-large",
        "the file is too large",
        f"at most {limits.size:,} bytes",
        "split it into several files",
        Position(file, 1, 1),
    )


def _decoded(raw: bytes, file: str) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = raw[: error.start].decode("utf-8")
        what = f"the byte 0x{raw[error.start]:02X} is not UTF-8 text"
        at = Position(file, before.count("\n") + 1, len(before) - before.rfind("\n"))
        if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
            what = "the file is UTF-16 text"
        raise Faults([Fault("not-utf8", what, "UTF-8 text", "save the file as UTF-8", at)]) from None


def parse(text: str, file: str, limits: Limits = LIMITS) -> Document:
    """The document in `text`; `file` is the name that messages show. Raises `Faults`, all of them at once
    except that reading ends at the first break of YAML's grammar and at the first limit passed.
    """
    text = text.removeprefix("\ufeff")
    if len(text) > limits.size or (
        4 * len(text) > limits.size and len(text.encode("utf-8", "surrogatepass")) > limits.size
    ):
        raise Faults([_too_large(file, limits)])
    if BAD_CHARACTER.search(text):
        raise in_file_order(bad_characters(text, file))
    builder = Builder(text, file, limits)
    try:
        builder.read(yaml.parse(text, Loader=_Loader))
    except StopReadingError:
        pass
    except yaml.YAMLError as error:
        builder.faults.append(syntax_fault(error, text, file, builder.opened))
    if builder.faults:
        raise in_file_order(builder.faults)
    return Document(file, builder.root, Positions(file, builder.root, builder.root_spot))
