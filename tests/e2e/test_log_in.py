"""Logging in, as a person does it."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.e2e.faults import too_wide

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)


@every_screen
def test_supervisor_logs_in(page, login, screenshot):
    login(page, "supervisor")
    expect(page).not_to_have_url(re.compile("/login/"))
    screenshot(page, "after log-in")


@every_screen
def test_form_fits_the_screen(page, screenshot):
    page.goto("/login/")
    expect(page.locator("input[name=username]")).to_be_visible()
    expect(page.locator("input[name=password]")).to_be_visible()
    screenshot(page, "log-in")
    assert too_wide(page) == []


def test_wrong_password_stays_outside(page):
    page.goto("/login/")
    page.locator("input[name=username]").fill("supervisor")
    page.locator("input[name=password]").fill("not the password")
    page.locator("form:has(input[name=password]) button").click()
    expect(page).to_have_url(re.compile("/login/"))
    expect(page.locator("input[name=password]")).to_have_value("")
    page.goto("/")
    expect(page).to_have_url(re.compile("/login/"))
