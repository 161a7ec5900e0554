"""What the National Weather Service is asked and answers when it is well."""

from __future__ import annotations

from service.weather.forecast.forecast_rig import raw, shape

URL = "http://127.0.0.1"
POINT = f"{URL}/points/42.03,-93.62"
GRID = f"{URL}/gridpoints/DMX/73,71"
CHANGED = "Mon, 06 Jul 2026 09:12:44 GMT"


def answers(mock, place=POINT, point=None, there=GRID, body=None, changed=CHANGED):
    """Let the service answer well."""
    mock.get(place, json=point or shape("nws_points"))
    headers = {"Last-Modified": changed} if changed else {}
    mock.get(there, body=body or raw("nws_gridpoint_forecastgriddata"), headers=headers)


def asked(mock):
    return [call.request.url.removeprefix(URL) for call in mock.calls]
