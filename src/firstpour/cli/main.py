"""The `firstpour` command: parses, calls one use case, shows what came back."""

import sys

import typer

from firstpour.errors import WorkshopError

app = typer.Typer(
    name="firstpour",
    help="From a part on the screen to good copies on the table: moulds, pours and the days they take.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)


def register_commands() -> None:
    """Attach every command; a command module itself imports nothing heavy until it runs."""
    from firstpour.cli import (
        fill_commands,
        master_commands,
        mould_commands,
        part_commands,
        plan_commands,
        shelf_commands,
    )

    every = (part_commands, mould_commands, fill_commands, master_commands, plan_commands, shelf_commands)
    if not app.registered_commands:
        for commands in every:
            commands.register(app)


def run() -> None:
    """Entry point: a problem the maker can put right is shown with its remedy and exits 2."""
    register_commands()
    try:
        app()
    except WorkshopError as error:
        sys.stderr.write(f"Problem: {error.problem}\nRemedy:  {error.remedy}\n")
        sys.exit(2)
    except KeyboardInterrupt:
        sys.stderr.write("Stopped; nothing half-written was left behind.\n")
        sys.exit(130)


if __name__ == "__main__":
    run()
