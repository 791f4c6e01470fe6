"""What people type is read as text, with its place, and nothing in a file can run, hide or grow."""

from __future__ import annotations

import copy
import os
import pickle
import tracemalloc
import unicodedata
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.faults import Faults, Position
from advisor.sheets import text as reader
from advisor.sheets._characters import BAD_CHARACTER
from advisor.sheets.text import LIMITS, Block, Document, Items, Limits, load, parse, quoted, read_text


def told(text: str, limits: Limits = LIMITS) -> list[str]:
    """The messages for a faulty text."""
    with pytest.raises(Faults) as caught:
        parse(text, "f.yaml", limits)
    return [str(fault) for fault in caught.value.faults]


def codes(text: str, limits: Limits = LIMITS) -> list[str]:
    with pytest.raises(Faults) as caught:
        parse(text, "f.yaml", limits)
    return [fault.code for fault in caught.value.faults]


@pytest.mark.parametrize(
    "typed",
    ["no", "3:30", "010", "1e3", "~", "null", "true", "0x1F", ".inf", "2001-12-14", '2.5"', "1_000", "=",
     "-0.25 mm", "3/4 in", "0.0015 in", "it's", "p. 3-25", "a#b", "x:y", "½ in", "38 µm"],
)  # fmt: skip
def test_a_scalar_is_the_text_that_was_typed(typed: str) -> None:
    assert parse(f"key: {typed}\n", "f").data == {"key": typed}
    assert parse(f"- {typed}\n", "f").data == [typed]
    assert parse(f"{typed}: x\n", "f").data == {typed: "x"}


def test_quoted_and_block_text() -> None:
    text = "a: ''\nb: \"two\\twords\"\nc: |\n  one\n  two\nd: >-\n  one\n  two\ne: 'it''s'\n"
    expected = {"a": "", "b": "two\twords", "c": "one\ntwo\n", "d": "one two", "e": "it's"}
    assert parse(text, "f").data == expected


@pytest.mark.parametrize("loader", [yaml.SafeLoader, reader._Loader])
def test_both_of_the_yaml_parsers_serve(loader: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "_Loader", loader)
    document = parse("é: {b: [c, 'd']}\ne:\n  - f: g\n", "f")
    assert document.data == {"é": {"b": ["c", "d"]}, "e": [{"f": "g"}]}
    assert document.key_position(("e", 0, "f")) == Position("f", 3, 5)
    assert codes("a: [b") == ["syntax"]
    assert codes("[" * 100_000) == ["too-deep"]
    assert codes("a:\n\tb: c") == ["tab-indent"]
    assert codes("a: &x !y z\nb:\na: *x\n") == ["anchor", "tag", "empty-value", "duplicate-key", "alias"]


def test_the_c_parser_is_used_where_there_is_one() -> None:
    assert reader._Loader is getattr(yaml, "CSafeLoader", yaml.SafeLoader)


EMPTY = (
    "1:1: the file is empty; expected a case, an engine sheet, or a file of a rule set; begin one with "
    "`advisor start`, or copy the demo's [empty-file]"
)

