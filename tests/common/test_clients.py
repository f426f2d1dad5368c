import pytest
from django.test import RequestFactory

from orders.common.clients import client_address


@pytest.mark.parametrize(
    ("proxied", "forwarded", "seen"),
    [
        (False, "198.51.100.7", "127.0.0.1"),
        (True, "198.51.100.7", "198.51.100.7"),
        (True, "203.0.113.1, 198.51.100.7", "198.51.100.7"),
        (True, "", "127.0.0.1"),
    ],
)
def test_it_believes_only_its_own_proxy(settings, proxied, forwarded, seen):
    settings.BEHIND_TLS_PROXY = proxied
    request = RequestFactory().get("/", headers={"X-Forwarded-For": forwarded})
    assert client_address(request) == seen
