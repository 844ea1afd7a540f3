# Needs Python 3.11 or newer, make, and for the tests apt with root or sudo. Everything else is fetched.
SHELL := /bin/bash
.DEFAULT_GOAL := help
.PHONY: help demo serve test lint docs oracles bench screenshots app dev

help:                    ## this list
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:[^#]*## /\t/' | expand -t 12

demo: app                ## the invented conference: the answer for its next event, then the pages (SERVE=no: no pages)
	@.venv/bin/onthree demo --folder onthree-demo $(if $(filter no,$(SERVE)),--no-serve)

serve: app               ## the pages of the demo again, with what was changed in them
	@.venv/bin/onthree serve --folder onthree-demo

test: lint               ## every check: style, types, imports, then the tests
	@scripts/test_programs.sh
	@scripts/with_postgres.sh scripts/tests.sh

lint: dev                ## style, types, imports
	@.venv/bin/ruff format --check
	@.venv/bin/ruff check
	@.venv/bin/mypy
	@.venv/bin/lint-imports

docs: dev                ## generated pages anew, then every page against the code
	@.venv/bin/python scripts/build_docs.py
	@.venv/bin/python -m pytest tests/house

oracles: dev             ## numbers from other programs anew, into tests/reference (installs those programs)
	@shopt -s nullglob; for oracle in tests/reference/oracles/*.sh; do echo "$$oracle"; bash "$$oracle" || exit 1; done
	@shopt -s nullglob; for oracle in tests/reference/oracles/*.py; do echo "$$oracle"; .venv/bin/python "$$oracle" || exit 1; done

bench: app               ## how long the options take
	@for bench in bench/*.py; do echo "$$bench"; .venv/bin/python "$$bench" || exit 1; done

screenshots: dev         ## every page at three sizes, into build/screenshots
	@.venv/bin/python scripts/screenshots.py

app dev:
	@scripts/environment.sh $@
