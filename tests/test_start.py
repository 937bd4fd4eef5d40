"""`start.py` on machines of all kinds, without installing anything."""

import ast
import json
import os
import platform
import shutil
import stat
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

import start

ROOT = Path(start.__file__).resolve().parent
EVERYTHING = sorted(start.WINDOW_LIBRARIES.values())
posix_only = pytest.mark.skipif(
    os.name != "posix", reason="the stand-in programs are shell scripts"
)


class Machine:
    """A stand-in for running commands: notes them, and fails those that hold a given word."""

    def __init__(self, failing: Sequence[str] = ()) -> None:
        self.commands: list[list[str]] = []
        self.environments: list[dict[str, str]] = []
        self.failing = list(failing)

    def __call__(self, command: Sequence[str], environment: dict[str, str]) -> bool:
        self.commands.append(list(command))
        self.environments.append(dict(environment))
        for word in self.failing:
            if word in command:
                self.failing.remove(word)
                return False
        if "venv" in command:
            Path(command[-1]).mkdir(exist_ok=True)
        return True


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """A clone with nothing in it but what start.py looks at."""
    shutil.copy(ROOT / "start.py", tmp_path)
    (tmp_path / "pyproject.toml").write_text("[project]\n", encoding="utf-8")
    return tmp_path


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> Machine:
    """Every command succeeds and does nothing."""
    machine = Machine()
    monkeypatch.setattr(start, "run", machine)
    return machine


def put_program(environment: start.Environment, name: str, script: str = "") -> None:
    environment.programs.mkdir(parents=True, exist_ok=True)
    program = environment.program(name)
    program.write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)


def made(clone: Path, extra: str = "") -> start.Environment:
    """Give an environment that is ready, without having run anything."""
    environment = start.Environment(clone)
    put_program(environment, "python")
    put_program(environment, "strikebridge")
    environment.ready(extra)
    return environment


def steps(machine: Machine) -> list[str]:
    """Say in one word each what was run."""
    words = {"venv": "make", "pip": "install", "update": "lists"}
    return [
        next((words[word] for word in command if word in words), command[0])
        for command in machine.commands
    ]


# --- Python itself ---


def test_an_old_python_can_read_the_file() -> None:
    ast.parse((ROOT / "start.py").read_text(encoding="utf-8"), feature_version=(3, 7))


@pytest.mark.parametrize("version", [(2, 7), (3, 9), (3, 10)])
def test_an_old_python_is_told_which_one_is_needed(version: tuple[int, int]) -> None:
    sentence = start.too_old(version)
    assert sentence is not None
    assert f"Python {version[0]}.{version[1]}." in sentence
    assert "3.11" in sentence


def test_a_new_python_is_welcome() -> None:
    assert start.too_old((3, 11)) is None
    assert start.too_old((4, 0)) is None


def test_the_oldest_python_is_that_of_the_package() -> None:
    oldest = ".".join(map(str, start.OLDEST_PYTHON))
    assert f'requires-python = ">={oldest}"' in (ROOT / "pyproject.toml").read_text(
        encoding="utf-8"
    )


# --- the environment that programs get ---


def test_odd_settings_do_not_reach_the_programs(tmp_path: Path) -> None:
    odd = dict.fromkeys(start.ODD_SETTINGS, "somewhere")
    kept = {"PIP_INDEX_URL": "kept", "HOME": "kept", "DISPLAY": ":7"}
    child = start.child_environment({**odd, **kept, "PIP_USER": "1"}, tmp_path / "bin")
    assert not set(start.ODD_SETTINGS) & set(child)
    assert kept.items() <= child.items()
    assert child["PIP_USER"] == "0"


def test_the_programs_of_the_virtual_environment_come_first(tmp_path: Path) -> None:
    child = start.child_environment({"PATH": "before"}, tmp_path / "bin")
    assert child["PATH"].split(os.pathsep) == [str(tmp_path / "bin"), "before"]
    assert child["VIRTUAL_ENV"] == str(tmp_path)


# --- making and renewing the virtual environment ---


def test_a_first_run_makes_and_installs(clone: Path, machine: Machine) -> None:
    start.Environment(clone).ready("")
    assert steps(machine) == ["make", "install"]
    assert machine.commands[1][-2:] == ["-e", str(clone)]


def test_a_second_run_does_nothing(clone: Path, machine: Machine) -> None:
    environment = made(clone)
    machine.commands.clear()
    environment.ready("")
    assert machine.commands == []


def test_the_tests_need_more_and_the_demo_then_nothing(clone: Path, machine: Machine) -> None:
    environment = made(clone)
    machine.commands.clear()
    environment.ready("test")
    assert steps(machine) == ["install"]
    assert machine.commands[0][-1] == f"{clone}[test]"
    environment.ready("test")
    environment.ready("")
    assert len(machine.commands) == 1


