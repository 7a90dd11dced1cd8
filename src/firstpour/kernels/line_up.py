"""Tasks placed by the rule of `schedule.dispatch`, run after run with other durations.

A task and those that begin the moment that it ends are one block and are placed together. Whatever can begin first is
begun; of what can begin at the same time, the lowest `rank`. A task with fewer than zero steps is not there in that
run: it takes no time, no hands and no machine, and holds nothing up. All times are in steps.
"""

import numpy as np

from firstpour.kernels.compiled import compiled

FAR = np.int64(2**40)


@compiled()
def fit_in(at, steps, low, high):  # type: ignore[no-untyped-def]
    """The first start from `at` on at which so many steps fit into one window; FAR where none does."""
    first, last = 0, low.shape[0]
    while first < last:
        middle = (first + last) // 2
        if high[middle] < at + steps:
            first = middle + 1
        else:
            last = middle
    for k in range(first, low.shape[0]):
        start = max(low[k], at)
        if start + steps <= high[k]:
            return start
    return FAR


@compiled()
def line_up(  # type: ignore[no-untyped-def]
    steps, hands, by_hours, pinned, rank, waits_from, waits, next_from, nexts, block_from, blocks,
    take_from, takes, free_from, frees, held, low, high, starts,
):  # fmt: skip
    """Write when each task starts into `starts` (runs, tasks); give the first task without a place a run, or −1.

    `steps` is (runs, tasks). Lists lie one after the other with the place where each task's begins (tasks + 1):
    `waits` what it waits for, `nexts` what waits for it, `blocks` itself and what follows it at once in order (empty
    for what follows another), with `block_from` alike; `takes` and `frees` machines that it takes and lets go;
    `held` machines taken from the beginning on. `low`, `high` are the windows.
    """
    runs, count = steps.shape
    stuck = np.full(runs, -1, np.int64)
    ends = np.empty(count, np.int64)
    waiting = np.empty(count, np.int64)
    ready = np.empty(count, np.int64)
    free = np.empty(held.shape[0], np.int64)
    offset = np.zeros(count, np.int64)
    for run in range(runs):
        for m in range(held.shape[0]):
            free[m] = FAR if held[m] else 0
        n_ready = 0
        for t in range(count):
            waiting[t] = waits_from[t + 1] - waits_from[t]
            ends[t] = -1
            if waiting[t] == 0:
                ready[n_ready] = t
                n_ready += 1
        hands_free = np.int64(0)
        while n_ready > 0:
            best, best_at, best_place = -1, FAR, -1
            for place in range(n_ready):
                t = ready[place]
                at = np.int64(0)
                if not pinned[t]:
                    for k in range(waits_from[t], waits_from[t + 1]):
                        at = max(at, ends[waits[k]])
                if steps[run, t] >= 0:
                    off = np.int64(0)
                    for k in range(block_from[t], block_from[t + 1]):
                        b = blocks[k]
                        off = np.int64(0) if b == t else offset[waits[waits_from[b]]]
                        if b != t:
                            off += max(steps[run, waits[waits_from[b]]], 0)
                        offset[b] = off
                        if steps[run, b] < 0:
                            continue
                        for m in range(take_from[b], take_from[b + 1]):
                            at = max(at, FAR if free[takes[m]] >= FAR else free[takes[m]] - off)
                        if hands[b] and not pinned[b]:
                            at = max(at, hands_free - off)
                    if at > best_at or at >= FAR:
                        continue
                    moved = not pinned[t]
                    while moved and at <= best_at:
                        moved = False
                        for k in range(block_from[t], block_from[t + 1]):
                            b = blocks[k]
                            if by_hours[b] and steps[run, b] > 0:
                                there = fit_in(at + offset[b], steps[run, b], low, high)
                                if there >= FAR:
                                    at = FAR
                                    moved = False
                                    break
                                if there > at + offset[b]:
                                    at = there - offset[b]
                                    moved = True
                if at < best_at or (
                    at == best_at
                    and at < FAR
                    and (best < 0 or rank[t] < rank[best] or (rank[t] == rank[best] and t < best))
                ):
                    best, best_at, best_place = t, at, place
            if best < 0:
                stuck[run] = ready[0]
                break
            n_ready -= 1
            ready[best_place] = ready[n_ready]
            there = steps[run, best] >= 0
            for k in range(block_from[best], block_from[best + 1]):
                b = blocks[k]
                start = best_at + (offset[b] if there else 0)
                length = max(steps[run, b], 0) if there else 0
                starts[run, b] = start
                ends[b] = start + length
                if there and steps[run, b] >= 0:
                    if hands[b]:
                        hands_free = max(hands_free, ends[b])
                    for m in range(take_from[b], take_from[b + 1]):
                        free[takes[m]] = FAR
                    for m in range(free_from[b], free_from[b + 1]):
                        free[frees[m]] = ends[b]
            for k in range(block_from[best], block_from[best + 1]):
                b = blocks[k]
                for n in range(next_from[b], next_from[b + 1]):
                    t = nexts[n]
                    waiting[t] -= 1
                    if waiting[t] == 0 and ends[t] < 0:
                        ready[n_ready] = t
                        n_ready += 1
    return stuck
