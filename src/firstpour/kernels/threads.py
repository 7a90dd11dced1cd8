"""Work shared out among plain threads: kernels compiled with `nogil` run side by side on it.

Plain threads instead of compiled parallel loops: those take several seconds each to compile.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numba

EVEN_OUT = 4
"""Shares a thread: one that is done early takes another."""


def in_shares(work: Callable[[int, int], object], count: int, *, least: int = 1) -> None:
    """Call `work(first, last)` for shares of `count` pieces of work, none smaller than `least`, on threads.

    >>> done = []
    >>> in_shares(lambda first, last: done.extend(range(first, last)), 5, least=5)
    >>> done
    [0, 1, 2, 3, 4]
    """
    threads = max(1, min(numba.get_num_threads(), count // least))
    if threads == 1:
        work(0, count)
        return
    shares = min(EVEN_OUT * threads, count // least)
    ends = [count * k // shares for k in range(shares + 1)]
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(work, ends[:-1], ends[1:]))
