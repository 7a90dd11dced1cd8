"""Where the store is: a file in a folder of the user's, or a PostgreSQL server by its URL."""

from dataclasses import dataclass
from pathlib import Path

from firstpour.errors import BadRequest

FILE_NAME = "workshop.sqlite3"
OLD_STOCK = "stock.sqlite3"
"""The file in which the shelf kept its stock before there was a store."""
SERVERS = ("postgresql://", "postgres://", "postgresql+psycopg://")


@dataclass(frozen=True, slots=True, kw_only=True)
class StorePlace:
    """The store by its URL; `folder` holds its file, its photos, its backups and the old stock."""

    url: str
    folder: Path

    @property
    def file(self) -> Path | None:
        """The SQLite file; None for a server."""
        return self.folder / FILE_NAME if self.url.startswith("sqlite") else None

    @property
    def photos(self) -> Path:
        """The folder of the photos."""
        return self.folder / "photos"

    @property
    def name(self) -> str:
        """How the store is called in what is said of it: never with a password in it."""
        if self.file is not None:
            return str(self.file)
        scheme, _, rest = self.url.partition("://")
        return f"{scheme.partition('+')[0]}://{rest.rpartition('@')[2]}"


def store_in(folder: Path) -> StorePlace:
    """The store that is a file in this folder."""
    return StorePlace(url=f"sqlite:///{folder / FILE_NAME}", folder=folder)


def store_named(words: str, *, beside: Path) -> StorePlace:
    """The store that a setting names: a folder, or the URL of a PostgreSQL server (its photos lie `beside`).

    Raises
    ------
    BadRequest
        If it is a URL of anything else.

    >>> store_named("postgresql://maker@127.0.0.1/shop", beside=Path("shelf")).url
    'postgresql+psycopg://maker@127.0.0.1/shop'
    """
    if "://" not in words:
        return store_in(Path(words))
    if not words.startswith(SERVERS):
        raise BadRequest(
            f"{words.partition('://')[0]}:// is no store.",
            remedy="name a folder, or a server as postgresql://NAME@HOST/DATABASE",
        )
    return StorePlace(url=f"postgresql+psycopg://{words.partition('://')[2]}", folder=beside)
