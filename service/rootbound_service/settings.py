"""The environment, read once and strictly, as one frozen value."""

from __future__ import annotations

import os
from collections.abc import Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, SecretStr, ValidationError
from pydantic_settings import (
    BaseSettings,
    EnvSettingsSource,
    PydanticBaseSettingsSource,
    SettingsConfigDict,
)

from rootbound_service.errors import Problem, RefusedInput

PREFIX = "ROOTBOUND_"
TEST_PREFIX = "ROOTBOUND_TEST_"
"""Names for the tests, not settings of the service."""
NIGHT_HOUR_UTC = 9
"""Nights run from 9:00 UTC on: after midnight in all of the Americas, before the working day."""
FROM_FILE = (
    "database_url",
    "smtp_user",
    "smtp_password",
    "open_meteo_key",
    "secret",
    "text_token",
    "text_hook_secret",
)
"""What may be secret and so may also be given as NAME_FILE, a file that holds it."""


def _mailbox(text: str) -> str:
    name, _, domain = text.rpartition("@")
    if not name or not domain or any(sign.isspace() for sign in text):
        wanted = "give an e-mail address such as alerts@example.org"
        raise ValueError(wanted)
    return text


def _web_address(text: str) -> str:
    scheme, _, rest = text.partition("://")
    if scheme not in {"http", "https"} or not rest:
        wanted = "give an address that begins with http:// or https://"
        raise ValueError(wanted)
    return text.rstrip("/")


Mailbox = Annotated[str, AfterValidator(_mailbox)]
WebAddress = Annotated[str, AfterValidator(_web_address)]


def _default_database(known: dict[str, Any]) -> str:
    return f"sqlite:///{known['data_dir'] / 'rootbound.db'}"


class Settings(BaseSettings):
    """Everything the operator may set; build it with :func:`load_settings`."""

    model_config = SettingsConfigDict(
        frozen=True, env_prefix=PREFIX, env_ignore_empty=True, extra="forbid"
    )

    data_dir: Annotated[Path, AfterValidator(Path.expanduser)] = Field(
        default=Path("~/.local/share/rootbound"), validate_default=True
    )
    database_url: str = Field(default_factory=_default_database, repr=False)
    auto_migrate: bool = True
    log_format: Literal["plain", "json"] = "plain"
    weather_store: str | None = None

    smtp_host: str = "localhost"
    smtp_port: Annotated[int, Field(ge=1, le=65535)] = 25
    smtp_user: str | None = Field(default=None, repr=False)
    smtp_password: SecretStr | None = None
    smtp_starttls: bool = False
    smtp_timeout_s: Annotated[int, Field(ge=1)] = 120
    mail_from: Mailbox = "alerts@localhost"
    mail_from_name: str = "Rootbound"
    mail_reply_to: Mailbox | None = None
    operator_email: Mailbox | None = None
    operator_report: bool = True
    base_url: WebAddress | None = None
    secret: SecretStr | None = None
    bounce_address: Mailbox | None = None
    dkim_selector: str | None = None
    dkim_key_file: Path | None = None
    text_gateway_file: Path | None = None
    text_token: SecretStr | None = None
    text_hook_secret: SecretStr | None = None

    sources_file: Path | None = None
    contact: str | None = None
    nasa_power_url: WebAddress = "https://power.larc.nasa.gov"
    nasa_power_user: str = "rootbound"
    gridmet_url: WebAddress = "http://thredds.northwestknowledge.net:8080/thredds"
    nclimgrid_url: WebAddress = "https://www.ncei.noaa.gov/data/nclimgrid-daily/access/grids"
    nws_url: WebAddress = "https://api.weather.gov"
    open_meteo: bool = False
    open_meteo_url: WebAddress = "https://api.open-meteo.com"
    open_meteo_ensemble_url: WebAddress = "https://ensemble-api.open-meteo.com"
    open_meteo_key: SecretStr | None = None
    survey_url: WebAddress = "https://sdmdataaccess.sc.egov.usda.gov"
    soilgrids_url: WebAddress = "https://rest.isric.org"
    http_timeout_s: Annotated[int, Field(ge=1)] = 60
    history_years: Annotated[int, Field(ge=1, le=100)] = 30
    weather_stale_days: Annotated[int, Field(ge=1)] = 10

    sweep_from_fields: Annotated[int, Field(ge=0)] = 20_000
    sweep_workers: Annotated[int, Field(ge=0)] = 0
    sweep_scheduler: str | None = None
    sweep_authority_file: Path | None = None
    sweep_certificate_file: Path | None = None
    sweep_key_file: Path | None = None
    sweep_folder: Path | None = None

    @classmethod
    def settings_customise_sources(
        cls,
        settings_cls: type[BaseSettings],  # noqa: ARG003 - the library's signature
        init_settings: PydanticBaseSettingsSource,
        env_settings: PydanticBaseSettingsSource,  # noqa: ARG003 - the same
        dotenv_settings: PydanticBaseSettingsSource,  # noqa: ARG003 - the same
        file_secret_settings: PydanticBaseSettingsSource,  # noqa: ARG003 - the same
    ) -> tuple[PydanticBaseSettingsSource, ...]:
        """Take values from the caller alone: only load_settings reads the environment."""
        return (init_settings,)


