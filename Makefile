# Everything a fresh machine with Python 3.11 and make needs. `make` alone lists what there is.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
DEMO ?= demo-house

.PHONY: help docs demo test check bench bench-group simulate fuzz kills browser servers java pictures hashes

help: ## list what there is
	@grep -E '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 13

$(BIN)/stillroom: pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable .
	@touch $@

$(VENV)/dev: $(BIN)/stillroom
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable '.[databases,group,dev]'
	@touch $@

demo: $(BIN)/stillroom ## write the demo house, take its files in, build the review page
	@rm -rf $(DEMO)
	$(BIN)/stillroom demo $(DEMO)
	@# Exit code 1 means that some rows were set aside: the demo house has a few bad rows on purpose.
	$(BIN)/stillroom intake --house $(DEMO) || test $$? -eq 1
	$(BIN)/stillroom report --house $(DEMO)

pictures: $(VENV)/dev demo ## take the pictures of the README anew
	$(BIN)/python tests/pictures.py $(DEMO)/report.html

# The page is tested in a real browser. Debian's packages are used where they can be installed; elsewhere any
# chromium and chromedriver on the PATH serve, and without them those tests are skipped and say so.
browser:
	@command -v chromedriver >/dev/null || { [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null \
		&& apt-get update -qq && apt-get install -y -qq chromium chromium-driver; } || true

# The page is tested with axe-core; without npm those tests are skipped and say so.
AXE := 4.14.1
$(VENV)/axe-core/axe.min.js: $(VENV)/dev
	@command -v npm >/dev/null && mkdir -p $(@D) && cd $(@D) && npm pack --silent axe-core@$(AXE) \
		&& tar xzf axe-core-$(AXE).tgz --strip-components=1 package/axe.min.js && rm axe-core-$(AXE).tgz || true

# Queries to databases are tested on real servers. Debian's packages are used where they can be installed; elsewhere
# those tests are skipped and say so. The servers run in folders of their own: the system's own need not run.
servers:
	@{ test -d /usr/lib/postgresql && command -v mariadb-install-db >/dev/null; } || { [ "$$(id -u)" = 0 ] \
		&& command -v apt-get >/dev/null && apt-get update -qq \
		&& DEBIAN_FRONTEND=noninteractive apt-get install -y -qq postgresql mariadb-server; } || true

# Groups are tested on a real Spark, which wants Java; elsewhere those tests are skipped and say so.
java:
	@command -v java >/dev/null || { [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null \
		&& apt-get update -qq && apt-get install -y -qq openjdk-17-jre-headless; } || true

test: $(VENV)/dev $(VENV)/axe-core/axe.min.js browser servers java ## install what the tests need and pass them
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

bench: $(VENV)/dev browser ## measure the intake beside DuckDB and pandas, what odd cells cost, the fates of a million batches, the first paint
	$(BIN)/python -m benchmarks.intake
	$(BIN)/python -m benchmarks.odd_cells
	$(BIN)/python -m benchmarks.batches
	$(BIN)/python -m benchmarks.first_paint

bench-group: $(VENV)/dev java ## measure groups of 20, 200 and 2,000 invented houses on Spark (an hour or two)
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
