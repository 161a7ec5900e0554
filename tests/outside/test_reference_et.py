"""Reference evapotranspiration against two other programs, on made-up days of many places.

- ``pyet`` (Allen et al. 1998, FAO-56): to 1e-6 mm, the same equations in float64.
- ``refet`` (ASCE-EWRI 2005, short reference): to 0.005 mm. Its slope takes 2503 where FAO-56
  has 4098 x 0.6108 = 2503.06, its Stefan-Boltzmann constant is 4.901e-9 for 4.903e-9; that
  comes to 0.0021 mm at most on these days.

Days are drawn with 0.3-1 of clear-sky radiation: below that both programs hold Rs/Rso at 0.3,
of which FAO-56 says nothing (``test_an_overcast_day...``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
import pyet
import pytest
import refet

from outside.cases import cases
from rootbound_rules.water import air, radiation
from rootbound_rules.water.reference_et import hargreaves, reference_et

DAYS = 60
PLACES = 25
pytestmark = pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear is deprecated")  # pyet's
BY_PYET, BY_REFET = 1e-6, 5e-3


@dataclass(frozen=True)
class Place:
    """A place with days scattered over a leap year; one row a day."""

    lat: float
    elevation: float
    days: pd.DataFrame

    def ours(self) -> np.ndarray:
        """Our reference evapotranspiration of every day. [mm]"""
        return np.array(
            [
                reference_et(d.tmax, d.tmin, d.rs, d.rso, d.ea, d.wind, self.elevation)
                for d in self.days.itertuples()
            ]
        )

    def by_pyet(self) -> np.ndarray:
        """The same by pyet. [mm]"""
        d = self.days
        return pyet.pm_fao56(
            tmean=(d.tmax + d.tmin) / 2, wind=d.wind, rs=d.rs, tmax=d.tmax, tmin=d.tmin,
            rhmax=d.rhmax, rhmin=d.rhmin, elevation=self.elevation, lat=math.radians(self.lat),
        ).to_numpy()  # fmt: skip

    def by_refet(self) -> np.ndarray:
        """The same by refet, in the constants of ASCE. [mm]"""
        d = self.days
        return refet.Daily(
            tmin=d.tmin.to_numpy(), tmax=d.tmax.to_numpy(), ea=d.ea.to_numpy(),
            rs=d.rs.to_numpy(), uz=d.wind.to_numpy(), zw=2.0, elev=self.elevation, lat=self.lat,
            doy=d.index.day_of_year.to_numpy(), method="asce",
        ).eto()  # fmt: skip


def place(rng: np.random.Generator, least_sun: float = 0.3) -> Place:
    """Draw one place between 55 degrees south and north with its days."""
    lat, elevation = rng.uniform(-55.0, 55.0), rng.uniform(0.0, 2500.0)
    dates = pd.date_range("2016-01-01", "2016-12-31")[np.sort(rng.permutation(366)[:DAYS])]
    tmin = rng.uniform(-5.0, 24.0, DAYS)
    tmax = tmin + rng.uniform(2.0, 20.0, DAYS)
    rhmin = rng.uniform(15.0, 70.0, DAYS)
    rhmax = rhmin + rng.uniform(5.0, 29.0, DAYS)
    ra = np.array([radiation.extraterrestrial(lat, int(day)) for day in dates.day_of_year])
    rso = np.array([radiation.clear_sky(value, elevation) for value in ra])
    humid = zip(tmax, tmin, rhmax, rhmin, strict=True)
    columns = {
        "tmax": tmax, "tmin": tmin, "rhmax": rhmax, "rhmin": rhmin, "rso": rso,
        "rs": rso * rng.uniform(least_sun, 1.0, DAYS), "wind": rng.uniform(0.5, 8.0, DAYS),
        "ea": [air.vapour_from_humidities(*day) for day in humid], "ra": ra,
    }  # fmt: skip
    return Place(lat, elevation, pd.DataFrame(columns, index=dates))


@cache
def places() -> list[Place]:
    """Places of one fixed draw."""
    rng = np.random.default_rng(56)
    return [place(rng) for _ in range(PLACES)]


@pytest.mark.parametrize("n", range(PLACES))
def test_our_et0_is_that_of_pyet(n):
    here = places()[n]

    assert np.abs(here.ours() - here.by_pyet()).max() <= BY_PYET


@pytest.mark.parametrize("n", range(PLACES))
def test_our_et0_is_that_of_refet_but_for_the_constants_of_asce(n):
    here = places()[n]

    assert np.abs(here.ours() - here.by_refet()).max() <= BY_REFET


def test_the_made_up_days_reach_from_almost_none_to_a_desert_afternoon():
    every = np.concatenate([here.ours() for here in places()])

    assert every.min() < 1.0
    assert every.max() > 12.0


def test_an_overcast_day_has_the_longwave_loss_that_both_programs_give_it():
    """At 15 % of clear-sky radiation both hold Rs/Rso at 0.3, after ASCE-EWRI 2005 Eq. 18.

    Without that limit Eq. 39 turns negative: the ground would gain under a thick cloud.
    """
    here = place(np.random.default_rng(18), least_sun=0.05)
    here.days["rs"] = 0.15 * here.days["rso"]

    assert np.abs(here.by_pyet() - here.by_refet()).max() <= BY_REFET
    assert np.abs(here.ours() - here.by_refet()).max() <= BY_REFET


def test_the_ground_never_gains_longwave_radiation_from_the_sky():
    for share in (0.0, 0.1, 0.2, 0.25, 0.3, 1.0):
        assert radiation.net_longwave(22.0, 14.0, 1.5, 30.0 * share, 30.0) > 0.0


@pytest.mark.parametrize("n", range(PLACES))
def test_our_hargreaves_is_that_of_pyet_but_for_the_latent_heat(n):
    """Eq. 52 has 0.408 = 1/2.45; pyet divides by the latent heat of the day's temperature."""
    here = places()[n]
    d, mean = here.days, (here.days.tmax + here.days.tmin) / 2
    theirs = pyet.hargreaves(
        tmean=mean, tmax=d.tmax, tmin=d.tmin, lat=math.radians(here.lat), method=0
    )
    latent = 2.501 - 0.002361 * mean  # its equation
    ours = np.array([hargreaves(r.tmax, r.tmin, r.ra) for r in d.itertuples()])

    assert np.abs(ours - 0.408 * (theirs * latent).to_numpy()).max() <= BY_PYET


def test_a_published_desert_day_comes_out_by_our_constants():
    """Fallon, Nevada, 1 July 2015: refet's own example, to 0.005 mm for its constants."""
    (case,) = (c for c in cases("fao56.csv") if c.id == "refet.fallon.eto")
    i = case.inputs
    ra = radiation.extraterrestrial(i["lat"], i["doy"])
    u2 = air.wind_at_2m(i["uz"], i["zw"])
    rso = radiation.clear_sky(ra, i["elev"])
    ours = reference_et(i["tmax_C"], i["tmin_C"], i["rs_MJ"], rso, i["ea_kPa"], u2, i["elev"])

    assert ours == pytest.approx(case.expected, abs=BY_REFET), case.source
