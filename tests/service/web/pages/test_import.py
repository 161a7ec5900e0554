"""Importing: every cell is looked at first, the good rows are kept at one press, once."""

from __future__ import annotations

import csv
import io
import json
import zipfile

import pytest

from rootbound_service.store.audits import entries
from rootbound_service.store.shapes import shape_of
from rootbound_service.web.pages.importing_table import safe
from service.web.pages.enrol_scene import RINGS, an_enrol_scene, hidden_in

PATH = "/fields/import"
HEAD = "name,lat,lon,planted,grower,crop,row_spacing_in"
MAREN, HANNA = "Maren Holt <maren@alder.example>", "Hanna Oster <hanna@alder.example>"
GOOD = (f"Ash End,41.71,-94.71,2026-04-30,{MAREN},maize,30",
        f"Birch End,41.72,-94.72,2026-05-01,{HANNA},soybean,15")  # fmt: skip
BAD = (f"Cliff End,41.73,-194.73,2026-05-01,{MAREN},maize,30",
       f"Dune End,41.74,-94.74,2026-15-01,{MAREN},maze,30")  # fmt: skip


@pytest.fixture
def scene(tmp_path):
    with an_enrol_scene(tmp_path) as opened:
        yield opened


def table(*rows):
    return "\n".join((HEAD, *rows)).encode()


def look(scene, data, name="list.csv", client=None, **values):
    return scene.send(PATH, client=client, files={"file": (name, data, "text/csv")}, **values)


def enrol(scene, page, client=None):
    return scene.send(PATH, client=client, **hidden_in_first(page.text), step="keep")


def hidden_in_first(html):
    return hidden_in(html.partition("</form>")[0])


def test_good_and_bad_rows_are_counted_and_bad_cells_marked_and_nothing_is_stored(scene):
    before, people = len(scene.fields()), scene.people()
    page = look(scene, table(*GOOD, *BAD))

    assert page.status_code == 200
    assert "2 of 4 rows are ready" in page.text
    assert "2 need a look" in page.text
    assert page.text.count('<td class="bad">') == 3
    assert "-194.73 is below what it can be; longitude is -180 to 180 degrees" in page.text
    assert "did you mean maize?" in page.text
    assert len(scene.fields()) == before
    assert scene.people() == people


def test_new_people_are_listed_before_anybody_agrees(scene):
    text = look(scene, table(*GOOD)).text
    told = text.partition("Who will hear of it")[2].partition("</section>")[0]

    assert "Hanna Oster (hanna@alder.example)" in told
    assert "Maren Holt" not in told  # she is in the account
    assert "Ask them first" in told


def test_one_press_enrols_the_good_rows_and_says_how_many(scene):
    client = scene.client()
    page = look(scene, table(*GOOD, *BAD), client=client)
    answer = enrol(scene, page, client)
    (ash,), (birch,) = scene.fields("Ash End"), scene.fields("Birch End")

    assert answer.status_code == 303
    assert "2 fields are enrolled" in client.get(answer.headers["location"]).text
    assert ash.account_id == birch.account_id == scene.app.account
    assert ash.adviser.name == "Ines Varga"
    assert birch.crop == "soybean"
    assert scene.fields("Cliff End") == []
    with scene.engine.connect() as conn:
        logged = [one for one in entries(conn, scene.app.account) if one.what == "field.import"]
    assert [one.detail["fields"] for one in logged] == [2]


def test_pressing_twice_enrols_once(scene):
    client = scene.client()
    page = look(scene, table(*GOOD), client=client)
    first, second = enrol(scene, page, client), enrol(scene, page, client)

    assert first.headers["location"] == second.headers["location"]
    assert len(scene.fields("Ash End")) == 1


def test_the_same_file_again_finds_its_rows_enrolled_already(scene):
    client = scene.client()
    enrol(scene, look(scene, table(*GOOD), client=client), client)
    again = look(scene, table(*GOOD), client=client)

    assert "0 of 2 rows are ready" in again.text
    assert "is enrolled already, planted 2026-04-30" in again.text


