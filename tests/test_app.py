from fastapi.testclient import TestClient


def test_a_process_that_answers_is_alive(client: TestClient) -> None:
    answer = client.get("/livez")

    assert (answer.status_code, answer.json()) == (200, {"status": "alive"})


def test_a_migrated_database_makes_the_service_ready(client: TestClient) -> None:
    answer = client.get("/readyz")

    assert (answer.status_code, answer.json()) == (200, {"status": "ready"})
