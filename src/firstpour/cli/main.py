"""The `firstpour` command: parses, calls one use case, shows what came back."""

import errno
import signal
import sys
from typing import Annotated, Any, Final

import typer
import typer.main

from firstpour.cli.options_named import with_options
from firstpour.cli.streams import cannot_show, flush_or_say, ready_streams
from firstpour.errors import WorkshopError

UNUSABLE: Final = 2
STOPPED: Final = 130
"""What the shell expects after Ctrl-C."""
ENDED: Final = 143
"""What it expects after SIGTERM."""
READER_LEFT: Final = 141
"""What it expects where the reader of a pipe has left, as `| head` does."""

app = typer.Typer(
    name="firstpour",
    help="From a part on the screen to good copies on the table: moulds, pours and the days they take.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)


@app.callback()
def before_each(
    store: Annotated[
        str | None,
        typer.Option(
            metavar="PLACE",
            help="Where your store is for this command: a folder, or postgresql://NAME@HOST/DATABASE. "
            "A shelf that is named keeps its own.",
        ),
    ] = None,
) -> None:
    """From a part on the screen to good copies on the table: moulds, pours and the days they take."""
    if store is not None:
        from firstpour.files.places import use_store

        use_store(store)


def register_commands() -> None:
    """Attach every command; a command module itself imports nothing heavy until it runs."""
    from firstpour.cli import (
        bench_commands,
        fill_commands,
        master_commands,
        mould_commands,
        part_commands,
        plan_commands,
        route_commands,
        schedule_commands,
        serve_commands,
        shelf_commands,
        store_commands,
        workshop_commands,
    )

    every = (
        part_commands,
        mould_commands,
        fill_commands,
        master_commands,
        plan_commands,
        route_commands,
        schedule_commands,
        serve_commands,
        shelf_commands,
        workshop_commands,
        bench_commands,
        store_commands,
    )
    if not app.registered_commands:
        for commands in every:
            commands.register(app)


def run() -> None:
    """Entry point: a problem the maker can put right is shown with its remedy and exits 2."""
    ready_streams()
    ended: list[int] = []
    try:
        _take_an_end_as_a_stop(ended)
        code = _run_command()
    except KeyboardInterrupt:
        code = STOPPED
    if code == STOPPED:
        sys.stderr.write("Stopped; nothing half-written was left behind.\n")
        code = ENDED if ended else STOPPED
    unshown = flush_or_say()
    if unshown is not None:
        code = _not_shown(unshown)
    sys.exit(code)


def _run_command() -> int:
    """The code that the typed command ends with."""
    try:
        register_commands()
        code = app(prog_name="firstpour", standalone_mode=False)
    except WorkshopError as error:
        _tell(error.problem, with_options(error.remedy, has=_options_of(sys.argv[1:])))
        return UNUSABLE
    except OSError as error:
        if _came_of_stdout(error):
            return _not_shown(cannot_show(error))
        if error.filename is None:
            raise
        _tell(f"{str(error.filename)[:80]!r} cannot be used ({error.strerror})", "check its name and its permissions")
        return UNUSABLE
    except UnicodeEncodeError as error:
        if not any("\udc80" <= letter <= "\udcff" for word in sys.argv for letter in word):
            raise
        _tell(f"what was typed has letters that are not UTF-8 ({error.object!a:.60})", "type it in UTF-8")
        return UNUSABLE
    except Exception as error:
        if _came_of_ctrl_c(error) or isinstance(error, typer.Abort):
            return STOPPED  # also Ctrl-C, or the end of what is typed, where the maker is asked something
        if not hasattr(error, "format_message"):
            raise
        _tell_mistyped(error)
        return UNUSABLE
    return code if isinstance(code, int) else 0


def _not_shown(why: str) -> int:
    """End where stdout took no more: quietly where its reader left, else with the reason."""
    if not why:
        return READER_LEFT
    _tell(why, "send it elsewhere, or make room there")
    return UNUSABLE


def _came_of_stdout(error: OSError) -> bool:
    """Files are named in what goes wrong with them; only what is shown has no name."""
    return error.filename is None and error.errno in (errno.EPIPE, errno.ENOSPC, errno.EIO, errno.EBADF, errno.EFBIG)


def _take_an_end_as_a_stop(ended: list[int]) -> None:
    """Let SIGTERM tidy up as Ctrl-C does; `ended` is told."""

    def stop(number: int, _: object) -> None:
        ended.append(number)
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, stop)


def _came_of_ctrl_c(error: BaseException) -> bool:
    """Ctrl-C inside a compiled kernel comes out as another error, or a row of them, that it caused."""
    cause: BaseException | None = error
    while cause is not None and not isinstance(cause, KeyboardInterrupt):
        cause = cause.__cause__
    return cause is not None


def _options_of(words: list[str]) -> list[str]:
    """The options of the command that was typed."""
    command: Any = typer.main.get_command(app)
    for word in words:
        below = getattr(command, "commands", {}).get(word)
        if below is None:
            break
        command = below
    return [name for option in command.params for name in option.opts]


def _tell(problem: str, remedy: str) -> None:
    sys.stderr.write(f"Problem: {problem}\nRemedy:  {remedy}\n")


def _tell_mistyped(error: Any) -> None:
    """A command line that cannot be read: what the parser says of it, and where its options are listed."""
    context = getattr(error, "ctx", None)
    asked = context.command_path if context else "firstpour"
    if type(error).__name__ == "NoArgsIsHelpError":
        error.show()
        return
    said = (
        error.format_message()
        .replace("Value error, ", "")
        .replace("Input should be", "it must be")
        .strip()
        .rstrip(".")
    )
    _tell(said[:1].lower() + said[1:], f"see {asked} --help")


if __name__ == "__main__":
    run()