def test_somebody_of_another_account_is_neither_named_nor_changed(scene):
    theirs = scene.app.people["other grower"]
    row = f"Elm End,41.75,-94.75,2026-05-01,Some Body <{theirs.email}>,maize,30"
    client = scene.client()
    page = look(scene, table(row, GOOD[0]), client=client)
    enrol(scene, page, client)

    assert theirs.name not in page.text
    assert "invite them under People" in page.text
    assert scene.fields("Elm End") == []
    assert {one.grower.name for one in scene.fields() if one.grower.id == theirs.id} == {
        "Petra Nystad"
    }


def test_an_adviser_who_is_none_of_the_account_is_refused(scene):
    head = f"{HEAD},adviser"
    row = f"{GOOD[0]},Lukas Amsel <lukas@alder.example>"
    page = look(scene, f"{head}\n{row}".encode())

    assert "is no adviser of this account" in page.text
    assert "0 of 1 row is ready" in page.text


def test_a_field_of_the_same_name_in_another_account_stays_as_it_is(scene):
    (before,) = scene.fields("Sable Corner")
    client = scene.client()
    row = f"Sable Corner,41.75,-94.75,2026-05-01,{MAREN},maize,30"
    enrol(scene, look(scene, table(row), client=client), client)
    found = {one.account_id: one for one in scene.fields("Sable Corner")}

    assert found[scene.app.other_account] == before
    assert len(found) == 2


@pytest.mark.parametrize(
    ("data", "name", "said"),
    [
        (b"", "a.csv", "File"),
        (b"name,lat\nA,1\n", "a.csv", "is missing from the header"),
        (b"PK\x03\x04broken", "a.zip", "is a broken zip"),
        (b"PK\x03\x04", "a.xlsx", "save its sheet as CSV"),
        (b"{not json", "a.geojson", "File"),
        (b"\xff\xfe\x00a", "a.csv", "File"),
        (b"x" * 2_000_001, "a.csv", "larger than 2 MB"),
    ],
)
def test_a_file_that_cannot_be_understood_is_refused_in_words(scene, data, name, said):
    page = look(scene, data, name)

    assert page.status_code == 422
    assert said in page.text.partition('class="problems"')[2]


def test_a_file_changed_on_its_way_is_refused(scene):
    client = scene.client()
    values = hidden_in_first(look(scene, table(*GOOD), client=client).text)
    answer = scene.send(PATH, client=client, **values | {"packed": "bm90IHppcHBlZA=="}, step="keep")

    assert answer.status_code == 422
    assert "was changed on its way" in answer.text
    assert scene.fields("Ash End") == []


def ring(number=0):
    return [[lon + 0.03 * number, lat] for lon, lat in (*RINGS, RINGS[0])]


def collection(*features):
    made = [
        {
            "type": "Feature",
            "properties": properties,
            "geometry": {"type": "Polygon", "coordinates": [corners]},
        }
        for properties, corners in features
    ]
    return json.dumps({"type": "FeatureCollection", "features": made}).encode()


USUAL = {"usual_planted": "2026-05-02", "usual_crop": "maize"}


def test_outlines_take_what_their_file_does_not_say_from_the_page_and_are_kept(scene):
    client = scene.client()
    data = collection(
        ({"name": "Fen West", "OBJECTID": 7}, ring()), ({"name": "Fen East"}, ring(1))
    )
    usual = USUAL | {"usual_grower": scene.grower}
    page = look(scene, data, "f.geojson", client=client, **usual)
    enrol(scene, page, client)
    (west,) = scene.fields("Fen West")

    assert "2 of 2 rows are ready" in page.text
    assert "Not used: OBJECTID" in page.text
    assert west.grower.name == "Maren Holt"
    assert west.planted.isoformat() == "2026-05-02"
    with scene.engine.connect() as conn:
        assert shape_of(conn, west.id) is not None


