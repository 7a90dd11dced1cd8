"""Work shared out among plain threads: kernels compiled with `nogil` run side by side on it.

Plain threads instead of compiled parallel loops: those take several seconds each to compile.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numba


def in_shares(work: Callable[[int, int], object], count: int, *, least: int = 1) -> None:
    """Call `work(first, last)` for shares of `count` pieces of work, one thread a share, none smaller than `least`.

    >>> done = []
    >>> in_shares(lambda first, last: done.extend(range(first, last)), 5, least=5)
    >>> done
    [0, 1, 2, 3, 4]
    """
    threads = max(1, min(numba.get_num_threads(), count // least))
    ends = [count * k // threads for k in range(threads + 1)]
    if threads == 1:
        work(0, count)
        return
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(work, ends[:-1], ends[1:]))
