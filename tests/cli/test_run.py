"""The real command in a process of its own: exit codes, streams, and never a traceback."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from advisor.cli import main
from advisor.cli.group import COMMANDS, commands
from advisor.faults import OurFault
from tests.cli.rig import ROOT, Ran, Rig, command

Run = Callable[..., Ran]


def test_done(rig: Rig) -> None:
    done = command("decide", rig.case, "--rules", rig.rules)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"REPLACE, condemned" in done.stdout


def test_input_at_fault(rig: Rig) -> None:
    rig.case.write_text("format: 1\nkase: x\n", encoding="utf-8")
    done = command("decide", rig.case, "--rules", rig.rules)
    assert (done.returncode, done.stdout) == (1, b"")
    assert b"case.yaml:2:1: " in done.stderr


@pytest.mark.parametrize(
    ("arguments", "hint"),
    [
        ((), b"Usage:"),
        (("decied",), b'did you mean "decide"?'),
        (("xyz",), b"there are decide"),
        (("decide",), b"Missing argument"),
        (("decide", "--jason", "x"), b"--json"),
        (("check",), b"Missing argument"),
    ],
)
def test_called_wrongly(arguments: tuple[str, ...], hint: bytes) -> None:
    done = command(*arguments)
    assert (done.returncode, done.stdout) == (2, b"")
    assert hint in done.stderr


def test_narrow_paper_plain_encoding_and_no_colour(rig: Rig) -> None:
    text = rig.case.read_text(encoding="utf-8").replace("a trial case", "a 漢 case − × 3")
    rig.case.write_text(text, encoding="utf-8")
    env = {"COLUMNS": "60", "PYTHONIOENCODING": "ascii"}
    done = command("decide", rig.case, "--rules", rig.rules, env=env)
    assert done.returncode == 0
    assert done.stderr == b""
    lines = done.stdout.decode("ascii").splitlines()
    assert lines[0] == "a ? case - x 3"
    assert max(map(len, lines)) <= 60
    assert "-" * 60 in lines


def test_json_is_utf8_whatever_the_terminal_writes(rig: Rig) -> None:
    text = rig.case.read_text(encoding="utf-8").replace("a trial case", "a 漢 case")
    rig.case.write_text(text, encoding="utf-8")
    plain = command("decide", rig.case, "--rules", rig.rules, "--json", env={"PYTHONIOENCODING": "ascii"})
    wide = command("decide", rig.case, "--rules", rig.rules, "--json", env={"PYTHONIOENCODING": "utf-8"})
    assert plain.stdout == wide.stdout
    assert json.loads(plain.stdout)["case"] == "a 漢 case"


def on_a_terminal(rig: Rig, env: dict[str, str]) -> bytes:
    """What the command writes where standard output is a terminal."""
    master, slave = pty.openpty()
    kept = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    process = subprocess.Popen(
        [sys.executable, "-m", "advisor", "decide", str(rig.case), "--rules", str(rig.rules), "--brief"],
        stdout=slave,
        stderr=slave,
        env={**kept, "PYTHONPATH": str(ROOT), "TERM": "xterm", **env},
    )
    os.close(slave)
    chunks = []
    while True:
        try:
            chunk = os.read(master, 65536)
        except OSError:
            break
        if not chunk:
            break
        chunks.append(chunk)
    os.close(master)
    assert process.wait(60) == 0
    return b"".join(chunks)


def test_bold_on_a_terminal_and_none_where_it_is_not_wanted(rig: Rig) -> None:
    assert b"\x1b[1m" in on_a_terminal(rig, {})
    assert b"\x1b" not in on_a_terminal(rig, {"NO_COLOR": "1"})
    assert b"\x1b" not in on_a_terminal(rig, {"TERM": "dumb"})


def test_a_reader_that_goes_away_is_no_fault(rig: Rig) -> None:
    for extra in ((), ("--json",)):
        process = subprocess.Popen(
            [sys.executable, "-m", "advisor", "decide", str(rig.case), "--rules", str(rig.rules), *extra],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
        process.stderr.close()
        assert process.wait(60) == 0


def test_ctrl_c_says_so_shortly(rig: Rig, tmp_path: Path) -> None:
    # The case comes through a slow disk: the command is stopped while it waits for its rule set.
    script = tmp_path / "slow.py"
    script.write_text(
        "import sys, time\n"
        "import advisor.files\n"
        "def slow(*_):\n"
        "    print('reading', flush=True)\n"
        "    time.sleep(60)\n"
        "advisor.files.load_rules = slow\n"
        "from advisor.cli import main\n"
        "sys.exit(main(sys.argv[1:]))\n",
        encoding="utf-8",
    )
    process = subprocess.Popen(
        [sys.executable, str(script), "decide", str(rig.case)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert process.stdout is not None
    assert process.stdout.readline() == b"reading\n"
    time.sleep(0.05)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert (out, err.strip()) == (b"", b"stopped.")


@pytest.mark.parametrize(
    "error",
    [
        OurFault("the two rule engines differ on this case, so no verdict is shown", reproduce='{"a":1}'),
        ZeroDivisionError("division by zero"),
        RecursionError("too deep"),
        MemoryError(),
    ],
)
def test_our_own_fault(
    run: Run, rig: Rig, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, error: Exception
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(sys.modules["advisor.pipeline"], "decide", broken)
    done = run("decide", rig.case, f"--rules={rig.rules}")
    assert (done.code, done.out) == (3, "")
    assert "our fault" in done.err
    assert "Traceback" not in done.err
    (file,) = tmp_path.glob("advisor-fault-*.json")
    assert file.name in done.err
    held = json.loads(file.read_text(encoding="utf-8"))
    assert held["arguments"][0] == "decide"
    assert type(error).__name__ in held["error"]
    assert held["reproduce"] == getattr(error, "reproduce", "")
    names = {Path(name).name for name in held["files"]}
    assert names == {"case.yaml", "engine.yaml", "ruleset.yaml", "rules.yaml", "vocabulary.yaml",
                     "sources.yaml", "cautions.yaml", "instruments.yaml"}  # fmt: skip
    # The same fault again finds its file there and says so, too.
    again = run("decide", rig.case, f"--rules={rig.rules}")
    assert again.code == 3
    assert "reproduce" in again.err


def test_our_own_fault_where_nothing_can_be_written(
    run: Run, rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    def refuse(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(sys.modules["advisor.pipeline"], "decide", broken)
    monkeypatch.setattr("advisor.cli.ours.write_new", refuse)
    done = run("decide", rig.case, "--rules", rig.rules)
    assert done.code == 3
    assert "could not be written" in done.err


def test_version_and_help(run: Run) -> None:
    assert run("--version").out == "advisor 0.1.0\n"
    for name in ("--help", "-h"):
        done = run(name)
        assert done.code == 0
        assert all(each in done.out for each in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(run: Run, name: str) -> None:
    done = run(name, "--help")
    assert (done.code, done.err) == (0, "")
    assert f"Example: advisor {name} " in done.out
    assert max(map(len, done.out.splitlines())) <= 80
    found = commands.get_command(click.Context(commands), name)
    assert found is not None
    assert found.name == name


def test_the_group_works_under_clicks_own_runner(rig: Rig) -> None:
    done = CliRunner().invoke(commands, ["decide", str(rig.case), "--rules", str(rig.rules), "--brief"])
    assert done.exit_code == 0
    assert "REPLACE, condemned" in done.output


def test_main_reads_the_programs_own_arguments(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["advisor", "--version"])
    assert main() == 0
    assert capsys.readouterr().out.startswith("advisor ")


def test_a_command_does_not_import_what_it_does_not_need(rig: Rig) -> None:
    script = (
        "import sys; from advisor.cli import main; "
        f"main(['decide', {str(rig.case)!r}, '--rules', {str(rig.rules)!r}, '--json']); "
        "unwanted = {'pint', 'numpy', 'uncertainties', 'jsonschema', 'advisor.reports.terminal', "
        "'advisor.explain.why', 'advisor.authoring.check'}; "
        "print(','.join(sorted(set(sys.modules) & unwanted)), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        capture_output=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=True,
        timeout=60,
    )
    assert done.stderr.strip() == b""


ANSWERS = (("decide", "{case}"), ("decide", "{case}", "--json"), ("why", "{case}", "gasket"), ("--version",),
           ("start", "{engine}", "--into", "-"), ("--help",), ("check", "{case}"))  # fmt: skip


@pytest.mark.parametrize("words", ANSWERS, ids=" ".join)
@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize(
    ("redirection", "says"),
    [(">/dev/full", "no space left on the device"), (">&-", "standard output is closed")],
)
def test_an_answer_that_cannot_be_written_is_told_as_such(
    rig: Rig, tmp_path: Path, words: tuple[str, ...], unbuffered: str, redirection: str, says: str
) -> None:
    given = [word.format(case=rig.case, engine=rig.engine) for word in words]
    if not given[0].startswith("-"):
        given += ["--rules", str(rig.rules)]
    done = subprocess.run(
        ["sh", "-c", f'"$@" {redirection}', "sh", sys.executable, "-m", "advisor", *given],
        capture_output=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": unbuffered},
        cwd=tmp_path,
        timeout=60,
        check=False,
    )
    assert done.returncode == 1
    assert done.stderr.decode() == f"The answer could not be written: {says}.\n"
    assert list(tmp_path.glob("advisor-fault-*")) == []


def test_no_answer_is_wanted_of_a_command_that_only_writes_a_file(rig: Rig) -> None:
    into = rig.folder / "new.yaml"
    given = ["start", str(rig.engine), "--rules", str(rig.rules), "--into", str(into)]
    done = subprocess.run(
        ["sh", "-c", '"$@" >&-', "sh", sys.executable, "-m", "advisor", *given],
        capture_output=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        timeout=60,
        check=False,
    )
    assert done.returncode == 0
    assert into.is_file()


def test_words_that_are_no_text_are_refused_in_words(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable.encode(), b"-m", b"advisor", b"decide", b"caf\xe9.yaml"],
        capture_output=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
        cwd=tmp_path,
        timeout=60,
        check=False,
    )
    assert (done.returncode, done.stdout) == (2, b"")
    assert b"word 2 after the program's name is not text in UTF-8 ('caf\\udce9.yaml')" in done.stderr
    assert list(tmp_path.iterdir()) == []
