"""Settings of one installation: from the environment, a `.env` file, or the defaults."""

from datetime import timedelta
from functools import cache
from typing import Annotated, Literal, Self
from zoneinfo import available_timezones

from annotated_types import Ge, Le
from pydantic import Field, SecretStr, ValidationError, field_validator, model_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from service.errors import RuleBroken

KNOWN_SECRET = "known-to-everyone"  # noqa: S105 - It is refused outside development.
SHORTEST_SECRET = 32
_ORIGIN = r"https?://[A-Za-z0-9.-]+(:[0-9]+)?"


class Settings(BaseSettings):
    """Every setting is read from `KITWRIGHT_` and its name in capitals."""

    model_config = SettingsConfigDict(
        env_prefix="KITWRIGHT_",
        env_file=".env",
        extra="forbid",
        frozen=True,
        use_attribute_docstrings=True,
    )

    environment: Literal["development", "production"] = "development"
    """In production the known secret is refused."""
    database_url: str = "sqlite:///var/kitwright.db"
    """A file of SQLite, or a server: postgresql://user@host/name."""
    secret: SecretStr = SecretStr(KNOWN_SECRET)
    """Signs what callers hand back, such as the cursors of lists."""
    max_body_bytes: Annotated[int, Ge(1024), Le(1_000_000_000)] = 2_000_000
    """Largest request body; a route may allow more for itself. [byte]"""
    thread_count: Annotated[int, Ge(1), Le(200)] = 20
    """Requests that are worked on at once in one process; also its database connections."""
    job_worker: bool | None = None
    """Whether the server works on jobs too; by default where the database is a file. Chores
    (expiry, webhooks, retention) are done by every process that serves."""
    job_retention_days: Annotated[int, Ge(1), Le(3650)] = 90
    """How long a job that is over, its pieces and its events are kept. [day]"""
    dask_scheduler: str | None = None
    """Where sweeps are sent instead of this machine's cores: tcp://host:port."""

    webhook_loopback: bool = False
    """Whether webhooks may go to this machine, without TLS too: for tests, never in production."""

    embed_in: Annotated[str, Field(pattern=rf"^({_ORIGIN}( {_ORIGIN})*)?$")] = ""
    """Origins of storefronts that may hold a builder's page in a frame, a space between."""
    shop_name: str = "The engine shop"
    """Printed on quotes."""
    time_zone: str = "UTC"
    """Of the shop (IANA name): a quote is good until the end of its last day there."""

    @property
    def job_retention(self) -> timedelta:
        """How long a job that is over is kept."""
        return timedelta(days=self.job_retention_days)

    @field_validator("time_zone")
    @classmethod
    def _is_a_time_zone(cls, name: str) -> str:
        if name not in available_timezones():
            msg = "KITWRIGHT_TIME_ZONE has to be an IANA name such as America/New_York"
            raise ValueError(msg)
        return name

    @model_validator(mode="after")
    def _sends_nothing_inward(self) -> Self:
        if self.environment != "development" and self.webhook_loopback:
            msg = "KITWRIGHT_WEBHOOK_LOOPBACK is for tests; it is refused outside development"
            raise ValueError(msg)
        return self

    @model_validator(mode="after")
    def _keeps_a_secret(self) -> Self:
        secret = self.secret.get_secret_value()
        if self.environment != "development" and (
            secret == KNOWN_SECRET or len(secret) < SHORTEST_SECRET
        ):
            msg = (
                f"KITWRIGHT_SECRET has to be set to at least {SHORTEST_SECRET} characters that "
                "nobody knows, unless KITWRIGHT_ENVIRONMENT is development"
            )
            raise ValueError(msg)
        return self


class SettingsRefused(RuleBroken):
    """The settings cannot be used."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("The settings cannot be used. " + " ".join(problems))


@cache
def get_settings() -> Settings:
    """Return the settings of this process; they are read once."""
    try:
        return Settings()
    except ValidationError as error:
        # The wrong value itself is left out: it may be a secret.
        found = error.errors(include_url=False, include_input=False)
        problems = [f"{'.'.join(map(str, e['loc']))}: {e['msg']}.".lstrip(": ") for e in found]
        raise SettingsRefused(problems) from None
