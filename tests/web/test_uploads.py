"""What is sent as a job is not trusted: names, sizes, paths, traps."""

import io
import socket
import zipfile
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from firstpour.errors import BadRequest, WorkshopError
from firstpour.web.refusals import TooLarge
from firstpour.web.uploads import LARGEST_UPLOAD_BYTES, MOST_IN_ZIP, MOST_PARTS, job_of_parts, job_of_zip
from web_server import made, peg_bytes

JOB = b'[[part]]\nfile = "peg.stl"\n'


def packed(**files: bytes) -> bytes:
    return packed_at(dict(files.items()))


def packed_at(files: dict[str, bytes]) -> bytes:
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return content.getvalue()


def send(client: httpx.Client, name: str, content: bytes, wishes: str = "{}") -> httpx.Response:
    return client.post("/api/jobs", files=[("files", (name, content))], data={"wishes": wishes})


@pytest.fixture
def empty_after(client: httpx.Client, tmp_path: Path) -> Iterator[httpx.Client]:
    """The client; in the end nothing of what was refused is left in the folder of jobs."""
    yield client
    left = list((tmp_path / "jobs").iterdir()) if (tmp_path / "jobs").is_dir() else []
    assert left == []


@pytest.mark.parametrize(
    "name",
    ["../../peg.stl", "..\\..\\peg.STL", "/etc/peg.stl", "C:\\peg.stl", "con.stl", "peg\u0000.stl", "pég ☃.stl",
     "a" * 300 + ".stl", "<b>peg</b>.stl", "-rf.stl", "job.toml.stl"],
)  # fmt: skip
def test_an_odd_name_becomes_a_plain_one_in_the_jobs_own_folder(
    client: httpx.Client, tmp_path: Path, name: str
) -> None:
    files = job_of_parts([(name, peg_bytes())], name="odd")
    assert all(len(path.parts) == 1 and len(path.name) <= 65 for path in files)
    assert all(path.name.isascii() and path.name.replace("-", "").replace(".", "").isalnum() for path in files)
    answer = send(client, name.replace("\u0000", "%00"), peg_bytes())
    if answer.status_code == 201:  # else the form itself does not carry such a name
        home = tmp_path / "jobs" / answer.json()["id"]
        assert {one.suffix for one in home.iterdir()} == {".toml", ".stl"}
    assert {one.name for one in tmp_path.iterdir()} <= {"jobs"}


def test_two_files_of_one_name_are_two_parts(client: httpx.Client) -> None:
    job = made(client, "peg.stl", "peg.stl", "Peg.STL")
    assert [one["key"] for one in job["parts"]] == ["peg", "peg-2", "peg-3"]
    assert len({one["name"] for one in job["parts"]}) == 3


@pytest.mark.parametrize("name", ["peg.exe", "peg", "", ".stl", "peg.stl.toml", "peg.step"])
def test_other_kinds_are_refused(empty_after: httpx.Client, name: str) -> None:
    assert 400 <= send(empty_after, name, peg_bytes()).status_code < 500


def test_what_is_no_part_is_refused_as_a_command_refuses_it(empty_after: httpx.Client) -> None:
    answer = send(empty_after, "peg.stl", b"solid nothing\nendsolid\n")
    assert answer.status_code == 422
    assert answer.json()["code"] == "unreadable-part"


def test_too_many_parts_are_refused() -> None:
    with pytest.raises(BadRequest):
        job_of_parts([("peg.stl", b"x")] * (MOST_PARTS + 1), name="many")


@pytest.mark.parametrize(
    "path",
    ["../peg.stl", "a/../../peg.stl", "/etc/peg.stl", "C:/peg.stl", "..\\peg.stl", "peg\n.stl", "x" * 500 + ".stl"],
)
def test_a_zip_that_leads_out_of_its_folder_is_refused(empty_after: httpx.Client, path: str) -> None:
    answer = send(empty_after, "job.zip", packed_at({"job.toml": JOB, "peg.stl": peg_bytes(), path: peg_bytes()}))
    assert answer.status_code == 422, answer.text