MESSAGES = {
    "": EMPTY,
    "# nothing\n---\n": EMPTY,
    "a: b\nbore:\n": (
        '2:1: "bore" has no value; expected a value after the colon; '
        "delete the key, or write '' for empty text [empty-value]"
    ),
    "- a\n-\n": (
        "2:2: this list item has no value; expected a value after the dash; "
        "delete the dash, or write '' for empty text [empty-value]"
    ),
    "a: b\nc: d\na: e\n": (
        '3:1: the key "a" stands here a second time (first on line 1); expected each key once; '
        "delete one of the two [duplicate-key]"
    ),
    "a: {[b]: c}\n": (
        "1:5: a list stands where a key should stand; expected a key of plain text; "
        "quote the key if it begins with a bracket or a brace [key-not-text]"
    ),
    "{{a: b}: c}\n": (
        "1:2: a mapping stands where a key should stand; expected a key of plain text; "
        "quote the key if it begins with a bracket or a brace [key-not-text]"
    ),
    "'': c\n": ("1:1: a key is empty here; expected a key of plain text before the colon [empty-key]"),
    "<<: {a: b}\n": (
        '1:1: the key "<<" would copy keys from elsewhere; expected the keys themselves; '
        "write them out here [merge-key]"
    ),
    "a: &top b\n": (
        '1:4: "&top" names this place for use elsewhere; expected plain values; '
        "delete it, or quote text that begins with & [anchor]"
    ),
    "a: *top\n": (
        '1:4: "*top" points at another place; expected the values themselves; '
        "write them out, or quote text that begins with * [alias]"
    ),
    "a: !!python/object/apply:os.system [ls]\n": (
        '1:4: the tag "tag:yaml.org,2002:python/object/apply:os.system" asks for more than text; '
        "expected plain values; delete it, or quote text that begins with ! [tag]"
    ),
    "a: ! b\n": (
        '1:4: the tag "!" asks for more than text; expected plain values; '
        "delete it, or quote text that begins with ! [tag]"
    ),
    "%YAML 1.1\n---\na: b\n": (
        '1:1: a directive (a line that begins with "%") stands at the head of the file; expected none; '
        "delete the line [directive]"
    ),
    "a: b\n---\nc: d\n": (
        '2:1: a second document begins here, after "---"; expected one document in a file; '
        "put it into its own file [second-document]"
    ),
    "a:\n\tb: c\n": (
        "2:1: a tab where only spaces can stand; expected spaces; put spaces in its place [tab-indent]"
    ),
    "a:\n  b: c\n \td: e\n": (
        "3:2: a tab where only spaces can stand; expected spaces; put spaces in its place [tab-indent]"
    ),
    "a: b\x00c\x00\n": (
        "1:5: the invisible character U+0000 (a control character), 2 times in this file; "
        "expected plain text; delete it [control-character]"
    ),
    "a: b\r\nc: d\re\rf\r\n": (
        "2:5: a carriage return without a line feed, 2 times in this file; expected plain text; "
        "delete it [control-character]"
    ),
    "a: b\rc: d\n": (
        "1:5: a carriage return without a line feed; expected plain text; delete it [control-character]"
    ),
    "a: é\nb: 5\u202e2 mm\n": (
        "2:5: the invisible character U+202E (right-to-left override); expected plain text; "
        "delete it [control-character]"
    ),
    'a: "x\\0y"\n': (
        "1:4: an escape in this text stands for the invisible character U+0000 (a control character); "
        "expected plain text; delete the escape [control-character]"
    ),
    "\u00a0a: b\n": (
        '1:1: the key "\\xa0a" begins or ends with a space; expected no space there; '
        "retype it; it may be a no-break space that came with copied text [space-in-key]"
    ),
    "- a\n - b\n": (
        '2:2: this "-" begins no list item: the line is read as part of the text above; '
        "expected one value for a key; move the text above into an item of its own, "
        "or put the whole text in quotes [list-in-text]"
    ),
    'a: "bc\nd: e\n': (
        "1:4: the quote opened here is never closed; expected a closing quote; "
        'close it; text that holds " can stand in single quotes [syntax]'
    ),
    "a: [b, c\n": '1:4: the list opened here with "[" is never closed; expected a "]"; close it [syntax]',
    "a: [b,\n": "1:4: the bracket or brace opened here is never closed; close it [syntax]",
    "a: {b: c\nd: e}\n": (
        '2:2: the mapping opened with "{" on line 1 is neither carried on nor closed here; '
        'expected a comma or "}"; put a value that holds a bracket, a brace or a comma in quotes [syntax]'
    ),
    "a: @b\n": (
        '1:4: "@" cannot begin a value that is not in quotes; put the whole value in quotes [syntax]'
    ),
    "a: b: c\n": (
        '1:5: a ":" where no further key can stand; expected one key and its value on a line; '
        "mend the indentation: lines that belong together begin in the same column; "
        'or put a value that holds ": " in quotes [syntax]'
    ),
    "key:value\nb: c\n": (
        '2:2: a ":" where no further key can stand; expected one key and its value on a line; '
        "put a space after the first colon on line 1 [syntax]"
    ),
    "a:\n  b: c\n d: e\n": (
        "3:2: this line does not line up with the lines above it; "
        "mend the indentation: lines that belong together begin in the same column [syntax]"
    ),
    "- a\nb: c\n": (
        '2:1: this line stands among list items but has no dash; expected a "-" and a space; '
        "mend the indentation: lines that belong together begin in the same column [syntax]"
    ),
    "a: b\n- c\n": (
        "2:1: a list item stands among keys; expected a key, a colon, a space and a value; "
        "mend the indentation: lines that belong together begin in the same column [syntax]"
    ),
    "a: '2.5' in\n": (
        "1:10: text after the end of a value in quotes or brackets; expected nothing more on this line; "
        'put the whole value in quotes; text that holds " can stand in single quotes [syntax]'
    ),
    "a: b\nc d\ne: f\n": (
        '2:1: this line has no ":" after its key; expected a key, a colon, a space and a value; '
        "add the colon, or indent the line if it carries on the text above [syntax]"
    ),
    "a: - b\n": (
        '1:4: a "-" where no list can begin; expected a list on the lines below its key; '
        'move it to the next line, or put a value that begins with "- " in quotes [syntax]'
    ),
    "a: |b\n  c\n": (
        '1:5: text on the same line after "|" or ">"; expected the text on the lines below, indented; '
        "move it to the next line, or put the value in quotes [syntax]"
    ),
    'a: "\\q"\n': (
        '1:5: a "\\" that stands for nothing in double quotes; '
        "use single quotes, where a backslash is only a backslash [syntax]"
    ),
    "a: }\n": (
        "1:4: a value is missing here; expected a value; "
        'write it; put a value that is, or begins with, "]", "}" or a comma in quotes [syntax]'
    ),
    "a: b\n...\nc: d\n": (
        "3:1: text after the end of the document; expected nothing; "
        "delete it, or mend the indentation [syntax]"
    ),
    "a: *\n": (
        '1:5: a "*" or "&" that begins a value; expected plain text; put the whole value in quotes [syntax]'
    ),
    "a: !h!x b\n": (
        '1:4: a "!" that begins a value; expected plain text; put the whole value in quotes [syntax]'
    ),
    "%FOO\n---\na: b\n": (
        '1:5: a directive (a line that begins with "%"); expected none; delete the line [syntax]'
    ),
}


