"""Reads the profiles that ship with the package."""

from importlib.resources import files

from pydantic import TypeAdapter

from service.compliance.jurisdictions import Profile

_PROFILE = TypeAdapter(Profile)


def load_profiles() -> dict[str, Profile]:
    """Return every profile by its key."""
    found = sorted(
        (
            _PROFILE.validate_json(file.read_bytes())
            for file in files("service.compliance.profiles").iterdir()
            if file.name.endswith(".json")
        ),
        key=lambda profile: profile.key,
    )
    return {profile.key: profile for profile in found}
