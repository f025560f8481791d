# make demo      a season of invented finds, opened in your browser
# make test      everything that CI runs
# make accuracy  simulated finds, with counts and intervals -> build/accuracy.json
# make bench     speed beside peers -> build/bench.json, build/web.json
# make strangers estimate anew how unlisted species differ, after treatments were added
# make figures   put the measured figures into the README and docs
# make messages  collect what the pages say for translators
# make tour      walk through the app in a browser and keep its pictures for the docs

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: demo test accuracy bench strangers figures messages tour lint clean

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
	$(BIN)/python benchmarks/web.py

strangers: $(VENV)/test-extras
	$(BIN)/python benchmarks/strangers.py

figures: $(VENV)/test-extras
	$(BIN)/python benchmarks/figures.py

messages: $(BIN)/trug
	$(BIN)/python -m trug.web.catalogue

tour: $(VENV)/test-extras
	TRUG_TOUR=docs/images/tour $(BIN)/python -m pytest tests/browser/test_tour.py

clean:
	rm -rf build $(VENV)
