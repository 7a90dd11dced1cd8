"""The one tree of errors: each says the problem and the next thing to do.

::

    WorkshopError
    ├── UnreadablePart     the part file cannot be used as a solid
    │   └── OpenMesh       its surface has open edges
    ├── BadJob             job.toml says something that cannot be meant
    ├── BadRequest         a command's option or an argument cannot be meant
    ├── OutOfRange         a formula or a table is asked outside its limits
    ├── UnknownMaterial    no such material on the shelf
    ├── CannotWrite        the folder for the results cannot be written
    ├── MouldFailed        no valid solid came out of the geometry
    └── OutOfMemory        the machine has too little memory for the job
"""


def next_thing(remedy: str) -> str:
    """A remedy in the one voice that all have: it begins small and ends without a stop, whoever wrote it.

    >>> next_thing("Buy a pack."), next_thing("PVC gives off vapour: air it."), next_thing("turn the mould")
    ('buy a pack', 'PVC gives off vapour: air it', 'turn the mould')
    """
    words = remedy.strip().rstrip(".")
    word = words.split(" ", 1)[0].rstrip(",.:;")
    plain = word[:1].isupper() and word[1:].islower()
    return words[:1].lower() + words[1:] if plain else words


class WorkshopError(Exception):
    """Something the maker can put right. `remedy` is the next thing to do, in the words of the job."""

    code = "workshop"

    def __init__(self, problem: str, *, remedy: str) -> None:
        super().__init__(problem)
        self.problem, self.remedy = problem, next_thing(remedy)


class UnreadablePart(WorkshopError):
    """The part file cannot be used as a solid."""

    code = "unreadable-part"


class OpenMesh(UnreadablePart):
    """The surface of the part has open edges that are not small holes."""

    code = "open-mesh"


class BadJob(WorkshopError):
    """The job file says something that cannot be meant."""

    code = "bad-job"


class BadRequest(WorkshopError):
    """A command's option or an argument cannot be meant."""

    code = "bad-request"


class OutOfRange(WorkshopError):
    """A formula or a table is asked outside its limits."""

    code = "out-of-range"


class UnknownMaterial(WorkshopError):
    """No such material on the shelf."""

    code = "unknown-material"


class CannotWrite(WorkshopError):
    """The folder for the results cannot be written."""

    code = "cannot-write"


class MouldFailed(WorkshopError):
    """No valid solid came out of the geometry."""

    code = "mould-failed"


class OutOfMemory(WorkshopError):
    """The machine has too little memory for the job."""

    code = "out-of-memory"
