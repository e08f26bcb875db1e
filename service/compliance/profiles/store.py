"""Reads the profiles that ship with the package, every version of each."""

from datetime import date
from functools import cache
from importlib.resources import files

from pydantic import TypeAdapter

from service.compliance.jurisdictions import Profile, profiles_on

_PROFILE = TypeAdapter(Profile)


@cache
def find_profile_versions() -> tuple[Profile, ...]:
    """Return every version of every profile, by key and version."""
    found = (
        _PROFILE.validate_json(file.read_bytes())
        for file in files("service.compliance.profiles").iterdir()
        if file.name.endswith(".json")
    )
    return tuple(sorted(found, key=lambda profile: (profile.key, profile.version)))


def load_profiles(day: date) -> dict[str, Profile]:
    """Return the version of every profile that is read on a day, by its key."""
    return profiles_on(find_profile_versions(), day)
