"""What is asked of the maker's leak test when a source is received."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from config.permissions import DECIDE
from inventory.custody.forms import MovementForm
from inventory.fields import DayField
from inventory.items.forms import SourceForm
from surveys.receipt.actions import MakersTest
from surveys.sentences import SENTENCES

PASSED, FAILED = "passed", "failed"
#: The fields of the certificate; the last two are the supervisor's.
ASKED = ("tested_on", "tested_by", "certificate", "tested")
DECIDED = ("accept", "accept_because")


class CertificateFields(forms.Form):
    """A form that receives a source, with the fields of the certificate at its end."""

    tested_on = DayField(label=gettext_lazy("Day of the leak test"), required=False)
    tested_by = forms.CharField(
        label=gettext_lazy("Tested by"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("The maker, or who signed the certificate."),
    )
    certificate = forms.CharField(label=gettext_lazy("Certificate"), required=False, max_length=200)
    tested = forms.ChoiceField(
        label=gettext_lazy("It says"),
        choices=[(PASSED, gettext_lazy("passed")), (FAILED, gettext_lazy("failed"))],
        required=False,
    )
    accept = forms.BooleanField(label=gettext_lazy("I accept it"), required=False)
    accept_because = forms.CharField(
        label=gettext_lazy("Why it can be accepted"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy(
            "Without figures it satisfies only with your reason, such as: certificate seen."
        ),
    )

    def settle(self, request: Any) -> None:
        """Only who may accept is asked whether to."""
        self.fields["tested"].needed = True  # type: ignore[attr-defined] # one is always chosen
        if not request.roles & DECIDE:
            for name in DECIDED:
                del self.fields[name]

    def clean(self) -> dict[str, Any]:
        """A test has a day and a name."""
        data: dict[str, Any] = super().clean() or {}
        if data.get("tested_on") is None:
            if "tested_on" not in self.errors and _says_something(data):
                self.add_error("tested_on", _("Say on which day the source was tested."))
        elif not data.get("tested_by"):
            self.add_error("tested_by", _("Say who tested it."))
        return data

    def test(self) -> MakersTest | None:
        """The test that the form tells; None: none."""
        data = self.cleaned_data
        if data["tested_on"] is None:
            return None
        return MakersTest(
            on=data["tested_on"],
            declared_by=data["tested_by"],
            document=data["certificate"],
            passed=data["tested"] != FAILED,
            accepted=bool(data.get("accept")),
            accept_because=data.get("accept_because", ""),
        )

    def certificate_group(self) -> tuple[str, str, list[forms.BoundField], str]:
        """The part of the form that asks for it."""
        asked = [self[name] for name in (*ASKED, *DECIDED) if name in self.fields]
        help_text = _("Leave it empty where no certificate of a leak test came with the source.")
        return _("The maker’s leak test"), help_text, asked, "certificate"


def _says_something(data: dict[str, Any]) -> bool:
    return any(data.get(name) for name in ("tested_by", "certificate", *DECIDED))


NAMED = {"wiped_on": "tested_on"}


class NewSourceForm(CertificateFields, SourceForm):
    """A new source, its arrival and the maker's leak test."""

    NAMED = NAMED
    TABLES = (SENTENCES,)

    def __init__(self, request: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs)
        self.settle(request)

    def arrival(self) -> dict[str, Any]:
        return super().arrival() | {"test": self.test()}

    @property
    def groups(self) -> Iterator[tuple[str, str, list[forms.BoundField], str]]:
        yield from super().groups
        yield self.certificate_group()


class ReceiptForm(CertificateFields, MovementForm):
    """The arrival of a source that is described already, and the maker's leak test."""

    NAMED = NAMED
    ALSO = (*ASKED, *DECIDED)
    TABLES = (SENTENCES,)

    def __init__(self, request: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs)
        self.settle(request)

    @property
    def groups(self) -> Iterator[tuple[str, str, list[forms.BoundField], str]]:
        yield from super().groups
        yield self.certificate_group()
