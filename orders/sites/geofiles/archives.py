"""Zip files of strangers: what is in them is checked before anything is unpacked, and counted while unpacking.

Members are unpacked into memory under names of our own; a name from the archive never becomes a path.
"""

import zipfile
import zlib
from io import BytesIO

from orders.sites.geofiles.records import FileRefused, Limits

CHUNK_BYTES = 1024 * 1024
LOCKED_FLAG = 0x1
SHAPEFILE_NEEDS = ("shp", "shx", "dbf")
SHAPEFILE_TAKES = ("prj", "cpg")


class Archive:
    """An opened zip whose names and declared sizes have been found harmless."""

    def __init__(self, data: bytes, limits: Limits) -> None:
        try:
            self._zip = zipfile.ZipFile(BytesIO(data))
        except (zipfile.BadZipFile, NotImplementedError, ValueError) as broken:
            raise FileRefused("unreadable", "The zip file is damaged or incomplete.") from broken
        self._limits = limits
        self._unpacked_bytes = 0
        members = self._zip.infolist()
        _check_members(members, limits)
        self._members = {member.filename: member for member in members}

    def names(self, extension: str) -> list[str]:
        """All names that end in the extension, in the archive's order; Mac copies beside the real files left out."""
        own = (name for name in self._members if not name.startswith("__MACOSX/"))
        return [name for name in own if name.rpartition(".")[2].casefold() == extension]

    def find(self, stem: str, extension: str) -> str | None:
        """The member `stem.extension`, whatever the case of its letters."""
        sought = f"{stem}.{extension}".casefold()
        return next((name for name in self._members if name.casefold() == sought), None)

    def read(self, name: str) -> bytes:
        """One member's bytes. What really comes out is counted: the size that an archive declares may be false."""
        parts: list[bytes] = []
        try:
            with self._zip.open(self._members[name]) as stream:
                while part := stream.read(CHUNK_BYTES):
                    self._count(len(part))
                    parts.append(part)
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError) as broken:
            raise FileRefused("unreadable", f"{name} in the zip file is damaged or packed in an odd way.") from broken
        return b"".join(parts)

    def _count(self, count_bytes: int) -> None:
        self._unpacked_bytes += count_bytes
        _check_unpacked(self._unpacked_bytes, self._limits)


def shapefile_stems(archive: Archive) -> list[str]:
    """The shapefiles of the archive by name, without extension; one zipped with its folder keeps the folder's name."""
    return [name.rpartition(".")[0] for name in archive.names("shp")]


def shapefile_alone(archive: Archive, stem: str) -> bytes:
    """One shapefile of the archive as a new zip that holds nothing but its own five files."""
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as alone:
        for extension in (*SHAPEFILE_NEEDS, *SHAPEFILE_TAKES):
            name = archive.find(stem, extension)
            if name is not None:
                alone.writestr(f"survey.{extension}", archive.read(name))
            elif extension in SHAPEFILE_NEEDS:
                raise FileRefused("unreadable", f"The shapefile {stem} has no .{extension} file in the zip file.")
    return packed.getvalue()


def kml_documents(archive: Archive, limits: Limits) -> list[bytes]:
    """All KML documents of a KMZ. Some programs keep each layer in its own, and link to it from the main one."""
    names = archive.names("kml")
    if len(names) > limits.layers:
        raise FileRefused("too_many_layers", f"The KMZ file holds {len(names)} documents; at most {limits.layers}.")
    return [archive.read(name) for name in names]


def _check_members(members: list[zipfile.ZipInfo], limits: Limits) -> None:
    if len(members) > limits.archive_members:
        raise FileRefused(
            "too_many_members", f"The zip file holds {len(members)} files; at most {limits.archive_members} are taken."
        )
    for member in members:
        if _is_unsafe(member.filename):
            raise FileRefused("unsafe_path", "The zip file holds a file name that points outside of it.")
        if member.flag_bits & LOCKED_FLAG:
            raise FileRefused("unreadable", "The zip file is locked with a password.")
    _check_unpacked(sum(member.file_size for member in members), limits)


def _check_unpacked(unpacked_bytes: int, limits: Limits) -> None:
    if unpacked_bytes > limits.unpacked_bytes:
        raise FileRefused(
            "unpacked_too_large",
            f"Unpacked, the zip file holds more than {limits.unpacked_bytes // 1024**2} MB.",
        )


def _is_unsafe(name: str) -> bool:
    return name.startswith("/") or "\\" in name or ":" in name or ".." in name.split("/")
