PY ?= python3
UV := .venv/bin/uv
BIN := .venv/bin
export UV_COMPILE_BYTECODE = 1

.PHONY: setup lock demo check test soak bench outside serve docs clean

setup: .venv/.stamp

.venv/.stamp: requirements.lock pyproject.toml
	$(PY) -m venv .venv
	$(BIN)/pip install -q --disable-pip-version-check uv==0.13.9
	VIRTUAL_ENV=$(CURDIR)/.venv $(UV) pip sync -q --require-hashes requirements.lock
	VIRTUAL_ENV=$(CURDIR)/.venv $(UV) pip install -q --no-deps --no-build-isolation -e .
	touch $@

lock:
	$(UV) pip compile -q --universal --generate-hashes --no-emit-index-url --python-version 3.11 --all-extras --group dev pyproject.toml -o requirements.lock
	@! grep -n '://' requirements.lock
