# make demo      a worked example: a December class and one stranger in the cluster
# make test      everything that CI runs
# make accuracy  simulated finds, with counts and intervals -> build/accuracy.json
# make bench     speed beside peers -> build/bench.json
# make strangers estimate anew how unlisted species differ, after treatments were added
# make figures   put the measured figures into the README and docs

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: demo test accuracy bench strangers figures lint clean

$(BIN)/trug: pyproject.toml constraints.txt
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[all]'
	touch $(BIN)/trug

$(VENV)/test-extras: $(BIN)/trug
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[all,test]'
	touch $@

demo: $(BIN)/trug
	$(BIN)/trug demo

lint: $(VENV)/test-extras
	$(BIN)/ruff check src tests benchmarks
	$(BIN)/ruff format --check src tests benchmarks docs
	$(BIN)/mypy
	$(BIN)/lint-imports

test: lint
	$(BIN)/trug book check
	$(BIN)/python -m pytest -n auto tests

accuracy: $(VENV)/test-extras
	$(BIN)/python benchmarks/accuracy.py

bench: $(VENV)/test-extras
	$(BIN)/python benchmarks/bench.py

strangers: $(VENV)/test-extras
	$(BIN)/python benchmarks/strangers.py

figures: $(VENV)/test-extras
	$(BIN)/python benchmarks/figures.py

clean:
	rm -rf build $(VENV)
