"""What the page of a waiting file is drawn from: one page of rows, never all of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator

from reports.exchange.models import PendingFile
from reports.exchange.page import recognised, totals
from reports.exchange.page.rows import Rows
from reports.exchange.planned import Plan

PAGE = 50


def context_of(plan: Plan, waiting: PendingFile, asked: Mapping[str, str]) -> dict[str, Any]:
    """The whole page."""
    rows, questions = Rows(plan), recognised.questions(plan)
    names = [name for name, _words, _count in rows.filters()]
    show = asked.get("show", "")
    show = show if show in names else names[0]
    page = Paginator(rows.chosen(show), PAGE).get_page(asked.get("page"))
    edit = asked.get("edit", "")
    return {
        "waiting": waiting,
        "plan": plan,
        "notes": recognised.notes(plan),
        "questions": questions,
        "answered": sum(bool(one.answer) for one in questions),
        "open_questions": any(not one.answer for one in questions),
        "sheets": recognised.sheets(plan),
        "show": show,
        "rows": [rows.show(row, edit=row.key == edit) for row in page],
        "edit": edit,
        "page": page,
        "query": urlencode({"show": show}),
        "skipped": recognised.skipped(plan),
        "missing": recognised.missing(plan),
        **_end(plan, rows),
    }


def row_context(
    plan: Plan, waiting: PendingFile, key: str, request: Any, *, edit: bool
) -> dict[str, Any] | None:
    """One row alone, with the end of the page; None where there is no such row."""
    rows = Rows(plan)
    row = rows.row(key)
    if row is None:
        return None
    sent = request.POST if request.method == "POST" else request.GET
    return {
        "waiting": waiting,
        "plan": plan,
        "row": rows.show(row, edit=edit),
        "edit": key if edit else "",
        "show": sent.get("show", ""),
        "page_number": sent.get("page", ""),
        "oob": not edit,
        "focus": not edit,
        **_end(plan, rows),
    }


def _end(plan: Plan, rows: Rows) -> dict[str, Any]:
    """What stands beside the button that loads."""
    return {
        "filters": rows.filters(),
        "will_write": totals.will_write(plan),
        "also": totals.also(rows),
        "hindrances": totals.hindrances(rows),
        "faulty": len(plan.faulty),
        "fingerprint": plan.fingerprint,
        "eye": sum(rows.needs_eye(row) for row in rows.all),
        "all_rows": len(rows.all),
    }
