"""Jobs are folders: made of part files, changed by wishes, marked, taken away."""

import json
from pathlib import Path

import httpx
import numpy as np
import pytest

from firstpour.errors import BadJob
from firstpour.files.job_toml import read_job
from firstpour.part.part import FaceMark
from firstpour.web.job_folders import JobFolder
from firstpour.web.meshes import mesh_from_bytes
from together_job import write_together
from web_server import made


def test_a_job_of_a_part_file_is_what_the_commands_read(client: httpx.Client, tmp_path: Path) -> None:
    wishes = {"name": "Knobs", "due": "2027-04-16", "parts": {"all": {"copies": 6, "hardness": "A 30"}}}
    job = made(client, "Door knob.STL", wishes=json.dumps(wishes))
    read = read_job(tmp_path / "jobs" / job["id"] / "job.toml")
    assert (read.name, str(read.due)) == ("Knobs", "2027-04-16")
    assert [(one.name, one.copies, one.hardness) for one in read.parts] == [("Door knob", 6, "A 30")]
    assert client.get(f"/api/jobs/{job['id']}").json() == job
    assert [one["id"] for one in client.get("/api/jobs").json()["jobs"]] == [job["id"]]


def test_wishes_change_only_what_they_name_and_null_takes_them_back(client: httpx.Client, tmp_path: Path) -> None:
    job = made(client, "peg.stl", "ring.stl")
    path = f"/api/jobs/{job['id']}"
    wish = {
        "prefer": "soonest",
        "begin": "2027-03-08",
        "temperature_c": 18.5,
        "parts": {"peg": {"copies": 3, "hardness": "rigid", "gates_mm": [[0, 0, 10]], "up": [0, 0, 1]}},
    }
    changed = client.patch(path, json=wish).json()
    peg, ring = changed["parts"]
    assert (changed["prefer"], changed["temperature_c"], changed["due"]) == ("soonest", 18.5, None)
    assert changed["begin"] == "2027-03-08"
    assert (peg["copies"], peg["hardness"], peg["gates_mm"], peg["up"]) == (3, "rigid", [[0, 0, 10]], [0, 0, 1])
    assert ring == job["parts"][1]
    taken_back = {
        "prefer": None,
        "begin": None,
        "temperature_c": None,
        "parts": {"peg": dict.fromkeys(["hardness", "up", "gates_mm"])},
    }
    again = client.patch(path, json=taken_back).json()
    assert again["begin"] is None
    assert (again["prefer"], again["parts"][0]["copies"], again["parts"][0]["hardness"]) == (None, 3, None)
    assert again["parts"][0]["gates_mm"] == []
    assert again["temperature_c"] == job["temperature_c"]
    assert read_job(tmp_path / "jobs" / job["id"] / "job.toml").parts[0].copies == 3


def test_route_and_cavities_of_a_part_are_wished_and_taken_back(client: httpx.Client, tmp_path: Path) -> None:
    job = made(client, "peg.stl")
    path = f"/api/jobs/{job['id']}"
    assert (job["parts"][0]["cavities"], job["parts"][0]["route"]) == (1, None)
    for cavities in (4, "most", "date"):
        wish = {"parts": {"peg": {"hardness": "rigid", "cavities": cavities, "route": "cast"}}}
        (peg,) = client.patch(path, json=wish).json()["parts"]
        assert (peg["cavities"], peg["route"]) == (cavities, "cast")
        assert read_job(tmp_path / "jobs" / job["id"] / "job.toml").parts[0].cavities == cavities
    assert client.patch(path, json={"parts": {"peg": {"cavities": 0}}}).status_code == 422
    printed = {"kind": None, "moulds": None, "cavities": None, "route": "print directly"}
    (peg,) = client.patch(path, json={"parts": {"peg": printed}}).json()["parts"]
    assert (peg["cavities"], peg["route"]) == (1, "print directly")


def test_comments_of_a_job_file_stay(client: httpx.Client, tmp_path: Path) -> None:
    job = client.post("/api/jobs/demo").json()
    file = tmp_path / "jobs" / job["id"] / "job.toml"
    client.patch(f"/api/jobs/{job['id']}", json={"parts": {"sea-star": {"copies": 2, "clear": True}}})
    text = file.read_text(encoding="utf-8")
    assert "# Soft, lies on its flat back: nobody sees the underside." in text
    star = read_job(file).parts[0]
    assert (star.copies, star.clear, len(star.marks)) == (2, True, 2)


