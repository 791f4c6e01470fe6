"""The report for build servers: what it may hold is what pytest writes, and any text survives it.

The outside check is pytest's own writer of the same form: elements and attributes of ours have to be among
those that it uses, and what must be there in its form is there in ours.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.authoring.cases import Trial, Tried
from advisor.authoring.cases_judge import Failure
from advisor.authoring.junit import junit, text_for_xml
from advisor.faults import Fault, Position
from tests.cli.conftest import run  # noqa: F401  a fixture
from tests.cli.rig import Ran

AT = Position("tests/a.yaml", 3, 5)
TRIED = (
    Tried("tests/a.yaml", "sound", AT, 0.25),
    Tried("tests/a.yaml", "wrong", AT, 0.5, (Failure(AT, "expected a, got b", ("why",)),)),
    Tried("tests/b.yaml", "broken", AT, 0.0, faults=(Fault("no-file", "there is no file", at=AT),)),
    Tried("tests/b.yaml", "open", AT, 0.0, unanswered=("main_shell 1",)),
    Tried("tests/c.yaml", "", None, 0.0, faults=(Fault("no-file", "there is no file"),)),
)

PYTEST = """
import pytest
def test_good(): pass
def test_bad(): assert False
@pytest.fixture
def broken(): raise OSError
def test_error(broken): pass
def test_skipped(): pytest.skip("not now")
"""


@cache
def outside(folder: Path) -> ET.Element:
    """A report of pytest's own with one of each outcome."""
    (folder / "test_each.py").write_text(PYTEST)
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-p",
        "no:cacheprovider",
        "--junit-xml=out.xml",
        "-c",
        "/dev/null",
    ]
    subprocess.run([*command, "--rootdir", ".", "test_each.py"], cwd=folder, check=False, capture_output=True)
    return ET.parse(folder / "out.xml").getroot()


@pytest.fixture(scope="module")
def theirs(tmp_path_factory: pytest.TempPathFactory) -> ET.Element:
    return outside(tmp_path_factory.mktemp("outside"))


def shape(root: ET.Element) -> dict[str, tuple[set[str], set[str]]]:
    """By element: its attributes, and the elements inside it."""
    found: dict[str, tuple[set[str], set[str]]] = {}
    for element in root.iter():
        attributes, inside = found.setdefault(element.tag, (set(), set()))
        attributes |= set(element.attrib)
        inside |= {each.tag for each in element}
    return found


def test_it_has_the_shape_that_is_commonly_read(theirs: ET.Element) -> None:
    ours, wanted = shape(ET.fromstring(junit(Trial(TRIED, 0.75), "trial"))), shape(theirs)
    assert ours.keys() == wanted.keys() == {
        "testsuites", "testsuite", "testcase", "failure", "error", "skipped"
    }  # fmt: skip
    assert {tag: inside for tag, (_, inside) in ours.items()} == {
        tag: inside for tag, (_, inside) in wanted.items()
    }
    # Totals on the outermost element are common and not pytest's; all else it has as well.
    totals = {"tests", "failures", "errors", "skipped", "time"}
    assert all(attributes <= wanted[tag][0] | totals for tag, (attributes, _) in ours.items())
    assert {"classname", "name", "time"} <= ours["testcase"][0]
    assert {"name", "tests", "failures", "errors", "skipped", "time"} <= ours["testsuite"][0]
    assert "message" in ours["failure"][0]


def test_the_counts_are_those_of_the_cases() -> None:
    root = ET.fromstring(junit(Trial(TRIED, 0.75), "trial"))
    for suite in [root, *root]:
        inside = list(suite.iter("testcase"))
        for attribute, tag in (("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
            assert int(suite.attrib[attribute]) == sum(case.find(tag) is not None for case in inside)
        assert int(suite.attrib["tests"]) == len(inside)
    assert [suite.attrib["name"] for suite in root] == ["tests/a.yaml", "tests/b.yaml", "tests/c.yaml"]
    assert root.find(".//failure").text == "tests/a.yaml:3:5: expected a, got b\n  why"  # type: ignore[union-attr]


@given(st.text(st.characters(), max_size=60))
def test_any_text_survives(text: str) -> None:
    """Read back by an XML parser it is the text, with only what XML cannot hold written out."""
    tried = Tried(text, text or "x", AT, 0.0, (Failure(AT, text, (text,)),))
    root = ET.fromstring(junit(Trial((tried,)), text))
    case = root.find(".//testcase")
    assert case is not None
    # An attribute's line ends and tabs are written as references, and so they come back as they were.
    assert case.attrib["name"] == text_for_xml(text or "x")
    assert root[0].attrib["name"] == text_for_xml(text)
    body = "".join(case.itertext()).strip("\n ")
    assert text_for_xml(text).replace("\r\n", "\n").replace("\r", "\n").strip("\n ") in body


def test_only_what_xml_cannot_hold_is_written_out() -> None:
    assert text_for_xml("a\x00b\ud800c\ufffe<&>\t\n𝄞é") == "a\\x00b\\ud800c\\ufffe<&>\t\n𝄞é"


def test_the_command_writes_a_new_file_and_none_over_another(run: Callable[..., Ran], tmp_path: Path) -> None:  # noqa: F811
    run("rules", "new", "ruleset", "lesson")
    done = run("rules", "test", "lesson", "--junit", "out.xml")
    assert (done.code, done.err) == (0, "The report is in out.xml.\n")
    root = ET.parse(tmp_path / "out.xml").getroot()
    assert (root.attrib["name"], root.attrib["tests"], root.attrib["failures"]) == ("lesson", "3", "0")
    again = run("rules", "test", "lesson", "--junit", "out.xml")
    assert (again.code, again.out) == (2, "")
    assert "never written over" in again.err
