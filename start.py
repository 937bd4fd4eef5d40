"""Set everything up on a fresh machine, then run strikebridge or its tests.

```
python3 start.py demo          the whole job on a simulated board
python3 start.py test          everything that must hold before a change lands
python3 start.py ANY COMMAND   any other command of strikebridge
```

It needs nothing but Python. It makes a virtual environment beside itself, in `.venv`, and
renews it when `pyproject.toml` changes. On Debian and its relatives it also installs what is
missing there with apt-get, as root or by `sudo -n`; where it may not, it says so and goes on.
What it does goes to standard error, so that results can be piped.

No syntax newer than Python 3.7 stands here, so that an old Python can say it is too old.
"""

from __future__ import annotations

import ctypes
import hashlib
import importlib.util
import json
import os
import platform
import shutil
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

ROOT = Path(__file__).resolve().parent
OLDEST_PYTHON = (3, 11)
STAMP = "strikebridge-start.json"

WINDOW_LIBRARIES = {
    "libGL.so.1": "libgl1",
    "libEGL.so.1": "libegl1",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libfontconfig.so.1": "libfontconfig1",
    "libdbus-1.so.3": "libdbus-1-3",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-shape.so.0": "libxcb-shape0",
}
"""System library that Qt loads -> package of Debian that holds it."""

FIRMWARE_TOOLS = {
    "avr-gcc": "gcc-avr",
    "/usr/lib/avr/include/avr/io.h": "avr-libc",
    "/usr/include/simavr/sim_avr.h": "libsimavr-dev",
    "/usr/include/libelf.h": "libelf-dev",
    "cc": "gcc",
    "/usr/include/stdio.h": "libc6-dev",
    "make": "make",
}
"""Program or file that the firmware's tests need -> package of Debian; 130 MB in all."""

WINDOW_COMMANDS = ("demo", "window", "replay")
NO_WINDOW = ("--headless", "--json", "--help", "--version")

# These would send an installation somewhere else than into the virtual environment, or make it
# an empty gesture. Index, proxy and certificate settings stay: the machine may need them.
ODD_SETTINGS = (
    "PYTHONPATH",
    "PYTHONHOME",
    "PIP_DRY_RUN",
    "PIP_NO_DEPS",
    "PIP_PREFIX",
    "PIP_PYTHON",
    "PIP_REQUIRE_HASHES",
    "PIP_ROOT",
    "PIP_TARGET",
)


class SetUpError(Exception):
    """The set-up cannot go on; the message says why and what to do, in a sentence or two."""


def say(words: str) -> None:
    """Tell the user what happens.

    Args:
        words: whole sentences.
    """
    sys.stderr.write("start: " + words + "\n")
    sys.stderr.flush()


def too_old(version: Sequence[int]) -> str | None:
    """Say that a Python is too old.

    Args:
        version: its version, at least major and minor.

    Returns:
        A sentence, None if it is new enough.
    """
    if tuple(version[:2]) >= OLDEST_PYTHON:
        return None
    have, need = (".".join(map(str, one[:2])) for one in (version, OLDEST_PYTHON))
    return f"This is Python {have}. Strikebridge needs {need} or newer: start with that one."


def child_environment(environment: Mapping[str, str], programs: Path) -> dict[str, str]:
    """Make the environment for everything that runs inside the virtual environment.

    Args:
        environment: that of this process.
        programs: folder of the virtual environment's programs.
    """
    child = {name: value for name, value in environment.items() if name not in ODD_SETTINGS}
    child["VIRTUAL_ENV"] = str(programs.parent)
    child["PATH"] = str(programs) + os.pathsep + environment.get("PATH", os.defpath)
    child["PIP_USER"] = "0"
    child["PIP_NO_INPUT"] = "1"
    child["PIP_DISABLE_PIP_VERSION_CHECK"] = "1"
    return child


def run(command: Sequence[str], environment: Mapping[str, str]) -> bool:
    """Run a step of the set-up, unattended, its output to standard error.

    Args:
        command: program and arguments.
        environment: for it.

    Returns:
        True if it succeeded.
    """
    try:
        done = subprocess.run(
            command,
            env=dict(environment),
            stdin=subprocess.DEVNULL,
            stdout=sys.stderr,
            check=False,
        )
    except OSError:
        return False
    return done.returncode == 0


# --- what the system lacks ---


