# make plan   make the environment and plan the first example into out/
# make serve  make the environment and the page and serve the web application (PORT sets its port)
# make test   make the environment and pass all tests
# make page   build the page
# make docs   make the pictures, of every stage of the page too, and the generated pages of docs/ from real output
# make bench  print how long a plan takes and how much material it uses
# make bench-cutting SETS=DIR  print what the cutting reaches on open sets beside its peers
# make bench-physics  print times and errors of the heat and moisture solvers beside their peers
# make plots  draw error against time anew from a run, into docs/images

PYTHON ?= python3
VENV ?= .venv
JOB ?= examples/home-alcove.toml
OUT ?= out
SETS ?= ../shared/benchmarks
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check --constraint constraints.txt
# Where the interpreter is told not to keep what it compiles, each of its starts would compile all of it again.
COMPILE := $(BIN)/python -m compileall -q src

.PHONY: plan serve page test lint docs bench bench-cutting bench-physics plots chromium clean

plan: $(VENV)/.core
	$(COMPILE)
	$(BIN)/steamwright plan $(JOB) --out $(OUT)

serve: $(VENV)/.web page
	$(COMPILE)
	$(BIN)/steamwright serve

page: | $(VENV)/.python
	$(BIN)/python frontend/make_page.py

test: lint page chromium
	$(COMPILE)
	cd frontend && STEAMWRIGHT_PYTHON=$(abspath $(BIN))/python npm run --silent test
	$(BIN)/python -m pytest -n 2 --dist loadfile --no-loadscope-reorder -q

docs: $(VENV)/.dev page chromium
	$(COMPILE)
	$(BIN)/python docs/build.py
	STEAMWRIGHT_PICTURES=$(CURDIR)/docs/images $(BIN)/python -m pytest -q tests/browser/test_screens.py tests/browser/test_people.py -k pictures

bench: $(VENV)/.dev
	$(COMPILE)
	$(BIN)/python benchmarks/plan.py
	$(BIN)/python benchmarks/covering.py 40

bench-cutting: $(VENV)/.dev
	$(PIP) rectpack
	for part in strip_cover leftovers lengths sheets bins strips shapes; do $(BIN)/python benchmarks/cutting_$$part.py --sets=$(SETS) || exit 1; done

bench-physics: $(VENV)/.dev
	$(PIP) py-pde fipy
	for part in en15026 fair general plane; do $(BIN)/python -m benchmarks.physics_$$part || exit 1; done

plots: $(VENV)/.dev
	$(BIN)/python -m benchmarks.physics_plot

lint: $(VENV)/.dev
	$(BIN)/ruff check src tests
	$(BIN)/mypy
	$(BIN)/lint-imports --no-logo
	$(BIN)/python frontend/make_page.py install
	cd frontend && npm run --silent check

# Browser tests run in the distribution's Chromium; CHROMIUM names another one.
chromium:
	@command -v "$${CHROMIUM:-chromium}" >/dev/null && exit 0; \
	if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then apt-get update -qq && apt-get install -y -qq chromium >/dev/null; \
	else echo "Browser tests need Chromium: install it, or name it in CHROMIUM"; exit 1; fi

$(VENV)/.python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Python 3.11 or later is needed: make PYTHON=python3.11"; exit 1; }
	$(PYTHON) -m venv $(VENV)
	@touch $@

$(VENV)/.core: pyproject.toml constraints.txt | $(VENV)/.python
	$(PIP) --editable .
	@touch $@

$(VENV)/.web: pyproject.toml constraints.txt | $(VENV)/.python
	$(PIP) --editable '.[web]'
	@touch $@ $(VENV)/.core

$(VENV)/.dev: pyproject.toml constraints.txt | $(VENV)/.python
	$(PIP) --editable '.[dev,web]'
	@touch $@ $(VENV)/.core $(VENV)/.web

clean:
	rm -rf $(OUT) build dist .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis
