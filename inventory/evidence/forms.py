"""Forms of a check over several things, and of something that happened to one."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Callable, Collection, Sequence
from datetime import date
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from config.accounts.models import Role
from inventory.calc.errors import DomainError
from inventory.documents.forms import DocumentField
from inventory.evidence.entries import Check, Incident, Result
from inventory.evidence.kinds import UNTIL_KINDS, may_end
from inventory.evidence.listing import Listed
from inventory.evidence.wording import not_done_word, words_for
from inventory.fields import DayField
from inventory.ledger.files import Upload
from inventory.ledger.models import Item, Record
from inventory.pages import WritingForm
from inventory.rules.schema import HAPPENINGS
from inventory.sentences import WORDS, day_text, error_text

#: What people write about one thing.
LONGEST = 1000


def line(label: Any, length: int = 200, *, required: bool = False, help_text: Any = "") -> Any:
    """A line of text."""
    return forms.CharField(label=label, max_length=length, required=required, help_text=help_text)


def paragraph(label: Any, *, required: bool = False, help_text: Any = "") -> Any:
    """A few lines of text."""
    area = forms.Textarea(attrs={"rows": 2})
    return forms.CharField(
        label=label, max_length=LONGEST, required=required, help_text=help_text, widget=area
    )


class EvidenceForm(WritingForm):
    """What every record of a check or a happening has: day, person, file, remark, correction."""

    on = DayField(label=gettext_lazy("Done on"))
    performed_by = line(gettext_lazy("Done by"))
    file = DocumentField(
        label=gettext_lazy("File"),
        required=False,
        help_text=gettext_lazy("A photo or a report; more of them once it is recorded."),
    )
    remark = paragraph(gettext_lazy("Remark"))
    because = paragraph(gettext_lazy("Why the earlier record is corrected"), required=True)

    def __init__(self, *args: Any, replaces: Record | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.replaces = replaces
        if replaces is None:
            del self.fields["because"]

    def clean(self) -> dict[str, Any]:
        """The same form with another file is another act."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        upload, key = data.get("file"), data.get("request_key")
        if upload is not None and isinstance(key, uuid.UUID):
            data["request_key"] = uuid.uuid5(key, hashlib.sha256(upload.content).hexdigest())
        return data

    @property
    def attachments(self) -> list[Upload]:
        """The file that was sent along, if one was."""
        upload = self.cleaned_data["file"]
        return [upload] if upload is not None else []

    def act(self) -> dict[str, Any]:
        """What the action needs beside what is recorded and by whom."""
        data = self.cleaned_data
        return {
            "request_key": data["request_key"],
            "seen": data["seen"],
            "replaces": self.replaces,
            "because": data.get("because", ""),
        }


class ResultForm(forms.Form):
    """What came of a check for one thing; without a choice it was not done."""

    result = forms.ChoiceField(
        label=gettext_lazy("Result"), required=False, widget=forms.RadioSelect
    )
    found = forms.CharField(
        label=gettext_lazy("What was found"),
        required=False,
        max_length=LONGEST,
        widget=forms.TextInput(attrs={"placeholder": gettext_lazy("What was found")}),
    )

    def __init__(
        self,
        line: Listed,
        requirement: str,
        data: Any,
        *,
        alone: bool,
        initial: dict[str, Any] | None,
    ) -> None:
        """``alone``: it is the only one on the page, and was opened to be done."""
        super().__init__(data, prefix=line.item.code, initial=initial)
        self.line = line
        choices: dict[str, Any] = self.fields
        left_out = [] if alone else [("", not_done_word(requirement))]
        choices["result"].choices = [*left_out, *words_for(requirement).items()]

    @property
    def answer(self) -> Result | None:
        """What came of it; None when it was left out."""
        data = self.cleaned_data
        if not data["result"]:
            return None
        return Result(self.line.item, data["result"], data["found"])

    def clean(self) -> dict[str, Any]:
        """Words about something that was not done would be lost."""
        data = super().clean() or {}
        if data.get("found") and not data.get("result") and "result" not in self.errors:
            error = DomainError("check_needs_outcome", {"item": self.line.item.label})
            self.add_error("result", error_text(error))
        return data


