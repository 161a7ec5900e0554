"""OPeNDAP's texts, held to recorded shapes: right values or a refusal, wherever they are spoilt."""

from __future__ import annotations

import re
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_service.public.http import Reply, Unavailable
from rootbound_service.weather.sources.gridmet_ascii import read_ascii
from rootbound_service.weather.sources.gridmet_das import Packing, read_das, read_dds
from rootbound_service.weather.sources.gridmet_names import TMAX, Box, day_index
from rootbound_service.weather.sources.gridmet_reply import text_of
from service.weather.sources.gridmet_rig import DAS, DDS, ERROR, LENGTH, POINT, ascii_of

SOME = settings(deadline=None, derandomize=True)

WHO = "gridMET, cell gridmet:177-748"
PACKING = Packing(0.1, 220.0, (32767.0, 32767.0), "K", unsigned=True)
EPOCH = date(1900, 1, 1)
START = day_index(date(2026, 7, 3))
POINT_BOX = Box(range(START, START + 4), range(177, 178), range(748, 749))
# 0.1 K and 220 K make 812 to 301.2 K
POINT_K = [301.2, 303.5, 299.0, np.nan]
BOX = Box(range(START, START + 2), range(176, 179), range(747, 750))
BOX_TEXT = ascii_of("tmmx", BOX.days, BOX.rows, BOX.columns)
BOX_K = read_ascii(BOX_TEXT, TMAX, BOX, PACKING, EPOCH, WHO)


def read(text, box=POINT_BOX):
    return read_ascii(text, TMAX, box, PACKING, EPOCH, WHO)


def outcome(text):
    """Give the box's values, or whether to ask again."""
    try:
        return read(text, BOX), False
    except Unavailable as error:
        return None, error.retry_later


def test_the_recorded_answer_gives_kelvin_and_fill_is_missing():
    assert read(POINT).shape == (4, 1, 1)
    np.testing.assert_allclose(read(POINT).ravel(), POINT_K)


def test_the_recorded_description_gives_packing_and_first_day():
    assert read_das(DAS, TMAX, WHO) == (PACKING, EPOCH)


def test_without_an_offset_there_is_none_and_without_a_fill_every_number_counts():
    text = re.sub(r".*(?:add_offset|_FillValue|missing_value|_Unsigned).*\n", "", DAS)

    assert read_das(text, TMAX, WHO)[0] == Packing(0.1, 0.0, (), "K")


def test_the_recorded_lengths_give_the_number_of_days():
    assert read_dds(DDS, WHO) == LENGTH


def test_rows_of_days_and_latitudes_go_where_they_belong():
    # the rig adds a day's 0.1 K, a row's 1 K and a column's 3 K
    assert BOX_K.shape == (2, 3, 3)
    assert BOX_K[0, 1, 1] - BOX_K[0, 0, 1] == pytest.approx((177 % 3 - 176 % 3) * 1.0)
    assert BOX_K[0, 1, 2] - BOX_K[0, 1, 1] == pytest.approx((749 % 3 - 748 % 3) * 3.0)


def test_numbers_above_two_to_the_fifteen_may_come_signed():
    text = POINT.replace("[0][0], 812", "[0][0], -65136")

    with pytest.raises(Unavailable, match="two bytes"):
        read(POINT.replace("[0][0], 812", "[0][0], -65536"))
    assert read(text)[0, 0, 0] == pytest.approx(260.0)


@pytest.mark.parametrize(
    "number", ["812.5", "65536", "1e99", "NaN", "inf", "0x10", "8_12", "", "٣"]
)
def test_what_is_no_packed_number_is_refused(number):
    with pytest.raises(Unavailable):
        read(POINT.replace("812", number))


@pytest.mark.parametrize(
    "offset",
    [
        {"rows": range(178, 179)},
        {"columns": range(749, 750)},
        {"days": range(START + 1, START + 5)},
    ],
)
def test_another_box_than_the_one_asked_for_is_refused(offset):
    place = {"days": POINT_BOX.days, "rows": POINT_BOX.rows, "columns": POINT_BOX.columns}

    with pytest.raises(Unavailable, match="is not the one asked for"):
        read(POINT, Box(**(place | offset)))


@pytest.mark.parametrize(
    ("text", "later"),
    [
        (ERROR, True),
        (ERROR.replace("stop >= size: 99999:17431", "no such variable"), False),
        ('Error {\n code = 500;\n message = "broken pipe";\n};', True),
        ("Error { nonsense", True),
    ],
)
def test_an_error_document_may_come_with_status_200(text, later):
    with pytest.raises(Unavailable, match="refused the request: ") as caught:
        text_of(Reply(200, text.encode(), "text/plain"), WHO)

    assert caught.value.retry_later is later


@SOME
@given(st.integers(0, len(BOX_TEXT) - 1))
def test_an_answer_cut_anywhere_is_whole_or_asked_for_again(length):
    values, later = outcome(BOX_TEXT[:length])

    assert later or (values == BOX_K).all()


@SOME
@given(st.integers(0, len(DAS.rstrip()) - 1))
def test_a_description_cut_anywhere_is_asked_for_again(length):
    with pytest.raises(Unavailable) as caught:
        read_das(DAS[:length], TMAX, WHO)

    assert caught.value.retry_later


SPOILERS = st.text('0123456789[]{}.,;- \n"EdayNa\0é', max_size=6)


def spoilt(text, at, drop, put):
    return text[:at] + put + text[at + drop :]


@SOME
@given(st.integers(0, len(BOX_TEXT)), st.integers(0, 30), SPOILERS)
def test_spoilt_anywhere_an_answer_changes_no_value_but_the_spoilt_one(at, drop, put):
    try:
        values = read(spoilt(BOX_TEXT, at, drop, put), BOX)
    except Unavailable:
        return
    # One cut can join two numbers' digits only within one number: the rows are counted.
    assert values.shape == BOX_K.shape
    assert (values != BOX_K).sum() <= 1 + drop // 3 + len(put) // 2


@SOME
@given(st.integers(0, len(DAS)), st.integers(0, 40), SPOILERS)
def test_a_spoilt_description_is_read_or_refused(at, drop, put):
    try:
        packing, _ = read_das(spoilt(DAS, at, drop, put), TMAX, WHO)
    except Unavailable:
        return
    assert np.isfinite(packing.unpack(np.array([0.0, 65535.0])) + 1).any()
    assert packing.units == "K"


@SOME
@given(st.integers(0, len(DDS)), st.integers(0, 40), SPOILERS)
def test_spoilt_lengths_are_read_or_refused(at, drop, put):
    try:
        assert 0 <= read_dds(spoilt(DDS, at, drop, put), WHO) < 10_000_000
    except Unavailable:
        return


@SOME
@given(st.binary(max_size=200))
def test_any_bytes_at_all_are_refused(content):
    with pytest.raises(Unavailable):
        read(text_of(Reply(200, content, ""), WHO))
