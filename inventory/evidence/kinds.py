"""Which checks there are, of what kind of thing each is made, and what it is called here."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from config.accounts.models import Site
from inventory import knowledge
from inventory.evidence.models import CHECK_KINDS
from inventory.ledger.models import ItemKind
from inventory.rules.schema import ACCOUNTING, OWN, REQUIREMENTS, RuleSet
from inventory.sentences import value_text

#: A pass of these says until when something holds; without a day it would change nothing.
UNTIL_KINDS = ("working_life", "special_form", "permit_validity")
#: Others of which a paper may say until when they hold.
MAY_END = (*UNTIL_KINDS, "device_inspection", "appointment", "training")
#: A paper, a talk, a rehearsal: done or not, where others find a thing in order or not.
DONE_KINDS = tuple(name for name, (kind, _) in REQUIREMENTS.items() if kind in ("site", "person"))
#: Kinds of thing that come and go: a check finds them only while they are on the site.
THAT_STAY = (ItemKind.SOURCE, ItemKind.GAUGE, ItemKind.MONITOR)


def is_check(kind: str) -> bool:
    """Whether records of this kind are checks without a form of their own elsewhere."""
    return kind in CHECK_KINDS or kind.startswith(OWN)


def may_end(requirement: str) -> bool:
    """Whether a record of this check may say until when it holds."""
    return requirement in MAY_END or requirement.startswith(OWN)


def _rules(site: Site) -> Iterator[RuleSet]:
    """The rules that the site has had, the newest first: an own kind outlives its schedule."""
    for schedule in reversed(knowledge.schedules_of(site)):
        yield schedule.rules


def checks_of(site: Site, kind: str) -> list[str]:
    """The checks that can be made of a kind of thing, those of the site's own at the end."""
    own = [one for rules in _rules(site) for one in rules.own_kinds]
    names = [name for name in CHECK_KINDS if REQUIREMENTS[name][0] == kind]
    return list(dict.fromkeys([*names, *(one.name for one in own if one.subject == kind)]))


def subject_of(site: Site, requirement: str) -> str:
    """The kind of item that a check is made of; empty where the site knows no such check."""
    if requirement in CHECK_KINDS:
        return REQUIREMENTS[requirement][0]
    if not requirement.startswith(OWN):
        return ""
    return next(filter(None, (rules.subject_of(requirement) for rules in _rules(site))), "")


def own_titles(site: Site, kinds: Collection[str]) -> dict[str, str]:
    """What the site calls those of the kinds that are its own; no query where none is."""
    own = {kind for kind in kinds if kind.startswith(OWN)}
    found = [one for rules in _rules(site) for one in rules.own_kinds] if own else []
    return {one.name: one.title for one in reversed(found) if one.name in own}


def title_of(site: Site, requirement: str) -> str:
    """What the site calls a check: its own title, or the word of its rule set."""
    if requirement.startswith(OWN):
        return own_titles(site, [requirement]).get(requirement, requirement)
    said = value_text("requirement", requirement)
    if requirement == ACCOUNTING:
        newest = next(_rules(site), None)
        return newest.words.get(ACCOUNTING, said) if newest else said
    return said