def is_loadable(library: str) -> bool:
    """Try whether a system library is there.

    Args:
        library: its soname.
    """
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def missing_packages(
    *, for_window: bool, for_tests: bool, has: Callable[[str], bool] = is_loadable
) -> list[str]:
    """Find which packages of Debian are wanted and not there; none but on Linux.

    Args:
        for_window: True if Qt is going to open a window.
        for_tests: True if the tests are going to run.
        has: tries one library.
    """
    if platform.system() != "Linux":
        return []
    wanted = WINDOW_LIBRARIES if for_window or for_tests else {}
    packages = [package for library, package in wanted.items() if not has(library)]
    if for_tests and shutil.which("Xvfb") is None:
        packages.append("xvfb")
    if for_tests and shutil.which("dbus-daemon") is None:
        packages.append("dbus")  # the tests of Bluetooth have a message bus of their own
    return packages + missing_firmware_tools() if for_tests else packages


def missing_firmware_tools() -> list[str]:
    """Find which packages of Debian the tests of the firmware still need."""
    return [
        package
        for tool, package in FIRMWARE_TOOLS.items()
        if shutil.which(tool) is None and not (tool.startswith("/") and Path(tool).exists())
    ]


def apt_prefix() -> list[str] | None:
    """Find how apt-get may be called here: as root, or by sudo without a password.

    Returns:
        What stands before `apt-get`; None where there is none or it may not be called.
    """
    if shutil.which("apt-get") is None:
        return None
    if sys.platform != "win32" and os.geteuid() == 0:
        return ["env", "DEBIAN_FRONTEND=noninteractive"]
    if shutil.which("sudo") is None or not run(["sudo", "-n", "true"], os.environ):
        return None
    return ["sudo", "-n", "env", "DEBIAN_FRONTEND=noninteractive"]


def install_packages(packages: Sequence[str]) -> bool:
    """Install packages with apt-get where that is allowed.

    Args:
        packages: their names.

    Returns:
        True if they are there now.
    """
    prefix = apt_prefix()
    if prefix is None:
        return False
    say("Installing {} with apt-get.".format(", ".join(packages)))
    apt = [*prefix, "apt-get", "-qq", "-o", "DPkg::Lock::Timeout=120"]
    install = [*apt, "install", "-y", "--no-install-recommends", *packages]
    if run(install, os.environ):
        return True
    say("Fetching apt's lists of packages first.")
    return run([*apt, "update"], os.environ) and run(install, os.environ)


def prepare_system(*, for_window: bool, for_tests: bool) -> None:
    """Install what Qt and the tests need of the system, or say what is missing.

    Args:
        for_window: True if Qt is going to open a window.
        for_tests: True if the tests are going to run.
    """
    packages = missing_packages(for_window=for_window, for_tests=for_tests)
    if packages and not install_packages(packages):
        say(
            "I may not install the packages {}, so what needs a window or the firmware's "
            "simulator may not run; going on.".format(" ".join(packages))
        )


# --- the virtual environment ---


def has_ensurepip() -> bool:
    """Say whether this Python can put pip into a virtual environment; Debian splits it off."""
    return importlib.util.find_spec("ensurepip") is not None


