"""Options that are numbers: each has the least and the most that can be meant, said in its help."""

from typing import Any

import typer

from firstpour.errors import BadRequest


def limited(low: float, high: float, help_words: str, **more: Any) -> Any:
    """An option that takes a number from `low` to `high`, or several of them.

    >>> limited(0.001, 1000, "Smallest step of the scale, in g.").help
    'Smallest step of the scale, in g (0.001 to 1000).'
    """
    limits = f"{_plain(low)} to {_plain(high)}"

    def refuse_others(param: typer.CallbackParam, value: Any) -> Any:
        for one in value if isinstance(value, (list, tuple)) else [value]:
            if one is not None and not low <= one <= high:
                raise BadRequest(f"{_typed(param)} is {_plain(one)}", remedy=f"give a number from {limits}")
        return value

    return typer.Option(callback=refuse_others, help=f"{help_words.rstrip('.')} ({limits}).", **more)


def _typed(param: typer.CallbackParam) -> str:
    return next((one for one in param.opts if one.startswith("--")), param.opts[0])


def _plain(value: float) -> str:
    """As one writes it: whole numbers without a point, and none with more than fifteen digits.

    >>> _plain(1e6), _plain(0.0001), _plain(5e-324), _plain(10**400)
    ('1000000', '0.0001', '5e-324', 'a number of 401 digits')
    """
    if isinstance(value, int) and abs(value) >= 10**15:
        return f"a number of {len(str(abs(value)))} digits"
    return str(int(value)) if abs(value) < 10**15 and value == int(value) else repr(value)
