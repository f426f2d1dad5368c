"""The page that shows the description: from this server alone, and with no script inside."""

import re

import pytest
from django.contrib.staticfiles import finders
from django.test import Client

pytestmark = pytest.mark.django_db


@pytest.fixture
def page():
    return Client().get("/api/docs")


def test_it_holds_no_script_of_its_own(page):
    scripts = re.findall(r"<script([^>]*)>(.*?)</script>", page.content.decode(), re.DOTALL)
    assert len(scripts) == 3
    assert all('src="' in attributes and not body.strip() for attributes, body in scripts)


def test_it_loads_nothing_from_elsewhere(page):
    addresses = re.findall(r'(?:src|href)="([^"]+)"', page.content.decode())
    assert len(addresses) > 3
    assert all(address.startswith("/") and not address.startswith("//") for address in addresses)


def test_it_has_every_file_that_it_loads(page):
    files = re.findall(r'(?:src|href)="/static/([^"]+)"', page.content.decode())
    assert len(files) >= 3
    assert all(finders.find(name) for name in files)


def test_it_begins_with_a_script_that_names_our_description(page):
    (start,) = re.findall(r'<script src="(/api/docs[^"]*)"', page.content.decode())
    reply = Client().get(start.replace("&amp;", "&"))
    assert reply.headers["Content-Type"].startswith("application/javascript")
    assert b'"/api/schema"' in reply.content


def test_it_stands_under_the_policy_that_allows_no_inline_script(page):
    policy = page.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "script-src" not in policy or "unsafe-inline" not in policy.split("script-src")[1].split(";")[0]


def test_it_refuses_other_verbs_in_the_shape_of_every_problem():
    reply = Client().post("/api/docs")
    assert (reply.status_code, reply.json()["code"]) == (405, "method_not_allowed")
    assert reply.headers["Content-Type"] == "application/problem+json"
