# Everything runs in .venv, which the first target that needs it makes. `make help` lists the targets.

PYTHON ?= python3
BIN := .venv/bin
PYTEST := $(BIN)/python -m pytest -c host/pyproject.toml --rootdir .

.DEFAULT_GOAL := help
.PHONY: help demo test test-rest test-all bench lint format pages screens pictures hardware clean

help: ## List the targets
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /\1\t/' | expand -t 14

.venv/ready: host/pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "reedbench needs Python 3.11 or newer; name one with make PYTHON=...")'
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable host
	@touch $@

.venv/ready-to-test: .venv/ready
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable 'host[test,lint]'
	@touch $@

demo: .venv/ready ## Run the whole job on the desk meter: survey, pull, plan, sheet
	$(BIN)/reedbench demo

test: .venv/ready-to-test ## Run the tests that take minutes
	$(PYTEST) -n auto tests -m "not exhaustive"

# One process more than there are cores: what waits for a clock or a disk leaves them to the others.
test-rest: .venv/ready-to-test ## Run only the exhaustive tests
	$(PYTEST) -n $$(($$(getconf _NPROCESSORS_ONLN) + 1)) tests -m exhaustive

test-all: test test-rest ## Run all tests

.venv/ready-to-bench: .venv/ready
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable 'host[bench]'
	@touch $@

bench: .venv/ready-to-bench ## Measure the hearing against the bound, its peers and what spoils it; write docs/accuracy
	$(BIN)/python tests/bench/run.py

lint: .venv/ready-to-test ## Check style, format and types
	$(BIN)/ruff check --config host/pyproject.toml .
	$(BIN)/ruff format --config host/pyproject.toml --check .
	cd host && ../$(BIN)/mypy

format: .venv/ready-to-test ## Put the code into the house's format
	$(BIN)/ruff check --config host/pyproject.toml --fix .
	$(BIN)/ruff format --config host/pyproject.toml .

pages: .venv/ready-to-test ## Make docs/protocol.md, commands.md and exchange.md again
	$(BIN)/python docs/make_pages.py

screens: .venv/ready-to-test ## Accept the meter's screens as they are drawn now
	$(BIN)/python tests/screens/make_screens.py --accept

pictures: .venv/ready-to-test ## Make the pictures of README and docs again
	$(BIN)/python docs/pictures/make_pictures.py

.venv/ready-for-hardware: .venv/ready
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable 'host[hardware]'
	@touch $@

hardware: .venv/ready-for-hardware ## Make pin file, parts list, wiring drawings and the printed case again
	$(BIN)/python hardware/make_hardware.py
	$(BIN)/python hardware/enclosure.py hardware/stl build/enclosure
	$(BIN)/python hardware/enclosure_pictures.py
	$(BIN)/python hardware/renderings.py

clean: ## Remove everything that is made
	rm -rf .venv build host/dist .pytest_cache .ruff_cache host/.mypy_cache
	find . -name __pycache__ -prune -exec rm -rf {} +
