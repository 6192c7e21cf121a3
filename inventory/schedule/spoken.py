"""Values of rules as people say them."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.rules.schema import RuleSet
from inventory.schedule.words import VALUES
from inventory.sentences import WORDS, number_text, value_text


def word(name: str, value: str) -> str:
    """One value of a row in words; what has none reads as it is."""
    return str(lazy_word(name, value))


def lazy_word(name: str, value: str) -> str | Promise:
    """The same before anybody knows in which language: for choices of forms."""
    key = f"{name}:{value}"
    return VALUES.get(key) or WORDS.get(key) or value


def title_of(requirement: str, rules: RuleSet | None) -> str:
    """What a requirement is called: the site's own title, or the word for it."""
    kinds = rules.own_kinds if rules else ()
    own = next((one.title for one in kinds if one.name == requirement), None)
    return own or value_text("requirement", requirement)


def months_text(months: float) -> str:
    """Months as people count them: 24 months, 15 years."""
    if months >= 36 and months % 12 == 0:
        years = int(months // 12)
        return ngettext("%(n)s year", "%(n)s years", years) % {"n": years}
    n = int(months)
    return ngettext("%(n)s month", "%(n)s months", n) % {"n": number_text(months)}


def days_text(days: float) -> str:
    """Days as text."""
    n = int(days)
    return ngettext("%(n)s day", "%(n)s days", n) % {"n": number_text(days)}


def joined(words: Sequence[str]) -> str:
    """A, B or C."""
    if len(words) < 2:
        return "".join(words)
    values = {"first": ", ".join(words[:-1]), "last": words[-1]}
    return _("%(first)s or %(last)s") % values
