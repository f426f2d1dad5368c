"""What tests of these pages do again and again."""

import re

from django.urls import reverse

HIDDEN = re.compile(r'<input type="hidden" name="(version)" value="([^"]*)"')


def page_of(client, name, *args):
    return client.get(reverse(name, args=args)).content.decode()


def hidden_of(client, address):
    """The version that the form of the page carries."""
    return dict(HIDDEN.findall(client.get(address).content.decode())[:1])


def saved(client, address, values):
    """Send a form that goes through, and return the page that it leads to."""
    reply = client.post(address, values)
    assert reply.status_code == 302, re.findall(r'class="notice trouble[^>]*>(.*?)</', reply.content.decode(), re.S)
    return reply.url
