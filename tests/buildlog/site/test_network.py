import ipaddress

import pytest

from buildlog.site import network


@pytest.fixture
def proxies(settings):
    settings.TRUSTED_PROXIES = [ipaddress.ip_network("10.0.0.0/8"), ipaddress.ip_network("fd00::/8")]


@pytest.mark.parametrize(
    ("peer", "forwarded", "address"),
    [
        ("203.0.113.9", "", "203.0.113.9"),
        ("10.0.0.1", "203.0.113.9", "203.0.113.9"),
        ("10.0.0.1", "203.0.113.9, 10.0.0.2", "203.0.113.9"),
        ("10.0.0.1", "127.0.0.1, 203.0.113.9", "203.0.113.9"),
        ("10.0.0.1", "198.51.100.1, 203.0.113.9, 10.0.0.7", "203.0.113.9"),
        ("fd00::1", "2001:db8::5", "2001:db8::5"),
        ("10.0.0.1", "", "10.0.0.1"),
        ("10.0.0.1", "not an address", "10.0.0.1"),
        ("10.0.0.1", "203.0.113.9, <script>", "10.0.0.1"),
    ],
)
def test_address_of_a_request_is_the_nearest_that_is_no_proxy_of_ours(proxies, peer, forwarded, address):
    assert network.client_address(peer, forwarded) == address


@pytest.mark.parametrize("header", network.FORWARDED)
def test_forwarded_header_is_taken_off_what_no_trusted_proxy_sent(proxies, rf, header):
    seen = []
    middleware = network.TrustedProxies(
        lambda request: seen.append((request.client_address, dict(request.META)))
    )

    middleware(rf.get("/", REMOTE_ADDR="203.0.113.9", **{header: "198.51.100.1"}))
    middleware(rf.get("/", REMOTE_ADDR="10.0.0.1", **{header: "198.51.100.1"}))

    assert header not in seen[0][1]
    assert seen[0][0] == "203.0.113.9"
    assert header in seen[1][1]


@pytest.mark.parametrize(
    ("address", "shared"),
    [
        ("203.0.113.9", "203.0.113.9"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2:ffff::1", "2001:db8:1:2::/64"),
        ("::ffff:203.0.113.9", "203.0.113.9"),
        ("", "unknown"),
        ("unix:", "unknown"),
    ],
)
def test_throttle_is_shared_by_an_address_or_by_a_household_of_ipv6(address, shared):
    assert network.throttled_as(address) == shared


def test_own_addresses_are_such_as_another_machine_could_use():
    found = network.own_addresses()

    assert len(found) == len(set(found))
    assert not [one for one in found if ipaddress.ip_address(one).is_loopback]


@pytest.mark.django_db
def test_scheme_told_by_a_trusted_proxy_is_believed_and_by_another_is_not(serve_under):
    client = serve_under(SITE_URL="https://log.example.org", TRUSTED_PROXIES="10.0.0.0/8")
    told = {"HTTP_X_FORWARDED_PROTO": "https", "HTTP_HOST": "log.example.org"}

    believed = client.get("/public/", REMOTE_ADDR="10.0.0.1", HTTP_X_FORWARDED_FOR="203.0.113.9", **told)
    forged = client.get("/public/", REMOTE_ADDR="203.0.113.9", **told)

    assert (believed.status_code, believed.content) == (200, b"203.0.113.9 https log.example.org")
    assert (forged.status_code, forged["Location"]) == (301, "https://log.example.org/public/")
