#!/usr/bin/env python
"""Sealbook's command line.

A site that is set up (SEALBOOK_SECRET_KEY in the environment) uses ``config.settings``. Without
that, commands work on the demo's own database, and say so.
"""

import os
import sys


def main() -> None:
    """Choose the settings, then hand over to Django."""
    if "DJANGO_SETTINGS_MODULE" not in os.environ:
        configured = "SEALBOOK_SECRET_KEY" in os.environ
        name = "config.settings" if configured else "config.settings_demo"
        os.environ["DJANGO_SETTINGS_MODULE"] = name
        if not configured and sys.argv[1:2] not in (["demo"], ["decay"], ["wipe"]):
            print(
                "SEALBOOK_SECRET_KEY is not set: this works on the demo's database.",
                file=sys.stderr,
            )
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit("Django is not installed here: run 'make demo' or use .venv/bin/python.")
    try:
        execute_from_command_line(sys.argv)
        sys.stdout.flush()
    except BrokenPipeError:  # whoever reads it has had enough, as "| head" has
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)


if __name__ == "__main__":
    main()
