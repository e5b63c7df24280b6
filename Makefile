# Everything runs in .venv, which the first target that needs it makes.
PYTHON ?= python3.11
VENV := .venv
BIN := $(VENV)/bin

.PHONY: help demo test check bench calibration endurance lock browser clean
.DEFAULT_GOAL := help

help:  ## what can be made
	@grep -E '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:[^#]*##/\t/' | expand -t 14

demo: $(VENV)/runtime.done  ## take the demo brewery in, fit, publish, and print its dates
	$(BIN)/stalecurve demo

test: $(VENV)/dev.done browser  ## every test, the browser ones too
	$(BIN)/pytest

check: $(VENV)/dev.done  ## style and types
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: $(VENV)/dev.done  ## speed and recovery, as ratios measured side by side in one run
	$(BIN)/python -m tests.bench

calibration: $(VENV)/dev.done  ## how often the bounds hold in 200 simulated breweries (half an hour)
	$(BIN)/python -m tests.calibration

endurance: $(VENV)/dev.done  ## 5,000 mutated files, and 200 kills at random moments (half an hour)
	$(BIN)/pytest tests/pipelines/readers --hypothesis-profile=endurance
	$(BIN)/python -m tests.endurance

lock: $(VENV)/installer.done  ## pin every package again, with hashes and without addresses
	$(BIN)/uv pip compile pyproject.toml --upgrade --all-extras -o dev.lock $(LOCK)
	$(BIN)/uv pip compile pyproject.toml --upgrade --extra build -c dev.lock -o runtime.lock $(LOCK)

LOCK := --quiet --generate-hashes --no-emit-index-url --no-header --no-annotate --python-version 3.11

browser:  # the tests look at pages in Chromium, and set record sheets with Pango
	@sh .ci/browser

clean:  ## forget the environment and what the demo made
	rm -rf $(VENV) data_demo/pages data_demo/records data_demo/reviews data_demo/set_aside data_demo/stalecurve.duckdb* data_demo/.prefect

$(VENV)/installer.done: installer.lock
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --require-hashes -r installer.lock
	touch $@

$(VENV)/runtime.done: $(VENV)/installer.done runtime.lock pyproject.toml
	VIRTUAL_ENV=$(VENV) $(BIN)/uv pip install --quiet --require-hashes -r runtime.lock
	VIRTUAL_ENV=$(VENV) $(BIN)/uv pip install --quiet --no-deps --no-build-isolation -e .
	touch $@

$(VENV)/dev.done: $(VENV)/runtime.done dev.lock
	VIRTUAL_ENV=$(VENV) $(BIN)/uv pip install --quiet --require-hashes -r dev.lock
	touch $@
