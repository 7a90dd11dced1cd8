"""Remedies speak of the job; here they are given the option or the command that does it on the command line."""

from collections.abc import Iterable

OPTIONS = (
    ("draw direction", "--direction x,y,z"),
    ("for the results", "--out DIR"),
    ("place you may write to", "--out"),
    ("its unit", "--units"),
    ("your own shelf", "--shelf DIR, or FIRSTPOUR_SHELF"),
    ("workshop file", "--workshop FILE"),
    ("one part at a time", "--processes 1"),
    ("one of the two days", "--bought, or --opened"),
    ("renew the record", "--replace"),
)
"""Words of a remedy, and the option that does what they say, where the command has it."""
COMMANDS = (
    ("data sheet", "firstpour shelf add"),
    ("count what is there", "firstpour shelf count"),
    ("out of the stock", "firstpour shelf remove N"),
    ("packs on the shelf", "firstpour shelf list"),
    ("change it in the workshop", "firstpour workshop set"),
    ("a printer in the workshop", "firstpour workshop add-printer"),
    ("materials that are known", "firstpour shelf list --all"),
)
"""Words of a remedy, and the command that does what they say."""


def with_options(remedy: str, *, has: Iterable[str]) -> str:
    """The remedy with the options of the command (`has`) and the commands that do what it says.

    >>> with_options("choose another draw direction, or simplify the part", has=["--direction", "--out"])
    'choose another draw direction, or simplify the part (--direction x,y,z)'
    >>> with_options("choose another draw direction, or simplify the part", has=["--out"])
    'choose another draw direction, or simplify the part'
    """
    here = set(has)
    named = [option for words, option in OPTIONS if words in remedy and option.split(" ")[0].rstrip(",") in here]
    named += [command for words, command in COMMANDS if words in remedy]
    return f"{remedy} ({'; '.join(named)})" if named else remedy
