"""Save the database and the uploaded files into one folder with checksums.

    bash deploy/backup [--keep N] [FOLDER]

Makes FOLDER/fencerow-TIME (FOLDER is .fencerow/backups unless named) with the database, the folder media and
SHA256SUMS. Works while the program runs. Keep the copy on another machine; it holds everything, pay rates included.
With --keep N the oldest in that folder are deleted until N are left.
"""

import argparse
import hashlib
import json
import os
import shutil
import sys
import time
from pathlib import Path

from django.conf import settings
from django.core.files.storage import default_storage

from deploy.lib.stores import Store, StoreError, store_of

ABOUT, MEDIA, SUMS = "about.json", "media", "SHA256SUMS"
FORMAT = 1


def media_folder() -> Path:
    return Path(default_storage.path(""))


def current_store() -> Store:
    return store_of(settings.DATABASES["default"])


def time_stamp() -> str:
    return time.strftime("%Y%m%dT%H%M%SZ", time.gmtime())


def make_backup(folder: Path) -> Path:
    """Write one backup below the folder and return its path; it gets its name only when it is whole."""
    name = f"fencerow-{time_stamp()}"
    final, partial = folder / name, folder / f".{name}.partial"
    partial.mkdir(parents=True, mode=0o700)
    try:
        _fill(partial)
    except BaseException:
        shutil.rmtree(partial)
        raise
    partial.rename(final)
    _sync(folder)
    return final


def _fill(partial: Path) -> None:
    """The database first: files are only ever added, so every file that a row names is there when they are copied."""
    store = current_store()
    store.dump(partial / store.file_name)
    if media_folder().is_dir():
        shutil.copytree(media_folder(), partial / MEDIA)
    about = {"format": FORMAT, "engine": store.engine, "taken_at": time_stamp()}
    (partial / ABOUT).write_text(json.dumps(about, indent=2) + "\n")
    names = files_below(partial)
    (partial / SUMS).write_text("".join(f"{file_sum(partial / name)}  {name}\n" for name in names))
    for path in (partial, *partial.rglob("*")):
        _sync(path)


def files_below(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def file_sum(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def delete_oldest(folder: Path, *, keep: int) -> None:
    """The names sort by time. Only folders that are whole backups count."""
    whole = sorted(path for path in folder.glob("fencerow-*Z") if (path / SUMS).is_file())
    for path in whole[:-keep]:
        shutil.rmtree(path)


def _sync(path: Path) -> None:
    opened = os.open(path, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def main() -> int:
    parser = argparse.ArgumentParser(prog="deploy/backup", description="Save the database and the uploaded files.")
    parser.add_argument("folder", nargs="?", type=Path, help="where backups go (.fencerow/backups unless named)")
    parser.add_argument("--keep", type=int, metavar="N", help="afterwards delete the oldest until N are left")
    words = parser.parse_args()
    if words.keep is not None and words.keep < 1:
        parser.error("--keep needs at least 1")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    try:
        folder = words.folder or Path(settings.DATA_DIR) / "backups"
        made = make_backup(folder)
    except (StoreError, OSError) as error:
        print(f"No backup was made. {error}", file=sys.stderr)
        return 1
    print(f"Saved {len(files_below(made))} files in {made}. Check it any time: cd {made} && sha256sum --check {SUMS}")
    if words.keep:
        delete_oldest(folder, keep=words.keep)
    return 0


if __name__ == "__main__":
    sys.exit(main())
