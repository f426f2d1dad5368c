"""Put a backup back: the database and the uploaded files.

    bash deploy/restore BACKUP [--replace]

Stop the program first. Without --replace the database must be empty and there must be no uploaded files. With it, what
is there is set aside, not deleted, and the words at the end say where it lies.
"""

import argparse
import json
import os
import shutil
import sys
from pathlib import Path

from deploy.lib.backup import ABOUT, FORMAT, MEDIA, SUMS, current_store, file_sum, files_below, media_folder, time_stamp
from deploy.lib.stores import Store, StoreError


def check_sums(backup: Path) -> None:
    """Every file named and unchanged, and no other beside them."""
    if not (backup / SUMS).is_file():
        raise StoreError(f"{backup} is no whole backup: it has no {SUMS}.")
    lines = [line.split("  ", 1) for line in (backup / SUMS).read_text().splitlines()]
    wanted = {name: digest for digest, name in lines}
    there = set(files_below(backup)) - {SUMS}
    if difference := sorted(there ^ set(wanted)):
        raise StoreError(f"These files are missing from {backup}, or do not belong there: {', '.join(difference)}")
    if changed := [name for name in sorted(wanted) if file_sum(backup / name) != wanted[name]]:
        raise StoreError(f"These files are not as they were saved: {', '.join(changed)}")


def check_kind(backup: Path, store: Store) -> None:
    about = json.loads((backup / ABOUT).read_text())
    if about["format"] != FORMAT:
        raise StoreError(f"This backup has format {about['format']}; this version reads format {FORMAT}.")
    if about["engine"] != store.engine:
        raise StoreError(f"This backup is of {about['engine']}; the settings (DATABASE_URL) name {store.engine}.")


def check_target(store: Store, *, replace: bool) -> None:
    media_there = media_folder().is_dir() and any(media_folder().iterdir())
    if not replace and (media_there or not store.is_empty()):
        raise StoreError("There is data here already. With --replace it is set aside and the backup takes its place.")
    if store.others_connected():
        raise StoreError("The database is in use. Stop the program (web, worker, beat) first.")


def restore(backup: Path, *, replace: bool) -> list[str]:
    """Check everything, then put it in place; returns where the former content is kept."""
    store = current_store()
    check_sums(backup)
    check_kind(backup, store)
    check_target(store, replace=replace)
    name = f"before-restore-{time_stamp()}"
    incoming = _copy_media(backup / MEDIA)  # the long part, and the one that can fill the disk, before anything moves
    kept = [store.load(backup / store.file_name, set_aside_as=name), _put_media(incoming, set_aside_as=name)]
    return [place for place in kept if place]


def _copy_media(saved: Path) -> Path:
    incoming = media_folder().with_name(f"{media_folder().name}.incoming")
    if incoming.exists():
        shutil.rmtree(incoming)
    if saved.is_dir():
        shutil.copytree(saved, incoming)
    else:
        incoming.mkdir(parents=True)
    return incoming


def _put_media(incoming: Path, *, set_aside_as: str) -> str:
    folder = media_folder()
    kept = ""
    if folder.is_dir() and any(folder.iterdir()):
        aside = folder.with_name(f"{folder.name}.{set_aside_as}")
        folder.rename(aside)
        kept = str(aside)
    incoming.replace(folder)
    return kept


def main() -> int:
    parser = argparse.ArgumentParser(prog="deploy/restore", description="Put a backup back.")
    parser.add_argument("backup", type=Path, help="a folder that deploy/backup made")
    parser.add_argument("--replace", action="store_true", help="set what is there aside and take the backup instead")
    words = parser.parse_args()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    try:
        kept = restore(words.backup, replace=words.replace)
    except (StoreError, OSError) as error:
        print(f"Not restored. {error}", file=sys.stderr)
        return 1
    print(f"Restored from {words.backup}.")
    for place in kept:
        print(f"What was here before is kept in {place}.")
    print("Before starting the program again, bring the database up to this version: manage.py migrate")
    return 0


if __name__ == "__main__":
    sys.exit(main())