@pytest.mark.parametrize(
    "wish",
    [{"parts": {"peg": {"hardness": "very"}}}, {"parts": {"peg": {"copies": 0}}}, {"parts": {"peg": {"file": "x"}}},
     {"due": "soon"}, {"temperature_c": 400}, {"nothing": 1}, {"parts": {"peg": {"silicone": "some"}}},
     {"parts": {"peg": {"name": "a\nb"}}}],
)  # fmt: skip
def test_a_wish_that_cannot_be_meant_changes_nothing(client: httpx.Client, tmp_path: Path, wish: object) -> None:
    job = made(client)
    file = tmp_path / "jobs" / job["id"] / "job.toml"
    before = file.read_bytes()
    answer = client.patch(f"/api/jobs/{job['id']}", json=wish)
    assert answer.status_code == 422
    assert set(answer.json()) == {"code", "problem", "remedy"}
    assert file.read_bytes() == before


def test_faces_are_marked_as_they_were_painted(client: httpx.Client, tmp_path: Path) -> None:
    job = made(client)
    path = f"/api/jobs/{job['id']}/parts/peg"
    assert not mesh_from_bytes(client.get(f"{path}/mesh").content).attributes["mark"].any()
    for show, hidden in (([0, 1, 2], [3, 5]), ([7], []), ([], [])):
        answer = client.put(f"{path}/marks", json={"show": show, "hidden": hidden})
        assert answer.status_code == 200, answer.text
        mark = mesh_from_bytes(client.get(f"{path}/mesh").content).attributes["mark"]
        assert np.flatnonzero(mark == int(FaceMark.SHOW)).tolist() == show
        assert np.flatnonzero(mark == int(FaceMark.HIDDEN)).tolist() == hidden
    assert read_job(tmp_path / "jobs" / job["id"] / "job.toml").parts[0].marks == ()


def test_a_face_that_the_part_has_not_is_refused(client: httpx.Client) -> None:
    job = made(client)
    answer = client.put(f"/api/jobs/{job['id']}/parts/peg/marks", json={"show": [10_000]})
    assert answer.status_code == 422
    assert "10000" in answer.json()["problem"]


@pytest.mark.parametrize("job", ["none", "..", "%2e%2e", "a" * 300, "A", "x/y"])
def test_no_such_job_is_told_in_the_one_shape(client: httpx.Client, job: str) -> None:
    for path in (f"/api/jobs/{job}", f"/api/jobs/{job}/plan", f"/api/jobs/{job}/files/plan.json"):
        answer = client.get(path)
        if "/api/jobs/" in str(answer.request.url):
            assert answer.status_code == 404
            assert set(answer.json()) == {"code", "problem", "remedy"}


def test_a_removed_job_is_gone_with_its_folder(client: httpx.Client, tmp_path: Path) -> None:
    job = made(client)
    assert client.delete(f"/api/jobs/{job['id']}").status_code == 204
    assert list((tmp_path / "jobs").iterdir()) == []
    assert client.get(f"/api/jobs/{job['id']}").status_code == 404


def test_a_job_that_was_spoiled_by_hand_is_listed_with_its_problem(client: httpx.Client, tmp_path: Path) -> None:
    job = made(client)
    (tmp_path / "jobs" / job["id"] / "job.toml").write_text("[job\n", encoding="utf-8")
    (line,) = client.get("/api/jobs").json()["jobs"]
    assert line["problem"]["code"] == "bad-job"
    assert client.get(f"/api/jobs/{job['id']}").status_code == 422
    assert client.delete(f"/api/jobs/{job['id']}").status_code == 204


def test_parts_together_in_one_mould_are_refused_in_words(tmp_path: Path) -> None:
    job = write_together(tmp_path)
    with pytest.raises(BadJob) as refused:
        JobFolder(id="shelf", path=job.parent).read()
    assert refused.value.problem.startswith("shelf set: parts together in one mould cannot be shown here")
