# Two commands: `make run` and `make test`; each does all its own set-up.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
OUT := out
# Many tests wait more than they compute: one at a time more than there are cores.
WORKERS ?= $(shell $(PYTHON) -c "import os; print(1 + (os.cpu_count() or 1))")
LANES ?= $(shell $(PYTHON) -c "import os; print(min(2, os.cpu_count() or 1))")
REAL_TIME = $$(grep -rl "mark\.devices" tests --include "test_*.py")

.PHONY: run test lint picture schema fuzz supply bundle clean

# The flying day: live with a microphone, from a recording without one.
run: $(VENV)/ready
	@mkdir -p $(OUT)
	@if $(BIN)/callout doctor --quiet --need microphone; then \
		$(BIN)/callout run checklists/reedlark.yaml --logbook $(OUT)/logbook.db; \
	else \
		echo "No microphone here: a recorded flying day is played instead."; \
		$(BIN)/callout run checklists/reedlark.yaml --clock recording --new \
			--listen tests/session/flying-day.opus --speak $(OUT)/spoken.wav \
			--logbook $(OUT)/recorded.db && \
		echo "What callout said is in $(OUT)/spoken.wav, the record in $(OUT)/recorded.db."; \
	fi

# Tests in real time run after the others, which would starve them, and two at a time: they
# mostly wait. Those of a browser's sound run by themselves.
# Where Python is told to keep no bytecode, every program that a test starts would compile callout.
test: export PYTHONDONTWRITEBYTECODE =
test: $(VENV)/ready-dev lint
	$(BIN)/python -m pytest -n $(WORKERS) --dist worksteal -m "not devices" --reruns 1 --durations 25
	$(BIN)/python -m pytest -n $(LANES) --dist loadfile -m "devices and not alone" --reruns 2 \
		--durations 8 $(REAL_TIME)
	$(BIN)/python -m pytest -m alone --reruns 2 $(REAL_TIME)

lint: $(VENV)/ready-dev
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy
	$(BIN)/lint-imports

# Redraw the picture of the states in DEVELOPERS.md from the table of rules.
picture: $(VENV)/ready
	$(BIN)/python tests/engine/draw_picture.py

# Write callout/logbook/TABLES.md, the page about the logbook's tables, from a logbook.
schema: $(VENV)/ready
	$(BIN)/python tests/logbook/describe_schema.py

# Search for inputs that break one target: make fuzz TARGET=feed MINUTES=10
fuzz: $(VENV)/ready-dev
	$(BIN)/python -m pip install --quiet --group fuzz
	$(BIN)/python tests/fuzz/run_fuzz.py $(TARGET) $(MINUTES)

# What is installed: pinned with hashes for every system, its wheels and its licences.
supply: $(VENV)/ready-dev
	$(BIN)/python -m pip install --quiet --group supply
	$(BIN)/uv pip compile pyproject.toml --quiet --upgrade --universal --all-extras \
		--python-version 3.11 --generate-hashes --no-header --no-annotate \
		--output-file .ci/pinned.txt
	PATH=$(BIN):$$PATH $(BIN)/python .ci/list_wheels.py
	$(BIN)/python .ci/list_licences.py

# One archive that installs with no network, for this system and Python: out/callout-*.tar.gz
bundle: $(VENV)/ready
	$(BIN)/python .ci/bundle.py

$(VENV)/ready: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade "pip>=25.1"
	$(BIN)/python -m pip install --quiet --editable .
	@touch $@

$(VENV)/ready-dev: $(VENV)/ready
	$(BIN)/python -m pip install --quiet --group dev
	@touch $@

clean:
	rm -rf $(VENV) $(OUT)
