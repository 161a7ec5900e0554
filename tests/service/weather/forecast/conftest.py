"""The National Weather Service as asked by us, and answered by a mock."""

from __future__ import annotations

import pytest
import responses

from rootbound_service.public.http import Caller, Patience
from rootbound_service.weather.forecast.nws import Nws
from service.weather.forecast.nws_rig import URL


@pytest.fixture
def nws(tmp_path):
    caller = Caller(Patience(retries=1, backoff_s=0), user_agent="rootbound (ada@example.org)")
    yield Nws(caller, URL + "/", tmp_path / "nws")
    caller.close()


@pytest.fixture
def mock():
    with responses.RequestsMock(assert_all_requests_are_fired=False) as mock:
        yield mock
