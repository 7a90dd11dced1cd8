"""A plan worked out over the routes: told of as it goes on, read, shown, taken away, cancelled."""

import io
import json
import os
import time
import tomllib
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from firstpour.files.job_toml import read_job
from firstpour.files.plan_json import PlanEntry
from firstpour.files.results import files_of_earlier_plan
from firstpour.plan.filling import WEDGE_FOOT
from firstpour.results import SavedPlan
from firstpour.sheets.pdf import PLAN_PDF, plan_pdf
from firstpour.sheets.run_sheet import run_sheet
from firstpour.web.meshes import mesh_from_bytes
from firstpour.web.serving import Serving
from firstpour.web.shown import shifts_mm
from web_server import ended, made, peg_bytes, served

WISHES = {"name": "Pegs", "parts": {"all": {"copies": 4, "hardness": "rigid"}}}


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("planned")


@pytest.fixture(scope="module")
def planned(home: Path, built: Path) -> Iterator[tuple[httpx.Client, dict[str, Any]]]:
    """A server and a job that it has planned, set in order and compared; results kept as a user's are."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FIRSTPOUR_KEPT", str(home / "kept"))
        with served(Serving(jobs=home / "jobs", static=built)) as client:
            job = made(client, wishes=json.dumps(WISHES))
            for doing in ("plan", "routes", "schedule"):
                begun = client.post(f"/api/jobs/{job['id']}/{doing}", json={})
                assert begun.status_code == 202, begun.text
                told = ended(client, job["id"])
                assert (told["state"], told["doing"], told["error"]) == ("done", doing, None)
            yield client, client.get(f"/api/jobs/{job['id']}").json()


Planned = tuple[httpx.Client, dict[str, Any]]


def test_every_result_is_there_and_current(planned: Planned) -> None:
    client, job = planned
    assert all(job[doing]["there"] and job[doing]["current"] for doing in ("plan", "routes", "schedule"))
    plan = client.get(f"/api/jobs/{job['id']}/plan").json()
    assert (plan["format"], plan["job"]["name"], plan["parts"][0]["copies"]) == ("firstpour-plan", "Pegs", 4)
    assert client.get(f"/api/jobs/{job['id']}/routes").json()["parts"][0]["routes"]
    assert client.get(f"/api/jobs/{job['id']}/schedule").json()["tasks"]
    assert client.get(f"/api/jobs/{job['id']}/calendar.ics").text.startswith("BEGIN:VCALENDAR")


def test_the_viewer_gets_figures_for_every_face(planned: Planned) -> None:
    client, job = planned
    path = f"/api/jobs/{job['id']}/parts/peg"
    mesh = mesh_from_bytes(client.get(f"{path}/mesh").content)
    assert {"mark", "draft_deg", "reach", "undercut_mm", "step_mm"} <= set(mesh.attributes)
    marks = client.get(f"{path}/marks3d").json()
    corners = mesh.vertices_mm[mesh.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    draft = np.degrees(np.arcsin(np.clip(np.abs(normals @ np.array(marks["draw"]["direction"])), 0, 1)))
    assert np.allclose(np.abs(mesh.attributes["draft_deg"]), draft, atol=0.1)
    assert np.allclose(mesh.vertices_mm.min(axis=0), marks["low_mm"], atol=2e-3)
    assert all(len(loop) >= 3 for loop in marks["seams_mm"])


def test_pieces_move_apart_along_the_draw_and_the_copy_stays(planned: Planned) -> None:
    client, job = planned
    path = f"/api/jobs/{job['id']}/parts/peg"
    draw = np.array(client.get(f"{path}/marks3d").json()["draw"]["direction"])
    pieces = client.get(f"{path}/pieces").json()["pieces"]
    assert pieces
    for piece in pieces:
        assert np.allclose(np.cross(piece["shift_mm"], draw), 0, atol=1e-2)
        mesh = mesh_from_bytes(client.get(f"{path}/pieces/{piece['key']}/mesh").content)
        a, b, c = (mesh.vertices_mm[mesh.faces[:, k]].astype(float) for k in range(3))
        assert np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6 == pytest.approx(piece["volume_mm3"], rel=1e-3)


def test_a_wedge_foot_below_the_mould_moves_no_piece_of_it(demo: SavedPlan) -> None:
    with_foot = [one for one in demo.plan.parts if any(piece.name == WEDGE_FOOT for piece in one.mould.pieces)]
    assert with_foot
    for one in with_foot:
        alone = replace(one.mould, pieces=tuple(piece for piece in one.mould.pieces if piece.name != WEDGE_FOOT))
        shifts = dict(shifts_mm(one.mould, one.part.mesh))
        assert not shifts.pop(WEDGE_FOOT).any()
        for name, shift in shifts_mm(alone, one.part.mesh).items():
            assert np.allclose(shifts.pop(name), shift)
        assert not shifts


def test_openings_are_tried_as_fill_tries_them(planned: Planned) -> None:
    client, job = planned
    path = f"/api/jobs/{job['id']}/parts/peg/fill-try"
    top = client.post(path, json={"up": [0, 0, 1], "gate_mm": [0, 0, 10]}).json()
    assert top["trapped_mm3"] == pytest.approx(0, abs=1)
    low = client.post(path, json={"up": [0, 0, 1], "gate_mm": [8, 0, 0]}).json()
    assert low["trapped_mm3"] == pytest.approx(np.pi * 64 * 10, rel=0.1)  # half of the peg lies above the gate
    vented = client.post(path, json={"up": [0, 0, 1], "gate_mm": [8, 0, 0], "vents_mm": [[0, 0, 10]]}).json()
    assert vented["trapped_mm3"] < 0.02 * low["trapped_mm3"]
    faces = len(mesh_from_bytes(client.get(f"/api/jobs/{job['id']}/parts/peg/mesh").content).faces)
    assert len(low["wet_mm"]) == faces == len(vented["wet_mm"])
    assert max(level for level in vented["wet_mm"] if level is not None) == pytest.approx(10, abs=0.01)
    assert max(level for level in low["wet_mm"] if level is not None) < 5  # air above the gate: those faces have none
    assert None in low["wet_mm"]
    off = client.post(path, json={"up": [0, 0, 1], "gate_mm": [80, 0, 0]})
    assert (off.status_code, off.json()["code"]) == (422, "bad-request")


def test_clocks_are_the_plans_own_in_its_room_and_follow_the_room(planned: Planned) -> None:
    client, job = planned
    path = f"/api/jobs/{job['id']}"
    materials = client.get(f"{path}/plan").json()["parts"][0]["materials"]
    rooms = {}
    for room_c in (job["temperature_c"], 29.0):
        told = client.get(f"{path}/clocks", params={"temperature_c": room_c}).json()
        assert told["temperature_c"] == room_c
        rooms[room_c] = {one["use"]: one["pour"] for one in told["clocks"]}
    for use in ("silicone", "casting"):
        (planned_pour,) = [one for one in materials[use]["pours"] if one["temperature_c"] == job["temperature_c"]]
        assert rooms[job["temperature_c"]][use] == planned_pour
        assert rooms[29.0][use]["pot_life_min"] < planned_pour["pot_life_min"]
    too_hot = client.get(f"{path}/clocks", params={"temperature_c": 90})
    assert (too_hot.status_code, set(too_hot.json())) == (422, {"code", "problem", "remedy"})


def test_clocks_of_a_job_that_was_not_planned_are_not_there(client: httpx.Client) -> None:
    job = made(client)
    answer = client.get(f"/api/jobs/{job['id']}/clocks", params={"temperature_c": 21})
    assert (answer.status_code, answer.json()["remedy"]) == (404, "plan the job")


def test_a_chosen_route_is_fixed_in_the_job_planned_and_taken_back(planned: Planned, home: Path) -> None:
    client, job = planned
    path = f"/api/jobs/{job['id']}"
    file = home / "jobs" / job["id"] / "job.toml"
    fixed_before = {"moulds": 2, "vents_mm": [[0, 0, 10]]}
    client.patch(path, json={"parts": {"peg": fixed_before}})
    for doing in ("plan", "routes"):
        client.post(f"{path}/{doing}", json={})
        assert ended(client, job["id"])["state"] == "done"
    before = tomllib.loads(file.read_text(encoding="utf-8"))
    routes = client.get(f"{path}/routes").json()["parts"][0]["routes"]
    cast = next(one for one in routes if one["way"] == "cast" and not one["planned"] and one["moulds"] == 1)
    printed = next(one for one in routes if one["way"] == "printed")
    for one in (cast, printed):
        answer = client.put(f"{path}/parts/peg/route", json={"route": one["name"]})
        assert answer.status_code == 200, answer.text
        told = answer.json()
        assert told["parts"][0]["chosen_route"] == one["name"]
        assert (told["routes"]["current"], told["plan"]["current"]) == (True, False)
        asked = read_job(file).parts[0]
        fixed = one["fixed_by"]
        assert (asked.route, asked.print_in, asked.moulds) == (
            fixed["route"],
            fixed["print_in"],
            fixed["moulds"] or 1,
        )
        assert (asked.kind, asked.silicone, asked.casting) == (fixed["kind"], fixed["silicone"], fixed["casting"])
        assert bool(asked.vents_mm) == (one is cast)
        client.post(f"{path}/plan")
        assert ended(client, job["id"])["state"] == "done"
        plan = client.get(f"{path}/plan").json()
        if one is cast:
            (made_of,) = [part["materials"] for part in plan["parts"]]
            assert made_of["silicone"]["material"] == fixed["silicone"]
            assert made_of["casting"]["material"] == fixed["casting"]
            assert plan["parts"][0]["mould"]["kind"] == fixed["kind"]
        else:
            assert (plan["parts"], [part["name"] for part in plan["printed"]]) == ([], ["peg"])
            assert client.get(f"{path}/parts/peg/marks3d").status_code == 404
    back = client.delete(f"{path}/parts/peg/route").json()
    assert back["parts"][0]["chosen_route"] is None
    assert back["routes"]["current"]
    assert tomllib.loads(file.read_text(encoding="utf-8")) == before
    client.patch(path, json={"parts": {"peg": dict.fromkeys(fixed_before)}})


def test_a_route_that_is_not_there_or_was_not_chosen_is_refused(planned: Planned) -> None:
    client, job = planned
    path = f"/api/jobs/{job['id']}/parts/peg/route"
    for answer in (client.put(path, json={"route": "by magic"}), client.delete(path)):
        assert (answer.status_code, answer.json()["code"]) == (404, "not-there")


def test_a_part_changed_by_hand_after_a_choice_has_none_to_take_back(planned: Planned) -> None:
    client, job = planned
    path = f"/api/jobs/{job['id']}"
    name = client.get(f"{path}/routes").json()["parts"][0]["routes"][0]["name"]
    client.put(f"{path}/parts/peg/route", json={"route": name})
    changed = client.patch(path, json={"parts": {"peg": {"route": None, "print_in": None}}}).json()
    assert changed["parts"][0]["chosen_route"] is None
    assert client.delete(f"{path}/parts/peg/route").status_code == 404
    keys = ("kind", "silicone", "casting", "moulds", "accelerator_ratio")
    client.patch(path, json={"parts": {"peg": dict.fromkeys(keys)}})


@pytest.mark.parametrize("doing", ["plan", "routes", "schedule"])
def test_a_result_that_another_version_wrote_otherwise_is_told_of(
    client: httpx.Client, tmp_path: Path, doing: str
) -> None:
    job = made(client)["id"]
    folder = tmp_path / "jobs" / job
    (folder / "results").mkdir()
    file = folder / "results" / "plan.json" if doing == "plan" else folder / f"{doing}.json"
    file.write_text('{"parts": [{"name": "peg"}]}', encoding="utf-8")
    answer = client.get(f"/api/jobs/{job}/{doing}")
    assert answer.status_code == 404
    assert "another version" in answer.json()["problem"]


def test_files_are_taken_away_and_nothing_else(planned: Planned, home: Path) -> None:
    client, job = planned
    path = f"/api/jobs/{job['id']}/files"
    listed = [one["path"] for one in client.get(path).json()["files"]]
    results = home / "jobs" / job["id"] / "results"
    assert set(listed) == files_of_earlier_plan(results)
    for name in ("plan.json", *(one for one in listed if one.endswith(".stl"))):
        assert client.get(f"{path}/{name}").content == (results / name).read_bytes()
    (results.parent / "secret.txt").write_text("secret words", encoding="utf-8")
    (results / "link.txt").symlink_to(results.parent / "secret.txt")
    for odd in ("../secret.txt", "..%2fsecret.txt", "%2e%2e/secret.txt", "/etc/hostname", "link.txt", "", "%00"):
        url = httpx.URL(str(client.base_url)).copy_with(raw_path=f"{path}/{odd}".encode())
        answer = client.get(url)
        assert answer.status_code == 404
        assert "secret words" not in answer.text
    (results / "link.txt").unlink()


def test_the_paper_is_set_when_it_is_asked_for_as_plan_into_sets_it(planned: Planned, home: Path) -> None:
    client, job = planned
    results = home / "jobs" / job["id"] / "results"
    assert not (results / PLAN_PDF).exists()
    paper = client.get(f"/api/jobs/{job['id']}/files/{PLAN_PDF}")
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.headers["content-disposition"].startswith("inline")
    entry = PlanEntry.model_validate_json((results / "plan.json").read_bytes())
    assert paper.content == plan_pdf(run_sheet(entry), folder=results)
    listed = {one["path"]: one["bytes"] for one in client.get(f"/api/jobs/{job['id']}/files").json()["files"]}
    assert listed[PLAN_PDF] == len(paper.content)
    with zipfile.ZipFile(io.BytesIO(client.get(f"/api/jobs/{job['id']}/job.zip").content)) as archive:
        assert archive.read(f"results/{PLAN_PDF}") == paper.content


def test_a_job_taken_away_as_zip_can_be_brought_again(planned: Planned) -> None:
    client, job = planned
    content = client.get(f"/api/jobs/{job['id']}/job.zip").content
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        names = archive.namelist()
    assert {"job.toml", "peg.stl", "results/plan.json", "routes.json", "schedule.json"} <= set(names)
    assert not [name for name in names if name.startswith("shown")]
    again = client.post("/api/jobs", files=[("files", ("job.zip", content))]).json()
    assert [(one["name"], one["copies"]) for one in again["parts"]] == [("peg", 4)]
    client.delete(f"/api/jobs/{again['id']}")


def test_a_changed_wish_makes_results_stale_until_planned_again(planned: Planned) -> None:
    client, job = planned
    path = f"/api/jobs/{job['id']}"
    assert not client.patch(path, json={"parts": {"peg": {"copies": 5}}}).json()["plan"]["current"]
    client.post(f"{path}/plan")
    told = ended(client, job["id"])
    assert told["state"] == "done"
    assert client.get(path).json()["plan"]["current"]
    assert client.get(f"{path}/plan").json()["parts"][0]["copies"] == 5
    client.patch(path, json={"parts": {"peg": {"copies": 4}}})


def files_below(folder: Path) -> list[str]:
    return sorted(one.relative_to(folder).as_posix() for one in folder.rglob("*"))


def workers_alive() -> set[int]:
    """Processes of this test's own that work jobs out, or were begun by one that does."""
    found = set()
    for one in Path("/proc").glob("[0-9]*"):
        try:
            fields = (one / "stat").read_text().rpartition(")")[2].split()
            if fields[0] != "Z" and os.getpid() != int(one.name) and int(fields[1]) == os.getpid():
                found.add(int(one.name))
        except OSError:
            continue
    return found


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="no /proc to see processes in")
def test_a_cancelled_plan_leaves_nothing_behind(client: httpx.Client, tmp_path: Path) -> None:
    files = [("files", (f"peg-{n}.stl", peg_bytes(8.0 + n), "model/stl")) for n in range(3)]
    job = client.post("/api/jobs", files=files).json()["id"]
    before, alive = files_below(tmp_path / "jobs" / job), workers_alive()
    client.post(f"/api/jobs/{job}/plan")
    assert client.post(f"/api/jobs/{job}/plan").json()["code"] == "busy"
    with client.stream("GET", f"/api/jobs/{job}/progress") as events:
        for line in events.iter_lines():
            if '"words":"peg-' in line:  # the work itself has begun
                break
    assert workers_alive() > alive
    assert client.delete(f"/api/jobs/{job}/plan").status_code == 204
    assert client.get(f"/api/jobs/{job}").json()["state"] == "cancelled"
    assert files_below(tmp_path / "jobs" / job) == before
    until = time.monotonic() + 10
    while workers_alive() - alive and time.monotonic() < until:
        time.sleep(0.1)
    assert workers_alive() <= alive


def test_what_cannot_be_planned_is_told_with_its_remedy(client: httpx.Client) -> None:
    job = made(client, wishes=json.dumps({"parts": {"peg": {"hardness": "A 20", "casting": "no-such-material"}}}))
    client.post(f"/api/jobs/{job['id']}/plan")
    told = ended(client, job["id"])
    assert told["state"] == "failed"
    assert told["error"]["code"] == "unknown-material"
    assert client.get(f"/api/jobs/{job['id']}/plan").json()["code"] == "not-there"
