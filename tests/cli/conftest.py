"""What the tests of the command line share."""

import sys

import pytest

from firstpour.cli import main


@pytest.fixture
def typed(monkeypatch, capsys):
    """Type a command; gives its exit code, stdout and stderr."""

    def run(*words: object):
        monkeypatch.setattr(sys, "argv", ["firstpour", *(str(word) for word in words)])
        with pytest.raises(SystemExit) as caught:
            main.run()
        out = capsys.readouterr()
        return caught.value.code or 0, out.out, out.err

    return run
