"""Every command of the table explains itself and has its line in the README."""

import functools
import re
import subprocess
import sys
from pathlib import Path

import click
import pytest

from strikebridge.cli import COMMANDS, main, run

ROOT = Path(__file__).resolve().parents[2]


def step_into(group: click.Command, word: str) -> click.Command:
    assert isinstance(group, click.Group)
    found = group.get_command(click.Context(group), word)
    assert found is not None
    return found


def command(name: str) -> click.Command:
    root: click.Command = main
    return functools.reduce(step_into, name.split(), root)


def below(name: str) -> list[str]:
    """Give a command, or those of a command that is a group, each by all its words."""
    found = command(name)
    if not isinstance(found, click.Group):
        return [name]
    words = found.list_commands(click.Context(found))
    return [one for word in words for one in below(f"{name} {word}")]


NAMES = [one for name in sorted(COMMANDS) for one in below(name)]


def long_options(name: str) -> set[str]:
    return {
        word
        for parameter in command(name).params
        if isinstance(parameter, click.Option)
        for word in parameter.opts
        if word.startswith("--")
    }


def readme_options(name: str) -> set[str]:
    """Give the options in the rows of the README's table that begin with this command."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = [
        row
        for row in text.splitlines()
        if re.match(rf"\| [^|]*`strikebridge {name}(`| [A-Z])", row)
    ]
    assert rows, f"README.md has no line for strikebridge {name}"
    return {word for row in rows for word in re.findall(r"`(--[a-z-]+)`", row)}


@pytest.mark.parametrize("name", NAMES)
def test_a_command_and_each_option_have_help(name: str) -> None:
    found = command(name)
    assert found.name == name.rsplit(maxsplit=1)[-1]
    assert found.help
    for parameter in found.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, f"{name} {parameter.opts} has no help"
            assert parameter.help.endswith("."), f"{name} {parameter.opts}: a whole sentence"


@pytest.mark.parametrize("name", NAMES)
def test_the_readme_names_exactly_the_options_there_are(name: str) -> None:
    assert readme_options(name) == long_options(name)


@pytest.mark.parametrize("name", NAMES)
def test_help_goes_to_standard_output_and_is_no_error(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([*name.split(), "--help"]) == 0
    out, err = capsys.readouterr()
    assert f"strikebridge {name}" in out
    assert err == ""


@pytest.mark.parametrize("name", NAMES)
def test_an_unknown_option_is_wrong_usage(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([*name.split(), "--no-such-option"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "--no-such-option" in err
    assert "Traceback" not in err


def test_the_readme_has_no_command_that_is_not_there() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`strikebridge ([a-z]+)", text))
    assert named == set(COMMANDS)


def test_the_help_of_the_program_lists_every_command() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "strikebridge", "--help"],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    for name in COMMANDS:
        assert re.search(rf"^  {name} ", done.stdout, re.MULTILINE)


def test_an_unknown_command_is_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["no-such-command"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "no-such-command" in err
