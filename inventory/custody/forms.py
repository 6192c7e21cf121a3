"""The form of a movement: the fields of one verb."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext_lazy as _

from inventory.calc import moves
from inventory.custody.fields import ALWAYS, ASKED, HELP, LABELS
from inventory.custody.movement import NEEDS_AUTHORISATION, NEEDS_WHOM, Movement
from inventory.fields import DayField
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import read_body
from inventory.pages import WritingForm
from inventory.sentences import WORDS

MOVABLE = (ItemKind.SOURCE, ItemKind.GAUGE, ItemKind.MONITOR)
#: Fields that are texts as they stand.
TEXTS = (
    *("supplier", "performed_by", "remark", "away_to", "purpose", "owner"),
    *("authorisation", "document"),
)


class PlaceField(forms.ModelChoiceField):
    """A gauge or a location of the site, named by its code."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Item.objects.none(), to_field_name="code", **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        kind = f" ({obj.get_kind_display()})" if obj.kind == ItemKind.GAUGE else ""
        return f"{obj.label}{kind}"


def places_for(request: Any, kind: str, verb: str = moves.RECEIVED) -> Any:
    """Where a thing of this kind can go by this verb: only sources go into gauges."""
    kinds = [ItemKind.LOCATION]
    if kind == ItemKind.SOURCE and verb == moves.RECEIVED:
        kinds.append(ItemKind.GAUGE)
    if verb == moves.INSTALLED:
        kinds = [ItemKind.GAUGE]
    items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
    return items.of_kind(*kinds).order_by("-kind", "label_sort")


def _line(label: Any, length: int = 200) -> forms.CharField:
    return forms.CharField(label=label, required=False, max_length=length)


def _lines(label: Any, **kwargs: Any) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": 2})
    return forms.CharField(label=label, max_length=1000, widget=widget, **kwargs)


class MovementForm(WritingForm):
    """What happened, when, where to or to whom: only what its verb needs."""

    #: Fields that a kind of receipt asks besides, and the sentences of what may be wrong with them.
    ALSO: ClassVar[tuple[str, ...]] = ()
    TABLES: ClassVar[tuple[Any, ...]] = ()

    verb = forms.ChoiceField(label=_("What happened"), widget=forms.HiddenInput)
    to = PlaceField(label=_("To"))
    away_to = _line(_("To whom"))
    purpose = _line(_("What for"))
    on = DayField(label=_("On"))
    expected_on = DayField(label=_("Expected on"), required=False)
    at_time = forms.TimeField(
        label=_("Time"),
        required=False,
        help_text=_("Where it moved more than once that day."),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )
    keeping = forms.ChoiceField(label=_("How it is kept"), required=False)
    supplier = _line(_("Supplier"))
    authorisation = _line(_("Authorisation"))
    document = _line(_("Document"))
    owner = _line(_("Whose it is, if it only visits"))
    performed_by = _line(_("Done by"))
    remark = _lines(_("Remark"), required=False)
    reason = _lines(_("Why the earlier record is corrected"))

    def __init__(
        self,
        request: Any,
        item: Item,
        verb: str,
        *args: Any,
        replaces: Record | None = None,
        packed: bool = False,
        **kwargs: Any,
    ) -> None:
        """``packed``: it may still be in the maker's shipping container afterwards."""
        super().__init__(*args, **kwargs)
        self.item, self.replaces, self.doing = item, replaces, verb
        known: dict[str, Any] = self.fields
        known["verb"].choices = [(verb, WORDS[f"kind:{verb}"])]
        reason = ["reason"] if replaces else []
        self._keep(*ASKED[verb], *ALWAYS, *self.ALSO, *reason)
        if "to" in known:
            known["to"].queryset = places_for(request, item.kind, verb)
            known["to"].required = verb != moves.BACK
        if "keeping" in known:
            known["keeping"].choices = list(_keepings(verb, packed))
            known["keeping"].needed = True  # there is always one chosen
        if "away_to" in known:
            known["away_to"].required = verb in NEEDS_WHOM
            known["away_to"].widget.attrs["list"] = "whom"
        if "authorisation" in known:
            known["authorisation"].required = verb in NEEDS_AUTHORISATION
        for name, field in known.items():
            field.label = LABELS.get((verb, name), field.label)
            field.help_text = HELP.get((verb, name), field.help_text)

    def _keep(self, *names: str) -> None:
        hidden = [name for name, field in self.fields.items() if field.widget.is_hidden]
        kept = {name: self.fields[name] for name in (*hidden, *names)}
        self.fields = kept

    @property
    def groups(self) -> Iterator[tuple[str, str, list[forms.BoundField], str]]:
        """The form in parts: title, help, fields, name of the part."""
        own = [field for field in self.visible_fields() if field.name not in self.ALSO]
        yield str(WORDS[f"kind:{self.doing}"]), "", own, "movement"

    def movement(self) -> Movement:
        """The movement that the form describes; call after it was found valid."""
        data = self.cleaned_data
        return Movement(
            verb=self.doing,
            item=self.item,
            to=data.get("to"),
            on=data["on"],
            at_time=data.get("at_time"),
            keeping=data.get("keeping") or moves.IN_USE,
            expected_on=data.get("expected_on"),
            **{name: data.get(name, "") for name in TEXTS},
        )


def _keepings(verb: str, packed: bool) -> Any:
    for keeping in moves.KEEPINGS:
        if keeping != moves.PACKED or packed or verb == moves.RECEIVED:
            yield keeping, WORDS[f"keeping:{keeping}"]


def from_movement(record: Record) -> dict[str, Any]:
    """Everything as it was entered, to be corrected."""
    body = read_body(record)
    detail = body["detail"]
    return {
        "to": detail["gauge"] or detail["location"],
        "on": record.effective_on,
        "at_time": record.effective_time,
        "keeping": detail.get("keeping", moves.IN_USE),
        "expected_on": detail.get("expected_on"),
        **{name: detail.get(name, "") for name in TEXTS},
        "performed_by": body["performed_by"],
        "remark": body["remark"],
    }