@pytest.mark.parametrize(("text", "message"), MESSAGES.items(), ids=map(repr, MESSAGES))
def test_what_a_faulty_file_is_told(text: str, message: str) -> None:
    assert told(text) == [f"f.yaml:{message}"]


def test_every_fault_is_told_at_once_in_the_order_of_the_file() -> None:
    text = "a: &x b\na: *x\n? [c]\n: {d: , d: e}\nf: !!int 3\n<<: g\nh: [\n"
    assert [(message.split(": ")[0], message.rsplit("[")[-1]) for message in told(text)] == [
        ("f.yaml:1:4", "anchor]"),
        ("f.yaml:2:1", "duplicate-key]"),
        ("f.yaml:2:4", "alias]"),
        ("f.yaml:3:3", "key-not-text]"),
        ("f.yaml:4:4", "empty-value]"),
        ("f.yaml:4:9", "duplicate-key]"),
        ("f.yaml:5:4", "tag]"),
        ("f.yaml:6:1", "merge-key]"),
        ("f.yaml:7:4", "syntax]"),  # the first break of the grammar is the last thing told
    ]


def test_the_first_of_two_equal_keys_is_the_one_compared_after_normalisation() -> None:
    assert codes("caf\u00e9: a\ncafe\u0301: b\n") == ["duplicate-key"]


def test_a_quoted_merge_sign_is_a_key_like_any_other() -> None:
    assert parse("'<<': a\n", "f").data == {"<<": "a"}


@given(st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), min_size=1))
def test_text_is_in_normal_form_c(typed: str) -> None:
    if BAD_CHARACTER.search(typed):
        return
    data = parse("a: '" + typed.replace("'", "''") + "'", "f").data
    assert data == {"a": unicodedata.normalize("NFC", typed)}


