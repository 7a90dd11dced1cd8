# Everything is set up inside: only Python 3.11 or newer and make are needed.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.ready

.PHONY: demo test style check bench families mutants setup clean

setup: $(STAMP)

$(STAMP): pyproject.toml constraints.txt
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Firstpour needs Python 3.11 or newer; set PYTHON=python3.11 (or newer)")'
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[dev]'
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt --no-deps pyvista
	touch $@

demo: $(STAMP)
	$(BIN)/firstpour demo --out results/tide-pool

test: $(STAMP)
	$(BIN)/python -m pytest --cov --cov-report=term:skip-covered

style: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

check: style test

bench: $(STAMP)
	$(BIN)/python -m benchmarks

# Every family of test parts planned, read back and checked; ARGS="--only wheel,bowl --size 20 --jobs 2 --docs".
families: $(STAMP)
	PYTHONPATH=tests $(BIN)/python -m families $(ARGS)

# One slip at a time put into the weights, the ranking and the glue: does a test fail? SAMPLE=16 ONLY=ranking LIST=1.
mutants: $(STAMP)
	SAMPLE="$(SAMPLE)" ONLY="$(ONLY)" LIST="$(LIST)" $(BIN)/python tools/mutants.py

clean:
	rm -rf $(VENV) results
