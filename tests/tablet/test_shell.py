"""The tablet's shell as it is served: to anybody, with no data, small, and one version at a time."""

import gzip
import re
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from deploy.settings import tile_hosts
from orders.tablet import shell_files
from orders.tablet.shell_files import STATIC, shell

MOST_BYTES = 250_000  # over the wire, for the whole first load


def test_it_opens_without_a_login_and_asks_the_database_for_nothing(client):
    response = client.get("/tablet/")
    assert response.status_code == 200
    assert response["Cache-Control"] == "no-cache"
    assert not response.cookies


def test_it_names_one_version_for_all_that_it_loads(client):
    page = client.get("/tablet/").content.decode()
    assert set(re.findall(r"/tablet/app/(\w+)/", page)) == {shell().version}
    for address in re.findall(r'(?:href|src)="(/tablet/[^"#]+)"', page):
        assert client.get(address).status_code == 200, address


def test_it_allows_what_the_app_needs_and_no_other_host(client):
    policy = client.get("/tablet/")["Content-Security-Policy"]
    assert "img-src 'self' data: blob:;" in policy
    assert "worker-src 'self'" in policy
    assert "default-src 'self'" in policy
    assert "http" not in policy
    assert "unsafe" not in policy


def test_it_lets_maps_ask_the_tile_server_of_the_settings_and_no_other():
    assert tile_hosts("https://tiles.example.org/{z}/{x}/{y}.png") == ["https://tiles.example.org"]
    assert tile_hosts("") == []


def test_it_leaves_the_policy_of_the_desk_alone(client, user):
    assert "blob:" not in client.get("/login/")["Content-Security-Policy"]


def test_it_serves_each_file_for_good_and_zipped(client):
    response = client.get(shell().address("core/start.js"), headers={"Accept-Encoding": "gzip, br"})
    assert gzip.decompress(response.content) == (STATIC / "core/start.js").read_bytes()
    assert response["Content-Type"] == "text/javascript; charset=utf-8"
    assert "immutable" in response["Cache-Control"]
    plain = client.get(shell().address("core/start.js"))
    assert plain.content == (STATIC / "core/start.js").read_bytes()


@pytest.mark.parametrize("name", ["core/none.js", "../apps.py", "../../apps.py", "sw.js"])
def test_it_serves_nothing_but_its_files(client, name):
    assert client.get(shell().address(name)).status_code == 404


def test_it_never_mixes_versions(client):
    assert client.get("/tablet/app/0123456789abcdef/core/start.js").status_code == 404


def test_it_hands_the_worker_every_file_and_the_version(client):
    response = client.get("/tablet/sw.js")
    worker = response.content.decode()
    assert response["Cache-Control"] == "no-cache"
    assert f'const VERSION = "{shell().version}";' in worker
    listed = worker[worker.index("FILES = [") : worker.index("];")]
    names = {path.relative_to(STATIC).as_posix() for path in STATIC.rglob("*.*") if path.name != "sw.js"}
    assert set(re.findall(r'"([^"]+)"', listed)) == {"/tablet/", *(shell().address(name) for name in names)}


def test_it_changes_its_version_with_any_file(tmp_path, monkeypatch):
    before = shell_files._read().version
    assert shell_files._read().version == before
    for path in STATIC.rglob("*.*"):
        copy = tmp_path / path.relative_to(STATIC)
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_bytes(path.read_bytes())
    monkeypatch.setattr(shell_files, "STATIC", tmp_path)
    assert shell_files._read().version == before
    with (tmp_path / "core" / "app.js").open("a") as file:
        file.write("\n")
    assert shell_files._read().version != before


def test_it_is_small_over_the_wire(client):
    """Everything that the first load fetches, zipped: the page, its files, the worker, the manifest and an icon."""
    zipped = {"Accept-Encoding": "gzip"}
    others = ["/tablet/", "/tablet/sw.js", "/tablet/manifest.webmanifest", "/tablet/icon-192.png"]
    sizes = {address: len(client.get(address, headers=zipped).content) for address in others}
    sizes |= {name: len(file.gzipped) for name, file in shell().files.items()}
    print(f"first load: {sum(sizes.values()):,} bytes in {len(sizes)} files")
    assert sum(sizes.values()) <= MOST_BYTES


def test_it_can_be_installed(client):
    told = client.get("/tablet/manifest.webmanifest").json()
    assert (told["display"], told["scope"], told["start_url"]) == ("standalone", "/tablet/", "/tablet/")
    assert told["orientation"] == "any"
    assert {icon["purpose"] for icon in told["icons"]} == {"any", "maskable"}
    for icon in told["icons"]:
        size = tuple(int(side) for side in icon["sizes"].split("x"))
        assert Image.open(BytesIO(client.get(icon["src"]).content)).size == size


def test_it_keeps_what_matters_of_the_icon_within_a_circle(client):
    """A launcher may cut it to the circle of four fifths across (w3.org/TR/appmanifest, "safe zone")."""
    picture = Image.open(BytesIO(client.get("/tablet/icon-512.png").content)).convert("L")
    from_middle = np.argwhere(np.asarray(picture) > 200) - 256
    assert len(from_middle) > 10_000
    assert (from_middle**2).sum(axis=1).max() <= (0.4 * 512) ** 2


def test_it_has_no_icon_of_another_size(client):
    assert client.get("/tablet/icon-7.png").status_code == 404


@pytest.mark.parametrize(
    ("asked", "accepted", "language"),
    [("?lang=es", "en", "es"), ("", "es-MX,es;q=0.9", "es"), ("", "fr", "en"), ("?lang=xx", "en", "en")],
)
def test_it_speaks_the_language_that_is_asked_for(client, asked, accepted, language):
    page = client.get(f"/tablet/{asked}", headers={"Accept-Language": accepted}).content.decode()
    assert f'<html lang="{language}' in page
    assert ("Un momento…" in page) == (language == "es")


def test_it_leaves_the_desk_in_english(client, user):
    page = client.get("/login/", headers={"Accept-Language": "es"}).content.decode()
    assert 'lang="en-US"' in page
    assert "Log in" in page
