import io
import time
from datetime import date

import pytest
from PIL import Image
from pypdf import PdfReader

from firstpour.errors import CannotWrite
from firstpour.files.plan_json import PlanEntry
from firstpour.files.schedule_entries import CHART_FILE
from firstpour.results import SavedPlan
from firstpour.results.order import order_files
from firstpour.sheets.blocks import Page, RunSheet, Words
from firstpour.sheets.pdf import PLAN_PDF, SHOWN, plan_pdf, shown, write_plan_pdf
from firstpour.sheets.run_sheet import run_sheet

A4_PT = (595.28, 841.89)
"""210 × 297 mm, ISO 216, in points of 1/72 inch."""


@pytest.fixture(scope="module")
def plan(demo: SavedPlan) -> PlanEntry:
    return demo.entry


@pytest.fixture(scope="module")
def folder(demo, plan, tmp_path_factory):
    """Pictures of the size of the real ones, in their places; the chart itself."""
    folder = tmp_path_factory.mktemp("plan")
    for file in (one for one in plan.files if one.endswith(".png")):
        (folder / file).parent.mkdir(exist_ok=True)
        size = (1200, 664) if file.endswith("-fill.png") else (1780, 1144)
        Image.new("RGB", size, "grey").save(folder / file)
    chart = order_files(demo.order.made, name="Tide pool", today=date(2026, 3, 2))[CHART_FILE]
    (folder / CHART_FILE).write_bytes(chart)
    return folder


@pytest.fixture(scope="module")
def read(plan, folder) -> PdfReader:
    return PdfReader(io.BytesIO(plan_pdf(run_sheet(plan), folder=folder)))


def words_of(pages) -> str:
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def one_page(*words: str) -> RunSheet:
    return RunSheet(
        title=words[0],
        made_by="x",
        pages=(Page(title=words[0], under="", blocks=tuple(Words(text=w) for w in words)),),
    )


def test_every_page_of_the_sheet_but_the_days_is_one_page_of_a4(plan, read):
    pages = [page.title for page in run_sheet(plan).pages]
    begins = [next(k for k, one in enumerate(read.pages) if one.extract_text().startswith(title)) for title in pages]
    days = pages.index("Day by day")
    assert begins[: days + 1] == list(range(days + 1))
    first = begins[days + 1]
    assert begins[days + 1 :] == list(range(first, first + len(pages) - days - 1))
    assert len(read.pages) == begins[-1] + 1
    for page in read.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(A4_PT, abs=0.02)


def test_the_text_reads_back_with_its_grams_and_minutes(plan, read):
    text = words_of(read.pages)
    for part in plan.parts:
        assert f"{part.name}: cast" in text
        for mix in (*part.materials.silicone.mixes, *part.materials.casting.mixes):
            assert f"{mix.batch.weigh_a_g:.1f} g" in text
            assert f"POURED BY MINUTE {int(mix.pot_life_low_min)}" in text


def test_it_declares_pdf_ua_1_and_is_tagged_in_english_with_its_title(read):
    """ISO 14289-1: the part in the metadata, marked content, a language and a title shown."""
    catalog = read.trailer["/Root"]
    assert "<pdfuaid:part>1</pdfuaid:part>" in catalog["/Metadata"].get_object().get_data().decode()
    assert catalog["/MarkInfo"]["/Marked"]
    assert str(catalog["/Lang"]).startswith("en")
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"]
    assert read.metadata.title == "Tide pool: plan and run sheet"


def test_every_picture_has_words_in_its_stead(plan, read):
    def figures(node):
        node = node.get_object()
        if isinstance(node, list):
            return [found for one in node for found in figures(one)]
        if not isinstance(node, dict):
            return []
        own = [node] if node.get("/S") == "/Figure" else []
        return own + (figures(node["/K"]) if "/K" in node else [])

    found = figures(read.trailer["/Root"]["/StructTreeRoot"])
    assert len(found) >= 4 * len(plan.parts)
    assert all(str(one["/Alt"]).strip() for one in found)


def test_only_fonts_that_come_with_the_typesetter_are_in_it_and_all_are_embedded(read):
    for page in read.pages:
        for font in page["/Resources"]["/Font"].values():
            below = font.get_object()["/DescendantFonts"][0].get_object()
            assert any(name in below["/BaseFont"] for name in ("LibertinusSerif", "DejaVuSansMono"))
            assert {"/FontFile2", "/FontFile3"} & set(below["/FontDescriptor"])


def test_the_same_plan_gives_the_same_bytes_and_no_date(plan, folder):
    first = plan_pdf(run_sheet(plan), folder=folder)
    time.sleep(1.1)
    again = plan_pdf(run_sheet(plan), folder=folder)
    assert first == again
    assert PdfReader(io.BytesIO(first)).metadata.creation_date is None


def test_names_are_set_as_text_and_never_read_as_markup(tmp_path):
    hostile = '#panic("x") *b* $1/2$ [[ ]] \\ <a> @ref // no /* no */ ~ "q" `raw` = head'
    read = PdfReader(io.BytesIO(plan_pdf(one_page(hostile), folder=tmp_path)))
    assert words_of(read.pages).count(hostile) == 3  # heading, line, foot


def test_every_letter_that_is_called_shown_is_in_the_fonts(tmp_path):
    letters = [chr(code) for low, high in SHOWN for code in range(low, high + 1)]
    plan_pdf(one_page("all", " ".join(letters)), folder=tmp_path)


def test_letters_that_no_font_holds_become_question_marks(tmp_path):
    read = PdfReader(io.BytesIO(plan_pdf(one_page("貝 \u0007\u202e 😀 Müller"), folder=tmp_path)))
    assert "? ?? ? Müller" in words_of(read.pages)


def test_a_picture_that_is_not_there_is_told(plan, tmp_path):
    with pytest.raises(CannotWrite, match="run sheet"):
        write_plan_pdf(tmp_path, run_sheet(plan))
    assert not (tmp_path / PLAN_PDF).exists()


def test_line_breaks_in_a_name_are_spaces():
    assert shown(["a\nb"]) == ["a b"]