class CheckForm(EvidenceForm):
    """A check, and what came of it for each thing of the list."""

    document = line(gettext_lazy("Document"), help_text=gettext_lazy("Where it is written down."))
    valid_until = DayField(label=gettext_lazy("Holds until"), required=False)
    accept = forms.BooleanField(
        label=gettext_lazy("I accept this as radiation protection supervisor"), required=False
    )

    def __init__(
        self,
        request: Any,
        requirement: str,
        listed: Sequence[Listed],
        *args: Any,
        results: dict[str, dict[str, Any]] | None = None,
        **kwargs: Any,
    ) -> None:
        """``results``: by code, what a row starts with when an earlier record is corrected."""
        super().__init__(*args, **kwargs)
        self.requirement = requirement
        if Role.RPS not in request.roles:
            del self.fields["accept"]
        if requirement in UNTIL_KINDS:
            self.fields["valid_until"].needed = True  # type: ignore[attr-defined]
        elif not may_end(requirement):
            del self.fields["valid_until"]
        rows = self.data if self.is_bound else None
        alone = len(listed) == 1
        self.rows = [
            ResultForm(
                one, requirement, rows, alone=alone, initial=(results or {}).get(one.item.code)
            )
            for one in listed
        ]

    @property
    def groups(self) -> list[forms.BoundField]:
        """The fields below the list, in the order of the work."""
        order = ("valid_until", "on", "performed_by", "document", "file", "remark", "because")
        return [self[name] for name in (*order, "accept") if name in self.fields]

    def clean(self) -> dict[str, Any]:
        """What is wrong in a row is said at the head of the page too."""
        data = super().clean()
        for row in self.rows:
            for errors in row.errors.values():
                for error in errors:
                    self.add_error(None, f"{row.line.item.label}: {error}")
        return data

    @property
    def answered(self) -> list[ResultForm]:
        """The rows in which something was chosen; call after the form was found valid."""
        return [row for row in self.rows if row.answer is not None]

    def refuse(self, error: DomainError, *tables: Any) -> None:
        """Say a domain error in the row that it is about, and at the head of the page."""
        if error.number is not None:
            row = self.answered[error.number]
            row.add_error("result", error_text(error, *tables))
        super().refuse(error, *tables)

    def check(self) -> Check:
        """The check as it was done; call after the form was found valid."""
        data = self.cleaned_data
        return Check(
            self.requirement,
            data["on"],
            [row.answer for row in self.answered if row.answer is not None],
            performed_by=data["performed_by"],
            valid_until=data.get("valid_until"),
            document=data["document"],
            remark=data["remark"],
            attachments=self.attachments,
        )


class HappeningForm(EvidenceForm):
    """What happened to a thing; for a gauge also which of its sources it concerns."""

    NAMED: ClassVar = {"item": "what"}

    what = forms.ChoiceField(
        label=gettext_lazy("What happened"),
        choices=[(name, WORDS[f"what:{name}"]) for name in HAPPENINGS],
        widget=forms.RadioSelect,
    )
    at_time = forms.TimeField(
        label=gettext_lazy("Time"),
        required=False,
        help_text=gettext_lazy("Where something was tested that day too."),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )
    also = forms.ModelMultipleChoiceField(
        Item.objects.none(),
        label=gettext_lazy("It concerns what is inside as well"),
        required=False,
        to_field_name="code",
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(
        self,
        item: Item,
        inside: Any,
        *args: Any,
        inside_on: Callable[[date], Collection[int]] = lambda day: (),
        **kwargs: Any,
    ) -> None:
        """``inside``: the items that may be concerned, as a queryset; ``inside_on``: the keys of
        those that were in it on a day."""
        super().__init__(*args, **kwargs)
        self.item, self.inside_on = item, inside_on
        self.fields["on"].label = _("On")
        self.fields["performed_by"].label = _("Found by")
        self.fields["remark"].label = _("What was seen and done")
        choices: dict[str, Any] = self.fields
        choices["also"].queryset = inside
        if not inside.exists():
            del self.fields["also"]

    def clean(self) -> dict[str, Any]:
        """What is ticked was inside on the day. A correction names whatever was named before."""
        data = super().clean() or {}
        if data.get("on") and data.get("also"):
            there = set(self.inside_on(data["on"]))
            if self.replaces is not None:
                there |= set(self.replaces.about.values_list("item", flat=True))
            others = [one.label for one in data["also"] if one.pk not in there]
            if others:
                values = {"things": ", ".join(others), "on": day_text(data["on"])}
                said = _("Not inside on %(on)s: %(things)s. Tick what was inside that day.")
                self.add_error("also", said % values)
        return data

    @property
    def groups(self) -> list[forms.BoundField]:
        """The fields in the order of the work."""
        order = ("what", "also", "on", "at_time", "performed_by", "remark", "file", "because")
        return [self[name] for name in order if name in self.fields]

    def incident(self) -> Incident:
        """What happened; call after the form was found valid."""
        data = self.cleaned_data
        return Incident(
            self.item,
            data["what"],
            data["on"],
            also=list(data.get("also", ())),
            at_time=data["at_time"],
            performed_by=data["performed_by"],
            remark=data["remark"],
            attachments=self.attachments,
        )
