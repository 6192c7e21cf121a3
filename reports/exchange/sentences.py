"""Sentences of loading a file: of opening and reading it, and of what it would do."""

from __future__ import annotations

from django.utils.functional import Promise

from reports.exchange.opening.sentences import SENTENCES as OPENING
from reports.exchange.plan_sentences import SENTENCES as PLAN
from reports.exchange.reading.sentences import SENTENCES as READING

SENTENCES: dict[str, str | Promise] = {**OPENING, **READING, **PLAN}
