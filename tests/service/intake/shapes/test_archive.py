"""Zips made to burst, to hide or to reach outside."""

from __future__ import annotations

import io
import zipfile

import pytest

from rootbound_service.intake.shapes.archive import members_of
from rootbound_service.intake.shapes.limits import UNPACKED_BYTES, UPLOAD_BYTES
from rootbound_service.intake.shapes.refuse import Flaw

KML = (
    '<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><name>A</name><Point><coordinates>-93.62,42.03'
    "</coordinates></Point></Placemark></kml>"
)


def test_a_bomb_is_refused_before_it_is_unpacked(refusal, make) -> None:
    assert "unpacks to too much" in refusal(make.zipped({"doc.kml": b" " * 15_000_000}))


def test_a_size_that_lies_is_found_out(refusal, make) -> None:
    true, lie = 15_000_000, 4_000
    packed = make.zipped({"doc.kml": b" " * true})
    packed = packed.replace(true.to_bytes(4, "little"), lie.to_bytes(4, "little"))
    assert "farm.zip" in refusal(packed, "farm.zip")


def test_members_together_may_not_unpack_to_too_much() -> None:
    out = io.BytesIO()
    body = bytes(range(256)) * (UNPACKED_BYTES // 3 // 256)
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as packed:
        for at in range(4):
            packed.writestr(f"{at}.kml", body)
    with pytest.raises(Flaw, match="unpacks to too much"):
        members_of(out.getvalue(), (".kml",))


def test_too_many_members_are_refused(refusal, make) -> None:
    assert "holds 51 files" in refusal(make.zipped({f"{at}.txt": "" for at in range(51)}))


def test_a_zip_within_the_zip_is_refused_by_name_and_by_content(refusal, make) -> None:
    inner = make.zipped({"doc.kml": KML})
    assert "zip within the zip" in refusal(make.zipped({"a.kmz": inner}))
    assert "zip within the zip" in refusal(make.zipped({"doc.kml": inner}))


def test_a_path_that_climbs_is_only_a_name(read, make, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    (place,) = read(make.zipped({"../../evil.kml": KML}))
    assert place.name == "A"
    assert not list(tmp_path.iterdir())


def test_a_locked_zip_and_an_unusual_packing_are_refused(refusal, make) -> None:
    locked = bytearray(make.zipped({"doc.kml": KML}))
    locked[locked.index(b"PK\x01\x02") + 8] |= 1
    assert "locked with a password" in refusal(bytes(locked))
    assert "unusual way" in refusal(make.zipped({"doc.kml": KML}, zipfile.ZIP_LZMA))


def test_what_is_cut_short_or_holds_nothing_of_ours_is_refused(refusal, make) -> None:
    packed = make.zipped({"doc.kml": KML})
    assert "is a broken zip" in refusal(packed[:-10])
    assert "neither a .shp nor a .kml" in refusal(make.zipped({"a.txt": "x"}))


def test_an_upload_may_not_be_large(refusal) -> None:
    assert "send at most 5 MB" in refusal(b"{" + b" " * UPLOAD_BYTES)


def test_what_a_mac_writes_beside_a_file_is_no_file_of_ours(read, make) -> None:
    packed = make.zipped(
        {"__MACOSX/doc.kml": "icons", "farm/._doc.kml": "tags", "farm/doc.kml": KML}
    )
    assert [place.name for place in read(packed)] == ["A"]
