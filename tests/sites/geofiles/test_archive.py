"""Zip files that mean no good, and such as are merely odd."""

import io
import zipfile

import pytest

from orders.sites.geofiles.archives import Archive, kml_documents, shapefile_alone, shapefile_stems
from orders.sites.geofiles.formats import Format, format_of
from orders.sites.geofiles.records import FileRefused, Limits
from tests.sites.geofiles.made import zipped


def packed(*names: str) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        for name in names:
            archive.writestr(name, b"x")
    return target.getvalue()


def with_declared_size(data: bytes, true_bytes: int, declared_bytes: int) -> bytes:
    """The archive with its one member's size falsified, in the member's own heading and in the directory."""
    return data.replace(true_bytes.to_bytes(4, "little"), declared_bytes.to_bytes(4, "little"))


def refused(data: bytes, limits: Limits | None = None) -> str:
    with pytest.raises(FileRefused) as refusal:
        Archive(data, limits or Limits())
    return refusal.value.code


@pytest.mark.parametrize("name", ["../x.shp", "a/../../x.shp", "/x.shp", "..\\x.shp", "C:/x.shp", "a/..", "C:x.shp"])
def test_it_refuses_names_that_point_outside(name: str) -> None:
    data = packed(name.replace("\\", "|")).replace(b"|", b"\\")
    assert refused(data) == "unsafe_path"


def test_it_refuses_a_zip_of_too_many_files() -> None:
    assert refused(packed("a", "b", "c"), Limits(archive_members=2)) == "too_many_members"


def test_it_refuses_by_the_declared_size_before_unpacking() -> None:
    assert refused(zipped(a__kml=bytes(2000)), Limits(unpacked_bytes=1999)) == "unpacked_too_large"


def test_it_counts_sizes_of_all_members_together() -> None:
    assert refused(zipped(a__kml=bytes(1500), b__kml=bytes(1500)), Limits(unpacked_bytes=2000)) == "unpacked_too_large"


def test_it_does_not_unpack_more_than_a_false_size_declares() -> None:
    false = with_declared_size(zipped(doc__kml=bytes(70_001)), true_bytes=70_001, declared_bytes=17)
    archive = Archive(false, Limits(unpacked_bytes=20))
    with pytest.raises(FileRefused) as refusal:
        archive.read("doc.kml")
    assert refusal.value.code == "unreadable"


def test_it_counts_while_unpacking() -> None:
    archive = Archive(zipped(a__kml=bytes(900)), Limits(unpacked_bytes=1000))
    archive.read("a.kml")
    with pytest.raises(FileRefused) as refusal:
        archive.read("a.kml")
    assert refusal.value.code == "unpacked_too_large"


def test_it_refuses_a_locked_zip() -> None:
    data = bytearray(packed("a.kml"))
    data[6] |= 1
    data[data.index(b"PK\x01\x02") + 8] |= 1
    assert refused(bytes(data)) == "unreadable"


def test_it_refuses_a_damaged_member() -> None:
    data = packed("doc.kml").replace(b"doc.kmlx", b"doc.kmly")
    with pytest.raises(FileRefused) as refusal:
        Archive(data, Limits()).read("doc.kml")
    assert refusal.value.code == "unreadable"


def test_it_takes_every_document_of_a_kmz() -> None:
    archive = Archive(zipped(doc__kml=b"<main/>", **{"layers/a__kml": b"<one/>", "files/a__png": b"?"}), Limits())
    assert kml_documents(archive, Limits()) == [b"<main/>", b"<one/>"]
    with pytest.raises(FileRefused) as refusal:
        kml_documents(archive, Limits(layers=1))
    assert refusal.value.code == "too_many_layers"


def test_it_passes_over_the_copies_that_a_mac_adds() -> None:
    archive = Archive(packed("north.shp", "__MACOSX/._north.shp"), Limits())
    assert shapefile_stems(archive) == ["north"]


def test_it_repacks_a_shapefile_under_names_of_our_own() -> None:
    archive = Archive(packed("N.SHP", "n.shx", "N.dbf", "n.prj", "n.shp.xml", "m.shp"), Limits())
    alone = zipfile.ZipFile(io.BytesIO(shapefile_alone(archive, "N")))
    assert alone.namelist() == ["survey.shp", "survey.shx", "survey.dbf", "survey.prj"]


@pytest.mark.parametrize(
    ("names", "expected"),
    [(("a.shp",), Format.SHAPEFILE), (("in/a.shp",), Format.SHAPEFILE), (("doc.kml", "files/a.png"), Format.KMZ)],
)
def test_it_tells_the_format_by_the_members(names: tuple[str, ...], expected: Format) -> None:
    assert format_of(packed(*names), "any.zip", Limits()) == expected


def test_it_refuses_a_zip_that_holds_no_survey() -> None:
    with pytest.raises(FileRefused) as refusal:
        format_of(packed("letter.docx"), "any.zip", Limits())
    assert refusal.value.code == "unknown_format"
