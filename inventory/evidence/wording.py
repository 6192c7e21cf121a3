"""What came of a check, in the words of that check."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.evidence.kinds import DONE_KINDS, UNTIL_KINDS
from inventory.evidence.models import HAPPENING_KIND
from inventory.knowledge import WITHDRAWN
from inventory.ledger.models import RecordItem
from inventory.rules.schema import ACCOUNTING
from inventory.sentences import day_text, value_text

Words = dict[str, str | Promise]

IN_ORDER: Words = {
    "pass": gettext_lazy("in order"),
    "fail": gettext_lazy("not in order"),
    "inconclusive": gettext_lazy("not clear"),
}
SEEN: Words = {"pass": gettext_lazy("seen"), "fail": gettext_lazy("not seen")}
EXTENDED: Words = {
    "pass": gettext_lazy("holds until the day below"),
    "fail": gettext_lazy("does not hold any longer"),
    "inconclusive": gettext_lazy("not decided"),
}
DONE: Words = {
    "pass": gettext_lazy("done"),
    "fail": gettext_lazy("done, and something is wrong"),
    "inconclusive": gettext_lazy("not finished"),
}


def words_for(requirement: str) -> Words:
    """What can come of a check, by its code, as people say it."""
    if requirement == ACCOUNTING:
        return SEEN
    if requirement in UNTIL_KINDS:
        return EXTENDED
    return DONE if requirement in DONE_KINDS else IN_ORDER


def not_done_word(requirement: str) -> str:
    """What is said of a thing that was left out."""
    return _("not looked at") if requirement == ACCOUNTING else _("not done")


def evidence_lines(body: Mapping[str, Any], code: str, mention: RecordItem) -> Iterator[str]:
    """What a check or a happening says of one thing, for the time line; made from its text."""
    if body["kind"] == HAPPENING_KIND:
        yield from _happening(body, mention.role)
    else:
        yield from _check(body, code, mention)


def _check(body: Mapping[str, Any], code: str, mention: RecordItem) -> Iterator[str]:
    if mention.role == WITHDRAWN:
        yield _("This check turned out not to be of it.")
        return
    found = next((one["found"] for one in body["points"] if one["item"] == code), "")
    said = _outcome(body["kind"], mention)
    said = f"{said}: {found}" if found else said
    yield said if said.endswith((".", "?", "!")) else f"{said}."
    if body["accepted_by"] is None and mention.outcome == "pass":
        yield _("Entered; it satisfies only once the supervisor has accepted it.")


def _outcome(kind: str, mention: RecordItem) -> str:
    if kind in UNTIL_KINDS and mention.valid_until is not None:
        return _("Holds until %(on)s") % {"on": day_text(mention.valid_until)}
    word = str(words_for(kind).get(mention.outcome) or value_text("outcome", mention.outcome))
    said = word[:1].upper() + word[1:]
    if mention.valid_until is not None:
        said += _(", holds until %(on)s") % {"on": day_text(mention.valid_until)}
    return said


def _happening(body: Mapping[str, Any], role: str) -> Iterator[str]:
    if role == WITHDRAWN:
        yield _("It turned out not to concern it.")
        return
    word = value_text("what", body["detail"]["what"])
    yield word[:1].upper() + word[1:] + "."
    if body["remark"]:
        yield body["remark"]


def entered(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What was entered with a check or a happening beside what it says of each thing."""
    pairs = [
        (_("Document"), body["detail"].get("document", "")),
        (_("Time"), (body["effective_time"] or "")[:5]),
        (_("Remark"), body["remark"]),
    ]
    return [(term, text) for term, text in pairs if text]
