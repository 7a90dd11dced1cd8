"""Debian's chromium as the tests, the pictures and the measures of the page start it."""

import shutil

NAMES = ("chromium", "chromium-browser", "google-chrome")
ARGUMENTS = (
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-sandbox",
)
"""Drawn in software, and asking nobody in the network."""


def chromium_path() -> str | None:
    """Where it is; None where there is none."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)
