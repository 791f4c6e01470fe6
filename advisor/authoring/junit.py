"""What came of tests as XML in the form that build servers commonly read.

A file of tests is a `testsuite` and a test a `testcase`. A test that failed holds a `failure`, one that could
not be tried an `error`, and one that its author has still to answer a `skipped`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import PurePath
from typing import Final
from xml.etree import ElementTree as ET

from advisor.authoring.cases import Trial, Tried

_NOT_XML: Final = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that no XML 1.0 document may hold, written out or not (XML 1.0, section 2.2)."""


def text_for_xml(text: str) -> str:
    r"""`text` with every character that XML cannot hold written as ``\x00`` or ``\ud800``."""
    return _NOT_XML.sub(_written_out, text)


def _written_out(match: re.Match[str]) -> str:
    number = ord(match[0])
    return f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}"


def junit(trial: Trial, name: str) -> bytes:
    """The XML document for one run, in UTF-8; `name` is that of the rule set."""
    root = ET.Element("testsuites", {"name": text_for_xml(name), **_counts(trial.tried)})
    root.set("time", f"{trial.seconds:.3f}")
    by_file: dict[str, list[Tried]] = {}
    for each in trial.tried:
        by_file.setdefault(each.file, []).append(each)
    for file, tried in by_file.items():
        suite = ET.SubElement(root, "testsuite", {"name": text_for_xml(file), **_counts(tried)})
        suite.set("time", f"{sum(each.seconds for each in tried):.3f}")
        for each in tried:
            _case(suite, each, f"{name}.{PurePath(file).stem}")
    ET.indent(root)
    written: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return written + b"\n"


def _counts(tried: Iterable[Tried]) -> dict[str, str]:
    each = list(tried)
    return {
        "tests": str(len(each)),
        "failures": str(sum(bool(one.failures) and not one.faults for one in each)),
        "errors": str(sum(bool(one.faults) for one in each)),
        "skipped": str(sum(_skipped(one) for one in each)),
    }


def _skipped(tried: Tried) -> bool:
    return bool(tried.unanswered) and not (tried.failures or tried.faults)


def _case(suite: ET.Element, tried: Tried, group: str) -> None:
    case = ET.SubElement(
        suite,
        "testcase",
        {
            "classname": text_for_xml(group),
            "name": text_for_xml(tried.name or "the file can be read"),
            "time": f"{tried.seconds:.3f}",
        },
    )
    if tried.faults:
        _outcome(case, "error", [str(fault) for fault in tried.faults], tried.faults[0].what)
    elif tried.failures:
        _outcome(case, "failure", [str(failure) for failure in tried.failures], tried.failures[0].what)
    elif tried.unanswered:
        ET.SubElement(case, "skipped", {"message": text_for_xml(_open(tried))})


def _open(tried: Tried) -> str:
    return f"not yet answered: {', '.join(tried.unanswered)}"


def _outcome(case: ET.Element, kind: str, lines: list[str], message: str) -> None:
    outcome = ET.SubElement(case, kind, {"message": text_for_xml(message)})
    outcome.text = text_for_xml("\n".join(lines))