def test_escapes_may_stand_for_letters() -> None:
    assert parse('a: "\\u00b5\\x41\\n"', "f").data == {"a": "µA\n"}


@pytest.mark.parametrize(
    "escape", ["\\0", "\\a", "\\e", "\\N", "\\L", "\\P", "\\x7f", "\\r", "\\uFEFF", "\\u202E"]
)
def test_no_escape_brings_in_what_may_not_be_typed(escape: str) -> None:
    assert codes(f'"a{escape}b": c') == ["control-character"]


def test_windows_line_ends_and_a_byte_order_mark() -> None:
    document = parse("\ufeffa: b\r\nc:\r\n  - d\r\n  - |\r\n    e\r\n    f\r\n", "f")
    assert document.data == {"a": "b", "c": ["d", "e\nf\n"]}
    assert document.positions[("a",)] == Position("f", 1, 4)
    assert document.positions[("c", 0)] == Position("f", 3, 5)
    assert codes("a: \ufeffb\n") == ["control-character"]


# Limits


BOMBS = {
    "[" * 2_000_000: "too-deep",
    "{" * 2_000_000: "too-deep",
    "- " * 1_000_000: "too-deep",
    "? " * 1_000_000: "too-deep",
    "{a: " * 500_000: "too-deep",
    "[[],[" * 300_000: "too-deep",
    "- a\n" * 500_000: "too-many-values",
    "[" + "[]," * 600_000: "too-many-values",
    "a: " + "b" * 2_000_000: "text-too-long",
    "a: " + "b c " * 500_000: "text-too-long",
    "a: '" + "''" * 1_000_000: "syntax",
    "a: b\n" * 400_000: "too-many-faults",
    "- *a\n" * 400_000: "too-many-faults",
    "- a\n  - b\n" * 200_000: "too-many-faults",
    "\0" * 2_000_000: "control-character",
    "\r" * 2_000_000: "control-character",
    "a" * (2 * 1024 * 1024 + 1): "file-too-large",
    "é" * (1024 * 1024 + 1): "file-too-large",
    # Nine lines that stand for a thousand million words, if anchors were followed.
    "".join(f"{b}: &{b} [{', '.join([f'*{a}'] * 9)}]\n" for a, b in pairwise("abcdefghi")): "alias",
}  # fmt: skip


@pytest.mark.parametrize(("text", "code"), BOMBS.items(), ids=[repr(text[:12]) for text in BOMBS])
def test_a_bomb_is_refused(text: str, code: str) -> None:
    assert code in codes(text)


def test_a_limit_is_met_before_the_memory_is_spent() -> None:
    small = Limits(depth=10, nodes=100)
    for text in ["- a\n" * 100_000, "[[],[" * 100_000, "{a: " * 100_000, "- *a\n" * 100_000]:
        tracemalloc.start()
        try:
            assert codes(text, small)
            peak = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
        assert peak < len(text) + 1_000_000  # one copy of the text for the parser, and next to nothing else


@pytest.mark.parametrize(("opener", "closer"), [("[", "]"), ("{a: ", "}")])
def test_the_depth_allowed_is_exact(opener: str, closer: str) -> None:
    parse(opener * 40 + "a" + closer * 40, "f")
    deeper = opener * 41 + "a" + closer * 41
    column = 40 * len(opener) + 1
    assert told(deeper) == [
        f"f.yaml:1:{column}: lists and mappings are nested too deep here; "
        "expected at most 40 levels; close the brackets that were left open; "
        "no file of this program nests so deep [too-deep]"
    ]


def test_each_limit_is_exact() -> None:
    small = Limits(size=10, depth=2, nodes=4, scalar=3)
    parse("[a, bcd]", "f", small)
    parse("[[a]]", "f", small)
    assert codes("[[[a]]]", small) == ["too-deep"]
    assert codes("[a,b,c,d]", small) == ["too-many-values"]
    parse("[a,b,c]", "f", small)
    assert told("abcd", small) == [
        "f.yaml:1:1: this text has 4 characters; expected at most 3 [text-too-long]"
    ]
    parse("[éé, éé]"[:8], "f", Limits(size=12))
    assert codes("[éé, éé]", Limits(size=11)) == ["file-too-large"]