def test_one_bad_outline_stops_no_other(scene):
    bowtie = [[-94.7, 41.7], [-94.69, 41.71], [-94.69, 41.7], [-94.7, 41.71], [-94.7, 41.7]]
    data = collection(({"name": "Knot"}, bowtie), ({"name": "Plain"}, ring()))
    page = look(scene, data, "f.geojson", **USUAL, usual_grower=scene.grower)

    assert "1 of 2 rows are ready" in page.text
    assert "field 1" in page.text


KML = """<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>Gorse Hill</name>
<ExtendedData><Data name="planted"><value>2026-05-03</value></Data></ExtendedData><Polygon>
<outerBoundaryIs><LinearRing><coordinates>{}</coordinates></LinearRing></outerBoundaryIs></Polygon>
</Placemark></Document></kml>"""


@pytest.mark.parametrize("kind", ["kml", "kmz"])
def test_kml_and_kmz_are_read_with_what_they_say_of_a_field(scene, kind):
    data = KML.format(" ".join(f"{lon},{lat}" for lon, lat in ring())).encode()
    if kind == "kmz":
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as packed:
            packed.writestr("doc.kml", data)
        data = out.getvalue()
    client = scene.client()
    page = look(scene, data, f"f.{kind}", client=client, **USUAL, usual_grower=scene.grower)
    enrol(scene, page, client)
    (stored,) = scene.fields("Gorse Hill")

    assert stored.planted.isoformat() == "2026-05-03"  # the file's own word counts first


def test_a_zipped_shapefile_is_read(scene):
    shapefile = pytest.importorskip("shapefile")
    parts = {end: io.BytesIO() for end in ("shp", "shx", "dbf")}
    with shapefile.Writer(**parts, shapeType=shapefile.POLYGON) as writer:
        writer.field("NAME", "C", 40)
        writer.field("PLANTED", "C", 10)
        writer.poly([ring()[::-1]])
        writer.record("Heron Pond", "2026-05-04")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        for end, body in parts.items():
            packed.writestr(f"fields.{end}", body.getvalue())
        packed.writestr(
            "fields.prj",
            'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],'
            'PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]',
        )
    client = scene.client()
    page = look(scene, out.getvalue(), "f.zip", client=client, usual_grower=scene.grower)
    enrol(scene, page, client)
    (stored,) = scene.fields("Heron Pond")

    assert stored.planted.isoformat() == "2026-05-04"


def test_the_template_is_a_table_that_the_import_takes(scene):
    client = scene.client()
    sheet = client.get(f"{PATH}/template.csv")
    page = look(scene, sheet.content, client=client)

    assert sheet.headers["content-type"].startswith("text/csv")
    assert "attachment" in sheet.headers["content-disposition"]
    assert "1 of 1 row is ready" in page.text


def test_the_rows_to_mend_come_back_as_a_table_that_no_spreadsheet_computes(scene):
    evil = '"=HYPERLINK(""https://evil.example"")",41.7,-194.7,2026-05-01,@x,maize,30'
    client = scene.client()
    page = look(scene, table(evil, GOOD[0]), client=client)
    sheet = scene.send(PATH, client=client, **hidden_in_first(page.text), step="mend")
    rows = list(csv.reader(io.StringIO(sheet.text)))

    assert len(rows) == 2  # the header and the one row to mend
    assert rows[1][0] == '\'=HYPERLINK("https://evil.example")'
    assert rows[1][4] == "'@x"
    assert rows[1][2] == "-194.7"  # a number stays one


@pytest.mark.parametrize("text", ["=1+1", "+1+1", "-1+1", "@SUM(1)", "\tx", "\rx", "  =1"])
def test_no_cell_of_ours_starts_a_formula(text):
    """OWASP, CSV injection: these signs at the start make a spreadsheet compute."""
    assert safe(text).startswith("'")


@pytest.mark.parametrize("text", ["-94.92", "+3", "1e3", "North Forty"])
def test_numbers_and_names_go_out_as_they_are(text):
    assert safe(text) == text
