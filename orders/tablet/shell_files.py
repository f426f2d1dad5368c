"""The app's files and their one version.

The modules name each other by relative address, so a storage that puts a hash into each file's name would break them.
Instead all of them stand under one address that holds the hash of them all, `/tablet/app/<version>/…`: the names inside
stay as they are written, what is behind an address never changes, and it may be kept for good."""

import gzip
import hashlib
import mimetypes
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from django.conf import settings

HERE = Path(__file__).resolve().parent
STATIC = HERE / "static" / "tablet"
WORKER = "sw.js"
PAGES = HERE / "templates" / "tablet"
KINDS = {".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8"}


@dataclass(frozen=True)
class ShellFile:
    content: bytes
    gzipped: bytes
    content_type: str


@dataclass(frozen=True)
class Shell:
    version: str
    files: dict[str, ShellFile]
    worker: str

    def address(self, name: str) -> str:
        return f"/tablet/app/{self.version}/{name}"

    @property
    def addresses(self) -> list[str]:
        """What the service worker keeps: the page and every file."""
        return ["/tablet/", *(self.address(name) for name in self.files)]


def _file(path: Path) -> ShellFile:
    content = path.read_bytes()
    kind = KINDS.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    return ShellFile(content, gzip.compress(content, 9, mtime=0), kind)


def _read() -> Shell:
    paths = sorted(path for path in STATIC.rglob("*") if path.is_file() and path.name != WORKER)
    files = {path.relative_to(STATIC).as_posix(): _file(path) for path in paths}
    digest = hashlib.sha256()
    for name, file in files.items():
        digest.update(f"{name}\0{len(file.content)}\0".encode() + file.content)
    for path in [STATIC / WORKER, *sorted(PAGES.rglob("*.html"))]:
        digest.update(path.read_bytes())
    return Shell(digest.hexdigest()[:16], files, (STATIC / WORKER).read_text())


_kept = lru_cache(maxsize=1)(_read)


def shell() -> Shell:
    """Read once; with DEBUG at each request, so that an edit shows."""
    return _read() if settings.DEBUG else _kept()
