# The commands people type. Each prepares what it needs first; a second start is quick.
SHELL := /bin/bash
PYTHON := .venv/bin/python
.DEFAULT_GOAL := run
.PHONY: run test prove-trust bench mutate check screenshots

run: ## the whole service with the demo scenario, on http://127.0.0.1:8000
	@.ci/setup run
	@DATA_DIR=$${DATA_DIR:-var/demo} $(PYTHON) manage.py serve --demo

test: ## every test, on SQLite and on PostgreSQL with Redis; ARGS go to pytest
	@.ci/setup test
	@$(PYTHON) -m tests.run $(ARGS)

prove-trust: ## the proofs with counts alone, and their figures as a table
	@.ci/setup test
	@$(PYTHON) -m tests.prove $(ARGS)

bench: ## ratios into reports/bench.json; ARGS=--proofs runs the proofs with long counts too
	@.ci/setup test
	@$(PYTHON) -m tests.bench $(ARGS)

mutate: ## mutation testing of the rules, about an hour; ARGS="--most 5" takes a lot of each module
	@.ci/setup test
	@$(PYTHON) -m tests.mutation $(ARGS)

check: ## lint, format, types, deployment settings, missing migrations
	@.ci/setup test
	@$(PYTHON) -m tests.check

screenshots: ## every page at three widths and every paper, as PNG under screenshots/
	@.ci/setup test
	@$(PYTHON) -m tests.screenshots
