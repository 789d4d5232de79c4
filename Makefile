# SPDX-License-Identifier: AGPL-3.0-or-later
# Every target sets up its own venv when there is none.  PYTHON picks the interpreter, VENV the folder.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready
OUT ?= out

.PHONY: demo test lint bench damage fuzz clean

$(READY): pyproject.toml
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade pip
	$(BIN)/python -m pip install --quiet --editable '.[dev]'
	@touch $@

demo: $(READY)  ## the main job on the demo book, clean and as first received
	$(BIN)/python fixtures/build.py $(OUT)/demo
	$(BIN)/python fixtures/demo.py $(OUT)/demo

test: $(READY)  ## the whole test suite
	$(BIN)/python -m pytest -q -n 2 --dist loadfile --no-loadscope-reorder -m "not bench"

lint: $(READY)  ## style and types
	$(BIN)/ruff check src tests fixtures
	$(BIN)/ruff format --check src tests fixtures
	$(BIN)/mypy

bench: $(READY)  ## speed and memory as ratios; wants ../shared/corpus (a thousand small books: tests/bench/many.py)
	$(BIN)/python tests/bench/run.py

damage: $(READY)  ## hundreds of random damages to written sheets, every one of which the proof must catch
	$(BIN)/python tests/damage/run.py

FUZZ_FILES ?= 5000
FUZZ_SEED ?= 1
fuzz: $(READY)  ## thousands of spoilt books through every stage: none may crash, hang, eat memory or write astray
	$(BIN)/python tests/fuzz/run.py --files $(FUZZ_FILES) --seed $(FUZZ_SEED) --keep $(OUT)/fuzz

clean:
	rm -rf $(VENV) $(OUT) build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
	find src tests fixtures -name __pycache__ -type d -prune -exec rm -rf {} +
