"""A PostgreSQL server of one's own for tests, where Debian's programs are installed; else the tests say why not."""

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from firstpour.store.place import StorePlace, store_named


def found_program(name: str) -> str | None:
    """On the path, or where Debian keeps it."""
    beside = sorted(str(one) for one in Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return shutil.which(name) or (beside[-1] if beside else None)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[StorePlace]:
    """A server of its own on loopback, in a folder of its own; it does not run as root."""
    programs = {name: found_program(name) for name in ("initdb", "postgres")}
    if None in programs.values():
        pytest.skip("no PostgreSQL server is installed (Debian: apt-get install postgresql)")
    if os.geteuid() == 0 and shutil.which("runuser") is None:
        pytest.skip("PostgreSQL does not run as root, and there is no runuser to become somebody else")
    as_other = ["runuser", "-u", "nobody", "--"] if os.geteuid() == 0 else []
    folder = Path(subprocess.check_output(["mktemp", "-d"], text=True).strip())
    if as_other:
        shutil.chown(folder, "nobody")
    data = folder / "data"
    made = [*as_other, str(programs["initdb"]), "-D", str(data), "-U", "maker", "-A", "trust", "--no-sync"]
    subprocess.run(made, check=True, stdout=subprocess.DEVNULL, cwd=folder)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ["-D", str(data), "-p", str(port), "-h", "127.0.0.1", "-k", str(folder), "-F"]
    running = subprocess.Popen(
        [*as_other, str(programs["postgres"]), *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=folder,
    )
    try:
        _wait_for(port)
        photos = tmp_path_factory.mktemp("server")
        yield store_named(f"postgresql://maker@127.0.0.1:{port}/postgres", beside=photos)
    finally:
        running.terminate()
        running.wait(30)
        shutil.rmtree(folder, ignore_errors=True)


def _wait_for(port: int) -> None:
    import psycopg

    for _ in range(200):
        try:
            psycopg.connect(f"host=127.0.0.1 port={port} user=maker dbname=postgres").close()
            return
        except psycopg.OperationalError:
            time.sleep(0.1)
    pytest.fail("the server did not come up")
