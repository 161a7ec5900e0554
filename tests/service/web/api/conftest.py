"""A dry spell over two accounts, as the API sees it."""

from __future__ import annotations

import pytest

from browser.app_scene import an_app


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_app(tmp_path_factory.mktemp("api")) as opened:
        yield opened
