"""Builds the tree of a document from the YAML parser's events, without recursion."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

import yaml

from advisor.faults import Fault, Position
from advisor.sheets._characters import BAD_CHARACTER, bad_character, quoted
from advisor.sheets.places import Block, Items, Node, Spot

MOST_FAULTS: Final = 500

COMMA_IN_BRACES: Final = (
    "inside { } a comma ends a value: put the whole value in quotes, or on a line of its own"
)

NESTED_TOO_DEEP: Final = "close the brackets that were left open; no file of this program nests so deep"

_PROSE: Final = frozenset(("because", "by", "case", "history", "note", "read_on"))
"""Keys whose values are sentences, in which a number sign may be meant as one."""

_CUT_SHORT: Final = re.compile(r"(?<=\w) #")


@dataclass(frozen=True, slots=True)
class Limits:
    """What one file may hold: bytes, nested collections, keys and values, characters in one value."""

    size: int = 2 * 1024 * 1024
    depth: int = 40
    nodes: int = 200_000
    scalar: int = 20_000


class StopReadingError(Exception):
    """Reading ends here: the fault is already noted."""


class _Frame:
    """An open collection; for a mapping, also the key that waits for its value."""

    __slots__ = ("key", "key_spot", "node", "spot", "waits")

    def __init__(self, node: Block | Items, spot: Spot) -> None:
        self.node = node
        self.spot = spot
        self.waits = False
        self.key: str | None = None  # None while waiting: the value is read and dropped
        self.key_spot: Spot = (0, 0)


class Builder:
    """Builds the tree from events. `root` is complete when the events have ended and `faults` is empty."""

    def __init__(self, text: str, file: str, limits: Limits) -> None:
        self.text = text
        self.lines: list[str] = []  # of `text`, once they are wanted
        self.file = file
        self.limits = limits
        self.faults: list[Fault] = []
        self.root: Node = ""
        self.root_spot: Spot = (1, 1)
        self.frames: list[_Frame] = []
        self.frame: _Frame | None = None
        self.nodes = 0
        self.documents = 0

    def fault(self, code: str, spot: Spot, what: str, expected: str = "", mend: str = "") -> None:
        self.faults.append(Fault(code, what, expected, mend, Position(self.file, *spot)))
        if len(self.faults) > MOST_FAULTS:
            raise StopReadingError

    @property
    def opened(self) -> Spot:
        """Where the innermost collection that is still open begins."""
        return self.frame.spot if self.frame is not None else self.root_spot

    def read(self, events: Iterable[Any]) -> None:
        """Take the events in, one by one. Raises `StopReadingError` where a limit is passed."""
        longest = self.limits.scalar
        for event in events:
            kind = type(event)
            if kind is yaml.ScalarEvent:
                # The inner loop of every reading: what is out of the ordinary is looked at elsewhere.
                spot = self.arrive(event)
                value: str = event.value
                if not value or event.style == '"' or len(value) > longest or not value.isascii():
                    value = self.examined(value, event, spot)
                if " -" in value and not event.style and event.end_mark.line >= spot[0]:
                    self.swallowed_list(event, spot)
                frame = self.frame
                if frame is None or frame.waits or isinstance(frame.node, Items):
                    if frame is not None and frame.key in _PROSE and not event.style:
                        self.cut_short(frame.key, event)
                    self.place(value, spot)
                else:
                    odd = not value or value in frame.node.spots or value == "<<" or value != value.strip()
                    key = self.key(value, frame.node, event, spot) if odd else value
                    frame.key, frame.key_spot, frame.waits = key, spot, True
            elif kind is yaml.MappingStartEvent:
                spot = self.arrive(event)
                self.open(Block(self.file, spot, braces=event.flow_style is True), spot)
            elif kind is yaml.SequenceStartEvent:
                self.open(Items(), self.arrive(event))
            elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
                self.frames.pop()
                self.frame = self.frames[-1] if self.frames else None
            elif kind is yaml.AliasEvent:
                self.alias(event)
            elif kind is yaml.DocumentStartEvent:
                self.document(event)
            elif kind is yaml.StreamEndEvent and not self.documents:
                self.empty_file()

    def arrive(self, event: Any) -> Spot:
        """Count a node and refuse what hangs on it; returns its place."""
        mark = event.start_mark
        spot = (mark.line + 1, mark.column + 1)
        self.nodes += 1
        if self.nodes > self.limits.nodes:
            what = "the file holds too many keys and values"
            self.fault("too-many-values", spot, what, f"at most {self.limits.nodes:,}", "split it")
            raise StopReadingError
        if event.anchor is not None:
            what = f'"&{event.anchor}" names this place for use elsewhere'
            self.fault("anchor", spot, what, "plain values", "delete it, or quote text that begins with &")
        if event.tag is not None:
            what = f"the tag {quoted(event.tag)} asks for more than text"
            self.fault("tag", spot, what, "plain values", "delete it, or quote text that begins with !")
        return spot

    def place(self, node: Node, spot: Spot) -> None:
        """Put a node where it belongs: as the root, a list item, or the value of the key that waits.

        In the place of a key it takes the key's turn, and the value that follows is dropped.
        """
        frame = self.frame
        if frame is None:
            self.root, self.root_spot = node, spot
        elif isinstance(frame.node, Items):
            frame.node.append(node)
            frame.node.spots.append(spot)
        elif frame.waits:
            if frame.key is not None:
                frame.node[frame.key] = node
                frame.node.spots[frame.key] = (frame.key_spot, spot)
            frame.waits = False
        else:
            frame.key, frame.key_spot, frame.waits = None, spot, True

    def open(self, node: Block | Items, spot: Spot) -> None:
        frame = self.frame
        if len(self.frames) >= self.limits.depth:
            what = "lists and mappings are nested too deep here"
            self.fault("too-deep", spot, what, f"at most {self.limits.depth} levels", NESTED_TOO_DEEP)
            raise StopReadingError
        if frame is not None and isinstance(frame.node, Block) and not frame.waits:
            what = f"{'a list' if isinstance(node, Items) else 'a mapping'} stands where a key should stand"
            mend = "quote the key if it begins with a bracket or a brace"
            self.fault("key-not-text", spot, what, "a key of plain text", mend)
        self.place(node, spot)
        self.frame = _Frame(node, spot)
        self.frames.append(self.frame)

    def alias(self, event: Any) -> None:
        spot = (event.start_mark.line + 1, event.start_mark.column + 1)
        what = f'"*{event.anchor}" points at another place'
        mend = "write them out, or quote text that begins with *"
        self.fault("alias", spot, what, "the values themselves", mend)
        self.place("", spot)

    def document(self, event: Any) -> None:
        self.documents += 1
        if self.documents > 1:
            spot = (event.start_mark.line + 1, event.start_mark.column + 1)
            what = 'a second document begins here, after "---"'
            self.fault("second-document", spot, what, "one document in a file", "put it into its own file")
            raise StopReadingError
        if event.version or event.tags:
            what = 'a directive (a line that begins with "%") stands at the head of the file'
            self.fault("directive", (1, 1), what, "none", "delete the line")

    def examined(self, value: str, event: Any, spot: Spot) -> str:
        """The text of a scalar that is empty, very long, not ASCII, or may hold escapes."""
        if not value and not event.style and event.tag is None:
            self.empty(spot, event)
        if len(value) > self.limits.scalar:
            what = f"this text has {len(value):,} characters"
            self.fault("text-too-long", spot, what, f"at most {self.limits.scalar:,}")
            value = ""
        if event.style == '"' and (bad := BAD_CHARACTER.search(value)):
            what = f"an escape in this text stands for {bad_character(bad.group())}"
            self.fault("control-character", spot, what, "plain text", "delete the escape")
        return unicodedata.normalize("NFC", value)

    def swallowed_list(self, event: Any, spot: Spot) -> None:
        """Note a list item that YAML reads as more words of the unquoted text above it."""
        for line in range(spot[0] + 1, event.end_mark.line + 2):
            words = self.line(line).lstrip()
            if words.startswith("- ") or words.rstrip() == "-":
                col = len(self.line(line)) - len(words) + 1
                what = 'this "-" begins no list item: the line is read as part of the text above'
                mend = "move the text above into an item of its own, or put the whole text in quotes"
                self.fault("list-in-text", (line, col), what, "one value for a key", mend)
                return

    def empty_file(self) -> None:
        wanted = "a case, an engine sheet, or a file of a rule set"
        mend = "begin one with `advisor start`, or copy the demo's"
        self.fault("empty-file", (1, 1), "the file is empty", wanted, mend)

    def cut_short(self, key: str | None, event: Any) -> None:
        """Note a sentence that ends at a number sign, since that begins a comment."""
        mark = event.end_mark
        line = self.line(mark.line + 1)
        if _CUT_SHORT.match(line, mark.column):
            what = f'the "#" here begins a comment, so that {quoted(key or "")} ends before it'
            mend = "put the whole text in quotes; before a comment that is meant, put two spaces"
            self.fault("cut-by-comment", (mark.line + 1, mark.column + 2), what, "the whole text", mend)

    def line(self, number: int) -> str:
        """A line of the text, counted from 1."""
        self.lines = self.lines or self.text.splitlines()
        return self.lines[number - 1] if number <= len(self.lines) else ""

    def empty(self, spot: Spot, event: Any) -> None:
        """Note that nothing stands where a value should."""
        frame = self.frame
        if frame is None:
            self.empty_file()
        elif isinstance(frame.node, Items):
            mend = "delete the dash, or write '' for empty text"
            self.fault("empty-value", spot, "this list item has no value", "a value after the dash", mend)
        elif frame.waits:
            what = f"{quoted(frame.key)} has no value" if frame.key is not None else "this key has no value"
            mend = "delete the key, or write '' for empty text"
            before = self.line(event.start_mark.line + 1)[: event.start_mark.column].rstrip()
            if frame.node.braces and not before.endswith(":"):
                # No colon was typed: these are the words after a comma.
                what = f"{quoted(frame.key or '')} stands here as a key, and has no value"
                mend = COMMA_IN_BRACES if frame.node.spots else "write a colon and a value after it"
            self.fault("empty-value", frame.key_spot, what, "a value after the colon", mend)

    def key(self, key: str, node: Block, event: Any, spot: Spot) -> str | None:
        """`key` if it may stand in `node`, or None with the fault noted."""
        if not key:
            self.fault("empty-key", spot, "a key is empty here", "a key of plain text before the colon")
        elif key == "<<" and not event.style:
            what = 'the key "<<" would copy keys from elsewhere'
            self.fault("merge-key", spot, what, "the keys themselves", "write them out here")
        elif key != key.strip():
            what = f"the key {quoted(key)} begins or ends with a space"
            mend = "retype it; it may be a no-break space that came with copied text"
            self.fault("space-in-key", spot, what, "no space there", mend)
        elif key in node.spots:
            what = f"the key {quoted(key)} stands here a second time (first on line {node.spots[key][0][0]})"
            self.fault("duplicate-key", spot, what, "each key once", "delete one of the two")
        else:
            return key
        return None
