# make book   everything from nothing to a build book of the main example
# make test   everything from nothing to all checks passed

.PHONY: book test clean
.DELETE_ON_ERROR:

PYTHON ?=
EXAMPLE ?= examples/godwit_40.toml
OUT ?= book
export PYTHON

book: .venv/run.stamp
	.venv/bin/lugwright book $(EXAMPLE) --out $(OUT)
	@echo "The book is in $(abspath $(OUT))"

test: .venv/test.stamp
	.venv/bin/ruff check .
	.venv/bin/ruff format --check .
	.venv/bin/mypy --strict
	.venv/bin/lint-imports
	.venv/bin/node tests/browser/node_modules/typescript/bin/tsc
	.venv/bin/pytest -n 2

.venv/test.stamp: tests/browser/package-lock.json tools/set_up_browser

.venv/%.stamp: requirements/%.txt pyproject.toml tools/set_up
	tools/set_up $*
	@touch $@

clean:
	rm -rf .venv book build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache tests/browser/node_modules
