"""Whether a schedule can be worked, told from the tasks alone, knowing nothing of how it was found."""

from firstpour.schedule.values import Calendar, Network, Schedule


def faults(network: Network, calendar: Calendar, schedule: Schedule) -> list[str]:
    """Every way in which the schedule cannot be worked."""
    found = []
    starts, ends = schedule.starts, schedule.ends
    for task in network.tasks:
        start, end = starts[task.id], ends[task.id]
        if start < 0 or (end - start) * calendar.step_min < task.minutes - 1e-6:
            found.append(f"{task.id} is cut short")
        found += [f"{task.id} begins before {before} has ended" for before in task.after if start < ends[before]]
        found += [
            f"{task.id} begins {(start - ends[before]) * calendar.step_min} min after {before}"
            for before, minutes in task.within
            if before in task.after and not task.pinned and (start - ends[before]) * calendar.step_min > minutes
        ]
        if task.at_once is not None and start != ends[task.at_once]:
            found.append(f"{task.id} does not follow {task.at_once} at once")
        if task.pinned and start:
            found.append(f"{task.id} runs already, and is put off")
        if (
            task.by_hours
            and not task.pinned
            and end > start
            and not any(low <= start and end <= high for low, high in calendar.windows)
        ):
            found.append(f"{task.id} is outside the hours")
    busy: dict[tuple[str, int], str] = {}
    stretches = [("hands", starts[t.id], ends[t.id], t.id) for t in network.tasks if t.attended]
    for task in network.tasks:
        stretches += [(machine, starts[task.id], ends[task.id], task.id) for machine in task.uses]
    stretches += [
        (hold.machine, 0 if hold.first is None else starts[hold.first], ends[hold.last], hold.last)
        for hold in network.holds
    ]
    for what, start, end, name in stretches:
        for step in range(start, end):
            if (what, step) in busy:
                found.append(f"{what}: {name} and {busy[what, step]} at step {step}")
                break
            busy[what, step] = name
    return found