@pytest.mark.parametrize("outside", ["../../secret.stl", "/etc/hostname", "../peg.stl"])
def test_a_job_file_that_names_a_file_outside_is_refused(empty_after: httpx.Client, outside: str) -> None:
    job = f'[[part]]\nfile = "{outside}"\n'.encode()
    answer = send(empty_after, "job.zip", packed_at({"job.toml": job, "peg.stl": peg_bytes()}))
    assert answer.status_code == 422
    assert answer.json()["code"] == "bad-job"


def test_a_link_in_a_zip_is_left_out(empty_after: httpx.Client) -> None:
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        archive.writestr("job.toml", JOB)
        link = zipfile.ZipInfo("peg.stl")
        link.external_attr = 0o120777 << 16
        archive.writestr(link, "/etc/hostname")
    assert send(empty_after, "job.zip", content.getvalue()).json()["code"] == "bad-job"


def test_a_zip_that_unpacks_to_far_more_than_its_size_is_refused(empty_after: httpx.Client) -> None:
    bomb = packed_at({"job.toml": JOB, "peg.stl": b"\0" * 64 * 1024**2})
    assert len(bomb) < 100_000
    assert send(empty_after, "job.zip", bomb).status_code == 413


def test_a_zip_that_lies_about_its_sizes_is_measured_as_it_unpacks() -> None:
    bomb = bytearray(packed_at({"job.toml": JOB, "peg.stl": b"\0" * 32 * 1024**2}))
    true, lie = (32 * 1024**2).to_bytes(4, "little"), (100).to_bytes(4, "little")
    assert bomb.count(true) >= 1
    with pytest.raises(WorkshopError):
        job_of_zip(bytes(bomb).replace(true, lie))


def test_a_zip_of_many_files_is_refused() -> None:
    with pytest.raises(TooLarge):
        job_of_zip(packed_at({"job.toml": JOB} | {f"{n}.stl": b"x" for n in range(MOST_IN_ZIP)}))


@pytest.mark.parametrize("content", [b"", b"PK", b"no zip at all", packed(readme=b"nothing of ours")])
def test_what_is_no_zip_of_a_job_is_refused(empty_after: httpx.Client, content: bytes) -> None:
    assert send(empty_after, "job.zip", content).status_code == 422


def test_the_files_of_a_job_come_from_its_own_folder_in_the_zip(client: httpx.Client, tmp_path: Path) -> None:
    files = {"mine/job.toml": JOB, "mine/peg.stl": peg_bytes(), "mine/run.sh": b"rm -rf /", "else/peg.stl": b"no"}
    job = send(client, "mine.zip", packed_at(files)).json()
    assert {one.name for one in (tmp_path / "jobs" / job["id"]).iterdir()} == {"job.toml", "peg.stl"}
    assert job["parts"][0]["name"] == "peg"


@pytest.mark.parametrize("path", ["/api/jobs", "/api/workshop", "/pair"])
def test_more_than_is_taken_at_once_is_refused_before_it_is_read(client: httpx.Client, path: str) -> None:
    asked = (
        f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: multipart/form-data; boundary=x\r\n"
        f"Content-Length: {LARGEST_UPLOAD_BYTES * 4}\r\n\r\n--x\r\n"
    )
    with socket.create_connection((client.base_url.host, client.base_url.port or 80), timeout=30) as connection:
        connection.sendall(asked.encode())
        head = connection.recv(4096).decode()
    assert head.startswith("HTTP/1.1 413"), head


def test_a_stream_without_a_length_is_cut_off_too(client: httpx.Client) -> None:
    def endless() -> Iterator[bytes]:
        yield b'--x\r\nContent-Disposition: form-data; name="files"; filename="peg.stl"\r\n\r\n'
        for _ in range(LARGEST_UPLOAD_BYTES // 1024**2 + 8):
            yield bytes(1024**2)

    headers = {"Content-Type": "multipart/form-data; boundary=x"}
    try:
        assert client.post("/api/jobs", content=endless(), headers=headers).status_code == 413
    except httpx.WriteError:  # the server hung up while it was still being sent to
        assert client.get("/api/jobs").json() == {"jobs": []}
