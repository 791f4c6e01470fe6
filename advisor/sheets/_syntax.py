"""What the YAML parser says about a break of its grammar, in plain words and at the place to mend."""

from __future__ import annotations

import re
from typing import Final

import yaml

from advisor.faults import Fault, Position
from advisor.sheets._builder import NESTED_TOO_DEEP

_INDENT = "mend the indentation: lines that belong together begin in the same column"
_QUOTE = "put the whole value in quotes"

# Parts of what the parser says (libyaml's wording | PyYAML's), and what we say instead.
_PLAIN: Final[tuple[tuple[str, str, str, str], ...]] = (
    (
        "mapping values are not allowed",
        'a ":" where no further key can stand',
        "one key and its value on a line",
        f'{_INDENT}; or put a value that holds ": " in quotes',
    ),
    (
        "sequence entries are not allowed",
        'a "-" where no list can begin',
        "a list on the lines below its key",
        'move it to the next line, or put a value that begins with "- " in quotes',
    ),
    ("mapping keys are not allowed", 'a "?" where no key can begin', "a plain key", _QUOTE),
    (
        "could not find expected ':'",
        'this line has no ":" after its key',
        "a key, a colon, a space and a value",
        "add the colon, or indent the line if it carries on the text above",
    ),
    (
        "found unexpected end of stream",
        "the quote opened here is never closed",
        "a closing quote",
        'close it; text that holds " can stand in single quotes',
    ),
    (
        "found unexpected document",
        "the quote opened here is not closed before the document ends",
        "a closing quote",
        "close it",
    ),
    (
        "unknown escape character",
        'a "\\" that stands for nothing in double quotes',
        "",
        "use single quotes, where a backslash is only a backslash",
    ),
    (
        "hexdecimal|hexadecimal",
        'a "\\" with too few digits after it',
        "",
        "use single quotes, where a backslash is only a backslash",
    ),
    ("Unicode character escape", 'a "\\" that stands for no character', "", "delete it"),
    (
        "node content",
        "a value is missing here",
        "a value",
        'write it; put a value that is, or begins with, "]", "}" or a comma in quotes',
    ),
    (
        "<document start>",
        "text after the end of the document",
        "nothing",
        "delete it, or mend the indentation",
    ),
    ("alphabetic or numeric character", 'a "*" or "&" that begins a value', "plain text", _QUOTE),
    ("tag| tag handle|URI", 'a "!" that begins a value', "plain text", _QUOTE),
    ("directive|YAML document", 'a directive (a line that begins with "%")', "none", "delete the line"),
    (
        "comment or line break|comment or a line break|indentation indicator|chomping",
        'text on the same line after "|" or ">"',
        "the text on the lines below, indented",
        "move it to the next line, or put the value in quotes",
    ),
)


def syntax_fault(error: yaml.YAMLError, text: str, file: str, opened: tuple[int, int]) -> Fault:
    """The parser's complaint in plain words, at the place a person would mend.

    `opened` is the line and column where the innermost collection that is still open begins.
    """
    problem = str(getattr(error, "problem", None) or "")
    context = str(getattr(error, "context", None) or "")
    mark = getattr(error, "problem_mark", None)
    start = getattr(error, "context_mark", None)
    if mark is None:
        return Fault("syntax", "the file cannot be read as YAML", at=Position(file, 1, 1))
    if start is not None and re.search(
        "end of stream|document (indicator|separator)|find expected ':'", problem
    ):
        mark = start
    line, col = mark.line + 1, mark.column + 1
    at = Position(file, line, col)
    lines = text.splitlines()
    here = lines[line - 1] if line <= len(lines) else ""
    before, char = here[: col - 1], here[col - 1 : col]
    indent = here[: len(here) - len(here.lstrip())]
    if char == "\t" or ("\t" in indent and not re.search("flow|quoted", context)):
        tab = indent.find("\t") + 1 or col
        return Fault(
            "tab-indent",
            "a tab where only spaces can stand",
            "spaces",
            "put spaces in its place",
            Position(file, line, tab),
        )
    if "nesting depth" in problem:
        what = "lists and mappings are nested too deep here"
        return Fault("too-deep", what, "fewer levels", NESTED_TOO_DEEP, at)
    if "cannot start any token" in problem:
        return Fault("syntax", f'"{char}" cannot begin a value that is not in quotes', "", _QUOTE, at)
    ended = not "".join(lines[line - 1 :])[col - 1 :].strip()
    if ended and "flow node" in context:
        what = "the bracket or brace opened here is never closed"
        return Fault("syntax", what, mend="close it", at=Position(file, *opened))
    if start is not None and (closer := re.search("expected ',' or '(.)'", problem)):
        return _not_closed(closer[1], start.line + 1, start.column + 1, at, ended=ended)
    if re.search("expected key|'-' indicator|<block end>", problem):
        return _out_of_line(
            before,
            here[col - 1 :],
            in_list="block collection" in context or "'-' indicator" in problem,
            at=at,
        )
    for parts, what, expected, mend in _PLAIN:
        if any(part in problem or part in context for part in parts.split("|")):
            glued = _glued_colon(lines[max(0, line - 2) : line], line) if "mapping values" in problem else ""
            return Fault("syntax", what, expected, glued or mend, at)
    return Fault("syntax", "this cannot be read as YAML", "", _INDENT, at)


def _not_closed(closer: str, line: int, col: int, at: Position, *, ended: bool) -> Fault:
    """A list or mapping in brackets, opened at `line` and `col`, that breaks off."""
    kind, opener = ("list", "[") if closer == "]" else ("mapping", "{")
    if ended:
        what = f'the {kind} opened here with "{opener}" is never closed'
        return Fault("syntax", what, f'a "{closer}"', "close it", Position(at.file, line, col))
    what = f'the {kind} opened with "{opener}" on line {line} is neither carried on nor closed here'
    mend = "put a value that holds a bracket, a brace or a comma in quotes"
    return Fault("syntax", what, f'a comma or "{closer}"', mend, at)


def _out_of_line(before: str, rest: str, *, in_list: bool, at: Position) -> Fault:
    """Something that does not carry on the block it stands in."""
    if before.strip(" -"):
        return Fault(
            "syntax",
            "text after the end of a value in quotes or brackets",
            "nothing more on this line",
            'put the whole value in quotes; text that holds " can stand in single quotes',
            at,
        )
    dash = rest.startswith("- ") or rest == "-"
    if in_list and not dash:
        return Fault(
            "syntax", "this line stands among list items but has no dash", 'a "-" and a space', _INDENT, at
        )
    if dash and not in_list:
        return Fault(
            "syntax", "a list item stands among keys", "a key, a colon, a space and a value", _INDENT, at
        )
    return Fault("syntax", "this line does not line up with the lines above it", "", _INDENT, at)


def _glued_colon(lines: list[str], last: int) -> str:
    """How to mend a colon without its space, the commonest cause of a later ":" that cannot stand."""
    for number, line in enumerate(lines, last - len(lines) + 1):
        if re.match(r"\s*(?:- +)*[^\W\d][\w-]*:[^\s:]", line[:200]):
            return f"put a space after the first colon on line {number}"
    return ""
