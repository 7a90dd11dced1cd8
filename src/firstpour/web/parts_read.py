"""Part files as read, a few kept in memory: the page asks for the same part again and again."""

from collections import OrderedDict
from dataclasses import replace
from threading import Lock

from firstpour.job.job import PartRequest
from firstpour.part.marks import apply_marks
from firstpour.part.part import Part
from firstpour.plan.look import part_of

MOST_KEPT = 8


class PartsRead:
    """Parts by the content of what they are read from, without the marks of the job."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[object, ...], Part] = OrderedDict()
        self._lock = Lock()

    def marked(self, request: PartRequest) -> Part:
        """The part as asked for, its faces marked.

        Raises
        ------
        WorkshopError
            If it cannot be used.
        """
        part = replace(self._plain(request), name=request.name)
        return apply_marks(part, request.marks) if request.marks else part

    def _plain(self, request: PartRequest) -> Part:
        key = _key_of(request)
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        part = part_of(replace(request, marks=()))
        with self._lock:
            self._kept[key] = part
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return part


def _key_of(request: PartRequest) -> tuple[object, ...]:
    if request.file is None:
        return (request.sample,)
    try:
        status = request.file.stat()
    except OSError:
        return (request.file, None)
    return (request.file, status.st_size, status.st_mtime_ns, request.unit)
