# Everything a fresh machine with Python 3.11 and make needs. `make` alone lists what there is.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
DEMO ?= demo-house

.PHONY: help docs demo test check bench bench-group simulate fuzz kills debian pictures hashes

help: ## list what there is
	@grep -E '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 13

$(BIN)/python:
	$(PYTHON) -m venv $(VENV)

$(BIN)/stillroom: pyproject.toml constraints.txt | $(BIN)/python
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable .
	@touch $@

# With all that the tests need, the program itself is there, too: it is not installed twice.
$(VENV)/dev: pyproject.toml constraints.txt | $(BIN)/python
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable '.[databases,group,dev]'
	@touch $(BIN)/stillroom $@

demo: $(BIN)/stillroom ## write the demo house, take its files in, build the review page
	@rm -rf $(DEMO)
	$(BIN)/stillroom demo $(DEMO)
	@# Exit code 1 means that some rows were set aside: the demo house has a few bad rows on purpose.
	$(BIN)/stillroom intake --house $(DEMO) || test $$? -eq 1
	$(BIN)/stillroom report --house $(DEMO)

pictures: $(VENV)/dev demo ## take the pictures of the README anew
	$(BIN)/python tests/pictures.py $(DEMO)/report.html

# The page is tested in a real browser, queries on real servers (which run in folders of their own), groups on a real
# Spark, which wants Java. Debian's packages are used where they can be installed, those that are missing; elsewhere any
# programs on the PATH serve, and tests that miss theirs are skipped and say so.
debian:
	@missing=""; \
	command -v chromedriver >/dev/null || missing="$$missing chromium chromium-driver"; \
	{ test -d /usr/lib/postgresql && command -v mariadb-install-db >/dev/null; } || missing="$$missing postgresql mariadb-server"; \
	command -v java >/dev/null || missing="$$missing openjdk-17-jre-headless"; \
	[ -z "$$missing" ] || { [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null && apt-get update -qq \
		&& for one in $$missing; do DEBIAN_FRONTEND=noninteractive apt-get install -y -qq $$one; done; } || true

# The page is tested with axe-core; without npm those tests are skipped and say so.
AXE := 4.14.1
$(VENV)/axe-core/axe.min.js: $(VENV)/dev
	@command -v npm >/dev/null && mkdir -p $(@D) && cd $(@D) && npm pack --silent axe-core@$(AXE) \
		&& tar xzf axe-core-$(AXE).tgz --strip-components=1 package/axe.min.js && rm axe-core-$(AXE).tgz || true

test: $(VENV)/dev $(VENV)/axe-core/axe.min.js debian ## install what the tests need and pass them
	$(BIN)/python -m pytest -q -n auto --dist worksteal

# For every system and Python that is said to do. What makes the documentation's pages wants a later one, and is not in it.
hashes: $(VENV)/dev ## pin the digests of all that constraints.txt names, for CI to hold what it installs to
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --extra databases --extra group --extra dev --generate-hashes \
		--constraint constraints.txt --no-header --no-annotate --output-file .ci/hashes.txt pyproject.toml

check: $(VENV)/dev ## lint, format, types, import contracts
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

docs: $(VENV)/dev ## write into docs/ what the code knows itself; build its pages into build/site
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable '.[docs]'
	$(BIN)/python -m docs.making
	$(BIN)/python -m docs.making.findings
	$(BIN)/zensical build --strict --clean

bench: $(VENV)/dev debian ## measure the intake beside DuckDB and pandas, what odd cells cost, the fates of a million batches, the first paint
	$(BIN)/python -m benchmarks.intake
	$(BIN)/python -m benchmarks.odd_cells
	$(BIN)/python -m benchmarks.batches
	$(BIN)/python -m benchmarks.first_paint

bench-group: $(VENV)/dev debian ## measure groups of 20, 200 and 2,000 invented houses on Spark (an hour or two)
	$(BIN)/python -m benchmarks.group

simulate: $(VENV)/dev ## show error rates, coverage and forecasts by simulation; writes docs/simulations.md (hours)
	$(BIN)/python -m benchmarks.menu_map
	$(BIN)/python -m benchmarks.matching
	$(BIN)/python -m benchmarks.step_or_slope
	$(BIN)/python -m benchmarks.demand
	$(BIN)/python -m benchmarks.keeping
	$(BIN)/python -m benchmarks.making
	$(BIN)/python -m benchmarks.panels
	$(BIN)/python -m benchmarks.choosing
	$(BIN)/python -m benchmarks.returning
	$(BIN)/python -m benchmarks.trying
	$(BIN)/python -m benchmarks.doubtful_days
	$(BIN)/python -m benchmarks.beside
	$(BIN)/python -m benchmarks.rollouts

fuzz: $(VENV)/dev ## damage files of each table, settings and sequences of commands at random, ten thousand times (hours)
	$(BIN)/python -W ignore tests/fuzzing.py 10000

kills: $(VENV)/dev ## kill two hundred intakes at random moments, and look at the store after each
	$(BIN)/python tests/killing.py 200
