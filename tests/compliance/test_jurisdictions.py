"""Profiles by version and day. The 180 days are the project's own rule (row 32)."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from service.cli import app
from service.compliance.days import FRESH_FOR_DAYS
from service.compliance.jurisdictions import Mark, profiles_on
from service.compliance.profiles.store import find_profile_versions, load_profiles
from tests.compliance.cases import PROFILES, TODAY, application, report, shop_part

CHECKED = date(2026, 11, 1)
STALE = CHECKED + timedelta(days=FRESH_FOR_DAYS + 1)


def test_a_row_counts_for_180_days_and_says_why_it_no_longer_does() -> None:
    row = next(row for row in PROFILES["us-ca"].rows if row.mark is Mark.READ)

    assert row.doubt(STALE - timedelta(days=1)) is None
    assert row.doubt(STALE) == "not confirmed: checked more than 180 days ago, on 2026-11-01"
    assert row.doubt(CHECKED - timedelta(days=1)) is not None
    assert PROFILES["us-ca"].next_stale_on(TODAY) == STALE
    assert PROFILES["us-ca"].next_stale_on(STALE) is None


def test_an_old_day_reads_the_version_of_its_day() -> None:
    now = PROFILES["us-ca"]
    later = replace(
        now, version=now.version + 1, issued_on=date(2027, 1, 1), authority="Another authority"
    )

    before = profiles_on([later, now], date(2026, 12, 31))
    after = profiles_on([later, now], date(2027, 1, 1))

    assert before == {"us-ca": now}
    assert after == {"us-ca": later}
    assert load_profiles(date(2026, 11, 24))["us-ca"].version == 1
    assert load_profiles(date(2026, 10, 31)) == {}
    note = report(shop_part(), app=application(), profiles=before).jurisdiction_note
    assert (note.profile_version, note.decided_by) == (now.version, now.authority)


def test_versions_of_a_profile_are_numbered_in_the_order_of_their_days() -> None:
    held = find_profile_versions()

    for key in {profile.key for profile in held}:
        versions = [profile for profile in held if profile.key == key]
        assert [one.version for one in versions] == list(range(1, len(versions) + 1))
        assert [one.issued_on for one in versions] == sorted(one.issued_on for one in versions)


def test_the_list_says_of_each_place_what_is_not_confirmed_and_who_decides(
    client: TestClient,
) -> None:
    items = client.get("/v1/jurisdictions", params={"on": "2026-11-25"}).json()["items"]

    assert [one["key"] for one in items] == sorted(PROFILES)
    for one in items:
        assert one["sentence"].startswith(one["decided_by"])
        assert one["next_stale_on"] == STALE.isoformat()
    late = client.get("/v1/jurisdictions", params={"on": STALE.isoformat()}).json()["items"]
    assert all(one["not_confirmed_count"] == one["row_count"] for one in late)


def test_one_profile_is_read_by_day_and_by_version(client: TestClient) -> None:
    url = "/v1/jurisdictions/us-federal"

    read = client.get(url, params={"version": 1, "on": "2026-11-25"}).json()

    from_memory = [row for row in read["rows"] if row["mark"] == "memory"]
    assert from_memory
    assert all(row["not_confirmed_because"].endswith("from memory") for row in from_memory)
    assert read["profile"]["version"] == 1
    assert read["versions"] == [1, 2]


@pytest.mark.parametrize(
    ("key", "params"),
    [("atlantis", {}), ("us-ca", {"version": 99}), ("us-ca", {"on": "2020-01-01"})],
)
def test_what_is_not_held_is_a_404(
    client: TestClient, key: str, params: dict[str, str | int]
) -> None:
    assert client.get(f"/v1/jurisdictions/{key}", params=params).status_code == 404


def test_the_command_lists_what_counts_no_longer() -> None:
    now = CliRunner().invoke(app, ["check-profiles", "--on", "2026-11-25"]).output
    late = CliRunner().invoke(app, ["check-profiles", "--on", STALE.isoformat()]).output

    assert "IM240: not confirmed: written from memory" in now
    assert "VC 27156(c)" not in now
    assert f"next row goes stale on {STALE}" in now
    assert "VC 27156(c): not confirmed: checked more than 180 days ago" in late
