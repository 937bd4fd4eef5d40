"""The command line: one function a command, and the only place that prints.

Results go to standard output, everything else to standard error; `--json` prints one document
and nothing else. Exit codes: 0 done, 1 the job failed (the message says what and what to do), 2
wrong usage.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, cast

import click
from typing_extensions import override

from strikebridge.errors import AddressError, StrikebridgeError

if TYPE_CHECKING:
    from collections.abc import Sequence

COMMANDS: dict[str, str] = {
    "window": "strikebridge.cli.window:window",
    "demo": "strikebridge.cli.demo:demo",
    "boards": "strikebridge.cli.boards:boards",
    "verify": "strikebridge.cli.verify:verify",
    "record": "strikebridge.cli.record:record",
    "calibrate": "strikebridge.cli.calibrate:calibrate",
    "analyse": "strikebridge.cli.analyse:analyse",
    "athletes": "strikebridge.cli.athletes:athletes",
    "exercises": "strikebridge.cli.exercises:exercises",
    "replay": "strikebridge.cli.replay:replay",
    "session": "strikebridge.cli.session:session",
    "progress": "strikebridge.cli.progress:progress",
    "retest": "strikebridge.cli.retest:retest",
    "import": "strikebridge.cli.import_results:import_results",
    "report": "strikebridge.cli.report:report",
    "export": "strikebridge.cli.export:export",
    "backup": "strikebridge.cli.backup:backup",
    "restore": "strikebridge.cli.restore:restore",
    "erase": "strikebridge.cli.erase:erase",
}
"""Name of a command -> its function; imported on use, so that --help is quick."""

ABOUT = ("--help", "--version")


class _Commands(click.Group):
    """The commands of the table; without one, the window."""

    @override
    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    @override
    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, _, name = COMMANDS[cmd_name].partition(":")
        return cast("click.Command", getattr(importlib.import_module(module), name))

    @override
    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        wants_window = not args or (args[0].startswith("-") and args[0] not in ABOUT)
        return super().parse_args(ctx, ["window", *args] if wants_window else args)


@click.group(cls=_Commands, context_settings={"help_option_names": ["--help"]})
@click.version_option(package_name="strikebridge", prog_name="strikebridge")
def main() -> None:
    """Turn a cheap load cell behind a wall ball into numbers a coach can trust.

    Without a command the window opens; `strikebridge demo` shows the whole job on a simulated
    board.
    """


def run(arguments: Sequence[str]) -> int:
    """Run the command line and turn every expected error into one sentence.

    Args:
        arguments: words behind the program's name.

    Returns:
        Exit code: 0 done, 1 the job failed, 2 wrong usage.
    """
    try:
        result = main.main(list(arguments), prog_name="strikebridge", standalone_mode=False)
    except click.UsageError as error:
        error.show()
        return 2
    except click.ClickException as error:
        error.show()
        return 1
    except click.Abort:
        click.echo("Stopped.", err=True)
        return 1
    except AddressError as error:
        click.echo(f"strikebridge: {error}", err=True)
        return 2
    except StrikebridgeError as error:
        click.echo(f"strikebridge: {error}", err=True)
        return 1
    return result if isinstance(result, int) else 0
