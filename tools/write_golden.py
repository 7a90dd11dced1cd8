"""Write the golden plan of the tide pool anew: `python tools/write_golden.py`. It shows what became otherwise.

Run it when a change is meant to change the plan, and read the differences before they are kept.
"""

import json
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from demo_plan import GOLDEN, differences, plan_demo, rounded_plan


def main() -> None:
    """Plan, compare, write."""
    with tempfile.TemporaryDirectory() as folder:
        saved = plan_demo(Path(folder, "tide-pool"))
    now = rounded_plan(saved.entry.model_dump(mode="json"))
    if GOLDEN.exists():
        print("\n".join(differences(json.loads(GOLDEN.read_text(encoding="utf-8")), now)) or "nothing has changed")
    GOLDEN.parent.mkdir(exist_ok=True)
    GOLDEN.write_text(json.dumps(now, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