class Environment:
    """The virtual environment beside this file.

    Attributes:
        folder: where it lies.
        programs: folder of its programs.
    """

    def __init__(self, root: Path) -> None:
        """Name it; nothing is made yet.

        Args:
            root: folder of `pyproject.toml`.
        """
        self.root = root
        self.folder = root / ".venv"
        self.programs = self.folder / ("Scripts" if sys.platform == "win32" else "bin")

    def program(self, name: str) -> Path:
        """Give the path of one of its programs.

        Args:
            name: without the ending that Windows wants.
        """
        return self.programs / (name + (".exe" if sys.platform == "win32" else ""))

    def ready(self, extra: str) -> None:
        """Make or renew it, if need be.

        Args:
            extra: name of the optional dependencies, empty for none.

        Raises:
            SetUpError: it cannot be made.
        """
        wanted, found = self._wanted(), self._found()
        is_whole = self.program("python").exists() and all(
            found.get(key) == wanted[key] for key in ("python", "root")
        )
        has_program = self.program("strikebridge").exists()
        is_installed = has_program and found.get("pyproject") == wanted["pyproject"]
        if is_whole and is_installed and extra in ("", found.get("extra")):
            return
        if not is_whole:
            self._make(is_ours=bool(found))
        if self._stamp_file.exists():
            self._stamp_file.unlink()  # an installation that breaks off is not to look whole
        self._install(extra)
        self._stamp_file.write_text(
            json.dumps({**self._wanted(), "extra": extra}), encoding="utf-8"
        )

    @property
    def _stamp_file(self) -> Path:
        return self.folder / STAMP

    def _wanted(self) -> dict[str, str]:
        """What the stamp of a fresh one says.

        It does not survive being moved, nor the system's Python being replaced by the next
        one. Which Python calls this file does not matter once it is there.
        """
        pyproject = (self.root / "pyproject.toml").read_bytes()
        return {
            "pyproject": hashlib.sha256(pyproject).hexdigest(),
            "python": os.path.realpath(self.program("python")),
            "root": str(self.root),
        }

    def _found(self) -> dict[str, str]:
        try:
            found = json.loads(self._stamp_file.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return found if isinstance(found, dict) else {}

    def _make(self, *, is_ours: bool) -> None:
        """Make it; one that this file once made is emptied first, a stranger's is not."""
        if not has_ensurepip():
            package = "python{}.{}-venv".format(*sys.version_info[:2])
            if not install_packages([package]):
                raise SetUpError(
                    "This Python cannot make virtual environments. Install what it lacks "
                    f"(on Debian: apt-get install {package}) and start again."
                )
        say(f"Making the virtual environment {self.folder}.")
        command = [sys.executable, "-m", "venv", *(["--clear"] if is_ours else [])]
        environment = {k: v for k, v in os.environ.items() if k not in ODD_SETTINGS}
        if not run([*command, str(self.folder)], environment):
            raise SetUpError(
                f"The virtual environment {self.folder} could not be made; the lines above say "
                "why. Delete that folder and start again."
            )

    def _install(self, extra: str) -> None:
        what = str(self.root) + (f"[{extra}]" if extra else "")
        say("Installing strikebridge and what it needs; a minute or two, about 400 MB.")
        pip = [str(self.program("python")), "-m", "pip", "install", "--quiet", "-e", what]
        if not run(pip, child_environment(os.environ, self.programs)):
            raise SetUpError(
                "pip could not install what strikebridge needs; the lines above say why. "
                "Check the network and the free space, and start again."
            )


# --- the two things to run ---


def opens_window(arguments: Sequence[str]) -> bool:
    """Say whether a command of strikebridge is going to open a window.

    Args:
        arguments: words of the command line.
    """
    if any(word in NO_WINDOW for word in arguments):
        return False
    return not arguments or arguments[0].startswith("-") or arguments[0] in WINDOW_COMMANDS


def checks(root: Path, programs: Path, arguments: Sequence[str]) -> list[str]:
    """Give the command that runs the checks; without a bash, the tests alone.

    Args:
        root: folder of the clone.
        programs: folder of the virtual environment's programs.
        arguments: further words for pytest.
    """
    bash = None if sys.platform == "win32" else shutil.which("bash")
    if bash is None:
        return [str(programs / "python"), "-m", "pytest", *arguments]
    return [bash, str(root / ".ci" / "check"), *arguments]


def hand_over(command: Sequence[str], environment: Mapping[str, str]) -> int:
    """Become another program, so that its signals and its exit code are its own.

    Args:
        command: program and arguments.
        environment: for it.

    Returns:
        Its exit code, where this system cannot become another program.
    """
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name == "posix":
        become: Callable[[str, list[str], dict[str, str]], object] = os.execve
        become(command[0], list(command), dict(environment))
    return subprocess.run(command, env=dict(environment), check=False).returncode


def main(arguments: Sequence[str]) -> int:
    """Set up and run.

    Args:
        arguments: `test` and words for pytest, or a command of strikebridge.

    Returns:
        Exit code: 0 done, 1 the set-up failed, else that of the program.
    """
    trouble = too_old(sys.version_info[:2])
    if trouble is not None:
        say(trouble)
        return 1
    is_test = arguments[:1] == ["test"]
    environment = Environment(ROOT)
    try:
        prepare_system(for_window=opens_window(arguments), for_tests=is_test)
        environment.ready("test" if is_test else "")
    except SetUpError as error:
        say(str(error))
        return 1
    except OSError as error:
        say(f"The set-up failed: {error}. Start again in a complete, writable clone.")
        return 1
    child = child_environment(os.environ, environment.programs)
    if is_test:
        os.chdir(ROOT)
        return hand_over(checks(ROOT, environment.programs, arguments[1:]), child)
    return hand_over([str(environment.program("strikebridge")), *arguments], child)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        say("Stopped.")
        sys.exit(1)
