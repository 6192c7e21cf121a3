"""What descriptions say in codes, in words: one table for forms and pages."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

Words = dict[str, str | Promise]

USED_FOR: Words = {
    "gauge": _("a gauge"),
    "portable_gauge": _("a portable gauge"),
    "check_source": _("checks of a monitor"),
    "static_eliminator": _("taking static charge away"),
    "radiography": _("radiography"),
    "well_logging": _("well logging"),
    "energy_compensation": _("energy compensation of a logging tool"),
    "medical": _("medicine"),
    "irradiator": _("an irradiator"),
    "shielding": _("shielding"),
    "other": _("something else"),
}
FORMS_OF_MATTER: Words = {
    "solid": _("solid"),
    "gas": _("gas"),
    "liquid": _("liquid"),
    "other": _("another form"),
}
DESIGNATIONS: Words = {
    "none": _("not designated"),
    "supervised": _("supervised area"),
    "controlled": _("controlled area"),
    "exclusion": _("exclusion area"),
}
RADIATIONS: Words = {
    "photon": _("photons (gamma, X-rays)"),
    "beta": _("beta"),
    "alpha": _("alpha"),
    "neutron": _("neutrons"),
}
#: For ``value_text``: the key is "name of the fact:code".
WORDS: Words = {
    f"{name}:{code}": word
    for name, words in (
        ("use", USED_FOR),
        ("physical_form", FORMS_OF_MATTER),
        ("designation", DESIGNATIONS),
        ("radiation", RADIATIONS),
    )
    for code, word in words.items()
}

#: What a page calls the facts of a description that schedules, permits and people bring along.
FACTS: Words = {
    "number": _("Number"),
    "issued_by": _("Issued by"),
    "valid_from": _("Valid from"),
    "valid_until": _("Valid until"),
    "conditions": _("Conditions"),
    "duty": _("Duty"),
    "since": _("Since"),
    "use": _("Used for"),
    "made_text": _("Made"),
    "working_life_until": _("Working life ends"),
    "special_form_certificate": _("Special-form certificate"),
    "special_form_until": _("Special-form certificate valid until"),
    "iso_2919": _("ISO 2919 class"),
    "physical_form": _("Physical form"),
    "inaccessible": _("Nobody can get at it where it is used"),
    "device_kind": _("What it is for"),
    "portable": _("Carried from place to place"),
    "type_approved": _("Of an approved type"),
    "quality_on": _("Certificate of quality of"),
    "detects_leak_in_water": _("Stands in water that is watched for activity"),
    "radiation": _("What it measures"),
    "presence_only": _("Only shows that there is radiation"),
    "required_by_law": _("Required by law"),
    "designation": _("Designation"),
    "address": _("Address"),
    "time_zone": _("Time zone"),
}
#: Of these: a day, written as in the record's text.
DAYS = (
    *("valid_from", "valid_until", "since", "working_life_until"),
    *("special_form_until", "quality_on"),
)
