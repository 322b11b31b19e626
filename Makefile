# The vocabulary of the project: make demo | test | test-all | check | docs | bench | campaign | clean
SHELL := bash
.SHELLFLAGS := -o pipefail -c

# The first Python here that fits; those that the bundled recogniser has wheels for before others.
FITS := import sys; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 14))
PYTHON ?= $(firstword $(foreach one,python3.13 python3.11 python3.12 python3 python3.14 python,\
	$(if $(shell $(one) -c '$(FITS)' 2>/dev/null && echo fits),$(one))))
VENV ?= .venv
BIN := $(VENV)/bin

# Tests run side by side, a file at a time, so that what a file's tests share is made once; those
# marked ``long`` run one after the other, for some of them listen in real time.
WORKERS ?= 2
SIDE_BY_SIDE := --numprocesses $(WORKERS) --dist loadfile
# Compiled once for all runs and workers, where the environment says not to as well.
PYTEST := env -u PYTHONDONTWRITEBYTECODE PYTHONPYCACHEPREFIX=$(CURDIR)/.pytest_cache/compiled \
	$(BIN)/python -m pytest

.PHONY: help demo test test-long test-all check style types imports grammar format cover docs \
	bench campaign clean lock

help:
	@echo "make demo    set up, then hear the demo session and answer it"
	@echo "make test    set up, then run the tests that are done in a few minutes"
	@echo "make test-all    all tests: those, then the long ones (make test-long)"
	@echo "make check   style, types, import directions, the grammar, and all tests with branch coverage"
	@echo "make format  code and grammars laid out as the checks want them"
	@echo "make docs    docs/rules.md with its charts and docs/handbook.md, written from the rules and the cards"
	@echo "make bench SPEECH=folder    hearing measured on a folder of recordings"
	@echo "make campaign    what takes too long for CI: its figures are written to benchmarks/campaign"

# A stamp for each set of packages, so that a second run starts at once.
INSTALL := -m pip install --disable-pip-version-check --progress-bar off --constraint requirements.lock
# What pip downloads, and how much, is all that is shown of it.
SHOWN := { grep --line-buffered -oE '(Downloading|Using cached|ERROR).*' || true; }

$(VENV)/ready: pyproject.toml requirements.lock
	@test -n "$(PYTHON)" || { echo "fieldvoice wants Python 3.11 to 3.14, and none is here; install one, or name it: make demo PYTHON=/path/to/python3.13"; exit 1; }
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	@echo "Installing fieldvoice into $(VENV) (once; some 150 MB are downloaded) …"
	@$(BIN)/python $(INSTALL) --editable . 2>&1 | $(SHOWN)
	@touch $@

$(VENV)/ready-dev: $(VENV)/ready
	@echo "Installing what the tests need (once) …"
	@$(BIN)/python $(INSTALL) --quiet --editable ".[dev]"
	@touch $@

demo: $(VENV)/ready
	@$(BIN)/fieldvoice demo

test: $(VENV)/ready-dev
	@$(PYTEST) -m "not long" $(SIDE_BY_SIDE)

test-long: $(VENV)/ready-dev
	@$(PYTEST) -m long

test-all: test test-long

check: style types imports grammar cover

style: $(VENV)/ready-dev
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .

types: $(VENV)/ready-dev
	@$(BIN)/mypy

imports: $(VENV)/ready-dev
	@$(BIN)/lint-imports

grammar: $(VENV)/ready-dev
	@$(BIN)/python -m fieldvoice.grammar.lint grammars/
	@$(BIN)/python -m fieldvoice.grammar.format --check grammars/

format: $(VENV)/ready-dev
	@$(BIN)/ruff format .
	@$(BIN)/python -m fieldvoice.grammar.format grammars/

cover: $(VENV)/ready-dev
	@$(BIN)/python -m pytest --cov --cov-report=term:skip-covered

docs: $(VENV)/ready-dev
	@$(BIN)/python -m docs.rules_page
	@$(BIN)/python -m docs.handbook_page
	@$(BIN)/python -m docs.man_page
	@$(BIN)/python -m docs.completion_files
	@echo "Written: docs/rules.md and its charts, docs/handbook.md, docs/fieldvoice.1, docs/completion"

# The releases that make installs: the newest that have wheels, for every Python and system.
lock: $(VENV)/ready-dev
	@$(BIN)/python .ci/wheels.py lock

bench: $(VENV)/ready-dev
	@$(BIN)/python -m benchmarks.hearing $(SPEECH)

campaign: $(VENV)/ready-dev
	@$(BIN)/python -m benchmarks.campaign

clean:
	rm -rf $(VENV) .pytest_cache .mypy_cache .ruff_cache .hypothesis .import_linter_cache