def test_the_faults_listed_are_bounded() -> None:
    faults = told("a:\n" * 600)
    assert len(faults) == 501
    assert faults[-1].endswith(
        "more than 500 faults; the others are not listed; "
        "mend these first, then run it again [too-many-faults]"
    )


# Places


def test_places_of_keys_and_values() -> None:
    document = parse("µ é: {a: [b,  c]}\nd:\n- e: f\n  g:\n    h: |\n      i\n", "f")
    assert {path: (at.line, at.col) for path, at in document.positions.items()} == {
        (): (1, 1),
        ("µ é",): (1, 6),
        ("µ é", "a"): (1, 10),
        ("µ é", "a", 0): (1, 11),
        ("µ é", "a", 1): (1, 15),
        ("d",): (3, 1),
        ("d", 0): (3, 3),
        ("d", 0, "e"): (3, 6),
        ("d", 0, "g"): (5, 5),
        ("d", 0, "g", "h"): (5, 8),
    }
    assert len(document.positions) == 10
    assert document.key_position(("µ é", "a")) == Position("f", 1, 7)
    assert document.key_position(("d", 0)) == Position("f", 3, 3)
    assert document.key_position(("d", 0, "g", "h")) == Position("f", 5, 5)


def test_an_unknown_path_gives_its_nearest_known_ancestor() -> None:
    document = parse("a:\n  b: [c]\n", "f")
    inside_a: list[tuple[str | int, ...]] = [("a", "x"), ("a", "x", "y", 3), ("a", 0)]
    inside_b: list[tuple[str | int, ...]] = [("a", "b", 1), ("a", "b", -1), ("a", "b", "c")]
    for path in inside_a:
        assert path not in document.positions
        assert document.positions[path] == document.key_position(path) == Position("f", 2, 3)
    for path in inside_b:
        assert document.positions[path] == Position("f", 2, 6)
    assert document.positions[("z",)] == document.positions[()] == Position("f", 1, 1)


def test_a_document_can_be_copied_and_pickled() -> None:
    document = parse("a: {b: [c]}", "f")
    for twin in [copy.deepcopy(document), pickle.loads(pickle.dumps(document))]:
        assert twin == document
        assert twin.key_position(("a", "b")) == Position("f", 1, 5)


words = st.text("abcdeé µ𝄞", min_size=1, max_size=6).map(str.strip).filter(bool)
trees = st.recursive(
    words,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4),
    max_leaves=20,
)


def flow(tree: Any) -> str:
    """`tree` on one line; `«` stands before every value and key whose place is to be found again."""
    if isinstance(tree, dict):
        return "«{" + ", ".join(f"«'{key}': {flow(value)}" for key, value in tree.items()) + "}"
    if isinstance(tree, list):
        return "«[" + ", ".join(map(flow, tree)) + "]"
    return f"«'{tree}'"


def block(tree: Any, indent: int) -> str:
    """`tree` in indented lines, with the same marks."""
    pad = " " * indent
    if isinstance(tree, dict) and tree:
        lines = [f"{pad}«'{key}':{after(value, indent)}" for key, value in tree.items()]
        return "«" + "".join(lines).removeprefix(pad)
    if isinstance(tree, list) and tree:
        return "«" + "".join(f"{pad}-{after(value, indent)}" for value in tree).removeprefix(pad)
    return flow(tree) + "\n"


def after(value: Any, indent: int) -> str:
    if isinstance(value, dict | list) and value:
        body = block(value, indent + 3)
        return "\n" + " " * (indent + 3) + body
    return " " + flow(value) + "\n"


