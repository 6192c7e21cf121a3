"""One page of a table; nothing in an address can make it more than a page, or fail."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django_tables2 import RequestConfig

PER_PAGE = 50


def show_page(request: Any, table: Any) -> None:
    """Order the table as the address asks and turn to the page it asks for."""
    RequestConfig(request, paginate=False).configure(table)
    number = Paginator(table.rows, PER_PAGE).get_page(request.GET.get("page")).number
    table.paginate(page=number, per_page=PER_PAGE)
