"""Every page of the permission table at phone and desk width: no violation that axe knows of,
nothing cut off sideways. The pages are found as a person finds them: by following links."""

from __future__ import annotations

import pytest

from config.permissions import TABLE
from tests.e2e.faults import faults_of
from tests.walk import name_of, walk

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)
#: Pages of one name that differ by what they show.
MORE = {"item": 9, "record": 9, "register": 10, "item-new": 3, "item-describe": 4}
#: Links of some pages stand on few of their kind.
FOLLOWED = MORE | {"item": 40, "record": 80}
#: Names of what is no page: nothing leads on from there.
FILES = {
    "register-file": "a file",
    "ahead-file": "a file",
    "chart": "a picture",
    "document": "a file",
    "load-template": "a file",
}
#: Names that are no page of their own, or that another test opens, checking it there.
ELSEWHERE = FILES | {
    "healthz": "no page",
    "logout": "answers to the button only",
    "followup-steps": "answers to the button only",
    "login": "test_log_in",
    "load-file": "test_load_a_file",
    "load-done": "test_load_a_file",
    **{
        f"schedule-{name}": "test_schedule"
        for name in (
            *("effects", "rule-sets", "adopt", "kind-new", "row-new"),
            *("row", "row-change", "row-remove"),
        )
    },
    "setting-end": "test_schedule",
    "change-confirm": "test_schedule",
}


#: Both tests have the same demo, so that the pages are looked for once. By name of the page.
FOUND: dict[str, list[str]] = {}


def look_for(page) -> dict[str, list[str]]:
    """The pages by their names, as the supervisor reaches them."""
    pages = []

    def read(address: str) -> str | None:
        if name_of(address) in FILES:
            return None
        answer = page.request.get(address)
        if answer.status != 200 or not answer.headers["content-type"].startswith("text/html"):
            return None
        pages.append(address)
        return answer.text()

    found = walk(read, ["/", "/thornmere/", "/garnet-bluff/"], each=3, more=FOLLOWED)
    # Forms that stand on another page, and become pages of their own when something is wrong.
    found["session-accept"] = [found["session"][0] + "accept/"]
    found["followup-step-new"] = [found["followup"][0] + "steps/new/"]
    pages += [found[name][0] for name in ("session-accept", "followup-step-new")]
    assert sorted(set(TABLE) - set(found) - set(ELSEWHERE)) == []
    assert {name_of(address) for address in pages} >= set(found) - set(ELSEWHERE)
    return found


@pytest.mark.xdist_group("accessibility")  # what one has found the other shows
@every_screen
def test_every_page_is_accessible_and_fits(page, login):
    login(page, "supervisor")
    found = FOUND or look_for(page)
    FOUND.update(found)
    faults = []
    for name in sorted(set(found) - set(ELSEWHERE)):
        for number, address in enumerate(found[name][: MORE.get(name, 1)]):
            page.goto(address)
            faults += faults_of(page, contrast=number == 0)
    page.goto("/thornmere/no-such-page/")
    faults += faults_of(page, contrast=True)
    assert faults == []
