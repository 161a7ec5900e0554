"""Makes the soil services that the written order names, from the settings."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from rootbound_service.public.http import Caller
    from rootbound_service.public.order import Order
    from rootbound_service.settings import Settings
    from rootbound_service.soil.fetch import SourcesAt
    from rootbound_service.soil.profile import SoilSource

SOIL = ("survey", "soilgrids")


def build_soils(settings: Settings, order: Order, caller: Caller) -> dict[str, SoilSource]:
    """Make every soil service that the order names.

    Parameters
    ----------
    settings
        Where the services are.
    order
        Which are wanted; reading it has refused names that there are not.
    caller
        Carries the requests.
    """
    makers: dict[str, Callable[[], SoilSource]] = {
        "survey": lambda: _survey(settings, caller),
        "soilgrids": lambda: _soilgrids(settings, caller),
    }
    return {name: makers[name]() for name in order.named("soil")}


def sources_at(order: Order, soils: Mapping[str, SoilSource]) -> SourcesAt:
    """Give the way from a place to the services that may be asked there, the preferred first.

    Parameters
    ----------
    order
        Which service where.
    soils
        From :func:`build_soils`.
    """
    return lambda lat, lon: [soils[name] for name in order.sources("soil", lat, lon)]


def _survey(settings: Settings, caller: Caller) -> SoilSource:
    from rootbound_service.soil.survey import Survey

    return Survey(caller, settings.survey_url)


def _soilgrids(settings: Settings, caller: Caller) -> SoilSource:
    from rootbound_service.soil.soilgrids import SoilGrids

    return SoilGrids(caller, settings.soilgrids_url)
