import re
from pathlib import Path

import firstpour

ROOT = Path(firstpour.__file__).parent
DOCS = ROOT.parents[1] / "docs" / "fill.md"


def test_every_finding_code_and_weight_of_the_fill_is_in_its_docs():
    text = DOCS.read_text(encoding="utf-8")
    source = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "fill").glob("*.py"))
    codes = set(re.findall(r'code="([a-z-]+)"', source)) | set(re.findall(r'Severity\.\w+, "([a-z-]+)"', source))
    codes |= {code for piece in re.findall(r'code="([a-z-]+)" if \w+ else "([a-z-]+)"', source) for code in piece}
    assert len(codes) >= 8
    assert {code for code in codes if f"`{code}`" not in text} == set()
    for use in ("gate", "vent"):
        assert all(f"`{use}-{kind}`" in text for kind in ("show", "keep-clear", "blocked", "narrowed"))