def test_a_changed_pyproject_installs_anew(clone: Path, machine: Machine) -> None:
    environment = made(clone)
    machine.commands.clear()
    (clone / "pyproject.toml").write_text("[project]\nname='x'\n", encoding="utf-8")
    environment.ready("")
    assert steps(machine) == ["install"]


@pytest.mark.parametrize("key", ["python", "root"])
def test_another_python_or_place_makes_it_anew(clone: Path, machine: Machine, key: str) -> None:
    environment = made(clone)
    machine.commands.clear()
    stamp = environment.folder / start.STAMP
    found = json.loads(stamp.read_text(encoding="utf-8"))
    stamp.write_text(json.dumps({**found, key: "another"}), encoding="utf-8")
    environment.ready("")
    assert steps(machine) == ["make", "install"]
    assert "--clear" in machine.commands[0]


def test_a_strangers_environment_is_not_emptied(clone: Path, machine: Machine) -> None:
    made(clone)
    assert steps(machine) == ["make", "install"]
    assert "--clear" not in machine.commands[0]


def test_a_program_that_was_deleted_is_installed_anew(clone: Path, machine: Machine) -> None:
    environment = made(clone)
    machine.commands.clear()
    environment.program("strikebridge").unlink()
    environment.ready("")
    assert steps(machine) == ["install"]


@pytest.mark.parametrize("torn", ["", "{", "[]", '"x"'])
def test_a_torn_stamp_counts_as_none(clone: Path, machine: Machine, torn: str) -> None:
    environment = made(clone)
    machine.commands.clear()
    (environment.folder / start.STAMP).write_text(torn, encoding="utf-8")
    environment.ready("")
    assert "install" in steps(machine)


def test_a_broken_installation_is_tried_again(clone: Path, machine: Machine) -> None:
    environment = made(clone)
    (clone / "pyproject.toml").write_text("[project]\nname='x'\n", encoding="utf-8")
    machine.failing.append("pip")
    with pytest.raises(start.SetUpError, match="Check the network"):
        environment.ready("")
    machine.commands.clear()
    environment.ready("")
    assert "install" in steps(machine)


def test_an_environment_that_cannot_be_made_is_said(clone: Path, machine: Machine) -> None:
    machine.failing.append("venv")
    with pytest.raises(start.SetUpError, match="could not be made"):
        start.Environment(clone).ready("")


def test_a_python_without_ensurepip_gets_its_package(
    clone: Path, machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start, "has_ensurepip", lambda: False)
    monkeypatch.setattr(start, "apt_prefix", lambda: ["as-root"])
    start.Environment(clone).ready("")
    package = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
    assert machine.commands[0][0] == "as-root"
    assert machine.commands[0][-1] == package


def test_a_python_without_ensurepip_and_without_root_is_said(
    clone: Path, machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start, "has_ensurepip", lambda: False)
    monkeypatch.setattr(start, "apt_prefix", lambda: None)
    with pytest.raises(start.SetUpError, match=r"apt-get install python3\.\d+-venv"):
        start.Environment(clone).ready("")
    assert machine.commands == []


