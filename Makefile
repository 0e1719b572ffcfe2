# Needs make and Python 3.11 or later; everything else goes into .venv.
SHELL := /bin/sh
.DEFAULT_GOAL := help

PYTHON ?= $(shell for python in python3 python3.14 python3.13 python3.12 python3.11 python; do \
	$$python -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$python && break; done)
HOST ?= 127.0.0.1
PORT ?= 8000
DATA ?= data
TESTS ?=
WORKERS ?= auto

INSTALLED := .venv/.installed
export PIP_DISABLE_PIP_VERSION_CHECK = 1

.PHONY: help setup run demo test lint types contracts bench prove chromium check

help:  ## list these commands
	@awk -F ':.*## ' '/^[a-z]+:.*## / {printf "  make %-10s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

$(INSTALLED): requirements.lock
	@test -n "$(PYTHON)" || { echo "Python 3.11 or later is needed: install it, or say PYTHON=/path/to/python"; exit 1; }
	$(PYTHON) -m venv .venv
	.venv/bin/python -m pip install --quiet --require-hashes --no-compile -r requirements.lock
	.venv/bin/python -m compileall -qq -j 0 .venv/lib || true  # on all cores, which pip does on one
	@touch $@

setup: $(INSTALLED)  ## build .venv, nothing else

run: $(INSTALLED)  ## serve on HOST=127.0.0.1 PORT=8000 from DATA=data; the demo is loaded where there is no build
	.venv/bin/python -m server serve --host $(HOST) --port $(PORT) --data $(DATA)

demo: $(INSTALLED)  ## load the demo into DATA=data, where there is no build
	.venv/bin/python -m server demo --data $(DATA)

test: $(INSTALLED)  ## run every test, on WORKERS=auto cores, or TESTS="tests/core -k bore"
	.venv/bin/python -m pytest --numprocesses $(WORKERS) --dist loadfile --no-loadscope-reorder $(TESTS)

lint: $(INSTALLED)  ## style and common mistakes
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .

types: $(INSTALLED)  ## type hints, strictly
	.venv/bin/mypy

contracts: $(INSTALLED)  ## who may import whom, and the other rules of the house; part of the tests
	.venv/bin/lint-imports
	.venv/bin/python -m pytest -q tests/contracts

bench: $(INSTALLED)  ## server time, size and queries of every page of the demo, and what waits behind an edit
	.venv/bin/python -m tests.bench

prove: $(INSTALLED)  ## every test without samples, all open scheduling cases, 500 orders of requests at the gate, 400 losses of signal, three devices at once, access to every page, kill -9, full disks; some two hours
	WITNESS_MARK_TESTS=whole $(MAKE) --no-print-directory test
	.venv/bin/python -m tests.bench.schedules
	.venv/bin/python -m tests.bench.gate
	.venv/bin/python -m tests.bench.without_signal
	.venv/bin/python -m tests.bench.three_devices
	.venv/bin/python -m tests.bench.access
	.venv/bin/python -m tests.bench.kill
	.venv/bin/python -m tests.bench.full_disk

chromium: $(INSTALLED)  ## install the browser that the browser tests drive
	@if command -v apt-get >/dev/null; then \
	  if [ "$$(id -u)" = 0 ]; then as=""; else as="sudo"; fi; \
	  $$as apt-get update -qq && $$as apt-get install -y chromium; \
	else .venv/bin/playwright install --with-deps chromium; fi

check: lint types test  ## everything that has to pass before a commit