def marks(tree: Any) -> list[tuple[str, tuple[str | int, ...]]]:
    """What each `«` of `flow` or `block` stands before, in order: ("value" or "key", path)."""

    def walk(node: Any, path: tuple[str | int, ...]) -> list[tuple[str, tuple[str | int, ...]]]:
        found = [("value", path)]
        if isinstance(node, dict):
            for key, value in node.items():
                found += [("key", (*path, key)), *walk(value, (*path, key))]
        elif isinstance(node, list):
            for index, value in enumerate(node):
                found += walk(value, (*path, index))
        return found

    return walk(tree, ())


def plain(tree: Any) -> Any:
    if isinstance(tree, dict):
        return {unicodedata.normalize("NFC", key): plain(value) for key, value in tree.items()}
    return [plain(each) for each in tree] if isinstance(tree, list) else unicodedata.normalize("NFC", tree)


@given(trees, st.sampled_from(["flow", "block"]), st.sampled_from(["\n", "\r\n"]))
def test_every_key_and_value_is_found_where_it_was_typed(tree: Any, style: str, end: str) -> None:
    marked = (flow(tree) if style == "flow" else block(tree, 0)).replace("\n", end)
    expected = []
    text = ""
    for char in marked:
        if char == "«":
            expected.append((text.count("\n") + 1, len(text) - text.rfind("\n")))
        else:
            text += char
    document = parse(text, "f")
    assert document.data == plain(tree)
    found = []
    for kind, path in marks(tree):
        at = document.key_position(path) if kind == "key" else document.positions[path]
        found.append((at.line, at.col))
    assert found == expected


# Anything at all


yamlish = st.lists(
    st.sampled_from(
        [
            "a",
            "b: ",
            "- ",
            "? ",
            ": ",
            "\n",
            "\n  ",
            "\n\t",
            "[",
            "]",
            "{",
            "}",
            ",",
            "'",
            '"',
            "|",
            ">",
            "&a ",
            "*a ",
            "!t ",
            "!!str ",
            "%YAML 1.1\n",
            "---\n",
            "...\n",
            "#",
            "\\x0",
            "<<",
            "\r\n",
            "\r",
            "\u2028",
            "é",
            "\ufeff",
            "~",
        ]
    )
).map("".join)


def read_or_refused(text: str, limits: Limits = LIMITS) -> Document | Faults:
    try:
        return parse(text, "f.yaml", limits)
    except Faults as faults:
        return faults


def check_anything(text: str) -> None:
    outcome = read_or_refused(text, Limits(size=2000, depth=10, nodes=200, scalar=50))
    if isinstance(outcome, Document):
        assert isinstance(outcome.data, str | Block | Items)
        return
    assert outcome.faults
    lines = text.removeprefix("\ufeff").split("\n")
    for fault in outcome.faults:
        assert fault.at is not None
        assert 1 <= fault.at.line <= len(lines) + 1
        if fault.at.line <= len(lines):
            assert 1 <= fault.at.col <= len(lines[fault.at.line - 1]) + 1
        assert str(fault).isprintable()


@settings(max_examples=400)
@given(yamlish)
def test_text_like_yaml_gives_a_document_or_faults(text: str) -> None:
    check_anything(text)


@given(st.text(st.characters(codec=None)))
def test_any_text_gives_a_document_or_faults(text: str) -> None:
    check_anything(text)


@given(st.binary(max_size=60))
def test_any_bytes_give_text_or_a_fault(raw: bytes) -> None:
    try:
        raw.decode("utf-8")
    except UnicodeDecodeError:
        with pytest.raises(Faults, match="not-utf8"):
            reader._decoded(raw, "f")
    else:
        assert reader._decoded(raw, "f").encode("utf-8") == raw


@given(yamlish)
def test_reading_agrees_with_the_yaml_library_where_both_read(text: str) -> None:
    outcome = read_or_refused(text)
    if isinstance(outcome, Document):
        try:
            expected = yaml.load(text, Loader=yaml.BaseLoader)
        except yaml.YAMLError:
            return  # the library's own parser, in Python, is stricter than libyaml about tabs
        assert outcome.data == expected


# Files