def test_a_clone_that_is_not_whole_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start, "ROOT", tmp_path)
    assert start.main(["analyse"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "pyproject.toml" in err
    assert err.count("\n") == 1


# --- packages of the system ---


def test_nothing_is_wanted_where_all_is_there() -> None:
    packages = start.missing_packages(for_window=True, for_tests=False, has=lambda _: True)
    assert packages == []


def test_a_terminal_wants_no_window_libraries() -> None:
    packages = start.missing_packages(for_window=False, for_tests=False, has=lambda _: False)
    assert packages == []


def test_a_window_wants_what_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(platform, "system", lambda: "Linux")
    packages = start.missing_packages(
        for_window=True, for_tests=False, has=lambda library: library != "libEGL.so.1"
    )
    assert packages == ["libegl1"]


def test_the_tests_want_a_virtual_screen_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(platform, "system", lambda: "Linux")
    monkeypatch.setattr(shutil, "which", lambda _: None)
    monkeypatch.setattr(start, "FIRMWARE_TOOLS", {})
    packages = start.missing_packages(for_window=False, for_tests=True, has=lambda _: False)
    assert sorted(packages) == sorted([*EVERYTHING, "xvfb", "dbus"])


def test_the_tests_want_what_the_firmware_needs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(platform, "system", lambda: "Linux")
    monkeypatch.setattr(
        shutil, "which", lambda name: name if name in ("make", "Xvfb", "dbus-daemon") else None
    )
    there, gone = tmp_path / "there.h", tmp_path / "gone.h"
    there.touch()
    tools = {"avr-gcc": "gcc-avr", "make": "make", str(there): "first", str(gone): "second"}
    monkeypatch.setattr(start, "FIRMWARE_TOOLS", tools)
    for for_tests, expected in ((True, ["gcc-avr", "second"]), (False, [])):
        packages = start.missing_packages(
            for_window=False, for_tests=for_tests, has=lambda _: True
        )
        assert packages == expected


@pytest.mark.parametrize("system", ["Windows", "Darwin"])
def test_other_systems_bring_all_themselves(
    system: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(platform, "system", lambda: system)
    packages = start.missing_packages(for_window=True, for_tests=True, has=lambda _: False)
    assert packages == []


def test_a_library_that_is_not_there_is_seen() -> None:
    assert not start.is_loadable("libno-such-library-of-any-system.so.9")


def test_lists_are_fetched_only_if_need_be(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(start, "apt_prefix", list)
    assert start.install_packages(["xvfb"])
    assert steps(machine) == ["apt-get"]
    machine.commands.clear()
    machine.failing.append("install")
    assert start.install_packages(["xvfb"])
    assert steps(machine) == ["apt-get", "lists", "apt-get"]


def test_where_packages_may_not_be_installed_it_goes_on(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(start, "missing_packages", lambda **_: ["libegl1"])
    monkeypatch.setattr(start, "apt_prefix", lambda: None)
    start.prepare_system(for_window=True, for_tests=False)
    out, err = capsys.readouterr()
    assert out == ""
    assert "libegl1" in err
    assert err.count("\n") == 1


@posix_only
def test_root_calls_apt_itself_and_others_by_sudo(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "which", lambda name: f"/bin/{name}")
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    assert start.apt_prefix() == ["env", "DEBIAN_FRONTEND=noninteractive"]
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    assert start.apt_prefix() == ["sudo", "-n", "env", "DEBIAN_FRONTEND=noninteractive"]
    machine.failing.append("true")
    assert start.apt_prefix() is None


@pytest.mark.parametrize("missing", ["apt-get", "sudo"])
def test_without_apt_or_sudo_nothing_is_installed(
    missing: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        shutil, "which", lambda name: None if name == missing else f"/bin/{name}"
    )
    monkeypatch.setattr(os, "geteuid", lambda: 1000, raising=False)
    assert start.apt_prefix() is None


def test_a_program_that_is_not_there_is_a_failure() -> None:
    assert not start.run(["no-such-program-anywhere"], os.environ)


# --- what is run in the end ---


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("", True),
        ("--board simulated:", True),
        ("demo --seed 3", True),
        ("replay x.jsonl", True),
        ("demo --headless", False),
        ("replay x.jsonl --json", False),
        ("--help", False),
        ("analyse x.csv", False),
        ("test", False),
    ],
)
def test_only_a_window_needs_its_libraries(line: str, *, expected: bool) -> None:
    assert start.opens_window(line.split()) is expected


def test_without_a_bash_the_tests_alone_are_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    command = start.checks(Path("clone"), Path("bin"), ["-x"])
    assert command == [str(Path("bin") / "python"), "-m", "pytest", "-x"]


def started(clone: Path, *words: str, elsewhere: Path) -> subprocess.CompletedProcess[str]:
    """Run the clone's start.py from another folder, under odd settings, nobody at the keys."""
    odd = {"PYTHONPATH": "nowhere", "PIP_TARGET": "nowhere", "PIP_USER": "1"}
    return subprocess.run(
        [sys.executable, str(clone / "start.py"), *words],
        capture_output=True,
        text=True,
        check=False,
        cwd=elsewhere,
        env={**os.environ, **odd},
        stdin=subprocess.DEVNULL,
    )


@posix_only
def test_a_command_is_passed_on_and_its_exit_code_comes_back(
    clone: Path, machine: Machine, tmp_path_factory: pytest.TempPathFactory
) -> None:
    environment = made(clone)
    put_program(
        environment, "strikebridge", 'echo "$@"; echo "$PIP_USER$PYTHONPATH"; pwd; exit 7'
    )
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    done = started(clone, "demo", "--headless", "a b", elsewhere=elsewhere)
    assert done.returncode == 7
    assert done.stdout.splitlines() == ["demo --headless a b", "0", str(elsewhere)]
    assert done.stderr == ""


@posix_only
@pytest.mark.skipif(shutil.which("bash") is None, reason="needs a bash")
def test_the_checks_run_in_the_clone_with_its_programs(
    clone: Path, machine: Machine, tmp_path_factory: pytest.TempPathFactory
) -> None:
    environment = made(clone, "test")
    (clone / ".ci").mkdir()
    (clone / ".ci" / "check").write_text('pwd; echo "$1"; echo "${PATH%%:*}"; exit 3\n')
    without_packages = (
        "import start, sys; start.prepare_system = lambda **_: None; "
        "sys.exit(start.main(['test', '-x']))"
    )
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            without_packages,
        ],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path_factory.mktemp("elsewhere"),
        env={**os.environ, "PYTHONPATH": str(clone)},
    )
    assert done.returncode == 3, done.stderr
    assert done.stdout.splitlines() == [str(clone), "-x", str(environment.programs)]
