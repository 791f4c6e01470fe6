"""Built, installed in an empty environment and used from somewhere else: without a network."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest

from tests.packaging.tree import ROOT, project_files

BUILD = "import sys; from hatchling import build; print(getattr(build, sys.argv[1])(sys.argv[2]))"
PURELIB = "import sysconfig; print(sysconfig.get_path('purelib'), end='')"
LOCATE = "from advisor import _resources as r; print(r.rulesets_dir(), r.demo_dir(), r.__file__, sep='\\n')"


def run(*command: str | Path, cwd: Path) -> str:
    """Standard output of a command that must succeed, run without anything that points Python elsewhere."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "PIP_"))}
    done = subprocess.run(
        command, cwd=cwd, env=clean, capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def build(kind: str, into: Path, tree: Path = ROOT) -> Path:
    """What the build backend makes of a tree: `kind` is the name of its hook in PEP 517 or PEP 660."""
    into.mkdir(parents=True, exist_ok=True)
    return into / run(sys.executable, "-c", BUILD, kind, into, cwd=tree).splitlines()[-1]


def install(wheel: Path, environment: Path) -> Path:
    """The directory of commands of a new environment that holds the wheel.

    Its dependencies are those of the environment that runs the tests, so that nothing is downloaded.
    """
    run(sys.executable, "-m", "venv", "--without-pip", environment, cwd=environment.parent)
    commands = environment / ("Scripts" if os.name == "nt" else "bin")
    python = commands / "python"
    pip = [sys.executable, "-m", "pip", "--isolated", "--python", str(python)]
    run(*pip, "install", "--no-index", "--no-deps", "--no-compile", wheel, cwd=environment.parent)
    site = run(python, "-c", PURELIB, cwd=environment)
    borrowed = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    Path(site, "zz_dependencies.pth").write_text("\n".join(sorted(borrowed)), encoding="utf-8")
    return commands


@pytest.fixture
def elsewhere(tmp_path: Path) -> Path:
    """A current directory with look-alikes of everything the package must find for itself."""
    directory = tmp_path / "elsewhere"
    for name in ("rulesets", "cases_demo", "_data"):
        (directory / name).mkdir(parents=True)
        (directory / name / "LICENSE").touch()
    return directory


def members(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


def test_a_wheel_carries_its_data_and_finds_it(tmp_path: Path, elsewhere: Path) -> None:
    wheel = build("build_wheel", tmp_path / "dist")

    files = [(name.parts[0], name.as_posix()) for name in project_files()]
    package = {name for top, name in files if top == "advisor"}
    data = {f"advisor/_data/{name}" for top, name in files if top in {"rulesets", "cases_demo"}}
    content = {name for name in members(wheel) if ".dist-info/" not in name}
    assert content == package | data
    assert "advisor/py.typed" in content

    commands = install(wheel, tmp_path / "environment")
    rulesets, demo, module = map(Path, run(commands / "python", "-c", LOCATE, cwd=elsewhere).splitlines())
    assert module.is_relative_to(tmp_path / "environment")
    assert (rulesets, demo) == (module.parent / "_data" / "rulesets", module.parent / "_data" / "cases_demo")
    assert (rulesets / "LICENSE").read_bytes() == (ROOT / "rulesets" / "LICENSE").read_bytes()

    assert "decide" in run(commands / "advisor", "--help", cwd=elsewhere)


def test_an_editable_install_uses_the_checkout(tmp_path: Path, elsewhere: Path) -> None:
    commands = install(build("build_editable", tmp_path / "dist"), tmp_path / "environment")
    found = run(commands / "python", "-c", LOCATE, cwd=elsewhere).splitlines()
    assert [Path(line) for line in found] == [
        ROOT / "rulesets", ROOT / "cases_demo", ROOT / "advisor" / "_resources.py",
    ]  # fmt: skip


def test_a_source_distribution_builds_the_same_wheel(tmp_path: Path) -> None:
    wheel = build("build_wheel", tmp_path / "from-tree")
    archive = build("build_sdist", tmp_path / "dist")
    run(sys.executable, "-m", "tarfile", "-e", archive, tmp_path / "unpacked", cwd=tmp_path)
    [unpacked] = (tmp_path / "unpacked").iterdir()
    rebuilt = build("build_wheel", tmp_path / "from-source", unpacked)
    assert rebuilt.name == wheel.name
    assert members(rebuilt) == members(wheel)
    # The tests travel with it, so that whoever has only the source distribution can run them.
    assert (unpacked / "tests" / "packaging" / Path(__file__).name).is_file()
