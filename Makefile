SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c

PY ?= python3
BIN := .venv/bin
UV := $(BIN)/uv
PYTEST := $(BIN)/python -m pytest
WORKERS ?= 2
export UV_COMPILE_BYTECODE = 1
export VIRTUAL_ENV = $(CURDIR)/.venv
export PYBAMM_DISABLE_TELEMETRY = true

.PHONY: help demo test check soak fuzz bench outside serve docs pictures clean setup services lock

help:
	@echo 'make demo     set up, then the main job on the demo workshop'
	@echo 'make test     set up, then every test: both databases, browser (minutes)'
	@echo 'make check    format, lint, types, imports, fast tests (under a minute)'
	@echo 'make soak     everything at full figures; the output is kept in build/soak.txt'
	@echo 'make fuzz     ten minutes of search for what a reader cannot read; found goes to build/fuzz'
	@echo 'make bench    benchmarks, each printing its own figures'
	@echo 'make outside  hold the golden data against the heavy libraries it came from'
	@echo 'make serve    the pages of the demo workshop'
	@echo 'make docs     the commands in docs, and the site to be read in build/site'
	@echo 'make pictures the pages of the demo, photographed for the site'
	@echo 'make clean    remove what the other commands made, except .venv'
	@echo 'make lock     pin the dependencies anew'

demo: setup
	$(BIN)/snugfast demo

test: services setup
	$(PYTEST) -n $(WORKERS) -m 'not soak' --durations=10

check: setup
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(PYTEST) -n $(WORKERS) -m 'not slow and not browser and not postgres and not soak'

soak: services setup
	mkdir -p build
	$(PYTEST) -v -n $(WORKERS) -o faulthandler_timeout=0 --hypothesis-profile=soak --durations=25 2>&1 | tee build/soak.txt

# The searcher has wheels for few systems, so it is no dependency; PART=NAME searches one reader alone.
READERS := archive journal table build own_tables kept_form moments amounts answers notes
SECONDS ?= 60
fuzz: setup build/fuzz/.stamp
	for reader in $(or $(PART),$(READERS)); do echo "== $$reader"; PYTHONPATH=build/fuzz/lib:. $(BIN)/python -m tests.fuzz.guided $$reader -max_total_time=$(SECONDS); done

build/fuzz/.stamp: tests/fuzz/requirements.txt
	$(UV) pip install -q --target build/fuzz/lib -r tests/fuzz/requirements.txt
	touch $@

bench: setup
	for script in bench/bench_*.py; do echo "== $$script"; $(BIN)/python "$$script"; done

# Compares the kept golden data with what the heavy libraries say; make outside WRITE=--write writes it anew.
outside: build/outside/.stamp
	for script in tests/outside/regenerate_*.py; do echo "== $$script"; build/outside/bin/python "$$script" $(WRITE); done

serve: setup
	$(BIN)/snugfast serve

# A site of plain files: open build/site/index.html. A page that is not reached, or a link that leads nowhere, is an error.
docs: setup build/docs-tool/.stamp
	PYTHONPATH=. $(BIN)/python scripts/make_docs.py
	build/docs-tool/bin/mkdocs build --quiet --strict --config-file build/mkdocs.yml
	@echo 'The site is in build/site: open build/site/index.html'

pictures: setup
	PYTHONPATH=. $(BIN)/python scripts/take_pictures.py

clean:
	rm -rf build dist demo .pytest_cache .mypy_cache .ruff_cache .hypothesis .import_linter_cache
	find . -name __pycache__ -not -path './.venv/*' -prune -exec rm -rf {} +

# An environment of its own: the heavy libraries pin what the project does not.
build/outside/.stamp: .venv/.stamp tests/outside/requirements.txt
	$(UV) venv -q --clear --python $(BIN)/python build/outside
	VIRTUAL_ENV=$(CURDIR)/build/outside $(UV) pip install -q -r tests/outside/requirements.txt
	touch $@

# The generator makes pages and nothing else, so it has an environment of its own.
build/docs-tool/.stamp: .venv/.stamp scripts/docs_requirements.txt
	$(UV) venv -q --clear --python $(BIN)/python build/docs-tool
	VIRTUAL_ENV=$(CURDIR)/build/docs-tool $(UV) pip install -q -r scripts/docs_requirements.txt
	touch $@

setup: .venv/.stamp

.venv/.stamp: requirements.lock pyproject.toml
	@$(PY) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Snugfast needs Python 3.11 or newer. Name it: make setup PY=python3.12")'
	$(PY) -m venv .venv
	$(BIN)/pip install -q --disable-pip-version-check uv==0.13.9
	$(UV) pip sync -q --require-hashes requirements.lock
	$(UV) pip install -q --no-deps --no-build-isolation -e .
	$(BIN)/python -c 'from snugfast.app.kernel_cache import warm_kernel; warm_kernel()'
	touch $@

services:
	@PY=$(PY) scripts/install_test_services.sh

lock:
	$(UV) pip compile -q --universal --generate-hashes --no-emit-index-url --python-version 3.11 --all-extras --group dev pyproject.toml -o requirements.lock
	@! grep -n '://' requirements.lock
