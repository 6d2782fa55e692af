# Two commands for a newcomer: `make demo` and `make test`. They need Python 3.11 or later and make.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STORE := build/components.duckdb
CODE_FOLDERS := schema pipeline $(addprefix pipeline/,refresh sources) db planner $(addprefix planner/,labels recipes runs sheets stills)

export CUTPOINT_DB ?= $(CURDIR)/$(STORE)

.PHONY: demo test db verify lint bench lock clean

demo: db
	@$(BIN)/python -m cutpoint.planner.demo

# Two processes, each with half of the tests; whichever ends first takes over part of the other's.
test: $(VENV)/installed
	$(BIN)/python -m pytest --numprocesses=2 --dist=worksteal

db: $(VENV)/installed
	$(BIN)/cutpoint rebuild

verify: db
	$(BIN)/cutpoint verify

lint: $(VENV)/installed
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: db
	$(BIN)/python -m pytest tests/benchmarks -s --benchmarks

# Exact versions with hashes; the index is whatever pip is set up to use, so none is written down.
lock: $(VENV)/installed
	$(BIN)/pip-compile --quiet --all-extras --generate-hashes --strip-extras --allow-unsafe \
		--no-emit-index-url --no-emit-trusted-host --no-emit-find-links --no-header \
		--output-file requirements.lock pyproject.toml

clean:
	rm -rf $(VENV) build dist *.egg-info .mypy_cache .ruff_cache .pytest_cache .hypothesis

# A folder is newer when a file was added to it: only then must the links of the editable install be made again.
# The dot tells the folder db from the target db.
$(VENV)/installed: requirements.lock pyproject.toml $(CODE_FOLDERS:%=%/.)
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes --requirement requirements.lock
	PYTHONWARNINGS=ignore $(BIN)/pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation \
		--config-settings editable_mode=strict --editable .
	touch $@
