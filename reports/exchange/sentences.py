"""Sentences of loading a file: of opening and reading it, and of what it would do."""

from __future__ import annotations

from django.utils.functional import Promise

from reports.exchange.plan_sentences import SENTENCES as PLAN

SENTENCES: dict[str, str | Promise] = {**PLAN}
