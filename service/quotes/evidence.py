"""What a revision was issued with, read in the shape of today; its bytes stay as they are."""

import json
from collections.abc import Mapping
from typing import Any

_AMOUNTS = ("unit_price", "core_deposit", "unit_cost", "amount")


def evidence_of(frozen: bytes) -> dict[str, Any]:
    """Return what was frozen. The first quotes had amounts without a currency of their own."""
    evidence: dict[str, Any] = json.loads(frozen)
    bill, content = evidence["bill"], evidence["content"]
    if isinstance(bill["total"], str):
        currency = bill["currency"]
        lines = [_line(line, currency) for line in bill["lines"]]
        evidence["bill"] = {"lines": lines, "total": _money(bill["total"], currency)}
        lines = [_line(line, currency) for line in content["lines"]]
        evidence["content"] = {**content, "lines": lines}
    return evidence


def copies_of(evidence: Mapping[str, Any]) -> dict[str, str]:
    """Return the digest of each paper's copy that was on file, by the number of the paper."""
    return {
        str(paper["number"]): str(paper["file_sha256"])
        for paper in evidence["documents"]
        if paper["file_sha256"] is not None
    }


def _line(line: Mapping[str, Any], currency: str) -> dict[str, Any]:
    return {
        name: _money(value, currency) if name in _AMOUNTS else value for name, value in line.items()
    }


def _money(amount: str | None, currency: str) -> dict[str, str] | None:
    """Where a line was no price times a quantity, its unit price was empty."""
    return {"amount": amount, "currency": currency} if amount else None
