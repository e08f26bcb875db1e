"""Webhooks over HTTP: subscriptions, the log of their deliveries, replay."""

from datetime import UTC, datetime, timedelta
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from pydantic import TypeAdapter

from service.bodies import ApiRoute, MergePatchBody, merge_patch, read_document
from service.conditional import ExpectedVersionDep, ValidatorsDep, version_etag
from service.database import ReadSessionDep, SessionDep
from service.errors import InvalidInput
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.settings import Settings
from service.webhooks.addresses import url_problems
from service.webhooks.schemas import NewWebhookOut, SecretIn, WebhookOut, webhook_fields
from service.webhooks.store.deliveries import find_deliveries, load_delivery, replay_delivery
from service.webhooks.store.subscriptions import (
    add_subscription,
    find_subscriptions,
    load_subscription,
    remove_subscription,
    replace_secret,
    save_subscription,
)
from service.webhooks.webhook import (
    Delivery,
    DeliveryLog,
    DeliveryState,
    KeptSubscription,
    Subscription,
)

ADDRESS = "/v1/webhooks"
LARGEST_ID = 2**31 - 1
"""What the column holds."""

router = APIRouter(prefix=ADDRESS, tags=["webhooks"], route_class=ApiRoute)

_SUBSCRIPTION = TypeAdapter(Subscription)

WebhookId = Annotated[int, Path(ge=1, le=LARGEST_ID)]
DeliveryId = Annotated[int, Path(ge=1, le=LARGEST_ID)]


def read_loopback_rule(request: Request) -> bool:
    """Say whether this installation may send to itself."""
    settings: Settings = request.app.state.settings
    return settings.webhook_loopback


LoopbackDep = Annotated[bool, Depends(read_loopback_rule)]


@router.post("", status_code=201, responses=problem_responses(409, 415, 422))
def create_webhook(
    body: Subscription, session: SessionDep, allow_loopback: LoopbackDep, response: Response
) -> NewWebhookOut:
    """Have events told to an address from now on; the answer holds the secret, this once.

    Messages follow Standard Webhooks 1.0.0: `webhook-id`, `webhook-timestamp` and
    `webhook-signature` (HMAC-SHA256) over the exact bytes. Each is sent at least once, in no
    promised order, until an answer of 200 to 299 comes or three days are over; `number` in
    its data is the place in the quote's history. A redirect is not followed. After 410
    nothing more is sent.
    """
    _require_address(body, allow_loopback=allow_loopback)
    kept = add_subscription(session, body)
    response.headers["Location"] = f"{ADDRESS}/{kept.id}"
    return _with_secret(kept, response)


@router.get("", responses=problem_responses(400, 422))
def list_webhooks(session: ReadSessionDep, paging: PagingDep) -> Page[WebhookOut]:
    """Return the subscriptions, the oldest first."""
    after = int(paging.after[0]) if paging.after else 0
    found = find_subscriptions(session, after=after, limit=paging.fetch_count)
    return paging.page([_out(each) for each in found], lambda item: (item.id,))


@router.get("/{webhook_id}", responses=problem_responses(404, 422))
def read_webhook(
    webhook_id: WebhookId, session: ReadSessionDep, validators: ValidatorsDep
) -> WebhookOut:
    """Return one subscription, without its secret."""
    kept = load_subscription(session, webhook_id)
    validators.send(version_etag(kept.version))
    return _out(kept)


@router.patch("/{webhook_id}", responses=problem_responses(404, 409, 412, 415, 422, 428))
def update_webhook(
    webhook_id: WebhookId,
    body: MergePatchBody,
    session: SessionDep,
    expected: ExpectedVersionDep,
    allow_loopback: LoopbackDep,
    response: Response,
) -> WebhookOut:
    """Change where to, what, or whether messages are sent."""
    kept = load_subscription(session, webhook_id)
    version = expected.require(kept.version)
    current = _SUBSCRIPTION.dump_python(kept.value, mode="json")
    value = read_document(_SUBSCRIPTION, merge_patch(current, body))
    _require_address(value, allow_loopback=allow_loopback)
    changed = save_subscription(session, webhook_id, value, version=version)
    response.headers["ETag"] = version_etag(changed.version)
    return _out(changed)


@router.post("/{webhook_id}/secret", responses=problem_responses(404, 409, 412, 415, 422, 428))
def create_secret(
    webhook_id: WebhookId,
    body: SecretIn,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> NewWebhookOut:
    """Replace the secret; the answer holds the new one, this once.

    For `overlap_hours` every message has two signatures, of the new secret and of the one
    before, so that the receiver may change over at any moment between.
    """
    version = expected.require(load_subscription(session, webhook_id).version)
    overlap = timedelta(hours=body.overlap_hours)
    kept = replace_secret(session, webhook_id, version=version, overlap=overlap)
    return _with_secret(kept, response)


@router.delete("/{webhook_id}", status_code=204, responses=problem_responses(404, 412, 422, 428))
def delete_webhook(
    webhook_id: WebhookId, session: SessionDep, expected: ExpectedVersionDep
) -> None:
    """Delete a subscription with its deliveries and their log."""
    version = expected.require(load_subscription(session, webhook_id).version)
    remove_subscription(session, webhook_id, version=version)


@router.get("/{webhook_id}/deliveries", responses=problem_responses(400, 404, 422))
def list_deliveries(
    webhook_id: WebhookId,
    session: ReadSessionDep,
    paging: PagingDep,
    state: Annotated[DeliveryState | None, Query(description="Stands here.")] = None,
) -> Page[Delivery]:
    """Return what was sent or is to be sent to one receiver, the newest first."""
    before = int(paging.after[0]) if paging.after else None
    found = find_deliveries(
        session, webhook_id, state=state, before=before, limit=paging.fetch_count
    )
    return paging.page(found, lambda item: (item.id,))


@router.get("/{webhook_id}/deliveries/{delivery_id}", responses=problem_responses(404, 422))
def read_delivery(
    webhook_id: WebhookId, delivery_id: DeliveryId, session: ReadSessionDep
) -> DeliveryLog:
    """Return one delivery: the exact bytes, and how each attempt went."""
    return load_delivery(session, webhook_id, delivery_id)


@router.post(
    "/{webhook_id}/deliveries/{delivery_id}/replay",
    status_code=202,
    responses=problem_responses(404, 409, 422),
)
def replay_message(
    webhook_id: WebhookId, delivery_id: DeliveryId, session: SessionDep
) -> DeliveryLog:
    """Send a message that was delivered or given up once more: same bytes, same number."""
    return replay_delivery(session, webhook_id, delivery_id, datetime.now(UTC))


def _require_address(value: Subscription, *, allow_loopback: bool) -> None:
    if problems := tuple(url_problems(value.url, allow_loopback=allow_loopback)):
        raise InvalidInput(*problems)


def _with_secret(kept: KeptSubscription, response: Response) -> NewWebhookOut:
    response.headers["ETag"] = version_etag(kept.version)
    response.headers["Cache-Control"] = "private, no-store"
    fields: dict[str, Any] = webhook_fields(kept)
    return NewWebhookOut(**fields, secret=kept.secret)


def _out(kept: KeptSubscription) -> WebhookOut:
    fields: dict[str, Any] = webhook_fields(kept)
    return WebhookOut(**fields)
