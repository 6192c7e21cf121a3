# Everything a fresh computer needs is done by "make demo" or "make test" alone.
#
#   make demo    a demo site in its own database, and its PDFs in demo-output/
#   make serve   the demo on http://127.0.0.1:8000
#   make test    the test suite (SQLite; DATABASE_URL chooses another database)
#   make check   style, templates, types, imports, migrations, deployment settings
#   make pictures   the README's pictures, made anew from the demo (needs Chromium and poppler-utils)
#   make clean   removes what these make, never a database
#
# Another Python: make demo PYTHON=python3.12
#
# All paths are relative, so a folder whose name has spaces works.

PYTHON ?= python3
BIN := .venv/bin
PACKAGES := config inventory surveys reports

# What somebody has set for other work must not divert Python or pip here. PIP_USER is set, not
# removed, because that also overrules pip's configuration file.
export PIP_USER := 0
export PYTHONUNBUFFERED := 1
unexport PYTHONPATH PYTHONHOME PYTHONSAFEPATH PYTHONWARNINGS PIP_TARGET PIP_PREFIX PIP_ROOT \
	PIP_CONSTRAINT PIP_REQUIREMENT PIP_DRY_RUN PIP_NO_DEPS
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check --no-input --require-hashes

# Two installations into one .venv at a time would break it.
.NOTPARALLEL:

.DEFAULT_GOAL := demo
.PHONY: demo serve test check pictures clean ready tested preflight check-lint check-format \
	check-templates check-types check-imports check-migrations check-deploy

demo: ready
	@DJANGO_SETTINGS_MODULE=config.settings_demo $(BIN)/python manage.py demo

serve: ready
	@DJANGO_SETTINGS_MODULE=config.settings_demo $(BIN)/python manage.py demo --serve

test: tested
	@$(BIN)/python -m pytest -n auto --dist loadfile --no-loadscope-reorder

check: check-lint check-format check-templates check-types check-imports check-migrations check-deploy

check-lint: tested
	@$(BIN)/ruff check --quiet .

check-format: tested
	@$(BIN)/ruff format --quiet --check .

check-templates: tested
	@find $(PACKAGES) -path '*/templates/*' -name '*.html' \
		-exec $(BIN)/djade --check --target-version 5.2 {} +

check-types: tested
	@$(BIN)/mypy --no-error-summary $(PACKAGES)

check-imports: tested
	@$(BIN)/lint-imports --no-logo

check-migrations: tested
	@DJANGO_SETTINGS_MODULE=config.settings_test \
		$(BIN)/python manage.py makemigrations --check --dry-run

# The settings of a real site, with a key made for this one run.
check-deploy: tested
	@DJANGO_SETTINGS_MODULE=config.settings SEALBOOK_HOSTS=sealbook.example \
		SEALBOOK_SECRET_KEY="$$($(BIN)/python -c 'import secrets; print(secrets.token_urlsafe(64))')" \
		DATABASE_URL=postgresql:///sealbook \
		$(BIN)/python manage.py check --deploy --fail-level WARNING

pictures: tested
	@$(BIN)/python -m tests.e2e.pictures

clean:
	@rm -rf .venv demo-output staticfiles test-results .mypy_cache .ruff_cache .pytest_cache \
		.hypothesis .import_linter_cache
	@find $(PACKAGES) tests -type d -name __pycache__ -prune -exec rm -rf {} +

# The look at the computer comes in a make of its own before the stamps: it may remove a broken
# .venv, and a make that has already seen the stamps in there would not notice.
ready: preflight
	@$(MAKE) --silent --no-print-directory .venv/.ready

tested: preflight
	@$(MAKE) --silent --no-print-directory .venv/.tested

preflight:
	@command -v "$(PYTHON)" >/dev/null || { \
		echo "There is no $(PYTHON): install Python 3.11 or newer." >&2; exit 1; }
	@"$(PYTHON)" config/preflight.py

$(BIN)/python:
	@"$(PYTHON)" -m venv .venv

.venv/.ready: constraints.txt config/preflight.py | $(BIN)/python
	@echo "Installing what Sealbook needs into .venv ..."
	@$(PIP) -r constraints.txt
	@$(BIN)/python config/preflight.py --pdf
	@touch $@

# The packages of the tests include those of the site, in the same versions.
.venv/.tested: tests/constraints.txt config/preflight.py | $(BIN)/python
	@echo "Installing what Sealbook and its tests need into .venv ..."
	@$(PIP) -r tests/constraints.txt
	@$(BIN)/python config/preflight.py --pdf
	@touch .venv/.ready $@
