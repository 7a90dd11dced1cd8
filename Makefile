# Everything is set up inside: only Python 3.11 or newer and make are needed.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.ready

.PHONY: demo page test style check bench families mutants fuzz soak sizes setup clean

setup: $(STAMP)

$(STAMP): pyproject.toml constraints.txt
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Firstpour needs Python 3.11 or newer; set PYTHON=python3.11 (or newer)")'
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[dev]'
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt --no-deps pyvista
	touch $@

# The page in the browser, built from web/ where that has changed; node comes from the Python packages set up here.
page: $(STAMP)
	$(BIN)/python tools/build_web.py

demo: $(STAMP) page
	$(BIN)/firstpour demo --out results/tide-pool
	@echo "To see it in the browser: $(BIN)/firstpour serve"

test: $(STAMP) page
	$(BIN)/python -m pytest --numprocesses 2 --dist loadfile --cov --cov-report=term:skip-covered

style: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python tools/build_web.py check

check: style test

# One thread for small matrices, as the command has it.
bench: $(STAMP) page
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m benchmarks

# Every family of test parts planned, read back and checked; ARGS="--only wheel,bowl --size 20 --jobs 2 --docs".
families: $(STAMP)
	PYTHONPATH=tests $(BIN)/python -m families $(ARGS)

# One slip at a time put into the weights, the ranking and the glue: does a test fail? SAMPLE=16 ONLY=ranking TESTS= LIST=1.
mutants: $(STAMP)
	SAMPLE="$(SAMPLE)" ONLY="$(ONLY)" TESTS="$(TESTS)" LIST="$(LIST)" $(BIN)/python tools/mutants.py

# Mutated files of every reader, 10⁶ unless ARGS="--cases N --jobs 2 --first SEED"; what is not refused in words is kept.
fuzz: $(STAMP)
	PYTHONPATH=tests $(BIN)/python -m fuzz $(ARGS)

# What writes, killed at random moments; ARGS="--kills 200 --takes 200 --ctrl-c 50 --store 200 --bench 200 --seed 1".
soak: $(STAMP)
	PYTHONPATH=tests $(BIN)/python tools/soak.py $(ARGS)

# Parts that are very large, very thin or full of holes, planned within limits; ARGS="--only genus --cpu-s 60 --memory-gb 3".
sizes: $(STAMP)
	$(BIN)/python tools/sizes.py $(ARGS)

clean:
	rm -rf $(VENV) results
