"""Forms of the schedule: rule sets, going through rows, adopting; settings and confirmations."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.fields import DayField
from inventory.pages import WritingForm
from inventory.rules.load import template, templates
from inventory.rules.schema import INTERVAL, NOT_ASKED, NOT_DECIDED, REQUIREMENTS, RuleSet
from inventory.schedule import own_kinds
from inventory.schedule.form_fields import choice, line, several_lines
from inventory.schedule.pieces import Taken
from inventory.schedule.row_form import DECIDED, AnswerForm, DecidedForm
from inventory.schedule.settings import MODES, OF_SETTINGS
from inventory.schedule.spoken import title_of
from inventory.sentences import value_text


def key_of(rules: RuleSet) -> str:
    """A rule set and its version in a form."""
    return f"{rules.id}:{rules.version}"


def on_offer(used: Sequence[Taken]) -> dict[str, RuleSet]:
    """The newest version of every rule set, and the versions in use."""
    found = [*templates(), *(template(one.rule_set, one.version) for one in used)]
    offered = {key_of(rules): rules for rules in found}
    return dict(sorted(offered.items(), key=lambda one: (one[1].title, one[1].version)))


class RuleSetsForm(WritingForm):
    """The main rule set, and others for single requirements. ``used``: what is chosen now."""

    main = forms.ChoiceField(label=gettext_lazy("Main rule set"))

    def __init__(self, *args: Any, used: Sequence[Taken] = (), first: bool = False, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.offered = on_offer(used)
        fields: dict[str, Any] = self.fields
        fields["main"].choices = [(key, rules.name) for key, rules in self.offered.items()]
        for requirement in REQUIREMENTS:
            if choices := self._with_rows(requirement):
                fields[f"of_{requirement}"] = forms.ChoiceField(
                    label=value_text("requirement", requirement).capitalize(),
                    choices=[("", _("the main rule set")), *choices],
                    required=False,
                )
        if first:
            fields["on"] = DayField(
                label=_("In force from"),
                help_text=_("As a draft, until somebody adopts it. Days before it use it too."),
            )

    def _with_rows(self, requirement: str) -> list[tuple[str, str]]:
        return [
            (key, rules.name) for key, rules in self.offered.items() if rules.rows_for(requirement)
        ]

    @staticmethod
    def start_from(used: Sequence[Taken]) -> dict[str, str]:
        """What is chosen now."""
        main, *others = used
        out = {"main": f"{main.rule_set}:{main.version}"}
        for one in others:
            for requirement in one.requirements or ():
                out[f"of_{requirement}"] = f"{one.rule_set}:{one.version}"
        return out

    def single(self) -> list[Any]:
        """The fields of single requirements."""
        return [self[name] for name in self.fields if name.startswith("of_")]

    def any_single(self) -> bool:
        """Whether one of them is chosen: then the page shows them at once."""
        return any(field.value() for field in self.single())

    def taken(self) -> list[Taken]:
        """What was chosen, the main one first."""
        data = self.cleaned_data
        by_key: dict[str, list[str]] = {}
        for requirement in REQUIREMENTS:
            key = data.get(f"of_{requirement}")
            if key and key != data["main"]:
                by_key.setdefault(key, []).append(requirement)
        others = [self._taken(key, tuple(names)) for key, names in by_key.items()]
        return [self._taken(data["main"], None), *others]

    def _taken(self, key: str, requirements: tuple[str, ...] | None) -> Taken:
        rules = self.offered[key]
        return Taken(rules.id, rules.version, requirements)


class GoneThroughForm(WritingForm):
    """Who went through the rows."""

    who = line(
        gettext_lazy("Gone through by"), help_text=gettext_lazy("The adviser, or whoever did it.")
    )


class KindForm(WritingForm):
    """A requirement of the site's own."""

    NAMED = {"name": "title"}
    title = line(gettext_lazy("What it is called"), 80, needed=True)
    subject = forms.ChoiceField(
        label=gettext_lazy("What it is about"),
        choices=[
            ("source", gettext_lazy("source")),
            ("gauge", gettext_lazy("gauge")),
            ("monitor", gettext_lazy("monitor")),
            ("location", gettext_lazy("location")),
            ("site", gettext_lazy("site")),
            ("permit", gettext_lazy("permit")),
            ("person", gettext_lazy("person")),
        ],
    )

    @property
    def name(self) -> str:
        """Its short name."""
        return own_kinds.own_name(self.cleaned_data["title"])


class AdoptForm(DecidedForm):
    """Who adopts it, when, from which day it holds, when it is looked at again. ``looser``: whether
    a rule set has loosened what was adopted before."""

    adopted_by = line(
        gettext_lazy("Adopted by"),
        needed=True,
        help_text=gettext_lazy("Who answers for it, with the adviser's name where there is one."),
    )
    adopted_on = DayField(label=gettext_lazy("Adopted on"))
    from_on = DayField(
        label=gettext_lazy("In force from"),
        help_text=gettext_lazy("May lie ahead: until then the present one holds."),
    )
    review_on = DayField(label=gettext_lazy("To be looked at again by"))
    because = several_lines(
        gettext_lazy("Why from an earlier day"),
        gettext_lazy("Only for a day that has gone by, or where another one was to come."),
    )
    note = several_lines(gettext_lazy("Remark"))
    parts_too = forms.BooleanField(
        label=gettext_lazy("Everything above, which is no row, was gone through too"),
        required=False,
    )
    field_order = (
        *("adopted_by", "adopted_on", "from_on", "review_on", *DECIDED, "because", "note"),
        "parts_too",
    )

    def __init__(self, *args: Any, looser: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in () if looser else DECIDED:
            del self.fields[name]


class SettingForm(AnswerForm):
    """A row for one thing alone."""

    OFFERED = (INTERVAL, NOT_DECIDED, NOT_ASKED)
    MODES = MODES
    NAMED = {"id": "requirement"}

    authority = choice("authority", gettext_lazy("On whose word"), OF_SETTINGS, needed=True)
    on = DayField(label=gettext_lazy("Holds from"))
    until_on = DayField(
        label=gettext_lazy("Until"), required=False, help_text=gettext_lazy("Its last day.")
    )

    def __init__(self, offered: Mapping[str, str], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        fields["requirement"] = forms.ChoiceField(
            label=_("Requirement"), choices=list(offered.items())
        )


def settable(names: Sequence[str], rules: RuleSet | None) -> dict[str, str]:
    """Requirements for a choice, in words."""
    return {name: title_of(name, rules).capitalize() for name in names}


class EndForm(WritingForm):
    """From when a setting no longer holds, and why."""

    on = DayField(
        label=gettext_lazy("No longer from"),
        help_text=gettext_lazy("From this day on the schedule holds again."),
    )
    reason = forms.CharField(
        label=gettext_lazy("Why"), max_length=1000, widget=forms.Textarea(attrs={"rows": 3})
    )


class ConfirmForm(WritingForm):
    """From when a change by decay is confirmed, and why."""

    on = DayField(label=gettext_lazy("Confirmed from"))
    reason = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=gettext_lazy("What was checked: the activity, its date, the clause."),
    )


class OnForm(forms.Form):
    """The day that is asked about."""

    on = DayField(label=gettext_lazy("On"), required=False)


class WithForm(forms.Form):
    """The rule set beside which the site's schedule is put, and the day."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        listed = [(f"{rules.id}-{rules.version}", rules.name) for rules in templates()]
        fields["with"] = forms.ChoiceField(label=_("Beside"), choices=listed, required=False)
        fields["on"] = DayField(label=_("On"), required=False)
