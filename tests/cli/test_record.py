"""Decision records: self-contained, canonical, and never rewritten."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from advisor.cli.newfile import write_new
from advisor.files import load_rules
from advisor.pipeline import decide
from advisor.sheets.case import CaseSheet
from advisor.sheets.digest import canonical, digest_of
from advisor.sheets.engine import EngineSheet
from tests.cli.rig import ROOT, Ran, Rig

Run = Callable[..., Ran]


def test_a_record_holds_all_that_the_decision_was_made_from(run: Run, rig: Rig, tmp_path: Path) -> None:
    target = tmp_path / "record.json"
    done = run("decide", rig.case, "--rules", rig.rules, "--record", target, "--json")
    assert done.code == 0
    assert str(target) in done.err
    held = json.loads(target.read_text(encoding="utf-8"))
    assert held["decision"] == json.loads(done.out)
    case = CaseSheet.model_validate(held["inputs"]["case"])
    sheet = EngineSheet.model_validate(held["inputs"]["engine_sheet"])
    assert digest_of(case) == held["decision"]["case_digest"]
    assert digest_of(sheet) == held["decision"]["sheet_digest"]
    rules = hashlib.sha256(canonical(held["inputs"]["ruleset"]).encode()).hexdigest()
    assert rules == held["decision"]["rulesets"][0]["digest"]
    again = decide(case, sheet, load_rules(rig.rules))
    assert [(each.part, each.place, each.verdict) for each in again.verdicts] == [
        (each["part"], each["place"], each["verdict"]) for each in held["decision"]["verdicts"]
    ]
    assert held["versions"]["advisor"]
    assert held["versions"]["durable-rules"][0].isdigit()


def test_a_record_is_canonical_and_the_same_each_time(run: Run, rig: Rig, tmp_path: Path) -> None:
    one, other = tmp_path / "one.json", tmp_path / "other.json"
    for target in (one, other):
        assert run("decide", rig.case, "--rules", rig.rules, "--record", target).code == 0
    assert one.read_bytes() == other.read_bytes()
    assert one.read_text(encoding="utf-8") == canonical(json.loads(one.read_text(encoding="utf-8"))) + "\n"


def test_a_record_is_whole_even_where_one_kind_is_shown(run: Run, rig: Rig, tmp_path: Path) -> None:
    one, other = tmp_path / "one.json", tmp_path / "other.json"
    run("decide", rig.case, "--rules", rig.rules, "--record", one)
    run("decide", rig.case, "--rules", rig.rules, "--record", other, "--part", "gasket")
    assert one.read_bytes() == other.read_bytes()


def test_a_record_is_never_written_over(run: Run, rig: Rig, tmp_path: Path) -> None:
    target = tmp_path / "record.json"
    target.write_text("kept", encoding="utf-8")
    done = run("decide", rig.case, "--rules", rig.rules, "--record", target)
    assert done.code == 2
    assert "there already" in done.err
    assert done.out == ""
    assert target.read_text(encoding="utf-8") == "kept"
    (tmp_path / "nowhere").symlink_to(tmp_path / "gone")
    assert run("decide", rig.case, "--rules", rig.rules, "--record", tmp_path / "nowhere").code == 2


def test_a_record_in_a_folder_that_is_not_there(run: Run, rig: Rig, tmp_path: Path) -> None:
    done = run("decide", rig.case, "--rules", rig.rules, "--record", tmp_path / "no" / "record.json")
    assert done.code == 2
    assert "no folder" in done.err


def test_a_new_file_is_whole_or_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: int) -> None:
        raise OSError("the disk is full")

    monkeypatch.setattr("os.fsync", fail)
    with pytest.raises(OSError, match="full"):
        write_new(tmp_path / "file", b"text")
    assert list(tmp_path.iterdir()) == []


def test_a_new_file_never_takes_the_place_of_another(tmp_path: Path) -> None:
    write_new(tmp_path / "file", b"first")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "file", b"second")
    assert (tmp_path / "file").read_bytes() == b"first"
    assert [each.name for each in tmp_path.iterdir()] == ["file"]


def test_a_file_system_without_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError("no links here")

    monkeypatch.setattr("os.link", refuse)
    write_new(tmp_path / "file", b"first")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "file", b"second")
    assert (tmp_path / "file").read_bytes() == b"first"
    assert [each.name for each in tmp_path.iterdir()] == ["file"]


def test_what_a_killed_run_has_left_is_swept_by_the_next_and_nothing_else_is(tmp_path: Path) -> None:
    script = (
        "import os, signal; from pathlib import Path; import advisor.cli.newfile as newfile\n"
        "newfile.os.fsync = lambda _: os.kill(os.getpid(), signal.SIGKILL)\n"
        f"newfile.write_new(Path({str(tmp_path / 'record.json')!r}), b'half')\n"
    )
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", script], env=env, timeout=60, check=False)
    assert done.returncode == -signal.SIGKILL
    (left,) = tmp_path.iterdir()
    kept = tmp_path / ".record.json.12345678.part"
    kept.write_text("somebody's own", encoding="utf-8")
    os.utime(kept, (0, 0))
    # One that is being written now is left alone.
    write_new(tmp_path / "one", b"text")
    assert left.exists()
    os.utime(left, (0, 0))
    write_new(tmp_path / "other", b"text")
    assert sorted(each.name for each in tmp_path.iterdir()) == [kept.name, "one", "other"]
