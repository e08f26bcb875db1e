"""Parts and kits as schema.org's Product, for readers by machine; the page's own figures."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from service.catalog.parts import Part
from service.money import decimal_text
from service.pages.words import plain

IN_STOCK, ON_ORDER = "https://schema.org/InStock", "https://schema.org/BackOrder"


def product(part: Part, family_titles: tuple[str, ...], *, with_price: bool) -> str:
    """Return a part as JSON-LD; what it costs and whether it is there only with prices."""
    offer = _offer(decimal_text(part.price_cents), part.currency, part.stock_count > 0)
    return _script_text(
        {
            "@context": "https://schema.org",
            "@type": "Product",
            "sku": part.sku,
            "mpn": part.maker_reference,
            "name": part.title,
            "category": plain(part.slot.value),
            "weight": {"@type": "QuantitativeValue", "value": part.weight_g, "unitCode": "GRM"},
            "isAccessoryOrSparePartFor": [
                {"@type": "Product", "name": title} for title in family_titles
            ],
            **({"offers": offer} if with_price else {}),
        }
    )


def kit_product(answer: Mapping[str, Any], family_title: str) -> str:
    """Return the new parts of an assessed kit as JSON-LD; empty where nothing is to be bought."""
    price, score = answer["price"], answer["score"]
    if price is None or not price["totals"]:
        return ""
    titles = {line["sku"]: line["title"] for line in answer["kit"]}
    at_once = answer["lead_time"]["days"] == 0
    power = {
        "@type": "PropertyValue",
        "name": "estimated peak power",
        "value": score["peak_power_kw"],
        "minValue": score["peak_power_low_kw"],
        "maxValue": score["peak_power_high_kw"],
        # UN/CEFACT Recommendation 20: kilowatt.
        "unitCode": "KWT",
    }
    return _script_text(
        {
            "@context": "https://schema.org",
            "@type": "Product",
            "name": f"Airflow kit for {family_title}",
            "category": "airflow kit",
            "isAccessoryOrSparePartFor": {"@type": "Product", "name": family_title},
            "additionalProperty": power,
            "offers": [
                {
                    **_offer(total["amount"], total["currency"], at_once),
                    "includesObject": _goods(price["lines"], total["currency"], titles),
                }
                for total in price["totals"]
            ],
        }
    )


def _goods(
    lines: Sequence[Mapping[str, Any]], currency: str, titles: Mapping[str, str]
) -> list[dict[str, Any]]:
    return [
        {
            "@type": "TypeAndQuantityNode",
            "amountOfThisGood": 1,
            "typeOfGood": {"@type": "Product", "sku": line["sku"], "name": titles[line["sku"]]},
        }
        for line in lines
        if line["price"]["currency"] == currency
    ]


def _offer(amount: str, currency: str, at_once: bool) -> dict[str, Any]:  # noqa: FBT001 - Private.
    return {
        "@type": "Offer",
        "price": amount,
        "priceCurrency": currency,
        "availability": IN_STOCK if at_once else ON_ORDER,
    }


def _script_text(document: Mapping[str, Any]) -> str:
    """Return JSON that can stand in a script element: no `<` in it ends the element."""
    return json.dumps(document, ensure_ascii=False).replace("<", "\\u003c")
