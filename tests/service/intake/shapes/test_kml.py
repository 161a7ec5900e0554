"""KML by its standard, OGC 07-147r2: structure, coordinates, older namespaces, KMZ."""

from __future__ import annotations

import pytest

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
)
TAIL = "</Document></kml>"
CORNERS = (
    "-93.62,42.03,310 -93.615,42.03,310\n  -93.615,42.034,310 -93.62,42.034,310 -93.62,42.03,310"
)
HOLE = "-93.619,42.031 -93.619,42.032 -93.618,42.032 -93.618,42.031 -93.619,42.031"


def boundary(kind, corners):
    ring = f"<LinearRing><coordinates>{corners}</coordinates></LinearRing>"
    return f"<{kind}BoundaryIs>{ring}</{kind}BoundaryIs>"


POLYGON = f"<Polygon><extrude>1</extrude>{boundary('outer', CORNERS)}</Polygon>"
HOLED = f"<Polygon>{boundary('outer', CORNERS)}{boundary('inner', HOLE)}</Polygon>"
POINT = "<Point><coordinates>-93.62,42.03,0</coordinates></Point>"


def placemark(inner, name="North Forty"):
    return f"<Placemark><name>{name}</name>{inner}</Placemark>"


def kml(*placemarks):
    return HEAD + "<Folder>" + "".join(placemarks) + "</Folder>" + TAIL


def test_a_placemark_with_an_outline_is_a_field(read) -> None:
    (field,) = read(kml(placemark(POLYGON)), "farm.kml")
    assert field.name == "North Forty"
    assert field.rings == (
        ((-93.62, 42.03), (-93.615, 42.03), (-93.615, 42.034), (-93.62, 42.034), (-93.62, 42.03)),
    )


def test_inner_boundaries_are_holes_and_points_are_middles(read) -> None:
    holed, pin = read(kml(placemark(HOLED), placemark(POINT, "Pin")))
    assert len(holed.rings) == 2
    assert (pin.name, pin.rings, pin.middle) == ("Pin", (), (-93.62, 42.03))


def test_of_a_multigeometry_the_outline_counts_before_its_pin(read) -> None:
    (field,) = read(kml(placemark(f"<MultiGeometry>{POINT}{POLYGON}</MultiGeometry>")))
    assert len(field.rings) == 1


def test_a_broken_pin_beside_an_outline_is_left_out(read) -> None:
    (field,) = read(kml(placemark(f"<MultiGeometry><Point/>{POLYGON}</MultiGeometry>")))
    assert len(field.rings) == 1


def test_both_forms_of_extended_data_are_kept(read) -> None:
    data = (
        '<ExtendedData><Data name="soil"><value>loam</value></Data>'
        '<SchemaData schemaUrl="#f"><SimpleData name="acres">40</SimpleData></SchemaData>'
        "</ExtendedData>"
    )
    (field,) = read(kml(placemark(data + POLYGON)))
    assert field.properties == {"soil": "loam", "acres": "40"}


@pytest.mark.parametrize(
    "namespace",
    [
        "http://earth.google.com/kml/2.0",
        "http://earth.google.com/kml/2.1",
        "http://earth.google.com/kml/2.2",
        "",
    ],
)
def test_older_namespaces_are_read(read, namespace) -> None:
    text = kml(placemark(POLYGON)).replace("http://www.opengis.net/kml/2.2", namespace)
    assert len(read(text)) == 1


def test_the_first_text_of_a_kmz_counts(read, make) -> None:
    packed = make.zipped(
        {"doc.kml": kml(placemark(POLYGON)), "files/other.kml": "<no/>", "files/a.png": "x"}
    )
    assert read(packed, "farm.kmz")[0].name == "North Forty"
    assert read(packed, "farm.geojson")[0].name == "North Forty"


def test_utf_16_is_read_as_the_text_declares_it(read) -> None:
    text = kml(placemark(POLYGON, "Æble")).replace("UTF-8", "UTF-16")
    assert read(text.encode("utf-16"))[0].name == "Æble"


LAUGH = '<!DOCTYPE kml [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">]>'
FILE = '<!DOCTYPE kml [<!ENTITY a SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize(
    "doctype", [LAUGH, FILE, '<!DOCTYPE kml SYSTEM "http://127.0.0.1:9/x.dtd">']
)
def test_a_document_type_is_refused_and_nothing_is_fetched(refusal, doctype) -> None:
    text = kml(placemark(POLYGON, "&a;" if "ENTITY" in doctype else "x")).replace(
        "<kml", doctype + "<kml"
    )
    assert "declares a document type" in refusal(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("<html><body/></html>", "is XML, but not KML"),
        ('<kml xmlns="http://maps.example/kml"><Placemark/></kml>', "is XML, but not KML"),
        ("<kml", "is not XML"),
        (kml(), "holds no field"),
        (
            HEAD + "<NetworkLink><Link><href>http://127.0.0.1/x</href></Link></NetworkLink>" + TAIL,
            "do not fetch",
        ),
        (kml(placemark("")), "field 1 (North Forty): has no place"),
        (
            kml(placemark("<LineString><coordinates>1,2 3,4</coordinates></LineString>")),
            "is a line",
        ),
        (kml(placemark("<Polygon/>")), "its Polygon has no outer boundary"),
        (kml(placemark("<Point/>")), "its Point is not one position"),
        (kml(placemark(POINT.replace("-93.62,42.03,0", "here"))), "its coordinates are not"),
        (kml(placemark(POINT.replace("-93.62", "nan"))), "a corner is not a number"),
        (HEAD + "<Folder>" * 5000 + "</Folder>" * 5000 + TAIL, "is not XML"),
    ],
)
def test_what_is_no_field_is_refused_with_its_reason(refusal, text, says) -> None:
    assert says in refusal(text, "farm.kml")
