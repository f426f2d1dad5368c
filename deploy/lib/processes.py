"""Running a command so that nothing it started stays behind."""

import ctypes
import os
import pwd
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

PR_SET_CHILD_SUBREAPER = 36  # linux/prctl.h
GRACE_SECONDS = 5.0


@dataclass(frozen=True)
class Outcome:
    """How a command ended: its exit code, or none when it took too long; and what it started and left running."""

    code: int | None
    left_behind: list[str]


def adopt_orphans() -> None:
    """Processes whose parent ends become children of this one, so that they can be found and ended."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0)


def end_with_this(signal_name: str, *, user: pwd.struct_passwd | None = None) -> list[str]:
    """Words to put before a command: it gets the signal when this process ends, however that happens, and its user."""
    setpriv = shutil.which("setpriv")
    if setpriv is None:
        return []
    words = [setpriv, "--pdeathsig", signal_name]
    if user:
        words += ["--reuid", str(user.pw_uid), "--regid", str(user.pw_gid), "--init-groups"]
    return words


def run(command: Sequence[str], *, env: Mapping[str, str], seconds: float, keep: set[int]) -> Outcome:
    """Run to the end or the limit, without standard input, then end what it left, but not the processes in `keep`."""
    words = [*end_with_this("TERM"), *command]
    process = subprocess.Popen(words, env=dict(env), stdin=subprocess.DEVNULL)
    left_behind: list[str] = []
    try:
        with suppress(subprocess.TimeoutExpired):
            process.wait(timeout=seconds)
        code = process.returncode
        if code is not None:
            left_behind = _left_behind(process, keep)
    finally:
        _end(process, keep)
    return Outcome(code, left_behind)


def _left_behind(process: subprocess.Popen[bytes], keep: set[int]) -> list[str]:
    """Names of what still runs after a moment in which it may end by itself."""
    _wait_until_ended(process, keep)
    return sorted({_name(pid) for pid in _descendants(process, keep)})


def _end(process: subprocess.Popen[bytes], keep: set[int]) -> None:
    for sent in (signal.SIGTERM, signal.SIGKILL):
        for pid in _descendants(process, keep):
            with suppress(ProcessLookupError):
                os.kill(pid, sent)
        _wait_until_ended(process, keep)


def _wait_until_ended(process: subprocess.Popen[bytes], keep: set[int]) -> None:
    until = time.monotonic() + GRACE_SECONDS
    while _descendants(process, keep) and time.monotonic() < until:
        time.sleep(0.05)


def _descendants(process: subprocess.Popen[bytes], keep: set[int]) -> list[int]:
    """Every process below this one that still runs, without those in `keep` and what they started."""
    children: dict[int, list[int]] = {}
    for pid, state, parent in _processes():
        if parent == os.getpid() and state == "Z" and pid != process.pid and pid not in keep:
            os.waitpid(pid, 0)
        elif state != "Z":
            children.setdefault(parent, []).append(pid)
    if process.poll() is None and not children:
        return [process.pid]  # no /proc on this system: at least the command itself
    found: list[int] = []
    waiting = [os.getpid()]
    while waiting:
        below = [pid for pid in children.get(waiting.pop(), []) if pid not in keep]
        found += below
        waiting += below
    process.poll()
    return found


def _processes() -> Iterator[tuple[int, str, int]]:
    """(pid, state, parent's pid) of each process; the name, which may hold anything, ends at the last bracket."""
    for folder in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            state, parent = (folder / "stat").read_text().rpartition(")")[2].split()[:2]
            yield int(folder.name), state, int(parent)


def _name(pid: int) -> str:
    with suppress(OSError):
        return Path(f"/proc/{pid}/comm").read_text().strip()
    return str(pid)