def test_a_file_is_read_under_the_name_that_was_given(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("café.yaml").write_bytes(b"\xef\xbb\xbfa: b\r\n")
    assert load("./café.yaml").positions[("a",)] == Position("./café.yaml", 1, 4)
    assert load(Path("café.yaml")).data == {"a": "b"}
    assert read_text("café.yaml") == "a: b\r\n"


def refused(path: str | Path, limits: Limits = LIMITS) -> str:
    with pytest.raises(Faults) as caught:
        read_text(path, limits)
    return str(caught.value)


def test_files_that_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("large").write_bytes(b"a" * 11)
    Path("plain").write_bytes(b"a: \xe9\n")
    Path("later").write_bytes("µ: ok\nb: é".encode() + b"\xff")
    Path("wide").write_bytes("a: b".encode("utf-16"))
    Path("cut").write_bytes("a: é".encode()[:-1])
    assert refused("gone.yaml") == 'there is no file "gone.yaml"; check the name and the folder [no-file]'
    assert refused("large/x") == 'there is no file "large/x"; check the name and the folder [no-file]'
    assert refused(".") == '"." is a folder; expected the name of a file [not-a-file]'
    assert refused("large", Limits(size=10)) == (
        "large:1:1: the file is too large; expected at most 10 bytes; "
        "split it into several files [file-too-large]"
    )
    assert read_text("large", Limits(size=11)) == "a" * 11
    mend = "expected UTF-8 text; save the file as UTF-8 [not-utf8]"
    assert refused("plain") == f"plain:1:4: the byte 0xE9 is not UTF-8 text; {mend}"
    assert refused("later") == f"later:2:5: the byte 0xFF is not UTF-8 text; {mend}"
    assert refused("wide") == f"wide:1:1: the file is UTF-16 text; {mend}"
    assert refused("cut") == f"cut:1:4: the byte 0xC3 is not UTF-8 text; {mend}"
    assert refused("a\0b") == (
        'the file "a\\x00b" could not be read: its name is not a file name [not-readable]'
    )
    assert refused("x" * 5000).endswith("[not-readable]")


def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    os.mkfifo("pipe")
    assert refused("pipe") == '"pipe" is not a plain file; expected the name of a file [not-a-file]'


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("secret").write_text("a: b")

    def deny(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", deny)  # whoever runs the tests may be allowed to read everything
    assert refused("secret") == 'the file "secret" may not be read; ask its owner for leave [not-readable]'


def test_messages_show_text_in_bounds_and_without_anything_invisible() -> None:
    assert quoted("plain") == '"plain"'
    assert quoted("a\nb\u202e") == '"a\\nb\\u202e"'
    assert quoted("x" * 100, 10) == '"xxxxxxx..."'


def test_a_document_says_what_it_was_read_from() -> None:
    document = parse("a", "some name")
    assert (document.file, document.data) == ("some name", "a")
    assert isinstance(document, Document)


@pytest.mark.parametrize("key", ["because", "by", "case", "history", "note", "read_on"])
def test_a_sentence_is_not_cut_short_by_a_comment_unseen(key: str) -> None:
    assert codes(f"{key}: bay #2") == ["cut-by-comment"]
    assert codes(f"a: [{{b: c, {key}: first line\n  bay #2, see tag\n  }}]") == ["cut-by-comment"]
    for meant in ("bay  # 2", "'bay #2'", '"bay" # 2', "bay#2", "bay.", "|\n  bay #2"):
        parse(f"{key}: {meant}", "f")
    parse(f"a: {{{key}: b}} # c\nelse: bay # 2", "f")


@pytest.mark.parametrize(
    ("text", "comma"),
    [
        ("{value: 0,25 mm}", True),
        ("{note: dry, all ten}", True),
        ("a: [{b: c}, {d: e,\n  f g}]", True),
        ("{value: }", False),
        ("{value: 1, with: }", False),
        ("{value}", False),
        ("value:", False),
    ],
)
def test_a_value_cut_by_a_comma_in_braces_is_told_as_that(text: str, comma: bool) -> None:
    (message,) = told(text)
    assert message.endswith("[empty-value]")
    assert ("inside { } a comma ends a value" in message) == comma
    assert not (comma and "delete" in message), "what stands there is no key, and must not be lost"
