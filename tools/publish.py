"""Write again what the repository keeps but the code makes: schemas, routes, the example job, the README's pictures.

Run `python tools/publish.py`; add `pictures` to plan the demo and take its pictures as well.
"""

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from plan_json_page import page

from firstpour.demo.tide_pool import job_text, tide_pool_job
from firstpour.files.plan_json import schema_text
from firstpour.files.schemas import schema_texts
from firstpour.web.app import openapi_text
from firstpour.writing.whole import Over, write_all_whole, write_whole

ROOT = Path(__file__).parent.parent
WIDEST_PX = 1240
PICTURES = ("sea-star-mould.png", "bollard-draw.png", "limpet-to-print.png")


def main(words: list[str]) -> None:
    """Write the files; `words` are those of the command line."""
    texts = {f"docs/{name}": text for name, text in schema_texts().items()}
    texts["docs/plan-json.md"] = page()
    texts["docs/openapi.json"] = openapi_text()
    texts |= {"docs/plan.schema.json": schema_text(), "examples/tide-pool/job.toml": job_text(from_files=True)}
    write_all_whole({ROOT / name: text.encode() for name, text in texts.items()}, over=Over.ANYTHING)
    if "pictures" in words:
        from firstpour.results import plan_into

        with tempfile.TemporaryDirectory() as folder:
            out = Path(folder, "tide-pool")
            plan_into(tide_pool_job(), out, progress=lambda *_: None)
            for name in PICTURES:
                content = io.BytesIO()
                with Image.open(out / "pictures" / name) as picture:
                    picture.thumbnail((WIDEST_PX, WIDEST_PX), Image.Resampling.LANCZOS)
                    picture.save(content, format="PNG", optimize=True)
                write_whole(ROOT / "docs" / "pictures" / name, content.getvalue(), over=Over.ANYTHING)


if __name__ == "__main__":
    main(sys.argv[1:])