def load_settings(env: Mapping[str, str] | None = None) -> Settings:
    """Read the settings from the environment.

    Parameters
    ----------
    env
        Names and values; None reads the process's own environment.

    Returns
    -------
    Settings
        The settings, frozen.

    Raises
    ------
    RefusedInput
        With one problem for each key that is unknown, wrong or given twice.
    """
    given = _ours(os.environ if env is None else env)
    problems = _unknown(given)
    values = _with_files(given, problems)
    source = EnvSettingsSource(Settings)
    source.env_vars = {key.lower(): value for key, value in values.items()}
    try:
        settings = Settings(**source())
    except ValidationError as error:
        problems += _explained(error)
        raise RefusedInput(tuple(problems)) from None
    if problems:
        raise RefusedInput(tuple(problems))
    return settings


def _key(name: str) -> str:
    return PREFIX + name.upper()


def _ours(env: Mapping[str, str]) -> dict[str, str]:
    """Give the entries meant for the service; an empty value counts as not given."""
    return {
        key: value
        for key, value in env.items()
        if value and key.startswith(PREFIX) and not key.startswith(TEST_PREFIX)
    }


def _unknown(given: Mapping[str, str]) -> list[Problem]:
    known = [_key(name) for name in Settings.model_fields]
    files = [_key(name) + "_FILE" for name in FROM_FILE]
    problems: list[Problem] = []
    for key in sorted(set(given) - set(known) - set(files)):
        near = get_close_matches(key, known + files, n=1)
        wanted = f"did you mean {near[0]}?" if near else "remove it"
        problems.append(Problem(key, "there is no such setting", wanted))
    return problems


def _with_files(given: Mapping[str, str], problems: list[Problem]) -> dict[str, str]:
    """Put what the NAME_FILE files hold in their NAME's place."""
    values = dict(given)
    for key in map(_key, FROM_FILE):
        path = values.pop(key + "_FILE", None)
        if path is None:
            continue
        if key in values:
            what = f"{key} is given as well"
            problems.append(Problem(key + "_FILE", what, "give only one of the two"))
            continue
        try:
            values[key] = Path(path).expanduser().read_text(encoding="utf-8").strip()
        except (OSError, UnicodeDecodeError) as error:
            what = f"{path} cannot be read ({type(error).__name__})"
            problems.append(Problem(key + "_FILE", what, "name a readable text file"))
    return values


def _explained(error: ValidationError) -> list[Problem]:
    """Say which key is wrong; a value that may be secret is not repeated."""
    problems: list[Problem] = []
    for item in error.errors(include_url=False):
        name = str(item["loc"][0])
        if item["type"] == "default_factory_not_called":
            continue  # follows from another setting that is wrong and named already
        what = "the value is wrong" if name in FROM_FILE else f"{item['input']!r} is wrong"
        wanted = item["msg"].removeprefix("Value error, ")
        problems.append(Problem(_key(name), what, wanted[:1].lower() + wanted[1:]))
    return problems
