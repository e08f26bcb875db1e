from pathlib import Path

import pytest
from pydantic import SecretStr, ValidationError

from service.settings import KNOWN_SECRET, Settings, SettingsRefused, get_settings

GOOD_SECRET = "0123456789abcdef0123456789abcdef"  # noqa: S105 - Of this test alone.


def test_in_development_nothing_needs_to_be_set(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("KITWRIGHT_DATABASE_URL", raising=False)

    settings = Settings(_env_file=None)

    assert settings.environment == "development"
    assert settings.database_url == "sqlite:///var/kitwright.db"


@pytest.mark.parametrize("secret", [KNOWN_SECRET, "short", ""])
def test_production_does_not_start_with_a_secret_that_can_be_guessed(secret: str) -> None:
    with pytest.raises(ValidationError, match="KITWRIGHT_SECRET"):
        Settings(_env_file=None, environment="production", secret=SecretStr(secret))


def test_production_starts_with_a_secret_of_its_own() -> None:
    settings = Settings(_env_file=None, environment="production", secret=SecretStr(GOOD_SECRET))

    assert settings.secret.get_secret_value() == GOOD_SECRET


def test_the_secret_is_not_shown(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("KITWRIGHT_SECRET", GOOD_SECRET)
    monkeypatch.setenv("KITWRIGHT_THREAD_COUNT", "none")
    get_settings.cache_clear()

    with pytest.raises(SettingsRefused) as refused:
        get_settings()

    assert "thread_count" in refused.value.message
    assert GOOD_SECRET not in refused.value.message
    assert GOOD_SECRET not in repr(Settings(_env_file=None, thread_count=1))
    get_settings.cache_clear()


def test_a_file_with_an_unknown_setting_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "settings"
    file.write_text("KITWRIGHT_DATABSE_URL=sqlite:///x.db\n")

    with pytest.raises(ValidationError, match="databse_url"):
        Settings(_env_file=file)


def test_the_environment_goes_before_the_file(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    file = tmp_path / "settings"
    file.write_text("KITWRIGHT_THREAD_COUNT=3\nKITWRIGHT_MAX_BODY_BYTES=4096\n")
    monkeypatch.setenv("KITWRIGHT_THREAD_COUNT", "5")

    settings = Settings(_env_file=file)

    assert (settings.thread_count, settings.max_body_bytes) == (5, 4096)
