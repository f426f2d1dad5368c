"""Finding a program, or installing Debian's package for it where that is allowed."""

import os
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

POLICY_FILE = Path("/usr/sbin/policy-rc.d")  # Debian asks it whether a package just installed may start its server
POLICY_NO = "#!/bin/sh\nexit 101\n"
INSTALL_SECONDS = 600


class CannotRun(Exception):
    """What a group needs is not here and cannot be brought here; the text says why."""


def program(names: Sequence[str], *, package: str, what: str, folders: Sequence[str] = ("",)) -> str:
    """The program's path, after installing the package if need be. A folder may be a pattern; the empty one is PATH."""
    if found := _find(names, folders):
        return found
    _install(package, what=what)
    if found := _find(names, folders):
        return found
    raise CannotRun(f"Debian's package {package} was installed, but {names[0]} was not found in it")


def _find(names: Sequence[str], folders: Sequence[str]) -> str | None:
    for folder in folders:
        places = sorted(Path("/").glob(folder.lstrip("/")), key=_version, reverse=True) if folder else [None]
        for place in places:
            for name in names:
                if found := shutil.which(name, path=str(place) if place else None):
                    return found
    return None


def _version(path: Path) -> list[int]:
    return [int(part) for part in path.parts if part.isdigit()]


def _install(package: str, *, what: str) -> None:
    apt = shutil.which("apt-get")
    if apt is None or os.geteuid() != 0:
        raise CannotRun(f"{what} is not installed, and only root on Debian can do that here: apt-get install {package}")
    print(f"{what} is not installed: installing Debian's {package} ...", flush=True)
    with _servers_kept_down():
        _apt(apt, "update", package=package)
        _apt(apt, "install", "-y", "--no-install-recommends", package, package=package)


def _apt(apt: str, *words: str, package: str) -> None:
    command = [apt, "-qq", "-o", "DPkg::Lock::Timeout=120", *words]
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    try:
        done = subprocess.run(
            command,
            env=env,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
            timeout=INSTALL_SECONDS,
        )
    except subprocess.TimeoutExpired:
        raise CannotRun(f"apt-get {words[0]} took longer than {INSTALL_SECONDS} s") from None
    if done.returncode != 0:
        raise CannotRun(f"apt-get could not install {package}: {' / '.join(done.stderr.strip().splitlines()[-3:])}")


@contextmanager
def _servers_kept_down() -> Iterator[None]:
    """The checks start their own servers; a package must not leave another one running."""
    if POLICY_FILE.exists():
        yield
        return
    POLICY_FILE.write_text(POLICY_NO)
    POLICY_FILE.chmod(0o755)
    try:
        yield
    finally:
        POLICY_FILE.unlink()
